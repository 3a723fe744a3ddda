//! What can go wrong with a journal, and how to go on.

use std::path::{Path, PathBuf};

use ligule_observation::{error::DocumentError, ids::DocId, outside::Refused};

/// An error of a journal.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// There is no journal in the folder.
    #[error("no journal in {}: expected the file `journal.sqlite` there; start one with `ligule init`", folder.display())]
    NotAJournal {
        /// The folder.
        folder: PathBuf,
    },
    /// What was named as a folder, or lies above it, is a file.
    #[error("{} cannot be a journal's folder: {} is a file; name a folder, which is made where there is none", folder.display(), there.display())]
    NoFolder {
        /// The folder.
        folder: PathBuf,
        /// The file.
        there: PathBuf,
    },
    /// There is a journal in the folder already.
    #[error("{} holds a journal already; open it or choose another folder", folder.display())]
    AlreadyThere {
        /// The folder.
        folder: PathBuf,
    },
    /// The journal was written by a later program.
    #[error("{} has schema {found}; this program reads up to {known}: use a later `ligule`", file.display())]
    NewerSchema {
        /// The file.
        file: PathBuf,
        /// The schema found.
        found: i64,
        /// The latest schema that this program reads.
        known: i64,
    },
    /// The file is damaged.
    #[error("{} is damaged: {why}; still readable: {readable}. {next}", file.display())]
    Damaged {
        /// The file.
        file: PathBuf,
        /// What was found.
        why: String,
        /// What can still be read, and so be salvaged.
        readable: String,
        /// How to go on.
        next: &'static str,
    },
    /// A person's name that cannot be kept.
    #[error("expected a person's name without line breaks and other control characters, got {got:?}")]
    BadPerson {
        /// What came.
        got: String,
    },
    /// The journal cannot be read by this account.
    #[error("the journal in {} cannot be read: {why}", folder.display())]
    Unreadable {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        why: String,
    },
    /// The journal cannot be written where it is.
    #[error("the journal in {} cannot be written: {why}. Nothing was recorded", folder.display())]
    Unwritable {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        why: String,
    },
    /// The file could not be read or written.
    #[error("{}: {why}", file.display())]
    Io {
        /// The file.
        file: PathBuf,
        /// What the system said.
        why: String,
    },
    /// There is no room for what was to be written.
    #[error(
        "{} cannot be written: {why}. Nothing of this was recorded, and everything that was said to be recorded is there; \
         make room on the disk and repeat",
        file.display()
    )]
    NoRoom {
        /// The file.
        file: PathBuf,
        /// What the system said.
        why: String,
    },
    /// A recording that is too large for one transaction could not be finished; the rest is kept.
    #[error(
        "{recorded} of {observations} observations are recorded, and the others are kept in the journal: the next command \
         that can finishes them. Do not record them again. What kept this one from it: {}",
        without_advice(why)
    )]
    Unfinished {
        /// Why.
        why: Box<Self>,
        /// How many are recorded.
        recorded: usize,
        /// How many there are.
        observations: usize,
    },
    /// Another process kept the journal locked.
    #[error("{} was locked by another process for more than {seconds} s; try again", file.display())]
    Busy {
        /// The file.
        file: PathBuf,
        /// How long was waited.
        seconds: u64,
    },
    /// There is no such document.
    #[error("no document {id} in this journal")]
    UnknownDocument {
        /// The document's identifier.
        id: DocId,
    },
    /// An observation that was to be moved was voided meanwhile.
    #[error("{key} was voided meanwhile ({why}); nothing was moved: look at the visit again")]
    VoidedMeanwhile {
        /// The observation.
        key: String,
        /// The reason of the void.
        why: String,
    },
    /// A draft is gone on with by another process.
    #[error("`{name}` goes on elsewhere; nothing was written")]
    DraftTaken {
        /// The draft's name.
        name: String,
    },
    /// There is no such observation.
    #[error("no observation `{key}` in this journal")]
    UnknownObservation {
        /// The observation's key.
        key: String,
    },
    /// A field's name is taken.
    #[error("the crew has a field `{name}` already; choose another name")]
    FieldNameTaken {
        /// The name.
        name: String,
    },
    /// The document belongs to another crew.
    #[error("the document belongs to crew {got}, this journal to {expected}")]
    OtherCrew {
        /// This journal's crew.
        expected: String,
        /// The document's crew.
        got: String,
    },
    /// A document refused.
    #[error(transparent)]
    Document(#[from] DocumentError),
    /// Changes from outside were refused.
    #[error(transparent)]
    Refused(#[from] Refused),
    /// The process that tries changes out refused them.
    #[error("changes from outside are refused: {why}")]
    Screened {
        /// Why.
        why: String,
    },
}

/// Tells whether it was a write that the system refused: beyond a quota or limit it says so only as an error of input and
/// output.
fn is_write(error: &rusqlite::Error) -> bool {
    use rusqlite::ffi::{
        SQLITE_IOERR_SHMMAP, SQLITE_IOERR_SHMOPEN, SQLITE_IOERR_SHMSIZE, SQLITE_IOERR_TRUNCATE, SQLITE_IOERR_WRITE,
    };
    let rusqlite::Error::SqliteFailure(failure, _) = error else { return false };
    [SQLITE_IOERR_WRITE, SQLITE_IOERR_TRUNCATE, SQLITE_IOERR_SHMSIZE, SQLITE_IOERR_SHMMAP, SQLITE_IOERR_SHMOPEN]
        .contains(&failure.extended_code)
}

/// Says what happened; what an error advises whoever recorded nothing does not hold of what is kept.
fn without_advice(error: &JournalError) -> String {
    match error {
        JournalError::NoRoom { file, why } => {
            format!("{} cannot be written: {why}; make room on the disk", file.display())
        }
        other => other.to_string(),
    }
}

/// How to go on with a journal that opens.
pub(crate) const SALVAGE: &str = "Keep a copy of the file; `ligule journal salvage FOLDER` writes what can be read into a \
                                  new journal, and a sync brings the rest from another device of the crew";
/// How to go on with a journal that does not open.
const REPLACE: &str = "Keep a copy of the file; then put an earlier copy in its place, or start a new journal in \
                       another folder and sync it from another device of the crew. Photos are files of their own beside \
                       it, in the folder `photos`: copy that folder into the new journal's";
/// How to go on with a file that holds nothing.
const MOVE_ASIDE: &str = "Move the file aside; then put an earlier copy in its place, or start a new journal with \
                          `ligule init` and sync it from another device of the crew";

impl JournalError {
    /// The error of a journal that is open.
    pub(crate) fn sqlite(file: &Path, error: &rusqlite::Error) -> Self {
        Self::of(file, error, Self::damaged)
    }

    /// The error of a journal that is being opened.
    pub(crate) fn opening(file: &Path, error: &rusqlite::Error) -> Self {
        Self::of(file, error, Self::unopened)
    }

    fn of(file: &Path, error: &rusqlite::Error, damaged: fn(&Path, String) -> Self) -> Self {
        use rusqlite::ErrorCode::{DatabaseBusy, DatabaseCorrupt, DatabaseLocked, DiskFull, NotADatabase, ReadOnly};
        match error.sqlite_error_code() {
            Some(DatabaseBusy | DatabaseLocked) => {
                Self::Busy { file: file.into(), seconds: crate::store::BUSY.as_secs() }
            }
            Some(DatabaseCorrupt | NotADatabase) => damaged(file, error.to_string()),
            Some(ReadOnly) => {
                let folder = file.parent().unwrap_or(file).into();
                Self::Unwritable { folder, why: error.to_string() }
            }
            Some(DiskFull) => Self::NoRoom { file: file.into(), why: error.to_string() },
            Some(_) if is_write(error) => Self::NoRoom { file: file.into(), why: error.to_string() },
            Some(_) => Self::Io { file: file.into(), why: error.to_string() },
            // A row of the wrong type, a missing row or column: what is in the file is not what was written.
            None => damaged(file, error.to_string()),
        }
    }

    pub(crate) fn damaged(file: &Path, why: String) -> Self {
        Self::Damaged { file: file.into(), why, readable: crate::salvage::readable(file), next: SALVAGE }
    }

    /// A file from which not even the owner of the journal can be read.
    pub(crate) fn unopened(file: &Path, why: String) -> Self {
        Self::Damaged { file: file.into(), why, readable: "nothing".into(), next: REPLACE }
    }

    pub(crate) fn empty(file: &Path) -> Self {
        let why = "it is empty (0 bytes)".into();
        Self::Damaged { file: file.into(), why, readable: "nothing".into(), next: MOVE_ASIDE }
    }
}
