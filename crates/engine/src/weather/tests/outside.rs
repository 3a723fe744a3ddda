//! The real daily series `seattle-weather` (vega-datasets 0.9.0: 1461 days of 2012 to 2015, °C and mm, public-domain
//! NOAA data), read by us and by others.
//!
//! - Degree days 86/50 against NumPy, each day and each season within 10⁻⁹ relative.
//! - A GHCN-Daily file of the same days, with failed checks and holes made by us, against `ghcndextractor` 0.2 and
//!   against `pandas.read_fwf` with the published columns. `ghcndextractor` reads 30 days of a month, so the 31st is
//!   held to pandas alone.

use std::{collections::BTreeMap, path::Path, process::Command};

use serde_json::Value;

use super::{Check, WeatherDay, WeatherSeries, read_file, write};

fn python(arguments: &[&Path]) {
    let python = std::env::var("LIGULE_PYTHON").expect(
        "the environment variable LIGULE_PYTHON names no Python with the tests' packages: run `cargo xtask test`",
    );
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/src/weather/tests/outside.py");
    let output = Command::new(python).arg(script).args(arguments).output().expect("LIGULE_PYTHON starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

fn json(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// Returns our series and what NumPy made of it.
fn seattle(folder: &Path) -> (WeatherSeries, Value) {
    let (csv, sums) = (folder.join("seattle.csv"), folder.join("sums.json"));
    python(&[Path::new("series"), &csv, &sums]);
    (read_file(&csv, None).unwrap(), json(&sums))
}

fn close(ours: f64, theirs: f64) -> bool {
    (ours - theirs).abs() <= 1e-9 * theirs.abs().max(1.0)
}

#[test]
fn degree_days_equal_an_independent_sum() {
    let folder = tempfile::tempdir().unwrap();
    let (series, theirs) = seattle(folder.path());
    assert_eq!((series.days.len(), series.report.missing, series.report.left_out.len()), (1461, 0, 0));
    let mut seasons: BTreeMap<String, Vec<WeatherDay>> = BTreeMap::new();
    for day in &series.days {
        seasons.entry(day.day.year().to_string()).or_default().push(*day);
        let ours = crate::assess::degree_days_fahrenheit(std::slice::from_ref(day));
        let other = theirs["days"][day.day.to_string()].as_f64().unwrap();
        assert!(close(ours.total, other), "{}: {} and {other}", day.day, ours.total);
    }
    assert_eq!(seasons.len(), 4);
    for (season, days) in seasons {
        let ours = crate::assess::degree_days_fahrenheit(&days);
        let other = theirs["seasons"][&season].as_f64().unwrap();
        assert!(other > 1000.0 && close(ours.total, other), "{season}: {} and {other}", ours.total);
        assert_eq!(ours.missing, 0);
    }
}

#[test]
fn other_readers_read_the_same_values() {
    let folder = tempfile::tempdir().unwrap();
    let (mut series, _) = seattle(folder.path());
    for (i, day) in series.days.iter_mut().enumerate() {
        match i % 11 {
            3 => day.tmax_decidegc = None,
            7 => day.precip_decimm = None,
            _ => {}
        }
    }
    let mut text = write::dly("XX000000001", &series.days);
    // A failed check on every day 5 and every day 17 that has a value, made by us in the column of the quality flag.
    text = text.lines().map(|line| flag(&flag(line, 5), 17) + "\n").collect();
    let (dly, read) = (folder.path().join("XX000000001.dly"), folder.path().join("read.json"));
    std::fs::write(&dly, &text).unwrap();
    python(&[Path::new("read"), &dly, &read]);
    let theirs = json(&read);

    let ours = read_file(&dly, None).unwrap();
    // 48 months, three elements, two days each, less the holes made above.
    let flagged = ours.report.failed(Check::Network);
    assert!(flagged > 200 && flagged == ours.report.left_out.len(), "{flagged}");
    let mut values = BTreeMap::new();
    for day in &ours.days {
        for (element, value) in [("TMAX", day.tmax_decidegc), ("TMIN", day.tmin_decidegc), ("PRCP", day.precip_decimm)]
        {
            if let Some(value) = value {
                values.insert(format!("{} {element}", day.day), value);
            }
        }
    }
    let read_by = |name: &str| -> BTreeMap<String, i32> { serde_json::from_value(theirs[name].clone()).unwrap() };
    assert!(values.len() > 3500);
    assert_eq!(values, read_by("pandas"));
    values.retain(|key, _| &key[8..10] != "31");
    assert_eq!(values, read_by("ghcndextractor"));
}

/// Puts a failed check on a day of a line, where there is a value.
fn flag(line: &str, day: usize) -> String {
    let start = 21 + 8 * (day - 1);
    if &line[start..start + 5] == "-9999" {
        line.to_owned()
    } else {
        format!("{}I{}", &line[..start + 6], &line[start + 7..])
    }
}
