//! Writers of the layouts, for tests only: rows made by us to the published layouts.

use std::collections::{BTreeMap, BTreeSet};

use super::WeatherDay;

/// Writes GHCN-Daily fixed width; every day that is not given is −9999.
pub(super) fn dly(station: &str, days: &[WeatherDay]) -> String {
    let by_day: BTreeMap<(i16, i8, i8), &WeatherDay> =
        days.iter().map(|d| ((d.day.year(), d.day.month(), d.day.day()), d)).collect();
    let months: BTreeSet<(i16, i8)> = days.iter().map(|d| (d.day.year(), d.day.month())).collect();
    let mut text = String::new();
    for (year, month) in months {
        for element in ["TMAX", "TMIN", "PRCP"] {
            text += &format!("{station:<11}{year:04}{month:02}{element}");
            for d in 1..=31 {
                let value = by_day.get(&(year, month, d)).and_then(|day| of(day, element)).unwrap_or(-9999);
                text += &format!("{value:>5}  X");
            }
            text.push('\n');
        }
    }
    text
}

/// Writes GHCN-Daily CSV by station; a missing value has no row.
pub(super) fn by_station(station: &str, days: &[WeatherDay]) -> String {
    let mut text = String::new();
    for day in days {
        for element in ["TMAX", "TMIN", "PRCP"] {
            if let Some(value) = of(day, element) {
                text += &format!("{station},{},{element},{value},,,X,\n", day.day.strftime("%Y%m%d"));
            }
        }
    }
    text
}

/// Writes plain CSV in °C and mm; a missing value is an empty field.
pub(super) fn plain(days: &[WeatherDay]) -> String {
    let cell = |v: Option<i32>| {
        v.map_or(String::new(), |v| format!("{}{}.{}", if v < 0 { "-" } else { "" }, v.abs() / 10, v.abs() % 10))
    };
    let mut text = "date,tmin_c,tmax_c,precip_mm\n".to_owned();
    for day in days {
        let cells = [day.tmin_decidegc, day.tmax_decidegc, day.precip_decimm].map(cell).join(",");
        text += &format!("{},{cells}\n", day.day);
    }
    text
}

fn of(day: &WeatherDay, element: &str) -> Option<i32> {
    match element {
        "TMAX" => day.tmax_decidegc,
        "TMIN" => day.tmin_decidegc,
        _ => day.precip_decimm,
    }
}
