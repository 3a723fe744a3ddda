//! Built-in tables and formulas from the command line.

use ligule_testkit::Place;
use serde_json::Value;

fn listed(place: &Place, command: &str) -> Vec<Value> {
    let listing = place.ligule(&[command, "--format", "json"]).exits(0).stdout;
    serde_json::from_str(&listing).expect("a JSON list")
}

/// Every table prints for people, as CSV and as JSON, with as many rows as the listing says and a source for each.
#[test]
fn every_table_prints_in_every_format_with_its_sources() {
    let place = Place::new();
    let tables = listed(&place, "table");
    assert!(tables.len() >= 30, "{} tables", tables.len());
    for table in &tables {
        let name = table["name"].as_str().expect("a name");
        let text = place.ligule(&["table", name]).exits(0).stdout;
        assert!(text.starts_with(table["title"].as_str().expect("a title")) && text.contains("\n[1] "), "{text}");

        let csv = place.ligule(&["table", name, "--format", "csv"]).exits(0).stdout;
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let source = reader.headers().expect("a header").iter().position(|c| c == "source").expect("a source");
        let rows: Vec<_> = reader.records().collect::<Result<_, _>>().expect("rows as long as the header");
        assert_eq!(Some(rows.len() as u64), table["rows"].as_u64(), "{name}");
        assert!(rows.iter().all(|row| row[source].len() > 5), "{csv}");

        let json = place.ligule(&["table", name, "--format", "json"]).exits(0).stdout;
        let json: Value = serde_json::from_str(&json).expect("a JSON document");
        assert_eq!(json["title"], table["title"]);
        assert_eq!(json["rows"].as_array().map(Vec::len), Some(rows.len()), "{name}");
    }
    assert_eq!(place.ligule(&["table", "list"]).exits(0).stdout, place.ligule(&["table"]).exits(0).stdout);
    let unknown = place.ligule(&["table", "row-lenght"]).exits(2).stderr;
    assert!(unknown.contains("did you mean `row-length`?"), "{unknown}");
}

/// Every worksheet works the example of its own help, shows the steps and the source, and gives programs its results unrounded.
#[test]
fn every_worksheet_works_its_example_and_shows_the_steps() {
    let place = Place::new();
    let sheets = listed(&place, "calc");
    assert!(sheets.len() >= 40, "{} worksheets", sheets.len());
    for sheet in &sheets {
        let example = shlex::split(sheet["example"].as_str().expect("an example")).expect("a command");
        let words: Vec<&str> = example.iter().skip(1).map(String::as_str).collect();
        let text = place.ligule(&words).exits(0).stdout;
        assert!(text.starts_with(sheet["title"].as_str().expect("a title")), "{text}");
        assert!(text.contains("\n  ") && text.contains("\nsource: "), "no steps or no source:\n{text}");

        let words: Vec<&str> = words.into_iter().chain(["--format", "ndjson"]).collect();
        let line = place.ligule(&words).exits(0).stdout;
        let whole: Value = serde_json::from_str(&line).expect("one JSON document");
        for result in whole["results"].as_array().expect("results") {
            let told = ["value", "least", "words"].iter().any(|what| !result[what].is_null());
            assert!(told, "{line}");
        }
        // What people read beside the number, programs get too.
        for note in whole["notes"].as_array().expect("notes") {
            assert!(text.contains(note.as_str().expect("words")), "{note}");
        }
        assert!(text.contains(whole["source"].as_str().expect("a source")), "{line}");
    }
}

/// University of Wisconsin, Discovery Farms (2010), Taking a stand count, prints 17 ft 5 in for 30-inch rows.
#[test]
fn the_printed_row_length_comes_out_in_either_unit() {
    let place = Place::new();
    for row in ["30in", "76.2cm", "2.5 ft", "30"] {
        let text = place.ligule(&["calc", "row-length", "--row", row]).exits(0).stdout;
        assert!(text.contains("length of row          17.42 ft"), "{text}");
    }
    let refused = place.ligule(&["calc", "row-length", "--row", "30 acres"]).exits(2).stderr;
    assert!(refused.contains("`row`") && refused.contains("a length"), "{refused}");
    let beyond = place.ligule(&["calc", "row-length", "--row", "300in"]).exits(2).stderr;
    assert!(beyond.contains("from 1 to 120 in, got 300"), "{beyond}");
}
