//! What another device asks of a journal, and what it brings.

use jiff::Timestamp;
use ligule_observation::{
    document::FieldDocument,
    ids::{DocId, DocKey},
    outside::{Limits, OddTime, apply_checked},
    screen::ScreenRequest,
    version::{ChangeHash, VersionVector, digest},
};
use rusqlite::{Transaction, TransactionBehavior};

use crate::{
    documents::{DOC_COLUMNS, DocRow, chunks as chunks_after},
    error::JournalError,
    store::{Inner, Journal},
};

/// What a journal holds of one document, told without loading it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DocState {
    /// The document's identifier.
    pub id: DocId,
    /// What it is about.
    pub key: DocKey,
    /// Its heads, sorted.
    pub heads: Vec<ChangeHash>,
    /// The digest of its heads.
    pub digest: [u8; 8],
    /// The highest sequence number held of every actor.
    pub vector: VersionVector,
}

/// What came of changes from another device.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ApplyReport {
    /// How many changes were new.
    pub added: usize,
    /// How many of the changes that came were here already.
    pub known: usize,
    /// How many observations were written to.
    pub observations: usize,
    /// New changes of which the clock was wrong, or that of another.
    pub odd_times: Vec<OddTime>,
    /// The document's heads afterwards, sorted.
    pub heads: Vec<ChangeHash>,
}

impl From<DocRow> for DocState {
    fn from(row: DocRow) -> Self {
        Self { id: row.id, digest: digest(&row.heads), key: row.key, heads: row.heads, vector: row.vector }
    }
}

impl Journal {
    /// Returns what is held of every document of the crew, by identifier; loads none.
    pub fn documents(&self) -> Result<Vec<DocState>, JournalError> {
        let crew = self.identity().crew;
        let inner = self.lock();
        inner
            .conn
            .prepare_cached(&format!("select {DOC_COLUMNS} from doc where crew = ?1 order by id"))
            .and_then(|mut q| q.query_map([crew.0], |r| DocRow::read(r).map(DocState::from))?.collect())
            .map_err(self.sql())
    }

    /// Returns what is held of every document, also of crews that the device was part of before; loads none.
    pub fn documents_of_all_crews(&self) -> Result<Vec<DocState>, JournalError> {
        let inner = self.lock();
        inner
            .conn
            .prepare_cached(&format!("select {DOC_COLUMNS} from doc order by id"))
            .and_then(|mut q| q.query_map([], |r| DocRow::read(r).map(DocState::from))?.collect())
            .map_err(self.sql())
    }

    /// Returns what is held of one document; `None` where there is nothing.
    pub fn document(&self, id: DocId) -> Result<Option<DocState>, JournalError> {
        let inner = self.lock();
        Ok(self.row(&inner.conn, id)?.map(DocState::from))
    }

    /// Tells whether a document contains all of these changes; a document that is not here contains none.
    pub fn contains(&self, id: DocId, changes: &[ChangeHash]) -> Result<bool, JournalError> {
        let Some(state) = self.document(id)? else { return Ok(changes.is_empty()) };
        if changes.iter().all(|hash| state.heads.contains(hash)) {
            return Ok(true);
        }
        self.with_document(id, |document| changes.iter().all(|hash| document.contains(hash)))
    }

    /// Returns one digest of everything: BLAKE3 over identifiers and digests in order; loads no document.
    ///
    /// Two journals of a crew with equal root digests hold the same changes.
    pub fn root_digest(&self) -> Result<[u8; 32], JournalError> {
        let crew = self.identity().crew;
        let inner = self.lock();
        let mut hasher = blake3::Hasher::new_derive_key("ligule root digest 1");
        let mut fold = || -> rusqlite::Result<()> {
            let mut query = inner.conn.prepare_cached("select id, digest from doc where crew = ?1 order by id")?;
            let mut rows = query.query([crew.0])?;
            while let Some(row) = rows.next()? {
                hasher.update(&row.get::<_, [u8; 16]>(0)?);
                hasher.update(&row.get::<_, [u8; 8]>(1)?);
            }
            Ok(())
        };
        fold().map_err(self.sql())?;
        Ok(*hasher.finalize().as_bytes())
    }

    /// Returns the changes that a copy with that version vector lacks, as raw change chunks in causal order.
    pub fn changes_since(&self, id: DocId, vector: &VersionVector) -> Result<Vec<Vec<u8>>, JournalError> {
        self.with_document(id, |document| document.changes_since(vector))
    }

    /// Takes in changes of a document from another device.
    ///
    /// `screen` tries them out first, in a process of its own with limits on memory and time (see
    /// [`ligule_observation::screen`]). Then they are checked again, applied to a copy, saved and read back; nobody is kept
    /// from writing meanwhile. They are written in one transaction, with what was written since. *Errors:* one bad change refuses them all, and nothing is kept.
    pub fn apply(
        &self,
        key: &DocKey,
        chunks: &[Vec<u8>],
        limits: &Limits,
        now: Timestamp,
        screen: &dyn Fn(&ScreenRequest) -> Result<(), String>,
    ) -> Result<ApplyReport, JournalError> {
        let crew = self.identity().crew;
        if key.crew != crew {
            return Err(JournalError::OtherCrew { expected: crew.to_string(), got: key.crew.to_string() });
        }
        self.take_in(key, chunks, limits, now, screen)
    }

    /// Takes in changes of a document that this journal or another one wrote out, of any crew.
    ///
    /// Documents of a crew that the device was part of before are kept, and not listed. All else is as in
    /// [`Self::apply`].
    pub fn take_in(
        &self,
        key: &DocKey,
        chunks: &[Vec<u8>],
        limits: &Limits,
        now: Timestamp,
        screen: &dyn Fn(&ScreenRequest) -> Result<(), String>,
    ) -> Result<ApplyReport, JournalError> {
        let snapshot = match self.with_document(key.id(), |document| document.save()) {
            Ok(saved) => saved?,
            Err(JournalError::UnknownDocument { .. }) => FieldDocument::new(key.clone()).save()?,
            Err(e) => return Err(e),
        };
        let request = ScreenRequest { key: key.clone(), snapshot, chunks: chunks.to_vec(), limits: *limits, now };
        screen(&request).map_err(|why| JournalError::Screened { why })?;
        let sql = self.sql();
        let (last, mut applied) = {
            let mut guard = self.lock();
            let Inner { conn, cache } = &mut *guard;
            let tx = Transaction::new_unchecked(conn, TransactionBehavior::Deferred).map_err(&sql)?;
            match self.row(&tx, key.id())? {
                None => (0, apply_checked(&FieldDocument::new(key.clone()), chunks, limits, now)?),
                Some(row) => {
                    let cached = self.take(&tx, cache, &row)?;
                    let applied = apply_checked(&cached.document, chunks, limits, now);
                    Self::put_back(cache, row.id, cached);
                    (row.last, applied?)
                }
            }
        };

        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate).map_err(&sql)?;
        let (mut row, mut cached) = self.take_or_start(&tx, cache, key)?;
        // What was written meanwhile is no change from outside, unless another process took in the same.
        let mut again = applied.added.iter().any(|(hash, ..)| cached.document.contains(hash));
        if !again && row.last > last {
            applied.document.catch_up(&chunks_after(&tx, row.id, last).map_err(&sql)?)?;
        }
        // It is not among the chunks where it was condensed meanwhile.
        again |= !row.heads.iter().all(|head| applied.document.contains(head));
        if again {
            applied = apply_checked(&cached.document, chunks, limits, now)?;
        }
        let report = ApplyReport {
            added: applied.added.len(),
            known: chunks.len() - applied.added.len(),
            observations: applied.touched.observations.len(),
            odd_times: applied.odd_times,
            heads: Vec::new(),
        };
        if report.added > 0 {
            cached.document = applied.document;
            for (_, actor, seq) in applied.added {
                let known = row.vector.entry(actor).or_insert(0);
                *known = (*known).max(seq);
            }
            self.append_chunk(&tx, &mut row, &mut cached, &applied.chunks)?;
            self.project(&tx, &row, &cached, applied.touched.observations.iter().map(String::as_str))?;
            if applied.touched.fields && *key == self.crew_doc() {
                self.project_fields(&tx, &cached)?;
            }
        }
        tx.commit().map_err(&sql)?;
        let heads = row.heads.clone();
        Self::put_back(cache, row.id, cached);
        Ok(ApplyReport { heads, ..report })
    }
}
