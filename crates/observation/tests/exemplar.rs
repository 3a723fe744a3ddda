//! Documents that an earlier build wrote are read as they were meant.

use std::path::Path;

use ligule_observation::{
    conflict::Conflict,
    document::FieldDocument,
    field::{Field, boundary::Boundary, merge::United, roster::Kept},
    ids::{CrewId, DocKey, Feature},
    record::Record,
    settings::Settings,
};

/// `examples/exemplar.rs` made the document, and told what it holds, once; neither file is made again for schema 1.
#[test]
fn the_exemplar_says_what_it_said_when_it_was_made() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/exemplars");
    let bytes = std::fs::read(folder.join("field-season.automerge")).expect("the exemplar is there");
    let told = std::fs::read_to_string(folder.join("field-season.json")).expect("what it holds is there");
    let told: (Vec<Record>, Vec<Conflict>) = serde_json::from_str(&told).expect("it is JSON");
    let key =
        DocKey { crew: CrewId([0xc0; 16]), feature: Feature::Field("01J00000000000000000000001".into()), season: 2026 };
    let document = FieldDocument::load(key, &bytes, &[]).expect("it loads");
    assert_eq!((document.records(None), document.conflicts()), told);
    assert_eq!((told.0.len(), told.1.len()), (3, 1));
}

/// `examples/crew_exemplar.rs` made the crew's document, and told what it holds, once.
#[test]
fn the_exemplar_of_a_crew_says_what_it_said_when_it_was_made() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/exemplars");
    let bytes = std::fs::read(folder.join("crew.automerge")).expect("the exemplar is there");
    let told = std::fs::read_to_string(folder.join("crew.json")).expect("what it holds is there");
    let told: (Vec<Field>, Vec<Kept>) = serde_json::from_str(&told).expect("it is JSON");
    let key = DocKey { crew: CrewId([0xc0; 16]), feature: Feature::Crew, season: 0 };
    let document = FieldDocument::load(key, &bytes, &[]).expect("it loads");
    assert_eq!((document.fields(), document.roster()), told);
    let united = United::of(&told.0);
    assert_eq!(united.members(&told.0[3].id), [&told.0[0].id, &told.0[3].id]);
    assert_eq!(united.home(&told.0[3].id), told.0[0].id);
    let boundary = Boundary::from_text(&told.0[0].boundary).expect("a boundary");
    assert_eq!(boundary.polygons().iter().map(Vec::len).collect::<Vec<_>>(), [2, 1]);
}

/// `examples/settings_exemplar.rs` made the settings, of two devices that each set one before they met, and told them, once.
#[test]
fn the_exemplar_of_settings_says_what_it_said_when_it_was_made() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/exemplars");
    let bytes = std::fs::read(folder.join("crew-settings.automerge")).expect("the exemplar is there");
    let told = std::fs::read_to_string(folder.join("crew-settings.json")).expect("what it holds is there");
    let told: Settings = serde_json::from_str(&told).expect("it is JSON");
    let key = DocKey { crew: CrewId([0xc0; 16]), feature: Feature::Crew, season: 0 };
    let document = FieldDocument::load(key, &bytes, &[]).expect("it loads");
    assert_eq!(document.settings(), told);
    assert_eq!(told.keys().map(String::as_str).collect::<Vec<_>>(), ["calendar", "language", "units"]);
    assert!(document.fields().is_empty(), "settings are no field");
}
