//! Recording, correcting, voiding: one transaction each, durable on return.

use std::collections::BTreeSet;

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, NewObservation, Writer, Written},
    error::DocumentError,
    ids::{DocId, DocKey, ObservationKey},
    record::{Measured, Void},
};
use rusqlite::{Connection, Transaction, TransactionBehavior, params};

use crate::{
    actors,
    codec::values_to_text,
    documents::{Cached, DocRow},
    error::JournalError,
    seen::{self, Last},
    store::{Inner, Journal, check_person},
};

/// Under which name is kept what the list of fields tells.
pub(crate) const FIELDS_TOLD: &str = "fields told";

/// What it tells since boundaries and merges of fields are in it.
pub(crate) const FIELDS_TELL: &[u8] = b"2";

impl Journal {
    /// Records observations into the document of a feature and season, which is started if need be.
    ///
    /// `crop` is the feature's crop in that season, where it is known. `now` is when this is written down; the
    /// observations tell their own times. A visit that another actor opened (in a copy of this journal) goes on under a
    /// new identifier. *Returns* the keys in order; everything is on disk then.
    pub fn record(
        &self,
        doc: &DocKey,
        crop: Option<&str>,
        new: &[NewObservation],
        now: Timestamp,
    ) -> Result<Vec<ObservationKey>, JournalError> {
        let mut keys = Vec::with_capacity(new.len());
        // One change has one writer: observations are written in runs of one person.
        for run in new.chunk_by(|a, b| a.visit.by == b.visit.by) {
            if let Some(known) = self.go_on(doc, crop, run, now)? {
                keys.extend(known);
                continue;
            }
            let mut fresh = || new_ulid(now);
            let act = |document: &mut FieldDocument| {
                if let Some(crop) = crop {
                    document.set_crop(crop, now)?;
                }
                let written = document.append_written(run, now, &mut fresh)?;
                Ok((written.iter().map(|one| one.key.clone()).collect::<Vec<_>>(), written))
            };
            keys.extend(self.write_told(doc, &run[0].visit.by, act, |_, _| Ok(()))?);
        }
        Ok(keys)
    }

    /// Records observations of one person where they go on with the visit that was written to last, or open the next one,
    /// without bringing the document up to date in memory; `None` where they do neither, and nothing was written.
    fn go_on(
        &self,
        key: &DocKey,
        crop: Option<&str>,
        new: &[NewObservation],
        now: Timestamp,
    ) -> Result<Option<Vec<ObservationKey>>, JournalError> {
        let (id, person) = (key.id(), &new[0].visit.by);
        if key.crew != self.identity().crew || check_person(person).is_err() {
            return Ok(None);
        }
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        let Some(cached) = cache.get_mut(&id) else { return Ok(None) };
        let tx = self.begin(conn)?;
        let Some(mut row) = self.row(&tx, id)? else { return Ok(None) };
        let sql = self.sql();
        let Some(mut on) = cached.going_on(&row).filter(|on| on.is_of(new, crop)) else { return Ok(None) };
        let visit = &new[0].visit.id;
        if !on.is_on(visit) && is_visit(&tx, id, visit).map_err(&sql)? {
            return Ok(None);
        }
        let (actor, seq) = actors::actor_of(&tx, &self.sidecar, id, person, &row.vector).map_err(&sql)?;
        if !on.is_by(&actor) {
            return Ok(None);
        }
        let (chunk, written) = on.append(new, now)?;
        row.heads = vec![on.head()];
        row.vector.insert(actor.to_vec(), seq + 1);
        self.put_chunk(&tx, &mut row, &chunk)?;
        let keys = written.iter().map(|one| one.key.clone()).collect();
        self.project_written(&tx, &row, cached, written)?;
        actors::keep(&tx, &self.sidecar, id, person, actor, seq + 1).map_err(&sql)?;
        self.commit(tx)?;
        cached.goes_on(on);
        Ok(Some(keys))
    }

    /// Corrects one value of an observation, or settles a conflict with the one that shall hold; what held before stays in its
    /// history.
    pub fn amend(&self, key: &str, measure: &str, to: &Measured, by: &str, at: Timestamp) -> Result<(), JournalError> {
        self.amend_all(key, &[(measure.to_owned(), to.clone())], by, at)
    }

    /// Corrects several values of an observation in one change and one transaction; what held before stays in its
    /// history. A value that holds already is written again: the history tells who decided, and when.
    ///
    /// *Errors:* nothing is written where one of them cannot be.
    pub fn amend_all(&self, key: &str, to: &[(String, Measured)], by: &str, at: Timestamp) -> Result<(), JournalError> {
        let doc = self.doc_of(key)?;
        self.write(&doc, by, |document| {
            document.amend_all(key, to, at)?;
            Ok(((), vec![key.to_owned()]))
        })
    }

    /// Marks an observation as void; nothing is deleted.
    pub fn void(&self, key: &str, void: &Void) -> Result<(), JournalError> {
        let doc = self.doc_of(key)?;
        self.write(&doc, &void.by, |document| {
            document.void(key, void)?;
            Ok(((), vec![key.to_owned()]))
        })
    }

    /// Marks an observation as void for what was said of another before; `by` is who carries it over.
    pub fn carry_void(&self, key: &str, void: &Void, by: &str, now: Timestamp) -> Result<(), JournalError> {
        let doc = self.doc_of(key)?;
        self.write(&doc, by, |document| {
            document.carry_void(key, void, now)?;
            Ok(((), vec![key.to_owned()]))
        })
    }

    /// Marks which measures of an observation wait for a person because of what was written to other observations, in place
    /// of what was marked before; the person marks them, who reads of it first.
    pub fn mark_waiting(
        &self,
        key: &str,
        measures: &BTreeSet<String>,
        by: &str,
        now: Timestamp,
    ) -> Result<(), JournalError> {
        let doc = self.doc_of(key)?;
        self.write(&doc, by, |document| {
            document.mark_waiting(key, measures, now)?;
            Ok(((), vec![key.to_owned()]))
        })
    }

    /// Runs one act on a document under the lock and stores what it changed.
    pub(crate) fn write<T>(
        &self,
        key: &DocKey,
        person: &str,
        act: impl FnOnce(&mut FieldDocument) -> Result<(T, Vec<ObservationKey>), DocumentError>,
    ) -> Result<T, JournalError> {
        self.write_also(key, person, act, |_, _| Ok(()))
    }

    /// The same as [`Self::write`], with something else written in the same transaction.
    pub(crate) fn write_also<T>(
        &self,
        key: &DocKey,
        person: &str,
        act: impl FnOnce(&mut FieldDocument) -> Result<(T, Vec<ObservationKey>), DocumentError>,
        also: impl FnOnce(&Transaction<'_>, &T) -> Result<(), JournalError>,
    ) -> Result<T, JournalError> {
        let told = |document: &mut FieldDocument| {
            let (value, touched) = act(document)?;
            Ok((value, touched.into_iter().map(Written::from).collect()))
        };
        self.write_told(key, person, told, also)
    }

    /// The same as [`Self::write_also`], of an act that may tell what the lists are to show.
    fn write_told<T>(
        &self,
        key: &DocKey,
        person: &str,
        act: impl FnOnce(&mut FieldDocument) -> Result<(T, Vec<Written>), DocumentError>,
        also: impl FnOnce(&Transaction<'_>, &T) -> Result<(), JournalError>,
    ) -> Result<T, JournalError> {
        check_person(person)?;
        let identity = self.identity();
        if key.crew != identity.crew {
            return Err(JournalError::OtherCrew { expected: identity.crew.to_string(), got: key.crew.to_string() });
        }
        let sql = self.sql();
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        self.read_ahead(conn, cache, key.id())?;
        let tx = self.begin(conn)?;
        let (mut row, mut cached) = self.take_or_start(&tx, cache, key)?;
        let (actor, seq) = actors::actor_of(&tx, &self.sidecar, row.id, person, &row.vector).map_err(&sql)?;
        cached.document.set_writer(Writer { actor, device: identity.device, person: person.to_owned() });
        let (value, touched) = act(&mut cached.document)?;
        let changes = cached.document.changes_after(&row.heads);
        if !changes.is_empty() {
            let seq = seq + changes.len() as u64;
            row.vector.insert(actor.to_vec(), seq);
            self.append_chunk(&tx, &mut row, &mut cached, &changes)?;
            self.project_written(&tx, &row, &cached, touched)?;
            if key.feature == ligule_observation::ids::Feature::Crew {
                self.project_fields(&tx, &cached)?;
            }
            actors::keep(&tx, &self.sidecar, row.id, person, actor, seq).map_err(&sql)?;
        }
        also(&tx, &value)?;
        self.commit(tx)?;
        Self::put_back(cache, row.id, cached);
        Ok(value)
    }

    /// Writes the rows that lists are read from, for the given observations of a document.
    pub(crate) fn project<'a>(
        &self,
        conn: &Connection,
        row: &DocRow,
        cached: &Cached,
        keys: impl Iterator<Item = &'a str>,
    ) -> Result<(), JournalError> {
        self.project_written(conn, row, cached, keys.map(|key| Written::from(key.to_owned())))
    }

    /// The same as [`Self::project`]; what is told of an observation is not read from the document again.
    pub(crate) fn project_written(
        &self,
        conn: &Connection,
        row: &DocRow,
        cached: &Cached,
        written: impl IntoIterator<Item = Written>,
    ) -> Result<(), JournalError> {
        self.check_tables()?;
        let document = &cached.document;
        let write = || -> rusqlite::Result<()> {
            let mut put = conn.prepare_cached(
                "insert or replace into observation
                 (doc, key, visit, kind, at, offset, by, device, lon, lat, \"values\", void, conflicts)
                 values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
            )?;
            let mut clear = conn.prepare_cached("delete from conflict where doc = ?1 and key = ?2")?;
            let mut doubt =
                conn.prepare_cached("insert into conflict (doc, key, measure, body) values (?1, ?2, ?3, ?4)")?;
            let mut visit = conn.prepare_cached("insert or ignore into visit (id, doc) values (?1, ?2)")?;
            let mut kind = conn.prepare_cached("insert or ignore into kind (name, doc) values (?1, ?2)")?;
            let mut lines = Vec::new();
            let (mut known_visit, mut known_kind) = (String::new(), String::new());
            for Written { key, record } in written {
                let record = match record {
                    // It is new: nothing waits about it.
                    Some(record) => Some(*record),
                    None => {
                        clear.execute(params![row.id.0, key])?;
                        document.record(&key, None)
                    }
                };
                let Some(r) = record else {
                    lines.push((key, None));
                    continue;
                };
                put.execute(params![
                    row.id.0,
                    r.key,
                    r.visit,
                    r.kind,
                    r.at.as_millisecond(),
                    r.offset_minutes,
                    r.by,
                    r.device.0,
                    r.place.map(|p| p.lon_e7),
                    r.place.map(|p| p.lat_e7),
                    values_to_text(&r.values),
                    r.void.as_ref().map(json),
                    json(&r.conflicts),
                ])?;
                for conflict in document.conflicts_of(&r.key, &r.kind, &r.conflicts) {
                    doubt.execute(params![row.id.0, r.key, conflict.measure, json(&conflict)])?;
                }
                if r.visit != known_visit {
                    visit.execute(params![r.visit, row.id.0])?;
                    known_visit.clone_from(&r.visit);
                }
                if r.kind != known_kind {
                    kind.execute(params![r.kind, row.id.0])?;
                    known_kind.clone_from(&r.kind);
                }
                lines.push((key, Last::of(r)));
            }
            seen::keep(conn, row.id, lines)
        };
        write().map_err(self.sql())
    }

    /// Makes the list of fields anew where an earlier program wrote it, which did not know all that is told of a field.
    pub(crate) fn tell_fields_anew(&self) -> Result<(), JournalError> {
        if self.kv_get(FIELDS_TOLD)?.as_deref() == Some(FIELDS_TELL) {
            return Ok(());
        }
        let sql = self.sql();
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate).map_err(&sql)?;
        if let Some(row) = self.row(&tx, self.crew_doc().id())? {
            let cached = self.take(&tx, cache, &row)?;
            self.project_fields(&tx, &cached)?;
            Self::put_back(cache, row.id, cached);
        }
        tx.execute("insert or replace into kv (name, value) values (?1, ?2)", params![FIELDS_TOLD, FIELDS_TELL])
            .map_err(&sql)?;
        tx.commit().map_err(&sql)
    }

    /// Writes the rows of the crew's fields, and its settings.
    pub(crate) fn project_fields(&self, conn: &Connection, cached: &Cached) -> Result<(), JournalError> {
        let write = || -> rusqlite::Result<()> {
            conn.execute("delete from field", [])?;
            let mut put = conn.prepare_cached("insert into field (id, body) values (?1, ?2)")?;
            for field in cached.document.fields() {
                put.execute(params![field.id, json(&field)])?;
            }
            Ok(())
        };
        write().map_err(self.sql())?;
        self.project_settings(conn, cached)
    }
}

/// Tells whether a document has a visit.
fn is_visit(conn: &Connection, doc: DocId, visit: &str) -> rusqlite::Result<bool> {
    conn.prepare_cached("select 1 from visit where id = ?1 and doc = ?2")?.exists(params![visit, doc.0])
}

pub(crate) fn json(value: &impl serde::Serialize) -> String {
    serde_json::to_string(value).expect("records are plain data")
}

/// Returns a new ULID of that time.
pub(crate) fn new_ulid(at: Timestamp) -> String {
    let mut random = [0; 16];
    getrandom::fill(&mut random).expect("the system gives random bytes");
    ulid::Ulid::from_parts(u64::try_from(at.as_millisecond()).unwrap_or(0), u128::from_be_bytes(random)).to_string()
}
