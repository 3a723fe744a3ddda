use std::io;

use ligule_engine::{NewField, Result};
use serde_json::json;

use crate::args::{Field, Global};
use crate::listing::Listing;

/// Adds and lists fields.
pub(crate) fn run(global: &Global, args: &Field) -> Result<()> {
    let mut engine = crate::open(global)?;
    match args {
        Field::Add(add) => {
            let field = engine.add_field(NewField {
                name: add.name.clone(),
                grower: add.grower.clone(),
                region: add.region.clone(),
                zone: add.zone.clone(),
                crop: add.crop.clone(),
                row: add.row.clone(),
                area: add.area.clone(),
                place: add.near.clone(),
                station: add.station.clone(),
            })?;
            println!("recorded field {} ({}, {})", field.name, field.grower, field.region);
        }
        Field::List => {
            let mut listing = Listing::new(&["field", "grower", "region", "zone", "crop", "area_ha", "station", "id"]);
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
