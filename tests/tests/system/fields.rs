//! Fields: corrected, and told apart where two devices gave one name.

use ligule_testkit::Place;

use crate::device::{Device, Waiting};

/// What is given of a field changes; the rest stays.
#[test]
fn a_field_is_corrected_entry_by_entry() {
    let place = Place::new();
    place.ligule(&["init", "--person", "A Tester"]).exits(0);
    let add = "field add f1 --grower G --region US-IA --zone America/Chicago --crop corn --row 30in --area 40ac --near 42.0318,-93.6203";
    place.ligule(&add.split(' ').collect::<Vec<_>>()).exits(0);
    let before = place.ligule(&["field", "list", "--format", "ndjson"]).exits(0).stdout;
    place.ligule(&["field", "amend", "f1", "--crop", "soybean"]).exits(0);
    let after = place.ligule(&["field", "list", "--format", "ndjson"]).exits(0).stdout;
    assert_eq!(before.replace("\"corn\"", "\"soybean\""), after);
    // The field's row width stands in for one that is not typed.
    let count = "record stand-count f1 --at 2026-05-28T07:00 --length 17.424ft --plants 30";
    let said = place.ligule(&count.split(' ').collect::<Vec<_>>()).exits(0).stdout;
    assert!(said.contains("row 30 in") && said.contains("30,000 plants/ac"), "{said}");
    place.ligule(&["field", "amend", "f2", "--crop", "corn"]).exits(2);
}

/// A region that the standard does not have would keep every rule pack silent.
#[test]
fn a_region_that_does_not_exist_is_refused_with_the_nearest() {
    let place = Place::new();
    place.ligule(&["init", "--person", "A Tester"]).exits(0);
    for (region, hint) in [("US-ZZ", "did you mean `US-"), ("Ontario", "did you mean `CA-ON`?")] {
        let add = ["field", "add", "f1", "--grower", "G", "--region", region, "--zone", "America/Chicago"];
        let refused = place.ligule(&add).exits(2);
        assert!(refused.stderr.contains(region) && refused.stderr.contains(hint), "{}", refused.stderr);
    }
    assert_eq!(place.ligule(&["field", "list", "--format", "ndjson"]).exits(0).stdout, "");
}

/// A name that two fields bear means neither, until one of them is renamed.
#[test]
fn two_fields_of_one_name_are_told_apart() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    for device in [&a, &b] {
        let add = "field add f1 --grower G --region US-IA --zone America/Chicago";
        device.asks(&add.split(' ').collect::<Vec<_>>()).exits(0);
        device.asks(&["record", "note", "f1", "--at", "2026-05-28T07:00", "--text", device.name()]).exits(0);
    }
    a.invites(&b);
    a.exchanges_with(&b);
    let refused = b.asks(&["list", "f1"]).exits(2);
    assert!(refused.stderr.contains("2 fields are called `f1`"), "{}", refused.stderr);
    let id = refused
        .stderr
        .split("`f1`: ")
        .nth(1)
        .and_then(|rest| rest.split([',', '\n']).next())
        .expect("the ids")
        .to_owned();
    b.asks(&["field", "amend", &id, "--name", "f1-east"]).exits(0);
    for name in ["f1", "f1-east"] {
        let listed = b.asks(&["list", name, "--format", "ndjson"]).exits(0).stdout;
        assert_eq!(listed.lines().count(), 1, "{name}: {listed}");
    }
}

/// Who did not know that a field had been split records on the whole: both are told when they meet, until the visit is moved.
#[test]
fn records_on_a_field_that_was_split_meanwhile_are_told_when_devices_meet() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    imke.counts(20, 31);
    imke.exchanges_with(&tomas);
    imke.does(&["field", "split", "north-40", "--into", "north-e", "--into", "north-w"]);
    let count = ["record", "stand-count", "north-40", "--row", "30in", "--length", "17ft5in", "--plants", "31"];
    let key = tomas.does(&count)["recorded ".len()..].split(':').next().expect("a key").to_owned();
    let serving = Waiting::serving(&imke, "1");
    let here = tomas.asks(&["sync", "with", serving.address()]).exits(0).stderr;
    let there = serving.ends().stderr;
    let told = format!(
        "north-40 was split into north-e, north-w, and 1 observation came to it after that; \
                        `ligule visit move {} PART`",
        &key[..26]
    );
    for text in [&here, &there] {
        assert!(text.contains(&told), "{text}");
    }
    tomas.does(&["visit", "move", &key[..26], "north-w"]);
    let serving = Waiting::serving(&imke, "1");
    let here = tomas.asks(&["sync", "with", serving.address()]).exits(0).stderr;
    let there = serving.ends().stderr;
    assert!(!here.contains("split") && !there.contains("split"), "{here}{there}");

    // A field that was retired is told of too, and no longer once it is taken back.
    imke.does(&["field", "retire", "north-e"]);
    tomas.does(&["record", "note", "north-e", "--text", "the gate is open"]);
    let serving = Waiting::serving(&imke, "1");
    let here = tomas.asks(&["sync", "with", serving.address()]).exits(0).stderr;
    let there = serving.ends().stderr;
    for text in [&here, &there] {
        let told =
            "north-e was retired, and 1 observation came to it after that; it is in no list: `ligule visit move ";
        assert!(text.contains(told) && text.contains("`ligule field retire --undo north-e`"), "{text}");
    }
    tomas.does(&["field", "retire", "--undo", "north-e"]);
    let serving = Waiting::serving(&imke, "1");
    let here = tomas.asks(&["sync", "with", serving.address()]).exits(0).stderr;
    assert!(!here.contains("retire") && !serving.ends().stderr.contains("retire"), "{here}");
}
