//! A series as observations of the kind `weather-day`.

use std::collections::BTreeMap;

use jiff::civil::Date;
use ligule_observation::record::{Measured, Value};
use serde::Serialize;

use super::{WeatherError, WeatherSeries};

/// The kind of observation that holds a day's weather.
pub const WEATHER_DAY: &str = "weather-day";

/// The observations of one station in one calendar year, which is the season of its document.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StationSeason {
    /// The station's code.
    pub station: String,
    /// The calendar year.
    pub season: i32,
    /// The visit's ULID, the same for the same station and year on every device.
    pub visit: String,
    /// One observation for each day with any value.
    pub days: Vec<DayObservation>,
}

/// One day's observation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayObservation {
    /// Its number within the visit: the day of the year, from 1.
    pub number: u16,
    /// The day.
    pub day: Date,
    /// Values by measure name: `day`, `tmax` and `tmin` in tenths of °C, `precip` in tenths of mm. A missing one is absent.
    pub values: BTreeMap<String, Measured>,
}

/// Returns the observations of a series, a group for each calendar year.
///
/// Keys depend on station and day alone, so that reading a file twice, or on two devices, makes the same
/// observations. Days without any value are left out.
///
/// # Errors
/// [`WeatherError::NoStation`] when the series names no station.
pub fn to_observations(series: &WeatherSeries) -> Result<Vec<StationSeason>, WeatherError> {
    let station = series.station.as_deref().filter(|s| !s.is_empty()).ok_or(WeatherError::NoStation)?;
    let mut seasons: BTreeMap<i16, Vec<DayObservation>> = BTreeMap::new();
    for day in &series.days {
        let mut values: BTreeMap<String, Measured> =
            [("tmax", day.tmax_decidegc), ("tmin", day.tmin_decidegc), ("precip", day.precip_decimm)]
                .into_iter()
                .filter_map(|(name, value)| {
                    Some((name.to_owned(), Measured { value: Value::Int(i64::from(value?)), entered: None }))
                })
                .collect();
        if !values.is_empty() {
            values.insert("day".to_owned(), Measured { value: Value::Text(day.day.to_string()), entered: None });
            let number = day.day.day_of_year().unsigned_abs();
            seasons.entry(day.day.year()).or_default().push(DayObservation { number, day: day.day, values });
        }
    }
    Ok(seasons
        .into_iter()
        .map(|(year, days)| StationSeason {
            station: station.to_owned(),
            season: year.into(),
            visit: visit(station, year),
            days,
        })
        .collect())
}

/// Returns the visit of a station's year: the year's first instant as the ULID's time, a hash as its random part.
fn visit(station: &str, year: i16) -> String {
    let mut hasher = blake3::Hasher::new_derive_key("ligule weather visit 1");
    hasher.update(station.as_bytes());
    hasher.update(&[0]);
    hasher.update(&year.to_be_bytes());
    let mut random = [0_u8; 16];
    random[6..].copy_from_slice(&hasher.finalize().as_bytes()[..10]);
    // A ULID's time starts in 1970; earlier years share its first instant and differ in the hash.
    let days = (Date::constant(year, 1, 1) - Date::constant(1970, 1, 1)).get_days();
    let milliseconds = u64::from(days.max(0).unsigned_abs()) * 86_400_000;
    ulid::Ulid::from_parts(milliseconds, u128::from_be_bytes(random)).to_string()
}
