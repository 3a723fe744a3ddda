use std::io;

use ligule_engine::{ListFilter, Phrase, Result};
use serde_json::json;

use crate::args::{Format, Global, List, Observation};
use crate::listing::Listing;

/// Lists observations.
pub(crate) fn run(global: &Global, args: &List) -> Result<()> {
    let engine = crate::open(global)?;
    let lines = engine.list(&ListFilter {
        field: args.field.clone(),
        kind: args.kind.clone(),
        season: args.season,
        voided: args.voided,
    })?;
    if let Some(field) = &args.field {
        super::reentry::show(&engine, field, global.format)?;
    }
    let mut listing =
        Listing::new(["observation", "field", "kind", "at", "by", "values", "state"]).read_by(engine.reading());
    for line in lines {
        let values = match global.format {
            Format::Text => json!(line.values_read),
            Format::Csv => json!(line.values_text()),
            Format::Json | Format::Ndjson => json!(line.values),
        };
        let kind = if global.format == Format::Text { &line.kind_read } else { &line.kind };
        listing.row(vec![
            json!(line.observation),
            json!(line.field),
            json!(kind),
            json!(line.at),
            json!(line.by),
            values,
            json!(if global.format == Format::Text { &line.state_read } else { &line.state }),
        ]);
    }
    listing.write(global.format, engine.reading().word(Phrase::NoObservations), &mut io::stdout().lock())?;
    Ok(())
}

/// Shows everything an observation ever said.
pub(crate) fn history(global: &Global, args: &Observation) -> Result<()> {
    let engine = crate::open(global)?;
    let mut listing =
        Listing::new(["measure", "value", "entered", "by", "at", "device", "change"]).read_by(engine.reading());
    for entry in engine.history(&args.observation)? {
        listing.row(vec![
            json!(if global.format == Format::Text { &entry.measure_read } else { &entry.measure }),
            json!(if global.format == Format::Text { &entry.shown } else { &entry.value }),
            json!(entry.entered),
            json!(entry.by),
            json!(entry.at.to_string()),
            json!(short(&entry.device, global.format)),
            json!(short(&entry.change, global.format)),
        ]);
    }
    listing.write(global.format, engine.reading().word(Phrase::NoHistory), &mut io::stdout().lock())?;
    Ok(())
}

/// Shortens an identifier for people; programs get the whole.
pub(crate) fn short(id: &str, format: Format) -> &str {
    match format {
        Format::Text => id.get(..8).unwrap_or(id),
        _ => id,
    }
}
