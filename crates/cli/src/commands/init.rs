use ligule_engine::{Engine, Phrase, Result};

use crate::args::{Global, Init};

/// Starts a journal on this device.
pub(crate) fn run(global: &Global, args: &Init) -> Result<()> {
    let folder = crate::journal_folder(global)?;
    let engine = Engine::init(&folder, &args.person, &args.crew)?;
    // A new journal has no setting yet: what the call says holds.
    let engine = engine.read_in(global.unit_system.as_deref(), global.language.as_deref())?;
    let reading = engine.reading();
    say!("{}", reading.say(Phrase::JournalStarted, &[("folder", &folder.display())]));
    let with: [(&str, &dyn std::fmt::Display); 3] =
        [("person", &args.person), ("crew", &args.crew), ("device", &engine.device())];
    say!("{}", reading.say(Phrase::PersonAndCrew, &with));
    Ok(())
}
