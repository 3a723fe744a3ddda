use std::io::{self, BufWriter, IsTerminal, Read, Write};

use ligule_engine::{OutputFormat, Result};
use serde_json::json;

use crate::args::{Format, Global, Query};
use crate::listing::Listing;

/// Asks the archive and the journal a question.
pub(crate) fn run(global: &Global, args: &Query) -> Result<()> {
    let place = super::archive::place(global)?;
    let engine = if args.archive_only {
        None
    } else {
        crate::open(global).map(Some).or_else(|error| fall_back(global, error))?
    };
    let runtime = super::sync::runtime()?;
    let session = runtime.block_on(ligule_engine::question(engine.as_ref(), &place))?;
    for note in session.notes() {
        eprintln!("note: {note}");
    }
    let mut out = BufWriter::new(io::stdout());
    if args.tables {
        let mut listing = Listing::new(["table", "meaning"]);
        for table in session.tables() {
            listing.row(vec![json!(table.name), json!(table.about)]);
        }
        listing.write(global.format, "no tables", &mut out)?;
    } else if let Some(table) = &args.describe {
        let mut listing = Listing::new(["column", "type", "unit", "meaning"]);
        for column in &session.describe(table)?.columns {
            let kind = column.data_type.to_string();
            listing.row(vec![json!(column.name), json!(kind), json!(column.unit), json!(column.meaning)]);
        }
        listing.write(global.format, "no columns", &mut out)?;
    } else {
        let mut sql = args.sql.clone().unwrap_or_default();
        if sql == "-" {
            sql.clear();
            io::stdin().lock().read_to_string(&mut sql)?;
        }
        let format = match global.format {
            Format::Text => OutputFormat::Table,
            Format::Csv => OutputFormat::Csv,
            Format::Json => OutputFormat::Json,
            Format::Ndjson => OutputFormat::NdJson,
        };
        runtime.block_on(session.answer(&sql, format, &mut out))?;
    }
    out.flush()?;
    Ok(())
}

/// Without a journal a named archive can still be asked.
fn fall_back(global: &Global, error: ligule_engine::EngineError) -> Result<Option<ligule_engine::Engine>> {
    if global.archive.is_some() {
        if io::stderr().is_terminal() {
            eprintln!("note: no journal on this device ({error}); the archive alone is asked");
        }
        return Ok(None);
    }
    Err(error)
}
