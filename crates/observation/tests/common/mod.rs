//! Made-up visits and observations for tests.
#![allow(dead_code, reason = "each test binary uses some of these")]

use std::collections::BTreeMap;

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, NewObservation, Visit, Writer},
    ids::{CrewId, DeviceId, DocKey, Feature},
    record::{Measured, Value},
};

pub(crate) const T0: i64 = 1_779_199_200; // 2026-05-19T14:00:00Z

pub(crate) fn at(seconds: i64) -> Timestamp {
    Timestamp::from_second(T0 + seconds).expect("in range")
}

pub(crate) fn key() -> DocKey {
    DocKey { crew: CrewId([7; 16]), feature: Feature::Field("01J0000000000000000000FLD1".into()), season: 2026 }
}

pub(crate) fn writer(n: u8) -> Writer {
    Writer { actor: [n; 16], device: DeviceId([n; 32]), person: format!("person {n}") }
}

pub(crate) fn ulid(time: u64, n: u128) -> String {
    ulid::Ulid::from_parts(u64::try_from(T0).expect("positive") * 1000 + time, n).to_string()
}

pub(crate) fn visit(n: u8, number: u64) -> Visit {
    Visit {
        id: ulid(number * 1000, u128::from(n) << 64 | u128::from(number)),
        by: format!("person {n}"),
        at: at(i64::try_from(number).expect("small")),
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
        values: BTreeMap::from([
            ("row_width".to_owned(), Measured { value: Value::Int(30_000), entered: Some("30in".into()) }),
            ("plants".to_owned(), int(plants)),
        ]),
        at: None,
        place: None,
        number: None,
    }
}

pub(crate) fn no_fresh() -> String {
    panic!("no visit of another actor is continued here")
}

/// A document with one observation by writer 1, and its key.
pub(crate) fn one() -> (FieldDocument, String) {
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    let keys = document.append(&[count(&visit(1, 1), 290)], at(5), &mut no_fresh).expect("appends");
    (document, keys[0].clone())
}

/// Gives `to` everything that `from` has and it lacks.
pub(crate) fn pull(to: &mut FieldDocument, from: &mut FieldDocument) {
    let chunks = from.changes_since(&to.version_vector());
    let applied = ligule_observation::outside::apply_checked(to, &chunks, &Default::default(), at(100_000))
        .expect("honest changes are accepted");
    *to = applied.document;
}
