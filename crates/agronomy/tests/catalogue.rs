//! Holds every table and worksheet to its form: whatever is listed works.

use std::collections::BTreeSet;

use ligule_agronomy::catalogue::{Cell, Need, Takes, Worksheet, tables, worksheets};
use ligule_units::Unit;

/// Returns the inputs of an example as `--name text` gives them.
fn typed(sheet: &Worksheet) -> Vec<(String, String)> {
    let words = shlex::split(sheet.example).unwrap_or_else(|| panic!("{}: quotes do not match", sheet.name));
    let mut pairs = Vec::new();
    let mut words = words.into_iter();
    while let Some(flag) = words.next() {
        let name = flag.strip_prefix("--").unwrap_or_else(|| panic!("{}: `{flag}` is no input", sheet.name));
        pairs.push((name.to_owned(), words.next().unwrap_or_else(|| panic!("{}: `{flag}` lacks a text", sheet.name))));
    }
    pairs
}

#[test]
fn every_worksheet_works_its_own_example() {
    let mut names = BTreeSet::new();
    for sheet in worksheets() {
        assert!(names.insert(sheet.name), "two worksheets are called {}", sheet.name);
        let typed = typed(sheet);
        let typed: Vec<_> = typed.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let answer = sheet.work(&typed).unwrap_or_else(|error| panic!("{} {}: {error}", sheet.name, sheet.example));
        assert!(!answer.results.is_empty() && !answer.steps.is_empty(), "{} shows nothing", sheet.name);
        for outcome in &answer.results {
            assert!(!outcome.to_string().contains("NaN"), "{}: {} is no number", sheet.name, outcome.name);
        }
        for required in sheet.inputs.iter().filter(|input| input.need == Need::Required) {
            let without: Vec<_> = typed.iter().copied().filter(|(name, _)| *name != required.name).collect();
            let error = sheet.work(&without).expect_err("an input is missing").to_string();
            assert!(error.contains(required.name), "{}: {error}", sheet.name);
        }
    }
}

#[test]
fn every_worksheet_says_what_it_asks_and_on_what_it_rests() {
    for sheet in worksheets() {
        assert!(!sheet.title.is_empty() && sheet.source.len() > 10, "{} lacks a title or a source", sheet.name);
        for input in sheet.inputs {
            assert!(!input.help.is_empty() && !input.help.ends_with('.'), "{}: {}", sheet.name, input.name);
            if let Takes::Quantity(code) = input.takes {
                assert!(Unit::by_ucum(code).is_some(), "{}: {} has no unit `{code}`", sheet.name, input.name);
            }
        }
    }
}

#[test]
fn every_row_of_every_table_has_all_its_entries_and_a_source() {
    let mut names = BTreeSet::new();
    for table in tables() {
        assert!(names.insert(table.name), "two tables are called {}", table.name);
        assert!(!table.title.is_empty() && !table.rows.is_empty(), "{} is empty", table.name);
        for row in &table.rows {
            assert_eq!(row.cells.len(), table.columns.len(), "{}: {row:?}", table.name);
            assert!(row.source.len() > 5, "{}: {row:?} has no source", table.name);
            assert!(row.cells.iter().all(|cell| !matches!(cell, Cell::Number(n) if !n.is_finite())), "{}", table.name);
        }
    }
}
