//! One way to write a listing: a table for people, CSV, JSON or NDJSON for programs.

use std::borrow::Cow;
use std::io::{self, Write};

use comfy_table::{CellAlignment, Table, presets};
use ligule_engine::Reading;
use serde_json::{Map, Value};

use crate::args::Format;

/// Rows under named columns.
pub(crate) struct Listing {
    columns: Vec<Cow<'static, str>>,
    rows: Vec<Vec<Value>>,
    /// In which language people read what the columns are called; programs read their names.
    reading: Reading,
}

impl Listing {
    pub(crate) fn new(columns: impl IntoIterator<Item = impl Into<Cow<'static, str>>>) -> Self {
        let columns = columns.into_iter().map(Into::into).collect();
        Self { columns, rows: Vec::new(), reading: Reading::default() }
    }

    /// Calls the columns what people call them who read so.
    #[must_use]
    pub(crate) fn read_by(mut self, reading: &Reading) -> Self {
        self.reading = reading.clone();
        self
    }

    /// Adds a row; it has a value for every column.
    pub(crate) fn row(&mut self, values: Vec<Value>) {
        debug_assert_eq!(values.len(), self.columns.len());
        self.rows.push(values);
    }

    /// One row, made of the members of an object.
    pub(crate) fn of(object: Value) -> Self {
        let members = if let Value::Object(members) = object { members } else { Map::new() };
        let (columns, row): (Vec<String>, Vec<Value>) = members.into_iter().unzip();
        let mut listing = Self::new(columns);
        listing.row(row);
        listing
    }

    /// Writes the listing; `empty` is what people read where there are no rows.
    pub(crate) fn write(&self, format: Format, empty: &str, out: &mut impl Write) -> io::Result<()> {
        match format {
            Format::Text if self.rows.is_empty() => writeln!(out, "{empty}"),
            Format::Text => writeln!(out, "{}", self.table()),
            Format::Csv => self.csv(out),
            Format::Json => {
                let all: Vec<Value> = self.objects().collect();
                serde_json::to_writer_pretty(&mut *out, &all)?;
                writeln!(out)
            }
            Format::Ndjson => self.objects().try_for_each(|object| writeln!(out, "{object}")),
        }
    }

    fn objects(&self) -> impl Iterator<Item = Value> + '_ {
        self.rows.iter().map(|row| {
            let pairs = self.columns.iter().zip(row).map(|(c, v)| (c.clone().into_owned(), v.clone()));
            Value::Object(pairs.collect::<Map<_, _>>())
        })
    }

    fn table(&self) -> Table {
        let mut table = Table::new();
        table
            .load_style(presets::NOTHING)
            .set_header(self.columns.iter().map(|c| self.reading.heading(c).replace('_', " ")));
        for row in &self.rows {
            table.add_row(row.iter().map(|value| printable(&plain(value))));
        }
        for (index, column) in table.column_iter_mut().enumerate() {
            let numbers = self.rows.iter().all(|row| row[index].is_number() || row[index].is_null());
            if numbers {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        table
    }

    fn csv(&self, out: &mut impl Write) -> io::Result<()> {
        // Into memory first: the writer would hide what kind of error the output met.
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(self.columns.iter().map(AsRef::as_ref))?;
        for row in &self.rows {
            writer.write_record(row.iter().map(plain))?;
        }
        let bytes = writer.into_inner().map_err(|error| io::Error::other(error.to_string()))?;
        out.write_all(&bytes)
    }
}

/// A value as people and CSV read it: nothing for null, no quotes around text.
fn plain(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

/// Makes text that came from anywhere fit for one line of a terminal: no control characters.
pub(crate) fn printable(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\t' => ' ',
            c if c.is_control() => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// Writes a length for people: `12.3 MB`, of a million bytes each; in kB below one.
pub(crate) fn megabytes(bytes: u64) -> String {
    match bytes {
        0 => "0 MB".to_owned(),
        1..1_000_000 => format!("{} kB", bytes.div_ceil(1000)),
        _ => format!("{}.{} MB", bytes / 1_000_000, bytes % 1_000_000 / 100_000),
    }
}

#[cfg(test)]
mod tests {
    use super::{megabytes, printable};

    #[test]
    fn lengths_are_told_in_millions_of_bytes() {
        let told = [0, 1, 999_999, 1_000_000, 12_345_678, 200_000_000].map(megabytes);
        assert_eq!(told, ["0 MB", "1 kB", "1000 kB", "1.0 MB", "12.3 MB", "200.0 MB"]);
    }

    #[test]
    fn a_text_cannot_steer_the_terminal() {
        assert_eq!(printable("a\u{1b}[31mb\nc\u{9b}d"), "a\u{fffd}[31mb c\u{fffd}d");
    }
}
