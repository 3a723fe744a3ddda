//! A visit that was recorded on the wrong field is put where it belongs, whatever others do meanwhile.

use ligule_testkit::Place;
use serde_json::Value;

use crate::device::{Device, Waiting};

fn crew<'a>(place: &'a Place) -> (Device<'a>, Device<'a>, Vec<String>) {
    let imke = Device::with_field(place, "imke");
    imke.does(&[
        "field",
        "add",
        "south-12",
        "--grower",
        "Sorrel Creek",
        "--region",
        "US-IA",
        "--zone",
        "America/Chicago",
        "--crop",
        "corn",
    ]);
    let lines = "stand-count north-40 --row 30in --length 17ft5in --plants 31 --at 2026-05-28T07:05 --near 42.03,-93.62 --by Ruben\n\
                 stand-count north-40 --row 30in --length 17ft5in --plants 27 --at 2026-05-28T07:11 --by Ruben\n\
                 note north-40 --text \"gate was open\" --at 2026-05-28T07:20 --by Ruben\n";
    std::fs::write(place.folder().join("morning.txt"), lines).expect("it can be written");
    imke.does(&["record", "--lines", "morning.txt"]);
    let keys = imke.observations().iter().map(|one| one["observation"].as_str().expect("a key").to_owned()).collect();
    let tomas = Device::new(place, "tomas");
    imke.invites(&tomas);
    imke.exchanges_with(&tomas);
    (imke, tomas, keys)
}

fn of<'a>(listed: &'a [Value], field: &str) -> Vec<&'a Value> {
    listed.iter().filter(|one| one["field"] == field).collect()
}

fn visits(device: &Device<'_>, field: &str) -> Vec<Value> {
    let said = device.does(&["visit", "list", field, "--format", "json"]);
    serde_json::from_str(&said).expect("a list")
}

#[test]
fn a_moved_visit_keeps_its_author_and_times_and_a_concurrent_correction_is_not_lost() {
    let place = Place::new();
    let (imke, tomas, keys) = crew(&place);
    // Neither device knows of what the other does.
    tomas.does(&["amend", &keys[0], "--plants", "33"]);
    let said = imke.does(&["visit", "move", &keys[0], "south-12", "--why", "wrong gate"]);
    assert!(said.starts_with("moved 3 observations from north-40 to south-12, visit "), "{said}");
    imke.exchanges_with(&tomas);
    imke.exchanges_with(&tomas);

    assert_eq!(imke.lists(), tomas.lists());
    for device in [&imke, &tomas] {
        let listed = device.observations();
        let (here, there) = (of(&listed, "north-40"), of(&listed, "south-12"));
        assert_eq!((here.len(), there.len()), (3, 3));
        assert!(there.iter().all(|one| one["by"] == "Ruben"), "{there:?}");
        let states: Vec<&str> = there.iter().map(|one| one["state"].as_str().expect("a text")).collect();
        assert_eq!(states, ["conflict: plants", "", ""], "what waits is marked wherever it is listed");
        let times: Vec<&str> = there.iter().map(|one| one["at"].as_str().expect("a time")).collect();
        assert_eq!(times, ["2026-05-28T07:05:00-05:00", "2026-05-28T07:11:00-05:00", "2026-05-28T07:20:00-05:00"]);
        for (old, new) in here.iter().zip(&there) {
            let link = format!(
                "void: moved to south-12 as {}: wrong gate (imke)",
                new["observation"].as_str().expect("a key")
            );
            assert_eq!(old["state"], link.as_str());
            assert_eq!(old["kind"], new["kind"]);
        }
        // The void wins, the correction stays in the history, and whoever looks is told.
        assert_eq!(there[0]["values"]["plants"], "31");
        let history = device.does(&["history", &keys[0], "--format", "csv"]);
        assert!(history.contains("33") && history.contains("moved to south-12"), "{history}");
        let shown = device.does(&["visit", "show", &keys[0]]);
        assert!(shown.contains("moved to south-12, visit "), "{shown}");
        assert!(shown.contains(&format!("plants of {} is 33, its copy ", keys[0])), "{shown}");
        let copy_key = there[0]["observation"].as_str().expect("a key");
        let waits = conflicts(device);
        let told: Vec<String> =
            waits.iter().map(|one| format!("{} {} {}", one["measure"], one["candidate"], one["by"])).collect();
        assert_eq!(told, ["\"plants\" \"33\" \"tomas\"", "\"plants\" \"31\" \"Ruben\""]);
        assert!(waits.iter().all(|one| one["observation"] == copy_key && one["field"] == "south-12"), "{waits:?}");
        let people = device.asks(&["conflicts"]).exits(0).stderr;
        assert!(people.contains(&format!("`ligule resolve {copy_key} plants \"33\"`")), "{people}");
        // Until then it is in no assessment, and queries name it.
        let assessed = device.does(&["assess", "south-12", "--as-of", "2026-05-29"]);
        assert!(assessed.contains("1 count") && assessed.contains(copy_key), "{assessed}");
        let sql = format!("SELECT conflicts FROM stand_count WHERE observation = '{copy_key}'");
        let queried = device.asks(&["query", &sql, "--format", "csv"]).exits(0).stdout;
        assert!(queried.contains("plants"), "{queried}");
        // The link is there for programs, both ways.
        let shown = |key: &str| -> Value {
            serde_json::from_str(&device.does(&["visit", "show", key, "--format", "json"])).expect("JSON")
        };
        assert_eq!(shown(&keys[0])["moved_to"][&keys[0]], copy_key);
        assert_eq!(shown(&keys[0])["moved_to"][0], Value::Null);
        assert_eq!(shown(copy_key)["copied_from"][copy_key], keys[0].as_str());
        let history = device.does(&["history", copy_key, "--format", "csv"]);
        assert!(history.contains(&format!("copied-from,{},", keys[0])), "{history}");

        let copy = &visits(device, "south-12")[0];
        assert_eq!(copy["observations"]["stand-count"], 2);
        assert_eq!(copy["moved"], format!("from north-40, visit {}", &keys[0][..26]).as_str());
        assert_eq!(visits(device, "north-40")[0]["void"], 3);
        device.does(&["journal", "verify"]);
    }
    // A person decides, once for all: the correction holds.
    let copy = of(&imke.observations(), "south-12")[0]["observation"].as_str().expect("a key").to_owned();
    imke.does(&["resolve", &copy, "plants", "33"]);
    tomas.exchanges_with(&imke);
    for device in [&imke, &tomas] {
        assert_eq!(device.does(&["conflicts"]).trim(), "no conflicts");
        assert_eq!(of(&device.observations(), "south-12")[0]["values"]["plants"], "33");
        assert_eq!(of(&device.observations(), "south-12")[0]["state"], "");
    }
    // What is archived and asked is of the right field.
    imke.does(&["compact"]);
    let sql = "SELECT field_name, count(*) AS n FROM stand_count WHERE void_why IS NULL GROUP BY field_name";
    let answer = imke.asks(&["query", sql, "--format", "csv"]);
    assert!(
        answer.stdout.contains("south-12,2") && !answer.stdout.contains("north-40"),
        "{}{}",
        answer.stdout,
        answer.stderr
    );
}

fn conflicts(device: &Device<'_>) -> Vec<Value> {
    let said = device.does(&["conflicts", "--format", "ndjson"]);
    said.lines().map(|line| serde_json::from_str(line).expect("an object")).collect()
}

/// A correction that came while the visit was moved may also be left behind; that is a decision too, on every device.
#[test]
fn a_correction_of_what_was_moved_can_be_left_behind() {
    let place = Place::new();
    let (imke, tomas, keys) = crew(&place);
    tomas.does(&["amend", &keys[1], "--plants", "72"]);
    imke.does(&["visit", "move", &keys[0], "south-12"]);
    imke.exchanges_with(&tomas);
    let copy = conflicts(&imke)[0]["observation"].as_str().expect("a key").to_owned();
    // To the second, as a change tells its time: a decision in the very second of the correction would count as later anyway.
    imke.does(&["resolve", &copy, "plants", "27"]);
    tomas.exchanges_with(&imke);
    for device in [&imke, &tomas] {
        assert_eq!(device.does(&["conflicts"]).trim(), "no conflicts");
        let again = device.asks(&["resolve", &copy, "plants", "27"]).exits(2);
        assert!(again.stderr.contains("is not in conflict"), "{}", again.stderr);
    }
    // No reason that a person gives is taken for a move.
    let refused = imke.asks(&["void", &copy, "--why", &format!("moved to creek as {copy}")]).exits(2);
    assert!(refused.stderr.contains("ligule visit move"), "{}", refused.stderr);
}

/// A longer interval that came while the visit was moved is never told as the shorter one.
#[test]
fn an_interval_that_was_corrected_while_its_visit_was_moved_is_not_known() {
    let place = Place::new();
    let (imke, tomas, _) = crew(&place);
    let zone = jiff::tz::TimeZone::get("America/Chicago").expect("a zone");
    let today = jiff::Timestamp::now().to_zoned_datetime(zone).date().to_string();
    let spray = ["record", "application", "north-40", "--day", &today, "--active", "mesotrione", "--reentry", "4h"];
    let said = imke.does(&spray);
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("it names the key").0;
    imke.exchanges_with(&tomas);
    let moved = imke.does(&["visit", "move", key, "south-12"]);
    assert!(moved.contains("KEEP OUT until"), "{moved}");
    tomas.does(&["amend", key, "--reentry", "72h"]);
    imke.exchanges_with(&tomas);
    for device in [&imke, &tomas] {
        let told = device.does(&["list", "south-12"]);
        assert!(told.contains("RE-ENTRY UNKNOWN, ask before walking: mesotrione"), "{told}");
        assert!(!told.contains("KEEP OUT"), "{told}");
        let glance = device.does(&["field", "list"]);
        assert!(glance.contains("ask before walking") && !glance.contains("keep out until"), "{glance}");
    }
    let copy = conflicts(&imke)[0]["observation"].as_str().expect("a key").to_owned();
    let settled = imke.does(&["resolve", &copy, "reentry", "72h"]);
    assert!(settled.contains("KEEP OUT until") && settled.contains("72 h"), "{settled}");
}

/// Two devices put one visit on two fields: it is told of both until a person says where it belongs, and then of that one.
#[test]
fn a_visit_that_two_devices_moved_to_two_fields_waits_for_a_person() {
    let place = Place::new();
    let (imke, tomas, keys) = crew(&place);
    for name in ["west-7", "creek"] {
        let add = ["field", "add", name, "--grower", "G", "--region", "US-IA", "--zone", "America/Chicago"];
        imke.does(&add);
    }
    tomas.exchanges_with(&imke);
    let moved = |device: &Device<'_>, to: &str| -> String {
        let said = device.does(&["visit", "move", &keys[0], to, "--format", "json"]);
        serde_json::from_str::<Value>(&said).expect("JSON")["visit"].as_str().expect("an id").to_owned()
    };
    let (south, west) = (moved(&imke, "south-12"), moved(&tomas, "west-7"));
    imke.exchanges_with(&tomas);
    imke.exchanges_with(&tomas);
    for device in [&imke, &tomas] {
        let waits = conflicts(device);
        let told: Vec<String> = waits.iter().map(|one| format!("{} {}", one["candidate"], one["by"])).collect();
        let candidate = |field: &str, visit: &str, by: &str| format!("\"{field}, visit {visit}\" \"{by}\"");
        let mut expected = [candidate("south-12", &south, "imke"), candidate("west-7", &west, "tomas")];
        let mut told_sorted = told.clone();
        expected.sort();
        told_sorted.sort();
        assert_eq!(told_sorted, expected);
        let people = device.asks(&["conflicts"]).exits(0).stderr;
        assert!(
            people.contains(&format!("if south-12, visit {south} is right: `ligule visit move {west} south-12`")),
            "{people}"
        );
        assert!(waits.iter().any(|one| one["settle"] == format!("ligule visit move {west} south-12")), "{waits:?}");
        let advice = device.asks(&["conflicts", "--language", "es"]).exits(0).stderr;
        assert!(
            advice.contains(&format!("si lo correcto es south-12, visita {south}: `ligule visit move")),
            "{advice}"
        );
        let spanish = device.does(&["conflicts", "--language", "es"]);
        assert!(spanish.contains(&format!("south-12, visita {south}")), "{spanish}");
        assert!(spanish.contains("  visita  movida a  ") && !spanish.contains("moved-to"), "{spanish}");
        for field in ["north-40", "south-12", "west-7"] {
            assert_eq!(
                visits(device, field)[0]["moved"].as_str().expect("a text").matches("visit ").count(),
                2,
                "{field}"
            );
            let listed = device.asks(&["visit", "list", field]).exits(0).stderr;
            assert!(listed.contains("ligule conflicts"), "{field}: {listed}");
        }
    }
    for device in [&imke, &tomas] {
        let listed = device.observations();
        let marked = |field: &str| {
            let states = of(&listed, field).into_iter().map(|one| one["state"].as_str().expect("a text").to_owned());
            states.filter(|state| state.starts_with("conflict: ") && state.contains("moved-to")).count()
        };
        assert_eq!((marked("south-12"), marked("west-7")), (3, 3), "{listed:?}");
        let assessed = device.does(&["assess", "south-12", "--as-of", "2026-05-29"]);
        assert!(!assessed.contains("plants/ac"), "counted on neither field: {assessed}");
        let refused = device.asks(&["resolve", &format!("{west}-01"), "plants", "31"]).exits(2).stderr;
        assert!(refused.contains("is not in conflict"), "its value is in no doubt: {refused}");
    }
    // It belongs to south-12. What was corrected in the copy that goes is not lost either.
    let wrong = format!("{west}-01");
    tomas.does(&["amend", &wrong, "--plants", "30"]);
    tomas.does(&["visit", "move", &west, "south-12"]);
    imke.exchanges_with(&tomas);
    for device in [&imke, &tomas] {
        let listed = device.observations();
        let with = |field: &str, state: &str| of(&listed, field).iter().filter(|one| one["state"] == state).count();
        assert_eq!((with("north-40", ""), with("south-12", ""), with("west-7", "")), (0, 2, 0));
        assert_eq!(with("south-12", "conflict: plants"), 1);
        let waits = conflicts(device);
        assert_eq!(waits.len(), 2, "{waits:?}");
        assert!(waits.iter().all(|one| one["observation"] == format!("{south}-01").as_str()), "{waits:?}");
        assert_eq!((&waits[0]["candidate"], &waits[1]["candidate"]), (&Value::from("30"), &Value::from("31")));
    }
    imke.does(&["resolve", &format!("{south}-01"), "plants", "30"]);
    assert_eq!(imke.does(&["conflicts"]).trim(), "no conflicts");
    imke.does(&["journal", "verify"]);
}

/// What an exchange tells each of both people.
fn told(one: &Device<'_>, other: &Device<'_>) -> (String, String) {
    let serving = Waiting::serving(other, "1");
    let here = one.asks(&["sync", "with", serving.address()]).exits(0).stderr;
    (here, serving.ends().stderr)
}

/// Whoever voids what another device moves meanwhile has voided it there too; both devices hear of it, and the reason stays.
#[test]
fn a_void_follows_what_was_moved_meanwhile() {
    let place = Place::new();
    let (imke, tomas, keys) = crew(&place);
    let add = ["field", "add", "west-7", "--grower", "G", "--region", "US-IA", "--zone", "America/Chicago"];
    imke.does(&add);
    tomas.exchanges_with(&imke);
    tomas.does(&["void", &keys[0], "--why", "never counted"]);
    imke.does(&["visit", "move", &keys[0], "south-12"]);
    // It went on from there before anybody heard of the void.
    let south = visits(&imke, "south-12")[0]["visit"].as_str().expect("an id").to_owned();
    imke.does(&["visit", "move", &south, "west-7"]);
    let (here, there) = told(&imke, &tomas);
    for told in [&here, &there] {
        assert!(
            told.contains(&format!("tomas voided {} (\"never counted\") while it was moved to west-7", keys[0])),
            "{told}"
        );
    }
    for _ in 0..2 {
        for device in [&imke, &tomas] {
            let listed = device.observations();
            let states: Vec<&str> =
                of(&listed, "west-7").iter().map(|one| one["state"].as_str().expect("a text")).collect();
            assert_eq!(states, ["void: never counted (tomas)", "", ""], "{listed:?}");
            let whole = of(&listed, "north-40")[0]["state"].as_str().expect("a text");
            assert!(whole.contains("never counted") && whole.contains("moved to south-12 as "), "{whole}");
            assert!(visits(device, "north-40")[0]["moved"].as_str().expect("a text").starts_with("to "));
            assert_eq!(device.does(&["conflicts"]).trim(), "no conflicts");
            device.does(&["journal", "verify"]);
        }
        let (here, there) = told(&tomas, &imke);
        assert_eq!((here.as_str(), there.as_str()), ("", ""), "once is enough");
    }
    assert_eq!(imke.lists(), tomas.lists());
}

#[test]
fn two_devices_that_move_one_visit_make_one_copy() {
    let place = Place::new();
    let (imke, tomas, keys) = crew(&place);
    let visit = &keys[0][..26];
    let moved = [&imke, &tomas].map(|device| device.does(&["visit", "move", visit, "south-12"]));
    assert_eq!(moved[0], moved[1]);
    imke.exchanges_with(&tomas);
    imke.exchanges_with(&tomas);
    assert_eq!(imke.lists(), tomas.lists());
    let listed = imke.observations();
    assert_eq!(of(&listed, "south-12").len(), 3, "{listed:?}");
    assert!(of(&listed, "south-12").iter().all(|one| one["state"] == ""));
    imke.does(&["journal", "verify"]);
}

#[test]
fn it_goes_back_and_forth_and_says_what_cannot_be() {
    let place = Place::new();
    let (imke, tomas, keys) = crew(&place);
    let visit = &keys[0][..26];
    imke.does(&["void", &keys[2], "--why", "it was shut"]);
    let said = imke.does(&["visit", "move", visit, "south-12"]);
    assert!(said.contains("moved 2 observations") && said.contains("1 stays void on north-40"), "{said}");
    let again = imke.asks(&["visit", "move", visit, "south-12"]).exits(2);
    let went = "moved from north-40 already, to south-12, visit ";
    assert!(again.stderr.contains(went) && !again.stderr.contains("hint"), "{}", again.stderr);
    let there = visits(&imke, "south-12")[0]["visit"].as_str().expect("an id").to_owned();
    let same = imke.asks(&["visit", "move", &there, "south-12"]).exits(2);
    assert!(same.stderr.contains("already"), "{}", same.stderr);
    imke.does(&["visit", "move", &there, "north-40"]);
    // Where it is by now is told, with the line that moves it on.
    let ids = visits(&imke, "north-40").into_iter().map(|one| one["visit"].as_str().expect("an id").to_owned());
    let back = ids.into_iter().find(|id| id != visit).expect("the copy of the copy");
    let moved_on = imke.asks(&["visit", "move", visit, "south-12"]).exits(2).stderr;
    let line = format!("to north-40, visit {back}\nhint: `ligule visit move {back} south-12` moves it on from there");
    assert!(moved_on.contains(&line), "{moved_on}");
    let listed = imke.observations();
    let holding = |field: &str| of(&listed, field).iter().filter(|one| one["state"] == "").count();
    assert_eq!((holding("north-40"), holding("south-12")), (2, 0));
    let unknown = imke.asks(&["visit", "move", "01J9Z3K7W8Q2R5T6V7X8Y9Z0A1", "south-12"]).exits(2);
    assert!(unknown.stderr.contains("visit list"), "{}", unknown.stderr);

    // What waits for a person is not moved over their head.
    let key = imke.counts(20, 30);
    imke.exchanges_with(&tomas);
    imke.does(&["amend", &key, "--plants", "29"]);
    tomas.does(&["amend", &key, "--plants", "28"]);
    imke.exchanges_with(&tomas);
    let waits = imke.asks(&["visit", "move", &key, "south-12"]).exits(2);
    assert!(waits.stderr.contains("ligule resolve"), "{}", waits.stderr);
}
