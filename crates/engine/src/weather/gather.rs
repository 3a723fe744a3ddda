//! Puts values of any layout together into one series, and checks them.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::{
    error::{BadLine, WeatherError},
    series::{Check, Format, LeftOut, ReadReport, Warning, WeatherDay, WeatherSeries},
};

/// Problems that are reported one by one; the rest is counted.
const REPORTED: usize = 10;

/// Lowest and highest air temperature that is believed, tenths of °C: a little beyond the world's records
/// (−89.2 °C and 56.7 °C, WMO World Weather and Climate Extremes Archive).
const BELIEVED_DECIDEGC: std::ops::RangeInclusive<i32> = -900..=600;

/// Precipitation of a day that is believed, tenths of mm: the world's record is 1,825 mm
/// (WMO World Weather and Climate Extremes Archive).
const BELIEVED_DECIMM: std::ops::RangeInclusive<i32> = 0..=19_000;

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Element {
    Tmax,
    Tmin,
    Precip,
}

impl Element {
    /// Returns the element by its GHCN-Daily name; the many others are not read.
    pub(super) fn of_ghcn(name: &str) -> Option<Self> {
        match name {
            "TMAX" => Some(Self::Tmax),
            "TMIN" => Some(Self::Tmin),
            "PRCP" => Some(Self::Precip),
            _ => None,
        }
    }

    /// Returns the measure of the kind `weather-day`.
    fn measure(self) -> &'static str {
        match self {
            Self::Tmax => "tmax",
            Self::Tmin => "tmin",
            Self::Precip => "precip",
        }
    }
}

/// A value of GHCN-Daily with the flags that matter.
pub(super) struct Ghcn {
    pub(super) line: usize,
    pub(super) day: Date,
    pub(super) element: Element,
    /// Tenths of °C or of mm; `None` for −9999.
    pub(super) value: Option<i32>,
    pub(super) measurement_flag: char,
    pub(super) quality_flag: char,
    /// Hour and minute of the observation, `700` for 07:00.
    pub(super) observed_at: Option<u16>,
}

pub(super) struct Gather {
    name: String,
    format: Format,
    station: Option<String>,
    days: BTreeMap<Date, WeatherDay>,
    seen: BTreeMap<(Date, Element), Option<i32>>,
    left_out: BTreeMap<(Date, Element), Check>,
    bad: Vec<BadLine>,
    bad_total: usize,
    bad_lines: BTreeSet<usize>,
    lines: usize,
    lagged: usize,
    presumed_zero: usize,
    rounded: usize,
    warnings: Vec<Warning>,
}

impl Gather {
    pub(super) fn new(name: &str, format: Format) -> Self {
        Self {
            name: name.to_owned(),
            format,
            station: None,
            days: BTreeMap::new(),
            seen: BTreeMap::new(),
            left_out: BTreeMap::new(),
            bad: Vec::new(),
            bad_total: 0,
            bad_lines: BTreeSet::new(),
            lines: 0,
            lagged: 0,
            presumed_zero: 0,
            rounded: 0,
            warnings: Vec::new(),
        }
    }

    pub(super) fn line(&mut self) {
        self.lines += 1;
    }

    pub(super) fn bad(&mut self, line: usize, expected: impl Into<String>, got: impl Into<String>) {
        self.bad_total += 1;
        self.bad_lines.insert(line);
        if self.bad.len() < REPORTED {
            let got: String = got.into();
            self.bad.push(BadLine { line, expected: expected.into(), got: got.chars().take(60).collect() });
        }
    }

    pub(super) fn warn(&mut self, warning: Warning) {
        self.warnings.push(warning);
    }

    pub(super) fn rounded(&mut self) {
        self.rounded += 1;
    }

    /// Checks that every line is of one station.
    pub(super) fn of_station(&mut self, line: usize, id: &str) -> bool {
        match &self.station {
            None => {
                self.station = Some(id.to_owned());
                true
            }
            Some(station) if station == id => true,
            Some(station) => {
                let expected = format!("station `{station}` as on the lines before; split the file by station");
                self.bad(line, expected, id);
                false
            }
        }
    }

    /// Takes a value of GHCN-Daily: a failed quality check makes it missing.
    pub(super) fn ghcn(&mut self, value: Ghcn) {
        let Ghcn { line, day, element, .. } = value;
        let mut kept = value.value;
        if kept.is_some() && value.quality_flag != ' ' {
            kept = None;
            self.left_out.insert((day, element), Check::Network);
        }
        if kept.is_some() && element == Element::Precip && value.measurement_flag == 'P' {
            kept = None;
            self.presumed_zero += 1;
        }
        if kept.is_some() && element != Element::Precip && value.measurement_flag == 'L' {
            self.lagged += 1;
        }
        if let Some(number) = kept
            && let Some(text) = beyond_belief(element, number)
        {
            kept = None;
            self.left_out.insert((day, element), Check::Ours);
            self.warnings.push(Warning::OutOfRange { day, value: text });
        }
        self.keep(line, day, element, kept);
        if element == Element::Tmax
            && kept.is_some()
            && let Some(at) = value.observed_at
        {
            self.entry(day).observed_before_noon = Some(at < 1200);
        }
    }

    /// Takes a value of a plain file, where one beyond belief is most likely in another unit than its header says.
    pub(super) fn plain(&mut self, line: usize, day: Date, element: Element, value: Option<i32>, as_written: &str) {
        if let Some(number) = value
            && let Some(text) = beyond_belief(element, number)
        {
            let expected = match element {
                Element::Precip => "precipitation from 0 to 1900 mm a day (is the unit in the header right?)",
                _ => "an air temperature from -90 to 60 °C (is the unit in the header right?)",
            };
            self.bad(line, expected, format!("{as_written} = {text}"));
            return;
        }
        self.keep(line, day, element, value);
    }

    fn keep(&mut self, line: usize, day: Date, element: Element, value: Option<i32>) {
        match self.seen.insert((day, element), value) {
            Some(before) if before != value => {
                let tell = |v: Option<i32>| v.map_or("missing".to_owned(), |v| format!("{v} tenths"));
                self.bad(line, format!("{day} once (it was {} before)", tell(before)), tell(value));
                return;
            }
            _ => {}
        }
        let entry = self.entry(day);
        match element {
            Element::Tmax => entry.tmax_decidegc = value,
            Element::Tmin => entry.tmin_decidegc = value,
            Element::Precip => entry.precip_decimm = value,
        }
    }

    fn entry(&mut self, day: Date) -> &mut WeatherDay {
        self.days.entry(day).or_insert_with(|| WeatherDay::empty(day))
    }

    pub(super) fn finish(mut self) -> Result<WeatherSeries, WeatherError> {
        if self.bad_total > 0 {
            return Err(WeatherError::BadLines {
                name: self.name,
                more: self.bad_total - self.bad.len(),
                first: self.bad,
                total: self.bad_lines.len(),
                lines: self.lines,
            });
        }
        let mut days: Vec<WeatherDay> = self.days.into_values().collect();
        for day in &mut days {
            if let (Some(tmax), Some(tmin)) = (day.tmax_decidegc, day.tmin_decidegc)
                && tmin > tmax
            {
                (day.tmax_decidegc, day.tmin_decidegc) = (None, None);
                self.left_out.insert((day.day, Element::Tmax), Check::Ours);
                self.left_out.insert((day.day, Element::Tmin), Check::Ours);
                self.warnings.push(Warning::MinimumAboveMaximum { day: day.day });
            }
        }
        let (Some(first), Some(last)) = (days.first(), days.last()) else {
            return Err(WeatherError::Empty { name: self.name, lines: self.lines });
        };
        let span = (last.day - first.day).get_days() as usize + 1;
        if span > days.len() {
            let after = days.windows(2).find(|pair| pair[0].day.tomorrow().ok() != Some(pair[1].day));
            let gap = after.and_then(|pair| pair[0].day.tomorrow().ok()).unwrap_or(first.day);
            self.warnings.push(Warning::Gap { days: span - days.len(), first: gap });
        }
        let morning = days.iter().filter(|d| d.observed_before_noon == Some(true)).count();
        let counted = [
            (morning, Warning::MorningObserver { days: morning }),
            (self.lagged, Warning::Lagged { values: self.lagged }),
            (self.presumed_zero, Warning::PresumedZero { values: self.presumed_zero }),
            (self.rounded, Warning::Rounded { values: self.rounded }),
        ];
        self.warnings.extend(counted.into_iter().filter(|(count, _)| *count > 0).map(|(_, warning)| warning));
        let gone = |day: &WeatherDay, element, value: Option<i32>| {
            usize::from(value.is_none() && !self.left_out.contains_key(&(day.day, element)))
        };
        let missing = days
            .iter()
            .map(|d| gone(d, Element::Tmax, d.tmax_decidegc) + gone(d, Element::Tmin, d.tmin_decidegc))
            .sum();
        let left_out: Vec<LeftOut> = self
            .left_out
            .into_iter()
            .map(|((day, element), by)| LeftOut { day, measure: element.measure(), by })
            .collect();
        let report = ReadReport {
            format: self.format,
            lines: self.lines,
            days: days.len(),
            left_out,
            missing,
            warnings: self.warnings,
        };
        Ok(WeatherSeries { station: self.station, days, report })
    }
}

/// Returns the value with its unit when no station has met the like.
fn beyond_belief(element: Element, value: i32) -> Option<String> {
    let (believed, unit) = match element {
        Element::Precip => (BELIEVED_DECIMM, "mm"),
        _ => (BELIEVED_DECIDEGC, "°C"),
    };
    (!believed.contains(&value)).then(|| format!("{:.1} {unit}", f64::from(value) / 10.0))
}
