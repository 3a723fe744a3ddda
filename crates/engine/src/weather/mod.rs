//! Daily weather of a station, read from the files people have.
//!
//! [`read_file`] and [`read`] take NOAA's GHCN-Daily layouts and a plain CSV with units in its header, and give a
//! [`WeatherSeries`]: one entry a day, tenths of °C and tenths of mm, missing where the file has no good value.
//! Three rules hold for every format:
//!
//! - units are read off the format or the header, never guessed;
//! - a value that failed a quality check is missing, and told in the [`ReadReport`];
//! - a missing value stays missing: nothing is filled in.
//!
//! [`to_observations`] turns a series into observations of the kind `weather-day`, with the same keys on every
//! device.

mod access;
mod by_station;
mod decimal;
mod dly;
mod error;
mod gather;
mod observations;
mod plain;
mod series;

#[cfg(test)]
mod tests;

use std::{
    io::{BufRead, BufReader},
    path::Path,
};

pub use error::{BadLine, WeatherError};
pub use observations::{DayObservation, StationSeason, WEATHER_DAY, to_observations};
pub use series::{Check, Format, LeftOut, ReadReport, Warning, WeatherDay, WeatherSeries};

use gather::Gather;

/// Reads a weather file; the format is told from its first line when `format` is `None`.
///
/// # Errors
/// The file cannot be opened or read, or [`read`] refuses its content.
pub fn read_file(path: &Path, format: Option<Format>) -> Result<WeatherSeries, WeatherError> {
    let name = path.display().to_string();
    let file = std::fs::File::open(path).map_err(|error| WeatherError::Unreadable { name: name.clone(), error })?;
    read(BufReader::new(file), &name, format)
}

/// Reads daily weather; `name` stands in messages, and the format is told from the first line when `format` is `None`.
///
/// # Errors
/// - [`WeatherError::UnknownFormat`] when the first line fits no format, or fits one that does not tell its units;
/// - [`WeatherError::BadHeader`] when a column is missing or has no unit;
/// - [`WeatherError::BadLines`] with the first bad lines, what was expected there and what came. Nothing is kept then.
pub fn read(mut input: impl BufRead, name: &str, format: Option<Format>) -> Result<WeatherSeries, WeatherError> {
    let mut bytes = Vec::new();
    input.read_to_end(&mut bytes).map_err(|error| WeatherError::Unreadable { name: name.to_owned(), error })?;
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
    let format = match format {
        Some(format) => format,
        None => tell_format(text, name)?,
    };
    let mut gather = Gather::new(name, format);
    match format {
        Format::GhcnDly => dly::read(text, &mut gather),
        Format::GhcnByStation => by_station::read(text, &mut gather),
        Format::GhcnAccessTenths => access::read(text, name, &mut gather)?,
        Format::Plain => plain::read(text, name, &mut gather)?,
    }
    gather.finish()
}

/// Tells the format from the first line that is not blank.
fn tell_format(text: &[u8], name: &str) -> Result<Format, WeatherError> {
    let unknown = |got: &str, hint: &'static str| WeatherError::UnknownFormat {
        name: name.to_owned(),
        got: got.chars().take(60).collect(),
        hint,
    };
    let Some(line) = text.split(|b| *b == b'\n').find(|l| !l.trim_ascii().is_empty()) else {
        return Err(unknown("", "The file is empty."));
    };
    let line = String::from_utf8_lossy(line.trim_ascii_end());
    if dly::looks_like(&line) {
        return Ok(Format::GhcnDly);
    }
    let cells: Vec<String> = line.split(',').map(|c| c.trim().trim_matches('"').to_ascii_lowercase()).collect();
    if by_station::looks_like(&cells) {
        return Ok(Format::GhcnByStation);
    }
    if cells.iter().any(|c| c == "station") && cells.iter().any(|c| c == "tmax" || c == "tmin") {
        return Err(unknown(
            &line,
            "This layout (one row a day, `STATION`, `DATE`, `TMAX`, `TMAX_ATTRIBUTES`) is given out in tenths of °C, in °C and \
             in °F, and nothing in the file says which. If it is the bulk `access` file (tenths of °C), say so with \
             `--layout ghcn-access-tenths`; otherwise rename the columns to `date`, `tmin_f`, `tmax_f` (or `_c`) and `precip_in` \
             (or `_mm`).",
        ));
    }
    if cells.iter().any(|c| c == "date" || c == "day") {
        return Ok(Format::Plain);
    }
    Err(unknown(&line, "A plain file starts with a header such as `date,tmin_c,tmax_c,precip_mm`."))
}

/// Splits bytes into lines with their numbers (from 1), without CR and LF.
fn lines(text: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    text.split(|b| *b == b'\n')
        .enumerate()
        .map(|(i, line)| (i + 1, line.strip_suffix(b"\r").unwrap_or(line)))
        .filter(|(_, line)| !line.trim_ascii().is_empty())
}

/// Opens CSV with ragged rows let through, so that each is reported with its own line.
fn csv_reader(text: &[u8], headers: bool) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new().has_headers(headers).flexible(true).trim(csv::Trim::All).from_reader(text)
}

/// Hands every row that has as many cells as the header to `read`, with the number of its line; the others are reported.
fn each_row(
    reader: csv::Reader<&[u8]>,
    columns: usize,
    gather: &mut Gather,
    mut read: impl FnMut(usize, &csv::ByteRecord, &mut Gather),
) {
    for row in reader.into_byte_records() {
        gather.line();
        let row = match row {
            Ok(row) => row,
            Err(error) => {
                gather.bad(error.position().map_or(0, |p| p.line() as usize), "CSV", error.to_string());
                continue;
            }
        };
        let number = row.position().map_or(0, |p| p.line() as usize);
        if row.len() == columns {
            read(number, &row, gather);
        } else {
            gather.bad(number, format!("{columns} fields as in the header"), format!("{} fields", row.len()));
        }
    }
}

/// Returns a cell as text; one that is no UTF-8 becomes a mark that nobody takes for a value.
fn cell(row: &csv::ByteRecord, at: usize) -> &str {
    std::str::from_utf8(&row[at]).unwrap_or("\u{fffd}")
}
