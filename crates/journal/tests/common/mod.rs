//! Made-up journals for tests.
#![allow(dead_code, reason = "each test binary uses some of these")]

use std::{collections::BTreeMap, path::Path};

use jiff::Timestamp;
use ligule_journal::{Identity, Journal};
use ligule_observation::{
    document::{NewObservation, Visit},
    ids::{CrewId, DeviceId, DocKey, Feature},
    outside::Limits,
    record::{Measured, Value},
    screen::ScreenRequest,
};

pub(crate) const FIELD: &str = "01J0000000000000000000FLD1";

pub(crate) fn at(seconds: i64) -> Timestamp {
    Timestamp::from_second(1_779_199_200 + seconds).expect("in range")
}

pub(crate) fn identity(n: u8) -> Identity {
    Identity { secret: [n; 32], device: DeviceId([n; 32]), person: format!("person {n}"), crew: CrewId([7; 16]) }
}

pub(crate) fn start(folder: &Path, n: u8) -> Journal {
    Journal::create(folder, identity(n)).expect("starts")
}

pub(crate) fn doc() -> DocKey {
    DocKey { crew: CrewId([7; 16]), feature: Feature::Field(FIELD.into()), season: 2026 }
}

pub(crate) fn visit(person: &str, n: u64) -> Visit {
    let who = person.bytes().fold(0u128, |sum, b| sum * 31 + u128::from(b));
    Visit {
        id: ulid::Ulid::from_parts(1_779_199_200_000 + n, who).to_string(),
        by: person.into(),
        at: at(i64::try_from(n).expect("small")),
        offset_minutes: -300,
        place: None,
    }
}

pub(crate) fn int(value: i64) -> Measured {
    Measured { value: Value::Int(value), entered: None }
}

pub(crate) fn count(visit: &Visit, plants: i64) -> NewObservation {
    NewObservation {
        visit: visit.clone(),
        kind: "stand-count".into(),
        version: 1,
        values: BTreeMap::from([("plants".to_owned(), int(plants)), ("row_width".to_owned(), int(30_000))]),
        at: None,
        place: None,
        number: None,
    }
}

/// Tries changes out in this process.
pub(crate) fn screen(request: &ScreenRequest) -> Result<(), String> {
    request.run().map(|_| ())
}

/// Brings everything that `from` has to `to`; returns how many changes were new.
pub(crate) fn bring(from: &Journal, to: &Journal) -> usize {
    let here: BTreeMap<_, _> = to.documents().expect("reads").into_iter().map(|d| (d.id, d.vector)).collect();
    let mut added = 0;
    for there in from.documents().expect("reads") {
        let vector = here.get(&there.id).cloned().unwrap_or_default();
        let chunks = from.changes_since(there.id, &vector).expect("reads");
        added += to.apply(&there.key, &chunks, &Limits::default(), at(100_000), &screen).expect("applies").added;
    }
    added
}
