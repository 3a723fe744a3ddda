//! One device's half of an exchange of photos, which follows the exchange of records on a pair of streams of its own.
//!
//! ```text
//! either side, both at once
//! wanted: hashes that its records name and that it lacks, with how much of each it has ──▶
//!                                                        ◀── photo: hash, length, from where on
//!                                                        ◀── its bytes, in parts
//! done: kept, damaged, not needed, store failed ──▶
//!                                                        ◀── end, once everything wanted was answered
//! ```
//!
//! Records name a photo by the hash of its bytes, so whoever has the records needs to trust nobody for the bytes. A device
//! gives only what its own records name, and takes only what it asked for. A photo that breaks off is gone on with in the
//! next exchange.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fmt;
use std::str::FromStr;

use ligule_observation::ids::hex;
use serde::{Deserialize, Serialize};

use crate::codec::CodecError;
use crate::error::SyncError;
use crate::frame::{Frame, Photo, PhotoDone, PhotoEnd, PhotoWanted, PhotosEnd, PhotosWanted, RefuseCode};
use crate::store::StoreError;

/// The longest photo, in bytes: 200 MB, as the kind `photo` says.
pub const MAX_PHOTO: u64 = 200_000_000;
/// The most bytes of a photo in one frame.
pub const PHOTO_PART: usize = 128 << 10;
/// The most photos that one side asks for in one exchange; what is left comes in the next.
pub const MAX_PHOTOS: usize = 100_000;
/// How many photos are asked for in one frame.
const WANTED_PART: usize = 8192;

/// The hash by which a record names a photo: BLAKE3 of its bytes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct PhotoHash(pub [u8; 32]);

impl fmt::Display for PhotoHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex(&self.0))
    }
}

impl fmt::Debug for PhotoHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}

impl FromStr for PhotoHash {
    type Err = &'static str;

    /// Reads 64 hexadecimal digits in lower case, and nothing else.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let digit = |byte: u8| match byte {
            b'0'..=b'9' => Some(byte - b'0'),
            b'a'..=b'f' => Some(byte - b'a' + 10),
            _ => None,
        };
        let mut hash = [0; 32];
        let text = text.as_bytes();
        let pairs = (text.len() == 64).then(|| text.chunks_exact(2).zip(&mut hash));
        for (pair, byte) in pairs.into_iter().flatten() {
            let (high, low) = (digit(pair[0]), digit(pair[1]));
            *byte = high.zip(low).map(|(high, low)| high << 4 | low).ok_or(NO_HASH)?;
        }
        if text.len() == 64 { Ok(Self(hash)) } else { Err(NO_HASH) }
    }
}

const NO_HASH: &str = "expected 64 hexadecimal digits in lower case";

/// Keeps a device's photos, for one exchange: one photo is read and one written at a time.
pub trait PhotoStore {
    /// Lists the photos that records name and that are not here, with how many first bytes of each are.
    ///
    /// # Errors
    /// When records or photos cannot be read.
    fn missing(&mut self) -> Result<Vec<PhotoWanted>, StoreError>;

    /// Opens a photo to be read and returns its length in bytes; none if it is not here or no record names it.
    ///
    /// # Errors
    /// When it is here and cannot be read.
    fn open(&mut self, hash: PhotoHash) -> Result<Option<u64>, StoreError>;

    /// Reads at most `most` bytes of the photo that was opened last, from a place in it on; none at its end.
    ///
    /// # Errors
    /// When it cannot be read.
    fn read(&mut self, at: u64, most: usize) -> Result<Vec<u8>, StoreError>;

    /// Begins to take in a photo of `size` bytes after the first `from`, and tells whether it is needed.
    ///
    /// # Errors
    /// When the disk refuses, or it has no size that is kept.
    fn begin(&mut self, hash: PhotoHash, size: u64, from: u64) -> Result<bool, StoreError>;

    /// Adds bytes to the photo that was begun last.
    ///
    /// # Errors
    /// When the disk refuses; the photo is given up then.
    fn write(&mut self, bytes: &[u8]) -> Result<(), StoreError>;

    /// Ends the photo that was begun last. True: its bytes have its hash, and it is durable. False: they do not, and it is
    /// gone.
    ///
    /// # Errors
    /// When the disk refuses; the photo is given up then.
    fn keep(&mut self) -> Result<bool, StoreError>;

    /// Leaves the photo that was begun last as it is, for the next exchange.
    fn break_off(&mut self);
}

/// What an exchange of photos did, as this side saw it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PhotoReport {
    /// Photos that this device asked for.
    pub asked: u64,
    /// Of these, photos that are durable here now.
    pub received: u64,
    /// Bytes of photos that came.
    pub bytes_in: u64,
    /// Photos that the other device asked for.
    pub asked_of: u64,
    /// Of these, photos that are durable there now.
    pub sent: u64,
    /// Bytes of photos that were sent.
    pub bytes_out: u64,
    /// Photos whose bytes came and do not have their hash: the other device's copy is damaged.
    pub damaged_there: Vec<PhotoHash>,
    /// Photos that this device sent and whose bytes do not have their hash: this device's copy is damaged.
    pub damaged_here: Vec<PhotoHash>,
    /// What this device's store could not do, and what ended the exchange before its end.
    pub failures: Vec<String>,
    /// Whether the other device's store failed.
    pub failed_there: bool,
}

struct Part {
    hash: PhotoHash,
    size: u64,
    at: u64,
    /// Nobody takes it any more: its bytes are passed over.
    given_up: bool,
}

/// One exchange of photos with one device.
///
/// The driver loops as for a [`crate::Session`]. The device on the other side has been found to be a member before.
#[derive(Default)]
pub struct PhotoSession {
    out: VecDeque<Frame>,
    started: bool,
    /// What this side asked for and was not answered.
    asked: BTreeSet<PhotoHash>,
    /// How much of each this side has; it may not be sent from further on.
    held: BTreeMap<PhotoHash, u64>,
    /// What the other side asked for.
    to_answer: VecDeque<PhotoWanted>,
    all_asked_of: bool,
    sending: Option<Part>,
    /// Sent, wholly or in part, without a receipt.
    unreceipted: BTreeSet<PhotoHash>,
    /// Of these, what this side broke off: there may be no receipt.
    broken_off: BTreeSet<PhotoHash>,
    begun: u64,
    lacking: u64,
    receiving: Option<Part>,
    /// This device's store failed: nothing more is taken.
    store_failed: bool,
    end_sent: bool,
    end_received: bool,
    failed: bool,
    report: PhotoReport,
}

impl PhotoSession {
    /// Begins an exchange of photos.
    pub fn new() -> Self {
        Self::default()
    }

    /// Returns whether both sides have sent and received everything.
    pub fn is_done(&self) -> bool {
        !self.failed
            && self.end_sent
            && self.end_received
            && self.unreceipted.is_empty()
            && self.receiving.is_none()
            && self.out.is_empty()
    }

    /// Returns what was done so far.
    pub fn report(&self) -> &PhotoReport {
        &self.report
    }

    /// Returns the next frame to send, or none until something arrives.
    ///
    /// A photo is read from the store one part at a time, when its turn comes.
    ///
    /// # Errors
    /// When the store cannot tell what is missing.
    pub fn next_frame(&mut self, store: &mut dyn PhotoStore) -> Result<Option<Frame>, SyncError> {
        if self.failed {
            return Ok(None);
        }
        if !self.started {
            self.started = true;
            let wanted = store.missing().map_err(|error| self.fail(RefuseCode::Store, error.into()))?;
            self.ask(wanted);
        }
        while self.out.is_empty() && !self.end_sent {
            if self.sending.is_some() {
                self.send_part(store);
            } else if let Some(wanted) = self.to_answer.pop_front() {
                self.answer(wanted, store);
            } else if self.all_asked_of {
                self.end_sent = true;
                let (started, lacking) = (self.begun, self.lacking);
                self.out.push_back(Frame::PhotosEnd(PhotosEnd { started, lacking }));
            } else {
                break;
            }
        }
        Ok(self.out.pop_front())
    }

    /// Returns the frame that tells the other side why this one gave up; after an error, once.
    pub fn farewell(&mut self) -> Option<Frame> {
        if self.failed { self.out.pop_front() } else { None }
    }

    /// Gives up because the bytes that arrived were no frame.
    pub fn receive_broken(&mut self, error: CodecError, store: &mut dyn PhotoStore) -> SyncError {
        store.break_off();
        self.fail(RefuseCode::Broken, error.into())
    }

    /// Takes a frame that arrived.
    ///
    /// # Errors
    /// Any [`SyncError`]; the session is then over, except for [`Self::farewell`]. Whatever was kept stays.
    pub fn receive(&mut self, frame: Frame, store: &mut dyn PhotoStore) -> Result<(), SyncError> {
        let result = match frame {
            Frame::Refuse(code) => {
                self.failed = true;
                self.out.clear();
                Err(SyncError::Refused { code })
            }
            Frame::PhotosWanted(part) if !self.all_asked_of => self.on_wanted(part),
            Frame::Photo(photo) if !self.end_received => self.on_photo(photo, store),
            Frame::PhotoBytes(bytes) if !self.end_received => self.on_bytes(&bytes, store),
            Frame::PhotoDone(done) => self.on_done(done),
            Frame::PhotosEnd(_) if !self.end_received => {
                self.break_off(store);
                self.end_received = true;
                Ok(())
            }
            other => Err(SyncError::Unexpected { expected: "photos", got: other.name() }),
        };
        match result {
            Err(error) => {
                self.break_off(store);
                Err(if self.failed { error } else { self.fail(RefuseCode::Broken, error) })
            }
            Ok(()) => Ok(()),
        }
    }

    fn fail(&mut self, code: RefuseCode, error: SyncError) -> SyncError {
        self.failed = true;
        self.out.clear();
        self.out.push_back(Frame::Refuse(code));
        error
    }

    fn ask(&mut self, mut wanted: Vec<PhotoWanted>) {
        wanted.truncate(MAX_PHOTOS);
        self.report.asked = wanted.len() as u64;
        self.asked = wanted.iter().map(|wanted| wanted.hash).collect();
        self.held = wanted.iter().map(|wanted| (wanted.hash, wanted.held)).collect();
        let mut parts = wanted.chunks(WANTED_PART).peekable();
        if parts.peek().is_none() {
            self.out.push_back(Frame::PhotosWanted(PhotosWanted { photos: Vec::new(), last: true }));
        }
        while let Some(part) = parts.next() {
            let last = parts.peek().is_none();
            self.out.push_back(Frame::PhotosWanted(PhotosWanted { photos: part.to_vec(), last }));
        }
    }

    fn on_wanted(&mut self, part: PhotosWanted) -> Result<(), SyncError> {
        self.report.asked_of += part.photos.len() as u64;
        if self.report.asked_of > MAX_PHOTOS as u64 {
            return Err(SyncError::Protocol { reason: format!("it asks for more than {MAX_PHOTOS} photos") });
        }
        if !self.report.failed_there {
            self.to_answer.extend(part.photos);
        }
        self.all_asked_of = part.last;
        Ok(())
    }

    fn answer(&mut self, wanted: PhotoWanted, store: &mut dyn PhotoStore) {
        let PhotoWanted { hash, held } = wanted;
        if self.unreceipted.contains(&hash) {
            return;
        }
        match store.open(hash) {
            Ok(Some(size)) if (1..=MAX_PHOTO).contains(&size) => {
                let from = if held <= size { held } else { 0 };
                self.begun += 1;
                self.unreceipted.insert(hash);
                self.sending = (from < size).then_some(Part { hash, size, at: from, given_up: false });
                self.out.push_back(Frame::Photo(Photo { hash, size, from }));
            }
            // A file of another length is damaged, whatever is in it.
            Ok(_) => self.lacking += 1,
            Err(error) => {
                self.lacking += 1;
                self.report.failures.push(error.to_string());
            }
        }
    }

    fn send_part(&mut self, store: &mut dyn PhotoStore) {
        let Some(part) = &mut self.sending else { return };
        let most = usize::try_from(part.size - part.at).unwrap_or(PHOTO_PART).min(PHOTO_PART);
        let failure = match store.read(part.at, most) {
            Ok(bytes) if !bytes.is_empty() && bytes.len() <= most => {
                part.at += bytes.len() as u64;
                self.report.bytes_out += bytes.len() as u64;
                if part.at == part.size {
                    self.sending = None;
                }
                self.out.push_back(Frame::PhotoBytes(bytes));
                return;
            }
            Ok(_) => format!("photo {} has become shorter while it was sent", part.hash),
            Err(error) => error.to_string(),
        };
        // The next photo, or the end, tells the other side that no more of this one comes.
        self.report.failures.push(failure);
        self.broken_off.insert(part.hash);
        self.unreceipted.remove(&part.hash);
        self.sending = None;
    }

    fn on_photo(&mut self, photo: Photo, store: &mut dyn PhotoStore) -> Result<(), SyncError> {
        self.break_off(store);
        let Photo { hash, size, from } = photo;
        if !self.asked.remove(&hash) {
            return Err(SyncError::Protocol { reason: format!("photo {hash} comes, which was not asked for") });
        }
        if !photo.is_kept() || from > self.held.get(&hash).copied().unwrap_or(0) {
            return Err(SyncError::Protocol { reason: format!("photo {hash} of {size} bytes comes from {from} on") });
        }
        let mut part = Part { hash, size, at: from, given_up: true };
        if self.store_failed {
            self.receipt(hash, PhotoEnd::StoreFailed);
        } else {
            match store.begin(hash, size, from) {
                Ok(true) => part.given_up = false,
                Ok(false) => self.receipt(hash, PhotoEnd::NotNeeded),
                Err(error) => self.store_fails(hash, &error),
            }
        }
        self.receiving = Some(part);
        self.finish_photo(store);
        Ok(())
    }

    fn on_bytes(&mut self, bytes: &[u8], store: &mut dyn PhotoStore) -> Result<(), SyncError> {
        let Some(part) = &mut self.receiving else {
            return Err(SyncError::Protocol { reason: "a part of no photo comes".to_owned() });
        };
        let length = bytes.len() as u64;
        if length == 0 || bytes.len() > PHOTO_PART || length > part.size - part.at {
            let reason = format!("{length} bytes of photo {} come at {} of {}", part.hash, part.at, part.size);
            return Err(SyncError::Protocol { reason });
        }
        part.at += length;
        self.report.bytes_in += length;
        let hash = part.hash;
        if !part.given_up
            && let Err(error) = store.write(bytes)
        {
            part.given_up = true;
            self.store_fails(hash, &error);
        }
        self.finish_photo(store);
        Ok(())
    }

    /// Ends the photo that comes, if every byte of it has come.
    fn finish_photo(&mut self, store: &mut dyn PhotoStore) {
        let Some(part) = self.receiving.take_if(|part| part.at == part.size) else { return };
        if part.given_up {
            return;
        }
        match store.keep() {
            Ok(true) => {
                self.report.received += 1;
                self.receipt(part.hash, PhotoEnd::Kept);
            }
            Ok(false) => {
                self.report.damaged_there.push(part.hash);
                self.receipt(part.hash, PhotoEnd::Damaged);
            }
            Err(error) => self.store_fails(part.hash, &error),
        }
    }

    fn receipt(&mut self, hash: PhotoHash, end: PhotoEnd) {
        self.out.push_back(Frame::PhotoDone(PhotoDone { hash, end }));
    }

    fn store_fails(&mut self, hash: PhotoHash, error: &StoreError) {
        self.store_failed = true;
        self.report.failures.push(error.to_string());
        self.receipt(hash, PhotoEnd::StoreFailed);
    }

    fn break_off(&mut self, store: &mut dyn PhotoStore) {
        if self.receiving.take().is_some_and(|part| !part.given_up) {
            store.break_off();
        }
    }

    fn on_done(&mut self, done: PhotoDone) -> Result<(), SyncError> {
        let PhotoDone { hash, end } = done;
        if !self.unreceipted.remove(&hash) {
            return if self.broken_off.remove(&hash) {
                Ok(())
            } else {
                Err(SyncError::Protocol { reason: format!("a receipt for photo {hash} comes, which was not sent") })
            };
        }
        let whole = self.sending.as_ref().is_none_or(|part| part.hash != hash);
        if !whole {
            self.sending = None;
        }
        match end {
            PhotoEnd::Kept if whole => self.report.sent += 1,
            PhotoEnd::Kept => {
                return Err(SyncError::Protocol { reason: format!("it kept photo {hash} before its end") });
            }
            PhotoEnd::Damaged => self.report.damaged_here.push(hash),
            PhotoEnd::NotNeeded => {}
            PhotoEnd::StoreFailed => {
                self.report.failed_there = true;
                self.to_answer.clear();
            }
        }
        Ok(())
    }
}
