//! Fields that become one, several or none: two devices added the same one offline; one is split; one is retired.

use ligule_testkit::Place;
use serde_json::Value;

use crate::device::{Device, Waiting};

fn adds(device: &Device<'_>, name: &str, more: &[&str]) {
    let add =
        ["field", "add", name, "--grower", "G", "--region", "US-IA", "--zone", "America/Chicago", "--crop", "corn"];
    device.does(&[&add[..], more].concat());
}

fn counts(device: &Device<'_>, field: &str, day: u8, plants: u32) {
    let (at, plants) = (format!("2026-05-{day:02}T12:00"), plants.to_string());
    let count = ["record", "stand-count", field, "--row", "30in", "--length", "17.424ft", "--at", &at];
    device.does(&[&count[..], &["--plants", &plants]].concat());
}

fn fields(device: &Device<'_>) -> Vec<Value> {
    let lines = device.does(&["field", "list", "--format", "ndjson"]);
    lines.lines().map(|line| serde_json::from_str(line).expect("an object")).collect()
}

fn names(device: &Device<'_>) -> Vec<String> {
    fields(device).iter().map(|field| field["field"].as_str().expect("a name").to_owned()).collect()
}

/// The day at the fields.
fn today() -> String {
    let zone = jiff::tz::TimeZone::get("America/Chicago").expect("a zone");
    jiff::Timestamp::now().to_zoned_datetime(zone).date().to_string()
}

/// Fields and counts of a question over archive and journal.
fn asked(device: &Device<'_>, more: &[&str]) -> String {
    let sql = "SELECT field_name, count(DISTINCT field) AS fields, count(*) AS counts, sum(plants) AS plants FROM stand_count \
               GROUP BY field_name ORDER BY field_name";
    device.does(&[&["query", sql, "--format", "csv"][..], more].concat())
}

/// Two devices add one field before they meet, both record, one of them goes on before it hears of the merge: every answer
/// of both speaks of one field, and the archive too, which had two.
#[test]
fn a_field_that_two_devices_added_becomes_one() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    adds(&a, "north-40", &["--row", "30in"]);
    adds(&b, "north-40", &["--area", "40ac"]);
    for (device, day, plants) in [(&a, 20, 30), (&b, 21, 28)] {
        let planting = "record planting north-40 --at 2026-04-28T16:30 --day 2026-04-28 --crop corn --rate 34000";
        device.does(&planting.split(' ').collect::<Vec<_>>());
        counts(device, "north-40", day, plants);
    }
    a.invites(&b);
    a.exchanges_with(&b);
    let refused = a.asks(&["assess", "north-40", "--as-of", "2026-05-28"]).exits(2);
    assert!(refused.stderr.contains("ligule field merge north-40"), "{}", refused.stderr);
    a.does(&["compact"]);
    assert!(asked(&a, &[]).contains("north-40,2,2,"), "the archive tells of two fields: {}", asked(&a, &[]));

    let said = a.does(&["field", "merge", "north-40"]);
    assert!(said.starts_with("merged north-40 (") && said.contains("has from it: area"), "{said}");
    // Before b hears of it, it records into its own.
    let own = fields(&b)[1]["id"].as_str().expect("an id").to_owned();
    counts(&b, &own, 22, 26);
    b.exchanges_with(&a);

    for device in [&a, &b] {
        let all = fields(device);
        assert_eq!((all.len(), &all[0]["field"]), (1, &Value::from("north-40")), "{all:?}");
        assert!(all[0]["area_ha"].as_f64().is_some_and(|ha| (ha - 16.187).abs() < 0.01), "{all:?}");
        assert_eq!(device.does(&["list", "--kind", "stand-count", "--format", "ndjson"]).lines().count(), 3);
        for which in ["north-40", &own] {
            let listed = device.does(&["list", which, "--format", "ndjson"]);
            assert_eq!((listed.lines().count(), listed.matches("\"field\":\"north-40\"").count()), (5, 5), "{listed}");
            let assessed = device.does(&["assess", which, "--as-of", "2026-05-28"]);
            assert!(assessed.contains("28,000 plants/ac") && assessed.contains("3 counts"), "{assessed}");
        }
        let advice: Value =
            serde_json::from_str(&device.does(&["advise", "--as-of", "2026-05-28", "--format", "json"])).expect("JSON");
        let told = advice.to_string();
        assert_eq!(told.matches(&own).count(), 0, "nothing speaks of the other: {told}");
        device.does(&["report", "north-40", "--as-of", "2026-05-28", "--out", &format!("{}.html", device.name())]);
        let page = std::fs::read_to_string(place.folder().join(format!("{}.html", device.name()))).expect("a page");
        assert!(page.contains("28,000") && page.contains("3 counts"), "the report counts all three");
    }
    // The journal answers for what the archive does not know yet; compacting makes the archive say the same.
    let one = "field_name,fields,counts,plants\nnorth-40,1,3,84.0\n";
    assert_eq!(asked(&a, &[]), one);
    a.does(&["compact"]);
    assert_eq!(asked(&a, &["--archive-only"]), one);
    assert_eq!(a.holds(), b.holds());
    let again = a.does(&["compact", "--format", "json"]);
    let again: Value = serde_json::from_str(&again).unwrap_or(Value::Null);
    assert_eq!(asked(&a, &["--archive-only"]), one, "{again}");

    // Undone, there are two again, and every record is where it was made.
    b.does(&["field", "merge", "--undo", &own]);
    a.exchanges_with(&b);
    for device in [&a, &b] {
        assert_eq!(names(device), ["north-40", "north-40"]);
        assert_eq!(device.does(&["list", &own, "--format", "ndjson"]).lines().count(), 3);
    }
}

/// Each of two people merges the other's way, a third merges elsewhere, all at the same time: they settle the same.
#[test]
fn merges_both_ways_at_the_same_time_settle_the_same() {
    let place = Place::new();
    let [a, b, c] = ["a", "b", "c"].map(|name| Device::new(&place, name));
    for name in ["east", "west", "hill"] {
        adds(&a, name, &[]);
        counts(&a, name, 20, 30);
    }
    a.invites(&b);
    a.invites(&c);
    b.exchanges_with(&a);
    c.exchanges_with(&a);
    a.does(&["field", "merge", "east", "west"]);
    b.does(&["field", "merge", "west", "east"]);
    c.does(&["field", "merge", "hill", "west"]);
    for (device, day) in [(&a, 21), (&b, 22), (&c, 23)] {
        counts(device, "west", day, 28);
    }
    b.exchanges_with(&a);
    c.exchanges_with(&a);
    b.exchanges_with(&a);
    assert_eq!(a.holds(), b.holds());
    assert_eq!(a.holds(), c.holds());
    for device in [&a, &b, &c] {
        assert_eq!(names(device).len(), 1);
        for name in ["east", "west", "hill"] {
            assert_eq!(device.does(&["list", name, "--format", "ndjson"]).lines().count(), 6, "{name}");
        }
        let refused = device.asks(&["field", "merge", "east", "hill"]).exits(2);
        assert!(refused.stderr.contains("one field already"), "{}", refused.stderr);
    }
}

/// The parts are fields of their own, the whole is retired; what was recorded of it stays with it and can be asked for.
#[test]
fn a_field_is_split_and_retired() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    adds(&a, "home", &["--row", "30in", "--area", "80ac"]);
    counts(&a, "home", 20, 30);
    a.asks(&["field", "split", "home", "--into", "home-e"]).exits(2);
    let ring = |x: f64| format!("[[[{x},42.0],[{},42.0],[{},42.01],[{x},42.01],[{x},42.0]]]", x + 0.005, x + 0.005);
    let part = |name: &str, x: f64| {
        let shape = ring(x);
        format!(
            r#"{{"type":"Feature","properties":{{"name":"{name}"}},"geometry":{{"type":"Polygon","coordinates":{shape}}}}}"#
        )
    };
    let parts = [part("home-e", -93.595), part("home-w", -93.6)].join(",");
    let file = format!(r#"{{"type":"FeatureCollection","features":[{parts}]}}"#);
    std::fs::write(place.folder().join("parts.geojson"), file).expect("writes");
    let split = ["field", "split", "home", "--boundaries", "parts.geojson", "--into", "home-e", "--into"];
    let refused = a.asks(&[&split[..], &["home-north"]].concat()).exits(2);
    assert!(refused.stderr.contains("no outline of the file is called `home-north`"), "{}", refused.stderr);
    assert_eq!(names(&a), ["home"], "nothing was changed");
    let before = a.does(&["list", "--format", "ndjson"]);
    a.does(&[&split[..], &["home-w"]].concat());
    assert_eq!(before, a.does(&["list", "--format", "ndjson"]), "nothing was planted this year, and nothing is copied");
    assert_eq!(names(&a), ["home-e", "home-w"]);
    // What is recorded of it all the same is told of, with what it was split into.
    let noted = a.asks(&["record", "note", "home", "--text", "late"]).exits(0);
    assert!(noted.stderr.contains("home is retired, and was split into home-e, home-w"), "{}", noted.stderr);
    let note = a.observations().pop().expect("the note");
    a.does(&["void", note["observation"].as_str().expect("a key"), "--why", "only to see"]);
    assert!(fields(&a).iter().all(|f| f["area_ha"].as_f64().is_some_and(|ha| (45.0..47.0).contains(&ha))));
    let all = a.does(&["field", "list", "--retired", "--format", "csv"]);
    assert_eq!(all.lines().count(), 4, "{all}");
    assert_eq!(a.does(&["list", "home", "--format", "ndjson"]).lines().count(), 1);
    counts(&a, "home-e", 21, 28);

    a.does(&["field", "retire", "home-w"]);
    assert_eq!(names(&a), ["home-e"]);
    // A retired name is free; the field that bears it now is meant by it.
    adds(&a, "home", &[]);
    assert_eq!(a.does(&["list", "home", "--format", "ndjson"]), "");
    a.does(&["field", "retire", "--undo", "home-w"]);
    assert_eq!(names(&a), ["home", "home-e", "home-w"]);
    a.asks(&["field", "retire", "--undo", "home-w"]).exits(2);
}

/// The parts of a field that was planted this season have the planting, which tells where it comes from.
#[test]
fn the_parts_of_a_planted_field_have_its_planting() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    adds(&a, "home", &["--row", "30in"]);
    // A split takes the plantings of this year: the test is of the day on which it runs.
    let planting = ["record", "planting", "home", "--crop", "soybean", "--rate", "140000", "--day"];
    let now = jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::get("America/Chicago").expect("a zone"));
    let today = now.date().to_string();
    a.does(&[&planting[..], &[&today]].concat());
    let old = a.observations()[0]["observation"].as_str().expect("a key").to_owned();
    let said = a.does(&["field", "split", "home", "--into", "home-e", "--into", "home-w"]);
    assert!(said.contains(&format!("the planting {old} is copied to each part")), "{said}");
    for part in ["home-e", "home-w"] {
        let listed = a.does(&["list", part, "--format", "ndjson"]);
        assert!(listed.contains("\"crop\":\"soybean\"") && listed.contains("140000"), "{listed}");
        let one: Value = serde_json::from_str(listed.trim()).expect("one planting");
        let history = a.does(&["history", one["observation"].as_str().expect("a key"), "--format", "csv"]);
        assert!(history.contains(&format!("copied-from,{old},")), "{history}");
        let visits: Value = serde_json::from_str(&a.does(&["visit", "list", part, "--format", "json"])).expect("JSON");
        assert_eq!(visits[0]["copied_from"]["field"], "home", "{visits}");
    }
    assert_eq!(a.does(&["conflicts"]).trim(), "no conflicts");
    a.does(&["field", "split", "home-e", "--into", "one", "--into", "two", "--no-planting"]);
    assert_eq!(a.does(&["list", "one", "--format", "ndjson"]), "");
    a.does(&["journal", "verify"]);
}

/// Two devices split one field before they meet, and the parts of a name are merged: its planting is told once.
#[test]
fn the_planting_of_a_field_that_two_devices_split_is_told_once() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    adds(&a, "home", &["--row", "30in"]);
    let today = today();
    let planting = ["record", "planting", "home", "--crop", "corn", "--rate", "34000", "--day", &today];
    a.does(&planting);
    a.invites(&b);
    a.exchanges_with(&b);
    for device in [&a, &b] {
        device.does(&["field", "split", "home", "--into", "home-e", "--into", "home-w"]);
    }
    a.exchanges_with(&b);
    assert_eq!(a.does(&["field", "doubles"]).trim(), "nothing is there twice", "they are two fields yet");
    for part in ["home-e", "home-w"] {
        let said = a.does(&["field", "merge", part]);
        assert!(
            said.contains(&format!("1 observation is there twice, and told twice: see `ligule field doubles {part}`"))
        );
    }
    // One that was corrected is left to a person.
    let west: Value = serde_json::from_str(&a.does(&["field", "doubles", "home-w", "--format", "json"])).expect("JSON");
    a.does(&["amend", west[0]["double"].as_str().expect("a key"), "--rate", "32000"]);
    let said = a.does(&["field", "doubles", "--void"]);
    assert!(said.contains("1 double is void") && said.contains("1 pair is apart"), "{said}");
    b.exchanges_with(&a);
    for device in [&a, &b] {
        assert_eq!(device.does(&["list", "home-e", "--format", "ndjson"]).lines().count(), 1);
        assert_eq!(device.does(&["list", "home-w", "--format", "ndjson"]).lines().count(), 2);
        device.does(&["journal", "verify"]);
    }
    // A part that is made one with the whole again has its planting from there.
    adds(&a, "back", &[]);
    a.does(&["record", "planting", "back", "--crop", "corn", "--rate", "34000", "--day", &today]);
    a.does(&["field", "split", "back", "--into", "back-e", "--into", "back-w"]);
    let said = a.does(&["field", "merge", "back-e", "back-w"]);
    assert!(said.contains("1 observation is there twice"), "{said}");
    let said = a.does(&["field", "merge", "back", "back-e"]);
    assert!(said.contains("2 observations are there twice"), "{said}");
}

/// What was sprayed on the whole keeps people out of its parts, also where a device recorded it that had not heard of the
/// split.
#[test]
fn the_parts_of_a_sprayed_field_are_closed_too() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    adds(&a, "whole", &[]);
    a.invites(&b);
    a.exchanges_with(&b);
    let today = today();
    let sprays = |device: &Device<'_>, active: &str| {
        let spray = ["record", "application", "whole", "--day", &today, "--active", active, "--reentry", "48h"];
        device.does(&spray);
    };
    sprays(&a, "mesotrione");
    a.does(&["field", "split", "whole", "--into", "west", "--into", "east"]);
    a.does(&["field", "split", "east", "--into", "one", "--into", "two"]);
    sprays(&b, "atrazine");
    b.exchanges_with(&a);
    for device in [&a, &b] {
        let listed = device.does(&["field", "list"]);
        // The whole and the part that was split again are in the list as long as they are closed, marked as retired.
        assert_eq!(listed.matches("keep out until").count(), 5, "{listed}");
        for line in device.does(&["field", "list", "--format", "ndjson"]).lines() {
            let field: Value = serde_json::from_str(line).expect("an object");
            let parted = ["whole", "east"].contains(&field["field"].as_str().expect("a name"));
            assert_eq!(field["retired"], parted, "{line}");
        }
        assert_eq!(device.does(&["advise"]).matches("KEEP OUT until").count(), 6);
        for asked in [["list", "west"], ["assess", "one"], ["advise", "two"], ["visit", "one"]] {
            let said = device.does(&asked);
            assert!(said.contains("mesotrione") && said.contains("atrazine"), "{asked:?}: {said}");
        }
        device.does(&["report", "west", "--out", "west.html"]);
        let page = std::fs::read_to_string(place.folder().join("west.html")).expect("a page");
        assert!(page.contains("KEEP OUT until") && page.contains("atrazine"));
    }
}

/// Who goes to the whole crosses its parts: what was sprayed on one of them is told of the whole too, and of no other part.
#[test]
fn the_whole_is_closed_where_a_part_was_sprayed() {
    let place = Place::new();
    let a = Device::new(&place, "a");
    adds(&a, "whole", &[]);
    a.does(&["field", "split", "whole", "--into", "west", "--into", "east"]);
    a.does(&["field", "split", "east", "--into", "one", "--into", "two"]);
    let today = today();
    a.does(&["record", "application", "one", "--day", &today, "--active", "atrazine", "--reentry", "24h"]);
    for closed in ["whole", "east", "one"] {
        for asked in [&["list", closed][..], &["assess", closed], &["advise", closed], &["visit", closed]] {
            assert!(a.does(asked).contains("KEEP OUT until"), "{asked:?}");
        }
        let noted = a.does(&["record", "note", closed, "--text", "the gate is open"]);
        assert!(noted.contains("KEEP OUT until"), "{noted}");
        a.does(&["report", closed, "--out", "page.html"]);
        let page = std::fs::read_to_string(place.folder().join("page.html")).expect("a page");
        assert!(page.contains("KEEP OUT until") && page.contains("atrazine"), "{closed}");
    }
    for open in ["west", "two"] {
        let said = a.does(&["list", open]);
        assert!(!said.contains("KEEP OUT"), "{open}: {said}");
    }
    let listed = a.does(&["field", "list"]);
    assert_eq!(listed.matches("keep out until").count(), 3, "{listed}");
}

/// Two devices split one field two ways before they meet: both are told until one way is given up, what was sprayed on a part of
/// one keeps people out of the parts of the other, and the copies of the planting on what was given up are told as doubles.
#[test]
fn a_field_that_two_devices_split_two_ways_is_told_until_one_is_given_up() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    adds(&a, "home", &["--row", "30in"]);
    let today = today();
    a.does(&["record", "planting", "home", "--crop", "corn", "--rate", "34000", "--day", &today]);
    a.invites(&b);
    a.exchanges_with(&b);
    a.does(&["field", "split", "home", "--into", "east", "--into", "west"]);
    b.does(&["field", "split", "home", "--into", "north", "--into", "south"]);
    let meet = || {
        let serving = Waiting::serving(&a, "1");
        let there = b.asks(&["sync", "with", serving.address()]).exits(0).stderr;
        [serving.ends().stderr, there]
    };
    for told in meet() {
        for part in [
            "home was split two ways",
            "east, west; or north, south",
            "to keep east, west: `ligule field retire north`, `ligule field retire south`",
            "to keep north, south: `ligule field retire east`, `ligule field retire west`",
        ] {
            assert!(told.contains(part), "{part}: {told}");
        }
    }
    // A bundle says it as well.
    a.does(&["bundle", "write", "all.bundle"]);
    let said = b.asks(&["bundle", "read", "all.bundle"]).exits(0);
    assert!(
        said.stderr.contains("home was split two ways") || said.stdout.contains("home was split two ways"),
        "{said:?}"
    );

    a.does(&["record", "application", "north", "--day", &today, "--active", "atrazine", "--reentry", "24h"]);
    for (field, closed) in [("home", true), ("east", true), ("west", true), ("north", true), ("south", false)] {
        assert_eq!(a.does(&["list", field]).contains("KEEP OUT until"), closed, "{field}");
    }
    assert_eq!(a.does(&["field", "doubles"]).trim(), "nothing is there twice", "nobody knows yet which way is right");

    // Half is not enough.
    assert!(!a.does(&["field", "retire", "north"]).contains("twice"));
    assert!(meet().iter().all(|told| told.contains("to keep south: `ligule field retire east`")), "{:?}", meet());
    let said = a.does(&["field", "retire", "south"]);
    assert!(said.contains("2 observations are there twice"), "{said}");
    for told in meet() {
        assert!(!told.contains("two ways"), "{told}");
    }
    // What was sprayed on the ground stays told.
    assert!(b.does(&["list", "east"]).contains("KEEP OUT until"));
    let said = a.does(&["field", "doubles", "--void"]);
    assert!(said.contains("2 doubles are void"), "{said}");
    let planted = a.does(&["query", "SELECT field_name FROM planting ORDER BY 1", "--format", "csv"]);
    assert_eq!(planted.lines().skip(1).collect::<Vec<_>>(), ["east", "home", "west"], "as after one split");

    // Parts that are one under two names: merged, they are told no more.
    adds(&a, "hill", &[]);
    a.exchanges_with(&b);
    a.does(&["field", "split", "hill", "--into", "top", "--into", "foot"]);
    b.does(&["field", "split", "hill", "--into", "upper", "--into", "lower"]);
    assert!(meet().iter().all(|told| told.contains("hill was split two ways")));
    a.does(&["field", "merge", "top", "upper"]);
    assert!(
        meet().iter().all(|told| told.contains("hill was split two ways")),
        "the others lie on the same ground still"
    );
    a.does(&["field", "merge", "foot", "lower"]);
    assert!(meet().iter().all(|told| !told.contains("two ways")));
}

/// Merges that went round in a ring are undone by one line, and what it says is so.
#[test]
fn a_field_is_taken_out_of_a_ring_of_merges_at_once() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    for (day, name) in (20..).zip(["one", "two", "three"]) {
        adds(&a, name, &[]);
        counts(&a, name, day, 30);
    }
    a.invites(&b);
    a.exchanges_with(&b);
    a.does(&["field", "merge", "one", "two"]);
    b.does(&["field", "merge", "two", "one"]);
    a.exchanges_with(&b);
    a.does(&["field", "merge", "three", "one"]);
    b.does(&["field", "merge", "two", "three"]);
    a.exchanges_with(&b);
    assert_eq!(names(&a), names(&b));
    assert_eq!(names(&a).len(), 1);
    let said = a.does(&["field", "merge", "two", "--undo"]);
    assert!(said.contains("is a field of its own again") && !said.contains("one with it still"), "{said}");
    b.exchanges_with(&a);
    for device in [&a, &b] {
        assert_eq!(names(device).len(), 2, "{:?}", names(device));
        assert_eq!(device.does(&["list", "two", "--format", "ndjson"]).lines().count(), 1);
        assert_eq!(device.does(&["list", "one", "--format", "ndjson"]).lines().count(), 2);
        assert_eq!(device.does(&["list", "three", "--format", "ndjson"]).lines().count(), 2);
    }
    // What was made part of a field stays with it, and that is said.
    adds(&a, "four", &[]);
    adds(&a, "five", &[]);
    a.does(&["field", "merge", "four", "five"]);
    a.does(&["field", "merge", "two", "four"]);
    let said = a.does(&["field", "merge", "four", "--undo"]);
    assert!(said.contains("five (") && said.contains("is one with it still"), "{said}");
    assert_eq!(a.does(&["list", "two", "--format", "ndjson"]).lines().count(), 1);
}

/// Two devices import one sheet, each under its own field, before the fields are merged: the rows are told, and one of each
/// two is void.
#[test]
fn rows_that_two_devices_imported_under_two_fields_are_told_once() {
    let place = Place::new();
    let (a, b) = (Device::new(&place, "a"), Device::new(&place, "b"));
    let sheet = "field,date,time,scout,row width (in),length (ft),plants\n\
                 north-40,2026-05-20,07:05,Ruben,30,17.5,31\nnorth-40,2026-05-20,07:11,,30,17.5,27\n\
                 north-40,2026-05-20,07:11,,30,17.5,27\nnorth-40,2026-05-21,,Ruben,30,17.5,29\n";
    std::fs::write(place.folder().join("counts.csv"), sheet).expect("writes");
    for device in [&a, &b] {
        adds(device, "north-40", &[]);
        device.does(&["import", "observations", "counts.csv", "--yes"]);
    }
    // Typed at the same minute with the same values by two people: two counts.
    for device in [&a, &b] {
        counts(device, "north-40", 22, 30);
    }
    a.invites(&b);
    a.exchanges_with(&b);
    assert_eq!(a.does(&["field", "doubles"]).trim(), "nothing is there twice", "they are two fields yet");
    let said = a.does(&["field", "merge", "north-40"]);
    // The second and third row were read by different people, as the sheet does not say by whom; they are one row each all the same.
    assert!(said.contains("4 observations are there twice"), "{said}");
    b.exchanges_with(&a);
    let noted = b.asks(&["conflicts"]).exits(0).stderr;
    assert!(noted.contains("4 observations are there twice"), "{noted}");
    let doubles = b.does(&["field", "doubles", "--format", "ndjson"]);
    let doubles: Vec<Value> = doubles.lines().map(|line| serde_json::from_str(line).expect("an object")).collect();
    assert_eq!(doubles.len(), 4);
    // One that was corrected since is left to a person.
    let corrected = doubles[3]["double"].as_str().expect("a key").to_owned();
    b.does(&["amend", &corrected, "--plants", "28"]);
    let said = b.does(&["field", "doubles", "--void"]);
    assert!(said.contains("3 doubles are void") && said.contains("1 pair is apart"), "{said}");
    b.does(&["void", &corrected, "--why", "the other holds"]);
    // At the same time on the other device, which takes the same ones.
    assert!(a.does(&["field", "doubles", "--void"]).contains("4 doubles are void"));
    b.exchanges_with(&a);
    assert_eq!(a.holds(), b.holds());
    for device in [&a, &b] {
        assert_eq!(device.does(&["list", "--format", "ndjson"]).lines().count(), 6);
        assert_eq!(device.does(&["field", "doubles"]).trim(), "nothing is there twice");
        assert_eq!(
            device.does(&["import", "observations", "counts.csv"]),
            "recorded 0 observations; 4 there already\n"
        );
        device.does(&["journal", "verify"]);
    }
}
