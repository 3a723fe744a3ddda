//! Moving observations from one document to another: copied there, voided here, in one transaction.

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, NewObservation, Writer},
    ids::{DocKey, ObservationKey},
    record::{Record, Void},
};

use crate::{
    actors,
    batch::Batch,
    error::JournalError,
    read::{COLUMNS, visit_of},
    store::{Inner, Journal, check_person},
};

/// An observation and its copy.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// The observation as it is now.
    pub from: ObservationKey,
    /// What is written where it belongs. Its number keeps two devices that move it from making two copies.
    pub copy: NewObservation,
}

/// Observations that go from one document to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// Where they are.
    pub from: DocKey,
    /// Where they belong.
    pub to: DocKey,
    /// The crop of the feature that they go to, where it is not known there yet.
    pub crop: Option<String>,
    /// The observations.
    pub observations: Vec<Moved>,
    /// Who moves them.
    pub by: String,
}

impl Journal {
    /// Returns the version of its kind under which an observation was written.
    pub fn kind_version(&self, key: &str) -> Result<u32, JournalError> {
        let id = self.doc_of(key)?.id();
        self.with_document(id, |document| document.kind_version(key))?.map_err(Into::into)
    }

    /// Returns the records whose keys begin with `begins`, by key, each with the feature that its own document is about, also
    /// where that is part of another field.
    pub fn records_beginning(&self, begins: &str) -> Result<Vec<Record>, JournalError> {
        let crew = self.identity().crew;
        let sql = format!(
            "select {COLUMNS} from visit v join observation o on o.doc = v.doc join doc d on d.id = o.doc
             where v.id >= ?4 and v.id < ?4 || char(0x10ffff) and o.visit = v.id
             and o.key >= ?2 and o.key < ?3 and d.crew = ?1 order by o.key"
        );
        let known = self.known_fields()?.apart();
        // Behind every letter of a key.
        let end = format!("{begins}\u{10ffff}");
        self.query_records(&sql, &[&crew.0, &begins, &end, &visit_of(begins)], &known)
    }

    /// Returns the keys of the void observations of which a reason begins with `why`.
    pub fn voided_because(&self, why: &str) -> Result<Vec<ObservationKey>, JournalError> {
        let (crew, inner) = (self.identity().crew, self.lock());
        let read = || -> rusqlite::Result<Vec<ObservationKey>> {
            let mut query = inner.conn.prepare_cached(
                "select o.key from observation o join doc d on d.id = o.doc
                 where o.void is not null and d.crew = ?1 and (substr(json_extract(o.void, '$.why'), 1, length(?2)) = ?2
                    or exists (select 1 from json_each(o.void, '$.also') e
                               where substr(json_extract(e.value, '$.why'), 1, length(?2)) = ?2))
                 order by o.key",
            )?;
            query.query_map(rusqlite::params![crew.0, why], |r| r.get(0))?.collect()
        };
        read().map_err(self.sql())
    }

    /// Marks observations of several documents as void, a change and a transaction a document; nothing is deleted.
    pub fn void_all(&self, voids: &[(DocKey, Vec<(ObservationKey, Void)>)], by: &str) -> Result<(), JournalError> {
        for (document, voids) in voids {
            self.write(document, by, |document| {
                voids.iter().try_for_each(|(key, void)| document.void(key, void))?;
                Ok(((), voids.iter().map(|(key, _)| key.clone()).collect()))
            })?;
        }
        Ok(())
    }

    /// Copies observations of one document into another and voids them where they are, in one transaction.
    ///
    /// `void` makes the void of an observation of the key of its copy. *Returns* the keys of the copies, in order.
    /// *Errors:* one of them is void by now; nothing is written then.
    pub fn move_observations(
        &self,
        what: &Move,
        void: impl Fn(&str) -> Void,
        now: Timestamp,
    ) -> Result<Vec<ObservationKey>, JournalError> {
        let Move { from, to, crop, observations: moved, by } = what;
        let identity = self.identity();
        for document in [from, to] {
            if document.crew != identity.crew {
                let got = document.crew.to_string();
                return Err(JournalError::OtherCrew { expected: identity.crew.to_string(), got });
            }
        }
        check_person(by)?;
        moved.iter().try_for_each(|one| check_person(&one.copy.visit.by))?;
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        let tx = self.begin(conn)?;

        let (mut row, mut cached) = self.take_or_start(&tx, cache, from)?;
        for one in moved {
            if let Some(void) = cached.document.record(&one.from, None).and_then(|record| record.void) {
                return Err(JournalError::VoidedMeanwhile { key: one.from.clone(), why: void.why });
            }
        }
        let new = moved.iter().map(|one| one.copy.clone()).collect();
        let batch = Batch { document: to.clone(), crop: crop.clone(), new };
        let (target, copies, keys) = self.append_batch(&tx, cache, &batch, now)?;

        let (actor, seq) = actors::actor_of(&tx, &self.sidecar, row.id, by, &row.vector).map_err(self.sql())?;
        cached.document.set_writer(Writer { actor, device: identity.device, person: by.clone() });
        let document: &mut FieldDocument = &mut cached.document;
        for (one, key) in moved.iter().zip(&keys) {
            document.void(&one.from, &void(key))?;
        }
        let changes = cached.document.changes_after(&row.heads);
        let seq = seq + changes.len() as u64;
        row.vector.insert(actor.to_vec(), seq);
        self.append_chunk(&tx, &mut row, &mut cached, &changes)?;
        self.project(&tx, &row, &cached, moved.iter().map(|one| one.from.as_str()))?;
        actors::keep(&tx, &self.sidecar, row.id, by, actor, seq).map_err(self.sql())?;

        self.commit(tx)?;
        Self::put_back(cache, row.id, cached);
        Self::put_back(cache, target, copies);
        Ok(keys)
    }
}
