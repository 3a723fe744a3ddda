//! Weather files are held to the published layouts, to two other readers, and to an independent sum.

mod layouts;
mod outside;
mod round_trip;
mod write;

use jiff::civil::{Date, date};

use super::*;

fn read_text(text: &str) -> Result<WeatherSeries, WeatherError> {
    read(text.as_bytes(), "test", None)
}

fn on(series: &WeatherSeries, day: Date) -> WeatherDay {
    *series.days.iter().find(|d| d.day == day).unwrap_or_else(|| panic!("{day} is not in the series"))
}

#[test]
fn observations_have_the_same_keys_on_every_device() {
    let text =
        "XX000000001,20231231,TMAX,55,,,X,\nXX000000001,20240101,TMAX,61,,,X,\nXX000000001,20241231,TMIN,-12,,,X,\n";
    let once = to_observations(&read_text(text).unwrap()).unwrap();
    let again = to_observations(&read_text(&text.replace('\n', "\r\n")).unwrap()).unwrap();
    assert_eq!(once, again);
    let keys: Vec<(i32, u16, Date)> =
        once.iter().flat_map(|s| s.days.iter().map(|d| (s.season, d.number, d.day))).collect();
    let expected = [(2023, 365, date(2023, 12, 31)), (2024, 1, date(2024, 1, 1)), (2024, 366, date(2024, 12, 31))];
    assert_eq!(keys, expected);
    assert_ne!(once[0].visit, once[1].visit);
    for season in &once {
        let visit: ulid::Ulid = season.visit.parse().unwrap();
        let first = jiff::Timestamp::from_millisecond(visit.timestamp_ms().try_into().unwrap()).unwrap();
        assert_eq!(first.to_string(), format!("{}-01-01T00:00:00Z", season.season));
    }
    let other = to_observations(&read_text(&text.replace("XX000000001", "XX000000002")).unwrap()).unwrap();
    assert_ne!(once[0].visit, other[0].visit);
    assert_eq!(once[1].days[1].values.keys().collect::<Vec<_>>(), ["day", "tmin"]);
}

#[test]
fn a_plain_file_must_be_given_its_station() {
    let mut series = read_text("date,tmin_c,tmax_c\n2024-05-01,5.0,12.5\n").unwrap();
    assert!(matches!(to_observations(&series), Err(WeatherError::NoStation)));
    series.station = Some("farmyard".to_owned());
    assert_eq!(to_observations(&series).unwrap()[0].station, "farmyard");
}

#[test]
fn twenty_years_are_read_at_once() {
    let days: Vec<WeatherDay> = (0..7305)
        .map(|i| {
            let day = date(2001, 1, 1).checked_add(jiff::Span::new().days(i)).unwrap();
            WeatherDay {
                tmax_decidegc: Some(200),
                tmin_decidegc: Some(100),
                precip_decimm: Some(0),
                ..WeatherDay::empty(day)
            }
        })
        .collect();
    let (dly, rows) = (write::dly("XX000000001", &days), write::by_station("XX000000001", &days));
    let start = std::time::Instant::now();
    for text in [dly, rows] {
        let series = read_text(&text).unwrap();
        assert_eq!((series.days.len(), series.report.missing), (7305, 0));
    }
    // Half a second even unoptimised; the bound only has to catch a reader that is not linear.
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
}
