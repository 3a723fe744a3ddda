//! Everything written out as lines of JSON and read in again answers as the first journal does.

use std::collections::BTreeMap;

use ligule_testkit::Place;
use serde_json::Value;

use crate::device::Device;
use crate::own_kinds::EARTHWORMS;

/// A crew of two with every kind, corrections, a void, conflicts, a weather station and a kind of its own, of which the
/// second device knows nothing.
fn crew(place: &Place) -> (Device<'_>, Device<'_>) {
    let imke = Device::with_field(place, "imke");
    let tomas = Device::new(place, "tomas");
    imke.invites(&tomas);
    std::fs::create_dir(imke.folder().join("kinds")).expect("the folder can be made");
    std::fs::write(imke.folder().join("kinds/earthworm-count.toml"), EARTHWORMS).expect("it can be written");
    let kinds = imke.does(&["kind", "--format", "ndjson"]);
    let kinds: Vec<Value> = kinds.lines().map(|line| serde_json::from_str(line).expect("an object")).collect();
    let mut recorded = 0;
    for kind in kinds.iter().map(|kind| kind["kind"].as_str().expect("a name")) {
        let told: Value = serde_json::from_str(&imke.does(&["kind", kind, "--format", "json"])).expect("JSON");
        let Some(example) = example(&told, kind) else { continue };
        let mut words = vec!["record".to_owned(), kind.to_owned(), "north-40".to_owned()];
        words.extend(example);
        words.extend(["--at".to_owned(), "2026-06-20T08:00".to_owned(), "--accept-time".to_owned()]);
        recorded += usize::from(imke.asks(&words.iter().map(String::as_str).collect::<Vec<_>>()).code == Some(0));
    }
    assert!(recorded > 0 || !kinds.is_empty());
    imke.does(&["record", "earthworm-count", "north-40", "--worms", "7", "--at", "2026-05-20T08:00"]);
    imke.does(&[
        "record",
        "pest-count",
        "north-40",
        "--organism",
        "AGROYP",
        "--plants",
        "30",
        "--at",
        "2026-05-20T08:30",
        "--near",
        "42.03,-93.62",
    ]);
    std::fs::write(place.folder().join("days.csv"), "date,tmin_c,tmax_c\n2026-05-01,4,18\n2026-05-02,5,19\n")
        .expect("it can be written");
    imke.does(&["import", "weather", "days.csv", "--station", "home"]);
    let keys: Vec<String> = (1..=4).map(|n| imke.counts(20, n)).collect();
    imke.exchanges_with(&tomas);
    imke.does(&["amend", &keys[0], "--plants", "30"]);
    tomas.does(&["amend", &keys[0], "--plants", "31"]);
    imke.does(&["amend", &keys[1], "--plants", "40", "--length", "5.31 m"]);
    tomas.does(&["void", &keys[2], "--why", "wrong field"]);
    tomas.counts(22, 17);
    tomas.exchanges_with(&imke);
    imke.does(&["journal", "snapshot"]);
    imke.counts(23, 18);
    (imke, tomas)
}

/// The example of a kind, as words of the command line.
fn example(told: &Value, kind: &str) -> Option<Vec<String>> {
    let file =
        std::fs::read_to_string(ligule_testkit::repository_root().join("schemas/kinds").join(format!("{kind}.toml")));
    let _ = told;
    let text = file.ok()?;
    let line = text.lines().find(|line| line.starts_with("example = "))?;
    let quoted = line.strip_prefix("example = ")?.trim();
    let text = quoted.trim_matches(|c| c == '"' || c == '\'').replace("\\\"", "\"");
    shlex::split(&text)
}

/// Every answer that a journal gives to questions about its records.
fn answers(device: &Device<'_>) -> BTreeMap<String, String> {
    let mut said = BTreeMap::new();
    let mut ask = |words: &[&str]| {
        said.insert(words.join(" "), device.does(words));
    };
    for words in [
        &["list", "--voided", "--format", "ndjson"][..],
        &["list", "--format", "csv"],
        &["conflicts", "--format", "ndjson"],
        &["field", "list", "--format", "ndjson"],
    ] {
        ask(words);
    }
    for one in device.observations() {
        ask(&["history", one["observation"].as_str().expect("a key"), "--format", "ndjson"]);
    }
    let tables = device.does(&["query", "--tables", "--format", "csv"]);
    let tables: Vec<&str> = tables.lines().skip(1).filter_map(|line| line.split(',').next()).collect();
    assert!(tables.len() > 20 && tables.contains(&"earthworm_count"), "{tables:?}");
    for table in tables {
        // The order of rows is nobody's promise.
        let sql = format!("SELECT * FROM {table}");
        let rows = device.does(&["query", "--format", "ndjson", &sql]);
        let mut rows: Vec<&str> = rows.lines().collect();
        rows.sort_unstable();
        said.insert(sql, rows.join("\n"));
    }
    said.insert("digest".into(), format!("{:?}", device.holds()));
    said
}

#[track_caller]
fn answers_alike(one: &Device<'_>, other: &Device<'_>) {
    let (first, second) = (answers(one), answers(other));
    assert_eq!(first.keys().collect::<Vec<_>>(), second.keys().collect::<Vec<_>>());
    for (question, answer) in &first {
        assert_eq!(answer, &second[question], "{question}");
    }
}

#[test]
fn a_full_export_read_in_again_gives_the_same_answers() {
    let place = Place::new();
    let (imke, tomas) = crew(&place);
    let said = imke.does(&["journal", "export", "all.jsonl"]);
    assert!(said.contains("all.jsonl holds") && said.contains("1 file"), "{said}");
    let again = Device::that_is_there(&place, "again");
    let said = again.does(&["journal", "import", "all.jsonl"]);
    assert!(said.contains("as a new device"), "{said}");
    answers_alike(&imke, &again);
    again.does(&["journal", "verify"]);
    // A second time adds nothing, and what comes out is the same but for who wrote it and when.
    assert!(again.does(&["journal", "import", "all.jsonl"]).contains("; 0 changes were new here"));
    again.does(&["journal", "export", "again.jsonl"]);
    let body = |name: &str| {
        let text = std::fs::read_to_string(place.folder().join(name)).expect("it was written");
        let mut lines: Vec<String> = text.lines().skip(1).map(str::to_owned).collect();
        lines.pop();
        // Of changes that are concurrent, either may come first.
        lines.sort();
        lines
    };
    assert_eq!(body("all.jsonl"), body("again.jsonl"));
    // It goes on from there, and goes back to where it came from.
    again.counts(24, 19);
    again.does(&["journal", "export", "more.jsonl"]);
    assert!(imke.does(&["journal", "import", "more.jsonl"]).contains("; 1 change was new here"));
    assert_eq!(imke.lists(), again.lists());
    // A device that does not know the kind passes it on unharmed.
    tomas.does(&["journal", "export", "unknown.jsonl"]);
    let unharmed = Device::that_is_there(&place, "unharmed");
    unharmed.does(&["journal", "import", "unknown.jsonl"]);
    assert!(unharmed.lists().contains("earthworm-count"));
    assert_eq!(unharmed.holds(), tomas.holds());
}

/// Each observation of fields that were merged stands under its own document, once.
#[test]
fn an_export_tells_observations_of_merged_fields_once() {
    let place = Place::new();
    let (p, q) = (Device::new(&place, "p"), Device::new(&place, "q"));
    for device in [&p, &q] {
        let add = "field add a --grower G --region US-IA --zone America/Chicago --crop corn";
        device.does(&add.split(' ').collect::<Vec<_>>());
        device.does(&["record", "note", "a", "--text", "the gate is open"]);
    }
    p.invites(&q);
    p.exchanges_with(&q);
    p.does(&["field", "merge", "a"]);
    let said = p.does(&["journal", "export", "merged.jsonl"]);
    assert!(said.contains("2 observations"), "{said}");
    assert!(p.does(&["journal", "verify"]).contains("2 observations"));
    let text = std::fs::read_to_string(place.folder().join("merged.jsonl")).expect("it was written");
    let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let keys: Vec<&Value> = lines.iter().filter_map(|line| line.get("observation")).map(|o| &o["key"]).collect();
    assert_eq!(keys.len(), 2);
    assert_ne!(keys[0], keys[1]);
    let again = Device::that_is_there(&place, "again");
    again.does(&["journal", "import", "merged.jsonl"]);
    assert_eq!(p.holds(), again.holds());
    for device in [&p, &again] {
        let notes = device.does(&["query", "SELECT field_name, count(*) AS n FROM note GROUP BY 1", "--format", "csv"]);
        assert_eq!(notes.trim(), "field_name,n\na,2");
    }
}

/// A device that starts from an export is new to the crew, and belongs to it once it is invited.
#[test]
fn a_device_that_starts_from_an_export_is_invited_like_any_other() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(3, 28);
    imke.does(&["journal", "export", "all.jsonl"]);
    let again = Device::that_is_there(&place, "again");
    again.does(&["journal", "import", "all.jsonl"]);
    again.counts(24, 19);
    imke.invites(&again);
    imke.exchanges_with(&again);
    assert_eq!(imke.holds(), again.holds());
    let refused = {
        let inviting = crate::device::Waiting::start(&imke, &["crew", "invite", "--listen", "127.0.0.1:0"]);
        again.asks(&["crew", "join", &inviting.first_line]).exits(2)
    };
    assert!(refused.stderr.contains("belongs to that crew already"), "{}", refused.stderr);
}

/// A file that an earlier program wrote.
#[test]
fn the_exemplar_of_version_1_is_read() {
    let place = Place::new();
    let file = ligule_testkit::repository_root().join("schemas/exemplars/journal-1.jsonl");
    let journal = Device::that_is_there(&place, "journal");
    let said = journal.does(&["journal", "import", file.to_str().expect("UTF-8")]);
    assert!(said.contains("2 documents, 2 observations in 8 changes"), "{said}");
    assert!(journal.does(&["journal", "verify"]).contains("and 2 observations are whole"));
    let listed = journal.lists();
    assert!(listed.contains("\"plants\":\"30\"") && listed.contains("void: wrong field (Imke Voss)"), "{listed}");
    let key = journal.observations()[0]["observation"].as_str().expect("a key").to_owned();
    let history = journal.does(&["history", &key, "--format", "csv"]);
    assert!(history.contains(",31,") && history.contains(",30,"), "{history}");
}

/// What stands beside the changes is enough for a reader that knows nothing of them.
#[test]
fn the_lines_tell_records_with_their_histories_and_no_secret() {
    let place = Place::new();
    let (imke, _) = crew(&place);
    imke.does(&["journal", "export", "all.jsonl"]);
    let text = std::fs::read_to_string(place.folder().join("all.jsonl")).expect("it was written");
    let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).expect("a line is an object")).collect();
    assert_eq!(lines[0]["ligule-journal"]["version"], 1);
    let told: BTreeMap<&str, &Value> = (lines.iter())
        .filter_map(|line| line.get("observation"))
        .map(|one| (one["key"].as_str().expect("a key"), one))
        .collect();
    let listed = imke.observations();
    assert_eq!(told.len(), listed.len());
    for one in &listed {
        let key = one["observation"].as_str().expect("a key");
        let history = imke.does(&["history", key, "--format", "ndjson"]).lines().count();
        assert_eq!(told[key]["history"].as_array().map(Vec::len), Some(history), "{key}");
        assert_eq!(told[key]["kind"], one["kind"]);
    }
    let conflicts = lines.iter().filter(|line| line.get("conflict").is_some()).count();
    assert_eq!(conflicts, 1);
    assert_eq!(lines.iter().filter(|line| line.get("field").is_some()).count(), 1);
    // The secret key is in the database; none of it is here.
    let database = std::fs::read(imke.folder().join("journal.sqlite")).expect("it is there");
    let place_of = |name: &[u8]| database.windows(name.len()).position(|window| window == name);
    let at = place_of(b"secret").expect("a row of `meta` holds it") + b"secret".len();
    let secret: String = database[at..at + 32].iter().map(|byte| format!("{byte:02x}")).collect();
    assert!(!text.contains(&secret) && !text.contains("invitation:"));
}

#[test]
fn a_file_that_is_not_whole_changes_nothing() {
    let place = Place::new();
    let (imke, _) = crew(&place);
    imke.does(&["journal", "export", "all.jsonl"]);
    let whole = std::fs::read_to_string(place.folder().join("all.jsonl")).expect("it was written");
    let lines: Vec<&str> = whole.lines().collect();
    let joined = |lines: &[&str]| lines.iter().map(|line| format!("{line}\n")).collect::<String>();
    let change = lines.iter().position(|line| line.starts_with("{\"change\"")).expect("there are changes");
    let without = [&lines[..change], &lines[change + 1..]].concat();
    let file_outside = whole.replacen("kinds/earthworm-count.toml", "../earthworm-count.toml", 1);
    for (what, text) in [
        ("cut in the middle of a line", whole[..whole.len() / 2].to_owned()),
        ("without its end", joined(&lines[..lines.len() - 1])),
        ("without a change", joined(&without)),
        ("a number altered", whole.replacen("\"north-40\"", "\"north-41\"", 1)),
        ("a file outside the folder", file_outside),
        ("of something else", "date,plants\n2026-05-01,4\n".to_owned()),
        ("empty", String::new()),
    ] {
        std::fs::write(place.folder().join("broken.jsonl"), text).expect("it can be written");
        let again = Device::that_is_there(&place, "again");
        let answer = again.asks(&["journal", "import", "broken.jsonl"]);
        println!("{what}: {}", answer.stderr);
        assert!(matches!(answer.code, Some(2 | 3)), "{what}: {answer:?}");
        assert!(answer.stderr.contains("broken.jsonl") || answer.stderr.contains("../earthworm"), "{what}");
        assert!(!again.folder().exists(), "{what}");
    }
    // Another crew's journal is not mixed in.
    let other = Device::with_field(&place, "noor");
    let before = other.holds();
    let answer = other.asks(&["journal", "import", "all.jsonl"]).exits(2);
    assert!(answer.stderr.contains("another crew"), "{}", answer.stderr);
    assert_eq!(other.holds(), before);
}
