use std::io;
use std::path::Path;

use ligule_engine::number::counted;
use ligule_engine::{Engine, EngineError, Exported, Fault, JournalCheck, Noun, Phrase, Result};
use serde_json::json;

use crate::args::{Global, Journal};
use crate::listing::Listing;
use crate::progress::Progress;

/// Looks after this device's journal.
pub(crate) fn run(global: &Global, args: &Journal) -> Result<()> {
    if let Journal::Import(from) = args {
        return import(global, &from.file);
    }
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
            let reading = engine.reading();
            let with: [(&str, &dyn std::fmt::Display); 2] = [
                ("documents", &reading.counted(report.documents, Noun::Document)),
                ("observations", &reading.counted(report.observations, Noun::Observation)),
            ];
            let whole = reading.say(Phrase::JournalWhole, &with);
            listing.write(global.format, &whole, &mut io::stdout().lock())?;
            tell_photos(&report);
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
            tell_photos(&report);
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
        Journal::Export(to) => {
            let progress = Progress::start("writing everything out");
            let exported = engine.export_journal(&to.file)?;
            drop(progress);
            say!("{} holds {}", to.file.display(), listed(&exported));
        }
        Journal::Import(_) => {}
    }
    Ok(())
}

/// Tells of the photos, where records name any.
fn tell_photos(report: &JournalCheck) {
    let JournalCheck { photos, photos_missing: missing, .. } = report;
    if *photos > 0 {
        eprintln!("note: {} here and whole", counted(*photos, "photo is", "photos are"));
    }
    if *missing > 0 {
        let are = counted(*missing, "photo is", "photos are");
        eprintln!("note: {are} not on this device; `ligule photo list` shows which, `ligule sync with` may bring them");
    }
}

/// Reads a file into the journal, which is started where there is none.
fn import(global: &Global, file: &Path) -> Result<()> {
    let folder = crate::journal_folder(global)?;
    let started = !folder.join("journal.sqlite").exists();
    let progress = Progress::start("reading everything in");
    let read = Engine::import_journal(&folder, file, std::env::current_exe().ok())?;
    drop(progress);
    if started {
        say!("journal started in {}, as a new device", folder.display());
    }
    say!("{}: {}; {} new here", file.display(), listed(&read), counted(read.new_changes, "change was", "changes were"));
    Ok(())
}

/// Counts what a file of lines holds.
fn listed(exported: &Exported) -> String {
    format!(
        "{}, {} in {}, {}",
        counted(exported.documents, "document", "documents"),
        counted(exported.observations, "observation", "observations"),
        counted(exported.changes, "change", "changes"),
        counted(exported.files, "file", "files"),
    )
}

/// Counts what a journal holds.
fn held(report: &JournalCheck) -> String {
    let documents = counted(report.documents, "document", "documents");
    format!("{documents} and {}", counted(report.observations, "observation", "observations"))
}
