//! Exchange with other devices as a file.

use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use ligule_journal::Condition;
use ligule_sync::{PhotoHash, SyncError, bundle, clocks_apart};
use serde::Serialize;

use crate::clocks;
use crate::conflicts::decisions;
use crate::crew::key;
use crate::error::{EngineError, Fault, Result};
use crate::exchange::{JournalStore, PROGRAM};
use crate::number::counted;
use crate::photos::exchange::{DevicePhotos, Tell, named};
use crate::photos::{MEND, PhotoProgress, set_aside};
use crate::{Engine, now};

/// What a bundle holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BundleWritten {
    /// Documents.
    pub documents: u32,
    /// Changes.
    pub changes: u64,
    /// Bytes of the records.
    pub bytes: u64,
    /// Photos; none where none were asked for.
    pub photos: Option<u64>,
    /// Bytes of the photos.
    pub photo_bytes: Option<u64>,
    /// What was left out, and why.
    pub notes: Vec<String>,
}

/// What was taken in from a bundle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BundleRead {
    /// Who wrote it.
    pub person: String,
    /// Documents taken in.
    pub documents: u32,
    /// Changes that were new.
    pub new_changes: u64,
    /// Photos in the bundle; none where it was written without.
    pub photos: Option<u64>,
    /// Photos that were new.
    pub new_photos: u64,
    /// Why the photos were not all taken in: the disk refused one.
    pub photos_failed: Option<String>,
    /// What was not taken in, and why.
    pub refused: Vec<String>,
    /// Decisions that wait for a person now, as [`Engine::conflicts`] tells them.
    pub conflicts: usize,
    /// What else waits for a person.
    pub notes: Vec<String>,
}

impl Engine {
    /// Writes everything that this device holds into a file for another device of the crew, photos too if they are wanted. An
    /// earlier bundle of that name is replaced.
    ///
    /// # Errors
    /// Another file has the name, or it cannot be written.
    pub fn write_bundle(&self, path: &Path, photos: bool) -> Result<BundleWritten> {
        crate::may_replace(path, bundle::MAGIC, "bundle")?;
        let at = |error: std::io::Error| crate::cannot_write(path, &error);
        let mut part = path.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        let mut out = BufWriter::new(File::create(&part).map_err(at)?);
        let mut finish = || {
            let written = self.bundle_into(&mut out, photos)?;
            out.flush().map_err(at)?;
            out.get_ref().sync_all().map_err(at)?;
            std::fs::rename(&part, path).map_err(at)?;
            Ok(written)
        };
        finish().inspect_err(|_| {
            let _ = std::fs::remove_file(&part);
        })
    }

    fn bundle_into(&self, out: &mut BufWriter<File>, photos: bool) -> Result<BundleWritten> {
        let mut store = JournalStore::unscreened(&self.journal);
        let records = bundle::write(&mut store, None, &key(&self.journal), PROGRAM, now().as_millisecond(), &mut *out)?;
        let mut written = BundleWritten {
            documents: records.documents,
            changes: records.changes,
            bytes: records.bytes,
            photos: None,
            photo_bytes: None,
            notes: Vec::new(),
        };
        if photos {
            // One that is damaged would be refused wherever it is read.
            let (mut whole, mut missing) = (Vec::<PhotoHash>::new(), 0);
            for (hash, _) in named(&self.journal)? {
                match self.journal.photos().check(&hash.to_string())? {
                    Condition::Whole => whole.push(hash),
                    Condition::Missing => missing += 1,
                    Condition::Damaged => {
                        let _ = set_aside(&self.journal.photos(), &hash.to_string());
                        written.notes.push(format!("photo {hash} is damaged on this device and left out; {MEND}"));
                    }
                }
            }
            if missing > 0 {
                let missing = counted(missing, "photo is", "photos are");
                written.notes.push(format!("{missing} not on this device and so not in the bundle"));
            }
            let mut store = DevicePhotos::new(&self.journal, Arc::new(|_| {}));
            let photos = bundle::write_photos(&mut store, whole, &mut *out)?;
            written.photos = Some(photos.photos);
            written.photo_bytes = Some(photos.bytes);
        }
        Ok(written)
    }

    /// Takes in the records of a bundle, then its photos.
    pub fn read_bundle(
        &mut self,
        path: &Path,
        tell: impl Fn(&PhotoProgress) + Send + Sync + 'static,
    ) -> Result<BundleRead> {
        let refused =
            |why: String| EngineError::new(Fault::User, format!("{}: {why}", path.display()), "name a bundle file");
        let open = || File::open(path).map_err(|error| refused(error.to_string()));
        let file = open()?;
        if !file.metadata()?.is_file() {
            // It is read here and there: a pipe cannot be.
            return Err(refused("it is no file".to_owned()));
        }
        let mut store = self.journal_store();
        let report = bundle::read(BufReader::new(file), &mut store).map_err(|error| {
            match error {
                SyncError::RemovedWriter { device } => self.removed_writes(&device),
                error => EngineError::from(error),
            }
            .at(path)
        })?;
        let told = |damage: &bundle::Damage| format!("{}: {}", damage.part, damage.reason);
        let mut refused: Vec<String> = report.damaged.iter().map(told).collect();
        refused
            .extend(report.refused.iter().map(|(key, refusal)| format!("{} {}: {refusal}", key.feature, key.season)));
        let (mut photos, mut new_photos, mut photos_failed) = (None, 0, None);
        if let Some(from) = report.photos_from {
            let received = Arc::new(AtomicU64::new(0));
            let count = Arc::clone(&received);
            let tell: Tell = Arc::new(move |progress| {
                count.store(progress.received, Ordering::Relaxed);
                tell(progress);
            });
            let mut store = DevicePhotos::new(&self.journal, tell);
            match bundle::read_photos(BufReader::new(open()?), from, &mut store) {
                Ok(read) => {
                    refused.extend(read.damaged.iter().map(told));
                    photos = Some(read.photos);
                }
                Err(error) => photos_failed = Some(error.to_string()),
            }
            new_photos = received.load(Ordering::Relaxed);
        }
        let person = self.person_of(&report.sender)?;
        // A bundle may have travelled for weeks, but it was not written tomorrow.
        let ahead = report.at.saturating_sub(now().as_millisecond());
        let mut notes = self.settle_moves()?;
        notes.extend(self.fields_to_look_at()?);
        match clocks_apart(Some(ahead.max(0))) {
            Some(ahead) => notes.push(clocks::apart(&person, ahead, &self.reading)),
            None => notes.extend(self.dated_by_wrong_clocks()?),
        }
        Ok(BundleRead {
            person,
            documents: report.documents,
            new_changes: report.changes_in,
            photos,
            new_photos,
            photos_failed,
            refused,
            conflicts: decisions(&self.conflicts()?),
            notes,
        })
    }
}
