//! The pack's tables, read with errors that name file, line and column.

use crate::{RuleError, TableError, bindings::ligule::rules::types::CellTable};

/// The tables of a pack.
pub struct Tables(Vec<CellTable>);

/// One table.
pub struct Table<'a>(&'a CellTable);

/// One row of a table.
#[derive(Clone, Copy)]
pub struct Cells<'a> {
    table: &'a CellTable,
    row: usize,
}

impl Tables {
    pub(crate) fn new(tables: Vec<CellTable>) -> Self {
        Self(tables)
    }

    /// Returns the table of that name.
    pub fn table(&self, name: &str) -> Result<Table<'_>, RuleError> {
        self.0.iter().find(|t| t.name == name).map(Table).ok_or_else(|| {
            RuleError::BadTable(TableError {
                table: name.to_owned(),
                line: 1,
                column: String::new(),
                message: "the table is missing".to_owned(),
            })
        })
    }
}

impl<'a> Table<'a> {
    /// Returns its rows.
    pub fn rows(&self) -> impl Iterator<Item = Cells<'a>> + use<'a> {
        let table = self.0;
        (0..table.rows.len()).map(move |row| Cells { table, row })
    }
}

impl<'a> Cells<'a> {
    /// Returns a cell's text; `None` where it is blank.
    pub fn optional(&self, column: &str) -> Result<Option<&'a str>, RuleError> {
        let at = self.table.columns.iter().position(|c| c == column);
        let at = at.ok_or_else(|| {
            self.bad(column, format!("there is no such column; there are {}", self.table.columns.join(", ")))
        })?;
        Ok(self.table.rows[self.row].get(at).map(String::as_str).filter(|text| !text.is_empty()))
    }

    /// Returns a cell's text, which must not be blank.
    pub fn text(&self, column: &str) -> Result<&'a str, RuleError> {
        self.optional(column)?.ok_or_else(|| self.bad(column, "it is blank, and a text is needed"))
    }

    /// Returns a cell's number of at least zero; `None` where it is blank.
    pub fn number(&self, column: &str) -> Result<Option<f64>, RuleError> {
        let Some(text) = self.optional(column)? else { return Ok(None) };
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() && number >= 0.0 => Ok(Some(number)),
            _ => Err(self.bad(column, format!("expected a number of 0 or more, got `{text}`"))),
        }
    }

    /// Returns one of the words that a column knows.
    pub fn one_of<T: Copy>(&self, column: &str, known: &[(&str, T)]) -> Result<T, RuleError> {
        let text = self.text(column)?;
        known.iter().find(|(word, _)| *word == text).map(|(_, value)| *value).ok_or_else(|| {
            let words: Vec<&str> = known.iter().map(|(word, _)| *word).collect();
            self.bad(column, format!("expected one of {}, got `{text}`", words.join(", ")))
        })
    }

    /// Makes the error for a cell of this row.
    pub fn bad(&self, column: &str, message: impl Into<String>) -> RuleError {
        RuleError::BadTable(TableError {
            table: self.table.name.clone(),
            line: self.table.lines.get(self.row).copied().unwrap_or(0),
            column: column.to_owned(),
            message: message.into(),
        })
    }
}
