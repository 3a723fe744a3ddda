//! Taking out of a damaged journal what can still be read, into a new one.
//!
//! Damage seldom takes the whole file: SQLite refuses the pages that are bad, and a checksum tells which bytes of a
//! document are. So tables are read from both ends and row by row between, each document is put together from
//! whatever of its snapshot and chunks holds together, and observations of which nothing is left but their line in the
//! lists are written anew as they stood there.

use std::{
    collections::{BTreeMap, BTreeSet, btree_map::Entry},
    path::Path,
};

use jiff::Timestamp;
use ligule_observation::{
    conflict::{Candidate, Conflict},
    document::{FieldDocument, NewObservation, Visit, Writer},
    field::{Field, merge::settled},
    ids::{CrewId, DocId, DocKey, Feature},
    outside::Limits,
    record::{Record, Void},
};
use rusqlite::{Connection, OpenFlags, Row, ToSql, Transaction, TransactionBehavior, params};

use crate::{
    actors,
    documents::{DOC_COLUMNS, DocRow, load},
    error::JournalError,
    read::{COLUMNS, Filter, from_json, read_field, read_record},
    store::{Journal, plain_name},
    upkeep::Finding,
};

/// What was taken out of a damaged journal, and what was not.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SalvageReport {
    /// Documents in the new journal.
    pub documents: usize,
    /// Observations in it, by their documents.
    pub observations: usize,
    /// Those of them that a document lost or knew only as they stood earlier, written as the lists showed them, without
    /// their history.
    pub from_lists: usize,
    /// What is not whole any more; empty where everything was taken out.
    pub lost: Vec<Finding>,
}

/// What can be read of one document.
struct Remains {
    key: Option<DocKey>,
    id: DocId,
    document: Option<FieldDocument>,
    /// What is missing; `None` where it is whole.
    lost: Option<&'static str>,
}

/// Conflicts by observation and measure.
type Doubts = BTreeMap<(String, String), Conflict>;

/// What can be read of a whole file.
struct Survey {
    documents: Vec<Remains>,
    /// Observations by their lines in the lists, of documents that are not whole.
    listed: Vec<Record>,
    /// What waited for a person, by its lines in the list of conflicts, of the same documents.
    doubts: Doubts,
    /// Fields by their lines in the list.
    fields: Vec<Field>,
    kept: Vec<(String, Vec<u8>)>,
    /// Tables with pages that cannot be read.
    torn: BTreeSet<&'static str>,
}

impl Journal {
    /// Copies everything that can be read into a new journal of the same device in another folder.
    ///
    /// This journal stays as it is. The new one goes on under new actors and is to be used in its place: a sync then
    /// brings what other devices of the crew have and this one lost. What documents of fields lost is written anew from
    /// the lists, with `now` as the time of writing; merged with what was lost later, these are the same observations.
    ///
    /// *Errors:* the folder has a journal or cannot be written; nothing is left there then. Whatever of this journal
    /// cannot be read is in the report.
    pub fn salvage(&self, into: &Path, now: Timestamp) -> Result<SalvageReport, JournalError> {
        let survey = Survey::of(&self.lock().conn);
        let journal = Self::create(into, self.identity())?;
        let filled = journal.fill(survey, now);
        if filled.is_err() {
            // Half of what could be read must not pass for all of it.
            journal.remove();
        }
        filled
    }

    fn fill(&self, survey: Survey, now: Timestamp) -> Result<SalvageReport, JournalError> {
        let mut report = SalvageReport::default();
        let brings = "a sync brings it from another device of the crew that has it";
        {
            let inner = self.lock();
            let sql = self.sql();
            let tx = Transaction::new_unchecked(&inner.conn, TransactionBehavior::Immediate).map_err(&sql)?;
            for remains in survey.documents {
                if let Some(what) = remains.lost {
                    let place = match &remains.key {
                        Some(key) => format!("{} in {}", key.feature, key.season),
                        None => format!("document {}", remains.id),
                    };
                    report.lost.push(Finding { place, what: what.into(), next: brings.into() });
                }
                let Some(document) = remains.document else { continue };
                let (row, cached) = self.insert(&tx, document)?;
                let keys: Vec<_> = cached.document.records(None).into_iter().map(|r| r.key).collect();
                self.project(&tx, &row, &cached, keys.iter().map(String::as_str))?;
                if row.key == self.crew_doc() {
                    self.project_fields(&tx, &cached)?;
                }
                report.documents += 1;
                report.observations += keys.len();
            }
            for (name, value) in survey.kept {
                tx.execute("insert or replace into kv (name, value) values (?1, ?2)", params![name, value])
                    .map_err(&sql)?;
            }
            tx.commit().map_err(&sql)?;
        }
        let here: BTreeSet<_> = self.all_fields()?.into_iter().map(|f| f.id).collect();
        let person = self.identity().person;
        for field in settled(survey.fields).iter().filter(|f| !here.contains(&f.id)) {
            self.write_field(field, &person, now)?;
        }
        let (written, corrected) = self.write_listed(&survey.listed, &survey.doubts, now)?;
        report.from_lists = written + corrected;
        report.observations += written;
        report.documents = self.documents_held()?;
        if survey.torn.contains("kv") {
            report.lost.push(Finding {
                place: "what the program keeps by name".into(),
                what: "pages of it cannot be read; the crew's members or invitations may be among it".into(),
                next: "`ligule crew show` tells whether the members are there; if not, join the crew anew".into(),
            });
        }
        if survey.torn.iter().any(|t| matches!(*t, "doc" | "snapshot" | "chunk")) {
            report.lost.push(Finding {
                place: "documents".into(),
                what: "pages cannot be read; documents of which nothing at all is left are not told here".into(),
                next: brings.into(),
            });
        }
        Ok(report)
    }

    /// Brings documents that are not whole up to what the lists showed: observations that are missing are written anew
    /// under the keys that they had, corrections and voids that are missing are made again, and what waited for a person
    /// waits again. Returns how many observations were written anew, and how many were brought up to date.
    fn write_listed(&self, listed: &[Record], doubts: &Doubts, now: Timestamp) -> Result<(usize, usize), JournalError> {
        let crew = self.identity().crew;
        let (mut written, mut corrected) = (0, 0);
        let waiting = by_measure(self.conflicts()?);
        for run in listed.chunk_by(|a, b| (&a.feature, a.season) == (&b.feature, b.season)) {
            let (feature, season) = (run[0].feature.clone(), run[0].season);
            let filter = Filter { feature: Some(feature.clone()), season: Some(season), ..Filter::default() };
            let here: BTreeMap<_, _> = self.records(&filter)?.into_iter().map(|r| (r.key.clone(), r)).collect();
            let new: Vec<_> = run.iter().filter(|r| !here.contains_key(&r.key)).filter_map(anew).collect();
            let crop = (!run[0].crop.is_empty()).then_some(run[0].crop.as_str());
            let keys: BTreeSet<_> =
                self.record(&DocKey { crew, feature, season }, crop, &new, now)?.into_iter().collect();
            written += keys.len();
            for record in run {
                let known = here.get(&record.key);
                if known.is_none() && !keys.contains(&record.key) {
                    continue;
                }
                let settled = |name: &str| !record.conflicts.iter().any(|measure| measure == name);
                // A value that was written over two others is missing too where these are all that is left.
                let stands = |known: &Record, name: &String, value| {
                    known.values.get(name) == Some(value) && !known.conflicts.contains(name)
                };
                let missing: Vec<_> = (record.values.iter())
                    .filter(|(name, value)| settled(name) && known.is_some_and(|known| !stands(known, name, value)))
                    .map(|(name, value)| (name.clone(), value.clone()))
                    .collect();
                if !missing.is_empty() {
                    self.amend_all(&record.key, &missing, &plain_name(&record.by), now)?;
                }
                // Where the observation was written anew it has the values that were shown.
                let doubtful = self.doubt_again(record, known.unwrap_or(record), &waiting, doubts, now)?;
                let void = record.void.as_ref().filter(|_| known.is_none_or(|known| known.void.is_none()));
                if let Some(void) = void {
                    self.void(&record.key, &Void { by: plain_name(&void.by), ..void.clone() })?;
                }
                corrected += usize::from(known.is_some() && (void.is_some() || !missing.is_empty() || doubtful));
            }
        }
        Ok((written, corrected))
    }

    /// Lets the measures of an observation wait for a person again that did when it was listed; `known` is the observation
    /// as it is here, `waiting` what waits here. Tells whether any had to be written.
    fn doubt_again(
        &self,
        listed: &Record,
        known: &Record,
        waiting: &Doubts,
        doubts: &Doubts,
        now: Timestamp,
    ) -> Result<bool, JournalError> {
        let mut written = false;
        for measure in &listed.conflicts {
            let place = (listed.key.clone(), measure.clone());
            let shown = |record: &Record| {
                let measured = record.values.get(measure)?.clone();
                Some(Candidate { measured, by: record.by.clone(), device: record.device, at: record.at })
            };
            let before = match waiting.get(&place) {
                Some(conflict) => conflict.candidates.clone(),
                None => shown(known).into_iter().collect(),
            };
            let among = |all: &[Candidate], one: &Candidate| all.iter().any(|c| c.measured.value == one.measured.value);
            let wanted = match (doubts.get(&place), shown(listed)) {
                (Some(conflict), _) => conflict.candidates.clone(),
                (None, None) => continue,
                // The line of the conflict is lost: what was shown waits beside whatever else is here.
                (None, Some(shown)) => {
                    let others = before.iter().filter(|c| c.measured.value != shown.measured.value);
                    others.chain([&shown]).cloned().collect()
                }
            };
            if before.len() != wanted.len() || !wanted.iter().all(|one| among(&before, one)) {
                self.write_conflict(&listed.key, measure, &wanted, now)?;
                written = true;
            }
        }
        Ok(written)
    }

    /// Writes values that waited for a person, so that they wait again: none of them stands on another, and what they were
    /// written over is superseded as it was.
    fn write_conflict(
        &self,
        key: &str,
        measure: &str,
        candidates: &[Candidate],
        now: Timestamp,
    ) -> Result<(), JournalError> {
        let device = self.identity().device;
        let mut actors: Vec<[u8; 16]> = candidates.iter().map(|_| actors::fresh()).collect();
        actors.sort_unstable();
        let values: Vec<_> = (candidates.iter().zip(actors))
            .map(|(one, actor)| (Writer { actor, device, person: plain_name(&one.by) }, one.measured.clone()))
            .collect();
        let doc = self.doc_of(key)?;
        let changes = self.with_document(doc.id(), |document| {
            let mut copy = document.clone();
            let before = copy.heads();
            copy.put_beside(key, measure, &values, now).map(|()| copy.changes_after(&before))
        })??;
        // Changes by several actors at once come in as those of other devices do.
        self.apply(&doc, &changes, &Limits::default(), now, &|_| Ok(())).map(drop)
    }

    fn documents_held(&self) -> Result<usize, JournalError> {
        let inner = self.lock();
        inner
            .conn
            .query_row("select count(*) from doc", [], |r| r.get::<_, i64>(0))
            .map_err(self.sql())
            .map(|n| usize::try_from(n).unwrap_or(0))
    }

    /// Removes the journal's files, which this process has just made.
    fn remove(self) {
        let Self { file, inner, .. } = self;
        drop(inner);
        for left in ["", "-wal", "-shm"] {
            let mut name = file.clone().into_os_string();
            name.push(left);
            if let Err(error) = std::fs::remove_file(&name)
                && error.kind() != std::io::ErrorKind::NotFound
            {
                tracing::warn!(file = %name.display(), %error, "cannot be removed");
            }
        }
    }
}

fn by_measure(conflicts: Vec<Conflict>) -> Doubts {
    conflicts.into_iter().map(|conflict| ((conflict.key.clone(), conflict.measure.clone()), conflict)).collect()
}

/// Returns an observation as it is written anew; `None` where its key cannot be had again.
///
/// A station's visit does not tell when it began, and its days come from a file.
fn anew(record: &Record) -> Option<NewObservation> {
    let Feature::Field(_) = record.feature else { return None };
    let number = record.key.rsplit_once('-').and_then(|(_, n)| n.parse().ok())?;
    Some(NewObservation {
        visit: Visit {
            id: record.visit.clone(),
            by: plain_name(&record.by),
            at: began(&record.visit)?,
            offset_minutes: record.offset_minutes,
            place: None,
        },
        kind: record.kind.clone(),
        version: 1,
        values: record.values.clone(),
        at: Some(record.at),
        place: record.place,
        number: Some(number),
    })
}

/// Returns when a visit to a field began: its ULID bears the time.
pub(crate) fn began(visit: &str) -> Option<Timestamp> {
    let milliseconds = ulid::Ulid::from_string(visit).ok()?.timestamp_ms();
    Timestamp::from_millisecond(milliseconds.try_into().ok()?).ok()
}

impl Survey {
    fn of(conn: &Connection) -> Self {
        let mut torn = BTreeSet::new();
        let mut rows = BTreeMap::new();
        let whole = both_ways(conn, &format!("select {DOC_COLUMNS} from doc"), "id", &[], &mut |r| {
            let row = DocRow::read(r)?;
            // A row that tells of another document than its identifier is not what was written.
            if row.key.id() == row.id {
                rows.insert(row.id, row);
            }
            Ok(())
        });
        if !whole {
            torn.insert("doc");
        }
        let mut snapshots: BTreeMap<DocId, Vec<i64>> = rows.keys().map(|id| (*id, Vec::new())).collect();
        let (found, whole) = by_number(conn);
        if !whole {
            torn.insert("snapshot");
        }
        for (number, id) in found {
            snapshots.entry(id).or_default().push(number);
        }
        let whole = both_ways(conn, "select doc from chunk", "doc, n", &[], &mut |r| {
            snapshots.entry(DocId(r.get(0)?)).or_default();
            Ok(())
        });
        if !whole {
            torn.insert("chunk");
        }
        let documents: Vec<_> = snapshots
            .into_iter()
            .map(|(id, snapshots)| {
                if !rows.contains_key(&id)
                    && let Some(row) = row_of(conn, id)
                {
                    rows.insert(id, row);
                }
                Remains::find(conn, id, rows.get(&id), &snapshots)
            })
            .collect();
        let (mut listed, mut doubts) = (BTreeMap::new(), Vec::new());
        // Documents of a crew that the device was part of before are kept, but no longer listed.
        let crew = conn.query_row("select value from meta where name = 'crew'", [], |r| r.get(0)).ok().map(CrewId);
        let present = |d: &&Remains| d.lost.is_some() && d.key.as_ref().is_some_and(|key| Some(key.crew) == crew);
        for id in documents.iter().filter(present).map(|d| d.id) {
            let sql = format!("select {COLUMNS} from observation o join doc d on d.id = o.doc where o.doc = ?1");
            let whole = both_ways(conn, &sql, "o.key", &[&id.0], &mut |r| {
                let record = read_record(r, &Default::default())?;
                listed.insert((id, record.key.clone()), record);
                Ok(())
            });
            if !whole {
                torn.insert("observation");
            }
            let sql = "select body, key, measure from conflict where doc = ?1";
            both_ways(conn, sql, "key, measure", &[&id.0], &mut |r| {
                let conflict: Conflict = from_json(r, 0, "conflict")?;
                doubts.push(conflict);
                Ok(())
            });
        }
        let (mut fields, mut kept) = (BTreeMap::new(), BTreeMap::new());
        both_ways(conn, "select body, id from field", "id", &[], &mut |r| {
            fields.insert(r.get::<_, String>(1)?, read_field(r)?);
            Ok(())
        });
        let whole = both_ways(conn, "select name, value from kv", "name", &[], &mut |r| {
            kept.insert(r.get(0)?, r.get(1)?);
            Ok(())
        });
        if !whole {
            torn.insert("kv");
        }
        Self {
            documents,
            listed: listed.into_values().collect(),
            doubts: by_measure(doubts),
            fields: fields.into_values().collect(),
            kept: kept.into_iter().collect(),
            torn,
        }
    }
}

impl Remains {
    fn find(conn: &Connection, id: DocId, row: Option<&DocRow>, snapshots: &[i64]) -> Self {
        if let Some(row) = row
            && let Ok(document) = load(conn, row)
        {
            return Self { key: Some(row.key.clone()), id, document: Some(document), lost: None };
        }
        let snapshots: Vec<_> = snapshots.iter().filter_map(|n| snapshot_of(conn, *n)).collect();
        let key = row
            .map(|row| row.key.clone())
            .or_else(|| snapshots.iter().find_map(|s| FieldDocument::key_in(s)).filter(|key| key.id() == id));
        let Some(key) = key else {
            return Self { key, id, document: None, lost: Some("neither its row nor its snapshot can be read") };
        };
        let mut document = snapshots
            .iter()
            .find_map(|s| FieldDocument::load(key.clone(), s, &[]).ok())
            .unwrap_or_else(|| FieldDocument::new(key.clone()));
        let mut left = chunks_left(conn, id, row.map_or(0, |row| row.last));
        // All at once where only the row is lost; else one by one: each chunk stands on those before it, and where their
        // order is lost too, it is found by trying.
        if let Ok(more) = document.with_changes(&left.concat()) {
            document = more;
            left.clear();
        }
        loop {
            let before = left.len();
            left.retain(|chunk| match document.with_changes(chunk) {
                Ok(more) => {
                    document = more;
                    false
                }
                Err(_) => true,
            });
            if left.len() == before {
                break;
            }
        }
        // What is handed on can be read back, or it is lost.
        let whole = row.is_some_and(|row| document.heads() == row.heads);
        let sound = document.save_verified().is_ok_and(|saved| FieldDocument::load(key.clone(), &saved, &[]).is_ok());
        let (document, lost) = match (sound && document.change_count() > 1, whole) {
            (true, true) => (Some(document), None),
            (true, false) if row.is_none() => (Some(document), Some("its row cannot be read; changes may be missing")),
            (true, false) => (Some(document), Some("some of its changes cannot be read")),
            (false, _) => (None, Some("its changes cannot be read")),
        };
        Self { key: Some(key), id, document, lost }
    }
}

/// Writes a number with its word.
pub(crate) fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Tells what of a damaged file could be salvaged.
pub(crate) fn readable(file: &Path) -> String {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let Ok(conn) = Connection::open_with_flags(file, flags) else { return "nothing".into() };
    let survey = Survey::of(&conn);
    let found: Vec<_> = survey.documents.iter().filter_map(|d| d.document.as_ref()).collect();
    let keys: BTreeSet<_> = found.iter().flat_map(|d| d.records(None)).map(|r| r.key).collect();
    let listed = survey.listed.iter().filter(|r| !keys.contains(&r.key) && anew(r).is_some()).count();
    // Where the list of documents is torn, nobody knows how many there were.
    let documents = match survey.torn.contains("doc") {
        true => counted(found.len(), "document", "documents"),
        false => format!("{} of {}", found.len(), counted(survey.documents.len(), "document", "documents")),
    };
    let observations = |n| counted(n, "observation", "observations");
    match (found.len(), listed) {
        (0, 0) => "nothing".into(),
        (_, 0) => format!("{documents} with {}", observations(keys.len())),
        (_, more) => {
            format!(
                "{documents} with {}, and {} by their lines in the lists",
                observations(keys.len()),
                observations(more)
            )
        }
    }
}

/// Reads rows forwards up to the first page that cannot be read, then backwards up to the last one; rows that are not
/// what was written are passed over. Tells whether every page and row could be read.
fn both_ways(
    conn: &Connection,
    sql: &str,
    order: &str,
    values: &[&dyn ToSql],
    take: &mut dyn FnMut(&Row<'_>) -> rusqlite::Result<()>,
) -> bool {
    let mut odd = false;
    let mut walk = |direction: &str| -> rusqlite::Result<()> {
        let mut query = conn.prepare(&format!("{sql} order by {order} {direction}"))?;
        let mut rows = query.query(values)?;
        while let Some(row) = rows.next()? {
            odd |= take(row).is_err();
        }
        Ok(())
    };
    let torn = walk("asc").is_err();
    if torn {
        let _ = walk("desc");
    }
    !torn && !odd
}

/// Row numbers in a row without one that can be read, after which the end is believed to be reached.
const GAP: i64 = 1000;

/// Reads the row numbers of the snapshots with the document that each belongs to: from both ends, and one by one between
/// them where pages there cannot be read. Tells whether every page could be read.
fn by_number(conn: &Connection) -> (BTreeMap<i64, DocId>, bool) {
    let mut found = BTreeMap::new();
    let walk = |found: &mut BTreeMap<i64, DocId>, direction: &str| -> rusqlite::Result<Option<i64>> {
        let sql = format!("select rowid, doc from snapshot not indexed order by rowid {direction}");
        let mut last = None;
        let mut query = conn.prepare(&sql)?;
        let mut rows = query.query([])?;
        loop {
            match rows.next() {
                Ok(None) => return Ok(None),
                Ok(Some(row)) => {
                    let number = row.get(0)?;
                    last = Some(number);
                    if let Ok(id) = row.get(1) {
                        found.insert(number, DocId(id));
                    }
                }
                Err(_) => return Ok(Some(last.unwrap_or(0))),
            }
        }
    };
    let Ok(Some(first)) = walk(&mut found, "asc") else { return (found, true) };
    let last = walk(&mut found, "desc").ok().flatten().filter(|n| *n > first);
    let (mut number, mut missed) = (first, 0);
    while last.map_or(missed < GAP, |last| number < last) {
        number += 1;
        let sql = "select doc from snapshot not indexed where rowid = ?1";
        match conn.prepare_cached(sql).and_then(|mut q| q.query_row([number], |r| r.get(0))) {
            Ok(id) => {
                found.insert(number, DocId(id));
                missed = 0;
            }
            Err(_) => missed += 1,
        }
    }
    (found, false)
}

fn snapshot_of(conn: &Connection, number: i64) -> Option<Vec<u8>> {
    let sql = "select bytes from snapshot not indexed where rowid = ?1";
    conn.prepare_cached(sql).and_then(|mut q| q.query_row([number], |r| r.get(0))).ok()
}

/// Reads the chunks of a document that can be read, in order: from both ends, and one by one between them where pages
/// there cannot be read. `last` is the number of the newest one, 0 where that is lost.
fn chunks_left(conn: &Connection, id: DocId, last: i64) -> Vec<Vec<u8>> {
    let mut found: BTreeMap<i64, Vec<u8>> = BTreeMap::new();
    let sql = "select n, bytes from chunk where doc = ?1";
    let whole = both_ways(conn, sql, "n", &[&id.0], &mut |r| {
        found.insert(r.get(0)?, r.get(1)?);
        Ok(())
    });
    if !whole {
        let newest = found.keys().next_back().copied().unwrap_or(0);
        for n in 1..=last.max(newest + GAP) {
            let Entry::Vacant(missing) = found.entry(n) else { continue };
            let sql = "select bytes from chunk where doc = ?1 and n = ?2";
            let read = conn.prepare_cached(sql).and_then(|mut q| q.query_row(params![id.0, n], |r| r.get(0)));
            if let Ok(bytes) = read {
                missing.insert(bytes);
            }
        }
    }
    found.into_values().collect()
}

fn row_of(conn: &Connection, id: DocId) -> Option<DocRow> {
    conn.query_row(&format!("select {DOC_COLUMNS} from doc where id = ?1"), [id.0], DocRow::read)
        .ok()
        .filter(|row| row.key.id() == id)
}
