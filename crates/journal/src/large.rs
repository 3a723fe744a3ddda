//! Recordings that are too large for one transaction: all of it or nothing, whenever the process ends.
//!
//! They are staged first, a row of `kv` a part in short transactions, and then a row that makes them count. Then each part
//! is recorded in a transaction that takes its row away. The process holds a lock on a file beside the database meanwhile,
//! which the system takes from it when it ends: whoever finds rows and the lock free records the rest where the rows
//! count, and drops them where they do not yet.
//!
//! Every staged observation has its number. So a copy of the folder that was made in between records the same rest under
//! the same keys, as two devices do that import one sheet, and the copies merge into one.

use std::{
    collections::HashMap,
    fs::{File, OpenOptions, TryLockError},
    io::ErrorKind,
    time::Duration,
};

use jiff::Timestamp;
use ligule_observation::{
    document::NewObservation,
    ids::{DocKey, Feature, ObservationKey},
};
use rusqlite::{Transaction, params};
use serde::{Deserialize, Serialize};

use crate::{
    batch::{Batch, by_person},
    error::JournalError,
    store::Journal,
    write::new_ulid,
};

/// The most observations of one transaction, and the most changes: one a document and person. Nobody who records meanwhile
/// waits longer than for that. `cargo run --release -p ligule-journal --example latency` tells how long it takes.
const PART: (usize, usize) = (5_000, 200);

/// How long a process that records in several transactions lets others come through between two.
pub(crate) const PAUSE: Duration = Duration::from_millis(10);

/// What the names of staged rows begin with. They are this program's own, and are neither exported nor read in.
pub const STAGED: &str = "staged ";

/// How rows are staged; another number is one of another program.
const VERSION: u32 = 1;

/// How far a recording is that is too large for one transaction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Large {
    /// Another process records much, and this one waits for it.
    Waiting,
    /// Another process was ended while it recorded so many observations, and this one finishes it.
    Finishing(usize),
    /// So many of so many observations are recorded.
    Recorded(usize, usize),
    /// So many observations of a recording that another process had begun cannot be read any more: the file is damaged.
    Lost(usize),
}

/// The row that makes the others count.
#[derive(Debug, Serialize, Deserialize)]
struct Mark {
    version: u32,
    /// When it was written down.
    at: Timestamp,
    /// How many parts there are, and how many of them are recorded.
    parts: usize,
    done: usize,
    /// How many observations there are, and how many of them are recorded.
    observations: usize,
    recorded: usize,
}

/// Observations for one document. It is the crew's that the device is part of when they are recorded.
#[derive(Serialize, Deserialize)]
struct Staged {
    feature: Feature,
    season: i32,
    crop: Option<String>,
    new: Vec<NewObservation>,
}

/// Some of the observations of a batch, of one person, with their numbers.
struct Piece<'a> {
    document: &'a DocKey,
    crop: Option<&'a str>,
    new: Vec<(&'a NewObservation, u32)>,
}

/// The lock, for as long as this value lives.
#[derive(Debug)]
pub struct Held(#[expect(dead_code, reason = "the lock goes when the file is closed")] File);

impl Journal {
    /// Records observations into several documents, however many there are: in one transaction, or in several so that nobody
    /// who records meanwhile waits for long, and then all of it too, whenever this process ends.
    ///
    /// Visits without numbers are new. One such recording goes on at a time; `tell` hears how far it is. *Returns* the keys
    /// in order; everything is on disk then. *Errors:* nothing is written where one of them cannot be;
    /// [`JournalError::Unfinished`] where the rest is kept and finished later.
    pub fn record_large(
        &self,
        batches: &[Batch],
        now: Timestamp,
        tell: &dyn Fn(Large),
    ) -> Result<Vec<ObservationKey>, JournalError> {
        let numbers = numbers(batches);
        let parts = parts(batches, &numbers, PART);
        if parts.len() < 2 {
            return Ok(self.record_all(batches, now)?.concat());
        }
        // What could be refused is refused before anything is kept.
        self.check_tables()?;
        self.check_batches(batches)?;
        for new in batches.iter().flat_map(|batch| &batch.new) {
            new.check()?;
        }
        let held = self.finish_and_hold(tell)?;
        let name = format!("{STAGED}{}", new_ulid(now));
        let observations = batches.iter().map(|batch| batch.new.len()).sum();
        let mark = Mark { version: VERSION, at: now, parts: parts.len(), done: 0, observations, recorded: 0 };
        if let Err(error) = self.stage(&name, &parts, &mark) {
            // Where there is no room for this either, whoever records much next does it.
            if let Err(error) = self.drop_staged(&name) {
                tracing::debug!(%error, "what was staged stays, and counts for nothing");
            }
            return Err(error);
        }
        self.record_staged(&name, mark, tell)?;
        drop(held);
        let all = batches.iter().flat_map(|batch| &batch.new).zip(numbers.iter().flatten());
        Ok(all.map(|(new, number)| key(&new.visit.id, *number)).collect())
    }

    /// Finishes what a process that was ended had begun to record, and tells `tell` how far it is.
    ///
    /// Returns at once where there is nothing, or where the process still goes on. *Errors:* it cannot be finished now; what
    /// is missing stays kept.
    pub fn finish_large(&self, tell: &dyn Fn(Large)) -> Result<(), JournalError> {
        if self.staged(STAGED)?.is_empty() {
            return Ok(());
        }
        let lock = self.lock_file()?;
        match lock.try_lock() {
            Ok(()) => self.finish_held(tell),
            Err(TryLockError::WouldBlock) => Ok(()),
            Err(TryLockError::Error(error)) => Err(self.no_lock(&error)),
        }
    }

    /// Waits until no other process records much, and finishes what one had begun that was ended; while the value that is
    /// returned lives, none begins.
    pub fn finish_and_hold(&self, tell: &dyn Fn(Large)) -> Result<Held, JournalError> {
        let lock = self.lock_file()?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                tell(Large::Waiting);
                lock.lock().map_err(|error| self.no_lock(&error))?;
            }
            Err(TryLockError::Error(error)) => return Err(self.no_lock(&error)),
        }
        self.finish_held(tell)?;
        Ok(Held(lock))
    }

    /// Finishes what is staged, with the lock held.
    fn finish_held(&self, tell: &dyn Fn(Large)) -> Result<(), JournalError> {
        let mut names: Vec<String> = self.staged(STAGED)?;
        // The row that makes others count bears their common name.
        names.sort();
        while !names.is_empty() {
            let name = names[0][..names[0].len().min(STAGED.len() + ULID)].to_owned();
            let mark = self.kv_get(&name)?;
            match mark.map(|bytes| serde_json::from_slice::<Mark>(&bytes)) {
                None => {
                    tracing::info!(name, "what was staged and counts for nothing is dropped");
                    self.drop_staged(&name)?;
                }
                Some(Ok(mark)) if mark.version == VERSION => {
                    tracing::info!(
                        name,
                        mark.observations,
                        mark.recorded,
                        "a recording that was cut short is finished"
                    );
                    tell(Large::Finishing(mark.observations));
                    self.record_staged(&name, mark, tell)?;
                }
                // Another program's, or damage: it is kept as it is.
                Some(_) => return Err(self.io(&format!("this program cannot read `{name}`; use a later `ligule`"))),
            }
            names.retain(|other| !other.starts_with(&name));
        }
        Ok(())
    }

    /// Keeps the parts, a transaction each, and then the row that makes them count.
    fn stage(&self, name: &str, parts: &[Vec<Piece<'_>>], mark: &Mark) -> Result<(), JournalError> {
        for (n, part) in parts.iter().enumerate() {
            let staged = part.iter().map(|Piece { document, crop, new }| Staged {
                feature: document.feature.clone(),
                season: document.season,
                crop: crop.map(str::to_owned),
                new: new.iter().map(|(one, n)| NewObservation { number: Some(*n), ..(*one).clone() }).collect(),
            });
            let bytes = pack(&staged.collect::<Vec<_>>()).map_err(|why| self.io(&why))?;
            self.kv_put(&row_name(name, n), &bytes)?;
        }
        self.kv_put(name, &bytes_of(mark))
    }

    /// Records the parts that are not recorded yet.
    fn record_staged(&self, name: &str, mut mark: Mark, tell: &dyn Fn(Large)) -> Result<(), JournalError> {
        let crew = self.identity().crew;
        while mark.done < mark.parts {
            if mark.done > 0 {
                std::thread::sleep(PAUSE);
            }
            let row = row_name(name, mark.done);
            let unfinished = |why: JournalError, recorded| JournalError::Unfinished {
                why: Box::new(why),
                recorded,
                observations: mark.observations,
            };
            let part = self.kv_get(&row).map_err(|why| unfinished(why, mark.recorded))?;
            // A journal that was salvaged may lack some.
            let part = part.as_deref().and_then(unpack);
            let batches: Vec<Batch> = (part.unwrap_or_default().into_iter())
                .map(|Staged { feature, season, crop, new }| Batch {
                    document: DocKey { crew, feature, season },
                    crop,
                    new,
                })
                .collect();
            let before = mark.recorded;
            mark.done += 1;
            mark.recorded += batches.iter().map(|batch| batch.new.len()).sum::<usize>();
            let also = |tx: &Transaction<'_>| {
                tx.execute("delete from kv where name = ?1", [&row])?;
                match mark.done < mark.parts {
                    true => tx.execute("update kv set value = ?2 where name = ?1", params![name, bytes_of(&mark)]),
                    false => tx.execute("delete from kv where name = ?1", [name]),
                }
                .map(drop)
            };
            self.record_all_and(&batches, mark.at, also).map_err(|why| unfinished(why, before))?;
            tell(Large::Recorded(mark.recorded, mark.observations));
        }
        if mark.recorded < mark.observations {
            let lost = mark.observations - mark.recorded;
            tracing::error!(name, lost, "observations that were staged cannot be read");
            tell(Large::Lost(lost));
        }
        Ok(())
    }

    /// Returns the names of staged rows that begin with `name`.
    fn staged(&self, name: &str) -> Result<Vec<String>, JournalError> {
        let inner = self.lock();
        // A range, so that nothing else is looked at: every program that opens the journal asks.
        let read = || -> rusqlite::Result<Vec<String>> {
            let sql = "select name from kv where name >= ?1 and name < ?1 || char(0x10ffff)";
            inner.conn.prepare_cached(sql)?.query_map([name], |r| r.get(0))?.collect()
        };
        read().map_err(self.sql())
    }

    fn drop_staged(&self, name: &str) -> Result<(), JournalError> {
        for row in self.staged(name)? {
            self.lock().conn.execute("delete from kv where name = ?1", [row]).map_err(self.sql())?;
        }
        Ok(())
    }

    /// Opens the file that is locked, which holds nothing and stays.
    fn lock_file(&self) -> Result<File, JournalError> {
        let mut name = self.file.clone().into_os_string();
        name.push("-large");
        OpenOptions::new().write(true).create(true).truncate(false).open(name).map_err(|error| self.no_lock(&error))
    }

    fn no_lock(&self, error: &std::io::Error) -> JournalError {
        let (file, why) = (self.file.clone(), error.to_string());
        match error.kind() {
            ErrorKind::ReadOnlyFilesystem | ErrorKind::PermissionDenied => {
                JournalError::Unwritable { folder: self.folder.clone(), why }
            }
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => JournalError::NoRoom { file, why },
            _ => {
                let most = PART.0;
                self.io(&format!(
                    "`journal.sqlite-large` beside it cannot be locked ({why}), so that at most {most} observations can be \
                     recorded at once; keep the journal on a disk of this machine"
                ))
            }
        }
    }

    fn io(&self, why: &str) -> JournalError {
        JournalError::Io { file: self.file.clone(), why: why.to_owned() }
    }
}

/// Letters of a ULID.
const ULID: usize = 26;

fn key(visit: &str, number: u32) -> ObservationKey {
    format!("{visit}-{number:02}")
}

fn row_name(name: &str, n: usize) -> String {
    format!("{name} {n:06}")
}

fn bytes_of(mark: &Mark) -> Vec<u8> {
    serde_json::to_vec(mark).expect("it is plain data")
}

/// Observations resemble each other: this makes a tenth of them, and the database no larger than need be.
fn pack(staged: &[Staged]) -> Result<Vec<u8>, String> {
    let json = serde_json::to_vec(staged).expect("observations are plain data");
    zstd::encode_all(json.as_slice(), 1).map_err(|error| error.to_string())
}

fn unpack(bytes: &[u8]) -> Option<Vec<Staged>> {
    serde_json::from_slice(&zstd::decode_all(bytes).ok()?).ok()
}

/// Returns the number of each observation within its visit, a list a batch.
fn numbers(batches: &[Batch]) -> Vec<Vec<u32>> {
    let mut last: HashMap<(&DocKey, &str), u32> = HashMap::new();
    let mut numbers = Vec::with_capacity(batches.len());
    for Batch { document, new, .. } in batches {
        let mut of_batch = Vec::with_capacity(new.len());
        for one in new {
            of_batch.push(one.number.unwrap_or_else(|| {
                let last = last.entry((document, &one.visit.id)).or_insert(0);
                *last += 1;
                *last
            }));
        }
        numbers.push(of_batch);
    }
    numbers
}

/// Cuts what is to be recorded into parts of at most so many observations and changes: each person's of each document.
fn parts<'a>(batches: &'a [Batch], numbers: &[Vec<u32>], most: (usize, usize)) -> Vec<Vec<Piece<'a>>> {
    let mut parts: Vec<Vec<Piece<'_>>> = Vec::new();
    let mut room = (0, 0);
    for (batch, numbers) in batches.iter().zip(numbers) {
        let mut crop = batch.crop.as_deref();
        for own in by_person(&batch.new) {
            let mut left = own.as_slice();
            while !left.is_empty() {
                if room.0 == 0 || room.1 == 0 {
                    parts.push(Vec::new());
                    room = most;
                }
                let (some, rest) = left.split_at(left.len().min(room.0));
                left = rest;
                room = (room.0 - some.len(), room.1 - 1);
                let new = some.iter().map(|&index| (&batch.new[index], numbers[index])).collect();
                let piece = Piece { document: &batch.document, crop: crop.take(), new };
                parts.last_mut().expect("one was begun").push(piece);
            }
        }
    }
    parts
}
