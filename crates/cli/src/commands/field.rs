use std::io;

use ligule_engine::number::counted;
use ligule_engine::{Engine, FieldChange, FieldLine, NewField, Noun, Phrase, Result};
use serde_json::json;

use super::outline;
use crate::args::{Field, Format, Global};
use crate::field_args::{FieldDoubles, FieldMerge};
use crate::listing::Listing;

/// Adds, corrects, draws, lists, merges, splits and retires fields.
pub(crate) fn run(global: &Global, args: &Field) -> Result<()> {
    let mut engine = crate::open(global)?;
    match args {
        Field::Add(add) => {
            let field = engine.add_field(NewField {
                name: add.name.clone(),
                grower: add.grower.clone(),
                region: add.region.clone(),
                zone: add.zone.clone(),
                crop: add.entries.crop.clone(),
                row: add.entries.row.clone(),
                area: add.entries.area.clone(),
                place: add.entries.near.clone(),
                station: add.entries.station.clone(),
                soil: add.entries.soil.clone(),
            })?;
            say!("{}", recorded(&engine, &field));
        }
        Field::Amend(change) => {
            let field = engine.amend_field(
                &change.field,
                &FieldChange {
                    name: change.name.clone(),
                    grower: change.grower.clone(),
                    region: change.region.clone(),
                    zone: change.zone.clone(),
                    crop: change.entries.crop.clone(),
                    row: change.entries.row.clone(),
                    area: change.entries.area.clone(),
                    place: change.entries.near.clone(),
                    station: change.entries.station.clone(),
                    soil: change.entries.soil.clone(),
                },
            )?;
            say!("{}", recorded(&engine, &field));
        }
        Field::List(args) => list(global, &engine, args.retired)?,
        Field::Import(args) => outline::import(global, &mut engine, args)?,
        Field::Boundary(args) => outline::boundary(&mut engine, args)?,
        Field::Export(args) => outline::export(&engine, args)?,
        Field::Merge(args) if args.undo => {
            let parted = engine.part_field(&args.field)?;
            let field = &parted.field;
            say!("{} ({}) is a field of its own again", field.name, field.id);
            for part in &parted.still {
                say!("  {part} is one with it still");
            }
        }
        Field::Merge(args) => merge(&mut engine, args)?,
        Field::Split(args) => {
            let split = engine.split_field(&args.field, &args.into, args.boundaries.as_deref(), !args.no_planting)?;
            for part in &split.parts {
                let area = part.area_m2.map(|m2| format!(", {}", engine.reading().hectares(m2 as f64 / 10_000.0)));
                let area = area.unwrap_or_default();
                let region = format!("{}{area}", part.region);
                let with: [(&str, &dyn std::fmt::Display); 3] =
                    [("field", &part.name), ("grower", &part.grower), ("region", &region)];
                say!("{}", engine.reading().say(Phrase::FieldRecorded, &with));
            }
            let reading = engine.reading();
            say!("{}", reading.say(Phrase::FieldIsSplit, &[("field", &args.field)]));
            for key in &split.copied {
                say!("  {}", reading.say(Phrase::PlantingCopied, &[("key", key)]));
            }
            for key in &split.left {
                say!("  {}", reading.say(Phrase::PlantingWaits, &[("key", key)]));
            }
        }
        Field::Doubles(args) => doubles(global, &mut engine, args)?,
        Field::Retire(args) => {
            let field = engine.retire_field(&args.field, !args.undo)?;
            let done = if args.undo { Phrase::FieldTakenBack } else { Phrase::FieldNowRetired };
            say!("{}", engine.reading().say(done, &[("field", &field.name)]));
            told_twice(&engine, &field.id, &field.name)?;
        }
    }
    Ok(())
}

/// Says that a field was written.
fn recorded(engine: &Engine, field: &FieldLine) -> String {
    let with: [(&str, &dyn std::fmt::Display); 3] =
        [("field", &field.name), ("grower", &field.grower), ("region", &field.region)];
    engine.reading().say(Phrase::FieldRecorded, &with)
}

fn merge(engine: &mut Engine, args: &FieldMerge) -> Result<()> {
    let merged = engine.merge_fields(&args.field, args.other.as_deref())?;
    for part in &merged.parts {
        say!("{}", engine.reading().say(Phrase::FieldMerged, &[("part", part), ("field", &merged.keep)]));
    }
    if !merged.filled.is_empty() {
        say!("  {} has from it: {}", merged.keep, merged.filled.join(", "));
    }
    for differs in &merged.differ {
        say!("  they differed; what holds is {differs}");
    }
    told_twice(engine, &merged.keep, &merged.keep)
}

/// Says how many observations of a field are there twice.
fn told_twice(engine: &Engine, which: &str, name: &str) -> Result<()> {
    let doubles = engine.doubles(Some(which))?.len();
    if doubles > 0 {
        let reading = engine.reading();
        let twice = reading.counted(doubles, Noun::ObservationTwice);
        say!("  {}", reading.say(Phrase::TwiceHere, &[("observations", &twice), ("field", &name)]));
    }
    Ok(())
}

fn doubles(global: &Global, engine: &mut Engine, args: &FieldDoubles) -> Result<()> {
    let doubles = engine.doubles(args.field.as_deref())?;
    if args.void {
        let voided = engine.void_doubles(&doubles)?;
        let left = doubles.len() - voided;
        say!("recorded: {} void", counted(voided, "double is", "doubles are"));
        if left > 0 {
            say!(
                "  {} apart since one was corrected: `ligule field doubles` lists them",
                counted(left, "pair is", "pairs are")
            );
        }
        return Ok(());
    }
    let mut listing = Listing::new(["keep", "double", "field", "kind", "at", "by", "differ"]);
    for double in &doubles {
        listing.row(vec![
            json!(double.keep),
            json!(double.double),
            json!(double.field),
            json!(double.kind),
            json!(double.at.to_string()),
            json!(double.by),
            json!(double.differ.join(", ")),
        ]);
    }
    listing.write(global.format, "nothing is there twice", &mut io::stdout().lock())?;
    if global.format == Format::Text && !doubles.is_empty() {
        eprintln!(
            "note: `--void` marks those as void that say the same as the one to keep; of a pair that differs, `ligule void` the wrong one"
        );
    }
    Ok(())
}

fn list(global: &Global, engine: &Engine, retired: bool) -> Result<()> {
    let text = global.format == Format::Text;
    let area = if text { "area" } else { "area_ha" };
    let mut columns = vec!["field", "grower", "region", "zone", "crop", area, "station", "id"];
    // A boundary is nothing for a table.
    let drawn = matches!(global.format, Format::Json | Format::Ndjson);
    if drawn {
        columns.extend(["soil", "boundary"]);
    }
    let mut glances = engine.glances()?;
    // What keeps people out is shown of a retired field too: it is walked all the same.
    let closed = |field: &FieldLine| glances.get(&field.id).is_some_and(|glance| glance.reentry.is_some());
    let mut fields = engine.field_lines(true)?;
    fields.retain(|field| retired || !field.retired || closed(field));
    // Programs find the same columns always.
    let retired = retired || !text || fields.iter().any(|field| field.retired);
    if retired {
        columns.push("retired");
    }
    columns.extend(["last_visit", "stage", "reentry"]);
    let mut listing = Listing::new(columns).read_by(engine.reading());
    for field in fields {
        let mut row = vec![
            json!(field.name),
            json!(field.grower),
            json!(field.region),
            json!(field.zone),
            json!(if text { engine.crop_read(&field.crop) } else { field.crop.clone() }),
            super::outline::area(engine.reading(), text, field.area_ha),
            json!(field.station),
            json!(field.id),
        ];
        if drawn {
            row.extend([json!(field.soil), json!(field.boundary)]);
        }
        if retired {
            row.push(json!(field.retired));
        }
        let glance = glances.remove(&field.id).unwrap_or_default();
        row.extend([json!(glance.last_visit), json!(glance.stage), json!(glance.reentry)]);
        listing.row(row);
    }
    Ok(listing.write(global.format, engine.reading().word(Phrase::NoFields), &mut io::stdout().lock())?)
}
