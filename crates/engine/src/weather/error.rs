//! What can be wrong with a weather file.

use std::fmt;

use crate::number::counted;

/// Why a weather file was not read. Nothing of it is kept then.
#[derive(Debug, thiserror::Error)]
pub enum WeatherError {
    /// The file could not be opened or read.
    #[error("cannot read `{name}`: {error}")]
    Unreadable {
        /// The file.
        name: String,
        /// What the system said.
        error: std::io::Error,
    },
    /// The first line fits no layout that can be read.
    #[error(
        "`{name}`: expected GHCN-Daily `.dly`, GHCN-Daily CSV by station, or CSV with a header with units; the first line is \
         `{got}`. {hint}"
    )]
    UnknownFormat {
        /// The file.
        name: String,
        /// The start of the first line.
        got: String,
        /// What to do.
        hint: &'static str,
    },
    /// The header lacks a column or a unit.
    #[error(
        "`{name}`, header `{got}`: {problem}. Write for example `date,tmin_c,tmax_c,precip_mm` or `date,tmin_f,tmax_f,precip_in`"
    )]
    BadHeader {
        /// The file.
        name: String,
        /// The header as it came.
        got: String,
        /// What is wrong with it.
        problem: String,
    },
    /// Lines that cannot be read.
    #[error("`{name}`: {total} of {} cannot be read; nothing was imported{}", counted(*lines, "line", "lines"), list(first, *more))]
    BadLines {
        /// The file.
        name: String,
        /// The first things wrong with them; a line may have several.
        first: Vec<BadLine>,
        /// How many further things are wrong.
        more: usize,
        /// How many lines cannot be read.
        total: usize,
        /// How many lines the file has.
        lines: usize,
    },
    /// There is no day in it.
    #[error("`{name}`: expected at least one day with a temperature or precipitation, found none in {}", counted(*lines, "line", "lines"))]
    Empty {
        /// The file.
        name: String,
        /// How many lines it has.
        lines: usize,
    },
    /// Observations need the station's code, and the file names none.
    #[error("the file names no station: say which one it is from")]
    NoStation,
}

/// What is wrong with a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadLine {
    /// Its number, from 1.
    pub line: usize,
    /// What was expected.
    pub expected: String,
    /// What came.
    pub got: String,
}

impl fmt::Display for BadLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: expected {}, got `{}`", self.line, self.expected, self.got)
    }
}

fn list(lines: &[BadLine], more: usize) -> String {
    let mut text: String = lines.iter().map(|line| format!("\n  {line}")).collect();
    if more > 0 {
        text += &format!("\n  and {more} more");
    }
    text
}
