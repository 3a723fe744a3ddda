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
                "{}: {} documents, {} changes, {} bytes",
                to.file.display(),
                written.documents,
                written.changes,
                written.bytes
            );
        }
        Bundle::Read(from) => {
            let progress = Progress::start("reading the bundle");
            let read = engine.read_bundle(&from.file)?;
            drop(progress);
            say!(
                "{} from {}: {} new changes in {} documents",
                from.file.display(),
                read.person,
                read.new_changes,
                read.documents
            );
            for refused in &read.refused {
                eprintln!("note: not taken in: {refused}");
            }
            if !read.refused.is_empty() {
                return Err(EngineError::new(
                    Fault::Data,
                    format!(
                        "{}: {} parts were not taken in, {} documents were",
                        from.file.display(),
                        read.refused.len(),
                        read.documents
                    ),
                    "get the bundle again from whoever wrote it; what was taken in stays",
                ));
            }
        }
    }
    Ok(())
}
