use std::io;

use ligule_engine::number::counted;
use ligule_engine::{EngineError, Fault, JournalCheck, Result};
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
            let mut listing = Listing::new(["what", "state"]);
            for (what, state) in &report.findings {
                listing.row(vec![json!(what), json!(state)]);
            }
            let whole = format!("{} are whole", held(&report));
            listing.write(global.format, &whole, &mut io::stdout().lock())?;
            if !report.findings.is_empty() {
                return Err(EngineError::new(
                    Fault::Data,
                    format!(
                        "{}; {} still readable",
                        counted(report.findings.len(), "finding", "findings"),
                        counted(report.documents, "document is", "documents are")
                    ),
                    report.next,
                ));
            }
        }
        Journal::Rebuild => {
            let progress = Progress::start("making the projection anew");
            let observations = engine.rebuild_journal()?;
            drop(progress);
            say!("projection made anew: {}", counted(observations, "observation", "observations"));
        }
        Journal::Salvage(salvage) => {
            let progress = Progress::start("taking out what can be read");
            let report = engine.salvage_journal(&salvage.into)?;
            drop(progress);
            let mut listing = Listing::new(["what", "state"]);
            for (what, state) in &report.findings {
                listing.row(vec![json!(what), json!(state)]);
            }
            listing.write(global.format, "nothing is lost", &mut io::stdout().lock())?;
            let into = salvage.into.display();
            say!("{} are in {into}", held(&report));
            if !report.findings.is_empty() {
                let findings = counted(report.findings.len(), "finding", "findings");
                let lost = format!("{findings}: not everything could be taken out whole");
                return Err(EngineError::new(Fault::Data, lost, report.next));
            }
        }
        Journal::Snapshot => {
            let progress = Progress::start("condensing");
            let documents = engine.snapshot_journal()?;
            drop(progress);
            say!("{} condensed", counted(documents, "document", "documents"));
        }
    }
    Ok(())
}

/// Counts what a journal holds.
fn held(report: &JournalCheck) -> String {
    let documents = counted(report.documents, "document", "documents");
    format!("{documents} and {}", counted(report.observations, "observation", "observations"))
}
