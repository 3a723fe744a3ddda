use std::io::{self, Write};

use ligule_engine::catalogue::{self, Cell, Row, Table};
use ligule_engine::{EngineError, Result};
use serde_json::{Value, json};

use crate::args::{Format, Global, TableArgs};
use crate::listing::Listing;

/// Lists the built-in tables, or prints one with its sources.
pub(crate) fn run(global: &Global, args: &TableArgs) -> Result<()> {
    let tables = catalogue::tables();
    let mut out = io::stdout().lock();
    let Some(name) = args.name.as_ref().filter(|name| *name != "list") else {
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
    match global.format {
        Format::Text => for_people(table),
        Format::Csv => Ok(rows(table).write(Format::Csv, "", &mut out)?),
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &whole(table))?;
            Ok(writeln!(out)?)
        }
        Format::Ndjson => Ok(writeln!(out, "{}", whole(table))?),
    }
}

/// Title, where it holds, the rows with marks that the lines below explain.
fn for_people(table: &Table) -> Result<()> {
    say!("{}", table.title);
    if !table.holds.is_empty() {
        say!("{}", table.holds);
    }
    say!();
    let sources = table.sources();
    marked(table, &sources).write(Format::Text, "", &mut io::stdout().lock())?;
    say!();
    for (number, source) in sources.iter().enumerate() {
        say!("[{}] {source}", number + 1);
    }
    Ok(())
}

/// The entries of a row, unrounded.
fn cells(row: &Row) -> impl Iterator<Item = Value> {
    row.cells.iter().map(|cell| match cell {
        Cell::Number(number) => json!(number),
        Cell::Text(text) => json!(text),
        Cell::Blank => Value::Null,
    })
}

/// The whole table as one document: what it says of itself stands before its rows.
fn whole(table: &Table) -> Value {
    let rows = table.rows.iter().map(
        |row| json!({ "cells": cells(row).collect::<Vec<_>>(), "origin": row.origin.words(), "source": row.source }),
    );
    json!({
        "table": table.name,
        "title": table.title,
        "holds": table.holds,
        "columns": table.columns,
        "rows": rows.collect::<Vec<_>>(),
    })
}

/// Every number in full; beside each row how it came to us, its source and where the table holds, because rows get separated.
fn rows(table: &Table) -> Listing {
    let columns = table.columns.iter().cloned().chain(["origin".into(), "source".into(), "holds".into()]);
    let mut listing = Listing::new(columns);
    for row in &table.rows {
        let about = [json!(row.origin.words()), json!(row.source), json!(table.holds)];
        listing.row(cells(row).chain(about).collect());
    }
    listing
}

/// Numbers to the digits that are read; sources as marks that the lines below the table explain.
fn marked(table: &Table, sources: &[&str]) -> Listing {
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
