//! Shows how long recording takes until it is on disk, and how large a journal grows.
//!
//! `cargo run -p ligule-journal --example latency -- 1000` (number of observations; a temporary folder is used).

use std::{
    collections::BTreeMap,
    time::{Duration, Instant},
};

use jiff::Timestamp;
use ligule_journal::{Identity, Journal};
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
        let visit = Visit {
            id: ulid::Ulid::from_parts(1_779_199_200_000, (n / 20) as u128).to_string(),
            by: "A. Scout".into(),
            at: now,
            offset_minutes: -300,
            place: None,
        };
        let plants = Measured { value: Value::Int(250 + n as i64 % 60), entered: None };
        let width = Measured { value: Value::Int(30_000), entered: Some("30in".into()) };
        let values = BTreeMap::from([("plants".to_owned(), plants), ("row_width".to_owned(), width)]);
        let new = NewObservation {
            visit,
            kind: "stand-count".into(),
            version: 1,
            values,
            at: None,
            place: None,
            number: None,
        };
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
    drop(journal);
    std::fs::remove_dir_all(&folder)?;
    std::fs::remove_dir_all(folder.with_extension("actors")).or_else(|e| match e.kind() {
        std::io::ErrorKind::NotFound => Ok(()),
        _ => Err(e),
    })?;
    Ok(())
}
