//! Documents in the tables and in memory.

use std::collections::HashMap;

use ligule_observation::{
    document::FieldDocument,
    going_on::GoingOn,
    ids::{CrewId, DocId, DocKey},
    version::{ChangeHash, VersionVector, digest},
};
use rusqlite::{Connection, OptionalExtension, Row, Transaction, TransactionBehavior, params};

use crate::{
    codec::{heads_from_bytes, heads_to_bytes, vector_from_bytes, vector_to_bytes},
    error::JournalError,
    store::Journal,
};

/// How many documents are kept in memory.
const CACHED: usize = 64;

/// Documents in memory.
pub(crate) type Cache = HashMap<DocId, Cached>;

/// A document in memory and where in the tables it was read up to.
pub(crate) struct Cached {
    pub(crate) document: FieldDocument,
    /// The visit that was written to last. The document may be behind it: [`Journal::take`] brings it up to its row.
    going_on: Option<GoingOn>,
    snapshot: i64,
    last: i64,
}

/// A row of the `doc` table.
#[derive(Debug, Clone)]
pub(crate) struct DocRow {
    pub(crate) id: DocId,
    pub(crate) key: DocKey,
    pub(crate) crop: String,
    pub(crate) heads: Vec<ChangeHash>,
    pub(crate) vector: VersionVector,
    pub(crate) snapshot: i64,
    pub(crate) last: i64,
}

pub(crate) const DOC_COLUMNS: &str = "id, crew, feature, season, crop, heads, vector, snapshot, last";

impl DocRow {
    /// Reads a row of [`DOC_COLUMNS`]; text or bytes that are not what was written are an error of conversion.
    pub(crate) fn read(r: &Row<'_>) -> rusqlite::Result<Self> {
        let feature: String = r.get(2)?;
        let (heads, vector): (Vec<u8>, Vec<u8>) = (r.get(5)?, r.get(6)?);
        Ok(Self {
            id: DocId(r.get(0)?),
            key: DocKey {
                crew: CrewId(r.get(1)?),
                feature: feature.parse().map_err(|_| odd(2, "feature"))?,
                season: r.get(3)?,
            },
            crop: r.get(4)?,
            heads: heads_from_bytes(&heads).ok_or_else(|| odd(5, "heads"))?,
            vector: vector_from_bytes(&vector).ok_or_else(|| odd(6, "vector"))?,
            snapshot: r.get(7)?,
            last: r.get(8)?,
        })
    }
}

/// The error of a value that is not what was written.
pub(crate) fn odd(column: usize, name: &str) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(
        column,
        rusqlite::types::Type::Blob,
        format!("`{name}` is not what was written").into(),
    )
}

/// Why a document cannot be loaded.
pub(crate) enum Unread {
    Sql(rusqlite::Error),
    Bytes(String),
}

impl std::fmt::Display for Unread {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Sql(e) => e.fmt(f),
            Self::Bytes(why) => f.write_str(why),
        }
    }
}

/// Loads a document from its snapshot and chunks; the heads must be those of its row.
pub(crate) fn load(conn: &Connection, row: &DocRow) -> Result<FieldDocument, Unread> {
    let snapshot: Vec<u8> =
        conn.query_row("select bytes from snapshot where doc = ?1", [row.id.0], |r| r.get(0)).map_err(Unread::Sql)?;
    let chunks = chunks(conn, row.id, 0).map_err(Unread::Sql)?;
    let mut document =
        FieldDocument::load(row.key.clone(), &snapshot, &chunks).map_err(|e| Unread::Bytes(e.to_string()))?;
    if document.heads() != row.heads {
        let (feature, season) = (&row.key.feature, row.key.season);
        return Err(Unread::Bytes(format!(
            "the document of {feature} in {season} does not hold the changes that its row tells of"
        )));
    }
    Ok(document)
}

pub(crate) fn chunks(conn: &Connection, id: DocId, after: i64) -> rusqlite::Result<Vec<Vec<u8>>> {
    conn.prepare_cached("select bytes from chunk where doc = ?1 and n > ?2 order by n")?
        .query_map(params![id.0, after], |r| r.get(0))?
        .collect()
}

impl Cached {
    pub(crate) fn loaded(document: FieldDocument, row: &DocRow) -> Self {
        Self { document, going_on: None, snapshot: row.snapshot, last: row.last }
    }

    /// Takes what it takes to go on with the visit that was written to last, where the row tells of nothing since.
    pub(crate) fn going_on(&mut self, row: &DocRow) -> Option<GoingOn> {
        let going_on = match self.going_on.take() {
            None if (self.snapshot, self.last) == (row.snapshot, row.last) => self.document.going_on(),
            known => known.filter(|_| self.snapshot == row.snapshot),
        };
        going_on.filter(|on| row.heads == [on.head()])
    }

    /// Keeps what [`Self::going_on`] took, for the next time.
    pub(crate) fn goes_on(&mut self, with: GoingOn) {
        self.going_on = Some(with);
    }

    /// Returns it as it stands after its chunks were folded into the snapshot.
    pub(crate) fn snapshotted(self) -> Self {
        Self { snapshot: self.snapshot + 1, ..self }
    }
}

impl Journal {
    pub(crate) fn row(&self, conn: &Connection, id: DocId) -> Result<Option<DocRow>, JournalError> {
        conn.prepare_cached(&format!("select {DOC_COLUMNS} from doc where id = ?1"))
            .and_then(|mut q| q.query_row([id.0], DocRow::read).optional())
            .map_err(self.sql())
    }

    /// Takes a document out of memory, or loads it, and brings it up to its row. The caller puts it back.
    pub(crate) fn take(&self, conn: &Connection, cache: &mut Cache, row: &DocRow) -> Result<Cached, JournalError> {
        if let Some(mut cached) = cache.remove(&row.id)
            && cached.snapshot == row.snapshot
            && cached.last <= row.last
        {
            if cached.last < row.last {
                let chunks = chunks(conn, row.id, cached.last).map_err(self.sql())?;
                cached.document.catch_up(&chunks)?;
                cached.last = row.last;
            }
            if cached.document.heads() == row.heads {
                return Ok(cached);
            }
        }
        let document = self.load(conn, row)?;
        Ok(Cached::loaded(document, row))
    }

    /// Reads a document in that a transaction is about to write, where it is not in memory as it was condensed last: with many
    /// observations that takes long, and nobody is kept from writing meanwhile.
    pub(crate) fn read_ahead(&self, conn: &Connection, cache: &mut Cache, id: DocId) -> Result<(), JournalError> {
        let snapshot: Option<i64> = conn
            .prepare_cached("select snapshot from doc where id = ?1")
            .and_then(|mut q| q.query_row([id.0], |r| r.get(0)).optional())
            .map_err(self.sql())?;
        if snapshot.is_none() || cache.get(&id).map(|cached| cached.snapshot) == snapshot {
            return Ok(());
        }
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Deferred).map_err(self.sql())?;
        if let Some(row) = self.row(&tx, id)? {
            let cached = self.take(&tx, cache, &row)?;
            Self::put_back(cache, id, cached);
        }
        Ok(())
    }

    pub(crate) fn put_back(cache: &mut Cache, id: DocId, cached: Cached) {
        if cache.len() >= CACHED {
            cache.clear();
        }
        cache.insert(id, cached);
    }

    fn load(&self, conn: &Connection, row: &DocRow) -> Result<FieldDocument, JournalError> {
        load(conn, row).map_err(|unread| match unread {
            Unread::Sql(e) => JournalError::sqlite(&self.file, &e),
            Unread::Bytes(why) => JournalError::damaged(&self.file, why),
        })
    }

    /// Returns the document's row and the document; starts it where it is new.
    pub(crate) fn take_or_start(
        &self,
        conn: &Connection,
        cache: &mut Cache,
        key: &DocKey,
    ) -> Result<(DocRow, Cached), JournalError> {
        if let Some(row) = self.row(conn, key.id())? {
            let cached = self.take(conn, cache, &row)?;
            return Ok((row, cached));
        }
        self.insert(conn, FieldDocument::new(key.clone()))
    }

    /// Writes a document that the tables do not have yet, whole.
    pub(crate) fn insert(
        &self,
        conn: &Connection,
        mut document: FieldDocument,
    ) -> Result<(DocRow, Cached), JournalError> {
        let key = document.key().clone();
        let row = DocRow {
            id: key.id(),
            key: key.clone(),
            crop: document.crop(),
            heads: document.heads(),
            vector: document.version_vector(),
            snapshot: 1,
            last: 0,
        };
        let bytes = document.save_verified()?;
        let sql = self.sql();
        conn.execute("insert into snapshot (doc, bytes) values (?1, ?2)", params![row.id.0, bytes]).map_err(&sql)?;
        conn.execute(
            "insert into doc (id, crew, feature, season, crop, heads, digest, vector, version, snapshot, last)
                 values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, 0, 1, 0)",
            params![
                row.id.0,
                key.crew.0,
                key.feature.to_string(),
                key.season,
                row.crop,
                heads_to_bytes(&row.heads),
                digest(&row.heads),
                vector_to_bytes(&row.vector),
            ],
        )
        .map_err(&sql)?;
        let cached = Cached::loaded(document, &row);
        Ok((row, cached))
    }

    /// Writes new changes of a document as one chunk and brings its row up to date.
    pub(crate) fn append_chunk(
        &self,
        conn: &Connection,
        row: &mut DocRow,
        cached: &mut Cached,
        changes: &[Vec<u8>],
    ) -> Result<(), JournalError> {
        row.heads = cached.document.heads();
        row.crop = cached.document.crop_now();
        self.put_chunk(conn, row, &changes.concat())?;
        cached.last = row.last;
        Ok(())
    }

    /// Writes a chunk, and the row that tells of it already, save its number.
    pub(crate) fn put_chunk(&self, conn: &Connection, row: &mut DocRow, chunk: &[u8]) -> Result<(), JournalError> {
        row.last += 1;
        let write = || -> rusqlite::Result<()> {
            conn.prepare_cached("insert into chunk (doc, n, bytes) values (?1, ?2, ?3)")?
                .execute(params![row.id.0, row.last, chunk])?;
            conn.prepare_cached(
                "update doc set crop = ?2, heads = ?3, digest = ?4, vector = ?5, version = version + 1, last = ?6
                 where id = ?1",
            )?
            .execute(params![
                row.id.0,
                row.crop,
                heads_to_bytes(&row.heads),
                digest(&row.heads),
                vector_to_bytes(&row.vector),
                row.last
            ])?;
            Ok(())
        };
        write().map_err(self.sql())
    }
}
