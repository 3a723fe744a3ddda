//! Shows how long recording takes until it is on disk, one by one and much in one transaction, and how large a journal grows.
//!
//! `cargo run -p ligule-journal --example latency -- 1000` (number of observations; a temporary folder is used).

use std::{
    collections::BTreeMap,
    time::{Duration, Instant},
};

use jiff::Timestamp;
use ligule_journal::{Batch, Identity, Journal};
use ligule_observation::{
    document::{NewObservation, Visit},
    ids::{CrewId, DeviceId, DocKey, Feature},
    record::{Measured, Value},
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let number: usize = std::env::args().nth(1).map_or(Ok(1000), |n| n.parse())?;
    let folder = std::env::temp_dir().join(format!("ligule-latency-{}", std::process::id()));
    let crew = CrewId([7; 16]);
    let identity = Identity { secret: [1; 32], device: DeviceId([1; 32]), person: "A. Scout".into(), crew };
    let journal = Journal::create(&folder, identity)?;
    let doc = DocKey { crew, feature: Feature::Field("01J0000000000000000000FLD1".into()), season: 2026 };
    let now: Timestamp = "2026-05-19T14:00:00Z".parse()?;
    let mut took = Vec::with_capacity(number);
    for n in 0..number {
        let new = observation(n, now);
        let start = Instant::now();
        journal.record(&doc, Some("corn"), &[new], now)?;
        took.push(start.elapsed());
    }
    took.sort();
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
    let micros = |d: Duration| d.as_micros();
    println!("{number} observations, one call each: p50 {} µs, p99 {} µs", micros(at(0.5)), micros(at(0.99)));
    let report = journal.snapshot(true)?;
    println!(
        "document: {:.1} B an observation as chunks, {:.1} B as a snapshot",
        report.before as f64 / number as f64,
        report.after as f64 / number as f64
    );
    drop(journal);
    let start = Instant::now();
    let journal = Journal::open(&folder)?;
    let records = journal.records(&ligule_journal::Filter::default())?.len();
    println!("opening and listing {records} records: {} µs", micros(start.elapsed()));
    let recordings = [
        (1, 1_000, 2),
        (1, 5_000, 2),
        (1, 10_000, 2),
        (1, 5_000, 4),
        (1, 5_000, 12),
        (50, 20, 2),
        (200, 25, 4),
        (500, 1, 2),
    ];
    for (season, (documents, each, values)) in (2027..).zip(recordings) {
        let batches: Vec<Batch> = (0..documents)
            .map(|n| Batch {
                document: DocKey { crew, feature: Feature::Field(format!("01J00000000000000000000{n:03}")), season },
                crop: Some("corn".into()),
                new: (0..each).map(|n| with_values(observation(n, now), values)).collect(),
            })
            .collect();
        let start = Instant::now();
        journal.record_all(&batches, now)?;
        let (all, took) = (documents * each, start.elapsed());
        println!(
            "{all} observations of {values} values on {documents} fields in one transaction: {} ms",
            took.as_millis()
        );
    }
    drop(journal);
    std::fs::remove_dir_all(&folder)?;
    std::fs::remove_dir_all(folder.with_extension("actors")).or_else(|e| match e.kind() {
        std::io::ErrorKind::NotFound => Ok(()),
        _ => Err(e),
    })?;
    Ok(())
}

fn observation(n: usize, at: Timestamp) -> NewObservation {
    let visit = Visit {
        id: ulid::Ulid::from_parts(1_779_199_200_000, (n / 20) as u128).to_string(),
        by: "A. Scout".into(),
        at,
        offset_minutes: -300,
        place: None,
    };
    let plants = Measured { value: Value::Int(250 + n as i64 % 60), entered: None };
    let width = Measured { value: Value::Int(30_000), entered: Some("30in".into()) };
    let values = BTreeMap::from([("plants".to_owned(), plants), ("row_width".to_owned(), width)]);
    NewObservation { visit, kind: "stand-count".into(), version: 1, values, at: None, place: None, number: None }
}

/// Gives an observation more values.
fn with_values(mut new: NewObservation, values: usize) -> NewObservation {
    for n in new.values.len()..values {
        new.values
            .insert(format!("measure_{n}"), Measured { value: Value::Int(n as i64), entered: Some(format!("{n}in")) });
    }
    new
}
