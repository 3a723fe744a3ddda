//! A consistent copy of the journal's database, made while others write.

use std::{
    fs::{File, OpenOptions},
    path::Path,
};

use rusqlite::{Connection, OpenFlags, params};

use crate::{
    error::JournalError,
    store::{Journal, restrict},
};

impl Journal {
    /// Writes the database as it stands at one moment into a new file; other processes go on writing meanwhile.
    ///
    /// The copy belongs to the same device, and is put in the place of a journal that was lost. It knows no actors: a
    /// person who writes into it goes on under a new one, so that what the lost journal wrote after the copy was made,
    /// and gave to other devices, merges with what is written now. Everything is on disk on return.
    ///
    /// *Errors:* the file is there already or cannot be written, the journal is damaged; what was written of the copy is
    /// removed.
    pub fn copy_into(&self, to: &Path) -> Result<(), JournalError> {
        let io = |e: std::io::Error| JournalError::Io { file: to.into(), why: e.to_string() };
        drop(OpenOptions::new().write(true).create_new(true).open(to).map_err(io)?);
        let copied = self.copy_over(to);
        if copied.is_err()
            && let Err(error) = std::fs::remove_file(to)
        {
            tracing::warn!(file = %to.display(), %error, "cannot be removed");
        }
        copied
    }

    /// Fills an empty file.
    fn copy_over(&self, to: &Path) -> Result<(), JournalError> {
        let io = |e: std::io::Error| JournalError::Io { file: to.into(), why: e.to_string() };
        let copy = |e: rusqlite::Error| JournalError::sqlite(to, &e);
        restrict(to).map_err(io)?;
        let name = to
            .to_str()
            .ok_or_else(|| JournalError::Io { file: to.into(), why: "a copy needs a name that is UTF-8".into() })?;
        self.lock().conn.execute("vacuum into ?1", params![name]).map_err(|e| {
            // What cannot be read is the journal's fault, anything else the copy's.
            match JournalError::sqlite(&self.file, &e) {
                damaged @ JournalError::Damaged { .. } => damaged,
                _ => copy(e),
            }
        })?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let conn = Connection::open_with_flags(to, flags).map_err(copy)?;
        conn.pragma_update(None, "synchronous", "full").map_err(copy)?;
        conn.execute("delete from actor", []).map_err(copy)?;
        let sound: String = conn.query_row("pragma quick_check(1)", [], |r| r.get(0)).map_err(copy)?;
        if sound != "ok" {
            return Err(JournalError::damaged(&self.file, sound));
        }
        conn.close().map_err(|(_, e)| copy(e))?;
        File::open(to).and_then(|file| file.sync_all()).map_err(io)
    }
}
