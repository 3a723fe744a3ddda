//! An exchange as a file, for a stick or a mail.
//!
//! The file is [`MAGIC`], then sections. Each section is [`MARK`], frames, and a seal: the sender's signature over
//! the bundle's number, the section's number and the section's bytes. Section 0 holds the header and the membership
//! log; every other section holds one document. A trailer counts, hashes and signs the whole. Because each section
//! is signed by itself, a damaged file still gives up every document whose section is whole.
//!
//! Photos may follow (see [`crate::photos`]): each has a mark too, and is judged by its hash, which the records name.
//! Records are taken in before any photo is looked at, and a photo is never in memory as a whole.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Read, Seek, SeekFrom, Write};

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use ligule_observation::ids::{CrewId, DeviceId, DocId, DocKey};

use crate::codec::{self, MAX_DOCUMENT};
use crate::error::SyncError;
use crate::frame::{BundleHeader, BundleSeal, BundleTrailer, Frame, Have, HaveList, Inventory, Photo, PhotosEnd};
use crate::membership::{SignedEntry, device_id, in_parts};
use crate::photos::{PHOTO_PART, PhotoHash, PhotoStore};
use crate::store::{Refusal, Store, VersionVector};

/// The first bytes of a bundle.
pub const MAGIC: &[u8; 16] = b"ligule bundle 1\n";
/// The first bytes of a section, by which reading goes on after damage.
pub const MARK: &[u8; 8] = b"\0LGSEC\r\n";
/// The first bytes of a photo, by which reading goes on after damage.
pub const PHOTO_MARK: &[u8; 8] = b"\0LGPIC\r\n";
/// The longest section that is read, in bytes: a document's changes, each at its worst.
const MAX_SECTION: usize = MAX_DOCUMENT + (16 << 20);
/// How many documents one frame announces: as many as fit into one, and some room.
const ANNOUNCED: usize = 40_000;

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleWritten {
    /// How many documents.
    pub documents: u32,
    /// How many changes.
    pub changes: u64,
    /// How many bytes.
    pub bytes: u64,
}

/// Damage in a bundle: which part, and what is wrong with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// Which part, such as `document 3 of 12 (field:… 2026)`.
    pub part: String,
    /// What is wrong.
    pub reason: String,
}

/// What was taken in from a bundle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleReport {
    /// Who wrote it.
    pub sender: DeviceId,
    /// When, in milliseconds since 1970 UTC.
    pub at: i64,
    /// How many documents it announces.
    pub announced: u32,
    /// How many of them are durable here now.
    pub documents: u32,
    /// How many changes were new.
    pub changes_in: u64,
    /// Which parts are bad. Everything else was taken in.
    pub damaged: Vec<Damage>,
    /// Which documents the store refused, and why.
    pub refused: Vec<(DocKey, Refusal)>,
    /// Where photos may begin, for [`read_photos`]; none where nothing follows the records.
    pub photos_from: Option<u64>,
}

/// What was written or taken in of photos.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BundledPhotos {
    /// How many photos are in the bundle.
    pub photos: u64,
    /// How many of them are new and durable here; only where a bundle was read.
    pub kept: u64,
    /// Bytes of them that were written or taken in.
    pub bytes: u64,
    /// Which parts are bad. Everything else was taken in.
    pub damaged: Vec<Damage>,
}

/// Writes what `store` holds, without the changes that `since` covers (for a receiver whose state is known).
///
/// A document of which nothing is missing is left out.
///
/// # Errors
/// When the store or the file fails, or the signer is no member.
pub fn write(
    store: &mut dyn Store,
    since: Option<&BTreeMap<DocId, VersionVector>>,
    signer: &SigningKey,
    program: &str,
    now: i64,
    out: impl Write,
) -> Result<BundleWritten, SyncError> {
    write_announcing(ANNOUNCED, store, since, signer, program, now, out)
}

fn write_announcing(
    most: usize,
    store: &mut dyn Store,
    since: Option<&BTreeMap<DocId, VersionVector>>,
    signer: &SigningKey,
    program: &str,
    now: i64,
    mut out: impl Write,
) -> Result<BundleWritten, SyncError> {
    let sender = device_id(signer);
    let log = store.membership()?;
    if !log.is_member(&sender) {
        let reason = format!("only a member can write a bundle; {sender} is none");
        return Err(SyncError::Membership { reason });
    }
    let nothing = VersionVector::new();
    let mut documents = Vec::new();
    for entry in store.inventory()? {
        let base = since.and_then(|known| known.get(&entry.id)).unwrap_or(&nothing).clone();
        // A document without a single change is announced all the same when nothing is known of the receiver.
        if base.is_empty() || !store.changes_since(&entry.id, &base)?.is_empty() {
            documents.push((entry, base));
        }
    }
    let mut docs: Vec<_> = documents.iter().map(|(entry, _)| (entry.id, entry.digest)).collect();
    let further = docs.split_off(docs.len().min(most));
    let header = BundleHeader { crew: log.crew(), sender, at: now, program: program.to_owned(), docs };
    let mut file = Sealing { hasher: blake3::Hasher::new(), bytes: 0, signer, bundle: [0; 32] };
    file.put(&mut out, MAGIC)?;
    let mut first = codec::encode(&Frame::BundleHeader(header))?;
    file.bundle = *blake3::hash(&first).as_bytes();
    for part in further.chunks(most) {
        first.extend(codec::encode(&Frame::Inventory(Inventory { docs: part.to_vec(), last: false }))?);
    }
    for part in in_parts(log.entries().cloned(), codec::MAX_FRAME / 2) {
        first.extend(codec::encode(&Frame::Entries(part))?);
    }
    file.section(&mut out, 0, &first)?;
    let mut changes = 0;
    for (number, (entry, base)) in documents.iter().enumerate() {
        let have = Have { doc: entry.id, held: Some((entry.key.clone(), entry.digest)), vector: base.clone() };
        let mut section = codec::encode(&Frame::Have(HaveList { docs: vec![have], last: true }))?;
        let raw = store.changes_since(&entry.id, base)?;
        let frames = codec::pack(entry.id, &raw).map_err(|size| SyncError::ChangeTooLarge {
            doc: entry.id,
            size,
            limit: codec::MAX_CHANGE,
        })?;
        for frame in frames {
            changes += u64::from(frame.count);
            section.extend(codec::encode(&Frame::Changes(frame))?);
        }
        file.section(&mut out, section_number(number + 1), &section)?;
    }
    let hash = *file.hasher.finalize().as_bytes();
    let documents = section_number(documents.len());
    let signature = signer.sign(&trailer_to_sign(&hash)).to_bytes().to_vec();
    let trailer = codec::encode(&Frame::BundleTrailer(BundleTrailer { documents, changes, hash, signature }))?;
    file.put(&mut out, &trailer)?;
    out.flush().map_err(|error| io("written", &error))?;
    Ok(BundleWritten { documents, changes, bytes: file.bytes })
}

fn section_number(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

fn io(action: &'static str, error: &std::io::Error) -> SyncError {
    SyncError::BundleIo { action, reason: error.to_string() }
}

struct Sealing<'a> {
    hasher: blake3::Hasher,
    bytes: u64,
    signer: &'a SigningKey,
    bundle: [u8; 32],
}

impl Sealing<'_> {
    fn put(&mut self, out: &mut impl Write, bytes: &[u8]) -> Result<(), SyncError> {
        self.hasher.update(bytes);
        self.bytes += bytes.len() as u64;
        out.write_all(bytes).map_err(|error| io("written", &error))
    }

    fn section(&mut self, out: &mut impl Write, number: u32, bytes: &[u8]) -> Result<(), SyncError> {
        let signature = self.signer.sign(&section_to_sign(&self.bundle, number, bytes)).to_bytes().to_vec();
        let seal = codec::encode(&Frame::BundleSeal(BundleSeal { section: number, signature }))?;
        self.put(out, MARK)?;
        self.put(out, bytes)?;
        self.put(out, &seal)
    }
}

fn section_to_sign(bundle: &[u8; 32], number: u32, bytes: &[u8]) -> Vec<u8> {
    let mut hasher = blake3::Hasher::new_derive_key("ligule bundle section 1");
    hasher.update(bundle);
    hasher.update(&number.to_le_bytes());
    hasher.update(bytes);
    let mut message = b"ligule bundle section 1".to_vec();
    message.extend_from_slice(hasher.finalize().as_bytes());
    message
}

fn trailer_to_sign(hash: &[u8; 32]) -> Vec<u8> {
    let mut message = b"ligule bundle trailer 1".to_vec();
    message.extend_from_slice(hash);
    message
}

fn signed(by: &DeviceId, message: &[u8], signature: &[u8]) -> bool {
    let (Ok(key), Ok(signature)) = (VerifyingKey::from_bytes(&by.0), Signature::from_slice(signature)) else {
        return false;
    };
    key.verify_strict(message, &signature).is_ok()
}

/// Writes photos behind the records of a bundle; those that are not here or that no record names are left out.
///
/// # Errors
/// When a photo cannot be read or the file cannot be written.
pub fn write_photos(
    store: &mut dyn PhotoStore,
    photos: impl IntoIterator<Item = PhotoHash>,
    mut out: impl Write,
) -> Result<BundledPhotos, SyncError> {
    let mut written = BundledPhotos::default();
    let mut lacking = 0;
    let mut put = |frame: &Frame| -> Result<(), SyncError> {
        let bytes = codec::encode(frame)?;
        if matches!(frame, Frame::Photo(_)) {
            out.write_all(PHOTO_MARK).map_err(|error| io("written", &error))?;
        }
        out.write_all(&bytes).map_err(|error| io("written", &error))
    };
    for hash in photos {
        let Some(size) = store.open(hash)? else {
            lacking += 1;
            continue;
        };
        put(&Frame::Photo(Photo { hash, size, from: 0 }))?;
        let mut at = 0;
        while at < size {
            let most = usize::try_from(size - at).unwrap_or(PHOTO_PART).min(PHOTO_PART);
            let bytes = store.read(at, most)?;
            if bytes.is_empty() {
                let reason = format!("photo {hash} has become shorter while it was read");
                return Err(SyncError::BundleIo { action: "written", reason });
            }
            at += bytes.len() as u64;
            put(&Frame::PhotoBytes(bytes))?;
        }
        written.photos += 1;
        written.bytes += size;
    }
    put(&Frame::PhotosEnd(PhotosEnd { started: written.photos, lacking }))?;
    out.flush().map_err(|error| io("written", &error))?;
    Ok(written)
}

/// Takes in the photos of a bundle from a place in it on: those that records name and that are not here.
///
/// # Errors
/// When the store refuses one: the disk is full, and the next would not fare better. Damage is no error; see
/// [`BundledPhotos::damaged`].
pub fn read_photos(input: impl Read + Seek, from: u64, store: &mut dyn PhotoStore) -> Result<BundledPhotos, SyncError> {
    let mut source = Source::new(input);
    let mut read = BundledPhotos::default();
    let mut at = from;
    loop {
        let damage = match source.photo(at, store, &mut read)? {
            PhotoRead::Photo { end } => {
                at = end;
                continue;
            }
            PhotoRead::End { end, started } if started == read.photos && source.ends_at(end) => return Ok(read),
            PhotoRead::End { started, .. } => Damage {
                part: "end of the photos".to_owned(),
                reason: format!("it speaks of {started} photos, {} were found, or something follows it", read.photos),
            },
            PhotoRead::Broken { part, reason } => Damage { part, reason },
        };
        read.damaged.push(damage);
        match source.find(at + 1, PHOTO_MARK) {
            Some(next) => at = next,
            None => return Ok(read),
        }
    }
}

/// What was found at a place where a photo may begin.
enum PhotoRead {
    Photo { end: u64 },
    End { end: u64, started: u64 },
    Broken { part: String, reason: String },
}

/// A bundle that is read here and there, as little at once as goes.
struct Source<R> {
    input: R,
    /// Where `input` stands.
    at: u64,
}

impl<R: Read + Seek> Source<R> {
    fn new(input: R) -> Self {
        Self { input, at: u64::MAX }
    }

    /// Fills `buffer` from a place on; returns how much there was.
    fn fill(&mut self, at: u64, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.at != at {
            self.at = u64::MAX;
            self.input.seek(SeekFrom::Start(at))?;
            self.at = at;
        }
        let mut filled = 0;
        while filled < buffer.len() {
            match self.input.read(&mut buffer[filled..]) {
                Ok(0) => break,
                Ok(count) => filled += count,
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) => {
                    self.at = u64::MAX;
                    return Err(error);
                }
            }
        }
        self.at += filled as u64;
        Ok(filled)
    }

    /// Returns the bytes of a frame and what they say; the reason where there is none.
    fn frame(&mut self, at: u64) -> Result<(Frame, Vec<u8>), String> {
        let failed = |error: std::io::Error| format!("it cannot be read: {error}");
        let mut bytes = vec![0; 4];
        if self.fill(at, &mut bytes).map_err(failed)? < 4 {
            return Err(CUT_OFF.to_owned());
        }
        let length = u32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]) as usize;
        // The codec judges the length; only as much is read as it may be.
        bytes.resize(4 + length.min(codec::MAX_FRAME), 0);
        let filled = self.fill(at + 4, &mut bytes[4..]).map_err(failed)?;
        bytes.truncate(4 + filled);
        match codec::decode(&bytes).map_err(|error| error.to_string())? {
            Some((frame, _)) => Ok((frame, bytes)),
            None => Err(CUT_OFF.to_owned()),
        }
    }

    /// Tells whether these bytes stand at a place.
    fn has(&mut self, at: u64, expected: &[u8]) -> std::io::Result<bool> {
        let mut bytes = vec![0; expected.len()];
        Ok(self.fill(at, &mut bytes)? == expected.len() && bytes == expected)
    }

    fn ends_at(&mut self, at: u64) -> bool {
        matches!(self.fill(at, &mut [0]), Ok(0))
    }

    /// Returns where a mark stands, from a place on.
    fn find(&mut self, from: u64, mark: &[u8]) -> Option<u64> {
        let mut window = vec![0; 1 << 16];
        let mut at = from;
        loop {
            let filled = self.fill(at, &mut window).ok()?;
            if let Some(place) = window[..filled].windows(mark.len()).position(|bytes| bytes == mark) {
                return Some(at + place as u64);
            }
            if filled < window.len() {
                return None;
            }
            // A mark may begin in this window and end in the next.
            at += (filled + 1 - mark.len()) as u64;
        }
    }

    /// Returns the hash of all bytes before a place.
    fn hash_until(&mut self, end: u64) -> std::io::Result<[u8; 32]> {
        let mut hasher = blake3::Hasher::new();
        let mut window = vec![0; 1 << 16];
        let mut at = 0;
        while at < end {
            let most = usize::try_from(end - at).unwrap_or(window.len()).min(window.len());
            let filled = self.fill(at, &mut window[..most])?;
            if filled == 0 {
                break;
            }
            hasher.update(&window[..filled]);
            at += filled as u64;
        }
        Ok(*hasher.finalize().as_bytes())
    }

    /// Reads the section whose mark is at `start`.
    fn section(&mut self, start: u64) -> Result<Section, String> {
        if !self.has(start, MARK).map_err(|error| format!("it cannot be read: {error}"))? {
            return Err("expected the start of a section".to_owned());
        }
        let mut at = start + MARK.len() as u64;
        let (mut bytes, mut first) = (Vec::new(), 0);
        let mut frames = Vec::new();
        loop {
            let (frame, raw) = self.frame(at)?;
            at += raw.len() as u64;
            if let Frame::BundleSeal(seal) = frame {
                return Ok(Section { bytes, first, frames, seal, end: at });
            }
            if bytes.len() + raw.len() > MAX_SECTION {
                return Err(format!("it has more than {MAX_SECTION} bytes"));
            }
            bytes.extend(raw);
            if frames.is_empty() {
                first = bytes.len();
            }
            frames.push(frame);
        }
    }

    /// Takes in the photo whose mark is at `start`, or finds the end of the photos there.
    fn photo(
        &mut self,
        start: u64,
        store: &mut dyn PhotoStore,
        read: &mut BundledPhotos,
    ) -> Result<PhotoRead, SyncError> {
        let broken = |part: &str, reason: String| Ok(PhotoRead::Broken { part: part.to_owned(), reason });
        let marked = match self.has(start, PHOTO_MARK) {
            Ok(marked) => marked,
            Err(error) => return broken("photos", format!("they cannot be read: {error}")),
        };
        let mut at = if marked { start + PHOTO_MARK.len() as u64 } else { start };
        let photo = match self.frame(at) {
            Ok((Frame::PhotosEnd(PhotosEnd { started, .. }), raw)) if !marked => {
                return Ok(PhotoRead::End { end: at + raw.len() as u64, started });
            }
            Ok((Frame::Photo(photo), raw)) if marked && photo.from == 0 && photo.is_kept() => {
                at += raw.len() as u64;
                photo
            }
            Ok((frame, _)) => {
                return broken("photos", format!("a {} frame stands where one should begin", frame.name()));
            }
            Err(reason) => return broken("photos", reason),
        };
        let part = format!("photo {}", photo.hash);
        read.photos += 1;
        let taken = store.begin(photo.hash, photo.size, 0)?;
        let mut left = photo.size;
        while left > 0 {
            let reason = match self.frame(at) {
                Ok((Frame::PhotoBytes(bytes), raw)) if !bytes.is_empty() && bytes.len() as u64 <= left => {
                    if taken {
                        store.write(&bytes)?;
                    }
                    at += raw.len() as u64;
                    left -= bytes.len() as u64;
                    continue;
                }
                Ok((frame, _)) => format!("a {} frame stands in it", frame.name()),
                Err(reason) => reason,
            };
            if taken {
                store.break_off();
            }
            return broken(&part, reason);
        }
        if taken && !store.keep()? {
            return broken(&part, "its bytes are not those that the record speaks of".to_owned());
        }
        if taken {
            read.kept += 1;
            read.bytes += photo.size;
        }
        Ok(PhotoRead::Photo { end: at })
    }
}

const CUT_OFF: &str = "it is cut off";

/// Takes in the records of a bundle: every document whose section is whole, signed by a member, and accepted by the store.
///
/// # Errors
/// When the file cannot be read, or its header is damaged, or its sender is no member: nothing is taken in then.
/// Damage further on is no error; see [`BundleReport::damaged`].
pub fn read(input: impl Read + Seek, store: &mut dyn Store) -> Result<BundleReport, SyncError> {
    let mut source = Source::new(input);
    let bad = |part: &str, reason: String| SyncError::Bundle { part: part.to_owned(), reason };
    if !source.has(0, MAGIC).map_err(|error| io("read", &error))? {
        return Err(bad("start", "it does not begin as a bundle of this version does; needs ligule of the writer's version, or it is another kind of file".to_owned()));
    }
    let first = source.section(MAGIC.len() as u64).map_err(|reason| bad("header", reason))?;
    let (header, shown) = first.header().map_err(|reason| bad("header", reason))?;
    let (bundle, signature) = (*blake3::hash(&first.bytes[..first.first]).as_bytes(), &first.seal);
    if signature.section != 0
        || !signed(&header.sender, &section_to_sign(&bundle, 0, &first.bytes), &signature.signature)
    {
        return Err(bad("header", "its signature is not its sender's".to_owned()));
    }
    check_sender(&header, &shown, store)?;
    let mut reading =
        Reading { header: &header, bundle, store, report: BundleReport::new(&header), seen: BTreeSet::new() };
    match reading.sections(&mut source, first.end) {
        Ok(end) => reading.trailer(&mut source, end),
        Err(lost) => reading.lost_trailer(&mut source, lost, "it was not found after the damage before it".to_owned()),
    }
    Ok(reading.finish())
}

/// Checks crew and sender; keeps the membership entries that the bundle brings if they prove the sender a member.
fn check_sender(header: &BundleHeader, shown: &[SignedEntry], store: &mut dyn Store) -> Result<(), SyncError> {
    let mut log = store.membership()?;
    if header.crew != log.crew() {
        return Err(SyncError::OtherCrew { theirs: header.crew, ours: log.crew() });
    }
    let new = log.merge(shown.iter().cloned()).new;
    let device = header.sender;
    if log.removed().contains_key(&device) {
        return Err(SyncError::RemovedWriter { device });
    }
    if !log.is_member(&device) {
        return Err(SyncError::UnknownWriter { device });
    }
    if new > 0 {
        store.merge_membership(shown.to_vec())?;
    }
    Ok(())
}

struct Section {
    bytes: Vec<u8>,
    /// The length of its first frame.
    first: usize,
    frames: Vec<Frame>,
    seal: BundleSeal,
    end: u64,
}

impl Section {
    fn header(&self) -> Result<(BundleHeader, Vec<SignedEntry>), String> {
        let mut frames = self.frames.iter();
        let Some(Frame::BundleHeader(header)) = frames.next() else { return Err("it is missing".to_owned()) };
        let (mut header, mut shown) = (header.clone(), Vec::new());
        for frame in frames {
            match frame {
                Frame::Inventory(further) => header.docs.extend(&further.docs),
                Frame::Entries(entries) => shown.extend(entries.iter().cloned()),
                other => return Err(format!("a {} frame stands in it", other.name())),
            }
        }
        Ok((header, shown))
    }

    fn document(&self, crew: CrewId) -> Result<(DocKey, Vec<Vec<u8>>), String> {
        let mut frames = self.frames.iter();
        let Some(Frame::Have(list)) = frames.next() else { return Err("it does not name its document".to_owned()) };
        let [Have { doc, held: Some((key, _)), .. }] = list.docs.as_slice() else {
            return Err("it does not name exactly one document".to_owned());
        };
        if key.id() != *doc || key.crew != crew {
            return Err("its document is of another crew, or has another id".to_owned());
        }
        let mut changes = Vec::new();
        let mut size = 0;
        for frame in frames {
            let Frame::Changes(packed) = frame else { return Err(format!("a {} frame stands in it", frame.name())) };
            if packed.doc != *doc {
                return Err("it holds changes of another document".to_owned());
            }
            size += packed.inflated as usize;
            if size > MAX_DOCUMENT {
                return Err(format!("its changes have more than {MAX_DOCUMENT} bytes"));
            }
            changes.extend(codec::unpack(packed).map_err(|error| error.to_string())?);
        }
        Ok((key.clone(), changes))
    }
}

struct Reading<'a> {
    header: &'a BundleHeader,
    bundle: [u8; 32],
    store: &'a mut dyn Store,
    report: BundleReport,
    /// Documents taken in or refused by the store.
    seen: BTreeSet<DocId>,
}

impl BundleReport {
    fn new(header: &BundleHeader) -> Self {
        Self {
            sender: header.sender,
            at: header.at,
            announced: section_number(header.docs.len()),
            documents: 0,
            changes_in: 0,
            damaged: Vec::new(),
            refused: Vec::new(),
            photos_from: None,
        }
    }
}

impl Reading<'_> {
    fn part(&self, number: u32) -> String {
        let doc = self.header.docs.get((number as usize).wrapping_sub(1)).map(|(doc, _)| format!(" (id {doc})"));
        format!("document {number} of {}{}", self.report.announced, doc.unwrap_or_default())
    }

    /// Reads all document sections from `at`; returns where the last of them ends, or else where damage begins behind which
    /// none was found.
    fn sections(&mut self, source: &mut Source<impl Read + Seek>, mut at: u64) -> Result<u64, u64> {
        let mut number = 1;
        while number <= self.report.announced {
            let result = source.section(at).and_then(|section| Ok((section.end, self.section(&section)?)));
            match result {
                Ok((end, read)) => {
                    // After damage the next whole section may be a later one.
                    number = read + 1;
                    at = end;
                }
                Err(reason) => {
                    let part = self.part(number);
                    self.report.damaged.push(Damage { part, reason });
                    number += 1;
                    at = source.find(at + 1, MARK).ok_or(at)?;
                }
            }
        }
        Ok(at)
    }

    fn section(&mut self, section: &Section) -> Result<u32, String> {
        let number = section.seal.section;
        let message = section_to_sign(&self.bundle, number, &section.bytes);
        if !signed(&self.header.sender, &message, &section.seal.signature) {
            return Err("its signature is not the sender's".to_owned());
        }
        let (key, changes) = section.document(self.header.crew)?;
        let announced = self.header.docs.get((number as usize).wrapping_sub(1)).map(|(doc, _)| *doc);
        if announced != Some(key.id()) {
            return Err("the header announces another document at this place".to_owned());
        }
        match self.store.apply(&self.header.sender, &key, changes) {
            Ok(applied) => {
                self.report.documents += 1;
                self.report.changes_in += applied.new_changes;
            }
            Err(refusal) => self.report.refused.push((key.clone(), refusal)),
        }
        self.seen.insert(key.id());
        Ok(number)
    }

    fn trailer(&mut self, source: &mut Source<impl Read + Seek>, at: u64) {
        let reason = match source.frame(at) {
            Ok((Frame::BundleTrailer(trailer), raw)) => {
                let end = at + raw.len() as u64;
                self.report.photos_from = (!source.ends_at(end)).then_some(end);
                match source.hash_until(at) {
                    Err(error) => format!("what stands before it cannot be read: {error}"),
                    Ok(hash) if trailer.hash != hash || trailer.documents != self.report.announced => {
                        "its hash or count does not match what stands before it".to_owned()
                    }
                    Ok(hash) if !signed(&self.header.sender, &trailer_to_sign(&hash), &trailer.signature) => {
                        "its signature is not the sender's".to_owned()
                    }
                    Ok(_) => return,
                }
            }
            Ok((frame, _)) => format!("a {} frame stands in its place", frame.name()),
            Err(reason) if reason == CUT_OFF => "it is missing: the file is cut off".to_owned(),
            Err(reason) => reason,
        };
        self.lost_trailer(source, at, reason);
    }

    fn lost_trailer(&mut self, source: &mut Source<impl Read + Seek>, at: u64, reason: String) {
        // Where it ends may not be known, but a photo has a mark.
        if self.report.photos_from.is_none() {
            self.report.photos_from = source.find(at, PHOTO_MARK);
        }
        self.report.damaged.push(Damage { part: "trailer".to_owned(), reason });
    }

    /// Names what was announced and never found.
    fn finish(mut self) -> BundleReport {
        for (at, (doc, _)) in self.header.docs.iter().enumerate() {
            let part = self.part(section_number(at + 1));
            if !self.seen.contains(doc) && !self.report.damaged.iter().any(|damage| damage.part == part) {
                let reason = "it was not found after the damage before it".to_owned();
                self.report.damaged.push(Damage { part, reason });
            }
        }
        self.report
    }
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use ligule_observation::ids::Feature;

    use super::*;
    use crate::membership::MembershipLog;
    use crate::store::{Applied, DocEntry, StoreError};

    /// Documents without changes.
    struct Names(MembershipLog, Vec<DocKey>);

    impl Store for Names {
        fn inventory(&mut self) -> Result<Vec<DocEntry>, StoreError> {
            Ok(self.1.iter().map(|key| DocEntry { id: key.id(), key: key.clone(), digest: [1; 8] }).collect())
        }

        fn vector(&mut self, _: &DocId) -> Result<VersionVector, StoreError> {
            Ok(VersionVector::new())
        }

        fn changes_since(&mut self, _: &DocId, _: &VersionVector) -> Result<Vec<Vec<u8>>, StoreError> {
            Ok(Vec::new())
        }

        fn apply(&mut self, _: &DeviceId, key: &DocKey, _: Vec<Vec<u8>>) -> Result<Applied, Refusal> {
            self.1.push(key.clone());
            Ok(Applied { new_changes: 0, digest: [1; 8] })
        }

        fn membership(&mut self) -> Result<MembershipLog, StoreError> {
            Ok(self.0.clone())
        }

        fn merge_membership(&mut self, entries: Vec<SignedEntry>) -> Result<(), StoreError> {
            self.0.merge(entries);
            Ok(())
        }
    }

    /// More documents than one frame can announce: 7, where a frame announces 3, as 50,000 where it announces 40,000.
    #[test]
    fn documents_are_announced_in_as_many_frames_as_they_need() {
        let key = SigningKey::from_bytes(&[1; 32]);
        let log = MembershipLog::found(&key, "person 1", [5; 16], 0).unwrap();
        let named = |season| DocKey { crew: log.crew(), feature: Feature::Crew, season };
        let keys: Vec<DocKey> = (2020..2027).map(named).collect();
        let mut file = Vec::new();
        let mut from = Names(log.clone(), keys.clone());
        write_announcing(3, &mut from, None, &key, "0.1.0", 0, &mut file).unwrap();
        let mut to = Names(log.clone(), Vec::new());
        let report = read(Cursor::new(&file), &mut to).unwrap();
        assert_eq!((report.announced, report.documents, report.damaged), (7, 7, Vec::new()));
        assert_eq!(to.1, keys);
        // What further frames announce is signed like the first.
        let header = Source::new(Cursor::new(&file)).section(MAGIC.len() as u64).unwrap();
        let last = MAGIC.len() + MARK.len() + header.bytes.len() - 1;
        for at in (MAGIC.len() + MARK.len() + header.first..=last).step_by(7) {
            let mut changed = file.clone();
            changed[at] ^= 1;
            read(Cursor::new(&changed), &mut Names(log.clone(), Vec::new())).unwrap_err();
        }
        let most = (0..ANNOUNCED).map(|n| (DocId([7; 16]), [u8::try_from(n % 251).unwrap(); 8])).collect();
        let header = BundleHeader {
            crew: log.crew(),
            sender: device_id(&key),
            at: i64::MAX,
            program: "v".repeat(1000),
            docs: most,
        };
        codec::encode(&Frame::BundleHeader(header)).unwrap();
    }
}
