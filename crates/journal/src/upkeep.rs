//! Looking after a journal: verify, rebuild the lists, snapshot.

use std::{collections::BTreeSet, ops::Bound};

use ligule_observation::{document::FieldDocument, ids::DocId, record::Record, settings::Settings, version::digest};
use rusqlite::{Connection, Row, Transaction, TransactionBehavior, params};

use crate::{
    codec::{heads_to_bytes, values_to_text, vector_to_bytes},
    documents::{Cached, DOC_COLUMNS, DocRow, load},
    error::{JournalError, SALVAGE},
    large::PAUSE,
    read::values_in,
    salvage::counted,
    seen::{self, Last, Seen},
    settings,
    store::{Inner, Journal},
    write::json,
};

/// A snapshot is made when this many chunks lie after the last one …
const CHUNKS: i64 = 256;
/// … or when they hold more than this share of its bytes.
const SHARE: f64 = 0.25;

/// How many observations a rebuild lists anew in one transaction.
const STEP: usize = 1_000;

/// One thing that is wrong with a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Where: the file, or a document by feature and season.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// How to go on.
    pub next: String,
}

/// What a look at everything found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct VerifyReport {
    /// Documents that can be read.
    pub documents: usize,
    /// Observations in them.
    pub observations: usize,
    /// What is wrong; empty where all is well.
    pub findings: Vec<Finding>,
}

/// What a rebuild of the lists did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RebuildReport {
    /// Documents whose lists were made anew.
    pub documents: usize,
    /// Observations listed.
    pub observations: usize,
    /// Documents that cannot be read; their lists stay as they were.
    pub unreadable: Vec<Finding>,
}

/// What a round of snapshots did.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct SnapshotReport {
    /// Documents snapshotted.
    pub documents: usize,
    /// Bytes of their chunks and snapshots before.
    pub before: u64,
    /// Bytes of their snapshots after.
    pub after: u64,
}

impl Journal {
    /// Looks at everything: the file's pages, each document, whether the lists are what the documents say.
    ///
    /// *Errors:* the file cannot be read at all; whatever else is wrong is in the report.
    pub fn verify(&self) -> Result<VerifyReport, JournalError> {
        let mut report = VerifyReport::default();
        let guard = self.lock();
        // One view of everything: other processes may be writing.
        let tx = Transaction::new_unchecked(&guard.conn, TransactionBehavior::Deferred).map_err(self.sql())?;
        let conn: &Connection = &tx;
        let file = self.file.display().to_string();
        let copy = SALVAGE.to_owned();
        match integrity(conn) {
            Ok(faults) => report.findings.extend(faults.into_iter().map(|what| Finding {
                place: file.clone(),
                what,
                next: copy.clone(),
            })),
            Err(e) => report.findings.push(Finding { place: file.clone(), what: e.to_string(), next: copy.clone() }),
        }
        let rows = match rows(conn).map_err(|e| e.to_string()) {
            Ok(rows) => rows,
            Err(e) => {
                report.findings.push(Finding { place: file, what: e, next: copy });
                return Ok(report);
            }
        };
        for row in rows {
            let place = format!("{} in {}", row.key.feature, row.key.season);
            match load(conn, &row) {
                Ok(mut document) => {
                    report.documents += 1;
                    let projection = document.project(None);
                    report.observations += projection.records.len();
                    let mut fault = |what: String| {
                        report.findings.push(Finding {
                            place: place.clone(),
                            what,
                            next: "`ligule journal rebuild` makes the lists anew".into(),
                        });
                    };
                    if document.version_vector() != row.vector {
                        fault("its version vector is not what its changes say".into());
                    }
                    let crew = row.key == self.crew_doc();
                    match Lists::read(conn, &row, crew) {
                        Ok(listed) => {
                            let expected = Lists::replayed(&document, &projection.records, crew);
                            if listed != expected {
                                fault(format!(
                                    "the lists tell of {}, its document of {}, or they differ",
                                    counted(listed.observations.len(), "observation", "observations"),
                                    expected.observations.len()
                                ));
                            }
                        }
                        Err(e) => fault(e.to_string()),
                    }
                    for (key, why) in projection.unreadable {
                        fault(format!("observation {key}: {why}"));
                    }
                }
                Err(e) => {
                    report.findings.push(Finding { place, what: format!("{e} ({file})"), next: copy.clone() });
                }
            }
        }
        Ok(report)
    }

    /// Makes the lists anew from a full replay of every document that can be read.
    ///
    /// Other processes write meanwhile, and wait for `STEP` observations at a time. Whenever this process ends, each
    /// observation is listed as before or anew.
    pub fn rebuild(&self) -> Result<RebuildReport, JournalError> {
        let mut report = RebuildReport::default();
        self.lock().cache.clear();
        let ids: Vec<DocId> = {
            let guard = self.lock();
            guard
                .conn
                .prepare("select id from doc order by id")
                .and_then(|mut q| q.query_map([], |r| r.get(0).map(DocId))?.collect())
                .map_err(self.sql())?
        };
        for id in ids {
            match self.rebuild_document(id)? {
                Ok(observations) => {
                    report.documents += 1;
                    report.observations += observations;
                }
                Err(finding) => report.unreadable.push(finding),
            }
        }
        *self.listed.lock().unwrap_or_else(|e| e.into_inner()) = None;
        Ok(report)
    }

    /// Makes the lists of one document anew; returns how many observations they tell of.
    fn rebuild_document(&self, id: DocId) -> Result<Result<usize, Finding>, JournalError> {
        // It is read in before anybody is kept from writing.
        let keys = {
            let mut guard = self.lock();
            let Inner { conn, cache } = &mut *guard;
            let tx = Transaction::new_unchecked(conn, TransactionBehavior::Deferred).map_err(self.sql())?;
            let Some(row) = self.row(&tx, id)? else { return Ok(Ok(0)) };
            let document = match load(&tx, &row) {
                Ok(document) => document,
                Err(e) => {
                    return Ok(Err(Finding {
                        place: format!("{} in {}", row.key.feature, row.key.season),
                        what: format!("{e} ({})", self.file.display()),
                        next: SALVAGE.into(),
                    }));
                }
            };
            let keys = document.keys_between((Bound::Unbounded, Bound::Unbounded));
            Self::put_back(cache, id, Cached::loaded(document, &row));
            keys
        };
        let starts: Vec<&str> = keys.iter().step_by(STEP).skip(1).map(String::as_str).collect();
        let from = std::iter::once(Bound::Unbounded).chain(starts.iter().copied().map(Bound::Included));
        let before = starts.iter().copied().map(Bound::Excluded).chain([Bound::Unbounded]);
        let mut observations = 0;
        for bounds in from.zip(before) {
            observations += self.list_anew(id, bounds)?;
            std::thread::sleep(PAUSE);
        }
        self.tell_anew(id)?;
        Ok(Ok(observations))
    }

    /// Makes the lines of observations within bounds anew, as the document says now; returns how many there are.
    fn list_anew(&self, id: DocId, bounds: (Bound<&str>, Bound<&str>)) -> Result<usize, JournalError> {
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        let sql = self.sql();
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate).map_err(&sql)?;
        let Some(row) = self.row(&tx, id)? else { return Ok(0) };
        let cached = self.take(&tx, cache, &row)?;
        let text = |bound| match bound {
            Bound::Included(key) | Bound::Excluded(key) => Some(key),
            Bound::Unbounded => None,
        };
        let (from, before) = (text(bounds.0).unwrap_or_default(), text(bounds.1));
        for table in ["observation", "conflict"] {
            tx.prepare_cached(&format!(
                "delete from {table} where doc = ?1 and key >= ?2 and (?3 is null or key < ?3)"
            ))
            .and_then(|mut delete| delete.execute(params![id.0, from, before]))
            .map_err(&sql)?;
        }
        let keys = cached.document.keys_between(bounds);
        self.project(&tx, &row, &cached, keys.iter().map(String::as_str))?;
        let count = "select count(*) from observation where doc = ?1 and key >= ?2 and (?3 is null or key < ?3)";
        let listed: i64 = (tx.prepare_cached(count))
            .and_then(|mut count| count.query_row(params![id.0, from, before], |r| r.get(0)))
            .map_err(&sql)?;
        tx.commit().map_err(&sql)?;
        Self::put_back(cache, id, cached);
        Ok(usize::try_from(listed).unwrap_or(0))
    }

    /// Makes what a document's row tells anew, and of the crew's document the fields; the observations' lines are right.
    fn tell_anew(&self, id: DocId) -> Result<(), JournalError> {
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        let sql = self.sql();
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate).map_err(&sql)?;
        let Some(row) = self.row(&tx, id)? else { return Ok(()) };
        let mut cached = self.take(&tx, cache, &row)?;
        tx.execute(
            "update doc set crop = ?2, heads = ?3, digest = ?4, vector = ?5, seen = ?6 where id = ?1",
            params![
                id.0,
                cached.document.crop(),
                heads_to_bytes(&row.heads),
                digest(&row.heads),
                vector_to_bytes(&cached.document.version_vector()),
                json(&seen::find(&tx, id).map_err(&sql)?),
            ],
        )
        .map_err(&sql)?;
        if row.key == self.crew_doc() {
            self.project_fields(&tx, &cached)?;
        }
        tx.commit().map_err(&sql)?;
        Self::put_back(cache, id, cached);
        Ok(())
    }

    /// Folds the chunks of documents into their snapshots where they have grown; `all` does so for every document.
    pub fn snapshot(&self, all: bool) -> Result<SnapshotReport, JournalError> {
        let mut report = SnapshotReport::default();
        let sql = self.sql();
        let due: Vec<DocId> = {
            let guard = self.lock();
            guard
                .conn
                .prepare(
                    "select c.doc from chunk c join snapshot s on s.doc = c.doc group by c.doc
                     having ?1 or count(*) > ?2 or sum(length(c.bytes)) > ?3 * max(length(s.bytes)) and count(*) > 16",
                )
                .and_then(|mut q| q.query_map(params![all, CHUNKS, SHARE], |r| r.get(0).map(DocId))?.collect())
                .map_err(&sql)?
        };
        for id in due {
            let mut guard = self.lock();
            let Inner { conn, cache } = &mut *guard;
            // A large document takes long to write out: nobody waits for that, and chunks that come meanwhile stay.
            let read = Transaction::new_unchecked(conn, TransactionBehavior::Deferred).map_err(&sql)?;
            let Some(row) = self.row(&read, id)? else { continue };
            let cached = self.take(&read, cache, &row)?;
            let bytes = cached.document.clone().save_verified()?;
            let before: i64 = read
                .query_row(
                    "select (select sum(length(bytes)) from chunk where doc = ?1)
                          + (select length(bytes) from snapshot where doc = ?1)",
                    [id.0],
                    |r| r.get::<_, Option<i64>>(0),
                )
                .map_err(&sql)?
                .unwrap_or(0);
            read.commit().map_err(&sql)?;
            let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate).map_err(&sql)?;
            let mine = "update doc set snapshot = snapshot + 1, version = version + 1 where id = ?1 and snapshot = ?2";
            if tx.execute(mine, params![id.0, row.snapshot]).map_err(&sql)? == 0 {
                // Another process was quicker.
                continue;
            }
            tx.execute("update snapshot set bytes = ?2 where doc = ?1", params![id.0, bytes]).map_err(&sql)?;
            tx.execute("delete from chunk where doc = ?1 and n <= ?2", params![id.0, row.last]).map_err(&sql)?;
            tx.commit().map_err(&sql)?;
            Self::put_back(cache, id, cached.snapshotted());
            report.documents += 1;
            report.before += before.unsigned_abs();
            report.after += bytes.len() as u64;
        }
        Ok(report)
    }
}

fn rows(conn: &Connection) -> rusqlite::Result<Vec<DocRow>> {
    conn.prepare(&format!("select {DOC_COLUMNS} from doc order by id"))?.query_map([], DocRow::read)?.collect()
}

fn integrity(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut query = conn.prepare("pragma integrity_check(20)")?;
    let lines: Vec<String> = query.query_map([], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
    Ok(lines.into_iter().filter(|l| l != "ok").collect())
}

/// What the lists tell of a document, by key: its observations, its conflicts, its crop, and the crew's fields and
/// settings where it is the crew's own.
#[derive(PartialEq, Eq)]
struct Lists {
    crop: String,
    seen: Seen,
    visits: BTreeSet<String>,
    kinds: BTreeSet<String>,
    observations: Vec<(String, String)>,
    conflicts: Vec<(String, String, String)>,
    fields: Vec<(String, String)>,
    settings: Vec<u8>,
}

impl Lists {
    /// What is in the tables.
    fn read(conn: &Connection, row: &DocRow, crew: bool) -> rusqlite::Result<Self> {
        let observations = conn
            .prepare_cached(
                "select key, visit, kind, at, offset, by, device, lon, lat, \"values\", void, conflicts
                 from observation where doc = ?1 order by key",
            )?
            .query_map([row.id.0], |r| Ok((r.get(0)?, line(r)?)))?
            .collect::<rusqlite::Result<_>>()?;
        let visits = conn
            .prepare_cached(
                "select distinct o.visit from observation o join visit v on v.id = o.visit and v.doc = o.doc
                 where o.doc = ?1",
            )?
            .query_map([row.id.0], |r| r.get(0))?
            .collect::<rusqlite::Result<_>>()?;
        let kinds = conn
            .prepare_cached(
                "select distinct o.kind from observation o join kind k on k.name = o.kind and k.doc = o.doc
                 where o.doc = ?1",
            )?
            .query_map([row.id.0], |r| r.get(0))?
            .collect::<rusqlite::Result<_>>()?;
        let seen: String = conn.query_row("select seen from doc where id = ?1", [row.id.0], |r| r.get(0))?;
        let conflicts = conn
            .prepare_cached("select key, measure, body from conflict where doc = ?1 order by key, measure")?
            .query_map([row.id.0], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?
            .collect::<rusqlite::Result<_>>()?;
        let fields = match crew {
            true => conn
                .prepare_cached("select id, body from field order by id")?
                .query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?
                .collect::<rusqlite::Result<_>>()?,
            false => Vec::new(),
        };
        let settings = match crew {
            true => settings::listed(conn)?.unwrap_or_else(|| settings::body(&Settings::new())),
            false => Vec::new(),
        };
        Ok(Self {
            crop: row.crop.clone(),
            seen: seen::read(&seen).unwrap_or_default(),
            visits,
            kinds,
            observations,
            conflicts,
            fields,
            settings,
        })
    }

    /// What a full replay of the document gives.
    fn replayed(document: &FieldDocument, records: &[Record], crew: bool) -> Self {
        let observations = records.iter().map(|r| (r.key.clone(), fingerprint(r))).collect();
        let mut conflicts: Vec<_> = (records.iter())
            .flat_map(|r| document.conflicts_of(&r.key, &r.kind, &r.conflicts))
            .map(|c| (c.key.clone(), c.measure.clone(), json(&c)))
            .collect();
        conflicts.sort();
        let mut fields: Vec<_> = match crew {
            true => document.fields().iter().map(|f| (f.id.clone(), json(f))).collect(),
            false => Vec::new(),
        };
        fields.sort();
        let settings = if crew { settings::body(&document.settings()) } else { Vec::new() };
        let visits = records.iter().map(|r| r.visit.clone()).collect();
        let kinds = records.iter().map(|r| r.kind.clone()).collect();
        let mut seen = Seen::new();
        let last = records.iter().filter_map(|r| Last::of(r.clone()));
        last.for_each(|(kind, last)| seen::add(&mut seen, kind, last));
        Self { crop: document.crop(), seen, visits, kinds, observations, conflicts, fields, settings }
    }
}

/// An observation's line in the lists, from its second column on.
fn line(r: &Row<'_>) -> rusqlite::Result<String> {
    let (visit, kind, by): (String, String, String) = (r.get(1)?, r.get(2)?, r.get(5)?);
    let (at, offset): (i64, i32) = (r.get(3)?, r.get(4)?);
    let device: [u8; 32] = r.get(6)?;
    let (lon, lat): (Option<i32>, Option<i32>) = (r.get(7)?, r.get(8)?);
    let (void, conflicts): (Option<String>, String) = (r.get(10)?, r.get(11)?);
    let values = values_to_text(&values_in(r, 9)?);
    Ok(json(&(visit, kind, at, offset, by, device, lon, lat, values, void, conflicts)))
}

/// The same line as the document has it.
fn fingerprint(r: &Record) -> String {
    json(&(
        &r.visit,
        &r.kind,
        r.at.as_millisecond(),
        r.offset_minutes,
        &r.by,
        r.device.0,
        r.place.map(|p| p.lon_e7),
        r.place.map(|p| p.lat_e7),
        values_to_text(&r.values),
        r.void.as_ref().map(json),
        json(&r.conflicts),
    ))
}
