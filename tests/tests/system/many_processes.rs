//! Any number of processes share one journal, and none loses what it was told.

use std::collections::BTreeSet;
use std::process::Child;

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
    assert!(said.contains(&format!("and {expected} observations are whole")), "{said}");
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
