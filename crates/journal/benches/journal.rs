//! What a durable record, a list of all fields, an observation on the disk and a whole process cost, beside plain SQLite in
//! the same run.
//!
//! `cargo bench -p ligule-journal`, or one part of it: `-- durable`, `-- list`, `-- bytes`. With `LIGULE_PROGRAM` set to the
//! program (`cargo build --release`, `target/release/ligule`) the part `list` also measures whole processes. Targets: a
//! record at most 1.5 times the time of a plain row of the same content (WAL, `synchronous=FULL`); the list of all fields
//! at 2,000 documents and 250,000 observations under 50 ms with no document loaded; a process that records at most 40 ms;
//! at most 35 bytes an observation in document snapshots. Nothing is asserted about time or size.

#[path = "../tests/common/mod.rs"]
mod common;

use std::{
    collections::BTreeMap,
    hint::black_box,
    path::Path,
    process::{Command, Stdio},
    time::{Duration, Instant},
};

use common::{at, int, start, visit};
use criterion::Criterion;
use ligule_journal::Journal;
use ligule_observation::{
    document::{NewObservation, Visit},
    field::Field,
    ids::{CrewId, DocKey, Feature},
    record::{Measured, Place, Value},
};
use rusqlite::{Connection, params};

/// Documents of the large journal: one field each, from 10 to 500 observations, evenly on a logarithmic scale.
const DOCUMENTS: usize = 2_000;
/// Observations on a visit.
const VISIT: usize = 20;

/// A small generator, the same in every run.
struct Random(u64);

impl Random {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

fn document(n: usize) -> DocKey {
    DocKey { crew: CrewId([7; 16]), feature: Feature::Field(field(n)), season: 2026 }
}

fn field(n: usize) -> String {
    format!("01J00000000000000000{n:06}")
}

/// An observation as `observation/tests/size.rs` makes them: nine keys, its own place and time, a note on three of ten; one in twenty tells
/// the stage.
fn observation(random: &mut Random, visit: &Visit, second: i64) -> NewObservation {
    let text = |text: &str| Measured { value: Value::Text(text.into()), entered: None };
    let notes = ["edge of field", "wet spot near tile", "regrowth from below", "cupped leaves", "check again Friday"];
    let (kind, mut values) = if random.below(20) == 0 {
        ("leaf-stage", BTreeMap::from([("collars".to_owned(), text("4 4 5 4 3 4 4 5 4 4"))]))
    } else {
        let weed = ["AMATU", "SETFA", "ABUTH", "CHEAL"][random.below(4) as usize];
        let values = BTreeMap::from([
            ("weed".to_owned(), text(weed)),
            ("height".to_owned(), int(random.below(1200) as i64)),
            ("density".to_owned(), int(random.below(900) as i64)),
            ("emergence".to_owned(), text(["before", "with", "after"][random.below(3) as usize])),
        ]);
        ("weed-count", values)
    };
    if random.below(10) < 3 {
        values.insert("note".to_owned(), text(notes[random.below(5) as usize]));
    }
    NewObservation {
        visit: visit.clone(),
        kind: kind.into(),
        version: 1,
        values,
        at: Some(at(second)),
        place: Some(Place {
            lon_e7: -936_000_000 + random.below(90_000) as i32,
            lat_e7: 420_000_000 + random.below(90_000) as i32,
        }),
        number: None,
    }
}

/// Writes visits of [`VISIT`] observations, a change and a transaction a visit.
fn visits(journal: &Journal, key: &DocKey, observations: usize, random: &mut Random) {
    let mut left = observations;
    for n in 0.. {
        if left == 0 {
            return;
        }
        let start = n as i64 * 90_000;
        let v = visit("person 1", start as u64);
        let new: Vec<_> = (0..left.min(VISIT)).map(|i| observation(random, &v, start + i as i64 * 61)).collect();
        journal.record(key, Some("corn"), &new, at(start)).expect("records");
        left -= new.len();
    }
}

/// A plain table for the same content: thirteen columns and one index, WAL, `synchronous=FULL`.
fn plain(folder: &Path) -> Connection {
    let conn = Connection::open(folder.join("plain.sqlite")).expect("opens");
    conn.query_row("pragma journal_mode = wal", [], |_| Ok(())).expect("WAL");
    conn.execute_batch(
        "pragma synchronous = full;
         create table obs (id text primary key, kind text, field text, season integer, at integer, visit text, by text,
             lon integer, lat integer, weed text, height integer, density integer, note text);
         create index obs_field on obs (field, at);",
    )
    .expect("a table");
    conn
}

fn insert(conn: &Connection, n: u64, new: &NewObservation) {
    let int = |name: &str| match new.values.get(name).map(|m| &m.value) {
        Some(Value::Int(n)) => Some(*n),
        _ => None,
    };
    let text = |name: &str| match new.values.get(name).map(|m| &m.value) {
        Some(Value::Text(t)) => Some(t.clone()),
        _ => None,
    };
    conn.prepare_cached("insert into obs values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)")
        .and_then(|mut q| {
            q.execute(params![
                format!("{}-{n:06}", new.visit.id),
                new.kind,
                field(0),
                2026,
                new.at.map(|t| t.as_millisecond()),
                new.visit.id,
                new.visit.by,
                new.place.map(|p| p.lon_e7),
                new.place.map(|p| p.lat_e7),
                text("weed"),
                int("height"),
                int("density"),
                text("note"),
            ])
        })
        .expect("inserts");
}

/// Documents that records go to in turn, and how many observations each holds before: that of a field in a good season.
const WARM: usize = 30;
const HELD: usize = 1_000;

/// A record and a plain row, each into what holds as much already, and in turn, so that both meet the same disk.
fn durable(c: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(&folder.path().join("journal"), 1);
    let conn = plain(folder.path());
    let mut random = Random(42);
    for n in 0..WARM {
        visits(&journal, &document(n), HELD, &mut random);
    }
    journal.snapshot(true).expect("snapshots");
    let mut n = 0usize;
    let mut one = || {
        n += 1;
        // The next one of a document's visit of 20.
        let second = 100_000_000 + (n / (WARM * VISIT) * 90_000) as i64;
        let v = visit("person 1", second as u64);
        (document(n % WARM), observation(&mut random, &v, second + (n / WARM % VISIT) as i64 * 61), second, n as u64)
    };
    let (mut rows, mut records) = (Vec::new(), Vec::new());
    // Three visits to each document: what a new visit costs is in the mean, and hardly in the median.
    for _ in 0..WARM * VISIT * 3 {
        let (key, new, second, n) = one();
        let start = Instant::now();
        insert(&conn, n, &new);
        rows.push(start.elapsed());
        let start = Instant::now();
        journal.record(&key, Some("corn"), std::slice::from_ref(&new), at(second)).expect("records");
        records.push(start.elapsed());
    }
    let number = rows.len();
    let mean = |times: &[Duration]| times.iter().sum::<Duration>() / u32::try_from(times.len()).expect("few");
    let (mean_row, mean_record) = (mean(&rows), mean(&records));
    for (what, row, record) in [("median", median(&mut rows), median(&mut records)), ("mean", mean_row, mean_record)] {
        println!(
            "in turn, {number} each, {what}: plain row {row:?}, record {record:?}, ratio {:.2}",
            record.as_secs_f64() / row.as_secs_f64()
        );
    }
    let mut group = c.benchmark_group("durable");
    group.sample_size(30).warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(3));
    group.bench_function("plain row", |b| {
        b.iter_custom(|times| {
            (0..times)
                .map(|_| {
                    let (_, new, _, n) = one();
                    let start = Instant::now();
                    insert(&conn, n, &new);
                    start.elapsed()
                })
                .sum()
        });
    });
    group.bench_function("record", |b| {
        b.iter_custom(|times| {
            (0..times)
                .map(|_| {
                    let (key, new, second, _) = one();
                    let start = Instant::now();
                    journal.record(&key, Some("corn"), std::slice::from_ref(&new), at(second)).expect("records");
                    start.elapsed()
                })
                .sum()
        });
    });
    group.finish();
}

fn median(times: &mut [Duration]) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

/// Observations a document, evenly on a logarithmic scale from 10 to 500.
fn sizes() -> impl Iterator<Item = usize> {
    (0..DOCUMENTS).map(|n| (10.0 * 50f64.powf(n as f64 / (DOCUMENTS - 1) as f64)).round() as usize)
}

fn large(c: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    let mut random = Random(7);
    let mut observations = 0;
    let fields: Vec<Field> = (0..DOCUMENTS)
        .map(|n| Field {
            id: field(n),
            name: format!("field-{n:04}"),
            grower: "Sorrel Creek".into(),
            region: "US-IA".into(),
            zone: "America/Chicago".into(),
            crop: "corn".into(),
            ..Field::default()
        })
        .collect();
    journal.put_fields(&fields, "person 1", at(0)).expect("fields");
    for (n, size) in sizes().enumerate() {
        visits(&journal, &document(n), size, &mut random);
        observations += size;
    }
    journal.snapshot(true).expect("snapshots");
    report(folder.path(), observations);
    let mut group = c.benchmark_group("2,000 documents");
    group.sample_size(20);
    group.bench_function("list of all fields, last visit and stage", |b| {
        b.iter(|| black_box((journal.fields().expect("fields"), journal.last_seen("leaf-stage").expect("a list"))));
    });
    // At its dearest: nearly every observation holds two measures that are held to each other.
    let holding = [("weed-count", vec![vec!["height", "density"]])];
    let cannot_be = |_: &str, values: &BTreeMap<String, Measured>| {
        values["height"].value == Value::Int(-1) || values["density"].value == Value::Int(-1)
    };
    group.bench_function("list of values that do not go together", |b| {
        b.iter(|| black_box(journal.settled_that(&holding, cannot_be).expect("keys")));
    });
    // As a new process does it.
    group.bench_function("list of all fields, with opening the journal", |b| {
        b.iter(|| {
            let journal = Journal::open(folder.path()).expect("opens");
            black_box((journal.fields().expect("fields"), journal.last_seen("leaf-stage").expect("a list")))
        });
    });
    group.finish();
    processes(folder.path());
}

/// Measures processes that record into a journal of 2,000 documents, in turn with some that do next to nothing.
fn processes(folder: &Path) {
    let Some(program) = std::env::var_os("LIGULE_PROGRAM") else {
        println!("whole processes: not measured, for LIGULE_PROGRAM does not name the program");
        return;
    };
    let (mut nothing, mut records) = (Vec::new(), Vec::new());
    for n in 0..100 {
        let field = format!("field-{:04}", n * 19);
        let record = ["record", "stand-count", &field, "--row", "30in", "--length", "17ft5in", "--plants", "31"];
        for (arguments, times) in [(&["--version"][..], &mut nothing), (&record[..], &mut records)] {
            let mut command = Command::new(&program);
            command.arg("--journal").arg(folder).args(arguments).stdout(Stdio::null());
            let start = Instant::now();
            assert!(command.status().expect("starts").success(), "{arguments:?}");
            times.push(start.elapsed());
        }
    }
    let (nothing, record) = (median(&mut nothing), median(&mut records));
    println!(
        "whole processes at {DOCUMENTS} documents, 100 each, median: `--version` {nothing:?}, `record` {record:?}"
    );
}

/// Tells what the tables take.
fn report(folder: &Path, observations: usize) {
    let conn = Connection::open(folder.join("journal.sqlite")).expect("opens");
    conn.query_row("pragma wal_checkpoint(truncate)", [], |_| Ok(())).expect("checkpoints");
    let each = |bytes: i64| bytes as f64 / observations as f64;
    let number = |sql: &str| conn.query_row(sql, [], |r| r.get::<_, i64>(0)).expect("a number");
    let snapshots =
        number("select sum(length(bytes)) from snapshot s join doc d on d.id = s.doc where d.feature like 'field:%'");
    let file = number("select page_count * page_size from pragma_page_count, pragma_page_size");
    let free = number("select freelist_count * page_size from pragma_freelist_count, pragma_page_size");
    println!(
        "{observations} observations: snapshots {:.1} B each, whole database {:.1} B each ({file} B, {free} of them free)",
        each(snapshots),
        each(file)
    );
    let sizes = conn
        .prepare("select name, sum(pgsize) from dbstat group by name order by 2 desc")
        .and_then(|mut q| q.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<Result<Vec<(String, i64)>, _>>());
    match sizes {
        Ok(sizes) => sizes.iter().for_each(|(name, bytes)| println!("  {name}: {:.1} B each", each(*bytes))),
        Err(error) => println!("  by table: {error}"),
    }
}

/// Documents that the observations of [`workload`] go to, a visit each in turn.
const FIELDS: usize = 8;

/// The `n`th observation of the workload by which representations were compared: kind, place, its accuracy, time, value,
/// unit, severity, on three of ten a note of 3 to 8 words; visits of [`VISIT`], a change an observation. Of its twelve
/// entries visit and person lie in the visit, as does the device for the source; `:version` comes on top. How values are
/// drawn is ours.
fn workload(n: usize) -> (DocKey, NewObservation, i64) {
    const WORDS: &str = "edge wet spot near tile line regrowth from below cupped leaves check again Friday few plants pale \
                         south end row gaps crust after rain old residue heavy tracks low corner feeding fresh holes";
    let words: Vec<&str> = WORDS.split_whitespace().collect();
    let mut random = Random(42 + n as u64 * 0x9e37_79b9_7f4a_7c15);
    random.below(2);
    let text = |text: &str| Measured { value: Value::Text(text.into()), entered: None };
    let mut values = BTreeMap::from([
        ("acc".to_owned(), int(25 + random.below(70) as i64)),
        ("val".to_owned(), int(random.below(1200) as i64)),
        ("unit".to_owned(), text(["1", "cm", "%", "m2"][random.below(4) as usize])),
        ("sev".to_owned(), int(random.below(6) as i64)),
    ]);
    if random.below(10) < 3 {
        let note: Vec<_> = (0..3 + random.below(6)).map(|_| words[random.below(words.len() as u64) as usize]).collect();
        values.insert("note".to_owned(), text(&note.join(" ")));
    }
    let began = (n / VISIT * 5_400) as i64;
    let second = began + (n % VISIT * 60) as i64 + random.below(40) as i64;
    let new = NewObservation {
        visit: visit("person 1", began as u64),
        kind: ["stand-count", "leaf-stage", "weed-count", "disease", "pest-count"][random.below(5) as usize].into(),
        version: 1,
        values,
        at: Some(at(second)),
        place: Some(Place {
            lon_e7: -936_000_000 + random.below(90_000) as i32,
            lat_e7: 420_000_000 + random.below(90_000) as i32,
        }),
        number: None,
    };
    (document(n / VISIT % FIELDS), new, second)
}

/// Names the journal that this process is to write one observation into, and which.
const ONE: &str = "LIGULE_BENCH_ONE";

fn record_one(folder: &Path, n: usize) {
    let (key, new, second) = workload(n);
    Journal::open(folder).and_then(|journal| journal.record(&key, Some("corn"), &[new], at(second))).expect("records");
}

/// How much an observation takes where one process wrote all of them, and where each was written by one of its own.
fn bytes() {
    const OBSERVATIONS: usize = 4_000;
    let program = std::env::current_exe().expect("a program");
    for apart in [false, true] {
        let folder = tempfile::tempdir().expect("a folder");
        let journal = start(folder.path(), 1);
        for n in 0..OBSERVATIONS {
            if apart {
                let status = Command::new(&program).env(ONE, folder.path()).arg(n.to_string()).status();
                assert!(status.expect("starts").success(), "observation {n}");
            } else {
                let (key, new, second) = workload(n);
                journal.record(&key, Some("corn"), &[new], at(second)).expect("records");
            }
            if n % 256 == 255 {
                journal.snapshot(false).expect("snapshots");
            }
        }
        journal.snapshot(true).expect("snapshots");
        println!(
            "{FIELDS} documents, a change an observation, {}:",
            if apart { "a process each" } else { "one process" }
        );
        report(folder.path(), OBSERVATIONS);
    }
}

fn main() {
    if let Some(folder) = std::env::var_os(ONE) {
        let n = std::env::args().nth(1).and_then(|n| n.parse().ok()).expect("a number");
        return record_one(Path::new(&folder), n);
    }
    let wanted: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    let mut criterion = Criterion::default().configure_from_args();
    let is_wanted = |part: &str| wanted.is_empty() || wanted.iter().any(|word| word.starts_with(part));
    if is_wanted("durable") {
        durable(&mut criterion);
    }
    if is_wanted("list") {
        large(&mut criterion);
    }
    if is_wanted("bytes") {
        bytes();
    }
    criterion.final_summary();
}
