//! Every field at a glance: when it was last visited and what was last seen of a kind, without loading a document.

use std::collections::BTreeMap;

use jiff::{Timestamp, civil::Date};
use ligule_observation::{ids::Feature, projection::day, record::Record};

use rusqlite::Connection;

use crate::{
    documents::odd,
    error::JournalError,
    read::{COLUMNS, Known},
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

/// What [`Journal::last_seen`] stands on, for journals that were started without it; as in `schema.sql`.
const INDEXES: &str = "begin immediate;
    create index if not exists observation_kind_at on observation (kind, doc, at);
    create index if not exists observation_at on observation (doc, at);
    drop index if exists observation_kind;
    commit";

/// Adds the indexes where an earlier program started the journal. Where they cannot be written now (damage, a full disk,
/// another process), answers are the same and take longer.
pub(crate) fn bring_indexes(conn: &Connection) {
    let there = "select count(*) from sqlite_master where name in ('observation_kind_at', 'observation_at')";
    if conn.query_row(there, [], |r| r.get(0)).is_ok_and(|n: i64| n == 2) {
        return;
    }
    if let Err(error) = conn.execute_batch(INDEXES) {
        let _ = conn.execute_batch("rollback");
        tracing::debug!(%error, "the indexes of the lists are as an earlier program left them");
    }
}

impl Journal {
    /// Returns what is last known of every field that has records, by the field's identifier; `kind` is the kind whose
    /// last records are wanted, such as the one that tells the growth stage.
    pub fn last_seen(&self, kind: &str) -> Result<BTreeMap<String, LastSeen>, JournalError> {
        let crew = self.identity().crew;
        let known = self.known_fields()?;
        let mut seen: BTreeMap<String, LastSeen> = BTreeMap::new();
        for (field, last) in self.last_visits(&known)? {
            let entry = seen.entry(field).or_default();
            if entry.visit.as_ref().is_none_or(|known| known.at < last.at) {
                entry.visit = Some(last);
            }
        }
        let stage = format!(
            "select {COLUMNS} from doc d
             join observation l on l.doc = d.id and l.key =
                 (select k.key from observation k where k.kind = ?2 and k.doc = d.id and k.void is null
                  order by k.at desc limit 1)
             join observation o on o.doc = d.id and o.key between l.visit || '-' and l.visit || '.'
             where d.crew = ?1 and d.feature like 'field:%' and o.kind = ?2 and o.void is null
             order by o.at, o.key"
        );
        for record in self.query_records(&stage, &[&crew.0, &kind], &known)? {
            let Feature::Field(field) = &record.feature else { continue };
            let entry = seen.entry(field.clone()).or_default();
            // A field has a document a season; the last season counts.
            if entry.of_kind.first().is_some_and(|known| known.season < record.season) {
                entry.of_kind.clear();
            }
            if entry.of_kind.first().is_none_or(|known| known.season == record.season) {
                entry.of_kind.push(record);
            }
        }
        Ok(seen)
    }

    /// Returns the last observation of every document, by the field under which it is spoken of.
    fn last_visits(&self, known: &Known) -> Result<Vec<(String, LastVisit)>, JournalError> {
        let crew = self.identity().crew;
        // One seek into an index a document, instead of reading every observation.
        let sql = "select d.feature, o.at, o.offset, o.by from doc d join observation o on o.doc = d.id and o.key =
                 (select l.key from observation l where l.doc = d.id and l.void is null order by l.at desc limit 1)
             where d.crew = ?1 and d.feature like 'field:%'";
        let read = |r: &rusqlite::Row<'_>| -> rusqlite::Result<(String, LastVisit)> {
            let feature: String = r.get(0)?;
            let feature: Feature = feature.parse().map_err(|_| odd(0, "feature"))?;
            let at = Timestamp::from_millisecond(r.get(1)?).map_err(|_| odd(1, "at"))?;
            let day = day(at, known.zones.get(&feature), r.get(2)?);
            let Feature::Field(id) = feature else { return Err(odd(0, "feature")) };
            Ok((known.united.home(&id).to_owned(), LastVisit { at, day, by: r.get(3)? }))
        };
        let inner = self.lock();
        inner.conn.prepare_cached(sql).and_then(|mut q| q.query_map([crew.0], read)?.collect()).map_err(self.sql())
    }
}
