use std::io;

use ligule_engine::catalogue::{self, Cell, Table};
use ligule_engine::{EngineError, Result};
use serde_json::{Value, json};

use crate::args::{Format, Global, TableArgs};
use crate::listing::Listing;

/// Lists the built-in tables, or prints one with its sources.
pub(crate) fn run(global: &Global, args: &TableArgs) -> Result<()> {
    let tables = catalogue::tables();
    let mut out = io::stdout().lock();
    let Some(name) = &args.name else {
        let mut listing = Listing::new(["name", "title", "rows"]);
        for table in &tables {
            listing.row(vec![json!(table.name), json!(table.title), json!(table.rows.len())]);
        }
        return Ok(listing.write(global.format, "no tables", &mut out)?);
    };
    let table = tables.iter().find(|table| table.name == name).ok_or_else(|| {
        let known = ligule_engine::known("tables", name, tables.iter().map(|table| table.name));
        EngineError::user(format!("there is no table `{name}`"), known)
    })?;
    if global.format != Format::Text {
        return Ok(for_programs(table).write(global.format, "", &mut out)?);
    }
    say!("{}", table.title);
    if !table.holds.is_empty() {
        say!("{}", table.holds);
    }
    say!();
    let sources = table.sources();
    for_people(table, &sources).write(Format::Text, "", &mut out)?;
    say!();
    for (number, source) in sources.iter().enumerate() {
        say!("[{}] {source}", number + 1);
    }
    Ok(())
}

/// Every number in full, and beside each row how it came to us and its source.
fn for_programs(table: &Table) -> Listing {
    let columns = table.columns.iter().cloned().chain(["origin".into(), "source".into()]);
    let mut listing = Listing::new(columns);
    for row in &table.rows {
        let cells = row.cells.iter().map(|cell| match cell {
            Cell::Number(number) => json!(number),
            Cell::Text(text) => json!(text),
            Cell::Blank => Value::Null,
        });
        listing.row(cells.chain([json!(row.origin.words()), json!(row.source)]).collect());
    }
    listing
}

/// Numbers to the digits that are read; sources as marks that the lines below the table explain.
fn for_people(table: &Table, sources: &[&str]) -> Listing {
    let mut listing = Listing::new(table.columns.iter().cloned().chain(["".into(), "how it came to us".into()]));
    for row in &table.rows {
        let cells = row.cells.iter().map(|cell| match cell {
            // Four decimals are more than any of the tables print.
            Cell::Number(number) => json!((number * 1e4).round() / 1e4),
            Cell::Text(text) => json!(text),
            Cell::Blank => Value::Null,
        });
        let mark = sources.iter().position(|source| *source == row.source).map(|at| format!("[{}]", at + 1));
        listing.row(cells.chain([json!(mark), json!(row.origin.words())]).collect());
    }
    listing
}
