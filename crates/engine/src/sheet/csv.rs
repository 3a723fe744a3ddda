//! A sheet from CSV: comma, semicolon, tab or bar, found from the header or told by a first line `sep=;`; UTF-8, or Latin-1
//! where that is said.

use std::borrow::Cow;
use std::io::{BufReader, Read, Seek, SeekFrom};

use super::table::{Cell, Encoding, Gather, MOST_BYTES, Reading, Table, damaged};
use crate::error::{EngineError, Result};

/// How much of a file is looked at to find what separates its cells.
const LOOKED_AT: u64 = 64 << 10;

const FORMULA: &str = "it is a formula; save the sheet with values";

pub(super) fn read(mut file: std::fs::File, name: String, reading: &Reading, tell: &dyn Fn(&str)) -> Result<Table> {
    let failed = |error: std::io::Error| damaged(error);
    let mut start = Vec::new();
    (&mut file).take(LOOKED_AT).read_to_end(&mut start).map_err(failed)?;
    if start.starts_with(&[0xFF, 0xFE]) || start.starts_with(&[0xFE, 0xFF]) {
        return Err(EngineError::user("the file is in UTF-16", "save it as CSV in UTF-8"));
    }
    if start.contains(&0) {
        return Err(EngineError::user("the file is no text", "import CSV or XLSX"));
    }
    let mark = if start.starts_with("\u{feff}".as_bytes()) { 3 } else { 0 };
    // A first line that spreadsheet programs write for each other is none of the sheet.
    let told = told_separator(&start[mark..]);
    let (skipped, separator) = match told {
        Some((length, separator)) => (length, separator),
        None => (0, separator(&start[mark..], reading.header_row)),
    };
    file.seek(SeekFrom::Start((mark + skipped) as u64)).map_err(failed)?;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(Watched::new(BufReader::new(file.take(MOST_BYTES)), separator));
    let mut gather = Gather::new(name, String::new(), reading);
    let mut record = csv::ByteRecord::new();
    while reader.read_byte_record(&mut record).map_err(damaged)? {
        let line = record.position().map_or(0, csv::Position::line) + u64::from(told.is_some());
        if let Some(opened) = reader.get_ref().unclosed() {
            return Err(EngineError::user(
                format!(
                    "line {}: a quotation mark opens a cell, and none closes it before the file ends",
                    opened + u64::from(told.is_some())
                ),
                "close the cell with a second one, or write one that is meant (inches) as two of them within a cell in \
                 quotation marks; then import again",
            ));
        }
        let cells = record.iter().map(|bytes| cell(bytes, line, reading.encoding)).collect::<Result<_>>()?;
        gather.row(line, cells, true)?;
        if gather.rows() % 10_000 == 9_999 {
            tell(&format!("{} rows read", gather.rows() + 1));
        }
    }
    gather.finish()
}

fn cell(bytes: &[u8], line: u64, encoding: Option<Encoding>) -> Result<Cell> {
    let text = match (std::str::from_utf8(bytes), encoding) {
        (_, Some(Encoding::Latin1)) => encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0,
        (Ok(text), _) => Cow::Borrowed(text),
        (Err(_), _) => {
            let guess = encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0;
            let guess: String = guess.chars().take(40).collect();
            return Err(EngineError::user(
                format!("line {line}: the file is not in UTF-8; read as Latin-1 the cell says `{guess}`"),
                "if that is right, repeat with `--encoding latin-1`; else save the sheet as CSV in UTF-8",
            ));
        }
    };
    Ok(match text.trim_start() {
        formula if formula.len() > 1 && formula.starts_with('=') => Cell::Wrong(text.into_owned(), FORMULA),
        _ => Cell::Text(text.into_owned()),
    })
}

/// Takes a first line `sep=;` apart: how long it is, and the separator that it tells.
fn told_separator(start: &[u8]) -> Option<(usize, u8)> {
    let length = start.iter().position(|byte| *byte == b'\n')? + 1;
    let line = start[..length].trim_ascii_end();
    let line = line.strip_prefix(b"\"").and_then(|inner| inner.strip_suffix(b"\"")).unwrap_or(line);
    let (name, told) = line.split_at_checked(4)?;
    match told {
        [separator] if name.eq_ignore_ascii_case(b"sep=") => Some((length, *separator)),
        // A tab at the end of the line was cut off with the blanks.
        [] if name.eq_ignore_ascii_case(b"sep=") && start[..length].contains(&b'\t') => Some((length, b'\t')),
        _ => None,
    }
}

/// Watches the bytes of a sheet for a cell that is not closed: the reader of CSV takes the rest of the file for it.
struct Watched<R> {
    inner: R,
    separator: u8,
    at: At,
    line: u64,
    /// The line in which the cell began that is open.
    opened: u64,
    ended: bool,
}

/// Where in a row a byte stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum At {
    Start,
    Bare,
    Quoted,
    /// Behind a quotation mark within quotation marks: the end of the cell, or the first of two that mean one.
    Mark,
}

impl<R> Watched<R> {
    fn new(inner: R, separator: u8) -> Self {
        Self { inner, separator, at: At::Start, line: 1, opened: 0, ended: false }
    }

    /// Returns the line in which a cell began that was still open where the file ended.
    fn unclosed(&self) -> Option<u64> {
        (self.ended && self.at == At::Quoted).then_some(self.opened)
    }

    fn see(&mut self, byte: u8) {
        let ends = byte == self.separator || matches!(byte, b'\n' | b'\r');
        self.at = match (self.at, byte) {
            (At::Start, b'"') => {
                self.opened = self.line;
                At::Quoted
            }
            (At::Quoted, b'"') => At::Mark,
            (At::Mark, b'"') | (At::Quoted, _) => At::Quoted,
            _ if ends => At::Start,
            // Whatever follows a closed cell before the separator belongs to it.
            _ => At::Bare,
        };
        self.line += u64::from(byte == b'\n');
    }
}

impl<R: Read> Read for Watched<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let got = self.inner.read(buffer)?;
        self.ended |= got == 0 && !buffer.is_empty();
        buffer[..got].iter().for_each(|byte| self.see(*byte));
        Ok(got)
    }
}

/// Finds what separates the cells: of comma, semicolon, tab and bar the one that is most frequent in the header, outside
/// quotation marks.
fn separator(start: &[u8], header_row: Option<u64>) -> u8 {
    let skip = header_row.map_or(0, |row| usize::try_from(row.saturating_sub(1)).unwrap_or(0));
    let line = start.split(|b| *b == b'\n').skip(skip).find(|line| line.iter().any(|b| !b.is_ascii_whitespace()));
    let line = line.unwrap_or_default();
    let mut quoted = false;
    let mut seen = [(b',', 0), (b';', 0), (b'\t', 0), (b'|', 0)];
    for byte in line {
        quoted ^= *byte == b'"';
        if let Some((_, count)) = seen.iter_mut().find(|(separator, _)| separator == byte && !quoted) {
            *count += 1;
        }
    }
    // Of equals the first: a comma.
    seen.iter().rev().max_by_key(|(_, count)| *count).map_or(b',', |(separator, _)| *separator)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn the_separator_is_found_in_the_header() {
        assert_eq!(separator(b"field,date,plants\n1;2;3;4;5\n", None), b',');
        assert_eq!(separator(b"\n\"a,b,c\";date\n", None), b';');
        assert_eq!(separator(b"Counts, of May\nfield\tdate\n", Some(2)), b'\t');
        assert_eq!(separator(b"plants\n", None), b',');
        assert_eq!(separator(b"field|date|row width, in\n", None), b'|');
    }

    #[test]
    fn a_first_line_tells_the_separator() {
        assert_eq!(told_separator(b"sep=;\r\nfield;date\n"), Some((7, b';')));
        assert_eq!(told_separator(b"SEP=|\nfield|date\n"), Some((6, b'|')));
        assert_eq!(told_separator(b"\"sep=,\"\nfield,date\n"), Some((8, b',')));
        assert_eq!(told_separator(b"sep=\t\nfield\tdate\n"), Some((6, b'\t')));
        for other in ["sep=\n", "separator;x\n", "field;date\n", "sep=;x\n", ""] {
            assert_eq!(told_separator(other.as_bytes()), None, "{other:?}");
        }
    }

    fn records(text: &str) -> Vec<csv::StringRecord> {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
        reader.records().map(|record| record.expect("it is UTF-8")).collect()
    }

    proptest! {
        /// A row that comes behind the text is one to the reader exactly where no cell is open.
        #[test]
        fn the_reader_takes_what_follows_an_open_cell_for_it(text in "[\",x\n\r ]{0,24}") {
            let mut watched = Watched::new(text.as_bytes(), b',');
            std::io::copy(&mut watched, &mut std::io::sink()).expect("it is read");
            let last = records(&format!("{text}\n1,2\n")).pop();
            let apart = last.is_some_and(|record| record == vec!["1", "2"]);
            prop_assert_eq!(watched.unclosed().is_none(), apart);
        }
    }

    #[test]
    fn a_cell_that_is_not_closed_is_found() {
        let unclosed = |text: &str| {
            let mut watched = Watched::new(text.as_bytes(), b',');
            std::io::copy(&mut watched, &mut std::io::sink()).expect("it is read");
            watched.unclosed()
        };
        for sound in [
            "a,b\n1,2\n",
            "\"a\",\"b\"\n\"x\ny\",2",
            "a,6\" rows\n",
            "a,\"6\"\" rows\"\n",
            "\"a\"",
            "\"a\"x,2\n",
            "a,\"\"",
        ] {
            assert_eq!(unclosed(sound), None, "{sound:?}");
        }
        assert_eq!(unclosed("a,b\n1,\"two\n3,4\n"), Some(2));
        assert_eq!(unclosed("a,b\n1,\"6\"\" rows\n"), Some(2));
    }
}
