//! Weather of stations: into the journal, and out of it for a field.

use std::collections::{HashMap, HashSet};
use std::fmt;
use std::path::Path;

use jiff::civil::Date;
use ligule_journal::{Batch, Filter};
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::field::Field;
use ligule_observation::ids::Feature;
use ligule_observation::record::{Measured, Record, Value};

use crate::assess::StationDays;
use crate::error::{EngineError, Fault, Result};
use crate::number::{counted, decimal};
use crate::weather::{self, Check, DayObservation, StationSeason, WEATHER_DAY, WeatherDay, WeatherSeries};
use crate::{Engine, now};

#[cfg(test)]
mod tests;

/// Days that are warned of one by one; the rest is counted.
const WARNED: usize = 10;

/// What came of reading a weather file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// The station.
    pub station: String,
    /// The first day of the file.
    pub first: Date,
    /// The last day of the file.
    pub last: Date,
    /// Days that were not there before.
    pub new: usize,
    /// Days that lacked a value which the file has, and have it now.
    pub filled: usize,
    /// Days of which the file says something else than the journal, which keeps what it has.
    pub differing: usize,
    /// Days of which the file says nothing that is not in the journal.
    pub unchanged: usize,
    /// Values that the network flagged, and that were left out.
    pub flagged: usize,
    /// Values that failed a check of this program, and that were left out.
    pub failed: usize,
    /// Temperatures that the file lacks on its days.
    pub missing: usize,
    /// What a person should know before using the series.
    pub warnings: Vec<String>,
}

impl fmt::Display for Imported {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let days = counted(self.new, "day", "days");
        write!(f, "recorded {days} of station {} ({} to {})", self.station, self.first, self.last)?;
        let known = self.filled + self.differing + self.unchanged;
        if known > 0 {
            let told = [
                (self.filled, "filled in"),
                (self.differing, if self.differing == 1 { "differs" } else { "differ" }),
                (self.unchanged, "unchanged"),
            ];
            let told: Vec<String> =
                told.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
            write!(f, "; {} there already: {}", counted(known, "was", "were"), told.join(", "))?;
        }
        if self.flagged > 0 {
            write!(f, "; {} by the network left out", counted(self.flagged, "value flagged", "values flagged"))?;
        }
        if self.failed > 0 {
            let values = counted(self.failed, "value that failed", "values that failed");
            write!(f, "; {values} our own checks left out")?;
        }
        write!(f, "; {} missing", counted(self.missing, "temperature", "temperatures"))
    }
}

impl Engine {
    /// Reads a weather file into the journal; reading it again adds nothing.
    ///
    /// `layout` names the file's layout where its first line does not tell it. `accept_time` lets days pass that lie
    /// in the future of this device's clock. A day that is there already is given the values that it lacks and keeps
    /// those that it has; where the file says something else, a warning tells how to correct it.
    ///
    /// # Errors
    /// A file that cannot be read, that is of another station than `station`, or that holds days of the future.
    /// Nothing is written then.
    pub fn import_weather(
        &mut self,
        file: &Path,
        station: Option<&str>,
        layout: Option<weather::Format>,
        accept_time: bool,
    ) -> Result<Imported> {
        let failed =
            |error: weather::WeatherError| EngineError::new(Fault::User, error.to_string(), "nothing was recorded");
        let mut series = weather::read_file(file, layout).map_err(failed)?;
        match (&series.station, station.map(str::trim)) {
            (Some(told), Some(given)) if told != given => {
                return Err(EngineError::user(
                    format!("{} tells station {told}, `--station` says {given}", file.display()),
                    "leave `--station` out, or name the right file; nothing was recorded",
                ));
            }
            (None, Some(given)) => series.station = Some(given.to_owned()),
            _ => {}
        }
        let seasons = weather::to_observations(&series).map_err(|error| {
            EngineError::user(error.to_string(), "name the station with `--station CODE`; nothing was recorded")
        })?;
        let (Some(first), Some(last)) = (series.days.first(), series.days.last()) else {
            return Err(EngineError::user(format!("{} holds no days", file.display()), "nothing was recorded"));
        };
        if !accept_time {
            not_of_the_future(&series).map_err(|error| error.at(file))?;
        }
        let mut imported = Imported {
            station: series.station.clone().unwrap_or_default(),
            first: first.day,
            last: last.day,
            new: 0,
            filled: 0,
            differing: 0,
            unchanged: 0,
            flagged: series.report.failed(Check::Network),
            failed: series.report.failed(Check::Ours),
            missing: series.report.missing,
            warnings: series.report.warnings.iter().map(ToString::to_string).collect(),
        };
        let mut warnings = Vec::new();
        let mut batches = Vec::with_capacity(seasons.len());
        for season in &seasons {
            batches.push(self.import_season(season, &mut imported, &mut warnings)?);
        }
        self.journal.record_large(&batches, now(), &*self.tell)?;
        warnings.extend(self.withdrawn(&series)?);
        let more = warnings.len().saturating_sub(WARNED);
        imported.warnings.extend(warnings.into_iter().take(WARNED));
        if more > 0 {
            let warnings = if more == 1 { "warning" } else { "warnings" };
            imported.warnings.push(format!("{more} more {warnings} such as these"));
        }
        self.tidy();
        Ok(imported)
    }

    /// Gives the days of a season that are there what they lack; returns those that are not.
    fn import_season(
        &self,
        season: &StationSeason,
        imported: &mut Imported,
        warnings: &mut Vec<String>,
    ) -> Result<Batch> {
        let feature = Feature::Station(season.station.clone());
        let known = self.days_of(&feature, season.season)?;
        let person = self.journal.identity().person;
        let mut new: Vec<NewObservation> = Vec::new();
        for day in &season.days {
            match known.get(&day.day) {
                Some(record) => self.import_known(record, day, imported, warnings)?,
                None => new.push(self.new_day(season, day, &person)?),
            }
        }
        imported.new += new.len();
        Ok(Batch { document: self.document(feature, season.season), crop: None, new })
    }

    /// Gives a day of the journal what it lacks, and tells where the file says something else.
    fn import_known(
        &self,
        record: &Record,
        day: &DayObservation,
        imported: &mut Imported,
        warnings: &mut Vec<String>,
    ) -> Result<()> {
        if record.void.is_some() {
            imported.unchanged += 1;
            warnings.push(format!("{}: the day is void and stays so", day.day));
            return Ok(());
        }
        let mut differing = Vec::new();
        let mut lacking = Vec::new();
        for (measure, measured) in &day.values {
            match record.values.get(measure) {
                None => lacking.push((measure, measured)),
                Some(kept) if kept.value != measured.value => differing.push((measure, kept, measured)),
                Some(_) => {}
            }
        }
        let person = self.journal.identity().person;
        for (measure, measured) in &lacking {
            self.journal.amend(&record.key, measure, measured, &person, now())?;
        }
        if !differing.is_empty() {
            let says: Vec<String> = differing
                .iter()
                .map(|(measure, kept, told)| {
                    Ok(format!("{measure} {}, not {}", self.shown(measure, told)?, self.shown(measure, kept)?))
                })
                .collect::<Result<_>>()?;
            let flags: Vec<String> = differing
                .iter()
                .map(|(measure, _, told)| {
                    let declared = self.kind(WEATHER_DAY)?.measure(measure);
                    let value = declared.map_or_else(String::new, |declared| self.reading.to_type(declared, told));
                    Ok(format!("--{} {value}", self.flag(measure)?))
                })
                .collect::<Result<_>>()?;
            warnings.push(format!(
                "{}: the file says {}; the journal keeps what it has; to correct it: `ligule amend {} {}`",
                day.day,
                says.join(", and "),
                record.key,
                flags.join(" ")
            ));
        }
        match (differing.is_empty(), lacking.is_empty()) {
            (false, _) => imported.differing += 1,
            (true, false) => imported.filled += 1,
            (true, true) => imported.unchanged += 1,
        }
        Ok(())
    }

    /// Tells of values that the journal has and that the file holds for wrong.
    fn withdrawn(&self, series: &WeatherSeries) -> Result<Vec<String>> {
        let Some(station) = &series.station else { return Ok(Vec::new()) };
        let feature = Feature::Station(station.clone());
        let seasons: HashSet<i32> = series.report.left_out.iter().map(|value| value.day.year().into()).collect();
        let mut known = HashMap::new();
        for season in seasons {
            known.extend(self.days_of(&feature, season)?);
        }
        let mut warnings = Vec::new();
        for value in &series.report.left_out {
            let Some(record) = known.get(&value.day).filter(|record| record.void.is_none()) else { continue };
            let Some(kept) = record.values.get(value.measure) else { continue };
            warnings.push(format!(
                "{}: {} failed a check, the journal keeps {}; if that is wrong: `ligule void {} --why \"failed a check\"`",
                value.day,
                value.measure,
                self.shown(value.measure, kept)?,
                record.key
            ));
        }
        Ok(warnings)
    }

    /// Returns a station's days of one season, void ones too.
    fn days_of(&self, feature: &Feature, season: i32) -> Result<HashMap<Date, Record>> {
        let filter = Filter {
            feature: Some(feature.clone()),
            season: Some(season),
            kind: Some(WEATHER_DAY.to_owned()),
            ..Filter::default()
        };
        Ok(self.journal.records(&filter)?.into_iter().map(|record| (record.day, record)).collect())
    }

    fn new_day(&self, season: &StationSeason, day: &DayObservation, person: &str) -> Result<NewObservation> {
        // Noon UTC lies on the same calendar day wherever corn is grown.
        let noon = |day: Date| {
            let noon = day.at(12, 0, 0, 0).to_zoned_datetime(jiff::tz::TimeZone::UTC);
            noon.map(|zoned| zoned.timestamp())
                .map_err(|error| EngineError::user(format!("{day}: {error}"), "nothing was recorded"))
        };
        Ok(NewObservation {
            visit: Visit {
                id: season.visit.clone(),
                by: person.to_owned(),
                at: noon(day.day.first_of_year())?,
                offset_minutes: 0,
                place: None,
            },
            kind: WEATHER_DAY.to_owned(),
            version: self.kind(WEATHER_DAY)?.version,
            values: day.values.clone(),
            at: Some(noon(day.day)?),
            place: None,
            number: Some(day.number.into()),
        })
    }

    /// Returns the flag of a measure of a day's weather.
    fn flag(&self, measure: &str) -> Result<String> {
        Ok(self.kind(WEATHER_DAY)?.measure(measure).map_or_else(|| measure.to_owned(), |m| m.flag()))
    }

    /// Writes a value of a day's weather so that it can be typed again.
    fn shown(&self, measure: &str, measured: &Measured) -> Result<String> {
        let scale = self.kind(WEATHER_DAY)?.measure(measure).map_or(0, |m| m.scale);
        Ok(match &measured.value {
            Value::Int(n) => decimal(*n, scale),
            Value::Text(text) => text.clone(),
        })
    }

    /// Returns the days of the station that stands for a field, for one season; `None` where there is none.
    ///
    /// Without a station of its own, a field uses the crew's only one.
    pub(crate) fn weather_for(&self, field: &Field, season: i32) -> Result<Option<StationDays>> {
        let filter = Filter { kind: Some(WEATHER_DAY.to_owned()), season: Some(season), ..Filter::default() };
        let filter = if field.station.is_empty() {
            filter
        } else {
            Filter { feature: Some(Feature::Station(field.station.clone())), ..filter }
        };
        let mut records = self.journal.records(&filter)?;
        records.retain(|record| record.void.is_none());
        let mut features = records.iter().map(|record| &record.feature);
        let Some(Feature::Station(station)) = features.next().cloned() else { return Ok(None) };
        if features.any(|other| *other != Feature::Station(station.clone())) {
            return Ok(None);
        }
        let mut days: Vec<WeatherDay> = records.iter().map(weather_day).collect();
        days.sort_by_key(|day| day.day);
        days.dedup_by_key(|day| day.day);
        Ok(Some(StationDays { station, days }))
    }
}

/// Refuses days that have come nowhere on Earth by this device's clock.
fn not_of_the_future(series: &WeatherSeries) -> Result<()> {
    let today = now().to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    let latest = today.saturating_add(jiff::Span::new().days(1));
    let ahead: Vec<Date> = series.days.iter().map(|day| day.day).filter(|day| *day > latest).collect();
    let Some(first) = ahead.first() else { return Ok(()) };
    let days = counted(ahead.len(), "day lies", "days lie");
    Err(EngineError::future(format!(
        "{days} in the future, the first on {first}; this device's clock says {today}; nothing was recorded"
    )))
}

/// Reads a record of the kind `weather-day`; a value in conflict counts as missing.
fn weather_day(record: &Record) -> WeatherDay {
    let tenths = |measure: &str| {
        let settled = !record.conflicts.iter().any(|conflict| conflict == measure);
        record.int(measure).filter(|_| settled).and_then(|value| i32::try_from(value).ok())
    };
    WeatherDay {
        tmax_decidegc: tenths("tmax"),
        tmin_decidegc: tenths("tmin"),
        precip_decimm: tenths("precip"),
        ..WeatherDay::empty(record.day)
    }
}
