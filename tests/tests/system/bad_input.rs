//! What does not hold is refused with what was expected, what came and the nearest valid thing; nothing is written.

use ligule_testkit::{Answer, Place};

use crate::device::Device;

/// Tells that the person was at fault, in one message that names all of `named`.
#[track_caller]
fn is_refused(answer: Answer, typed: &[&str], named: &[&str]) {
    let answer = answer.exits(2);
    assert_eq!(answer.stdout, "", "{typed:?}");
    let said = &answer.stderr;
    assert_eq!(said.lines().filter(|line| line.starts_with("error: ")).count(), 1, "{typed:?} says\n{said}");
    assert!(said.starts_with("error: "), "{typed:?} says\n{said}");
    for name in named {
        assert!(said.contains(name), "{typed:?} does not name `{name}`:\n{said}");
    }
}

/// What was typed, and what the message must name: what came, and what is valid.
type Case<'a> = (&'a [&'a str], &'a [&'a str]);

/// Refuses every case and holds the same before and after.
#[track_caller]
fn nothing_is_written(device: &Device<'_>, cases: &[Case<'_>]) {
    let before = device.holds();
    for (typed, named) in cases {
        is_refused(device.asks(typed), typed, named);
        // Which of them wrote, if one did.
        assert_eq!(device.holds(), before, "after {typed:?}");
    }
}

#[test]
fn unknown_names_are_answered_with_the_nearest() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 29);
    nothing_is_written(
        &imke,
        &[
            (
                &["record", "stand-count", "north-4", "--plants", "30", "--hoop", "30in"],
                &["`north-4`", "did you mean `north-40`"],
            ),
            (&["record", "stand-cout", "north-40", "--plants", "30"], &["'stand-cout'", "'stand-count'"]),
            (
                &["record", "stand-count", "north-40", "--plants", "30", "--lenght", "17ft"],
                &["'--lenght'", "'--length'"],
            ),
            (
                &["record", "stand-count", "north-40", "--plants", "30", "--row", "30furlong"],
                &["`furlong`", "in, ft, yd"],
            ),
            (&["record", "stand-count", "north-40", "--plants", "30", "--row", "30lb"], &["`30lb`", "in, ft, yd"]),
            (
                &["record", "pest-count", "north-40", "--organism", "AGROIPS"],
                &["`AGROIPS`", "did you mean black cutworm (`AGROYP`)?"],
            ),
            (
                &["record", "planting", "north-40", "--day", "2026-05-01", "--crop", "barley"],
                &["`barley`", "the codes are `corn`, `soybean`"],
            ),
            (
                &["record", "weather-day", "north-40", "--day", "2026-05-20"],
                &["`weather-day`", "`ligule import weather FILE`"],
            ),
            (&["recrod", "stand-count", "north-40"], &["'recrod'", "'record'"]),
            (&["list", "north-41"], &["`north-41`", "did you mean `north-40`"]),
            (&["list", "--kind", "stand-cuont"], &["`stand-cuont`", "did you mean `stand-count`"]),
            (&["list", "--sesaon", "2026"], &["'--sesaon'", "'--season'"]),
            (&["list", "--season", "last"], &["'last'", "--season"]),
            (&["list", "--format", "cvs"], &["'cvs'", "text, csv, json, ndjson"]),
            (&["kind", "stand-cuont"], &["`stand-cuont`", "did you mean `stand-count`"]),
            (&["kind", "--language", "de"], &["`de`", "en"]),
            (&["assess", "north-41"], &["`north-41`", "did you mean `north-40`"]),
            (&["advise", "north-41"], &["`north-41`", "did you mean `north-40`"]),
            (&["report", "north-41", "--out", "x.html"], &["`north-41`", "did you mean `north-40`"]),
            (&["compact", "--season", "20x6"], &["'20x6'", "--season"]),
            (&["query", "SELECT plant FROM stand_count"], &["`plant`", "did you mean `plants`"]),
            (&["query", "SELECT * FROM stand_counts"], &["stand_counts", "stand_count"]),
            (&["query", "--describe", "stand_cuont"], &["stand_cuont", "stand_count"]),
            (&["import", "weather", "no-such.dly"], &["no-such.dly"]),
            (&["bundle", "read", "no-such.bundle"], &["no-such.bundle"]),
            (&["advise", "--packs", "no-such-folder"], &["no-such-folder"]),
        ],
    );
    assert!(!place.folder().join("x.html").exists(), "no report is written");
}

#[test]
fn numbers_out_of_bounds_are_refused_with_the_bounds() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 29);
    nothing_is_written(
        &imke,
        &[
            (
                &["record", "stand-count", "north-40", "--plants", "-1", "--hoop", "30in"],
                &["plants", "-1", "between 0 and 1000"],
            ),
            (
                &["record", "stand-count", "north-40", "--plants", "1001", "--hoop", "30in"],
                &["plants", "1001", "between 0 and 1000"],
            ),
            (
                &["record", "stand-count", "north-40", "--plants", "30", "--row", "300in"],
                &["row", "300", "between 4 and 80 in"],
            ),
            (
                &["record", "stand-count", "north-40", "--plants", "30", "--row", "1 cm"],
                &["row", "between 4 and 80 in"],
            ),
            (&["record", "stand-count", "north-40", "--plants", "many", "--hoop", "30in"], &["--plants", "`many`"]),
            (&["record", "stand-count", "north-40", "--plants", "NaN", "--hoop", "30in"], &["--plants", "`NaN`"]),
            (&["record", "stand-count", "north-40", "--plants", "99999999999999999999", "--hoop", "30in"], &["plants"]),
            (&["record", "stand-count", "north-40", "--plants", "", "--hoop", "30in"], &["--plants"]),
            (&["record", "stand-count", "north-40", "--hoop", "30in"], &["--plants"]),
            (
                &["record", "pest-count", "north-40", "--organism", "AGROYP", "--cut", "-2"],
                &["cut", "-2", "below zero"],
            ),
            (
                &["record", "pest-count", "north-40", "--organism", "AGROYP", "--cut", "1.5"],
                &["--cut", "a whole number", "`1.5`"],
            ),
            (&["record", "leaf-stage", "north-40", "--collars", "4 5 -1"], &["collars", "-1", "between 0 and 25"]),
            (&["record", "leaf-stage", "north-40", "--collars", "4 5 99"], &["collars", "99", "between 0 and 25"]),
            (&["record", "leaf-stage", "north-40", "--stage", "V99x"], &["stage", "V99X"]),
            (&["record", "note", "north-40", "--text", "here", "--near", "91,0"], &["91,0"]),
            (&["record", "note", "north-40", "--text", "here", "--by", "  "], &["--by"]),
        ],
    );
}

#[test]
fn the_future_is_refused_unless_the_clock_is_known_to_be_slow() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 29);
    // Far enough ahead that no clock of a machine that runs this is there.
    let time = ["record", "stand-count", "north-40", "--plants", "30", "--hoop", "30in", "--at", "2190-05-20T08:00"];
    let planted = ["record", "planting", "north-40", "--crop", "corn", "--day", "2190-05-01", "--at", "2190-05-01"];
    nothing_is_written(
        &imke,
        &[
            (&time, &["`2190-05-20T08:00`", "future", "clock", "--accept-time"]),
            (&planted, &["2190-05-01", "today", "--accept-time"]),
            (
                &["record", "note", "north-40", "--text", "x", "--at", "2026-02-30T08:00"],
                &["`2026-02-30T08:00`", "expected a time such as"],
            ),
            (
                &["record", "note", "north-40", "--text", "x", "--at", "yesterday"],
                &["`yesterday`", "expected a time such as"],
            ),
            (
                &["record", "planting", "north-40", "--crop", "corn", "--day", "05/01/2026"],
                &["`05/01/2026`", "YYYY-MM-DD"],
            ),
            (&["assess", "north-40", "--as-of", "2026-13-01"], &["'2026-13-01'", "--as-of"]),
        ],
    );
    for (kind, words) in [("stand-count", &time[..]), ("planting", &planted[..])] {
        let mut accepted = words.to_vec();
        accepted.push("--accept-time");
        assert!(imke.does(&accepted).contains(kind));
    }
    assert_eq!(imke.observations().len(), 3);
}

/// A planting of another season would start this one, and one that is still to come is none.
#[test]
fn a_planting_lies_in_the_season_and_before_the_time_of_its_record() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let record = |day: &'static str, at: &'static str| {
        ["record", "planting", "north-40", "--crop", "corn", "--day", day, "--at", at]
    };
    nothing_is_written(
        &imke,
        &[
            (&record("2016-05-01", "2026-05-01"), &["2016-05-01", "another season", "2026", "`--at 2016-05-01`"]),
            (&record("2026-05-02", "2026-05-01"), &["2026-05-02", "after 2026-05-01", "`--day`", "`--at`"]),
        ],
    );
    // Written down late it is a planting all the same; a correction is held to the same.
    let said = imke.does(&record("2026-05-01", "2026-06-20"));
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("it names the key").0;
    nothing_is_written(
        &imke,
        &[
            (&["amend", key, "--day", "2016-05-01"], &["2016-05-01", "another season"]),
            (&["amend", key, "--day", "2026-06-21"], &["2026-06-21", "after 2026-06-20"]),
        ],
    );
    imke.does(&["amend", key, "--day", "2026-05-03"]);
}

#[test]
fn fields_are_checked_before_they_are_added() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let with = |name: &'static str, region: &'static str, zone: &'static str, more: &[&'static str]| {
        let mut words = vec!["field", "add", name, "--grower", "G", "--region", region, "--zone", zone];
        words.extend_from_slice(more);
        words
    };
    let (ia, zone) = ("US-IA", "America/Chicago");
    nothing_is_written(
        &imke,
        &[
            (&with("south", "Iowa", zone, &[]), &["`Iowa`", "`US-IA`"]),
            (&with("south", "us-ia", zone, &[]), &["`us-ia`", "`US-IA`"]),
            (&with("south", ia, "America/Chicgo", &[]), &["`America/Chicgo`", "`America/Chicago`"]),
            (&with("south", ia, "Central time", &[]), &["`Central time`", "`America/Chicago`"]),
            (&with("north-40", ia, zone, &[]), &["`north-40`", "another name"]),
            (&with("south forty", ia, zone, &[]), &["`south forty`", "`north-40`"]),
            (&with("", ia, zone, &[]), &["``", "`north-40`"]),
            (&with("south", ia, zone, &["--crop", "maize"]), &["'maize'", "corn"]),
            (&with("south", ia, zone, &["--row", "30 acres"]), &["row width", "`30in`"]),
            (&with("south", ia, zone, &["--row", "300in"]), &["row width", "`300in`"]),
            (&with("south", ia, zone, &["--area", "-4ac"]), &["area", "-4ac"]),
            (&with("south", ia, zone, &["--near", "north,west"]), &["north,west"]),
            (&["field", "add", "south", "--grower", "G", "--zone", zone], &["--region"]),
        ],
    );
}

#[test]
fn corrections_name_an_observation_and_a_measure_that_are_there() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let key = imke.counts(20, 29);
    let gone = imke.counts(21, 30);
    imke.does(&["void", &gone, "--why", "counted in the wrong field"]);
    // Well formed, and nobody's.
    let nobody = "01ARZ3NDEKTSV4RRFFQ69G5FAV-01";
    nothing_is_written(
        &imke,
        &[
            (&["amend", nobody, "--plants", "30"], &[nobody, "ligule list"]),
            (&["void", nobody, "--why", "wrong"], &[nobody, "ligule list"]),
            (&["history", nobody], &[nobody, "ligule list"]),
            (&["resolve", nobody, "plants", "30"], &[nobody, "ligule list"]),
            (&["history", "the first one"], &["the first one", "ligule list"]),
            (&["amend", &key, "--plnats", "30"], &["`plnats`", "did you mean `plants`"]),
            (&["amend", &key, "--plants", "-30"], &["-30", "between 0 and 1000"]),
            (&["amend", &key, "--row", "30 stone"], &["`30 stone`", "in, ft, yd"]),
            // The first measure holds, the second does not.
            (&["amend", &key, "--plants", "31", "--row", "300in"], &["300", "between 4 and 80 in"]),
            (&["amend", &key, "--plants"], &["`--plants`", "VALUE"]),
            (&["amend", &key, "plants", "30"], &["`plants`", "`--plants`"]),
            (&["amend", &key], &["--MEASURE"]),
            (&["amend", &gone, "--plants", "30"], &[&gone, "void"]),
            (&["void", &gone, "--why", "again"], &[&gone, "counted in the wrong field"]),
            (&["void", &key, "--why", ""], &["reason", "--why"]),
            (&["void", &key, "--why", "   "], &["reason", "--why"]),
            (&["void", &key], &["--why"]),
            (&["resolve", &key, "plants", "30"], &["`plants`", "not in conflict", "ligule amend"]),
            (&["resolve", &key, "plnats", "30"], &["`plnats`", "did you mean `plants`"]),
        ],
    );
}

#[test]
fn one_bad_line_among_good_ones_and_nothing_is_recorded() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 29);
    let before = imke.holds();
    let good = "stand-count north-40 --row 30in --length 17ft5in --plants 31 --at 2026-05-20T08:00";
    for (bad, named) in [
        ("stand-count north-4 --hoop 30in --plants 31", vec!["`north-4`", "did you mean `north-40`"]),
        ("stand-cout north-40 --hoop 30in --plants 31", vec!["'stand-cout'"]),
        ("stand-count north-40 --hoop 30in --plnats 31", vec!["'--plnats'"]),
        ("stand-count north-40 --hoop 30in --plants -31", vec!["-31", "between 0 and 1000"]),
        ("stand-count north-40 --hoop 30stone --plants 31", vec!["`stone`", "in, ft, yd"]),
        ("stand-count north-40 --hoop 30in --plants 31 --at 2190-05-20", vec!["`2190-05-20`", "future"]),
        ("note north-40 --text \"not closed", vec!["quotation mark"]),
        ("stand-count", vec!["which field was observed?", "--plants <"]),
    ] {
        let text = format!("# a morning\n{good}\n\n{good}\n{bad}\n{good}\n");
        std::fs::write(place.folder().join("morning.txt"), text).expect("the folder can be written");
        let typed = ["record", "--lines", "morning.txt"];
        let mut all = vec!["morning.txt, line 5", "nothing was recorded"];
        all.extend(named);
        is_refused(imke.asks(&typed), &[bad], &all);
        assert_eq!(imke.holds(), before, "after {bad}");
    }
    // Every line that does not hold is named, so that a person mends them in one go.
    let text = format!("{good}\nstand-count north-40 --hoop 30in --plants x\n{good}\nnote south --text x\n");
    std::fs::write(place.folder().join("morning.txt"), text).expect("the folder can be written");
    is_refused(
        imke.asks(&["record", "--lines", "morning.txt"]),
        &["two bad lines"],
        &["line 2:", "line 4:", "`south`"],
    );
    // Wrong flags and wrong values alike, several to a line, in one round; what a wrong flag leaves open is not told.
    let bad = "stand-count north-40 --hoop 30stone --plnats 31 --at 2190-05-20\nnote south --text x --colour red\n\
               stand-count north-40 --hoop 30in\nstand-cout north-40\n";
    std::fs::write(place.folder().join("morning.txt"), format!("{good}\n{bad}")).expect("the folder can be written");
    let answer = imke.asks(&["record", "--lines", "morning.txt"]);
    let said = answer.stderr.clone();
    let named = ["'--plnats'", "`stone`", "`2190-05-20`", "'--colour'", "`south`", "--plants <", "'stand-cout'"];
    is_refused(answer, &["four bad lines"], &named);
    for (line, faults) in [(1, 0), (2, 3), (3, 2), (4, 1), (5, 1)] {
        assert_eq!(said.matches(&format!("line {line}: ")).count(), faults, "line {line}:\n{said}");
    }
    std::fs::write(place.folder().join("morning.txt"), "# nothing yet\n\n").expect("the folder can be written");
    is_refused(imke.asks(&["record", "--lines", "morning.txt"]), &["no lines"], &["morning.txt"]);
    is_refused(imke.asks(&["record", "--lines", "evening.txt"]), &["no file"], &["evening.txt"]);
    std::fs::write(place.folder().join("morning.txt"), [0xff, 0xfe, b'\n']).expect("the folder can be written");
    is_refused(imke.asks(&["record", "--lines", "morning.txt"]), &["no text"], &["morning.txt", "text"]);
    is_refused(imke.asks(&["record"]), &["record"], &["stand-count", "--lines"]);
    assert_eq!(imke.holds(), before);
}

#[test]
fn weather_that_cannot_be_read_is_refused_whole() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let before = imke.holds();
    for (text, named) in [
        (&b""[..], vec!["days.csv", "empty"]),
        (b"Monday was warm.\n", vec!["days.csv", "date,tmin_c,tmax_c"]),
        (b"date,tmin,tmax\n2026-05-01,50,70\n", vec!["`tmin`", "`tmin_c` or `tmin_f`"]),
        (b"date,tmin_c,tmax_c\n2026-05-01,5,21\n2026-05-02,warm,22\n", vec!["days.csv", "warm"]),
        (b"date,tmin_c,tmax_c\n2026-05-01,5,21\n2026-02-30,5,22\n", vec!["days.csv", "2026-02-30"]),
        (b"date,tmin_c,tmax_c\n2026-05-01,5,21\n2026-05-02,5\n", vec!["days.csv"]),
        (&[0xa7, 0xff, 0, b'\n', 0xa7], vec!["days.csv"]),
    ] {
        std::fs::write(place.folder().join("days.csv"), text).expect("the folder can be written");
        let typed = ["import", "weather", "days.csv", "--station", "home"];
        is_refused(imke.asks(&typed), &[&String::from_utf8_lossy(text)], &named);
        assert_eq!(imke.holds(), before, "after {}", String::from_utf8_lossy(text));
    }
}

#[test]
fn a_journal_is_started_once_and_by_someone() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 29);
    let before = imke.holds();
    is_refused(imke.asks(&["init", "--person", "Tomas"]), &["init"], &["imke"]);
    assert_eq!(imke.holds(), before);
    for person in ["", "  "] {
        let typed = ["--journal", "other", "init", "--person", person];
        is_refused(place.ligule(&typed), &typed, &["--person"]);
    }
    assert!(!place.folder().join("other").exists(), "no folder is left behind");
    let typed = ["--journal", "other", "list"];
    is_refused(place.ligule(&typed), &typed, &["other", "ligule init"]);
    std::fs::write(place.folder().join("notes.txt"), "a file").expect("writes");
    for (folder, command) in [("notes.txt", "init"), ("notes.txt/deeper", "init"), ("notes.txt", "list")] {
        let typed = ["--journal", folder, command, "--person", "Tomas"];
        let typed = if command == "list" { &typed[..3] } else { &typed };
        is_refused(place.ligule(typed), typed, &[folder, "notes.txt is a file", "--journal"]);
    }
    assert!(!place.folder().join("other").exists(), "asking makes no journal");
}
