//! Opening and starting a journal.

use std::{
    fs::File,
    io::ErrorKind,
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard},
    time::Duration,
};

use ligule_observation::ids::{CrewId, DeviceId};
use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior, params};

use crate::{
    actors::Sidecar,
    documents::Cache,
    error::JournalError,
    identity::Identity,
    read::Listed,
    upgrade::{SCHEMA, upgrade},
    write::{FIELDS_TELL, FIELDS_TOLD},
};

/// How long a write waits for another process.
pub(crate) const BUSY: Duration = Duration::from_secs(30);

/// The journal's file within its folder.
const FILE: &str = "journal.sqlite";

/// A device's journal.
///
/// May be shared between threads; any number of processes may have the same journal open.
pub struct Journal {
    pub(crate) folder: PathBuf,
    pub(crate) file: PathBuf,
    pub(crate) sidecar: Sidecar,
    identity: Mutex<Identity>,
    pub(crate) inner: Mutex<Inner>,
    /// The crew's fields as they were listed last.
    pub(crate) listed: Mutex<Option<Listed>>,
    /// Why the tables could not be brought up to this program's.
    outdated: Option<String>,
}

pub(crate) struct Inner {
    pub(crate) conn: Connection,
    pub(crate) cache: Cache,
}

impl std::fmt::Debug for Journal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Journal").field("file", &self.file).finish_non_exhaustive()
    }
}

impl Journal {
    /// Starts a journal in a folder, which is made if need be.
    ///
    /// *Errors:* there is one already, or the empty rest of one; the folder cannot be written; the person's name has
    /// control characters.
    pub fn create(folder: &Path, identity: Identity) -> Result<Self, JournalError> {
        check_person(&identity.person)?;
        let file = folder.join(FILE);
        if file.exists() {
            if is_empty(&file) {
                return Err(JournalError::empty(&file));
            }
            return Err(JournalError::AlreadyThere { folder: folder.into() });
        }
        check_folder(folder)?;
        let io = |e: std::io::Error| JournalError::Io { file: file.clone(), why: e.to_string() };
        std::fs::create_dir_all(folder).map_err(io)?;
        let sql = |e: rusqlite::Error| JournalError::opening(&file, &e);
        let mut conn = Connection::open(&file).map_err(sql)?;
        restrict(&file).map_err(io)?;
        configure(&mut conn).map_err(sql)?;
        let tx = Transaction::new_unchecked(&conn, TransactionBehavior::Immediate).map_err(sql)?;
        // Another process may have been quicker.
        let tables: i64 = tx.query_row("select count(*) from sqlite_master", [], |r| r.get(0)).map_err(sql)?;
        if tables > 0 {
            return Err(JournalError::AlreadyThere { folder: folder.into() });
        }
        tx.execute_batch(include_str!("schema.sql")).map_err(sql)?;
        let set = |name: &str, value: &dyn rusqlite::ToSql| {
            tx.execute("insert into meta (name, value) values (?1, ?2)", params![name, value]).map_err(sql)
        };
        set("schema", &SCHEMA)?;
        set("secret", &identity.secret)?;
        set("device", &identity.device.0)?;
        set("person", &identity.person)?;
        set("crew", &identity.crew.0)?;
        tx.execute("insert into kv (name, value) values (?1, ?2)", params![FIELDS_TOLD, FIELDS_TELL]).map_err(sql)?;
        tx.commit().map_err(sql)?;
        drop(conn);
        Self::open(folder)
    }

    /// Opens the journal in a folder.
    ///
    /// One on a disk that cannot be written is read as it is; what would write it is refused then.
    ///
    /// *Errors:* there is none; it was written by a later program; it is damaged; it cannot be read, or not without writing.
    pub fn open(folder: &Path) -> Result<Self, JournalError> {
        let file = folder.join(FILE);
        match std::fs::metadata(&file) {
            Ok(there) if there.is_file() => {}
            Err(error) if error.kind() == ErrorKind::PermissionDenied => {
                return Err(JournalError::Unreadable { folder: folder.into(), why: error.to_string() });
            }
            _ => {
                check_folder(folder)?;
                return Err(JournalError::NotAJournal { folder: folder.into() });
            }
        }
        // SQLite takes an empty file for a new database and removes the log beside it: it does not get to see it.
        if is_empty(&file) {
            return Err(JournalError::empty(&file));
        }
        let sql = |e: rusqlite::Error| JournalError::opening(&file, &e);
        let conn = connect(folder, &file)?;
        let schema: Option<i64> = conn
            .query_row("select value from meta where name = 'schema'", [], |r| r.get(0))
            .optional()
            .map_err(|e| match e {
                rusqlite::Error::SqliteFailure(f, _) if f.code == rusqlite::ErrorCode::Unknown => {
                    JournalError::unopened(&file, "it has none of a journal's tables".into())
                }
                e => sql(e),
            })?;
        match schema {
            None => return Err(JournalError::unopened(&file, "it does not tell its schema".into())),
            Some(found) if found > SCHEMA => {
                return Err(JournalError::NewerSchema { file, found, known: SCHEMA });
            }
            Some(_) => {}
        }
        let outdated = match schema.filter(|found| *found < SCHEMA).map(|_| upgrade(&conn)) {
            // What can be read of a damaged journal can be read as it is.
            Some(Err(error)) if is_damage(&error) => Some(error.to_string()),
            Some(Err(error)) => return Err(sql(error)),
            Some(Ok(())) | None => None,
        };
        let identity = read_identity(&conn).map_err(sql)?;
        let journal = Self {
            sidecar: Sidecar::of(folder, &file),
            folder: folder.into(),
            file,
            identity: Mutex::new(identity),
            inner: Mutex::new(Inner { conn, cache: Cache::new() }),
            listed: Mutex::new(None),
            outdated,
        };
        // A journal that cannot be brought up to date now, being damaged or busy, opens all the same.
        if let Err(error) = journal.tell_fields_anew() {
            tracing::debug!(%error, "the list of fields is as an earlier program left it");
        }
        Ok(journal)
    }

    /// Returns the journal's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Returns who the journal belongs to.
    pub fn identity(&self) -> Identity {
        self.identity.lock().unwrap_or_else(|e| e.into_inner()).clone()
    }

    pub(crate) fn set_identity(&self, change: impl FnOnce(&mut Identity)) {
        change(&mut self.identity.lock().unwrap_or_else(|e| e.into_inner()));
    }

    /// Takes the connection and the cached documents; after a panic in another thread the documents are dropped.
    pub(crate) fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(|poisoned| {
            self.inner.clear_poison();
            let mut inner = poisoned.into_inner();
            inner.cache.clear();
            inner
        })
    }

    /// Refuses what needs this program's tables where a journal of an earlier one is damaged.
    pub(crate) fn check_tables(&self) -> Result<(), JournalError> {
        self.outdated.as_ref().map_or(Ok(()), |why| {
            let why = format!("an earlier program's tables cannot be brought up to this one's: {why}");
            Err(JournalError::damaged(&self.file, why))
        })
    }

    /// Begins a transaction that writes under actors; [`Self::commit`] ends it.
    pub(crate) fn begin<'c>(&self, conn: &'c Connection) -> Result<Transaction<'c>, JournalError> {
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate).map_err(self.sql())?;
        self.sidecar.begin();
        Ok(tx)
    }

    /// Brings a transaction that [`Self::begin`] began to the disk.
    pub(crate) fn commit(&self, tx: Transaction<'_>) -> Result<(), JournalError> {
        tx.commit().map_err(self.sql())?;
        self.sidecar.settle();
        Ok(())
    }

    pub(crate) fn sql(&self) -> impl Fn(rusqlite::Error) -> JournalError + '_ {
        |e| JournalError::sqlite(&self.file, &e)
    }

    /// Returns a value that was kept under a name.
    pub fn kv_get(&self, name: &str) -> Result<Option<Vec<u8>>, JournalError> {
        let inner = self.lock();
        inner
            .conn
            .query_row("select value from kv where name = ?1", [name], |r| r.get(0))
            .optional()
            .map_err(self.sql())
    }

    /// Keeps a value under a name; durable on return.
    pub fn kv_put(&self, name: &str, value: &[u8]) -> Result<(), JournalError> {
        let inner = self.lock();
        inner
            .conn
            .execute("insert or replace into kv (name, value) values (?1, ?2)", params![name, value])
            .map(|_| ())
            .map_err(self.sql())
    }

    /// Reads a value, changes it and keeps it, with other processes locked out meanwhile; `None` from `change` keeps it
    /// as it is. Returns what is kept afterwards.
    pub fn kv_update(
        &self,
        name: &str,
        change: impl FnOnce(Option<&[u8]>) -> Option<Vec<u8>>,
    ) -> Result<Option<Vec<u8>>, JournalError> {
        let inner = self.lock();
        let sql = self.sql();
        let tx = Transaction::new_unchecked(&inner.conn, TransactionBehavior::Immediate).map_err(&sql)?;
        let old: Option<Vec<u8>> =
            tx.query_row("select value from kv where name = ?1", [name], |r| r.get(0)).optional().map_err(&sql)?;
        let Some(new) = change(old.as_deref()) else { return Ok(old) };
        tx.execute("insert or replace into kv (name, value) values (?1, ?2)", params![name, new]).map_err(&sql)?;
        tx.commit().map_err(&sql)?;
        Ok(Some(new))
    }

    /// Returns the names of kept values that begin with `prefix`.
    pub fn kv_names(&self, prefix: &str) -> Result<Vec<String>, JournalError> {
        let inner = self.lock();
        let read = || -> rusqlite::Result<Vec<String>> {
            let mut query = inner.conn.prepare("select name from kv where substr(name, 1, length(?1)) = ?1")?;
            query.query_map([prefix], |r| r.get(0))?.collect()
        };
        read().map_err(self.sql())
    }
}

/// Refuses a folder that is a file, or would lie in one.
fn check_folder(folder: &Path) -> Result<(), JournalError> {
    match folder.ancestors().find(|above| above.is_file()) {
        Some(there) => Err(JournalError::NoFolder { folder: folder.into(), there: there.into() }),
        None => Ok(()),
    }
}

/// Tells whether a file holds nothing, and not only because another process is just starting a journal in it.
fn is_empty(file: &Path) -> bool {
    let empty = || std::fs::metadata(file).is_ok_and(|m| m.len() == 0);
    (0..10).all(|n| {
        if n > 0 {
            std::thread::sleep(Duration::from_millis(50));
        }
        empty()
    })
}

/// Refuses names that would break the lines they stand in.
pub(crate) fn check_person(name: &str) -> Result<(), JournalError> {
    if name.chars().any(char::is_control) {
        return Err(JournalError::BadPerson { got: name.into() });
    }
    Ok(())
}

/// Returns a name that another program let through as this one would take it.
pub(crate) fn plain_name(name: &str) -> String {
    name.replace(char::is_control, " ")
}

/// How long a waiting write sleeps before it tries again.
const NAP: Duration = Duration::from_millis(2);

/// Waits a little for another process; ends after [`BUSY`].
///
/// SQLite's own handler sleeps ever longer, so that whoever has waited longest is the least likely to get through; here
/// all who wait have the same chance.
fn wait(times: i32) -> bool {
    std::thread::sleep(NAP);
    NAP.saturating_mul(times.unsigned_abs()) < BUSY
}

/// Tells whether what SQLite found is damage, and not a full disk or another process.
fn is_damage(error: &rusqlite::Error) -> bool {
    use rusqlite::ErrorCode::{DatabaseCorrupt, NotADatabase};
    match error {
        rusqlite::Error::SqliteFailure(failure, _) => matches!(failure.code, DatabaseCorrupt | NotADatabase),
        rusqlite::Error::FromSqlConversionFailure(..) | rusqlite::Error::InvalidColumnType(..) => true,
        _ => false,
    }
}

/// Opens a database to be written, or else to be read where that is safe.
fn connect(folder: &Path, file: &Path) -> Result<Connection, JournalError> {
    use rusqlite::ErrorCode::{CannotOpen, PermissionDenied, ReadOnly};
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let written = Connection::open_with_flags(file, flags).and_then(|mut conn| configure(&mut conn).map(|()| conn));
    let error = match written {
        Ok(conn) => return Ok(conn),
        Err(error) => error,
    };
    if !matches!(error.sqlite_error_code(), Some(CannotOpen | PermissionDenied | ReadOnly)) {
        return Err(JournalError::opening(file, &error));
    }
    if let Err(error) = File::open(file) {
        return Err(JournalError::Unreadable { folder: folder.into(), why: error.to_string() });
    }
    let unwritten = |why: String| JournalError::Unwritable { folder: folder.into(), why };
    if !cannot_change(folder) {
        return Err(unwritten(error.to_string()));
    }
    // SQLite reads the log only where it can keep its index beside it.
    let log = folder.join(format!("{FILE}-wal"));
    if log.metadata().is_ok_and(|log| log.len() > 0) {
        return Err(unwritten("what was recorded last lies in `journal.sqlite-wal`, which is not read there".into()));
    }
    read_only(file).map_err(|error| JournalError::opening(file, &error))
}

/// Tells whether a folder lies on a disk of which the system lets nothing be written.
#[cfg(unix)]
fn cannot_change(folder: &Path) -> bool {
    rustix::fs::statvfs(folder).is_ok_and(|disk| disk.f_flag.contains(rustix::fs::StatVfsMountFlags::RDONLY))
}

#[cfg(not(unix))]
fn cannot_change(_: &Path) -> bool {
    false
}

/// Opens a database that does not change, without a log and without locks.
fn read_only(file: &Path) -> rusqlite::Result<Connection> {
    let mut name = String::from("file:");
    for byte in file.as_os_str().as_encoded_bytes() {
        match byte {
            b'/' | b'.' | b'-' | b'_' | b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => name.push(char::from(*byte)),
            other => name.push_str(&format!("%{other:02x}")),
        }
    }
    name.push_str("?immutable=1");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut conn = Connection::open_with_flags(name, flags)?;
    guard(&mut conn)?;
    Ok(conn)
}

fn configure(conn: &mut Connection) -> rusqlite::Result<()> {
    conn.busy_handler(Some(wait))?;
    conn.query_row("pragma journal_mode = wal", [], |_| Ok(()))?;
    conn.pragma_update(None, "synchronous", "full")?;
    guard(conn)
}

/// Sets what holds of every connection.
fn guard(conn: &mut Connection) -> rusqlite::Result<()> {
    // A record needs some, a list others; none is read in twice.
    conn.set_prepared_statement_cache_capacity(64);
    conn.pragma_update(None, "foreign_keys", "on")?;
    // What a hostile file could hide in its schema is not run.
    conn.pragma_update(None, "trusted_schema", "off")?;
    conn.pragma_update(None, "cell_size_check", "on")
}

fn read_identity(conn: &Connection) -> rusqlite::Result<Identity> {
    fn value<T: rusqlite::types::FromSql>(conn: &Connection, name: &str) -> rusqlite::Result<T> {
        conn.query_row("select value from meta where name = ?1", [name], |r| r.get(0))
    }
    Ok(Identity {
        secret: value(conn, "secret")?,
        device: DeviceId(value(conn, "device")?),
        person: value(conn, "person")?,
        crew: CrewId(value(conn, "crew")?),
    })
}

/// Keeps other accounts of the machine out: the file holds the device's secret key. SQLite makes the files beside it
/// under the same permissions.
#[cfg(unix)]
pub(crate) fn restrict(file: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(file, std::fs::Permissions::from_mode(0o600))
}

#[cfg(not(unix))]
pub(crate) fn restrict(_: &Path) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use ligule_observation::ids::{DocKey, Feature};

    use super::*;
    use crate::Filter;

    /// What `open` falls back to where nothing can be written: it reads, and refuses to write in words of our own.
    #[test]
    fn a_database_that_is_only_read_is_read_and_not_written() {
        let folder = tempfile::tempdir().expect("a folder");
        let odd = folder.path().join("journal of #7?");
        let crew = CrewId([7; 16]);
        let identity = Identity { secret: [1; 32], device: DeviceId([1; 32]), person: "A. Scout".into(), crew };
        drop(Journal::create(&odd, identity).expect("starts"));
        let journal = Journal::open(&odd).expect("opens");
        journal.kv_put("settled", b"yes").expect("writes");
        assert!(!cannot_change(&odd));
        // Whoever closes it last brings the log into the file.
        drop(journal);
        let journal = Journal::open(&odd).expect("opens");
        journal.inner.lock().expect("free").conn = read_only(&odd.join(FILE)).expect("opens");
        assert_eq!(journal.kv_get("settled").expect("reads").as_deref(), Some(&b"yes"[..]));
        assert_eq!(journal.records(&Filter::default()).expect("reads").len(), 0);
        let refused = journal.kv_put("settled", b"no").expect_err("it is only read");
        assert!(matches!(refused, JournalError::Unwritable { .. }), "{refused}");
        let key = DocKey { crew, feature: Feature::Crew, season: 0 };
        let now = "2026-05-19T14:00:00Z".parse().expect("a time");
        let refused = journal.write(&key, "A. Scout", |document| document.set_crop("corn", now).map(|()| ((), vec![])));
        let refused = refused.expect_err("it is only read").to_string();
        assert!(refused.contains("cannot be written") && refused.ends_with("Nothing was recorded"), "{refused}");
    }
}
