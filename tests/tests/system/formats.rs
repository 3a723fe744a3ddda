//! Listings are the same for people and for programs, and end without a word when nobody reads on.

use std::io::{BufRead, BufReader, Read};
use std::process::{Command, Stdio};

use ligule_testkit::Place;
use serde_json::Value;

use crate::device::Device;

/// A device with something in every listing: counts, a void, a conflict with another device, an archive.
fn device<'a>(place: &'a Place) -> (Device<'a>, String) {
    let (imke, tomas) = (Device::with_field(place, "imke"), Device::new(place, "tomas"));
    let key = imke.counts(20, 29);
    imke.counts(21, 31);
    let void = imke.counts(22, 3);
    imke.does(&["void", &void, "--why", "counted twice, \"by\" mistake"]);
    imke.does(&["record", "note", "north-40", "--text", "Wet spot, \"the slough\"; élan", "--at", "2026-05-22T08:00"]);
    imke.does(&["record", "leaf-stage", "north-40", "--stage", "V3", "--plants", "20", "--at", "2026-05-28T08:00"]);
    imke.does(&[
        "record",
        "pest-count",
        "north-40",
        "--organism",
        "AGROYP",
        "--plants",
        "100",
        "--cut",
        "6",
        "--at",
        "2026-05-28T08:10",
    ]);
    imke.invites(&tomas);
    tomas.exchanges_with(&imke);
    imke.does(&["amend", &key, "--plants", "28"]);
    tomas.does(&["amend", &key, "--plants", "27"]);
    tomas.exchanges_with(&imke);
    imke.does(&["compact"]);
    (imke, key)
}

/// Asks for a listing in a format.
#[track_caller]
fn listing(device: &Device<'_>, command: &[&str], format: &str) -> String {
    let mut words = vec!["--format", format];
    words.extend_from_slice(command);
    let answer = device.asks(&words).exits(0);
    assert_eq!(answer.stderr, "", "{command:?} as {format}");
    answer.stdout
}

#[test]
fn every_listing_reads_as_csv_json_and_ndjson_with_the_same_rows() {
    let place = Place::new();
    let (imke, key) = device(&place);
    // The listing, and whether it must have rows here.
    let listings: [(&[&str], bool); 19] = [
        (&["field", "list"], true),
        (&["kind"], true),
        (&["kind", "pest-count"], true),
        (&["kind", "stand-count", "--language", "es"], true),
        (&["list"], true),
        (&["list", "--voided"], true),
        (&["list", "--kind", "note"], true),
        (&["list", "--season", "1999"], false),
        (&["history", &key], true),
        (&["conflicts"], true),
        (&["crew", "show"], true),
        (&["archive", "files"], true),
        (&["archive", "verify"], false),
        (&["journal", "verify"], false),
        (&["query", "SELECT * FROM stand_count"], true),
        (&["query", "SELECT observation, text FROM note"], true),
        (&["query", "--tables"], true),
        (&["query", "--describe", "stand_count"], true),
        (&["pack", "list"], true),
    ];
    for (command, filled) in listings {
        let [csv, json, ndjson] = ["csv", "json", "ndjson"].map(|format| listing(&imke, command, format));
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let header = reader.headers().expect("a header").clone();
        assert!(!header.is_empty(), "{command:?}: {csv}");
        let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().expect("as many values as names");
        let objects: Vec<Value> = match serde_json::from_str(&json).expect("JSON") {
            Value::Array(objects) => objects,
            other => panic!("{command:?}: expected a list, got {other}"),
        };
        let lines: Vec<Value> = ndjson.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
        assert_eq!(objects.len(), lines.len(), "{command:?}");
        assert_eq!(rows.len(), lines.len(), "{command:?}");
        assert_eq!(!lines.is_empty(), filled, "{command:?}");
        assert_eq!(objects, lines, "{command:?}");
        for (row, object) in rows.iter().zip(&objects) {
            // A value that is missing may have no name in JSON.
            for (name, value) in header.iter().zip(row) {
                match &object[name] {
                    Value::Null => assert_eq!(value, "", "{command:?}, {name}"),
                    Value::String(text) => assert_eq!(value, text, "{command:?}, {name}"),
                    _ => assert_ne!(value, "", "{command:?}, {name}"),
                }
            }
        }
    }
}

#[test]
fn the_sample_has_a_conflict_a_void_and_quotation_marks() {
    let place = Place::new();
    let (imke, key) = device(&place);
    let conflicts = listing(&imke, &["conflicts"], "ndjson");
    assert_eq!(conflicts.lines().count(), 2, "every candidate has a line: {conflicts}");
    assert!(conflicts.lines().all(|line| line.contains(&key)), "{conflicts}");
    let csv = listing(&imke, &["list", "--voided"], "csv");
    assert!(csv.contains("void: counted twice, \"\"by\"\" mistake (imke)"), "{csv}");
    assert!(csv.contains("Wet spot, \"\"the slough\"\"; élan"), "{csv}");
}

#[test]
fn advice_and_assessment_read_as_json() {
    let place = Place::new();
    let (imke, _) = device(&place);
    let day = ["advise", "north-40", "--as-of", "2026-05-29"];
    let json: Value = serde_json::from_str(&listing(&imke, &day, "json")).expect("JSON");
    let findings = json["fields"][0]["findings"].as_array().expect("a list").len();
    assert!(findings > 0);
    let ndjson = listing(&imke, &day, "ndjson");
    assert!(ndjson.lines().all(|line| serde_json::from_str::<Value>(line).is_ok()), "{ndjson}");
    assert_eq!(ndjson.lines().count(), findings);
    let csv = listing(&imke, &day, "csv");
    assert_eq!(csv::Reader::from_reader(csv.as_bytes()).records().map(Result::unwrap).count(), findings);
    let assessed = listing(&imke, &["assess", "north-40", "--as-of", "2026-05-29"], "json");
    assert!(serde_json::from_str::<Value>(&assessed).is_ok_and(|value| value.is_object()), "{assessed}");
}

/// `ligule list | head -1`: far more than a pipe holds.
#[test]
fn a_reader_who_has_read_enough_is_no_failure() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let lines: Vec<String> = (0..1500)
        .map(|n| format!("stand-count north-40 --hoop 30in --plants {} --at 2026-05-20T08:00", n % 40))
        .collect();
    std::fs::write(place.folder().join("lines.txt"), lines.join("\n")).expect("the folder can be written");
    imke.does(&["record", "--lines", "lines.txt"]);
    imke.does(&["compact"]);
    for command in [&["list"][..], &["query", "SELECT * FROM stand_count"]] {
        for format in ["text", "csv", "json", "ndjson"] {
            let mut words = vec!["--format", format];
            words.extend_from_slice(command);
            let mut child = imke.starts(&words);
            let mut line = String::new();
            let mut stdout = BufReader::new(child.stdout.take().expect("stdout is a pipe"));
            stdout.read_line(&mut line).expect("stdout can be read");
            drop(stdout);
            let mut said = String::new();
            child.stderr.take().expect("stderr is a pipe").read_to_string(&mut said).expect("UTF-8");
            let status = child.wait().expect("the process is ours");
            assert_eq!((status.code(), said.as_str()), (Some(0), ""), "{words:?}");
            assert!(!line.is_empty());
        }
    }
}

/// Nobody reads at all, from the beginning.
#[track_caller]
fn says_nothing_to_nobody(device: &Device<'_>, command: &[&str]) {
    let (reader, writer) = std::io::pipe().expect("the system has pipes");
    drop(reader);
    let mut words = vec!["--journal", device.name()];
    words.extend_from_slice(command);
    let output =
        device.place().command(&words).stdout(writer).stderr(Stdio::piped()).output().expect("`ligule` starts");
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!((output.status.code(), &*said), (Some(0), ""), "{command:?}");
}

/// People read units and reasons; programs get what is kept.
#[test]
fn a_history_tells_people_units_and_reasons() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let key = imke.counts(20, 29);
    imke.does(&["void", &key, "--why", "wrong field"]);
    let text = imke.does(&["history", &key]);
    let line = |measure: &str| text.lines().find(|line| line.trim_start().starts_with(measure)).expect("it is told");
    assert!(line("row_width").contains("30 in"), "{text}");
    assert!(line("length").contains("17.4167 ft"), "{text}");
    assert!(line("void").contains("wrong field") && !text.contains('{'), "{text}");
    assert!(imke.does(&["history", &key, "--format", "csv"]).contains("row_width,30,"), "as kept");
}

#[test]
fn listings_say_nothing_to_nobody() {
    let place = Place::new();
    let (imke, key) = device(&place);
    for command in [
        &["list"][..],
        &["field", "list"],
        &["kind"],
        &["history", &key],
        &["conflicts"],
        &["crew", "show"],
        &["archive", "files"],
        &["archive", "verify"],
        &["journal", "verify"],
        &["query", "SELECT * FROM stand_count"],
        &["query", "--tables"],
        &["pack", "list"],
        &["advise", "north-40", "--as-of", "2026-05-29"],
        &["assess", "north-40", "--as-of", "2026-05-29"],
        &["--help"],
        &["record", "stand-count", "--help"],
    ] {
        says_nothing_to_nobody(&imke, command);
    }
}

#[test]
fn commands_that_do_something_say_nothing_to_nobody() {
    let place = Place::new();
    let (imke, key) = device(&place);
    let before = imke.observations().len();
    for command in [
        &["kind", "stand-count"][..],
        &["record", "note", "north-40", "--text", "nobody reads this"],
        &["amend", &key, "--plants", "30"],
        &["void", &key, "--why", "nobody reads this"],
        &["journal", "rebuild"],
        &["journal", "snapshot"],
        &["compact"],
        &["bundle", "write", "nobody.bundle"],
        &["bundle", "read", "nobody.bundle"],
        &["report", "north-40", "--as-of", "2026-05-29", "--out", "nobody.html"],
        &["manual", "nobody"],
        &["completions", "bash"],
        &["completions", "zsh"],
        &["completions", "fish"],
    ] {
        says_nothing_to_nobody(&imke, command);
    }
    assert_eq!(imke.observations().len(), before + 1, "what was asked is done all the same");
    assert!(place.folder().join("nobody.html").exists() && place.folder().join("nobody.bundle").exists());
}

#[test]
fn completions_are_scripts_of_their_shells() {
    let place = Place::new();
    for (shell, sign) in [("bash", "complete -F"), ("zsh", "#compdef ligule"), ("fish", "complete -c ligule")] {
        let script = place.ligule(&["completions", shell]).exits(0).stdout;
        assert!(script.contains(sign), "{shell}: {} bytes without `{sign}`", script.len());
        for word in ["record", "stand-count", "plants"] {
            assert!(script.contains(word), "{shell} completes `{word}`");
        }
        let file = place.folder().join(format!("ligule.{shell}"));
        std::fs::write(&file, script).expect("the folder can be written");
        if shell == "bash" {
            let checked = Command::new("bash").arg("-n").arg(&file).output().expect("bash is there");
            assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stderr));
        }
    }
    let answer = place.ligule(&["completions", "command.com"]).exits(2);
    assert!(answer.stderr.contains("bash") && answer.stderr.contains("fish"), "{}", answer.stderr);
}

#[test]
fn manual_pages_are_written_for_every_command() {
    let place = Place::new();
    let said = place.ligule(&["manual", "man"]).exits(0).stdout;
    assert!(said.contains("man"), "{said}");
    for page in ["ligule.1", "ligule-record.1", "ligule-record-stand-count.1", "ligule-sync-with.1", "ligule-query.1"] {
        let text = std::fs::read_to_string(place.folder().join("man").join(page)).expect(page);
        assert!(text.contains(".SH NAME") && text.contains(".SH SYNOPSIS"), "{page}: {text}");
    }
    for entry in std::fs::read_dir(place.folder().join("man")).expect("the folder is there").flatten() {
        assert!(entry.metadata().expect("it is there").len() > 200, "{entry:?}");
    }
    // It can be written over itself.
    let _ = place.ligule(&["manual", "man"]).exits(0);
}
