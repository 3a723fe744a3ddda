//! Any number of processes share one journal, and none loses what it was told.

use std::collections::BTreeSet;
use std::process::Child;
use std::time::Duration;

use ligule_testkit::Place;

use crate::device::{Device, Waiting};

/// Waits for a process that ends well.
#[track_caller]
fn ends_well(child: Child) {
    let output = child.wait_with_output().expect("the process is ours");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{}\n{said}", output.status);
    assert_eq!(said, "");
}

/// Holds every observation once, in lists that are what the documents say.
#[track_caller]
fn holds(device: &Device<'_>, expected: usize) {
    let listed = device.observations();
    assert_eq!(listed.len(), expected);
    let keys: BTreeSet<&str> = listed.iter().map(|one| one["observation"].as_str().expect("a key")).collect();
    assert_eq!(keys.len(), expected, "each has a key of its own");
    let said = device.does(&["journal", "verify"]);
    let observations = if expected == 1 { "observation" } else { "observations" };
    assert!(said.contains(&format!("and {expected} {observations} are whole")), "{said}");
}

#[test]
fn two_processes_record_a_thousand_each_into_one_document() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    // Every line differs from every other, so that each can be found again.
    for (file, organism) in [("cutworms.txt", "AGROYP"), ("armyworms.txt", "PSEDUN")] {
        let lines: Vec<String> = (1..=1000)
            .map(|n| format!("pest-count north-40 --organism {organism} --plants {n} --at 2026-05-20T08:00"))
            .collect();
        std::fs::write(place.folder().join(file), lines.join("\n")).expect("the folder can be written");
    }
    let both = ["cutworms.txt", "armyworms.txt"].map(|file| imke.starts(&["record", "--lines", file]));
    both.into_iter().for_each(ends_well);
    holds(&imke, 2000);
    let listed = imke.observations();
    for organism in ["AGROYP", "PSEDUN"] {
        let plants: BTreeSet<u32> = listed
            .iter()
            .filter(|one| one["values"]["organism"] == organism)
            .map(|one| one["values"]["plants_examined"].as_str().and_then(|n| n.parse().ok()).expect("a number"))
            .collect();
        assert_eq!(plants, (1..=1000).collect(), "of {organism}");
    }
}

#[test]
fn single_records_from_two_sides_while_a_third_lists() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    std::thread::scope(|scope| {
        let sides = [1, 2].map(|side| {
            let imke = &imke;
            scope.spawn(move || (0..25).map(|n| imke.counts(20, 100 * side + n)).collect::<Vec<_>>())
        });
        let mut seen = 0;
        while !sides.iter().all(std::thread::ScopedJoinHandle::is_finished) {
            let now = imke.observations().len();
            assert!(now >= seen, "{seen} were listed, now {now}");
            seen = now;
        }
        let told: BTreeSet<String> = sides.into_iter().flat_map(|side| side.join().expect("it recorded")).collect();
        let listed: BTreeSet<String> =
            imke.observations().iter().map(|one| one["observation"].as_str().expect("a key").to_owned()).collect();
        assert_eq!(told, listed, "what was said to be recorded is what is listed");
    });
    holds(&imke, 50);
}

/// "Recorded" is said once everything is on the disk; a process that is ended before has recorded nothing.
#[test]
fn a_process_that_is_ended_in_between_has_recorded_all_or_nothing() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let lines = vec!["stand-count north-40 --hoop 30in --plants 18 --at 2026-05-20T08:00"; 2000];
    std::fs::write(place.folder().join("lines.txt"), lines.join("\n")).expect("the folder can be written");
    let mut held = 0;
    for wait in [20, 60, 100, 150, 200, 300, 400] {
        let mut child = imke.starts(&["record", "--lines", "lines.txt"]);
        std::thread::sleep(Duration::from_millis(wait));
        child.kill().expect("the process is ours");
        let output = child.wait_with_output().expect("the process is ours");
        let now = imke.observations().len();
        println!("after {wait} ms: {} and {} listed", output.status, now);
        if output.stdout.starts_with(b"recorded") {
            assert_eq!(now, held + 2000, "it said so");
        }
        assert!(now == held || now == held + 2000, "{held} before, {now} now");
        held = now;
        if held > 0 {
            holds(&imke, held);
        }
        imke.counts(21, 30);
        held += 1;
    }
}

/// So many that they are recorded in several transactions, so that nobody else waits.
pub(crate) const VERY_MANY: usize = 10_000;

/// What records so many.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Way {
    Sheet,
    Lines,
}

/// Makes a sheet of counts, or lines of them, of a year; returns the command that records them.
pub(crate) fn very_many(place: &Place, way: Way, year: u32) -> [&'static str; 3] {
    let (name, text, words) = match way {
        Way::Sheet => {
            let row =
                |n: usize| format!("north-40,{year}-04-02,{:02}:{:02},imke,30,17.5,{}\n", n / 60 % 24, n % 60, n % 40);
            let head = "field,date,time,scout,row width (in),length (ft),plants\n".to_owned();
            let sheet: String = std::iter::once(head).chain((0..VERY_MANY).map(row)).collect();
            ("counts.csv", sheet, ["import", "observations", "counts.csv"])
        }
        Way::Lines => {
            let line =
                |n: usize| format!("stand-count north-40 --hoop 30in --plants {} --at {year}-05-20T08:00\n", n % 40);
            ("counts.txt", (0..VERY_MANY).map(line).collect(), ["record", "--lines", "counts.txt"])
        }
    };
    std::fs::write(place.folder().join(name), text).expect("the folder can be written");
    words
}

/// Starts a process and returns once it begins to keep what it records: what it does before that writes nothing.
pub(crate) fn begun(device: &Device<'_>, words: &[&str]) -> Child {
    // The file that it locks tells.
    let lock = device.folder().join("journal.sqlite-large");
    let _ = std::fs::remove_file(&lock);
    let mut child = device.starts(words);
    while !lock.exists() {
        assert!(child.try_wait().expect("the process is ours").is_none(), "it has not begun and is over");
        std::thread::sleep(Duration::from_millis(1));
    }
    child
}

/// Ends a process after so long; tells whether it said that it recorded.
pub(crate) fn ends(mut child: Child, after: Duration) -> bool {
    std::thread::sleep(after);
    child.kill().expect("the process is ours");
    child.wait_with_output().expect("the process is ours").stdout.starts_with(b"recorded")
}

/// Records very many with nobody in the way; returns how long that took from when it began to keep them.
pub(crate) fn usual(device: &Device<'_>, way: Way, year: u32) -> Duration {
    let mut words = very_many(device.place(), way, year).to_vec();
    if let Way::Sheet = way {
        // What its columns tell is kept, and not asked again.
        words.push("--yes");
    }
    let child = begun(device, &words);
    let start = std::time::Instant::now();
    let output = child.wait_with_output().expect("the process is ours");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    start.elapsed()
}

/// Counts what is listed of a year.
pub(crate) fn of_year(device: &Device<'_>, year: u32) -> usize {
    device.does(&["list", "--season", &year.to_string(), "--kind", "stand-count", "--format", "ndjson"]).lines().count()
}

/// What the command that comes after a large recording says, if that was cut short.
pub(crate) const CUT_SHORT: &str = "note: a recording of 10000 observations was cut short and is being finished\n";

/// Ended at any moment, what is recorded in several transactions is there whole after the next command, or not at all.
#[test]
fn very_many_are_recorded_all_or_nothing_too() {
    for way in [Way::Sheet, Way::Lines] {
        let place = Place::new();
        let imke = Device::with_field(&place, "imke");
        let usual = usual(&imke, way, 2010);
        let mut held = imke.observations().len();
        let (mut part, mut finished) = (0, 0);
        // Early, in the middle, late; again where the machine was so much slower or quicker than before that none was between.
        while part < 3 || finished == 0 && part < 9 {
            part += 1;
            let year = 2020 + part;
            let child = begun(&imke, &very_many(&place, way, year));
            let moment = usual * (2 * ((part - 1) % 3) + 1) / 6;
            let said = ends(child, moment);
            let next = imke.asks(&["record", "note", "north-40", "--text", "rain"]).exits(0);
            let now = of_year(&imke, year);
            println!("{way:?}, ended after {moment:?}: {now} are there; {}", next.stderr.trim());
            assert!(now == 0 || now == VERY_MANY, "{now} of {VERY_MANY}");
            assert!(!said || now == VERY_MANY, "it said so");
            assert!(next.stderr.is_empty() || next.stderr == CUT_SHORT && now == VERY_MANY, "{}", next.stderr);
            finished += usize::from(!next.stderr.is_empty());
            held += now + 1;
            if let (Way::Sheet, 3) = (way, part) {
                // A sheet that comes again brings what is not there, whoever recorded the rest.
                let again = imke.does(&very_many(&place, way, year));
                let there = if now == 0 { "" } else { "; 10000 there already" };
                assert!(again.ends_with(&format!("{there}\n")), "{again}");
                held += VERY_MANY - now;
                assert_eq!(of_year(&imke, year), VERY_MANY);
            }
        }
        assert!(finished > 0, "none of these moments lay between the first transaction and the last");
        let said = imke.does(&["journal", "verify"]);
        assert!(said.contains(&format!("and {held} observations are whole")), "{said}");
    }
}

/// Two large recordings at once: one waits for the other, and both are there.
#[test]
fn two_large_recordings_at_once_are_both_there() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let lines = very_many(&place, Way::Lines, 2024);
    let both = [0, 1].map(|_| imke.starts(&lines));
    both.into_iter().for_each(ends_well);
    assert_eq!(of_year(&imke, 2024), 2 * VERY_MANY);
    let said = imke.does(&["journal", "verify"]);
    assert!(said.contains("and 20000 observations are whole"), "{said}");
}

#[test]
fn two_compactions_at_once_archive_everything_once() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let lines: Vec<String> = (0..300)
        .map(|n| format!("stand-count north-40 --hoop 30in --plants {} --at {}-05-20T08:00", n % 40, 2024 + n % 3))
        .collect();
    std::fs::write(place.folder().join("lines.txt"), lines.join("\n")).expect("the folder can be written");
    imke.does(&["record", "--lines", "lines.txt"]);
    let both = [0, 1].map(|_| imke.starts(&["compact"]));
    for child in both {
        let output = child.wait_with_output().expect("the process is ours");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{}\n{said}", output.status);
    }
    imke.does(&["archive", "verify"]);
    let count = "SELECT count(*) AS n, count(DISTINCT observation) AS different FROM stand_count";
    for more in [&["--archive-only"][..], &[]] {
        let mut words = vec!["query", "--format", "csv", count];
        words.extend_from_slice(more);
        assert_eq!(imke.does(&words), "n,different\n300,300\n");
    }
    let said = imke.does(&["compact"]);
    assert!(said.contains("nothing new"), "{said}");
}

#[test]
fn two_devices_exchange_with_a_third_at_once() {
    let place = Place::new();
    let crew = [Device::with_field(&place, "imke"), Device::new(&place, "tomas"), Device::new(&place, "noor")];
    for device in &crew[1..] {
        crew[0].invites(device);
        device.exchanges_with(&crew[0]);
        for plants in 0..8 {
            device.counts(20, plants);
        }
    }
    let serving = Waiting::serving(&crew[0], "2");
    let both = [1, 2].map(|n| crew[n].starts(&["sync", "with", serving.address()]));
    both.into_iter().for_each(ends_well);
    serving.ends();
    holds(&crew[0], 16);
    for device in &crew[1..] {
        device.exchanges_with(&crew[0]);
        assert_eq!(device.holds(), crew[0].holds());
    }
}

#[test]
fn records_are_made_while_the_device_serves() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    let serving = Waiting::serving(&imke, "2");
    tomas.does(&["sync", "with", serving.address()]);
    // Each writes after the other has read; the serving process must see what others wrote into its journal.
    for plants in 0..10 {
        imke.counts(20, plants);
        tomas.counts(21, 100 + plants);
    }
    tomas.does(&["sync", "with", serving.address()]);
    serving.ends();
    assert_eq!(imke.holds(), tomas.holds());
    holds(&imke, 20);
    holds(&tomas, 20);
}

/// One device at its busiest: two people's records one by one, an import, exchanges with another device, snapshots and a
/// backup, all at once. (How long a write waits at most is measured in the journal's own tests, where starting a program
/// does not count.)
#[test]
fn everything_at_once_loses_nothing() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    let days: String = (1..=28).map(|day| format!("2026-02-{day:02},1,11\n")).collect();
    std::fs::write(place.folder().join("days.csv"), format!("date,tmin_c,tmax_c\n{days}")).expect("it can be written");
    let serving = Waiting::serving(&imke, "4");
    let (told, slowest) = std::thread::scope(|scope| {
        let sides = [1, 2].map(|side| {
            let imke = &imke;
            scope.spawn(move || {
                let mut slowest = Duration::ZERO;
                let record = |n: u32| {
                    let start = std::time::Instant::now();
                    let key = imke.counts(20, 100 * side + n);
                    slowest = slowest.max(start.elapsed());
                    key
                };
                let keys: Vec<_> = (0..20).map(record).collect();
                (keys, slowest)
            })
        });
        let import = scope.spawn(|| imke.does(&["import", "weather", "days.csv", "--station", "home"]));
        let chores = scope.spawn(|| {
            for n in 0..3 {
                imke.does(&["journal", "snapshot"]);
                imke.does(&["backup", &format!("copy-{n}")]);
                imke.does(&["journal", "verify"]);
            }
        });
        for plants in 0..4 {
            tomas.counts(21, 50 + plants);
            tomas.does(&["sync", "with", serving.address()]);
        }
        import.join().expect("it imported");
        chores.join().expect("they were done");
        let sides = sides.map(|side| side.join().expect("it recorded"));
        let slowest = sides.iter().map(|side| side.1).max();
        (sides.into_iter().flat_map(|side| side.0).collect::<Vec<_>>(), slowest)
    });
    println!("the slowest of 40 processes that record: {slowest:?}");
    serving.ends();
    holds(&imke, 40 + 28 + 4);
    let listed = imke.lists();
    assert!(told.iter().all(|key| listed.contains(key)), "what was said to be recorded is listed");
    tomas.exchanges_with(&imke);
    assert_eq!(imke.holds(), tomas.holds());
}
