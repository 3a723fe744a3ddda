//! Which actor a person writes under, and how a copied journal is told from the first.
//!
//! One actor a person and document keeps documents small. But two journals that both write under one actor would
//! give out the same sequence number twice, and their changes would not merge. So the actor and its highest sequence
//! number are kept twice: in the journal (the number in the document's version vector) and in a small file outside it,
//! which also knows where the journal lies. A copy has no such file, or one that belongs to another place; a restored
//! backup is behind it. Where the two disagree a new actor is made.
//!
//! The file is written once the journal's transaction is on the disk: a program that is ended in between leaves it behind
//! the journal by one act, and the person goes on under the actor. It is not flushed: losing it costs a new actor and
//! nothing else.

use std::{
    collections::HashMap,
    fs::{self, File},
    io::{Seek, SeekFrom, Write},
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard},
};

use ligule_observation::{
    ids::{DocId, hex},
    version::VersionVector,
};
use rusqlite::{Connection, OptionalExtension, params};

pub(crate) struct Sidecar {
    folder: PathBuf,
    place: String,
    lines: Mutex<Lines>,
}

/// A document and a person.
type Hand = (DocId, String);

/// How far an actor has come.
type Line = ([u8; 16], u64);

#[derive(Default)]
struct Lines {
    /// What this process wrote: it need not read that.
    written: HashMap<Hand, Line>,
    /// What the present transaction is to write once it is on the disk.
    open: HashMap<Hand, Line>,
    /// The files that were written to, at most [`FILES`] of them: to open one costs several times what a line does.
    files: HashMap<Hand, File>,
}

/// How many files are kept open at most.
const FILES: usize = 64;

/// How long a line is, whatever stands in it: a shorter one over a longer one would leave the end of that.
const LINE: usize = 96;

/// Changes that one act makes at most: the crop, and the act.
const OF_AN_ACT: u64 = 2;

impl Sidecar {
    /// `journal` is the journal's folder, `file` the database in it.
    pub(crate) fn of(journal: &Path, file: &Path) -> Self {
        let full = fs::canonicalize(journal).unwrap_or_else(|_| journal.to_owned());
        let mut name = full.file_name().unwrap_or_default().to_owned();
        name.push(".actors");
        let mut hasher = blake3::Hasher::new_derive_key("ligule journal place 1");
        hasher.update(full.as_os_str().as_encoded_bytes());
        hasher.update(&inode(file).to_be_bytes());
        Self {
            folder: full.parent().unwrap_or(&full).join(name),
            place: hasher.finalize().to_hex()[..16].to_owned(),
            lines: Mutex::default(),
        }
    }

    fn file(&self, doc: DocId, person: &str) -> PathBuf {
        let person = &blake3::hash(person.as_bytes()).to_hex()[..16];
        self.folder.join(format!("{doc}-{person}"))
    }

    fn agrees(&self, doc: DocId, person: &str, actor: [u8; 16], seq: u64) -> bool {
        let (hand, line) = ((doc, person.to_owned()), (actor, seq));
        let mut lines = self.lines();
        // Another process, or a journal put in the place of this one, is at another number.
        if lines.open.get(&hand) == Some(&line) || lines.written.get(&hand) == Some(&line) {
            return true;
        }
        // The file that is read is the one to go on with; it may have been put in the place of the one that is open.
        lines.files.remove(&hand);
        drop(lines);
        let Ok(text) = fs::read_to_string(self.file(doc, person)) else { return false };
        // Whoever wrote last may have been ended before it wrote this down; a restored journal is never ahead.
        (seq.saturating_sub(OF_AN_ACT)..=seq).any(|seq| text.trim_end() == self.line((actor, seq)))
    }

    fn lines(&self) -> MutexGuard<'_, Lines> {
        self.lines.lock().unwrap_or_else(|e| e.into_inner())
    }

    fn line(&self, (actor, seq): Line) -> String {
        format!("ligule actor 1 {} {} {seq}", self.place, hex(&actor))
    }

    /// Begins a transaction: what an earlier one would have written down, had it not failed, is forgotten.
    pub(crate) fn begin(&self) {
        self.lines().open.clear();
    }

    /// Writes down how far the actors of a transaction have come, which is on the disk now.
    pub(crate) fn settle(&self) {
        let mut lines = self.lines();
        let open: Vec<_> = lines.open.drain().collect();
        for (hand, line) in open {
            if self.write(&mut lines.files, &hand, line) {
                lines.written.insert(hand, line);
            } else {
                lines.written.remove(&hand);
            }
        }
    }

    /// Writes one line; a failure costs a new actor next time, so it is only told.
    fn write(&self, files: &mut HashMap<Hand, File>, hand: &Hand, line: Line) -> bool {
        // Written over in place: some file systems write a file that was emptied first to the disk at once, and the
        // journal's own write then waits for that. A line that is torn agrees with nothing, and costs a new actor.
        let mut write = || {
            let line = format!("{:<1$}\n", self.line(line), LINE - 1);
            if let Some(file) = files.get_mut(hand) {
                file.seek(SeekFrom::Start(0))?;
                return file.write_all(line.as_bytes());
            }
            let mut file = self.open(&self.file(hand.0, &hand.1))?;
            file.write_all(line.as_bytes())?;
            if files.len() >= FILES {
                files.clear();
            }
            files.insert(hand.clone(), file);
            Ok(())
        };
        let done = write();
        if let Err(e) = &done {
            let e: &std::io::Error = e;
            files.remove(hand);
            tracing::warn!(folder = %self.folder.display(), error = %e, "the actors' file beside the journal cannot be written");
        }
        done.is_ok()
    }

    fn open(&self, file: &Path) -> std::io::Result<File> {
        let open = || File::options().write(true).create(true).truncate(false).open(file);
        match open() {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                fs::create_dir_all(&self.folder)?;
                open()
            }
            other => other,
        }
    }
}

#[cfg(unix)]
fn inode(file: &Path) -> u64 {
    use std::os::unix::fs::MetadataExt;
    fs::metadata(file).map_or(0, |m| m.ino())
}

#[cfg(not(unix))]
fn inode(_: &Path) -> u64 {
    0
}

/// Returns the actor a person writes under and its highest sequence number so far.
pub(crate) fn actor_of(
    conn: &Connection,
    sidecar: &Sidecar,
    doc: DocId,
    person: &str,
    vector: &VersionVector,
) -> rusqlite::Result<([u8; 16], u64)> {
    let known: Option<[u8; 16]> = conn
        .prepare_cached("select actor from actor where doc = ?1 and person = ?2")?
        .query_row(params![doc.0, person], |r| r.get(0))
        .optional()?;
    if let Some(actor) = known {
        let seq = vector.get(&actor[..]).copied().unwrap_or(0);
        if sidecar.agrees(doc, person, actor, seq) {
            return Ok((actor, seq));
        }
    }
    let actor = fresh();
    // It is known outside before it is in the journal, so that a first act goes on as any other does.
    let hand = (doc, person.to_owned());
    sidecar.write(&mut sidecar.lines().files, &hand, (actor, 0));
    Ok((actor, 0))
}

/// Returns an actor that nobody has written under: 16 random bytes.
pub(crate) fn fresh() -> [u8; 16] {
    let mut actor = [0; 16];
    getrandom::fill(&mut actor).expect("the system gives random bytes");
    actor
}

/// Writes down how far an actor has come: in the journal, and beside it once [`Sidecar::settle`] is called.
pub(crate) fn keep(
    conn: &Connection,
    sidecar: &Sidecar,
    doc: DocId,
    person: &str,
    actor: [u8; 16],
    seq: u64,
) -> rusqlite::Result<()> {
    let hand = (doc, person.to_owned());
    let mut lines = sidecar.lines();
    // What this process wrote down under an actor is in the table.
    if lines.written.get(&hand).is_none_or(|(known, _)| *known != actor) {
        conn.prepare_cached(
            "insert into actor (doc, person, actor) values (?1, ?2, ?3)
             on conflict (doc, person) do update set actor = excluded.actor where actor <> excluded.actor",
        )?
        .execute(params![doc.0, person, actor])?;
    }
    lines.open.insert(hand, (actor, seq));
    Ok(())
}
