use ligule_engine::Result;
use ligule_engine::number::counted;

use crate::args::{Backup, Global};
use crate::progress::Progress;

/// Copies everything into a new folder.
pub(crate) fn run(global: &Global, args: &Backup) -> Result<()> {
    let engine = crate::open(global)?;
    let progress = Progress::start("copying");
    let copied = engine.back_up(&args.into)?;
    drop(progress);
    say!(
        "{} holds {} and {}, {}",
        args.into.display(),
        counted(copied.documents, "document", "documents"),
        counted(copied.files, "file", "files"),
        counted(copied.bytes, "byte", "bytes")
    );
    Ok(())
}
