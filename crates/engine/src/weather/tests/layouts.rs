//! Rows made by us to the published layouts (NOAA NCEI, GHCN-Daily `readme.txt` section III and
//! `readme-by_station.txt`), each telling one thing about them.

use jiff::civil::date;

use super::{Check, Format, LeftOut, Warning, WeatherError, on, read, read_text};

/// A line of February 2024 whose days 1 to 4 are given as blocks of eight columns.
fn february(element: &str, year: i16, blocks: [&str; 4]) -> String {
    let rest = "-9999   ".repeat(27);
    format!("XX000000001{year}02{element}{}{rest}", blocks.concat())
}

#[test]
fn dly_values_are_tenths_and_flags_are_honoured() {
    let text = [
        february("TMAX", 2024, ["  267  X", "  -11  X", "  300 IX", "-9999   "]),
        february("TMIN", 2024, ["   78  X", " -105L X", "  100  X", "   10  X"]),
        february("PRCP", 2024, ["    0T X", "    0P X", "   25  X", "-9999   "]),
        february("SNOW", 2024, ["    0  X", "    0  X", "    0  X", "    0  X"]),
    ]
    .join("\n");
    let series = read_text(&text).unwrap();
    assert_eq!(series.report.format, Format::GhcnDly);
    assert_eq!(series.station.as_deref(), Some("XX000000001"));
    let first = on(&series, date(2024, 2, 1));
    assert_eq!((first.tmax_decidegc, first.tmin_decidegc, first.precip_decimm), (Some(267), Some(78), Some(0)));
    let second = on(&series, date(2024, 2, 2));
    assert_eq!((second.tmax_decidegc, second.tmin_decidegc, second.precip_decimm), (Some(-11), Some(-105), None));
    let third = on(&series, date(2024, 2, 3));
    assert_eq!((third.tmax_decidegc, third.tmin_decidegc, third.precip_decimm), (None, Some(100), Some(25)));
    let flagged = LeftOut { day: date(2024, 2, 3), measure: "tmax", by: Check::Network };
    assert_eq!(series.report.left_out, [flagged], "only the maximum with quality flag I");
    // 29 days with two temperatures each, of which six are there and one was left out.
    assert_eq!((series.report.days, series.report.missing, series.report.lines), (29, 58 - 7, 4));
    assert_eq!(series.report.warnings, [Warning::Lagged { values: 1 }, Warning::PresumedZero { values: 1 }]);
}

#[test]
fn dly_knows_the_calendar() {
    let head = "XX000000001";
    let with =
        |year: i16, d29: &str| format!("{head}{year}02TMAX{}{d29}{}", "  100  X".repeat(28), "-9999   ".repeat(2));
    assert_eq!(read_text(&with(2024, "  100  X")).unwrap().days.len(), 29);
    let error = read_text(&with(2023, "  100  X")).unwrap_err().to_string();
    assert!(error.contains("line 1: expected -9999 for day 29: 2023-02 has 28 days, got `  100`"), "{error}");
    assert_eq!(read_text(&with(2023, "-9999   ")).unwrap().days.len(), 28);
}

#[test]
fn dly_lines_are_counted_and_named_when_they_are_bad() {
    let good = february("TMAX", 2024, ["  267  X"; 4]);
    let cut = &good[..100];
    let letters = february("TMIN", 2024, ["  2x7  X", "   78  X", "   78  X", "   78  X"]);
    let month = good.replace("202402", "202413");
    let other = good.replace("XX000000001", "XX000000002");
    let error = read_text(&format!("{good}\n{cut}\n{letters}\n\n{month}\n{other}\n")).unwrap_err();
    let WeatherError::BadLines { first, total, lines, .. } = &error else { panic!("{error}") };
    assert_eq!((*total, *lines), (4, 5));
    assert_eq!(first.iter().map(|b| b.line).collect::<Vec<_>>(), [2, 3, 5, 6]);
    let text = error.to_string();
    assert!(text.contains("line 2: expected 269 columns, got `100 columns"), "{text}");
    assert!(text.contains("line 3: expected a whole number for day 1 in columns 22 to 26, got `  2x7`"), "{text}");
    assert!(text.contains("line 5: expected a month from 01 to 12"), "{text}");
    assert!(text.contains("line 6: expected station `XX000000001`"), "{text}");
}

#[test]
fn by_station_rows_tell_the_time_of_observation() {
    let text = "XX000000001,20240501,TMAX,  267,,,X,0700\nXX000000001,20240501,TMIN,   78,,,X,0700\n\
                XX000000001,20240502,TMAX,  250,,G,X,1700\nXX000000001,20240503,TMAX,  240,,,X,1700\n\
                XX000000001,20240503,PRCP,   12,,,X,\nXX000000001,20240503,WT01,    1,,,X,\n";
    let series = read_text(text).unwrap();
    assert_eq!(series.report.format, Format::GhcnByStation);
    assert_eq!(on(&series, date(2024, 5, 1)).observed_before_noon, Some(true));
    assert_eq!(on(&series, date(2024, 5, 2)).tmax_decidegc, None);
    assert_eq!(on(&series, date(2024, 5, 3)).observed_before_noon, Some(false));
    assert_eq!(on(&series, date(2024, 5, 3)).precip_decimm, Some(12));
    assert_eq!((series.report.failed(Check::Network), series.report.failed(Check::Ours)), (1, 0));
    assert_eq!(series.report.warnings, [Warning::MorningObserver { days: 1 }]);
    let error = read_text("XX000000001,20240230,TMAX,267,,,X,\n").unwrap_err().to_string();
    assert!(error.contains("line 1: expected a day as YYYYMMDD, got `20240230`"), "{error}");
}

#[test]
fn rows_of_one_day_are_read_only_when_the_unit_is_said() {
    let text = "\"STATION\",\"DATE\",\"NAME\",\"PRCP\",\"PRCP_ATTRIBUTES\",\"TMAX\",\"TMAX_ATTRIBUTES\",\"TMIN\",\"TMIN_ATTRIBUTES\"\n\
                \"XX000000001\",\"2024-05-01\",\"A PLACE, XX\",\"   25\",\",,X,0700\",\"  267\",\",,X\",\"   78\",\",I,X\"\n\
                \"XX000000001\",\"2024-05-02\",\"A PLACE, XX\",\"\",\"\",\"  250\",\",,X,0700\",\"\",\"\"\n";
    let error = read_text(text).unwrap_err().to_string();
    assert!(error.contains("ghcn-access-tenths"), "{error}");
    let series = read(text.as_bytes(), "test", Some(Format::GhcnAccessTenths)).unwrap();
    let first = on(&series, date(2024, 5, 1));
    assert_eq!((first.tmax_decidegc, first.tmin_decidegc, first.precip_decimm), (Some(267), None, Some(25)));
    assert_eq!(on(&series, date(2024, 5, 2)).observed_before_noon, Some(true));
    assert_eq!((series.report.failed(Check::Network), series.report.failed(Check::Ours)), (1, 0));
    let celsius = text.replace("  267", "26.7");
    let error = read(celsius.as_bytes(), "test", Some(Format::GhcnAccessTenths)).unwrap_err().to_string();
    assert!(error.contains("a whole number of tenths"), "{error}");
}

#[test]
fn a_plain_header_tells_the_units() {
    for header in [
        "date,tmin_f,tmax_f,precip_in",
        "Date,Tmin (F),Tmax (°F),Precip [in]",
        "date,tmin [degF],tmax degF,precip inch",
    ] {
        let series = read_text(&format!("{header}\r\n2024-05-01,46,81,0.5\r\n2024/05/02,NA,,-9999\r\n")).unwrap();
        let first = on(&series, date(2024, 5, 1));
        // 46 °F = 7.78 °C, 81 °F = 27.22 °C, half an inch = 12.7 mm.
        assert_eq!((first.tmin_decidegc, first.tmax_decidegc, first.precip_decimm), (Some(78), Some(272), Some(127)));
        assert_eq!((series.days.len(), series.report.missing), (2, 2));
        assert_eq!(series.report.warnings, [Warning::Rounded { values: 2 }]);
    }
    for (header, says) in [
        ("date,tmin,tmax", "column `tmin` has no unit: expected `tmin_c` or `tmin_f`"),
        ("date,tmin_k,tmax_c", "column `tmin_k` is in `k`"),
        ("date,tmin_c", "there is no column `tmax` with a unit"),
        ("date;tmin_c;tmax_c", "not separated by commas"),
        ("date,tmin_c,tmax_c,precip", "expected `precip_mm` or `precip_in`"),
        ("date,tmin_c,tmax_c,tmax_f", "column `tmax_f` is there twice"),
    ] {
        let error = read(format!("{header}\n2024-05-01,1,2,3\n").as_bytes(), "test", Some(Format::Plain))
            .unwrap_err()
            .to_string();
        assert!(error.contains(says) && error.contains("date,tmin_c,tmax_c"), "{header}: {error}");
    }
}

#[test]
fn whole_fahrenheit_survives_the_rounding_to_tenths_of_celsius() {
    for fahrenheit in -60..130 {
        let text = format!("date,tmin_f,tmax_f\n2024-05-01,{fahrenheit},{fahrenheit}\n");
        let kept = f64::from(on(&read_text(&text).unwrap(), date(2024, 5, 1)).tmax_decidegc.unwrap());
        assert_eq!((kept / 10.0 * 1.8 + 32.0).round(), f64::from(fahrenheit));
    }
}

#[test]
fn a_plain_file_in_another_unit_than_its_header_says_is_refused() {
    let error = read_text("date,tmin_c,tmax_c\n2024-07-01,65,90\n").unwrap_err().to_string();
    assert!(error.contains("is the unit in the header right?"), "{error}");
}

#[test]
fn plain_rows_that_are_bad_are_named() {
    let text =
        "date,tmin_c,tmax_c\n2024-05-01,5,12\n05/02/2024,5,12\n2024-05-03,5\n2024-05-04,5,1e1\n2024-05-01,5,13\n";
    let error = read_text(text).unwrap_err();
    let WeatherError::BadLines { first, .. } = &error else { panic!("{error}") };
    let told: Vec<(usize, &str)> = first.iter().map(|b| (b.line, b.got.as_str())).collect();
    assert_eq!(told, [(3, "05/02/2024"), (4, "2 fields"), (5, "1e1"), (6, "130 tenths")]);
}

#[test]
fn bad_lines_are_counted_as_lines_and_what_is_wrong_with_them_by_itself() {
    let text = "date,tmin_c,tmax_c,precip_mm\n2024-05-01,a,b,c\n2024-05-02,d,e,f\n";
    let error = read_text(text).unwrap_err();
    let WeatherError::BadLines { first, more, total, lines, .. } = &error else { panic!("{error}") };
    assert_eq!((first.len(), *more, *total, *lines), (6, 0, 2, 2));
    assert!(error.to_string().starts_with("`test`: 2 of 2 lines cannot be read; nothing was imported\n"), "{error}");
    // A month whose 29 days are bad is one line.
    let month = format!("XX000000001202402TMAX{}{}", "  2x7  X".repeat(29), "-9999   ".repeat(2));
    let error = read_text(&month).unwrap_err().to_string();
    assert!(error.starts_with("`test`: 1 of 1 line cannot be read") && error.ends_with("\n  and 19 more"), "{error}");
}

#[test]
fn a_value_given_twice_is_left_out_once() {
    let row = "XX000000001,20240501,TMAX,  267,,G,X,\n";
    let report = read_text(&format!("{row}{row}XX000000001,20240501,TMIN, 9999,,,X,\n")).unwrap().report;
    assert_eq!((report.failed(Check::Network), report.failed(Check::Ours), report.missing), (1, 1, 0));
}

#[test]
fn warnings_know_one_from_many() {
    let first = date(2024, 5, 2);
    for (warning, says) in [
        (Warning::Gap { days: 1, first }, "1 day is absent between the first and the last: 2024-05-02"),
        (Warning::Gap { days: 2, first }, "2 days are absent"),
        (Warning::MorningObserver { days: 1 }, "on 1 day the maximum"),
        (Warning::Lagged { values: 1 }, "1 temperature is marked"),
        (Warning::PresumedZero { values: 2 }, "2 precipitations are marked"),
        (Warning::Rounded { values: 1 }, "1 value was rounded"),
    ] {
        assert!(warning.to_string().contains(says), "{warning}");
    }
}

#[test]
fn a_minimum_above_the_maximum_is_left_out() {
    let series = read_text("date,tmin_c,tmax_c\n2024-05-01,12,5\n2024-05-04,5,12\n").unwrap();
    assert_eq!(on(&series, date(2024, 5, 1)).extremes_celsius(), None);
    // The two are no failures of the network, and are not counted as missing again.
    assert_eq!((series.report.failed(Check::Network), series.report.failed(Check::Ours)), (0, 2));
    assert_eq!(series.report.missing, 0);
    let expected =
        [Warning::MinimumAboveMaximum { day: date(2024, 5, 1) }, Warning::Gap { days: 2, first: date(2024, 5, 2) }];
    assert_eq!(series.report.warnings, expected);
}

#[test]
fn what_is_no_weather_file_is_told_apart() {
    for text in ["", "\n\n", "hello\n", "a,b,c\n1,2,3\n"] {
        assert!(matches!(read_text(text), Err(WeatherError::UnknownFormat { .. })), "{text:?}");
    }
    assert!(matches!(read_text("date,tmin_c,tmax_c\n"), Err(WeatherError::Empty { .. })));
}
