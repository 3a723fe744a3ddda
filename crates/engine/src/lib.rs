//! The use cases, wired: record, exchange, assess, advise, compact, query.
//!
//! An [`Engine`] is one device's journal with the kinds that it knows. What people typed comes in as text and is read
//! here ([`entry`], [`moment`]); what goes out are plain values that the program prints, the report draws and other
//! programs read. Clock and randomness enter here and nowhere below.

pub mod advise;
mod amounts;
pub mod archive;
pub mod assess;
mod backup;
mod bundle;
mod clocks;
mod conflicts;
mod crew;
pub mod entry;
mod error;
mod exchange;
mod export;
mod fields;
pub mod moment;
pub mod number;
mod one_unit;
mod overview;
mod photos;
mod phrases;
mod question;
mod reading;
mod recording;
mod reentry;
mod refusal;
mod screening;
pub mod sheet;
mod sitting;
mod station;
mod upkeep;
mod visit;
mod visits;
pub mod weather;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use ligule_journal::Journal;
use ligule_observation::kind::Kind;
use ligule_observation::kinds::KindSet;

pub use advise::{Advice, FieldAdvice, PackCheck, PackInfo, check_pack, packs};
pub use archive::{ArchiveCheck, ArchiveFile, Compacted, archive_files, verify_archive};
pub use backup::BackedUp;
pub use bundle::{BundleRead, BundleWritten};
pub use crew::{Joined, MemberLine, Newcomer};
pub use error::{EngineError, Fault, Result, known};
pub use exchange::Exchange;
pub use export::Exported;
pub use fields::{
    Bring, Brought, Double, Drawn, FieldChange, FieldLine, Keep, Kept as RosterEntry, Merged, NewField, Parted, Sort,
    Split, TEXTURES,
};
pub use ligule_advice as advice;
pub use ligule_agronomy::catalogue;
pub use ligule_journal::Large;
pub use ligule_observation::{kind, kinds};
pub use ligule_units::Unit;
pub use overview::Glance;
pub use photos::{MEND as MEND_PHOTOS, NewPhoto, PHOTO, PhotoCheck, PhotoLine, PhotoProgress, PhotosRecorded};
pub use phrases::{Noun, Phrase};
pub use question::{OutputFormat, Question, question};
pub use reading::{LANGUAGES, Reading};
pub use recording::{CandidateLine, ConflictLine, Entry, HistoryLine, ListFilter, ObservationLine, Recorded};
pub use reentry::{APPLICATION, Reentry, SprayedField};
pub use screening::{SCREEN, screen};
pub use sitting::{Asked, Sit, Sitting};
pub use station::Imported;
pub use upkeep::JournalCheck;
pub use visit::{OpenConflict, Visit};
pub use visits::{Elsewhere, MovedVisit, VisitLine, VisitShown};

/// One device's journal, ready for use.
pub struct Engine {
    journal: Arc<Journal>,
    kinds: KindSet,
    folder: PathBuf,
    screen: Option<PathBuf>,
    reading: Reading,
    /// Changes that were taken in and tell a time that cannot be, until people are told.
    odd_times: clocks::OddTimes,
    /// Hears how far a large recording is.
    tell: Tell,
}

/// Hears how far a recording is that is too large for one transaction, or one of another process that is finished.
pub type Tell = Arc<dyn Fn(Large) + Send + Sync>;

impl Engine {
    /// Returns the kinds that come with the program and those that `kinds/` in a journal's folder adds.
    ///
    /// # Errors
    /// A file there that declares no kind, by name and line.
    pub fn kinds_of(folder: &Path) -> Result<KindSet> {
        let own = folder.join("kinds");
        if !own.is_dir() {
            return Ok(KindSet::builtin());
        }
        KindSet::with_folder(&own).map_err(|error| {
            EngineError::new(Fault::Data, error.to_string(), "mend the file or take it out of the folder")
        })
    }

    /// Opens the journal in a folder. Kinds of the user's own lie in `kinds/` beside it. A large recording that was cut
    /// short is finished first.
    ///
    /// # Errors
    /// No journal, a newer one, a damaged one; a kind that cannot be used.
    pub fn open(folder: &Path) -> Result<Self> {
        let (engine, finished) = Self::open_telling(folder, Arc::new(|_| ()))?;
        if let Err(error) = finished {
            tracing::warn!(%error, "a large recording that was cut short is not finished");
        }
        Ok(engine)
    }

    /// Opens the journal in a folder as [`Self::open`] does; `tell` hears how far large recordings are. Returns, beside it,
    /// whether one that was cut short could be finished: where not, everything else can be done all the same.
    pub fn open_telling(folder: &Path, tell: Tell) -> Result<(Self, Result<()>)> {
        let journal = Journal::open(folder)?;
        let kinds = Self::kinds_of(folder)?;
        let reading = Reading::of(&journal.settings()?);
        let finished = journal.finish_large(&*tell).map_err(EngineError::from);
        let (journal, folder) = (Arc::new(journal), folder.to_owned());
        Ok((Self { journal, kinds, folder, screen: None, reading, odd_times: Default::default(), tell }, finished))
    }

    /// Returns how the crew of the journal in a folder reads; nothing is written.
    pub fn reading_of(folder: &Path) -> Result<Reading> {
        Ok(Reading::of(&Journal::open(folder)?.settings()?))
    }

    /// Makes changes from other devices be tried out first by `program screen`, a process of its own with limits on
    /// memory and time. Without it they are tried out in this process.
    #[must_use]
    pub fn screened_by(mut self, program: PathBuf) -> Self {
        self.screen = Some(program);
        self
    }

    /// Returns the kinds that this device knows.
    pub fn kinds(&self) -> &KindSet {
        &self.kinds
    }

    /// Returns a kind, or names the nearest.
    pub fn kind(&self, name: &str) -> Result<&Kind> {
        Self::kind_of(&self.kinds, name, &self.reading)
    }

    /// Returns a kind of a set, or names the nearest.
    pub fn kind_of<'a>(kinds: &'a KindSet, name: &str, reading: &Reading) -> Result<&'a Kind> {
        kinds.get(name).ok_or_else(|| {
            let names = kinds.iter().map(|kind| kind.kind.clone());
            let hint = reading.known(Phrase::KindsAre, name, names);
            EngineError::user(reading.say(Phrase::NoSuchKind, &[("name", &name)]), hint)
        })
    }

    /// Returns this device's identifier.
    pub fn device(&self) -> String {
        self.journal.identity().device.to_string()
    }
}

/// Returns now, as this device's clock tells it.
pub(crate) fn now() -> Timestamp {
    Timestamp::now()
}

/// Fills an array with randomness of the operating system.
pub(crate) fn random<const N: usize>() -> Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)
        .map_err(|error| EngineError::new(Fault::System, format!("the system gives no randomness: {error}"), ""))?;
    Ok(bytes)
}

/// Says that a file that the person named cannot be written.
pub fn cannot_write(path: &Path, error: &std::io::Error) -> EngineError {
    let message = format!("cannot write {}: {error}", path.display());
    match error.kind() {
        std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded | std::io::ErrorKind::FileTooLarge => {
            EngineError::new(Fault::System, message, "make room on that disk, or name one that has room, and repeat")
        }
        _ => EngineError::user(message, "name a file in a folder that is there and may be written"),
    }
}

/// Checks that a file may be written: none has its name, or one of the same sort that this program wrote, as of the day before.
///
/// `mark` stands within the first or the last four kilobytes of each of them. What is no file, as a pipe, is not looked at.
///
/// # Errors
/// Another file has the name.
pub fn may_replace(path: &Path, mark: &[u8], what: &str) -> Result<()> {
    use std::io::{Read, Seek, SeekFrom};
    const ENDS: u64 = 4096;
    let Ok(there) = std::fs::metadata(path) else { return Ok(()) };
    if !there.is_file() || there.len() == 0 {
        return Ok(());
    }
    let ends = || -> std::io::Result<Vec<Vec<u8>>> {
        let mut file = std::fs::File::open(path)?;
        let (mut head, mut tail) = (Vec::new(), Vec::new());
        Read::by_ref(&mut file).take(ENDS).read_to_end(&mut head)?;
        file.seek(SeekFrom::Start(there.len().saturating_sub(ENDS)))?;
        file.take(ENDS).read_to_end(&mut tail)?;
        Ok(vec![head, tail])
    };
    let ours = |bytes: &Vec<u8>| bytes.windows(mark.len()).any(|part| part == mark);
    if ends().is_ok_and(|ends| ends.iter().any(ours)) {
        return Ok(());
    }
    Err(EngineError::user(
        format!("{} is there already and is no {what} that this program wrote", path.display()),
        "name another file, or move that one away first",
    ))
}

/// Writes a file whole or not at all: beside its name first, then renamed.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<()> {
    let failed = |error: std::io::Error| cannot_write(path, &error);
    let name = path
        .file_name()
        .ok_or_else(|| EngineError::user(format!("{} names no file", path.display()), "name a file to write"))?;
    let mut part = name.to_owned();
    part.push(".part");
    let part = path.with_file_name(part);
    let write = || -> std::io::Result<()> {
        let mut file = std::fs::File::create(&part)?;
        std::io::Write::write_all(&mut file, bytes)?;
        file.sync_all()?;
        std::fs::rename(&part, path)
    };
    write().map_err(|error| {
        let _ = std::fs::remove_file(&part);
        failed(error)
    })
}
