//! A built-in table as people look at it: columns, rows, and beside each row where it comes from.

use std::borrow::Cow;

/// How a number came to us.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Read on a page of the source.
    Page,
    /// Reckoned from a definition or from numbers read on a page.
    Derived,
    /// Common practice of the trade, without a source.
    Practice,
    /// Recalled and not checked against a page: to be verified.
    Memory,
}

impl Origin {
    /// Returns what a reader is told.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Page => "read on the page",
            Self::Derived => "reckoned from the source",
            Self::Practice => "common practice, no source",
            Self::Memory => "from memory, to be verified",
        }
    }
}

/// One entry of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// A number in the unit of its column.
    Number(f64),
    /// A word or a sentence.
    Text(Cow<'static, str>),
    /// Not printed in the source, or not known.
    Blank,
}

impl From<f64> for Cell {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<Option<f64>> for Cell {
    fn from(number: Option<f64>) -> Self {
        number.map_or(Self::Blank, Self::Number)
    }
}

impl From<&'static str> for Cell {
    fn from(text: &'static str) -> Self {
        Self::Text(Cow::Borrowed(text))
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(Cow::Owned(text))
    }
}

/// A row, and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// One entry for each column.
    pub cells: Vec<Cell>,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title; the definition for what is reckoned; what the practice is.
    pub source: &'static str,
}

/// A table or a list of constants.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Its name on the command line: `row-length`.
    pub name: &'static str,
    /// What it shows, in one line.
    pub title: &'static str,
    /// Where it holds, what is contested, what happens outside it; empty where the title says it all.
    pub holds: &'static str,
    /// The heading of each column, with its unit: `length, ft`.
    pub columns: Vec<Cow<'static, str>>,
    /// The rows, in the order in which they are read.
    pub rows: Vec<Row>,
}

impl Table {
    /// Returns a table without rows.
    pub(crate) fn new(
        name: &'static str,
        title: &'static str,
        holds: &'static str,
        columns: impl IntoIterator<Item = impl Into<Cow<'static, str>>>,
    ) -> Self {
        Self { name, title, holds, columns: columns.into_iter().map(Into::into).collect(), rows: Vec::new() }
    }

    /// Adds a row.
    #[must_use]
    pub(crate) fn row(mut self, cells: impl Into<Vec<Cell>>, origin: Origin, source: &'static str) -> Self {
        self.rows.push(Row { cells: cells.into(), origin, source });
        self
    }

    /// Returns the sources of the rows, each once, in the order in which they come.
    pub fn sources(&self) -> Vec<&'static str> {
        let mut sources = Vec::new();
        for row in &self.rows {
            if !sources.contains(&row.source) {
                sources.push(row.source);
            }
        }
        sources
    }
}
