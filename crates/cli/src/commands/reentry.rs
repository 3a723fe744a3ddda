use std::io::{self, Write};

use ligule_engine::{Engine, Phrase, Reading, Reentry, Result};

use crate::args::Format;
use crate::listing::printable;

/// Shows what keeps people out of a field before they are sent there: with the answer where people read it, beside it
/// where a program does.
pub(crate) fn show(engine: &Engine, field: &str, format: Format) -> Result<()> {
    let Some(reentry) = engine.reentry(field)? else { return Ok(()) };
    match format {
        Format::Text => write(&reentry, true, engine.reading(), &mut io::stdout().lock())?,
        _ => write(&reentry, true, engine.reading(), &mut io::stderr().lock())?,
    }
    Ok(())
}

/// Shows what keeps people out of the field of an application that was corrected.
pub(crate) fn show_after(engine: &Engine, observation: &str) -> Result<()> {
    if let Some(reentry) = engine.reentry_after(observation)? {
        write(&reentry, true, engine.reading(), &mut io::stdout().lock())?;
    }
    Ok(())
}

/// Shows what keeps people out of each of some fields, by their names, where applications of them came in one go.
pub(crate) fn show_each(engine: &Engine, fields: &[String]) -> Result<()> {
    let reentries = engine.reentries()?;
    let (mut out, mut first) = (io::stderr().lock(), true);
    for field in engine.field_lines(true)?.iter().filter(|field| fields.contains(&field.name)) {
        if let Some(reentry) = reentries.get(&field.id) {
            writeln!(out, "{}:", printable(&field.name))?;
            write(reentry, std::mem::take(&mut first), engine.reading(), &mut out)?;
        }
    }
    Ok(())
}

/// Writes what keeps people out of a field; `first` adds the cautions, which hold of every field that a command tells of.
pub(crate) fn write(reentry: &Reentry, first: bool, reading: &Reading, out: &mut impl Write) -> io::Result<()> {
    let head = reading.word(Phrase::HeadReentry);
    for line in reentry.lines(reading) {
        writeln!(out, "{head:<12} {}", printable(&line))?;
    }
    let note = reading.word(Phrase::HeadRemark);
    let cautions = if first { reentry.cautions.as_slice() } else { &[] };
    cautions.iter().try_for_each(|caution| writeln!(out, "             {note} {caution}"))
}
