//! Weather of stations: into the journal, and out of it for a field.

use std::collections::HashSet;
use std::path::Path;

use jiff::civil::Date;
use ligule_journal::Filter;
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::field::Field;
use ligule_observation::ids::Feature;
use ligule_observation::record::Record;

use crate::error::{EngineError, Fault, Result};
use crate::weather::{self, StationSeason, WEATHER_DAY, WeatherDay};
use crate::{Engine, now};

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
    pub new_days: usize,
    /// Days that were.
    pub known_days: usize,
    /// Values that their source or a check flagged, and that were left out.
    pub flagged: usize,
    /// Temperatures missing.
    pub missing: usize,
    /// What a person should know before using the series.
    pub warnings: Vec<String>,
}

impl Engine {
    /// Reads a weather file into the journal; reading it again adds nothing.
    ///
    /// A day that is there already stays as it is; where the file says something else, a warning tells it.
    pub fn import_weather(&mut self, file: &Path, station: Option<&str>) -> Result<Imported> {
        let failed =
            |error: weather::WeatherError| EngineError::new(Fault::User, error.to_string(), "nothing was recorded");
        let mut series = weather::read_file(file, None).map_err(failed)?;
        match (&series.station, station) {
            (Some(told), Some(given)) if told != given => {
                return Err(EngineError::user(
                    format!("{} tells station {told}, `--station` says {given}", file.display()),
                    "leave `--station` out, or name the right file; nothing was recorded",
                ));
            }
            (None, Some(given)) => series.station = Some(given.trim().to_owned()),
            _ => {}
        }
        let seasons = weather::to_observations(&series).map_err(|error| {
            EngineError::user(error.to_string(), "name the station with `--station CODE`; nothing was recorded")
        })?;
        let (Some(first), Some(last)) = (series.days.first(), series.days.last()) else {
            return Err(EngineError::user(format!("{} holds no days", file.display()), "nothing was recorded"));
        };
        let mut imported = Imported {
            station: series.station.clone().unwrap_or_default(),
            first: first.day,
            last: last.day,
            new_days: 0,
            known_days: 0,
            flagged: series.report.flagged,
            missing: series.report.missing,
            warnings: series.report.warnings.iter().map(ToString::to_string).collect(),
        };
        for season in &seasons {
            self.import_season(season, &mut imported)?;
        }
        self.tidy();
        Ok(imported)
    }

    fn import_season(&self, season: &StationSeason, imported: &mut Imported) -> Result<()> {
        let feature = Feature::Station(season.station.clone());
        let known = self.journal.records(&Filter {
            feature: Some(feature.clone()),
            season: Some(season.season),
            ..Filter::default()
        })?;
        let mut there: HashSet<Date> = HashSet::new();
        for record in &known {
            there.insert(record.day);
            let differs = season.days.iter().find(|day| {
                day.day == record.day
                    && day.values.iter().any(|(m, v)| record.values.get(m).is_some_and(|w| w.value != v.value))
            });
            if let Some(day) = differs {
                imported.warnings.push(format!(
                    "{}: the journal has other values and keeps them; correct them with `ligule amend {}`",
                    day.day, record.key
                ));
            }
        }
        let person = self.journal.identity().person;
        let new: Vec<NewObservation> = season
            .days
            .iter()
            .filter(|day| !there.contains(&day.day))
            .map(|day| {
                // Noon UTC lies on the same calendar day wherever corn is grown.
                let noon =
                    day.day.at(12, 0, 0, 0).to_zoned_datetime(jiff::tz::TimeZone::UTC).map(|zoned| zoned.timestamp());
                let noon =
                    noon.map_err(|error| EngineError::user(format!("{}: {error}", day.day), "nothing was recorded"))?;
                let begin =
                    season.days[0].day.first_of_year().at(12, 0, 0, 0).to_zoned_datetime(jiff::tz::TimeZone::UTC);
                let begin = begin
                    .map_err(|error| EngineError::user(format!("{}: {error}", day.day), "nothing was recorded"))?
                    .timestamp();
                Ok(NewObservation {
                    visit: Visit {
                        id: season.visit.clone(),
                        by: person.clone(),
                        at: begin,
                        offset_minutes: 0,
                        place: None,
                    },
                    kind: WEATHER_DAY.to_owned(),
                    version: self.kind(WEATHER_DAY)?.version,
                    values: day.values.clone(),
                    at: Some(noon),
                    place: None,
                    number: Some(day.number.into()),
                })
            })
            .collect::<Result<_>>()?;
        imported.known_days += season.days.len() - new.len();
        imported.new_days += new.len();
        if !new.is_empty() {
            self.journal.record(&self.document(feature, season.season), None, &new, now())?;
        }
        Ok(())
    }

    /// Returns the days of the station that stands for a field, for one season; `None` where there is none.
    ///
    /// Without a station of its own, a field uses the crew's only one.
    pub(crate) fn weather_for(&self, field: &Field, season: i32) -> Result<Option<Vec<WeatherDay>>> {
        let filter = Filter { kind: Some(WEATHER_DAY.to_owned()), season: Some(season), ..Filter::default() };
        let filter = if field.station.is_empty() {
            filter
        } else {
            Filter { feature: Some(Feature::Station(field.station.clone())), ..filter }
        };
        let mut records = self.journal.records(&filter)?;
        records.retain(|record| record.void.is_none());
        let stations: HashSet<&Feature> = records.iter().map(|record| &record.feature).collect();
        if stations.len() != 1 {
            return Ok(None);
        }
        let mut days: Vec<WeatherDay> = records.iter().map(weather_day).collect();
        days.sort_by_key(|day| day.day);
        days.dedup_by_key(|day| day.day);
        Ok(Some(days))
    }
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
