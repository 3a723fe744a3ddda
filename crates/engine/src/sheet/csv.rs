//! A sheet from CSV: comma, semicolon or tab, found from the header; UTF-8, or Latin-1 where that is said.

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
    let separator = separator(&start[mark..], reading.header_row);
    file.seek(SeekFrom::Start(mark as u64)).map_err(failed)?;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .from_reader(BufReader::new(file.take(MOST_BYTES)));
    let mut gather = Gather::new(name, String::new(), reading);
    let mut record = csv::ByteRecord::new();
    while reader.read_byte_record(&mut record).map_err(damaged)? {
        let line = record.position().map_or(0, csv::Position::line);
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

/// Finds what separates the cells: of comma, semicolon and tab the one that is most frequent in the header, outside
/// quotation marks.
fn separator(start: &[u8], header_row: Option<u64>) -> u8 {
    let skip = header_row.map_or(0, |row| usize::try_from(row.saturating_sub(1)).unwrap_or(0));
    let line = start.split(|b| *b == b'\n').skip(skip).find(|line| line.iter().any(|b| !b.is_ascii_whitespace()));
    let line = line.unwrap_or_default();
    let mut quoted = false;
    let mut seen = [(b',', 0), (b';', 0), (b'\t', 0)];
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
    use super::*;

    #[test]
    fn the_separator_is_found_in_the_header() {
        assert_eq!(separator(b"field,date,plants\n1;2;3;4;5\n", None), b',');
        assert_eq!(separator(b"\n\"a,b,c\";date\n", None), b';');
        assert_eq!(separator(b"Counts, of May\nfield\tdate\n", Some(2)), b'\t');
        assert_eq!(separator(b"plants\n", None), b',');
    }
}
