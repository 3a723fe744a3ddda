//! Makes the exemplar of a crew's settings, `schemas/exemplars/crew-settings.automerge`, from two devices of an invented crew.
//!
//! `cargo run -p ligule-observation --example settings_exemplar -- schemas/exemplars/crew-settings.automerge > schemas/exemplars/crew-settings.json`
//!
//! An exemplar is made once for each schema and then kept: `tests/exemplar.rs` reads it with every later build.

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, Writer},
    ids::{CrewId, DeviceId, DocKey, Feature},
    outside::apply_checked,
    settings::Settings,
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args().nth(1).ok_or("expected the file to write")?;
    let key = DocKey { crew: CrewId([0xc0; 16]), feature: Feature::Crew, season: 0 };
    let now: Timestamp = "2026-04-01T14:00:00Z".parse()?;
    let writer = |n: u8, person: &str| Writer { actor: [n; 16], device: DeviceId([n; 32]), person: person.into() };
    let set = |name: &str, value: &str| Settings::from([(name.to_owned(), value.to_owned())]);
    let mut a = FieldDocument::new(key.clone());
    a.set_writer(writer(1, "Ada"));
    a.set_settings(&set("units", "metric"), now)?;
    let mut b = FieldDocument::new(key);
    b.set_writer(writer(2, "Ben"));
    b.set_settings(&set("language", "es"), now)?;
    let give = |to: &FieldDocument, from: &mut FieldDocument| {
        let vector = to.clone().version_vector();
        apply_checked(to, &from.changes_since(&vector), &Default::default(), now).map(|a| a.document)
    };
    // Each has begun an entry of its own; what is set from now on goes into both, what is not known today too.
    a = give(&a, &mut b)?;
    a.set_settings(&set("calendar", "lunar"), now)?;
    std::fs::write(&file, a.save_verified()?)?;
    println!("{}", serde_json::to_string_pretty(&a.settings())?);
    Ok(())
}
