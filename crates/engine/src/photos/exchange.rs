//! Photos as an exchange asks for them: given and taken are those that records name, and no others.

use std::collections::HashMap;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::sync::Arc;

use ligule_journal::{
    Filter, IncomingPhoto, Journal, JournalError, KeptPhoto, MOST_PHOTO_BYTES, Photos, ReceivingPhoto,
};
use ligule_observation::record::{Record, Value};
use ligule_sync::frame::PhotoWanted;
use ligule_sync::photos::MAX_PHOTO;
use ligule_sync::{PhotoHash, PhotoReport, PhotoStore, StoreError};

use super::{CONTENT, MEND, PHOTO, media, text};
use crate::number::counted;

// What is kept and what is exchanged is one limit.
const _: () = assert!(MAX_PHOTO == MOST_PHOTO_BYTES);

/// The extension of a sort of picture that this program does not know; whoever knows it gets it unharmed.
const UNKNOWN: &str = "bin";

/// How far an exchange of photos is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PhotoProgress {
    /// Photos that are not here, of all that records name.
    pub missing: u64,
    /// Photos that have come.
    pub received: u64,
    /// Bytes that have come.
    pub bytes_in: u64,
    /// Bytes that have been read to be sent.
    pub bytes_out: u64,
}

/// Told how far an exchange of photos is.
pub(crate) type Tell = Arc<dyn Fn(&PhotoProgress) + Send + Sync>;

/// The photos beside a journal, for one exchange.
pub(crate) struct DevicePhotos {
    journal: Arc<Journal>,
    photos: Photos,
    /// The photos that records name, with the length that they tell; read when it is first asked for.
    named: Option<HashMap<PhotoHash, Option<u64>>>,
    reading: Option<(PhotoHash, File)>,
    incoming: Option<IncomingPhoto>,
    progress: PhotoProgress,
    tell: Tell,
}

/// Returns the photos that records name, void ones too, in the order of the records, with the length that they tell.
pub(crate) fn named(journal: &Journal) -> Result<Vec<(PhotoHash, Option<u64>)>, JournalError> {
    let mut seen = HashMap::new();
    let mut order = Vec::new();
    for record in journal.records(&Filter { kind: Some(PHOTO.to_owned()), ..Filter::default() })? {
        // What is no hash was typed by hand: there can be no such file.
        let Ok(hash) = text(&record, CONTENT).parse::<PhotoHash>() else { continue };
        if seen.insert(hash, ()).is_none() {
            order.push((hash, length(&record)));
        }
    }
    Ok(order)
}

/// Returns the length that a record tells, in bytes.
pub(super) fn length(record: &Record) -> Option<u64> {
    match record.values.get("bytes").map(|measured| &measured.value) {
        Some(Value::Int(bytes)) => u64::try_from(*bytes).ok(),
        _ => None,
    }
}

/// Tells whether a photo is here, as far as that can be told without reading it: a file of another length is not the photo.
pub(crate) fn is_here(photos: &Photos, hash: &str, told: Option<u64>) -> bool {
    photos.length(hash).is_some_and(|here| told.is_none_or(|told| told == here))
}

fn failed(action: &'static str) -> impl Fn(String) -> StoreError {
    move |reason| StoreError { action, reason }
}

impl DevicePhotos {
    pub(crate) fn new(journal: &Arc<Journal>, tell: Tell) -> Self {
        Self {
            journal: Arc::clone(journal),
            photos: journal.photos(),
            named: None,
            reading: None,
            incoming: None,
            progress: PhotoProgress::default(),
            tell,
        }
    }

    fn named(&mut self) -> Result<&HashMap<PhotoHash, Option<u64>>, StoreError> {
        let named = match self.named.take() {
            Some(named) => named,
            None => {
                let named = named(&self.journal).map_err(|e| failed("list the photos")(e.to_string()))?;
                named.into_iter().collect()
            }
        };
        Ok(self.named.insert(named))
    }
}

impl PhotoStore for DevicePhotos {
    fn missing(&mut self) -> Result<Vec<PhotoWanted>, StoreError> {
        let named = named(&self.journal).map_err(|e| failed("list the photos")(e.to_string()))?;
        let photos = &self.photos;
        let missing: Vec<PhotoWanted> = named
            .iter()
            .filter(|(hash, told)| !is_here(photos, &hash.to_string(), *told))
            .map(|(hash, _)| PhotoWanted { hash: *hash, held: photos.begun(&hash.to_string()).min(MAX_PHOTO) })
            .collect();
        let named: HashMap<PhotoHash, Option<u64>> = named.into_iter().collect();
        let speaks_of = |text: &str| text.parse().is_ok_and(|hash: PhotoHash| named.contains_key(&hash));
        if let Err(error) = photos.clean(speaks_of) {
            tracing::warn!(%error, "what unfinished copies of photos left behind was not removed");
        }
        self.named = Some(named);
        self.progress.missing = missing.len() as u64;
        (self.tell)(&self.progress);
        Ok(missing)
    }

    fn open(&mut self, hash: PhotoHash) -> Result<Option<u64>, StoreError> {
        self.reading = None;
        if !self.named()?.contains_key(&hash) {
            return Ok(None);
        }
        let Some(file) = self.photos.find(&hash.to_string()) else { return Ok(None) };
        let reading = |e: std::io::Error| failed("read a photo")(format!("{}: {e}", file.display()));
        let open = File::open(&file).map_err(reading)?;
        let length = open.metadata().map_err(reading)?.len();
        self.reading = Some((hash, open));
        Ok(Some(length))
    }

    fn read(&mut self, at: u64, most: usize) -> Result<Vec<u8>, StoreError> {
        let Some((hash, file)) = &mut self.reading else {
            return Err(failed("read a photo")("none was opened".to_owned()));
        };
        let mut bytes = Vec::with_capacity(most);
        file.seek(SeekFrom::Start(at))
            .and_then(|_| file.take(most as u64).read_to_end(&mut bytes))
            .map_err(|e| failed("read a photo")(format!("{hash}: {e}")))?;
        self.progress.bytes_out += bytes.len() as u64;
        (self.tell)(&self.progress);
        Ok(bytes)
    }

    fn begin(&mut self, hash: PhotoHash, size: u64, from: u64) -> Result<bool, StoreError> {
        self.incoming = None;
        let name = hash.to_string();
        // Another process may have taken it in, or given its beginning up, since it was asked for.
        if !self.named()?.contains_key(&hash) || self.photos.begun(&name) < from {
            return Ok(false);
        }
        let receiving = self.photos.receive(&name, size, from);
        match receiving.map_err(|e| failed("keep a photo")(e.to_string()))? {
            ReceivingPhoto::Here | ReceivingPhoto::Busy => Ok(false),
            ReceivingPhoto::Begun(incoming) => {
                self.incoming = Some(incoming);
                Ok(true)
            }
        }
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), StoreError> {
        let none = || failed("keep a photo")("none was begun".to_owned());
        let written = self.incoming.as_mut().ok_or_else(none)?.write(bytes);
        if let Err(error) = written {
            self.incoming = None;
            return Err(failed("keep a photo")(error.to_string()));
        }
        self.progress.bytes_in += bytes.len() as u64;
        (self.tell)(&self.progress);
        Ok(())
    }

    fn keep(&mut self) -> Result<bool, StoreError> {
        let failed = |e: JournalError| failed("keep a photo")(e.to_string());
        let Some(incoming) = self.incoming.take() else { return Ok(false) };
        let beginning = incoming.beginning(64).map_err(failed)?;
        let extension = media::media(&beginning).map_or(UNKNOWN, |media| media.extension);
        let whole = matches!(incoming.keep(extension).map_err(failed)?, KeptPhoto::Whole(_));
        self.progress.received += u64::from(whole);
        (self.tell)(&self.progress);
        Ok(whole)
    }

    fn break_off(&mut self) {
        self.incoming = None;
    }
}

/// Tells what a person should know of an exchange of photos beside its numbers.
pub(crate) fn notes(person: &str, photos: Option<&PhotoReport>, missing: usize) -> Vec<String> {
    let are = |count: usize| counted(count, "photo is", "photos are");
    let Some(photos) = photos else {
        return (missing > 0)
            .then(|| {
                format!(
                    "{} not on this device; an exchange without `--no-photos` on either side brings those that the other \
                     device has",
                    are(missing)
                )
            })
            .into_iter()
            .collect();
    };
    let mut notes: Vec<String> = photos
        .failures
        .iter()
        .map(|why| format!("photos: {why}; the records are exchanged, and the next exchange goes on with the photos"))
        .collect();
    if photos.failed_there {
        notes.push(format!("{person}'s device could not keep a photo, and took no more; see the messages there"));
    }
    let each = |hashes: &[PhotoHash], whose: &str, next: &str| -> Vec<String> {
        hashes
            .iter()
            .map(|hash| format!("photo {hash} is damaged on {whose} device and was not taken; {next}"))
            .collect()
    };
    notes.extend(each(&photos.damaged_there, &format!("{person}'s"), "another device may have it whole"));
    notes.extend(each(&photos.damaged_here, "this", MEND));
    if missing > 0 && photos.failures.is_empty() {
        let here = are(missing);
        notes.push(format!("{here} neither on this device nor on {person}'s; `ligule photo list` shows which"));
    }
    notes
}
