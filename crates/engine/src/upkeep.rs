//! Looking after the journal.

use std::fs::{self, File};
use std::path::Path;

use serde::Serialize;

use crate::backup::files;
use crate::error::{EngineError, Fault, Result};
use crate::number::counted;
use crate::{Engine, PhotoCheck, photos};

/// What a look at the whole journal found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct JournalCheck {
    /// Documents that can be read.
    pub documents: usize,
    /// Observations in them.
    pub observations: usize,
    /// Where something is wrong, and what.
    pub findings: Vec<(String, String)>,
    /// How to go on.
    pub next: String,
    /// Photos that records name and that are here and whole.
    pub photos: usize,
    /// Photos that records name and that are not here, which is no damage: another device may have them.
    pub photos_missing: usize,
}

impl Engine {
    /// Looks at everything: the file, each document, whether the lists are what the documents say, the photos.
    pub fn verify_journal(&self) -> Result<JournalCheck> {
        let report = self.journal.verify()?;
        let mut next: Vec<String> = report.findings.iter().map(|finding| finding.next.clone()).collect();
        let mut findings: Vec<(String, String)> =
            report.findings.into_iter().map(|finding| (finding.place, finding.what)).collect();
        let photos = self.verify_photos()?;
        let (damaged, missing): (Vec<_>, Vec<_>) =
            photos.faults.into_iter().partition(|(_, what, _)| *what == PhotoCheck::DAMAGED);
        if !damaged.is_empty() {
            next.push(photos::MEND.to_owned());
        }
        let files = self.journal.photos();
        findings.extend(damaged.into_iter().map(|(hash, what, _)| {
            let then = match files.find(&hash) {
                None => "its file was moved aside, and the next exchange asks for it",
                Some(_) => "its file cannot be moved aside: move it out of the folder",
            };
            (format!("photo {hash}"), format!("{what}; {then}"))
        }));
        next.dedup();
        Ok(JournalCheck {
            documents: report.documents,
            observations: report.observations,
            findings,
            next: next.join("; "),
            photos: photos.whole,
            photos_missing: missing.len(),
        })
    }

    /// Takes what can be read of this journal into a new one in another folder, for the same device, with the photos and
    /// what else lies beside it. This journal and its files stay as they are.
    ///
    /// Returns what was taken out, and in its findings what was not.
    pub fn salvage_journal(&self, into: &Path) -> Result<JournalCheck> {
        let report = self.journal.salvage(into, crate::now())?;
        let mut next: Vec<String> = report.lost.iter().map(|finding| finding.next.clone()).collect();
        let mut findings: Vec<(String, String)> =
            report.lost.into_iter().map(|finding| (finding.place, finding.what)).collect();
        let beside = self.salvage_files(into, &mut findings);
        if beside {
            next.push("copy what is missing by hand once there is room, or it can be read".to_owned());
        }
        let copied = Engine::open(into)?;
        match copied.journal.photos().copy_from(&self.journal.photos()) {
            Ok(copied) => {
                let damaged = |(hash, what)| (format!("photo {hash}"), format!("{what}; not copied"));
                if !copied.damaged.is_empty() {
                    next.push(photos::MEND.to_owned());
                }
                findings.extend(copied.damaged.into_iter().map(damaged));
            }
            Err(error) => {
                findings.push(("photos".to_owned(), error.to_string()));
                next.push(format!(
                    "copy the folder `photos` of this journal into {} once there is room",
                    into.display()
                ));
            }
        }
        next.dedup();
        let missing = copied.missing_photos()?;
        Ok(JournalCheck {
            documents: report.documents,
            observations: report.observations,
            findings,
            next: next.join("; "),
            photos: photos::exchange::named(&copied.journal)?.len().saturating_sub(missing),
            photos_missing: missing,
        })
    }

    /// Copies what lies beside the journal, but photos: kinds of the user's own, mappings. Tells whether any could not be.
    fn salvage_files(&self, into: &Path, findings: &mut Vec<(String, String)>) -> bool {
        let mut failed = |place: &Path, why: String| {
            findings.push((place.display().to_string(), format!("not copied: {why}")));
            true
        };
        let files = match files(&self.folder) {
            Ok(files) => files,
            Err(error) => return failed(&self.folder, error.message),
        };
        let full = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let new = full(into);
        let mut any = false;
        for file in files.iter().filter(|file| !file.starts_with("photos")) {
            let (from, to) = (self.folder.join(file), into.join(file));
            // The new folder may lie in the old one.
            if full(&from).starts_with(&new) {
                continue;
            }
            let folder = to.parent().map_or(Ok(()), fs::create_dir_all);
            let copied = folder.and_then(|()| fs::copy(&from, &to)).and_then(|_| File::open(&to)?.sync_all());
            if let Err(error) = copied {
                any |= failed(&from, error.to_string());
            }
        }
        any
    }

    /// Makes the lists anew from a full replay; returns the number of observations.
    pub fn rebuild_journal(&mut self) -> Result<usize> {
        let report = self.journal.rebuild()?;
        if let Some(first) = report.unreadable.first() {
            return Err(EngineError::new(
                Fault::Data,
                format!(
                    "{} of {} listed anew; {} cannot be read, the first: {}: {}",
                    counted(report.observations, "observation", "observations"),
                    counted(report.documents, "document", "documents"),
                    counted(report.unreadable.len(), "document", "documents"),
                    first.place,
                    first.what
                ),
                first.next.clone(),
            ));
        }
        Ok(report.observations)
    }

    /// Folds the chunks of documents that have grown, after what was asked for is done and durable.
    ///
    /// A journal that is busy or full keeps its chunks; the next call tries again.
    pub(crate) fn tidy(&self) {
        if let Err(error) = self.journal.snapshot(false) {
            tracing::warn!(%error, "the journal was not condensed");
        }
    }

    /// Folds the chunks of every document into its snapshot; returns the number of documents.
    pub fn snapshot_journal(&mut self) -> Result<usize> {
        Ok(self.journal.snapshot(true)?.documents)
    }
}
