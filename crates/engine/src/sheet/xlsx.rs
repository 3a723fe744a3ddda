//! A sheet from a workbook (Office Open XML, ECMA-376 part 1): strings, numbers, dates, no formulas of its own.
//!
//! The sheet is read as a stream, so that its size is bounded by the limits on rows and text whatever the file says of
//! itself. What inflates beyond belief is refused.

use std::collections::HashMap;
use std::io::{self, BufRead, BufReader, Read};

use jiff::civil::{Date, DateTime};
use quick_xml::Reader;
use quick_xml::events::{BytesRef, BytesStart, Event};

use super::table::{Cell, Gather, MOST_COLUMNS, Reading, Table, damaged, too_large};
use crate::error::{EngineError, Result, known};

/// The most bytes to which a part of a workbook may inflate.
const MOST_INFLATED: u64 = 256 << 20;
/// The most bytes of all texts of a workbook.
const MOST_TEXT: usize = 64 << 20;

type Archive = zip::ZipArchive<BufReader<std::fs::File>>;

pub(super) fn read(file: std::fs::File, name: String, reading: &Reading, tell: &dyn Fn(&str)) -> Result<Table> {
    let mut archive = zip::ZipArchive::new(BufReader::new(file)).map_err(damaged)?;
    if archive.index_for_name("xl/workbook.xml").is_none() {
        return Err(EngineError::user("the file is no .xlsx workbook", "save the sheet as .xlsx or as CSV (UTF-8)"));
    }
    let book = workbook(&mut archive)?;
    let sheet = choose(&book.sheets, reading.sheet.as_deref())?;
    let targets = relations(&mut archive)?;
    let path = targets.get(&sheet.relation).ok_or_else(|| damaged(format!("the sheet `{}` is missing", sheet.name)))?;
    let texts = shared_texts(&mut archive)?;
    let styles = styles_of(&mut archive)?;
    let mut gather = Gather::new(name, sheet.name.clone(), reading);
    let part = part(&mut archive, path)?.ok_or_else(|| damaged(format!("`{path}` is missing")))?;
    let mut cells = Cells { texts: &texts, styles: &styles, epoch_1904: book.epoch_1904, row: 0, header: None };
    cells.read(part, &mut gather, tell)?;
    gather.finish()
}

/// A part of the archive, inflated as far as is believed.
struct Inflated<R> {
    inner: R,
    left: u64,
}

impl<R: Read> Read for Inflated<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let got = self.inner.read(buffer)?;
        self.left = self.left.checked_sub(got as u64).ok_or_else(|| {
            io::Error::other(format!("a part of it inflates to more than {} MB", MOST_INFLATED >> 20))
        })?;
        Ok(got)
    }
}

type Part<'a> = Reader<BufReader<Inflated<zip::read::ZipFile<'a, BufReader<std::fs::File>>>>>;

fn part<'a>(archive: &'a mut Archive, path: &str) -> Result<Option<Part<'a>>> {
    let Some(index) = archive.index_for_name(path) else { return Ok(None) };
    let inner = archive.by_index(index).map_err(damaged)?;
    Ok(Some(Reader::from_reader(BufReader::new(Inflated { inner, left: MOST_INFLATED }))))
}

/// Calls `each` with every event of a part, until it says that it has seen enough.
fn events<R: BufRead>(mut reader: Reader<R>, mut each: impl FnMut(&Event<'_>) -> Result<bool>) -> Result<()> {
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer).map_err(damaged)? {
            Event::Eof => return Ok(()),
            // Entities that a document type declares are not used by any sheet, and can be made to explode.
            Event::DocType(_) => return Err(damaged("a part of it declares a document type")),
            event => {
                if !each(&event)? {
                    return Ok(());
                }
            }
        }
    }
}

fn attribute(tag: &BytesStart<'_>, name: &str) -> Result<Option<String>> {
    for attribute in tag.attributes() {
        let attribute = attribute.map_err(damaged)?;
        if attribute.key.local_name().as_ref() == name.as_bytes() {
            return Ok(Some(attribute.unescape_value().map_err(damaged)?.into_owned()));
        }
    }
    Ok(None)
}

struct Sheet {
    name: String,
    relation: String,
    hidden: bool,
}

struct Book {
    sheets: Vec<Sheet>,
    epoch_1904: bool,
}

fn workbook(archive: &mut Archive) -> Result<Book> {
    let mut book = Book { sheets: Vec::new(), epoch_1904: false };
    let Some(part) = part(archive, "xl/workbook.xml")? else { return Ok(book) };
    events(part, |event| {
        if let Event::Start(tag) | Event::Empty(tag) = event {
            match tag.local_name().as_ref() {
                b"workbookPr" => {
                    book.epoch_1904 = matches!(attribute(tag, "date1904")?.as_deref(), Some("1" | "true"));
                }
                b"sheet" => book.sheets.push(Sheet {
                    name: attribute(tag, "name")?.unwrap_or_default(),
                    relation: attribute(tag, "id")?.unwrap_or_default(),
                    hidden: attribute(tag, "state")?.is_some_and(|state| state != "visible"),
                }),
                _ => {}
            }
        }
        Ok(true)
    })?;
    Ok(book)
}

fn choose<'a>(sheets: &'a [Sheet], wanted: Option<&str>) -> Result<&'a Sheet> {
    let names = || sheets.iter().map(|sheet| sheet.name.clone());
    if let Some(wanted) = wanted {
        return sheets.iter().find(|sheet| sheet.name == wanted).ok_or_else(|| {
            EngineError::user(format!("there is no sheet `{wanted}`"), known("sheets", wanted, names()))
        });
    }
    let mut visible = sheets.iter().filter(|sheet| !sheet.hidden);
    match (visible.next(), visible.next()) {
        (Some(only), None) => Ok(only),
        (None, _) => Err(damaged("the workbook has no sheet")),
        _ => {
            let names: Vec<String> = names().map(|name| format!("`{name}`")).collect();
            Err(EngineError::user(
                format!("the workbook has several sheets: {}", names.join(", ")),
                "choose one with `--sheet NAME`",
            ))
        }
    }
}

fn relations(archive: &mut Archive) -> Result<HashMap<String, String>> {
    let mut targets = HashMap::new();
    let Some(part) = part(archive, "xl/_rels/workbook.xml.rels")? else { return Ok(targets) };
    events(part, |event| {
        if let Event::Start(tag) | Event::Empty(tag) = event
            && tag.local_name().as_ref() == b"Relationship"
            && let (Some(id), Some(target)) = (attribute(tag, "Id")?, attribute(tag, "Target")?)
        {
            let path = target.strip_prefix('/').map_or_else(|| format!("xl/{target}"), str::to_owned);
            targets.insert(id, path);
        }
        Ok(true)
    })?;
    Ok(targets)
}

/// Puts together the text of the events between two tags.
#[derive(Default)]
struct Words(String);

impl Words {
    fn take(&mut self, event: &Event<'_>) -> Result<()> {
        match event {
            Event::Text(text) => self.0.push_str(&text.xml10_content().map_err(damaged)?),
            Event::CData(text) => self.0.push_str(&text.xml10_content().map_err(damaged)?),
            Event::GeneralRef(reference) => self.0.push(character(reference)?),
            _ => {}
        }
        Ok(())
    }
}

fn character(reference: &BytesRef<'_>) -> Result<char> {
    if let Some(character) = reference.resolve_char_ref().map_err(damaged)? {
        return Ok(character);
    }
    match reference.decode().map_err(damaged)?.as_ref() {
        "lt" => Ok('<'),
        "gt" => Ok('>'),
        "amp" => Ok('&'),
        "quot" => Ok('"'),
        "apos" => Ok('\''),
        other => Err(damaged(format!("it refers to `&{other};`, which nobody declares"))),
    }
}

fn shared_texts(archive: &mut Archive) -> Result<Vec<String>> {
    let mut texts: Vec<String> = Vec::new();
    let Some(part) = part(archive, "xl/sharedStrings.xml")? else { return Ok(texts) };
    let (mut words, mut inside, mut phonetic, mut bytes) = (Words::default(), false, false, 0);
    events(part, |event| {
        match event {
            Event::Start(tag) => match tag.local_name().as_ref() {
                b"si" => words.0.clear(),
                b"t" => inside = !phonetic,
                b"rPh" => phonetic = true,
                _ => {}
            },
            Event::Empty(tag) if tag.local_name().as_ref() == b"si" => texts.push(String::new()),
            Event::End(tag) => match tag.local_name().as_ref() {
                b"si" => {
                    // An empty text weighs something, too.
                    bytes += words.0.len() + 32;
                    if bytes > MOST_TEXT {
                        return Err(too_large(&format!("the workbook holds more than {} MB of text", MOST_TEXT >> 20)));
                    }
                    texts.push(std::mem::take(&mut words.0));
                }
                b"t" => inside = false,
                b"rPh" => phonetic = false,
                _ => {}
            },
            event if inside => words.take(event)?,
            _ => {}
        }
        Ok(true)
    })?;
    Ok(texts)
}

/// How a cell's style shows its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shown {
    Plainly,
    /// As a date or a time.
    Dated,
    /// A hundred times as large, with a percent sign.
    Percent,
}

/// Tells of every cell style how it shows a number.
fn styles_of(archive: &mut Archive) -> Result<Vec<Shown>> {
    let (mut own, mut styles, mut in_cells) = (HashMap::new(), Vec::new(), false);
    let Some(part) = part(archive, "xl/styles.xml")? else { return Ok(styles) };
    events(part, |event| {
        match event {
            Event::Start(tag) | Event::Empty(tag) => match tag.local_name().as_ref() {
                b"numFmt" => {
                    if let (Some(id), Some(code)) = (attribute(tag, "numFmtId")?, attribute(tag, "formatCode")?) {
                        own.insert(id, shown_by(&code));
                    }
                }
                b"cellXfs" => in_cells = true,
                b"xf" if in_cells && styles.len() < 1 << 16 => {
                    let id = attribute(tag, "numFmtId")?.unwrap_or_default();
                    // The formats with numbers of their own: ECMA-376 part 1, 18.8.30.
                    let built_in = match id.parse::<u32>() {
                        Ok(14..=22 | 27..=36 | 45..=47 | 50..=58) => Shown::Dated,
                        Ok(9 | 10) => Shown::Percent,
                        _ => Shown::Plainly,
                    };
                    styles.push(own.get(&id).copied().unwrap_or(built_in));
                }
                _ => {}
            },
            Event::End(tag) if tag.local_name().as_ref() == b"cellXfs" => in_cells = false,
            _ => {}
        }
        Ok(true)
    })?;
    Ok(styles)
}

/// Tells how a format shows a number: as a date or a time if it has a letter for one outside quotation marks and brackets,
/// in per cent if it has that sign there.
fn shown_by(code: &str) -> Shown {
    let (mut shown, mut quoted, mut bracket, mut escaped) = (Shown::Plainly, false, false, false);
    // What follows a semicolon is for negative numbers.
    for c in code.split(';').next().unwrap_or_default().chars() {
        match c {
            _ if escaped => escaped = false,
            '\\' | '_' | '*' => escaped = true,
            '"' => quoted = !quoted,
            '[' if !quoted => bracket = true,
            ']' if !quoted => bracket = false,
            'd' | 'D' | 'm' | 'M' | 'y' | 'Y' | 'h' | 'H' | 's' | 'S' if !quoted && !bracket => return Shown::Dated,
            '%' if !quoted && !bracket => shown = Shown::Percent,
            _ => {}
        }
    }
    shown
}

/// Reads the cells of a sheet.
struct Cells<'a> {
    texts: &'a [String],
    styles: &'a [Shown],
    epoch_1904: bool,
    row: u64,
    header: Option<u64>,
}

/// A cell whose end has not come yet.
#[derive(Default)]
struct Open {
    column: usize,
    kind: String,
    style: usize,
    formula: bool,
    value: Words,
}

impl Cells<'_> {
    fn read<R: BufRead>(&mut self, part: Reader<R>, gather: &mut Gather, tell: &dyn Fn(&str)) -> Result<()> {
        let mut row: Vec<Cell> = Vec::new();
        let mut open: Option<Open> = None;
        let (mut inside, mut phonetic, mut hidden) = (false, false, false);
        let mut last_row = 0;
        events(part, |event| {
            match event {
                Event::Start(tag) => match tag.local_name().as_ref() {
                    b"row" => {
                        self.row = number(tag)?.unwrap_or(self.row + 1);
                        hidden = matches!(attribute(tag, "hidden")?.as_deref(), Some("1" | "true"));
                    }
                    b"c" => open = Some(cell_of(tag, row.len())?),
                    b"f" => open.iter_mut().for_each(|cell| cell.formula = true),
                    b"rPh" => phonetic = true,
                    b"v" | b"t" => inside = !phonetic,
                    _ => {}
                },
                Event::Empty(tag) => match tag.local_name().as_ref() {
                    b"row" => self.row = number(tag)?.unwrap_or(self.row + 1),
                    b"f" => open.iter_mut().for_each(|cell| cell.formula = true),
                    // An empty cell counts where the next one does not say where it is.
                    b"c" => {
                        let column = cell_of(tag, row.len())?.column;
                        put(&mut row, column, Cell::Text(String::new()))?;
                    }
                    b"mergeCell" => {
                        let range = attribute(tag, "ref")?.unwrap_or_default();
                        merged(&range, self.header, last_row, gather)?;
                    }
                    _ => {}
                },
                Event::End(tag) => match tag.local_name().as_ref() {
                    b"rPh" => phonetic = false,
                    b"v" | b"t" => inside = false,
                    b"c" => {
                        if let Some(cell) = open.take() {
                            let column = cell.column;
                            put(&mut row, column, self.cell(cell))?;
                        }
                    }
                    b"row" => {
                        if self.row <= last_row {
                            return Err(damaged(format!("row {} comes after row {last_row}", self.row)));
                        }
                        last_row = self.row;
                        let before = gather.rows();
                        gather.row(self.row, std::mem::take(&mut row), false)?;
                        if hidden && gather.rows() > before {
                            gather.was_hidden();
                        }
                        if self.header.is_none() && gather.has_header() {
                            self.header = Some(self.row);
                        }
                        if gather.rows() % 10_000 == 9_999 {
                            tell(&format!("{} rows read", gather.rows() + 1));
                        }
                    }
                    _ => {}
                },
                event if inside => {
                    if let Some(cell) = &mut open {
                        cell.value.take(event)?;
                    }
                }
                _ => {}
            }
            Ok(true)
        })
    }

    fn cell(&self, cell: Open) -> Cell {
        let text = cell.value.0;
        match cell.kind.as_str() {
            "s" => match text.trim().parse::<usize>().ok().and_then(|index| self.texts.get(index)) {
                Some(text) => Cell::Text(text.clone()),
                None => Cell::Wrong(text, "it refers to a text that the workbook does not have"),
            },
            "e" => Cell::Wrong(text, "it is an error of a formula"),
            "b" => Cell::Text(if text.trim() == "1" { "true" } else { "false" }.to_owned()),
            "d" => text.trim().parse().map_or(Cell::Wrong(text, "it is no date"), Cell::Date),
            "str" | "inlineStr" => Cell::Text(text),
            _ if text.is_empty() && cell.formula => Cell::Wrong(
                String::new(),
                "it is a formula without a value; open the workbook and save it, or save values",
            ),
            _ if text.is_empty() => Cell::Text(text),
            _ => match text.trim().parse::<f64>() {
                Ok(value) if value.is_finite() => {
                    match self.styles.get(cell.style).copied().unwrap_or(Shown::Plainly) {
                        Shown::Dated => date(value, self.epoch_1904).unwrap_or(Cell::Wrong(text, "it is no date")),
                        Shown::Percent => Cell::Text(format!("{}%", as_shown(value * 100.0))),
                        Shown::Plainly => Cell::Text(as_shown(value)),
                    }
                }
                _ => Cell::Wrong(text, "it is no number"),
            },
        }
    }
}

fn number(tag: &BytesStart<'_>) -> Result<Option<u64>> {
    let Some(text) = attribute(tag, "r")? else { return Ok(None) };
    // Sheets have 1,048,576 rows.
    match text.parse::<u64>() {
        Ok(row @ 1..=1_048_576) => Ok(Some(row)),
        _ => Err(damaged(format!("`{text}` is no row"))),
    }
}

fn cell_of(tag: &BytesStart<'_>, next: usize) -> Result<Open> {
    let column = match attribute(tag, "r")? {
        None => next,
        Some(place) => column_and_row(&place).ok_or_else(|| damaged(format!("`{place}` is no cell")))?.0,
    };
    let style = attribute(tag, "s")?.and_then(|style| style.parse().ok()).unwrap_or(0);
    Ok(Open { column, kind: attribute(tag, "t")?.unwrap_or_default(), style, ..Open::default() })
}

/// Reads `B3` as column 1 (from 0) and row 3 (from 1).
fn column_and_row(place: &str) -> Option<(usize, u64)> {
    let letters = place.bytes().take_while(u8::is_ascii_uppercase).count();
    if !(1..=3).contains(&letters) {
        return None;
    }
    let column = place.bytes().take(letters).fold(0, |sum, letter| sum * 26 + usize::from(letter - b'A') + 1);
    Some((column - 1, place[letters..].parse().ok()?))
}

fn put(row: &mut Vec<Cell>, column: usize, cell: Cell) -> Result<()> {
    if column >= MOST_COLUMNS {
        if cell.is_empty() {
            return Ok(());
        }
        return Err(too_large(&format!("the sheet has more than {MOST_COLUMNS} columns")));
    }
    if column < row.len() {
        return Err(damaged("a row has two cells in one place"));
    }
    row.resize(column, Cell::Text(String::new()));
    row.push(cell);
    Ok(())
}

/// Refuses merged cells in the header or below: nobody can tell which rows their value is meant for.
fn merged(range: &str, header: Option<u64>, last_row: u64, gather: &Gather) -> Result<()> {
    let (from, to) = range.split_once(':').unwrap_or((range, range));
    let (Some((_, first)), Some((_, last))) = (column_and_row(from), column_and_row(to)) else {
        return Err(damaged(format!("`{range}` is no range of cells")));
    };
    match header {
        // A title over the sheet was taken for the names of its columns.
        Some(header) if last == header && gather.rather_header().is_some() => Err(EngineError::user(
            format!("the cells {range} are merged, in row {header}, which is taken for the one that names the columns"),
            format!(
                "if they are a title, say in which row the columns are named, as in `--header-row {}`; else unmerge them",
                gather.rather_header().unwrap_or(header + 1)
            ),
        )),
        Some(header) if last >= header && first <= last_row => Err(EngineError::user(
            format!("the cells {range} are merged, and nobody can tell which rows their value is meant for"),
            "unmerge them and write the value into every row that it is meant for",
        )),
        _ => Ok(()),
    }
}

/// Writes a number as the sheet shows it in full: with 15 digits, more than which a spreadsheet does not keep.
fn as_shown(value: f64) -> String {
    format!("{value:.14e}").parse::<f64>().map_or_else(|_| value.to_string(), |rounded| rounded.to_string())
}

/// Reads the number of a date: days since the end of 1899, or since the start of 1904; a part of a day is a time.
///
/// *Source:* ECMA-376 part 1, 18.17.4. In the first system day 60 is 29 February 1900, which never was; so earlier days
/// are refused.
fn date(serial: f64, epoch_1904: bool) -> Option<Cell> {
    let seconds = (serial * 86_400.0).round();
    if (0.0..86_400.0).contains(&seconds) {
        return Some(Cell::Text(super::dates::clock(DateTime::default(), seconds as i64)?));
    }
    let epoch = if epoch_1904 { Date::constant(1904, 1, 1) } else { Date::constant(1899, 12, 30) };
    if !(0.0..1e12).contains(&seconds) || (!epoch_1904 && serial < 61.0) {
        return None;
    }
    epoch
        .to_datetime(jiff::civil::Time::midnight())
        .checked_add(jiff::SignedDuration::from_secs(seconds as i64))
        .ok()
        .map(Cell::Date)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_of_dates_are_told_from_those_of_numbers() {
        for code in ["yyyy-mm-dd", "d/m/yy h:mm", "[$-409]mmmm d, yyyy;@", "h:mm AM/PM", "dd\\-mm"] {
            assert_eq!(shown_by(code), Shown::Dated, "{code}");
        }
        for code in ["General", "0.00", "#,##0", "0\" days\"", "[Red]0.0", "# ?/?", "0.0_m", "0\\d"] {
            assert_eq!(shown_by(code), Shown::Plainly, "{code}");
        }
        for code in ["0%", "0.0%", "#,##0.00 %;[Red]-0%"] {
            assert_eq!(shown_by(code), Shown::Percent, "{code}");
        }
        assert_eq!(shown_by("0\"% of plants\""), Shown::Plainly);
    }

    #[test]
    fn numbers_of_days_are_dates() {
        // 39448 is the first of January 2008: Microsoft's documentation of the function DATE; openpyxl agrees, also on the
        // system of 1904.
        let at = |serial, epoch| match date(serial, epoch) {
            Some(Cell::Date(at)) => at.to_string(),
            other => format!("{other:?}"),
        };
        assert_eq!(at(39448.0, false), "2008-01-01T00:00:00");
        assert_eq!(at(39448.0 - 1462.0, true), "2008-01-01T00:00:00");
        assert_eq!(at(39_448.319_444_444_445, false), "2008-01-01T07:40:00");
        assert_eq!(date(0.319_444_444_444_444, false), Some(Cell::Text("07:40".into())));
        for none in [-1.0, 59.0, 1e11, f64::MAX] {
            assert_eq!(date(none, false), None, "{none}");
        }
    }

    #[test]
    fn places_are_letters_and_a_number() {
        assert_eq!(column_and_row("A1"), Some((0, 1)));
        assert_eq!(column_and_row("AB12"), Some((27, 12)));
        for wrong in ["", "1", "A", "a1", "ABCD1", "A1x", "A-1"] {
            assert_eq!(column_and_row(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn numbers_are_written_as_the_sheet_shows_them() {
        assert_eq!(as_shown(0.1 + 0.2), "0.3");
        assert_eq!(as_shown(31.0), "31");
        assert_eq!(as_shown(17.416_666_666_666_668), "17.4166666666667");
    }
}
