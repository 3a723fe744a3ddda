//! What the help shows as an example can be typed.

use ligule_testkit::Place;
use serde_json::Value;

/// The lines behind `Example:` or `Examples:`; what goes on in a line of its own is put together again, as a shell does.
fn examples(help: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for line in help.lines().skip_while(|line| !line.starts_with("Example")).skip(1).map(str::trim) {
        match lines.last_mut() {
            _ if line.starts_with("ligule ") => lines.push(line.to_owned()),
            Some(last) if !line.is_empty() => {
                let begun =
                    last.strip_suffix(" \\").unwrap_or_else(|| panic!("`{last}` cannot be copied whole:\n{help}"));
                *last = format!("{begun} {line}");
            }
            _ => break,
        }
    }
    lines
}

/// Every kind that is recorded shows a line that records it; the listing and the archive give back all that was typed.
#[test]
fn every_kinds_example_records() {
    // Whoever reads metric units is shown the same lines, which mean the same.
    let [us, metric] = ["us", "metric"].map(every_example_is_recorded);
    assert_eq!(us, metric);
}

/// Records every kind's example for a crew of these units; returns what is kept.
fn every_example_is_recorded(units: &str) -> Vec<String> {
    let place = Place::new();
    place.ligule(&["init", "--person", "A Tester"]).exits(0);
    place.ligule(&["crew", "set", "units", units]).exits(0);
    let field = "field add north-40 --grower G --region US-IA --zone America/Chicago --crop corn";
    place.ligule(&field.split(' ').collect::<Vec<_>>()).exits(0);
    let kinds: Value =
        serde_json::from_str(&place.ligule(&["kind", "--format", "json"]).exits(0).stdout).expect("JSON");
    let mut recorded = 0;
    let mut typed = Vec::new();
    for kind in kinds.as_array().expect("a list") {
        let kind = kind["kind"].as_str().expect("a name");
        if kind == "weather-day" {
            let refused = place.ligule(&["record", kind, "north-40"]).exits(2);
            assert!(refused.stderr.contains("weather-day"), "{}", refused.stderr);
            continue;
        }
        if kind == "photo" {
            // Its examples name files of a camera; `photos` takes pictures and records them.
            continue;
        }
        let help = place.ligule(&["record", kind, "--help"]).exits(0).stdout;
        let examples = examples(&help);
        assert_eq!(examples.len(), 1, "{kind}: {help}");
        let words = shlex::split(&examples[0]).expect("a command");
        let words: Vec<&str> = words.iter().skip(1).map(String::as_str).collect();
        let answer = place.ligule(&words).exits(0);
        assert!(answer.stdout.starts_with("recorded "), "{}", answer.stdout);
        let flags = words.iter().filter(|word| word.starts_with("--") && **word != "--at").count();
        typed.push((kind.to_owned(), flags));
        recorded += 1;
    }
    assert!(recorded >= 19, "only {recorded} kinds were recorded");
    let listed = place.ligule(&["list", "--format", "ndjson"]).exits(0).stdout;
    assert_eq!(listed.lines().count(), recorded);
    let mut kept: Vec<String> = listed
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).expect("an object")["values"].to_string())
        .collect();
    kept.sort();
    let mut listed: Vec<(String, usize)> = listed
        .lines()
        .map(|line| {
            let line: Value = serde_json::from_str(line).expect("an object");
            let values = line["values"].as_object().expect("values by measure").len();
            (line["kind"].as_str().expect("a kind").to_owned(), values)
        })
        .collect();
    listed.sort();
    typed.sort();
    assert_eq!(listed, typed, "as many values as flags");
    place.ligule(&["compact"]).exits(0);
    let rows: Vec<String> = typed
        .iter()
        .map(|(kind, _)| format!("SELECT '{kind}' AS kind, count(*) AS rows FROM {}", kind.replace('-', "_")))
        .collect();
    let sql = format!("{} ORDER BY kind", rows.join(" UNION ALL "));
    let answer = place.ligule(&["query", "--format", "csv", &sql]).exits(0).stdout;
    let each: String = typed.iter().map(|(kind, _)| format!("{kind},1\n")).collect();
    assert_eq!(answer, format!("kind,rows\n{each}"));
    kept
}

/// Every command has help with an example.
#[test]
fn every_command_shows_an_example() {
    let place = Place::new();
    let mut waiting = vec![Vec::new()];
    let mut seen = 0;
    while let Some(command) = waiting.pop() {
        let mut words: Vec<&str> = command.iter().map(String::as_str).collect();
        words.push("--help");
        let help = place.ligule(&words).exits(0).stdout;
        let shown = examples(&help);
        assert!(!shown.is_empty(), "`ligule {}` shows no example:\n{help}", words.join(" "));
        seen += 1;
        for line in &shown {
            // Remarks stand behind some of them, further in.
            let line = line.split("    ").next().unwrap_or(line).split(" > ").next().unwrap_or(line);
            let words = shlex::split(line).unwrap_or_else(|| panic!("`{line}` is no command"));
            let words: Vec<&str> = words.iter().skip(1).map(String::as_str).collect();
            // The demo makes its own journal, and runs in a test of its own.
            if matches!(words[0], "demo" | "init") {
                continue;
            }
            // Where there is no journal it is taken apart, and then asks for one, or for the file that it names.
            let answer = place.ligule(&words);
            let told = ["no journal", "no archive", "No such file", "no file or folder of that name"];
            let understood = answer.code == Some(0) || told.iter().any(|told| answer.stderr.contains(told));
            assert!(understood, "`{line}`: {}", answer.stderr);
        }
        let subcommands =
            help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| line.starts_with("  "));
        for line in subcommands {
            // A name begins two blanks in; what goes on from the line before lies further in.
            let Some(name) =
                line.strip_prefix("  ").filter(|rest| !rest.starts_with(' ')).and_then(|rest| rest.split(' ').next())
            else {
                continue;
            };
            if name != "help" {
                waiting.push(command.iter().cloned().chain([name.to_owned()]).collect());
            }
        }
    }
    assert!(seen > 45, "only {seen} commands were found");
}
