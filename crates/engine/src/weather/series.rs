//! What reading a weather file gives.

use std::fmt;

use jiff::civil::Date;
use serde::Serialize;

use crate::number::counted;

/// The layouts that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Format {
    /// NOAA GHCN-Daily, fixed width, a line for each station, month and element (`.dly`).
    GhcnDly,
    /// NOAA GHCN-Daily, CSV without header, a row for each station, day and element.
    GhcnByStation,
    /// NOAA GHCN-Daily, CSV with header, a row a day, in tenths of °C and tenths of mm as the bulk `access` files are.
    /// Never assumed: the same layout is also given out in °C and °F without a mark.
    GhcnAccessTenths,
    /// CSV with the columns `date`, `tmin`, `tmax` and perhaps `precip`, each with its unit in the header.
    Plain,
}

impl Format {
    /// The formats by the names people type.
    pub const NAMES: [(&'static str, Self); 4] = [
        ("ghcn-dly", Self::GhcnDly),
        ("ghcn-by-station", Self::GhcnByStation),
        ("ghcn-access-tenths", Self::GhcnAccessTenths),
        ("plain", Self::Plain),
    ];
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = Self::NAMES.iter().find(|(_, format)| format == self).map_or("", |(name, _)| name);
        f.write_str(name)
    }
}

impl std::str::FromStr for Format {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        Self::NAMES.iter().find(|(name, _)| *name == text).map(|(_, format)| *format).ok_or_else(|| {
            format!("expected one of {}, got `{text}`", Self::NAMES.map(|(name, _)| format!("`{name}`")).join(", "))
        })
    }
}

/// One day's weather at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct WeatherDay {
    /// The calendar day under which the station booked the values.
    pub day: Date,
    /// Highest air temperature, tenths of °C.
    pub tmax_decidegc: Option<i32>,
    /// Lowest air temperature, tenths of °C.
    pub tmin_decidegc: Option<i32>,
    /// Precipitation, tenths of mm.
    pub precip_decimm: Option<i32>,
    /// Whether the maximum was read before noon, so that it is most likely the day before's; `None` where the file
    /// does not tell.
    pub observed_before_noon: Option<bool>,
}

impl WeatherDay {
    /// Returns a day without values.
    pub fn empty(day: Date) -> Self {
        Self { day, tmax_decidegc: None, tmin_decidegc: None, precip_decimm: None, observed_before_noon: None }
    }

    /// Returns the highest and lowest temperature in °C, where both are there.
    pub fn extremes_celsius(&self) -> Option<(f64, f64)> {
        Some((f64::from(self.tmax_decidegc?) / 10.0, f64::from(self.tmin_decidegc?) / 10.0))
    }
}

/// The daily weather of one station, in order of days, each day once.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeatherSeries {
    /// The code the station's network gives it; `None` in a plain file, which does not name one.
    pub station: Option<String>,
    /// The days the file speaks of.
    pub days: Vec<WeatherDay>,
    /// What was met while reading.
    pub report: ReadReport,
}

/// What was met while reading a weather file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadReport {
    /// The layout that was read.
    pub format: Format,
    /// Lines that were read, the header and blank lines left out.
    pub lines: usize,
    /// Days in the series.
    pub days: usize,
    /// Values that were left out because they failed a quality check, by day.
    pub left_out: Vec<LeftOut>,
    /// Temperatures that the file does not have on the days of the series (two a day are expected); those that it has
    /// and that were left out are not counted again.
    pub missing: usize,
    /// What a person should know before using the series.
    pub warnings: Vec<Warning>,
}

impl ReadReport {
    /// Returns how many values failed a check.
    pub fn failed(&self, check: Check) -> usize {
        self.left_out.iter().filter(|value| value.by == check).count()
    }
}

/// A value that was left out because it failed a quality check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// The day.
    pub day: Date,
    /// The measure of the kind `weather-day`.
    pub measure: &'static str,
    /// Whose check it failed.
    pub by: Check,
}

/// Whose quality check a value failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Check {
    /// The network flagged it.
    Network,
    /// It failed a check of this program: a minimum above the maximum, a value beyond any station's record.
    Ours,
}

/// Something a person should know before using a series.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Warning {
    /// The lowest temperature lies above the highest; both were left out.
    MinimumAboveMaximum {
        /// The day.
        day: Date,
    },
    /// A value no weather station has met; it was left out.
    OutOfRange {
        /// The day.
        day: Date,
        /// What it is, with its unit.
        value: String,
    },
    /// Maxima read before noon, which belong to the day before more often than not; they were not moved.
    MorningObserver {
        /// How many days.
        days: usize,
    },
    /// Temperatures that the network marks as lagging behind their hour of observation; they were kept.
    Lagged {
        /// How many.
        values: usize,
    },
    /// Precipitation that the network marks as `missing, presumed zero`; it was left missing.
    PresumedZero {
        /// How many.
        values: usize,
    },
    /// Days between the first and the last that the file does not speak of.
    Gap {
        /// How many days.
        days: usize,
        /// The first of them.
        first: Date,
    },
    /// Values that were rounded to tenths of °C or tenths of mm.
    Rounded {
        /// How many.
        values: usize,
    },
    /// Columns that were not read.
    UnreadColumns {
        /// Their names.
        names: Vec<String>,
    },
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::MinimumAboveMaximum { day } => {
                write!(f, "{day}: the minimum lies above the maximum; both were left out")
            }
            Self::OutOfRange { day, value } => {
                write!(f, "{day}: {value} is beyond any station's record; it was left out")
            }
            Self::MorningObserver { days } => write!(
                f,
                "on {} the maximum was read before noon: it most likely belongs to the day before; no value was moved",
                counted(*days, "day", "days")
            ),
            Self::Lagged { values } => {
                let (temperatures, were) =
                    if *values == 1 { ("temperature is", "it was") } else { ("temperatures are", "they were") };
                write!(f, "{values} {temperatures} marked as lagging behind the hour of observation; {were} kept")
            }
            Self::PresumedZero { values } => {
                let (precipitations, were) =
                    if *values == 1 { ("precipitation is", "it was") } else { ("precipitations are", "they were") };
                write!(f, "{values} {precipitations} marked `missing, presumed zero`; {were} left missing")
            }
            Self::Gap { days: 1, first } => write!(f, "1 day is absent between the first and the last: {first}"),
            Self::Gap { days, first } => {
                write!(f, "{days} days are absent between the first and the last, the earliest of them {first}")
            }
            Self::Rounded { values } => {
                let values = counted(*values, "value was", "values were");
                write!(f, "{values} rounded to 0.1 °C or 0.1 mm, as daily networks keep them")
            }
            Self::UnreadColumns { names } => write!(f, "columns that were not read: {}", names.join(", ")),
        }
    }
}
