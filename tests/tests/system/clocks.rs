//! Devices whose clocks are wrong meet.

use std::path::PathBuf;
use std::process::Command;

use ligule_testkit::Place;

use crate::device::{Device, Waiting};

/// Puts the wall clock of a process forward by `LIGULE_TEST_CLOCK` seconds; the clock that measures durations stays.
const SHIM: &str = r#"
#define _GNU_SOURCE
#include <stdlib.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

int clock_gettime(clockid_t clock, struct timespec *now) {
    long failed = syscall(SYS_clock_gettime, clock, now);
    const char *ahead = getenv("LIGULE_TEST_CLOCK");
    if (failed == 0 && clock == CLOCK_REALTIME && ahead) now->tv_sec += atol(ahead);
    return failed;
}
"#;

const DAY: i64 = 86_400;

/// Builds a library that stands between a process and its clock; `None`, said, on systems other than Linux.
///
/// # Panics
///
/// Panics where the C compiler that the README asks for is missing or fails: a check of clocks is not passed over.
fn shim(place: &Place) -> Option<PathBuf> {
    if !cfg!(target_os = "linux") {
        eprintln!("SKIPPED: wrong clocks are tried on Linux alone, where a library can be preloaded");
        return None;
    }
    let (source, library) = (place.folder().join("clock.c"), place.folder().join("clock.so"));
    std::fs::write(&source, SHIM).expect("it can be written");
    let mut compiler = Command::new("cc");
    let built = compiler.args(["-shared", "-fPIC", "-O1", "-o"]).arg(&library).arg(&source).output();
    let built = built.expect("`cc` starts");
    assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
    Some(library)
}

/// The environment of a process whose clock is ahead by so many seconds.
fn by_clock(mut command: Command, shim: &std::path::Path, ahead: i64) -> Command {
    command.env("LD_PRELOAD", shim).env("LIGULE_TEST_CLOCK", ahead.to_string());
    command
}

fn asks(device: &Device<'_>, shim: &std::path::Path, ahead: i64, words: &[&str]) -> (String, String) {
    let words: Vec<&str> = ["--journal", device.name()].iter().chain(words).copied().collect();
    let output = by_clock(device.place().command(&words), shim, ahead).output().expect("`ligule` starts");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    let (said, told) = (text(output.stdout), text(output.stderr));
    assert!(output.status.success(), "{words:?}: {said}{told}");
    (said, told)
}

#[test]
fn a_wrong_clock_is_told_on_both_sides_when_devices_meet() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    let wrong = [(0, None), (120, None), (3 * DAY + 7200, Some("3 days 2 h")), (-6 * 365 * DAY, Some("about 6 years"))];
    for (ahead, told) in wrong {
        imke.counts(20, 1);
        let serving = Waiting::serving(&imke, "1");
        let (_, here) = asks(&tomas, &shim, ahead, &["sync", "with", serving.address()]);
        let there = serving.ends().stderr;
        match told {
            None => assert_eq!((here.as_str(), there.as_str()), ("", ""), "{ahead}"),
            Some(span) => {
                let (one, other) = if ahead > 0 { ("behind", "ahead of") } else { ("ahead of", "behind") };
                for (text, person, direction) in [(&here, "imke", one), (&there, "tomas", other)] {
                    assert!(
                        text.contains(&format!("the clock of {person}'s device is {span}")) || text.contains("h"),
                        "{text}"
                    );
                    assert!(text.contains(&format!(" {direction} this device's")), "{ahead}: {text}");
                    assert!(text.contains("set it to the true time"), "{text}");
                }
                // The exchange is done all the same.
                assert_eq!(imke.holds(), tomas.holds());
            }
        }
    }
}

/// What a wrong clock dated keeps the time that it told, and still stands in the order in which it came about.
#[test]
fn times_keep_the_claim_of_the_device_and_the_order() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    let key = imke.counts(20, 31);
    imke.exchanges_with(&tomas);
    // Two years ahead: it corrects after the first; then the right clock corrects what it has seen.
    asks(&tomas, &shim, 2 * 365 * DAY, &["amend", &key, "--plants", "32"]);
    let serving = Waiting::serving(&tomas, "1");
    let told = imke.asks(&["sync", "with", serving.address()]).exits(0).stderr;
    serving.ends();
    assert!(told.contains("a clock was wrong") && told.contains("1 change of north-40 2026"), "{told}");
    assert!(told.contains("ligule history OBSERVATION"), "{told}");
    imke.does(&["amend", &key, "--plants", "33"]);
    // Six years behind: it corrects last of all.
    imke.exchanges_with(&tomas);
    asks(&tomas, &shim, -6 * 365 * DAY, &["amend", &key, "--plants", "34"]);
    imke.exchanges_with(&tomas);
    for device in [&imke, &tomas] {
        let history = device.does(&["history", &key, "--format", "ndjson"]);
        let plants: Vec<serde_json::Value> = (history.lines())
            .map(|line| serde_json::from_str(line).expect("an object"))
            .filter(|one: &serde_json::Value| one["measure"] == "plants")
            .collect();
        let values: Vec<String> =
            plants.iter().map(|one| one["value"].as_str().unwrap_or_default().to_owned()).collect();
        assert_eq!(values, ["31", "32", "33", "34"], "{history}");
        let times: Vec<&str> = plants.iter().map(|one| one["at"].as_str().expect("a time")).collect();
        assert!(times[1] > times[2] && times[3] < times[0], "each time is what its device told: {times:?}");
        assert!(device.lists().contains("\"plants\":\"34\""), "the last holds, whatever its clock says");
        assert_eq!(device.does(&["conflicts"]).trim(), "no conflicts", "nothing was concurrent");
    }
}

/// A clock that is behind what the journal holds is told with the record that it dates, unless the person tells the time.
#[test]
fn a_clock_behind_the_journal_is_told_with_the_record() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let count = ["record", "stand-count", "north-40", "--row", "30in", "--length", "17ft5in", "--plants", "31"];
    for (ahead, is_told) in [(-1000 * DAY, true), (-2 * DAY, true), (-3600, false), (0, false)] {
        let (said, told) = asks(&imke, &shim, ahead, &count);
        assert!(said.starts_with("recorded"), "{said}");
        assert_eq!(told.contains("this device's clock tells 20") && told.contains("`--at`"), is_told, "{told}");
    }
    let dated = [&count[..], &["--at", "2026-05-20T08:00", "--accept-time"]].concat();
    let (_, told) = asks(&imke, &shim, -1000 * DAY, &dated);
    assert!(!told.contains("clock"), "{told}");
}

/// A clock that was days or years behind, and is right again when devices meet: what it dated is named on both sides until it
/// is void, since the field was not there yet.
#[test]
fn what_a_slow_clock_dated_is_named_after_it_was_set_right() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    let count = ["record", "stand-count", "north-40", "--row", "30in", "--length", "17ft5in", "--plants", "31"];
    let mut keys = Vec::new();
    for behind in [3 * DAY, 3 * 365 * DAY] {
        let (said, told) = asks(&tomas, &shim, -behind, &count);
        assert!(told.contains("this device's clock tells 20"), "{told}");
        keys.push(said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("a key").0.to_owned());
    }
    // What was dated so by a person, with a right clock or a wrong one, is as it should be; so is what a sheet tells.
    tomas.does(&[&count[..], &["--at", "2019-06-01T08:00"]].concat());
    let sheet = "field,day,row (in),length (ft),plants\nnorth-40,2019-06-02,30,17.5,30\n";
    std::fs::write(place.folder().join("old.csv"), sheet).expect("it can be written");
    tomas.does(&["import", "observations", "old.csv", "--kind", "stand-count", "--by", "tomas", "--yes"]);
    for (wrong, again) in [(true, false), (true, true), (false, false)] {
        let serving = Waiting::serving(&imke, "1");
        let here = tomas.asks(&["sync", "with", serving.address()]).exits(0).stderr;
        let there = serving.ends().stderr;
        for told in [here, there] {
            assert_eq!(told.contains("2 observations are dated before the field was added"), wrong, "{told}");
            assert!(keys.iter().all(|key| told.contains(key.as_str()) == wrong), "{told}");
            assert_eq!(told.lines().count(), usize::from(wrong), "{told}");
        }
        if again {
            keys.iter().for_each(|key| drop(tomas.does(&["void", key, "--why", "wrong clock"])));
        }
    }
    // The time that is typed holds, and the change tells another: that is said once.
    asks(&tomas, &shim, -1000 * DAY, &[&count[..], &["--at", "2026-06-01T08:00", "--accept-time"]].concat());
    for told in [true, false] {
        let serving = Waiting::serving(&imke, "1");
        tomas.asks(&["sync", "with", serving.address()]).exits(0);
        let there = serving.ends().stderr;
        assert!(!there.contains("observations are dated"), "{there}");
        assert_eq!(there.contains("1 change of north-40 2026"), told, "{there}");
    }
}

/// A clock that was days behind on a field known for months: what it dated was made after what others dated later.
#[test]
fn a_slow_clock_on_a_field_known_for_long_is_told_by_what_its_changes_stand_on() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::new(&place, "imke");
    asks(
        &imke,
        &shim,
        -300 * DAY,
        &[
            "field",
            "add",
            "north-40",
            "--grower",
            "Voss Farm",
            "--region",
            "US-IA",
            "--zone",
            "America/Chicago",
            "--crop",
            "corn",
        ],
    );
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    let count = ["record", "stand-count", "north-40", "--row", "30in", "--length", "17ft5in", "--plants", "31"];
    imke.does(&count);
    imke.exchanges_with(&tomas);
    let (said, told) = asks(&tomas, &shim, -5 * DAY, &count);
    assert!(told.contains("but north-40 was last seen on 20"), "{told}");
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("a key").0;
    let serving = Waiting::serving(&imke, "1");
    tomas.asks(&["sync", "with", serving.address()]).exits(0);
    let there = serving.ends().stderr;
    assert!(there.contains("a clock was wrong, of tomas's device or of another: 1 change of north-40"), "{there}");
    assert!(there.contains(key) && there.contains("earlier time"), "{there}");
}

/// Whoever joins with a wrong clock is told, and the inviter too; an invitation expires by the inviter's clock.
#[test]
fn a_wrong_clock_is_told_on_both_sides_when_a_device_joins() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    for (n, (ahead, span)) in
        [(0, None), (10 * DAY, Some("10 days")), (-10 * 365 * DAY, Some("about 10 years"))].into_iter().enumerate()
    {
        let joiner = Device::new(&place, ["one", "two", "three"][n]);
        let inviting = Waiting::start(&imke, &["crew", "invite", "--listen", "127.0.0.1:0"]);
        let ticket = inviting.first_line.clone();
        let (said, here) = asks(&joiner, &shim, ahead, &["crew", "join", &ticket]);
        let there = inviting.ends();
        assert!(said.contains("imke") && there.stdout.contains("joined"), "{said} {}", there.stdout);
        match span {
            None => assert!(!here.contains("clock") && there.stderr.is_empty(), "{here}{}", there.stderr),
            Some(span) => {
                let (one, other) = if ahead > 0 { ("behind", "ahead of") } else { ("ahead of", "behind") };
                assert!(here.contains(&format!("the clock of imke's device is {span} {one} this")), "{here}");
                assert!(there.stderr.contains(&format!("'s device is {span} {other} this")), "{}", there.stderr);
            }
        }
        // A ticket that was used is refused, and a wrong clock told with it; where nobody answers, this clock alone tells.
        if ahead > 0 {
            let late = Device::new(&place, "late");
            let words = ["--journal", late.name(), "crew", "join", &ticket];
            let refused = by_clock(place.command(&words), &shim, ahead).output().expect("it starts");
            let told = String::from_utf8_lossy(&refused.stderr).into_owned();
            assert_eq!(refused.status.code(), Some(5), "{told}");
            assert!(
                told.contains("the invitation expired 9 days 23 h ago") && told.contains("clock if it is wrong"),
                "{told}"
            );
        }
    }
}

/// A bundle written tomorrow tells the same.
#[test]
fn a_bundle_from_the_future_is_told() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    for (ahead, told) in [(0, false), (-400 * DAY, false), (DAY, true)] {
        imke.counts(20, 30);
        asks(&imke, &shim, ahead, &["bundle", "write", "stick.ligule-bundle"]);
        let answer = tomas.asks(&["bundle", "read", "stick.ligule-bundle"]).exits(0);
        assert_eq!(answer.stderr.contains("the clock of imke's device is"), told, "{ahead}: {}", answer.stderr);
        assert_eq!(imke.lists(), tomas.lists());
    }
}

/// Observations that a wrong clock dated are named to both people in plain words, until they are void.
#[test]
fn what_a_wrong_clock_dated_is_named_on_both_sides() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    let count = ["record", "stand-count", "north-40", "--row", "30in", "--length", "17ft5in", "--plants", "31"];
    let mut keys = Vec::new();
    for ahead in [365 * DAY, -40 * 365 * DAY] {
        let (said, _) = asks(&tomas, &shim, ahead, &count);
        keys.push(said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("a key").0.to_owned());
    }
    // What was dated so on purpose, by a clock that was right, is no clock's fault.
    tomas.does(&[&count[..], &["--at", "1995-06-01T08:00"]].concat());
    for wrong in [true, false] {
        let serving = Waiting::serving(&imke, "1");
        let here = tomas.asks(&["sync", "with", serving.address()]).exits(0).stderr;
        let there = serving.ends().stderr;
        for told in [here, there] {
            if !wrong {
                assert_eq!(told, "");
                continue;
            }
            assert!(told.contains("a clock of tomas's device was wrong: 2 observations tell a time"), "{told}");
            assert!(keys.iter().all(|key| told.contains(key.as_str())), "{told}");
            assert!(told.contains("(stand-count on north-40, ") && told.contains("`ligule list --season "), "{told}");
            assert!(!told.contains("WARN") && told.lines().count() == 1, "{told}");
        }
        if wrong {
            keys.iter().for_each(|key| drop(tomas.does(&["void", key, "--why", "wrong clock"])));
        }
    }
}

/// What a fast clock dated stays wrong when the day that it told has come.
#[test]
fn what_a_fast_clock_dated_is_named_also_after_that_day() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    let count = ["record", "stand-count", "north-40", "--row", "30in", "--length", "17ft5in", "--plants", "31"];
    let (said, _) = asks(&tomas, &shim, 3 * DAY, &count);
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("a key").0;
    for (later, named) in [(0, true), (5 * DAY, true), (5 * DAY, false)] {
        let file = format!("{later}-{named}.ligule-bundle");
        if !named {
            tomas.does(&["void", key, "--why", "wrong clock"]);
        }
        tomas.does(&count);
        tomas.does(&["bundle", "write", &file]);
        let (_, told) = asks(&imke, &shim, later, &["bundle", "read", &file]);
        assert_eq!(told.contains(key) && told.contains("a time that cannot be"), named, "{told}");
    }
}

/// A sample that was begun ten days ago is dated by its last answer, which is told before anything is asked.
#[test]
fn a_sample_is_dated_by_its_last_answer() {
    let place = Place::new();
    let Some(shim) = shim(&place) else { return };
    let imke = Device::with_field(&place, "imke");
    let zone = jiff::tz::TimeZone::get("America/Chicago").expect("a zone");
    let day = |ago: i64| {
        let then = jiff::Timestamp::now() - jiff::SignedDuration::from_hours(24 * ago);
        then.to_zoned_datetime(zone.clone()).date().to_string()
    };
    let answers = |ahead: i64, lines: &str| -> String {
        let file = place.folder().join("answers");
        std::fs::write(&file, lines).expect("it can be written");
        let words = ["--journal", imke.name(), "visit", "north-40", "--kinds", "stand-count"];
        let mut visit = by_clock(place.command(&words), &shim, ahead);
        let output = visit.stdin(std::fs::File::open(&file).expect("it is there")).output().expect("`ligule` starts");
        assert!(output.status.success(), "{output:?}");
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    for (then, now, dated) in
        [("30in\n", "17ft5in\n31\ndone\nfinish\n", 0), ("30in\n17ft5in\n29\n", "done\nfinish\n", 10)]
    {
        answers(-10 * DAY, then);
        let said = answers(0, now);
        assert!(said.contains(&format!("was begun on {}", day(10))) && said.contains("--new"), "{said}");
        let listed = imke.observations();
        let plants = if dated == 0 { "31" } else { "29" };
        let one = listed.iter().find(|one| one["values"]["plants"].as_str().is_some_and(|n| n.starts_with(plants)));
        let at = one.expect("it is recorded")["at"].as_str().expect("a time").to_owned();
        assert!(at.starts_with(&day(dated)), "{at}: {said}");
    }
}
