//! Looking after the journal.

use serde::Serialize;

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
        findings.extend(damaged.into_iter().map(|(hash, what, _)| (format!("photo {hash}"), what.to_owned())));
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

    /// Takes what can be read of this journal into a new one in another folder, for the same device.
    ///
    /// Returns what was taken out, and in its findings what was not.
    pub fn salvage_journal(&self, into: &std::path::Path) -> Result<JournalCheck> {
        let report = self.journal.salvage(into, crate::now())?;
        let mut next: Vec<String> = report.lost.iter().map(|finding| finding.next.clone()).collect();
        next.dedup();
        Ok(JournalCheck {
            documents: report.documents,
            observations: report.observations,
            findings: report.lost.into_iter().map(|finding| (finding.place, finding.what)).collect(),
            next: next.join("; "),
            photos: 0,
            photos_missing: 0,
        })
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
