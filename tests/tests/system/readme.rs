//! What the README shows is what the program prints.

use ligule_testkit::{Place, repository_root};
use regex::Regex;

/// Shortens identifiers as the README does.
fn shortened(text: &str) -> String {
    let mut text = text.to_owned();
    for (pattern, sign) in
        [(r"\b[0-7][0-9A-HJKMNP-TV-Z]{25}\b", "01K…"), (r"\b[0-9a-f]{64}\b", "8f3a…"), (r"[ \t]+\n", "\n")]
    {
        text = Regex::new(pattern).expect("a fixed pattern").replace_all(&text, sign).into_owned();
    }
    text
}

#[test]
fn the_readmes_transcripts_are_true() {
    let readme = std::fs::read_to_string(repository_root().join("README.md")).expect("there is a README");
    let transcripts: Vec<&str> = readme
        .split("<!-- transcript -->")
        .skip(1)
        .map(|after| {
            after.split("```console\n").nth(1).and_then(|rest| rest.split("```").next()).expect("a console block")
        })
        .collect();
    assert!(transcripts.len() >= 2, "the README marks its transcripts");
    transcripts.into_iter().for_each(is_true);
}

/// Types the commands of a transcript, in a place of its own, and holds the answers to what the transcript shows.
fn is_true(transcript: &str) {
    let mut place = Place::new();
    place.set("LIGULE_JOURNAL", "journal");
    let mut answer = String::new();
    let mut said = String::new();
    for line in transcript.lines() {
        if let Some(command) = line.strip_prefix("$ ligule ") {
            assert_eq!(shortened(&answer).trim_end(), said.trim_end(), "before `{command}`");
            let words = shlex::split(command).expect("a command");
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let given = place.ligule(&words);
            answer = format!("{}{}", given.stdout, given.stderr);
            said.clear();
        } else {
            said.push_str(line);
            said.push('\n');
        }
    }
    assert!(!answer.is_empty(), "no command in\n{transcript}");
    assert_eq!(shortened(&answer).trim_end(), said.trim_end(), "at the end");
}

/// The README opens with the job, in one paragraph, and names the two commands.
#[test]
fn the_readme_opens_with_the_job_and_the_two_commands() {
    let readme = std::fs::read_to_string(repository_root().join("README.md")).expect("there is a README");
    let opening = readme.lines().find(|line| !line.starts_with('#') && !line.is_empty()).expect("a first line");
    assert!(opening.starts_with("A crop adviser"), "{opening}");
    for command in ["cargo run --release -- demo", "cargo xtask test"] {
        assert!(readme.contains(&format!("$ {command}\n")), "{command}");
    }
}
