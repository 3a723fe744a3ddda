use ligule_engine::number::counted;
use ligule_engine::{EngineError, Fault, Result};

use crate::args::{Bundle, Global};
use crate::progress::Progress;

/// Carries records as a file.
pub(crate) fn run(global: &Global, args: &Bundle) -> Result<()> {
    let mut engine = crate::open(global)?;
    match args {
        Bundle::Write(to) => {
            let progress = Progress::start("writing the bundle");
            let written = engine.write_bundle(&to.file)?;
            drop(progress);
            say!(
                "{}: {}, {}, {}",
                to.file.display(),
                counted(written.documents, "document", "documents"),
                counted(written.changes, "change", "changes"),
                counted(written.bytes, "byte", "bytes")
            );
        }
        Bundle::Read(from) => {
            let progress = Progress::start("reading the bundle");
            let read = engine.read_bundle(&from.file)?;
            drop(progress);
            say!(
                "{} from {}: {} in {}",
                from.file.display(),
                read.person,
                counted(read.new_changes, "new change", "new changes"),
                counted(read.documents, "document", "documents")
            );
            for refused in &read.refused {
                eprintln!("note: not taken in: {refused}");
            }
            for note in &read.notes {
                eprintln!("note: {note}");
            }
            if !read.refused.is_empty() {
                return Err(EngineError::new(
                    Fault::Data,
                    format!(
                        "{}: {} not taken in, {}",
                        from.file.display(),
                        counted(read.refused.len(), "part was", "parts were"),
                        counted(read.documents, "document was", "documents were")
                    ),
                    "get the bundle again from whoever wrote it; what was taken in stays",
                ));
            }
        }
    }
    Ok(())
}
