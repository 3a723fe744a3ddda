use std::io;

use ligule_engine::{FieldChange, NewField, Result};
use serde_json::json;

use crate::args::{Field, Global};
use crate::listing::Listing;

/// Adds, corrects and lists fields.
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
                },
            )?;
            say!("recorded field {} ({}, {})", field.name, field.grower, field.region);
        }
        Field::List => {
            let mut listing = Listing::new(["field", "grower", "region", "zone", "crop", "area_ha", "station", "id"]);
            for field in engine.fields()? {
                listing.row(vec![
                    json!(field.name),
                    json!(field.grower),
                    json!(field.region),
                    json!(field.zone),
                    json!(field.crop),
                    json!(field.area_ha),
                    json!(field.station),
                    json!(field.id),
                ]);
            }
            listing.write(global.format, "no fields yet; add one with `ligule field add`", &mut io::stdout().lock())?;
        }
    }
    Ok(())
}
