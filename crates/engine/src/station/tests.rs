//! What a weather file writes into a journal, and what it leaves as it is.

use jiff::civil::date;
use ligule_observation::record::Void;

use super::*;
use crate::weather::Format;

/// A journal, and weather files beside it.
struct Place {
    folder: tempfile::TempDir,
    engine: Engine,
}

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let engine = Engine::init(&folder.path().join("journal"), "Ann", "crew").unwrap();
        Self { folder, engine }
    }

    /// Imports a file with these rows of day, minimum and maximum in °C.
    fn import(&mut self, rows: &str) -> Imported {
        self.try_import(&format!("date,tmin_c,tmax_c\n{rows}"), Some("home"), None, false).unwrap()
    }

    fn try_import(
        &mut self,
        text: &str,
        station: Option<&str>,
        layout: Option<Format>,
        accept_time: bool,
    ) -> Result<Imported> {
        let file = self.folder.path().join("weather.csv");
        std::fs::write(&file, text).unwrap();
        self.engine.import_weather(&file, station, layout, accept_time)
    }

    fn day(&self, day: Date) -> Record {
        let feature = Feature::Station("home".to_owned());
        self.engine.days_of(&feature, day.year().into()).unwrap().remove(&day).unwrap()
    }

    fn days(&self) -> usize {
        self.engine.journal.records(&Filter::default()).unwrap().len()
    }
}

fn counts(imported: &Imported) -> [usize; 4] {
    [imported.new, imported.filled, imported.differing, imported.unchanged]
}

const FIRST: Date = Date::constant(2024, 5, 1);

#[test]
fn a_corrected_file_fills_what_was_missing_and_tells_what_differs() {
    let mut place = Place::new();
    let first = place.import("2024-05-01,7.8,\n2024-05-02,-1.5,21.0\n2024-05-03,5.0,15.0\n");
    assert_eq!((counts(&first), first.missing, first.warnings.len()), ([3, 0, 0, 0], 1, 0));
    assert_eq!(first.to_string(), "recorded 3 days of station home (2024-05-01 to 2024-05-03); 1 temperature missing");

    let corrected = "2024-05-01,7.8,26.7\n2024-05-02,-3.2,21.3\n2024-05-03,5.0,15.0\n2024-05-04,6.0,16.0\n";
    let second = place.import(corrected);
    assert_eq!((counts(&second), second.missing), ([1, 1, 1, 1], 0));
    assert_eq!(place.day(FIRST).int("tmax"), Some(267), "what was missing is there now");
    let kept = place.day(date(2024, 5, 2));
    assert_eq!((kept.int("tmin"), kept.int("tmax")), (Some(-15), Some(210)), "what was there stays");
    assert_eq!(
        second.warnings,
        [format!(
            "2024-05-02: the file says tmax 21.3, not 21, and tmin -3.2, not -1.5; the journal keeps what it has; to \
             correct it: `ligule amend {} --tmax 21.3°C --tmin -3.2°C`",
            kept.key
        )]
    );
    assert_eq!(
        second.to_string(),
        "recorded 1 day of station home (2024-05-01 to 2024-05-04); 3 were there already: 1 filled in, 1 differs, 1 \
         unchanged; 0 temperatures missing"
    );

    // A third time there is nothing to fill, and the difference is told again.
    let third = place.import(corrected);
    assert_eq!((counts(&third), third.warnings.len()), ([0, 0, 1, 3], 1));
    let history = place.engine.history(&kept.key).unwrap();
    assert_eq!(history.iter().filter(|line| line.measure == "tmax").count(), 1, "{history:?}");
    // A file that lacks a value takes nothing away.
    let fourth = place.import("2024-05-01,7.8,\n");
    assert_eq!((counts(&fourth), place.day(FIRST).int("tmax")), ([0, 0, 0, 1], Some(267)));
}

#[test]
fn a_void_day_stays_void() {
    let mut place = Place::new();
    place.import("2024-05-01,7.8,\n");
    let key = place.day(FIRST).key;
    let void = Void { why: "broken shield".to_owned(), by: "Ann".to_owned(), at: now(), also: Vec::new() };
    place.engine.journal.void(&key, &void).unwrap();
    let again = place.import("2024-05-01,7.8,26.7\n");
    assert_eq!(counts(&again), [0, 0, 0, 1]);
    assert_eq!(again.warnings, ["2024-05-01: the day is void and stays so"]);
    assert_eq!(place.day(FIRST).int("tmax"), None);
}

#[test]
fn values_withdrawn_by_the_network_are_told() {
    let mut place = Place::new();
    let row = |flag: &str| format!("home,20240501,TMAX,  267,,{flag},X,\nhome,20240501,TMIN,   78,,,X,\n");
    let first = place.try_import(&row(""), None, None, false).unwrap();
    assert_eq!((counts(&first), first.flagged), ([1, 0, 0, 0], 0));
    let second = place.try_import(&row("G"), None, None, false).unwrap();
    assert_eq!((counts(&second), second.flagged, second.failed, second.missing), ([0, 0, 0, 1], 1, 0, 0));
    assert!(
        second.warnings[0].starts_with("2024-05-01: tmax failed a check, the journal keeps 26.7; if that is wrong"),
        "{:?}",
        second.warnings
    );
    assert_eq!(
        second.to_string(),
        "recorded 0 days of station home (2024-05-01 to 2024-05-01); 1 was there already: 1 unchanged; 1 value flagged \
         by the network left out; 0 temperatures missing"
    );
}

#[test]
fn values_that_fail_our_own_check_are_counted_once_and_by_their_name() {
    let mut place = Place::new();
    let imported = place.import("2024-05-01,12,5\n2024-05-02,5,12\n2024-05-03,5,\n");
    assert_eq!((imported.flagged, imported.failed, imported.missing), (0, 2, 1));
    assert_eq!(
        imported.to_string(),
        "recorded 2 days of station home (2024-05-01 to 2024-05-03); 2 values that failed our own checks left out; 1 \
         temperature missing"
    );
}

#[test]
fn days_of_the_future_are_refused_unless_accepted() {
    let mut place = Place::new();
    let today = now().to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    let in_days = |n: i64| today.saturating_add(jiff::Span::new().days(n));
    let file = |n: i64| format!("date,tmin_c,tmax_c\n{today},5,12\n{},5,12\n", in_days(n));
    let error = place.try_import(&file(3), Some("home"), None, false).unwrap_err();
    assert!(error.message.contains(&format!("1 day lies in the future, the first on {}", in_days(3))), "{error}");
    assert!(error.hint.unwrap().contains("--accept-time"));
    assert_eq!(place.days(), 0, "nothing was written");
    // East of Greenwich it is tomorrow already.
    assert_eq!(counts(&place.try_import(&file(1), Some("home"), None, false).unwrap()), [2, 0, 0, 0]);
    assert_eq!(counts(&place.try_import(&file(3), Some("home"), None, true).unwrap()), [1, 0, 0, 1]);
}

#[test]
fn a_file_that_does_not_tell_its_layout_is_read_by_the_one_named() {
    let mut place = Place::new();
    let text = "\"STATION\",\"DATE\",\"TMAX\",\"TMAX_ATTRIBUTES\",\"TMIN\",\"TMIN_ATTRIBUTES\"\n\
                \"home\",\"2024-05-01\",\"  267\",\",,W\",\"   78\",\",,W\"\n";
    let error = place.try_import(text, None, None, false).unwrap_err();
    assert!(error.message.contains("`--layout ghcn-access-tenths`"), "{error}");
    assert_eq!(place.days(), 0, "nothing was written");
    let imported = place.try_import(text, None, Some(Format::GhcnAccessTenths), false).unwrap();
    assert_eq!((counts(&imported), imported.station.as_str()), ([1, 0, 0, 0], "home"));
    assert_eq!(place.day(FIRST).int("tmax"), Some(267));
}

#[test]
fn many_differences_are_told_in_short() {
    let mut place = Place::new();
    let file = |high: i32| -> String { (1..=30).map(|d| format!("2024-06-{d:02},5,{high}\n")).collect() };
    place.import(&file(20));
    let again = place.import(&file(21));
    assert_eq!((counts(&again), again.warnings.len()), ([0, 0, 30, 0], WARNED + 1));
    assert_eq!(again.warnings[WARNED], "20 more warnings such as these");
}
