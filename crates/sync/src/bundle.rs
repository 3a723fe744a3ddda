//! An exchange as a file, for a stick or a mail.
//!
//! The file is [`MAGIC`], then sections. Each section is [`MARK`], frames, and a seal: the sender's signature over
//! the bundle's number, the section's number and the section's bytes. Section 0 holds the header and the membership
//! log; every other section holds one document. A trailer counts, hashes and signs the whole. Because each section
//! is signed by itself, a damaged file still gives up every document whose section is whole.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Read, Write};

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use ligule_observation::ids::{CrewId, DeviceId, DocId, DocKey};

use crate::codec::{self, MAX_DOCUMENT};
use crate::error::SyncError;
use crate::frame::{BundleHeader, BundleSeal, BundleTrailer, Frame, Have, HaveList};
use crate::membership::{SignedEntry, device_id, in_parts};
use crate::store::{Refusal, Store, VersionVector};

/// The first bytes of a bundle.
pub const MAGIC: &[u8; 16] = b"ligule bundle 1\n";
/// The first bytes of a section, by which reading goes on after damage.
pub const MARK: &[u8; 8] = b"\0LGSEC\r\n";
/// The longest bundle that is read, in bytes.
pub const MAX_BUNDLE: u64 = 1 << 30;

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
    let header = BundleHeader {
        crew: log.crew(),
        sender,
        at: now,
        program: program.to_owned(),
        docs: documents.iter().map(|(entry, _)| (entry.id, entry.digest)).collect(),
    };
    let mut file = Sealing { hasher: blake3::Hasher::new(), bytes: 0, signer, bundle: [0; 32] };
    file.put(&mut out, MAGIC)?;
    let mut first = codec::encode(&Frame::BundleHeader(header))?;
    file.bundle = *blake3::hash(&first).as_bytes();
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

/// Takes in a bundle: every document whose section is whole, signed by a member, and accepted by the store.
///
/// # Errors
/// When the file cannot be read, or its header is damaged, or its sender is no member: nothing is taken in then.
/// Damage further on is no error; see [`BundleReport::damaged`].
pub fn read(input: impl Read, store: &mut dyn Store) -> Result<BundleReport, SyncError> {
    let mut file = Vec::new();
    input.take(MAX_BUNDLE + 1).read_to_end(&mut file).map_err(|error| io("read", &error))?;
    let bad = |part: &str, reason: String| SyncError::Bundle { part: part.to_owned(), reason };
    if file.len() as u64 > MAX_BUNDLE {
        return Err(bad("size", format!("it has more than {MAX_BUNDLE} bytes")));
    }
    if !file.starts_with(MAGIC) {
        return Err(bad("start", "it does not begin as a bundle of this version does; needs ligule of the writer's version, or it is another kind of file".to_owned()));
    }
    let start = MAGIC.len();
    let first = section_at(&file, start).map_err(|reason| bad("header", reason))?;
    let (header, shown) = first.header().map_err(|reason| bad("header", reason))?;
    let (bundle, signature) = (*blake3::hash(first.first_frame).as_bytes(), &first.seal);
    if signature.section != 0
        || !signed(&header.sender, &section_to_sign(&bundle, 0, first.bytes), &signature.signature)
    {
        return Err(bad("header", "its signature is not its sender's".to_owned()));
    }
    check_sender(&header, &shown, store)?;
    let mut reading =
        Reading { header: &header, bundle, store, report: BundleReport::new(&header), seen: BTreeSet::new() };
    let end = reading.sections(&file, first.end)?;
    reading.trailer(&file, end);
    Ok(reading.finish())
}

/// Checks crew and sender; keeps the membership entries that the bundle brings if they prove the sender a member.
fn check_sender(header: &BundleHeader, shown: &[SignedEntry], store: &mut dyn Store) -> Result<(), SyncError> {
    let mut log = store.membership()?;
    if header.crew != log.crew() {
        return Err(SyncError::OtherCrew { theirs: header.crew, ours: log.crew() });
    }
    let new = log.merge(shown.iter().cloned()).new;
    if !log.is_member(&header.sender) {
        let reason = format!("{} is not a member of the crew (any more)", header.sender);
        return Err(SyncError::Bundle { part: "sender".to_owned(), reason });
    }
    if new > 0 {
        store.merge_membership(shown.to_vec())?;
    }
    Ok(())
}

struct Section<'a> {
    bytes: &'a [u8],
    first_frame: &'a [u8],
    frames: Vec<Frame>,
    seal: BundleSeal,
    end: usize,
}

/// Reads the section whose mark is at `start`.
fn section_at(file: &[u8], start: usize) -> Result<Section<'_>, String> {
    if !file[start..].starts_with(MARK) {
        return Err("expected the start of a section".to_owned());
    }
    let begin = start + MARK.len();
    let (mut at, mut first) = (begin, begin);
    let mut frames = Vec::new();
    loop {
        match codec::decode(&file[at..]).map_err(|error| error.to_string())? {
            None => return Err("it is cut off".to_owned()),
            Some((Frame::BundleSeal(seal), used)) => {
                return Ok(Section {
                    bytes: &file[begin..at],
                    first_frame: &file[begin..first],
                    frames,
                    seal,
                    end: at + used,
                });
            }
            Some((frame, used)) => {
                at += used;
                if frames.is_empty() {
                    first = at;
                }
                frames.push(frame);
            }
        }
    }
}

impl Section<'_> {
    fn header(&self) -> Result<(BundleHeader, Vec<SignedEntry>), String> {
        let mut frames = self.frames.iter();
        let Some(Frame::BundleHeader(header)) = frames.next() else { return Err("it is missing".to_owned()) };
        let mut shown = Vec::new();
        for frame in frames {
            let Frame::Entries(entries) = frame else { return Err(format!("a {} frame stands in it", frame.name())) };
            shown.extend(entries.iter().cloned());
        }
        Ok((header.clone(), shown))
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
        }
    }
}

impl Reading<'_> {
    fn part(&self, number: u32) -> String {
        let doc = self.header.docs.get((number as usize).wrapping_sub(1)).map(|(doc, _)| format!(" (id {doc})"));
        format!("document {number} of {}{}", self.report.announced, doc.unwrap_or_default())
    }

    /// Reads all document sections from `at`; returns where the last good or searched byte is.
    fn sections(&mut self, file: &[u8], mut at: usize) -> Result<usize, SyncError> {
        let mut number = 1;
        while number <= self.report.announced {
            let result = match section_at(file, at.min(file.len())) {
                Ok(section) => self.section(&section).map(|read| (section.end, read)),
                Err(reason) => Err(reason),
            };
            match result {
                Ok((end, read)) => {
                    // After damage the next whole section may be a later one.
                    number = read + 1;
                    at = end;
                }
                Err(reason) => {
                    let next = find(file, at + 1);
                    let part = self.part(number);
                    self.report.damaged.push(Damage { part, reason });
                    number += 1;
                    let Some(next) = next else { return Ok(file.len()) };
                    at = next;
                }
            }
        }
        Ok(at)
    }

    fn section(&mut self, section: &Section<'_>) -> Result<u32, String> {
        let number = section.seal.section;
        let message = section_to_sign(&self.bundle, number, section.bytes);
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

    fn trailer(&mut self, file: &[u8], at: usize) {
        let rest = file.get(at..).unwrap_or_default();
        let reason = match codec::decode(rest) {
            Ok(Some((Frame::BundleTrailer(trailer), used))) => {
                let hash = *blake3::hash(&file[..at]).as_bytes();
                if trailer.hash != hash || trailer.documents != self.report.announced {
                    "its hash or count does not match what stands before it".to_owned()
                } else if !signed(&self.header.sender, &trailer_to_sign(&hash), &trailer.signature) {
                    "its signature is not the sender's".to_owned()
                } else if at + used != file.len() {
                    format!("{} bytes follow it", file.len() - at - used)
                } else {
                    return;
                }
            }
            Ok(Some((frame, _))) => format!("a {} frame stands in its place", frame.name()),
            Ok(None) => "it is missing: the file is cut off".to_owned(),
            Err(error) => error.to_string(),
        };
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

fn find(file: &[u8], from: usize) -> Option<usize> {
    let rest = file.get(from..)?;
    rest.windows(MARK.len()).position(|window| window == MARK).map(|at| from + at)
}
