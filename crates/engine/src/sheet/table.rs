//! A sheet as rows of cells, whichever file it came from.

use std::path::Path;

use jiff::civil::DateTime;

use crate::error::{EngineError, Fault, Result};
use crate::number::counted;

/// The most rows of one sheet, as many as a workbook's can have (ECMA-376): a file is read and checked whole before anything
/// is written.
pub(super) const MOST_ROWS: usize = 1_048_576;
/// The most columns of one sheet.
pub(super) const MOST_COLUMNS: usize = 500;
/// The most characters of one cell.
pub(super) const MOST_CELL: usize = 10_000;
/// The most bytes of one file, and of all text of one sheet.
pub(super) const MOST_BYTES: u64 = 64 << 20;

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Text or a number, as it stands there.
    Text(String),
    /// A date that the sheet itself calls one.
    Date(DateTime),
    /// Something that cannot be recorded: what stands there, and why not.
    Wrong(String, &'static str),
}

impl Cell {
    /// Returns what stands in the cell, without blanks around it.
    pub fn shown(&self) -> String {
        match self {
            Self::Text(text) | Self::Wrong(text, _) => text.trim().to_owned(),
            Self::Date(at) => super::dates::written(*at),
        }
    }

    /// Tells whether nothing stands in it.
    pub fn is_empty(&self) -> bool {
        matches!(self, Self::Text(text) if text.trim().is_empty())
    }
}

/// One row below the header.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its line in the file, or its number in the sheet, from 1.
    pub line: u64,
    /// Its cells; never fewer than the header has.
    pub cells: Vec<Cell>,
    /// What is wrong with the row as a whole.
    pub fault: Option<String>,
}

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The file's name, without its folder.
    pub name: String,
    /// The name of the sheet within the file; empty where a file is one sheet.
    pub sheet: String,
    /// The names of the columns, as they stand there.
    pub header: Vec<String>,
    /// The rows below the header that are not empty.
    pub rows: Vec<Row>,
    /// How many of them the workbook hides, by a filter or by hand.
    pub hidden: usize,
}

/// How bytes stand for letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without a mark at its start.
    Utf8,
    /// Latin-1 as spreadsheet programs write it (Windows code page 1252).
    Latin1,
}

/// How to read the file, where it does not tell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reading {
    /// The sheet of a workbook of several.
    pub sheet: Option<String>,
    /// The row that names the columns; the first that is not empty unless it is said.
    pub header_row: Option<u64>,
    /// How bytes stand for letters in a CSV file; UTF-8 unless it is said.
    pub encoding: Option<Encoding>,
}

impl Table {
    /// Reads a sheet from a file: CSV (comma, semicolon, tab or bar) or XLSX, told by its first bytes.
    ///
    /// *Errors:* a file that is neither, that is damaged, or that is larger than the limits of this module.
    pub fn read(file: &Path, reading: &Reading, tell: &dyn Fn(&str)) -> Result<Self> {
        let unreadable = |error: std::io::Error| {
            EngineError::user(format!("cannot read {}: {error}", file.display()), "name a CSV or XLSX file")
        };
        let mut open = std::fs::File::open(file).map_err(unreadable)?;
        let about = open.metadata().map_err(unreadable)?;
        if about.is_dir() {
            return Err(EngineError::user(format!("{} is a folder", file.display()), "name a CSV or XLSX file"));
        }
        if about.len() > MOST_BYTES {
            return Err(
                too_large(&format!("the file has {} MB, more than {}", about.len() >> 20, MOST_BYTES >> 20)).at(file)
            );
        }
        let mut start = [0; 8];
        let got = read_start(&mut open, &mut start).map_err(unreadable)?;
        let start = &start[..got];
        std::io::Seek::rewind(&mut open).map_err(unreadable)?;
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let named_workbook = file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"));
        let table = if got == 0 {
            Err(EngineError::user("the file is empty", "export the sheet anew, as .xlsx or as CSV (UTF-8)"))
        } else if start.starts_with(b"PK") {
            super::xlsx::read(open, name, reading, tell)
        } else if start.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
            Err(EngineError::user(
                "an old workbook (.xls), or one with a password, cannot be read",
                "save it as .xlsx without a password, or as CSV (UTF-8)",
            ))
        } else if named_workbook {
            Err(EngineError::user(
                "the file is named .xlsx and is no workbook by its content",
                "if it is CSV, name it .csv; else download or save it anew",
            ))
        } else {
            super::csv::read(open, name, reading, tell)
        };
        table.map_err(|error| error.at(file))
    }
}

fn read_start(file: &mut std::fs::File, start: &mut [u8]) -> std::io::Result<usize> {
    let mut got = 0;
    loop {
        match std::io::Read::read(file, &mut start[got..])? {
            0 => return Ok(got),
            more => got += more,
        }
    }
}

/// Says that a sheet is too large to be read at once.
pub(super) fn too_large(what: &str) -> EngineError {
    EngineError::user(what, "split it, by field or by month, and import the parts one after another")
}

/// Takes rows as they come, finds the header, and keeps to the limits.
pub(super) struct Gather {
    table: Table,
    wanted_header: Option<u64>,
    found: bool,
    bytes: u64,
}

impl Gather {
    pub(super) fn new(name: String, sheet: String, reading: &Reading) -> Self {
        let table = Table { name, sheet, header: Vec::new(), rows: Vec::new(), hidden: 0 };
        Self { table, wanted_header: reading.header_row, found: false, bytes: 0 }
    }

    /// Takes one row; `whole` says that a row of fewer cells than the header has lost some.
    pub(super) fn row(&mut self, line: u64, mut cells: Vec<Cell>, whole: bool) -> Result<()> {
        let empty = cells.iter().all(Cell::is_empty);
        if !self.found {
            if self.wanted_header.is_some_and(|wanted| line < wanted) || (empty && self.wanted_header != Some(line)) {
                return Ok(());
            }
            return self.header(line, &cells);
        }
        if empty {
            return Ok(());
        }
        if self.table.rows.len() == MOST_ROWS {
            return Err(too_large(&format!("the sheet has more than {MOST_ROWS} rows")));
        }
        let columns = self.table.header.len();
        let fault = if cells.iter().skip(columns).any(|cell| !cell.is_empty()) || (whole && cells.len() < columns) {
            let got = counted(cells.len(), "cell", "cells");
            Some(format!("the row has {got}, the header {columns}"))
        } else {
            None
        };
        cells.resize(columns, Cell::Text(String::new()));
        for cell in &mut cells {
            if let Cell::Text(text) | Cell::Wrong(text, _) = cell {
                self.bytes += text.len() as u64;
                if text.len() > MOST_CELL {
                    let short: String = text.chars().take(40).collect();
                    *cell = Cell::Wrong(short, "it is longer than 10,000 characters; is a quotation mark not closed?");
                }
            }
        }
        if self.bytes > MOST_BYTES {
            return Err(too_large(&format!("the sheet holds more than {} MB of text", MOST_BYTES >> 20)));
        }
        self.table.rows.push(Row { line, cells, fault });
        Ok(())
    }

    /// How many rows there are so far.
    pub(super) fn rows(&self) -> usize {
        self.table.rows.len()
    }

    /// Counts the last row among those that the workbook hides.
    pub(super) fn was_hidden(&mut self) {
        self.table.hidden += 1;
    }

    /// Returns the row that rather names the columns, where what was taken for them is a title: the first with more cells.
    pub(super) fn rather_header(&self) -> Option<u64> {
        self.table.rows.iter().find(|row| row.fault.is_some()).or(self.table.rows.first()).map(|row| row.line)
    }

    /// Tells whether the row that names the columns has come.
    pub(super) fn has_header(&self) -> bool {
        self.found
    }

    fn header(&mut self, line: u64, cells: &[Cell]) -> Result<()> {
        let mut names: Vec<String> = cells.iter().map(Cell::shown).collect();
        while names.last().is_some_and(String::is_empty) {
            names.pop();
        }
        if names.len() > MOST_COLUMNS {
            return Err(too_large(&format!("the sheet has {} columns, more than {MOST_COLUMNS}", names.len())));
        }
        if let Some(long) = names.iter().find(|name| name.chars().count() > 200) {
            let start: String = long.chars().take(40).collect();
            return Err(EngineError::user(
                format!(
                    "line {line}: expected names of columns, got one that starts `{start}` and has no end in sight"
                ),
                "is a quotation mark not closed, or the file no sheet? `--header-row N` tells where the names stand",
            ));
        }
        self.table.header = names;
        self.found = true;
        Ok(())
    }

    pub(super) fn finish(self) -> Result<Table> {
        if !self.found || self.table.header.is_empty() {
            return Err(EngineError::user(
                "the sheet has no row that names its columns",
                "the first row names them, such as `field,date,row width (in),length (ft),plants`",
            ));
        }
        let named = self.table.header.iter().filter(|name| !name.is_empty()).count();
        if let (1, Some(row)) = (named, self.table.rows.first().filter(|row| row.fault.is_some())) {
            return Err(EngineError::user(
                format!("`{}` names one column, and the rows below have more", self.table.header.concat()),
                format!("if it is a title, say where the columns are named, as in `--header-row {}`", row.line),
            ));
        }
        if self.table.rows.is_empty() {
            return Err(EngineError::user(
                "the sheet has no rows below its header",
                "is it the right sheet? `--sheet NAME` and `--header-row N` choose",
            ));
        }
        Ok(self.table)
    }
}

/// Says that the file is not what it should be.
pub(super) fn damaged(what: impl std::fmt::Display) -> EngineError {
    EngineError::new(
        Fault::User,
        format!("the file cannot be read: {what}"),
        "open it and save it anew, or as CSV (UTF-8)",
    )
}
