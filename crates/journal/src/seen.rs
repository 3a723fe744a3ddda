//! What was seen last of each kind in a document, kept in its row, so that a list of all fields reads no observation for it.

use std::collections::BTreeMap;

use ligule_observation::{
    ids::{DocId, ObservationKey},
    record::Record,
};
use rusqlite::{Connection, OptionalExtension, params};
use serde::{Deserialize, Serialize};

use crate::write::json;

/// The last observation of a kind that is not void; of several at one time that with the greatest key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Last {
    /// When, in milliseconds since 1970 (UTC).
    pub(crate) at: i64,
    pub(crate) key: ObservationKey,
    /// The device's offset, minutes east.
    pub(crate) offset: i16,
    pub(crate) by: String,
}

/// The last observations, by kind.
pub(crate) type Seen = BTreeMap<String, Last>;

impl Last {
    /// Returns what there is to say of a record, with its kind; `None` of a void one.
    pub(crate) fn of(record: Record) -> Option<(String, Self)> {
        let at = record.at.as_millisecond();
        let last = Self { at, key: record.key, offset: record.offset_minutes, by: record.by };
        record.void.is_none().then_some((record.kind, last))
    }

    fn is_before(&self, other: &Self) -> bool {
        (self.at, &self.key) <= (other.at, &other.key)
    }
}

/// Adds an observation where it is the last of its kind.
pub(crate) fn add(seen: &mut Seen, kind: String, last: Last) {
    if seen.get(&kind).is_none_or(|known| known.is_before(&last)) {
        seen.insert(kind, last);
    }
}

/// Reads a document's row; `None` where it does not tell, or not what was written.
pub(crate) fn read(body: &str) -> Option<Seen> {
    serde_json::from_str(body).ok()
}

/// Finds out from a document's observations what its row is to tell.
pub(crate) fn find(conn: &Connection, doc: DocId) -> rusqlite::Result<Seen> {
    let mut query =
        conn.prepare_cached("select kind, at, key, offset, by from observation where doc = ?1 and void is null")?;
    let mut rows = query.query([doc.0])?;
    let mut seen = Seen::new();
    while let Some(r) = rows.next()? {
        add(&mut seen, r.get(0)?, Last { at: r.get(1)?, key: r.get(2)?, offset: r.get(3)?, by: r.get(4)? });
    }
    Ok(seen)
}

/// Brings a document's row up to the lines of observations that were written: of each its key, and what there is to say of
/// it. The lines themselves are in the table already.
pub(crate) fn keep(
    conn: &Connection,
    doc: DocId,
    lines: Vec<(ObservationKey, Option<(String, Last)>)>,
) -> rusqlite::Result<()> {
    let body: Option<String> =
        conn.prepare_cached("select seen from doc where id = ?1")?.query_row([doc.0], |r| r.get(0)).optional()?;
    let mut known = body.as_deref().and_then(read);
    if let Some(seen) = &mut known {
        // One that was the last and no longer is: which is, only all of them tell.
        let gone = |(key, now): &(ObservationKey, Option<(String, Last)>)| {
            seen.iter().any(|(kind, last)| {
                last.key == *key && now.as_ref().is_none_or(|(now_kind, now)| now_kind != kind || !last.is_before(now))
            })
        };
        if lines.iter().any(gone) {
            known = None;
        } else {
            lines.into_iter().filter_map(|(_, now)| now).for_each(|(kind, last)| add(seen, kind, last));
        }
    }
    let now = match known {
        Some(seen) => json(&seen),
        None => json(&find(conn, doc)?),
    };
    if body.as_deref() != Some(now.as_str()) {
        conn.prepare_cached("update doc set seen = ?2 where id = ?1")?.execute(params![doc.0, now])?;
    }
    Ok(())
}
