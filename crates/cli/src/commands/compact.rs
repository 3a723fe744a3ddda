use ligule_engine::Result;
use ligule_engine::number::counted;

use crate::args::{Compact, Global};
use crate::progress::Progress;

/// Writes seasons into the archive.
pub(crate) fn run(global: &Global, args: &Compact) -> Result<()> {
    let engine = crate::open(global)?;
    let place = super::archive::place(global)?;
    let progress = Progress::start("compacting");
    let report = super::sync::runtime()?
        .block_on(engine.compact(&place, &args.season, args.repair, |step| progress.say(step)))?;
    drop(progress);
    if report.files_added == 0 && report.files_removed == 0 {
        let documents = counted(report.unchanged_units, "document is", "documents are");
        say!(
            "{place}: nothing new; {documents} as the archive has {}",
            if report.unchanged_units == 1 { "it" } else { "them" }
        );
    } else {
        say!(
            "{place}: {} written for {}, {} superseded; {} unchanged; the archive holds {}",
            counted(report.files_added, "file", "files"),
            counted(report.tables, "table", "tables"),
            report.files_removed,
            counted(report.unchanged_units, "document", "documents"),
            counted(report.rows, "row", "rows")
        );
    }
    for note in &report.notes {
        eprintln!("note: {note}");
    }
    Ok(())
}
