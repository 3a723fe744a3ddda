use std::io;

use ligule_engine::{Engine, FieldChange, NewField, Result};
use serde_json::json;

use super::outline;
use crate::args::{Field, Format, Global};
use crate::field_args::FieldMerge;
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
            say!("recorded field {} ({}, {})", field.name, field.grower, field.region);
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
            say!("recorded field {} ({}, {})", field.name, field.grower, field.region);
        }
        Field::List(args) => list(global, &engine, args.retired)?,
        Field::Import(args) => outline::import(global, &mut engine, args)?,
        Field::Boundary(args) => outline::boundary(&mut engine, args)?,
        Field::Export(args) => outline::export(&engine, args)?,
        Field::Merge(args) if args.undo => {
            let field = engine.part_field(&args.field)?;
            say!("{} ({}) is a field of its own again", field.name, field.id);
        }
        Field::Merge(args) => merge(&mut engine, args)?,
        Field::Split(args) => {
            let parts = engine.split_field(&args.field, &args.into, args.boundaries.as_deref())?;
            for part in parts {
                let area = part.area_m2.map_or(String::new(), |m2| format!(", {:.2} ha", m2 as f64 / 10_000.0));
                say!("recorded field {} ({}, {}{area})", part.name, part.grower, part.region);
            }
            say!("retired field {}; its records stay with it", args.field);
        }
        Field::Retire(args) => {
            let field = engine.retire_field(&args.field, !args.undo)?;
            say!("{} field {}", if args.undo { "took back" } else { "retired" }, field.name);
        }
    }
    Ok(())
}

fn merge(engine: &mut Engine, args: &FieldMerge) -> Result<()> {
    let merged = engine.merge_fields(&args.field, args.other.as_deref())?;
    for part in &merged.parts {
        say!("merged {part} into {}", merged.keep);
    }
    if !merged.filled.is_empty() {
        say!("  {} has from it: {}", merged.keep, merged.filled.join(", "));
    }
    for differs in &merged.differ {
        say!("  they differed; what holds is {differs}");
    }
    Ok(())
}

fn list(global: &Global, engine: &Engine, retired: bool) -> Result<()> {
    let mut columns = vec!["field", "grower", "region", "zone", "crop", "area_ha", "station", "id"];
    // A boundary is nothing for a table.
    let drawn = matches!(global.format, Format::Json | Format::Ndjson);
    if drawn {
        columns.extend(["soil", "boundary"]);
    }
    if retired {
        columns.push("retired");
    }
    columns.extend(["last_visit", "stage", "reentry"]);
    let mut glances = engine.glances()?;
    let mut listing = Listing::new(columns);
    for field in engine.field_lines(retired)? {
        let mut row = vec![
            json!(field.name),
            json!(field.grower),
            json!(field.region),
            json!(field.zone),
            json!(field.crop),
            json!(field.area_ha),
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
    Ok(listing.write(global.format, "no fields yet; add one with `ligule field add`", &mut io::stdout().lock())?)
}
