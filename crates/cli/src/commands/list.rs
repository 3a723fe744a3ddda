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
    let mut columns = vec!["observation", "field", "kind", "at", "by", "values", "state"];
    // People find the place in `history`; here it would make every line longer.
    let programs = global.format != Format::Text;
    if programs {
        columns.push("place");
    }
    let mut listing = Listing::new(columns).read_by(engine.reading());
    for line in lines {
        let values = match global.format {
            Format::Text => json!(line.values_read),
            Format::Csv => json!(line.values_text()),
            Format::Json | Format::Ndjson => json!(line.values),
        };
        let kind = if global.format == Format::Text { &line.kind_read } else { &line.kind };
        let mut row = vec![
            json!(line.observation),
            json!(line.field),
            json!(kind),
            json!(if global.format == Format::Text { &line.at_read } else { &line.at }),
            json!(line.by),
            values,
            json!(if global.format == Format::Text { &line.state_read } else { &line.state }),
        ];
        if programs {
            row.push(json!(line.place));
        }
        listing.row(row);
    }
    listing.write(global.format, engine.reading().word(Phrase::NoObservations), &mut io::stdout().lock())?;
    Ok(())
}

/// Shows everything an observation ever said.
pub(crate) fn history(global: &Global, args: &Observation) -> Result<()> {
    let engine = crate::open(global)?;
    let mut listing =
        Listing::new(["measure", "value", "entered", "by", "at", "device", "change"]).read_by(engine.reading());
    let local_time = engine.local_time(&args.observation)?;
    // Programs read the place in `list`.
    if let (Format::Text, Some(place)) = (global.format, engine.place_of(&args.observation)?) {
        let mut row = vec![json!(engine.reading().word(Phrase::PlaceWord)), json!(place)];
        row.resize(7, json!(""));
        listing.row(row);
    }
    for entry in engine.history(&args.observation)? {
        listing.row(vec![
            json!(if global.format == Format::Text { &entry.measure_read } else { &entry.measure }),
            json!(if global.format == Format::Text { &entry.shown } else { &entry.value }),
            json!(entry.entered),
            json!(entry.by),
            json!(match global.format {
                Format::Text => local_time(&entry.at.to_string()),
                _ => entry.at.to_string(),
            }),
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
