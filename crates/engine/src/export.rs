//! A journal as lines of JSON: everything that it holds, for whatever will read it one day, and back.
//!
//! The lines are told in `schemas/journal/README.md`. Changes are what counts: they hold every value that was ever
//! written, by whom and when, and a document made of them answers as the first one did. Beside them stand the records with
//! their histories in words, for readers that are not this program.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufRead, BufReader, BufWriter, Read, Write};
use std::path::{Component, Path, PathBuf};

use jiff::Timestamp;
use ligule_journal::{Identity, Journal, STAGED};
use ligule_observation::conflict::Conflict;
use ligule_observation::field::Field;
use ligule_observation::history::HistoryEntry;
use ligule_observation::ids::{BadId, CrewId, DeviceId, DocKey, Feature, hex};
use ligule_observation::outside::Limits;
use ligule_observation::record::Record;
use ligule_observation::screen::ScreenRequest;
use ligule_sync::SigningKey;
use ligule_sync::membership::{MembershipLog, device_id};
use serde::{Deserialize, Serialize};

use crate::backup::files;
use crate::clocks::JUDGED;
use crate::crew::{INVITATION, MEMBERSHIP};
use crate::error::{EngineError, Fault, Result};
use crate::exchange::PROGRAM;
use crate::screening::Screener;
use crate::{Engine, now, random};

/// The version of the lines.
const VERSION: u32 = 1;
/// The longest line that is read, in bytes: the longest change that a journal takes in, in hex, with room to spare.
const LONGEST: u64 = 256 << 20;
/// The most bytes of a file in one line; a photo may have 200 MB, and nobody shall have to hold it in memory.
const FILE_PART: u64 = 64 << 10;
/// Bytes of changes that are tried out at once.
const BATCH: usize = 16 << 20;

/// What a file of lines holds, or what came of reading one.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Exported {
    /// Documents.
    pub documents: usize,
    /// Changes.
    pub changes: usize,
    /// Observations.
    pub observations: usize,
    /// Files of the folder.
    pub files: usize,
    /// Of the changes, those that were new here; only where a file was read.
    pub new_changes: usize,
}

/// One line.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Line<'a> {
    /// Begins the file.
    LiguleJournal { version: u32, program: String, at: Timestamp, crew: CrewId, device: DeviceId, person: String },
    /// What the program keeps by name.
    Kept { name: String, bytes: Hex },
    /// A file in the journal's folder.
    File { path: String, bytes: Hex },
    /// A file in the journal's folder that takes several lines; they follow.
    LongFile { path: String, size: u64 },
    /// The next bytes of the file above.
    FilePart { bytes: Hex },
    /// A document; its changes follow.
    Document { crew: CrewId, feature: String, season: i32, changes: usize, heads: Vec<Hex> },
    /// One change of the document above.
    Change { bytes: Hex },
    /// A record with its history, as lists show it.
    #[serde(skip_deserializing)]
    Observation {
        #[serde(flatten)]
        record: &'a Record,
        history: &'a [HistoryEntry],
    },
    /// A field of the crew, as lists show it.
    #[serde(skip_deserializing)]
    Field(&'a Field),
    /// A conflict that waits for a person.
    #[serde(skip_deserializing)]
    Conflict(&'a Conflict),
    /// Ends the file: how many there were, and BLAKE3 over all bytes before this line.
    End { documents: usize, changes: usize, observations: usize, files: usize, blake3: Hex },
    /// What this program does not import: the lines for other readers, and lines of later programs.
    #[serde(skip)]
    Other,
}

/// The lines that are read in.
const READ: [&str; 8] = ["ligule-journal", "kept", "file", "long-file", "file-part", "document", "change", "end"];

impl Line<'static> {
    fn parse(bytes: &[u8]) -> serde_json::Result<Self> {
        let object: serde_json::Map<String, serde_json::Value> = serde_json::from_slice(bytes)?;
        match object.keys().next() {
            Some(member) if object.len() == 1 && READ.contains(&member.as_str()) => {
                serde_json::from_value(serde_json::Value::Object(object))
            }
            _ => Ok(Self::Other),
        }
    }
}

/// Bytes, written as hex digits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
struct Hex(Vec<u8>);

impl From<Hex> for String {
    fn from(bytes: Hex) -> Self {
        hex(&bytes.0)
    }
}

impl TryFrom<String> for Hex {
    type Error = &'static str;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        let digit = |c: u8| char::from(c).to_digit(16).and_then(|d| u8::try_from(d).ok());
        let pairs = text.as_bytes().chunks(2).map(|pair| match pair {
            [high, low] => Some(digit(*high)? << 4 | digit(*low)?),
            _ => None,
        });
        pairs.collect::<Option<_>>().map(Self).ok_or("expected pairs of hex digits")
    }
}

/// Writes lines and keeps count of the bytes.
struct Lines<'a, W> {
    out: W,
    /// The file that is written, to name it where it cannot be.
    path: &'a Path,
    hasher: blake3::Hasher,
}

impl<W: Write> Lines<'_, W> {
    fn put(&mut self, line: &Line<'_>) -> Result<()> {
        let mut bytes = serde_json::to_vec(line)?;
        bytes.push(b'\n');
        self.hasher.update(&bytes);
        self.out.write_all(&bytes).map_err(|error| crate::cannot_write(self.path, &error))
    }
}

/// Writes a file out, in as many lines as it takes.
fn export_file(lines: &mut Lines<'_, impl Write>, path: &str, file: &mut File) -> Result<()> {
    let size = file.metadata()?.len();
    let mut next = |most: u64| -> Result<Hex> {
        let mut bytes = Vec::new();
        Read::by_ref(file).take(most).read_to_end(&mut bytes)?;
        Ok(Hex(bytes))
    };
    if size <= FILE_PART {
        return lines.put(&Line::File { path: path.to_owned(), bytes: next(FILE_PART)? });
    }
    lines.put(&Line::LongFile { path: path.to_owned(), size })?;
    let mut left = size;
    while left > 0 {
        let bytes = next(left.min(FILE_PART))?;
        if bytes.0.is_empty() {
            let message = format!("{path} has become shorter while it was read");
            return Err(EngineError::new(Fault::System, message, "export again when nobody writes to it"));
        }
        left -= bytes.0.len() as u64;
        lines.put(&Line::FilePart { bytes })?;
    }
    Ok(())
}

impl Engine {
    /// Writes everything that this journal holds into a file, as lines of JSON.
    ///
    /// Only the device's secret key and invitations stay behind: whoever reads the file must not pass for this device. An
    /// earlier export of that name is replaced.
    ///
    /// # Errors
    /// The journal cannot be read, another file has the name, the file cannot be written; nothing is left of it then.
    pub fn export_journal(&self, path: &Path) -> Result<Exported> {
        crate::may_replace(path, b"{\"ligule-journal\":", "export")?;
        let at = |error: std::io::Error| crate::cannot_write(path, &error);
        let mut part = path.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        // A large recording that is under way is in it whole.
        let _held = self.journal.finish_and_hold(&*self.tell)?;
        let write = || {
            let file = File::create(&part).map_err(at)?;
            let mut lines = Lines { out: BufWriter::new(file), path, hasher: blake3::Hasher::new() };
            let exported = self.export_lines(&mut lines)?;
            lines.out.flush().map_err(at)?;
            lines.out.get_ref().sync_all().map_err(at)?;
            fs::rename(&part, path).map_err(at)?;
            Ok(exported)
        };
        write().inspect_err(|_| {
            let _ = fs::remove_file(&part);
        })
    }

    fn export_lines(&self, lines: &mut Lines<'_, impl Write>) -> Result<Exported> {
        let Identity { device, person, crew, .. } = self.journal.identity();
        let mut sum = Exported::default();
        lines.put(&Line::LiguleJournal {
            version: VERSION,
            program: PROGRAM.to_owned(),
            at: now(),
            crew,
            device,
            person,
        })?;
        for name in self.journal.kv_names("")? {
            // An invitation serves one device, and what follows from the documents is found again.
            if name.starts_with(INVITATION) || name == JUDGED {
                continue;
            }
            let bytes = Hex(self.journal.kv_get(&name)?.unwrap_or_default());
            lines.put(&Line::Kept { name, bytes })?;
        }
        for path in files(&self.folder)? {
            let mut file = File::open(self.folder.join(&path))?;
            let path = path.to_str().ok_or_else(|| {
                let message = format!("the name of {} is not UTF-8", path.display());
                EngineError::new(Fault::User, message, "rename the file or take it out of the journal's folder")
            })?;
            export_file(lines, path, &mut file)?;
            sum.files += 1;
        }
        for field in &self.journal.all_fields()? {
            lines.put(&Line::Field(field))?;
        }
        for document in self.journal.documents_of_all_crews()? {
            // One reading of the document: other processes may be writing to it.
            let changes = self.journal.changes_since(document.id, &BTreeMap::new())?;
            let DocKey { crew: whose, feature, season } = document.key;
            lines.put(&Line::Document {
                crew: whose,
                feature: feature.to_string(),
                season,
                changes: changes.len(),
                heads: document.heads.iter().map(|head| Hex(head.to_vec())).collect(),
            })?;
            sum.documents += 1;
            for bytes in changes {
                lines.put(&Line::Change { bytes: Hex(bytes) })?;
                sum.changes += 1;
            }
            if whose != crew {
                continue;
            }
            let histories = self.journal.histories(document.id)?;
            // Those of this document alone: what it is merged with has its own.
            for record in &self.journal.records_in(document.id)? {
                let history = histories.get(&record.key).map_or(&[][..], Vec::as_slice);
                lines.put(&Line::Observation { record, history })?;
                sum.observations += 1;
            }
        }
        for conflict in &self.journal.conflicts()? {
            lines.put(&Line::Conflict(conflict))?;
        }
        let blake3 = Hex(lines.hasher.finalize().as_bytes().to_vec());
        let Exported { documents, changes, observations, files, .. } = sum;
        lines.put(&Line::End { documents, changes, observations, files, blake3 })?;
        Ok(sum)
    }

    /// Reads a file of lines into the journal in `folder`; where there is none, one is started there.
    ///
    /// A new journal belongs to a new device of the same person, which its crew has to invite before it can exchange
    /// records. `screen` is the program that tries changes out (see [`Engine::screened_by`]). Reading a file twice adds
    /// nothing.
    ///
    /// # Errors
    /// The file is not whole: nothing is written then. It is of another crew than the journal. A change is refused.
    pub fn import_journal(folder: &Path, file: &Path, screen: Option<PathBuf>) -> Result<Exported> {
        let (identity, end) = check(file)?;
        let journal = match Journal::open(folder) {
            Ok(journal) => journal,
            Err(ligule_journal::JournalError::NotAJournal { .. }) => Journal::create(folder, identity.clone())?,
            Err(error) => return Err(error.into()),
        };
        if journal.identity().crew != identity.crew {
            return Err(EngineError::user(
                format!("{} was written by crew {}; this journal is of another crew", file.display(), identity.crew),
                "read it into a new journal: `ligule --journal FOLDER journal import FILE`",
            ));
        }
        let mut sum = Exported { observations: end.observations, ..Exported::default() };
        let screener = RefCell::new(Screener::new(screen));
        let try_out = |request: &ScreenRequest| screener.borrow_mut().ask(request);
        let mut open: Option<Incoming> = None;
        let take = |document: &mut Incoming| -> Result<usize> {
            document.waiting = 0;
            let changes = std::mem::take(&mut document.changes);
            Ok(journal.take_in(&document.key, &changes, &LIMITS, now(), &try_out)?.added)
        };
        let mut long: Option<LongFile> = None;
        for line in read(file)? {
            let (_, line) = line?;
            if let Line::Change { bytes } = line {
                let Some(document) = &mut open else { continue };
                document.waiting += bytes.0.len();
                document.changes.push(bytes.0);
                sum.changes += 1;
                if document.waiting > BATCH {
                    sum.new_changes += take(document)?;
                }
                continue;
            }
            if let Some(mut document) = open.take() {
                sum.new_changes += take(&mut document)?;
                if !journal.contains(document.key.id(), &document.heads)? {
                    return Err(broken(file, "a document's changes do not make up what it was"));
                }
            }
            match line {
                Line::Document { crew, feature, season, heads, .. } => {
                    let heads = heads.into_iter().filter_map(|head| head.0.try_into().ok()).collect();
                    let feature: Feature = feature.parse().map_err(|error: BadId| broken(file, &error.to_string()))?;
                    let key = DocKey { crew, feature, season };
                    open = Some(Incoming { key, heads, changes: Vec::new(), waiting: 0 });
                    sum.documents += 1;
                }
                // What another program staged is not what people recorded.
                Line::Kept { name, .. } if name.starts_with(STAGED) => {}
                Line::Kept { name, bytes } if name == MEMBERSHIP => merge_membership(&journal, &bytes.0)?,
                Line::Kept { name, bytes } if journal.kv_get(&name)?.is_none() => journal.kv_put(&name, &bytes.0)?,
                Line::File { path, bytes } => {
                    put_file(folder, &path, &bytes.0)?;
                    sum.files += 1;
                }
                Line::LongFile { path, size } => {
                    long = LongFile::begin(folder, &path, size)?;
                    sum.files += 1;
                }
                Line::FilePart { bytes } => {
                    if let Some(file) = &mut long
                        && file.add(&bytes.0)?
                    {
                        long = None;
                    }
                }
                _ => {}
            }
        }
        Ok(sum)
    }
}

/// A file that is being read in. What is not whole at the end is gone.
struct LongFile {
    out: File,
    part: PathBuf,
    to: PathBuf,
    left: u64,
}

impl LongFile {
    /// Begins a file; none if it is there already.
    fn begin(folder: &Path, path: &str, size: u64) -> Result<Option<Self>> {
        let to = folder.join(path);
        if to.exists() {
            return Ok(None);
        }
        if let Some(parent) = to.parent() {
            fs::create_dir_all(parent).map_err(|error| crate::cannot_write(parent, &error))?;
        }
        let mut part = to.clone().into_os_string();
        part.push(".part");
        let part = PathBuf::from(part);
        let out = File::create(&part).map_err(|error| crate::cannot_write(&part, &error))?;
        // So that nobody takes it for one that was left behind; where the file system knows no locks, nobody cleans.
        let _ = out.try_lock();
        Ok(Some(Self { out, part, to, left: size }))
    }

    /// Adds bytes; tells whether these were the last, and the file has its name.
    fn add(&mut self, bytes: &[u8]) -> Result<bool> {
        self.left = self.left.saturating_sub(bytes.len() as u64);
        let last = self.left == 0;
        let written = self.out.write_all(bytes).and_then(|()| {
            if last {
                self.out.sync_all()?;
                fs::rename(&self.part, &self.to)?;
            }
            Ok(last)
        });
        written.map_err(|error| crate::cannot_write(&self.to, &error))
    }
}

impl Drop for LongFile {
    fn drop(&mut self) {
        if self.left > 0 || self.part.exists() {
            let _ = fs::remove_file(&self.part);
        }
    }
}

/// A document whose changes are being read.
struct Incoming {
    key: DocKey,
    /// The heads that it had when it was written out.
    heads: Vec<[u8; 32]>,
    /// Changes that are not in the journal yet.
    changes: Vec<Vec<u8>>,
    /// Their bytes.
    waiting: usize,
}

/// What one's own journal may hold is more than what another device may bring at once.
const LIMITS: Limits = Limits {
    change_bytes: 64 << 20,
    inflated_bytes: 256 << 20,
    operations: 20_000_000,
    value_bytes: 1 << 20,
    document_bytes: 512 << 20,
    heads: 1 << 16,
};

/// Looks at a whole file before anything of it is used: who a journal made of it would belong to, and what it holds.
fn check(file: &Path) -> Result<(Identity, Exported)> {
    let mut identity = None;
    let mut sum = Exported::default();
    let mut hasher = blake3::Hasher::new();
    let mut end = None;
    // Of a file that takes several lines, the bytes that are still to come.
    let mut left = 0;
    for line in read(file)? {
        let (bytes, line) = line?;
        if end.is_some() {
            return Err(broken(file, "something follows its last line"));
        }
        match &line {
            Line::FilePart { bytes } if (1..=left).contains(&(bytes.0.len() as u64)) => left -= bytes.0.len() as u64,
            Line::FilePart { .. } => return Err(broken(file, "a part of no file stands in it")),
            _ if left > 0 => return Err(broken(file, "a file in it is cut off")),
            _ => {}
        }
        if let Line::LiguleJournal { version, program, .. } = &line
            && *version > VERSION
        {
            return Err(EngineError::new(
                Fault::Data,
                format!("{} was written by ligule {program}, which is later than this one", file.display()),
                "use a later `ligule`",
            ));
        }
        match line {
            Line::LiguleJournal { crew, person, .. } => {
                let secret: [u8; 32] = random()?;
                let device = device_id(&SigningKey::from_bytes(&secret));
                identity = Some(Identity { secret, device, person, crew });
            }
            _ if identity.is_none() => break,
            Line::Document { .. } => sum.documents += 1,
            Line::Change { .. } => sum.changes += 1,
            Line::File { path, .. } => {
                plain(&path)?;
                sum.files += 1;
            }
            Line::LongFile { path, size } => {
                plain(&path)?;
                left = size;
                sum.files += 1;
            }
            Line::End { documents, changes, observations, files, blake3 } => {
                if blake3.0 != hasher.finalize().as_bytes() {
                    return Err(broken(file, "it is not what was written: its check sum differs"));
                }
                sum.observations = observations;
                end = Some((documents, changes, files));
            }
            _ => {}
        }
        hasher.update(&bytes);
    }
    let Some(identity) = identity else {
        return Err(EngineError::user(
            format!("{} is not a journal as `ligule journal export` writes it", file.display()),
            "for sheets of observations there is `ligule import`",
        ));
    };
    if end != Some((sum.documents, sum.changes, sum.files)) {
        return Err(broken(file, "its end is missing"));
    }
    Ok((identity, sum))
}

/// Reads a file line by line: the bytes and what they say.
fn read(file: &Path) -> Result<impl Iterator<Item = Result<(Vec<u8>, Line<'static>)>>> {
    let opened = File::open(file).map_err(|error| {
        EngineError::new(Fault::User, format!("{}: {error}", file.display()), "name a file of `ligule journal export`")
    })?;
    let mut reader = BufReader::new(opened);
    let mut number = 0;
    let file = file.to_owned();
    Ok(std::iter::from_fn(move || {
        number += 1;
        let mut bytes = Vec::new();
        let got = reader.by_ref().take(LONGEST).read_until(b'\n', &mut bytes);
        match got {
            Ok(0) => None,
            Ok(_) => Some(
                Line::parse(&bytes)
                    .map(|line| (bytes, line))
                    .map_err(|error| broken(&file, &format!("line {number} is not what was written: {error}"))),
            ),
            Err(error) => Some(Err(error.into())),
        }
    }))
}

fn broken(file: &Path, why: &str) -> EngineError {
    let message = format!("{}: {why}", file.display());
    EngineError::new(
        Fault::Data,
        message,
        "get the file again, or export the journal again; nothing here was changed by what is wrong",
    )
}

/// Refuses names by which a file could be written outside the folder, or over the database.
fn plain(path: &str) -> Result<()> {
    let inside = Path::new(path).components().all(|part| matches!(part, Component::Normal(_)));
    if path.is_empty() || !inside || path.starts_with("journal.sqlite") {
        return Err(EngineError::new(
            Fault::Data,
            format!("a file in it is called `{path}`, which no journal's folder has"),
            "do not use this file: it was not written by `ligule`",
        ));
    }
    Ok(())
}

/// Writes a file that is not there yet.
fn put_file(folder: &Path, path: &str, bytes: &[u8]) -> Result<()> {
    let to = folder.join(path);
    if to.exists() {
        return Ok(());
    }
    if let Some(parent) = to.parent() {
        fs::create_dir_all(parent).map_err(|error| crate::cannot_write(parent, &error))?;
    }
    crate::write_file(&to, bytes)
}

fn merge_membership(journal: &Journal, bytes: &[u8]) -> Result<()> {
    let log = MembershipLog::from_bytes(bytes)
        .map_err(|error| EngineError::new(Fault::Data, error.to_string(), "export the journal again"))?;
    journal.kv_update(MEMBERSHIP, |old| {
        let mut merged = old
            .and_then(|bytes| MembershipLog::from_bytes(bytes).ok())
            .unwrap_or_else(|| MembershipLog::empty(log.crew()));
        merged.merge(log.entries().cloned());
        Some(merged.to_bytes())
    })?;
    Ok(())
}
