//! Makes the exemplar of a crew's own document, `schemas/exemplars/crew.automerge`, from two devices of an invented crew.
//!
//! `cargo run -p ligule-observation --example crew_exemplar -- schemas/exemplars/crew.automerge > schemas/exemplars/crew.json`
//!
//! An exemplar is made once for each schema and then kept: `tests/exemplar.rs` reads it with every later build.

use std::collections::BTreeMap;

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, Writer},
    field::{
        Field,
        boundary::Boundary,
        roster::{Kept, Sort},
    },
    ids::{CrewId, DeviceId, DocKey, Feature},
    outside::apply_checked,
    record::Value,
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args().nth(1).ok_or("expected the file to write")?;
    let key = DocKey { crew: CrewId([0xc0; 16]), feature: Feature::Crew, season: 0 };
    let now: Timestamp = "2026-04-01T14:00:00Z".parse()?;
    let writer = |n: u8, person: &str| Writer { actor: [n; 16], device: DeviceId([n; 32]), person: person.into() };
    let field = |n: u8, name: &str| Field {
        id: format!("01J0000000000000000000000{n}"),
        name: name.to_owned(),
        grower: "Sorrel Creek".into(),
        region: "US-IA".into(),
        zone: "America/Chicago".into(),
        crop: "corn".into(),
        row_width_mil: Some(30_000),
        ..Field::default()
    };
    let box_of = |west: f64, south: f64, side: f64| {
        vec![(west, south), (west + side, south), (west + side, south + side), (west, south + side)]
    };
    let boundary = Boundary::new(&[
        vec![box_of(-93.62, 42.03, 0.004), box_of(-93.619, 42.031, 0.0005)],
        vec![box_of(-93.615, 42.03, 0.002)],
    ])?;

    let mut a = FieldDocument::new(key.clone());
    a.set_writer(writer(1, "Ada"));
    let whole = Field { boundary: boundary.to_text(), soil: "creek bottom".into(), ..field(1, "north-40") };
    a.put_field(&whole, now)?;
    a.put_field(&Field { retired: true, ..field(2, "home") }, now)?;
    a.put_field(&Field { split_from: field(2, "").id, ..field(3, "home-e") }, now)?;
    let text = |text: &str| Value::Text(text.to_owned());
    let kept = |sort, name: &str, facts: &[(&str, Value)]| Kept {
        sort,
        name: name.to_owned(),
        facts: facts.iter().map(|(name, value)| ((*name).to_owned(), value.clone())).collect::<BTreeMap<_, _>>(),
        retired: false,
    };
    a.keep(&kept(Sort::Grower, "Sorrel Creek", &[]), now)?;
    a.keep(&kept(Sort::Planter, "sixteen-row", &[("row_units", Value::Int(16))]), now)?;
    let bottom = [("map_unit", text("133A")), ("texture", text("silty-clay-loam"))];
    a.keep(&kept(Sort::Soil, "creek bottom", &bottom), now)?;

    let mut b = FieldDocument::new(key);
    b.set_writer(writer(2, "Ben"));
    b.put_field(&field(4, "north-40"), now)?;
    b.keep(&kept(Sort::Planter, "sixteen-row", &[("row_width_mil", Value::Int(30_000))]), now)?;
    let give = |to: &FieldDocument, from: &mut FieldDocument| {
        let vector = to.clone().version_vector();
        apply_checked(to, &from.changes_since(&vector), &Default::default(), now).map(|a| a.document)
    };
    b = give(&b, &mut a)?;
    a = give(&a, &mut b)?;
    // Both find the twin, and each merges the other's way.
    a.merge_field(&field(4, "").id, &field(1, "").id, now)?;
    b.merge_field(&field(1, "").id, &field(4, "").id, now)?;
    a = give(&a, &mut b)?;
    std::fs::write(&file, a.save_verified()?)?;
    println!("{}", serde_json::to_string_pretty(&(a.fields(), a.roster()))?);
    Ok(())
}
