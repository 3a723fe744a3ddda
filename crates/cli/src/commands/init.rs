use ligule_engine::{Engine, Result};

use crate::args::{Global, Init};

/// Starts a journal on this device.
pub(crate) fn run(global: &Global, args: &Init) -> Result<()> {
    let folder = crate::journal_folder(global)?;
    let engine = Engine::init(&folder, &args.person, &args.crew)?;
    say!("journal started in {}", folder.display());
    say!("person {}, crew \"{}\", device {}", args.person, args.crew, engine.device());
    Ok(())
}
