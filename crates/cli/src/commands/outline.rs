use std::io;

use ligule_engine::{Bring, Engine, EngineError, NewField, Reading, Result};
use serde_json::{Value, json};

use crate::args::{Format, Global};
use crate::field_args::{FieldBoundary, FieldExport, FieldImport};
use crate::listing::Listing;

/// Brings fields in from a file of outlines.
pub(super) fn import(global: &Global, engine: &mut Engine, args: &FieldImport) -> Result<()> {
    let how = Bring {
        name: args.name_from.clone(),
        grower_from: args.grower_from.clone(),
        common: NewField {
            grower: args.grower.clone(),
            region: args.region.clone(),
            zone: args.zone.clone(),
            crop: args.crop.clone(),
            row: args.row.clone(),
            ..NewField::default()
        },
        keep_good: args.keep_good,
    };
    let told = engine.bring_fields(&args.file, &how)?;
    let refused = told.iter().filter(|one| one.what == "refused").count();
    let text = global.format == Format::Text;
    let columns = ["outline", "field", "what", if text { "area" } else { "area_ha" }, "why"];
    let mut listing = Listing::new(columns).read_by(engine.reading());
    for one in &told {
        let area = area(engine.reading(), text, one.area_ha);
        listing.row(vec![json!(one.outline), json!(one.field), json!(one.what), area, json!(one.why)]);
    }
    listing.write(global.format, "", &mut io::stdout().lock())?;
    if refused > 0 && !args.keep_good {
        return Err(EngineError::user(
            format!("{refused} of {} outlines do not hold; nothing was recorded", told.len()),
            "mend them, or take the others with `--keep-good`",
        ));
    }
    Ok(())
}

/// An area in the units that people read; programs get hectares.
pub(super) fn area(reading: &Reading, text: bool, hectares: Option<f64>) -> Value {
    match hectares {
        Some(hectares) if text => json!(reading.hectares(hectares)),
        other => json!(other),
    }
}

/// Draws one field's boundary.
pub(super) fn boundary(engine: &mut Engine, args: &FieldBoundary) -> Result<()> {
    let drawn = engine.draw_boundary(&args.field, &args.file, args.outline.as_deref())?;
    let mut parts = vec![engine.reading().hectares(drawn.area_ha), format!("{} points", drawn.points)];
    if drawn.polygons > 1 {
        parts.push(format!("{} polygons", drawn.polygons));
    }
    if drawn.holes > 0 {
        parts.push(format!("{} {}", drawn.holes, if drawn.holes == 1 { "hole" } else { "holes" }));
    }
    say!("recorded the boundary of {}: {}", drawn.field, parts.join(", "));
    // Half a hectare in a hundred is what a fence row makes.
    if let Some(before) = drawn.area_before_ha.filter(|before| (before / drawn.area_ha - 1.0).abs() > 0.005) {
        say!("  its area was {} before", engine.reading().hectares(before));
    }
    if let Some(note) = drawn.note {
        eprintln!("note: {note}");
    }
    Ok(())
}

/// Writes the fields as GeoJSON.
pub(super) fn export(engine: &Engine, args: &FieldExport) -> Result<()> {
    let (drawn, bare) = engine.export_fields(&args.file, args.retired)?;
    say!("wrote {} fields to {}, {bare} of them without a boundary", drawn + bare, args.file.display());
    Ok(())
}
