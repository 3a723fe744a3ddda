use ligule_engine::Result;

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
        say!("{place}: nothing new; {} documents are as the archive has them", report.unchanged_units);
    } else {
        say!(
            "{place}: {} files written for {} tables, {} superseded; {} documents unchanged; the archive holds {} rows",
            report.files_added,
            report.tables,
            report.files_removed,
            report.unchanged_units,
            report.rows
        );
    }
    for note in &report.notes {
        eprintln!("note: {note}");
    }
    Ok(())
}
