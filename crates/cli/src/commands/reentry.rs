use std::io::{self, Write};

use ligule_engine::{Engine, Reentry, Result};

use crate::args::Format;
use crate::listing::printable;

/// Shows what keeps people out of a field before they are sent there: with the answer where people read it, beside it
/// where a program does.
pub(crate) fn show(engine: &Engine, field: &str, format: Format) -> Result<()> {
    let Some(reentry) = engine.reentry(field)? else { return Ok(()) };
    let language = &engine.reading().language;
    match format {
        Format::Text => write(&reentry, language, &mut io::stdout().lock())?,
        _ => write(&reentry, language, &mut io::stderr().lock())?,
    }
    Ok(())
}

/// Writes what keeps people out of a field, with the cautions.
pub(crate) fn write(reentry: &Reentry, language: &str, out: &mut impl Write) -> io::Result<()> {
    for line in reentry.lines(language) {
        writeln!(out, "re-entry     {}", printable(&line))?;
    }
    reentry.cautions.iter().try_for_each(|caution| writeln!(out, "             note: {caution}"))
}
