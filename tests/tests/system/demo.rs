//! The demo, whole: what it prints is held word by word, with paths, ids, ports, times and byte counts taken out.

use std::time::{Duration, Instant};

use ligule_testkit::{Place, repository_root};
use regex::Regex;
use snapbox::{Data, assert_data_eq};

/// Takes out what differs from run to run beyond what every transcript leaves out.
fn settled(transcript: &str) -> String {
    let mut text = transcript.replace(&program(), "ligule");
    for (pattern, sign) in [
        (r"ligule1[0-9a-z]+", "[INVITATION]"),
        (r"#[0-9a-f]{64}", "#[DEVICE]"),
        (r"\d+ bytes in, \d+ out", "[BYTES] bytes in, [BYTES] out"),
        (r"the digest [0-9a-f]{16}", "the digest [DIGEST]"),
        (r"\[INSTANT\]  [0-9a-f]{8}(  [0-9a-f]{8})?", "[INSTANT]  [ID]"),
        (r"\[INSTANT\] +[0-9a-f]{8}", "[INSTANT]  [ID]"),
        (r"[ \t]+\n", "\n"),
    ] {
        text = Regex::new(pattern).expect("a fixed pattern").replace_all(&text, sign).into_owned();
    }
    // Concurrent changes come in an order that depends on the devices' random identifiers.
    let mut lines: Vec<&str> = text.lines().collect();
    let told = |line: &str| line.contains("[INSTANT]") && line.contains("[ID]");
    let mut start = 0;
    while start < lines.len() {
        let end = lines[start..].iter().position(|line| !told(line)).map_or(lines.len(), |n| start + n);
        lines[start..end].sort_unstable();
        start = end + 1;
    }
    lines.join("\n") + "\n"
}

/// The program's path, which the demo shows to whoever has it not on the shell's path.
fn program() -> String {
    std::env::var("LIGULE_PROGRAM").expect("`cargo xtask test` sets LIGULE_PROGRAM")
}

#[test]
fn the_demo_is_what_it_was() {
    let place = Place::new();
    let began = Instant::now();
    place.ligule(&["demo", "--into", "demo"]).exits(0);
    let took = began.elapsed();
    let expected = repository_root().join("tests/tests/system/demo.txt");
    assert_data_eq!(settled(&place.transcript()), Data::read_from(&expected, None).raw());
    // The promise is 60 s for the release build; this one is unoptimised and shares the machine with other tests.
    assert!(took < Duration::from_secs(120), "the demo took {took:?}");
    for made in ["demo/north-40.html", "demo/imke/journal.sqlite", "demo/imke/archive/stand_count/_delta_log"] {
        assert!(place.folder().join(made).exists(), "the demo makes {made}");
    }
    // What it says to try next can be typed.
    let said = settled(&place.transcript());
    let next = said.split("Five commands to try next").nth(1).expect("the demo ends with five commands");
    let commands: Vec<&str> = next.lines().map(str::trim).filter_map(|line| line.strip_prefix("ligule ")).collect();
    assert_eq!(commands.len(), 5, "{commands:?}");
    for command in commands {
        let words = shlex::split(command).expect("a command");
        let words: Vec<String> = words
            .iter()
            .map(|word| match word.as_str() {
                "imke" | "tomas" => format!("demo/{word}"),
                other => other.to_owned(),
            })
            .collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        place.ligule(&words).exits(0);
    }
}

/// A folder that is there already is left alone.
#[test]
fn the_demo_does_not_touch_a_folder_that_is_there() {
    let place = Place::new();
    std::fs::create_dir(place.folder().join("mine")).expect("a folder can be made");
    let answer = place.ligule(&["demo", "--into", "mine"]).exits(2);
    assert!(answer.stderr.contains("cannot make the folder mine"), "{}", answer.stderr);
    assert_eq!(std::fs::read_dir(place.folder().join("mine")).expect("it is there").count(), 0);
}
