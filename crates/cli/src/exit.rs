//! Messages and exit codes of a command that failed.

use std::process::ExitCode;

use ligule_engine::{EngineError, Fault, Phrase, Reading};

use crate::listing::printable;

/// Makes a message that may quote a file fit for a terminal, line by line.
fn by_lines(text: &str) -> String {
    text.lines().map(printable).collect::<Vec<_>>().join("\n")
}

/// Tells something that a person should know, beside what was asked for.
pub(crate) fn note(reading: &Reading, text: &str) {
    eprintln!("{} {}", reading.word(Phrase::HeadRemark), printable(text));
}

/// Prints what happened and what to do next, and returns the exit code.
///
/// Codes: 1 the system or this program failed; 2 what was given does not hold (also clap's own code); 3 stored data is
/// damaged; 4 a rule pack failed; 5 another device could not be reached, or refused.
pub(crate) fn fail(error: &EngineError, reading: &Reading) -> ExitCode {
    eprintln!("error: {}", by_lines(&error.message));
    if let Some(hint) = &error.hint {
        eprintln!("{} {}", reading.word(Phrase::LabelHint), by_lines(hint));
    }
    ExitCode::from(match error.fault {
        Fault::System => 1,
        Fault::User => 2,
        Fault::Data => 3,
        Fault::Pack => 4,
        Fault::Exchange => 5,
    })
}
