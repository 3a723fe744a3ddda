//! Makes the exemplar of a document, `schemas/exemplars/field-season.automerge`, from two devices' invented visits.
//!
//! `cargo run -p ligule-observation --example exemplar -- schemas/exemplars/field-season.automerge`
//!
//! An exemplar is made once for each schema and then kept: `tests/exemplar.rs` reads it with every later build.

use std::collections::BTreeMap;

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, NewObservation, Visit, Writer},
    ids::{CrewId, DeviceId, DocKey, Feature},
    outside::apply_checked,
    record::{Measured, Place, Value, Void},
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args().nth(1).ok_or("expected the file to write")?;
    let crew = CrewId([0xc0; 16]);
    let key = DocKey { crew, feature: Feature::Field("01J00000000000000000000001".into()), season: 2026 };
    let now: Timestamp = "2026-05-19T14:00:00Z".parse()?;
    let later = |minutes: i64| now + jiff::SignedDuration::from_mins(minutes);
    let writer = |n: u8, person: &str| Writer { actor: [n; 16], device: DeviceId([n; 32]), person: person.into() };
    let number =
        |value: i64, entered: Option<&str>| Measured { value: Value::Int(value), entered: entered.map(str::to_owned) };
    let text = |t: &str| Measured { value: Value::Text(t.into()), entered: None };
    let new = |visit: &Visit, kind: &str, values: &[(&str, Measured)]| NewObservation {
        visit: visit.clone(),
        kind: kind.into(),
        version: 1,
        values: values.iter().map(|(k, v)| ((*k).to_owned(), v.clone())).collect::<BTreeMap<_, _>>(),
        at: None,
        place: None,
        number: None,
    };
    let place = Some(Place { lon_e7: -936_123_456, lat_e7: 420_123_456 });
    let first =
        Visit { id: "01KS00000000000000000000A1".into(), by: "Ada".into(), at: now, offset_minutes: -300, place };
    let second = Visit { id: "01KS00000000000000000000B1".into(), by: "Ben".into(), at: later(30), ..first.clone() };
    let mut never = || unreachable!("each device opens its own visit");

    let mut a = FieldDocument::new(key.clone());
    a.set_writer(writer(1, "Ada"));
    a.set_crop("corn", now)?;
    let mut row = new(
        &first,
        "stand-count",
        &[
            ("row_width", number(30_000, Some("30in"))),
            ("length", number(174_167, Some("17ft 5in"))),
            ("plants", number(285, Some("28 1/2"))),
        ],
    );
    row.at = Some(later(7));
    let keys = a.append(&[row, new(&first, "leaf-stage", &[("collars", text("3 4 4 4 3"))])], later(8), &mut never)?;

    let mut b = FieldDocument::new(key);
    b.set_writer(writer(2, "Ben"));
    let theirs =
        b.append(&[new(&second, "note", &[("text", text("wet in the north corner"))])], later(31), &mut never)?;
    let give = |to: &FieldDocument, from: &mut FieldDocument| {
        let vector = to.clone().version_vector();
        apply_checked(to, &from.changes_since(&vector), &Default::default(), later(100)).map(|a| a.document)
    };
    b = give(&b, &mut a)?;
    a.amend(&keys[0], "plants", &number(290, None), later(40))?;
    b.amend(&keys[0], "plants", &number(280, Some("28")), later(41))?;
    a = give(&a, &mut b)?;
    a.void(
        &theirs[0],
        &Void { why: "written for the field beside".into(), by: "Ada".into(), at: later(50), also: Vec::new() },
    )?;
    std::fs::write(&file, a.save_verified()?)?;
    println!("{}", serde_json::to_string_pretty(&(a.records(None), a.conflicts()))?);
    Ok(())
}
