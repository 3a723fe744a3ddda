use std::io;

use ligule_engine::{EngineError, Fault, Result};
use serde_json::json;

use crate::args::{Global, Journal};
use crate::listing::Listing;
use crate::progress::Progress;

/// Looks after this device's journal.
pub(crate) fn run(global: &Global, args: &Journal) -> Result<()> {
    let mut engine = crate::open(global)?;
    match args {
        Journal::Verify => {
            let progress = Progress::start("checking every document");
            let report = engine.verify_journal()?;
            drop(progress);
            let mut listing = Listing::new(&["what", "state"]);
            for (what, state) in &report.findings {
                listing.row(vec![json!(what), json!(state)]);
            }
            let whole = format!("{} documents and {} observations are whole", report.documents, report.observations);
            listing.write(global.format, &whole, &mut io::stdout().lock())?;
            if !report.findings.is_empty() {
                return Err(EngineError::new(
                    Fault::Data,
                    format!("{} findings; {} documents are still readable", report.findings.len(), report.documents),
                    report.next,
                ));
            }
        }
        Journal::Rebuild => {
            let progress = Progress::start("making the projection anew");
            let observations = engine.rebuild_journal()?;
            drop(progress);
            say!("projection made anew: {observations} observations");
        }
        Journal::Salvage(salvage) => {
            let progress = Progress::start("taking out what can be read");
            let report = engine.salvage_journal(&salvage.into)?;
            drop(progress);
            let mut listing = Listing::new(&["what", "state"]);
            for (what, state) in &report.findings {
                listing.row(vec![json!(what), json!(state)]);
            }
            listing.write(global.format, "nothing is lost", &mut io::stdout().lock())?;
            let into = salvage.into.display();
            say!("{} documents and {} observations are in {into}", report.documents, report.observations);
            if !report.findings.is_empty() {
                let lost = format!("{} findings: not everything could be taken out whole", report.findings.len());
                return Err(EngineError::new(Fault::Data, lost, report.next));
            }
        }
        Journal::Snapshot => {
            let progress = Progress::start("condensing");
            let documents = engine.snapshot_journal()?;
            drop(progress);
            say!("{documents} documents condensed");
        }
    }
    Ok(())
}
