//! Every field at a glance: when it was last visited and what was last seen of a kind, without loading a document.

use std::collections::BTreeMap;

use jiff::{Timestamp, civil::Date};
use ligule_observation::{
    ids::{CrewId, DocId, Feature},
    projection::day,
    record::Record,
};
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use crate::{
    documents::odd,
    error::JournalError,
    read::{COLUMNS, Known, read_record},
    seen,
    store::Journal,
};

/// What is last known of a field.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LastSeen {
    /// The last observation of any kind that is not void.
    pub visit: Option<LastVisit>,
    /// The records of one kind on the last visit that has any, by time.
    pub of_kind: Vec<Record>,
}

/// When a field was last seen, and by whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastVisit {
    /// When.
    pub at: Timestamp,
    /// The field's day.
    pub day: Date,
    /// The person.
    pub by: String,
}

impl Journal {
    /// Returns the names of everybody who has observed something, by name.
    pub fn people(&self) -> Result<Vec<String>, JournalError> {
        let (crew, inner) = (self.identity().crew, self.lock());
        let read = || -> rusqlite::Result<Vec<String>> {
            let mut query = inner.conn.prepare_cached(
                "select distinct o.by from observation o join doc d on d.id = o.doc where d.crew = ?1 order by o.by",
            )?;
            query.query_map([crew.0], |r| r.get(0))?.collect()
        };
        read().map_err(self.sql())
    }

    /// Returns what is last known of every field that has records, by the field's identifier; `kind` is the kind whose
    /// last records are wanted, such as the one that tells the growth stage.
    pub fn last_seen(&self, kind: &str) -> Result<BTreeMap<String, LastSeen>, JournalError> {
        self.check_tables()?;
        let known = self.known_fields()?;
        let crew = self.identity().crew;
        let inner = self.lock();
        let read = || last_seen(&inner.conn, crew, kind, &known);
        read().map_err(self.sql())
    }

    /// Returns the time of the last observation of a document that is not void; `None` where there is none, or no such
    /// document. The document is not loaded.
    pub fn last_seen_in(&self, document: DocId) -> Result<Option<Timestamp>, JournalError> {
        let inner = self.lock();
        let mut query = inner.conn.prepare_cached("select seen from doc where id = ?1").map_err(self.sql())?;
        let body: Option<String> = query.query_row([document.0], |r| r.get(0)).optional().map_err(self.sql())?;
        let last = body.as_deref().and_then(seen::read).and_then(|seen| seen.values().map(|last| last.at).max());
        Ok(last.and_then(|at| Timestamp::from_millisecond(at).ok()))
    }
}

fn last_seen(
    conn: &Connection,
    crew: CrewId,
    kind: &str,
    known: &Known,
) -> rusqlite::Result<BTreeMap<String, LastSeen>> {
    let mut seen: BTreeMap<String, LastSeen> = BTreeMap::new();
    // One view of everything: other processes may be writing.
    let tx = Transaction::new_unchecked(conn, TransactionBehavior::Deferred)?;
    let mut documents =
        tx.prepare_cached("select id, feature, seen from doc where crew = ?1 and feature like 'field:%' order by id")?;
    let mut of_visit = tx.prepare_cached(&format!(
        "select {COLUMNS} from observation o join doc d on d.id = o.doc
         where o.doc = ?1 and o.key between ?2 || '-' and ?2 || '.' and o.kind = ?3 and o.void is null"
    ))?;
    let mut rows = documents.query([crew.0])?;
    while let Some(row) = rows.next()? {
        let (id, body) = (DocId(row.get(0)?), row.get_ref(2)?.as_str()?);
        let last = seen::read(body).map_or_else(|| seen::find(&tx, id), Ok)?;
        let Some(latest) = last.values().max_by_key(|last| (last.at, &last.key)) else { continue };
        let feature: Feature = row.get_ref(1)?.as_str()?.parse().map_err(|_| odd(1, "feature"))?;
        let zone = known.zones.get(&feature);
        let Feature::Field(field) = feature else { return Err(odd(1, "feature")) };
        let entry = seen.entry(known.united.home(&field).to_owned()).or_default();
        let at = Timestamp::from_millisecond(latest.at).map_err(|_| odd(2, "seen"))?;
        if entry.visit.as_ref().is_none_or(|known| known.at < at) {
            let day = day(at, zone, latest.offset);
            entry.visit = Some(LastVisit { at, day, by: latest.by.clone() });
        }
        let Some((visit, _)) = last.get(kind).and_then(|last| last.key.rsplit_once('-')) else { continue };
        let records = of_visit.query_map(params![id.0, visit, kind], |r| known.home(read_record(r, &known.zones)?))?;
        for record in records {
            let record = record?;
            // A field has a document a season; the last season counts.
            if entry.of_kind.first().is_some_and(|known| known.season < record.season) {
                entry.of_kind.clear();
            }
            if entry.of_kind.first().is_none_or(|known| known.season == record.season) {
                entry.of_kind.push(record);
            }
        }
    }
    for last in seen.values_mut() {
        last.of_kind.sort_by(|a, b| (a.at, &a.key).cmp(&(b.at, &b.key)));
    }
    Ok(seen)
}
