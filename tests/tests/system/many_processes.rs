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
