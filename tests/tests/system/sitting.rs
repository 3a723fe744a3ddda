//! A visit in one sitting: what it asks for, what it understands, and that nothing of it is lost when the program dies.

use std::collections::BTreeSet;
use std::io::{Read, Write};
use std::process::{Child, ChildStdin, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use ligule_testkit::Place;

use crate::device::Device;

/// A visit that is under way in a process of its own.
struct Visit {
    child: Child,
    answers: ChildStdin,
    output: Receiver<Vec<u8>>,
    said: String,
    /// How much of what was said is dealt with.
    heard: usize,
}

impl Visit {
    fn start(device: &Device<'_>, arguments: &[&str]) -> Self {
        let words = [&["--journal", device.name(), "visit"], arguments].concat();
        let mut command = device.place().command(&words);
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("`ligule` starts");
        let (answers, mut stdout) = (child.stdin.take().expect("a pipe"), child.stdout.take().expect("a pipe"));
        let (sender, output) = channel();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(n) = stdout.read(&mut bytes) {
                if n == 0 || sender.send(bytes[..n].to_vec()).is_err() {
                    break;
                }
            }
        });
        Self { child, answers, output, said: String::new(), heard: 0 }
    }

    /// Waits for the next question and returns what was said since the last one; nothing where the program has ended.
    fn question(&mut self) -> Option<String> {
        let patience = Instant::now() + Duration::from_secs(60);
        loop {
            let new = &self.said[self.heard..];
            if new.ends_with(": ") {
                let new = new.to_owned();
                self.heard = self.said.len();
                return Some(new);
            }
            match self.output.recv_timeout(patience.saturating_duration_since(Instant::now())) {
                // The program writes a line or a question at a time, never half a letter.
                Ok(bytes) => self.said.push_str(&String::from_utf8(bytes).expect("UTF-8")),
                Err(RecvTimeoutError::Disconnected) => return None,
                Err(RecvTimeoutError::Timeout) => panic!("no question in a minute after: {}", self.said),
            }
        }
    }

    fn answer(&mut self, line: &str) {
        // A program that was just killed takes no answer.
        let _ = writeln!(self.answers, "{line}");
    }

    /// Ends it with SIGKILL; returns what it had said and nobody had read.
    fn dies(mut self) -> String {
        self.child.kill().expect("the process is ours");
        self.child.wait().expect("the process is ours");
        while let Ok(bytes) = self.output.recv() {
            self.said.push_str(&String::from_utf8_lossy(&bytes));
        }
        self.said[self.heard..].to_owned()
    }
}

/// Answers a whole visit, a line each; returns what was said.
#[track_caller]
fn answers(device: &Device<'_>, arguments: &[&str], lines: &[&str]) -> String {
    let words = [&["--journal", device.name(), "visit"], arguments].concat();
    let mut child =
        device.place().command(&words).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("it starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    writeln!(stdin, "{}", lines.join("\n")).expect("it reads");
    drop(stdin);
    let output = child.wait_with_output().expect("the process is ours");
    let said = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(output.status.success(), "{said}");
    said
}

/// Corn at V3, 28 May.
fn with_stage<'a>(place: &'a Place) -> Device<'a> {
    let imke = Device::with_field(place, "imke");
    imke.does(&["field", "amend", "north-40", "--row", "30in"]);
    imke
}

#[test]
fn it_asks_for_what_crop_and_stage_ask_for_and_tells_how_many_more() {
    let place = Place::new();
    let imke = with_stage(&place);
    let said = answers(
        &imke,
        &["north-40"],
        &[
            "skip", // no planting
            "3:8 4:12",
            "done",
            "", // the stage
            "",
            "17ft5in",
            "31",
            "done",
            "again", // the row width is the field's
            "",
            "",
            "27",
            "done",
            "again", // and the length that of the count before
            "",
            "",
            "seventeen",
            "29",
            "done",
            "quit",
        ],
    );
    for part in [
        "visit of north-40: planting, leaf-stage, stand-count",
        "field at V4 by 20 plants, V3 to V4",
        "not asked for at this stage: ",
        "Row width (4 to 80 in) [30 in]: ",
        "31 plants in 17.42 ft at 30 in ≈ 31,013 plants/ac",
        "another count will tell how many more are needed",
        "Length of row (1 to 1000 ft) [17ft5in]: ",
        "mean of 3 so far 29,012 ± 4,970 (95 % interval)",
        // A CV of 6.9 %: t by n is within 10 % of the mean from 5 counts on, within 5 % from 10 on (reckoned by hand below).
        "to ± 10 %",
        "to ± 5 %",
        "  ! ",
        "4 observations are recorded on north-40; `ligule visit north-40` goes on where you stopped",
    ] {
        assert!(said.contains(part), "`{part}` is missing in:\n{said}");
    }
    assert!(!said.contains("Hoop diameter") && !said.contains("Thousandths"), "another way to say it:\n{said}");
    let dropped =
        said.split("not asked for at this stage: ").nth(1).and_then(|rest| rest.lines().next()).expect("told");
    assert!(dropped.contains("yield-estimate") && dropped.contains("harvest"), "{dropped}");
    let listed = imke.observations();
    let visits: BTreeSet<&str> = listed.iter().map(|one| &one["observation"].as_str().expect("a key")[..26]).collect();
    assert_eq!((listed.len(), visits.len()), (4, 1), "one visit");

    let on = answers(&imke, &["north-40"], &["again", "", "", "30", "done", "finish"]);
    assert!(on.contains("going on with the visit of north-40"), "{on}");
    assert!(on.contains("4 recorded"), "{on}");
    assert!(on.contains("mean of 4 so far"), "{on}");
    let anew = answers(&imke, &["north-40"], &["quit"]);
    assert!(anew.contains("visit of north-40: planting, leaf-stage, stand-count"), "{anew}");
    assert!(!anew.contains("going on"), "a visit that was finished is over: {anew}");
}

/// Counts of t-intervals for 31, 27, 29 plants: mean 29, SD 2, CV 6.9 %. Student's t at 95 % for n − 1 degrees of freedom:
/// n = 5: 2.776 · 6.897 / √5 = 8.56 %, n = 4: 3.182 · 6.897 / 2 = 10.97 %; n = 10: 2.262 · 6.897 / √10 = 4.93 %, n = 9: 2.306 ·
/// 6.897 / 3 = 5.30 %. (t: NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2.)
#[test]
fn how_many_more_counts_is_what_the_t_table_says() {
    let place = Place::new();
    let imke = with_stage(&place);
    let count = |plants| ["", "17ft5in", plants, "done", "again"];
    let lines = [count("31"), count("27"), count("29")].concat();
    let said = answers(&imke, &["north-40", "--kinds", "stand-count"], &lines);
    assert!(said.contains("2 more counts to ± 10 %, 7 more counts to ± 5 %"), "{said}");
}

#[test]
fn what_is_refused_is_asked_again_and_nothing_that_was_answered_is_lost() {
    let place = Place::new();
    let imke = with_stage(&place);
    let kinds = ["north-40", "--kinds", "pest-count,note"];
    let said = answers(
        &imke,
        &kinds,
        &[
            "AGROYP", "100", "3", "back", "4", "9", // more cut than damaged
            "done", "", "", "", "2", "done", // the answers are offered again
            "back", "",      // what is recorded is not answered anew
            "=skip", // a text that is a word
            "",
        ],
    );
    assert!(said.contains("  ! "), "{said}");
    assert!(said.contains("there is no way back to its answers"), "{said}");
    assert!(said.contains("[AGROYP]") && said.contains("[9]"), "{said}");
    assert!(said.contains("2 observations are recorded on north-40"), "{said}");
    let listed = imke.observations();
    assert_eq!(listed[0]["values"]["plants_affected"], "4");
    assert_eq!(listed[0]["values"]["plants_cut"], "2");
    assert_eq!(listed[1]["values"]["text"], "skip");
}

/// What was recorded in a sitting that was stopped may have been moved since: nothing more is added to that visit.
#[test]
fn a_sitting_whose_visit_was_moved_begins_another_and_says_so() {
    let place = Place::new();
    let device = with_stage(&place);
    device.does(&[
        "field",
        "add",
        "creek",
        "--grower",
        "G",
        "--region",
        "US-IA",
        "--zone",
        "America/Chicago",
        "--crop",
        "corn",
    ]);
    let words = ["north-40", "--kinds", "stand-count"];
    answers(&device, &words, &["30in", "17ft5in", "31", "done", "quit"]);
    let counted = |field: &str| -> Vec<String> {
        let listed = device.observations();
        let of =
            listed.iter().filter(|one| one["field"] == field && one["kind"] == "stand-count" && one["state"] == "");
        of.map(|one| one["observation"].as_str().expect("a key")[..26].to_owned()).collect()
    };
    let first = counted("north-40").pop().expect("it is recorded");
    device.does(&["visit", "move", &first, "creek"]);
    let said = answers(&device, &words, &["30in", "17ft5in", "29", "done", "finish"]);
    assert!(said.contains("what was recorded in this sitting was moved to creek"), "{said}");
    let (here, there) = (counted("north-40"), counted("creek"));
    assert_eq!((here.len(), there.len()), (1, 1), "{said}");
    assert!(here[0] != first, "a visit of its own");
    // And only once: what is recorded here now is in no doubt.
    let again = answers(&device, &words, &["30in", "17ft5in", "28", "done", "finish"]);
    assert!(!again.contains("was moved to creek"), "{again}");
}

#[test]
fn a_second_process_that_takes_a_visit_over_is_noticed() {
    let place = Place::new();
    let imke = with_stage(&place);
    let kinds = ["north-40", "--kinds", "stand-count"];
    let mut first = Visit::start(&imke, &kinds);
    for line in ["", "17ft5in"] {
        first.question().expect("a question");
        first.answer(line);
    }
    first.question().expect("a question");
    let said = answers(&imke, &kinds, &["31", "done", "finish"]);
    assert!(said.contains("going on with"), "{said}");
    first.answer("99");
    assert_eq!(first.question(), None, "it stops: {}", first.said);
    assert_eq!(imke.observations().len(), 1);
}

#[test]
fn metric_and_spanish_crews_are_asked_in_their_words() {
    let place = Place::new();
    let imke = with_stage(&place);
    let said = answers(
        &imke,
        &["north-40", "--kinds", "stand-count", "--language", "es"],
        &["", "5.31m", "31", "listo", "salir"],
    );
    assert!(said.contains("Ancho de surco") && said.contains("anotada ") && said.contains("otro conteo"), "{said}");
}

/// Whoever ends a sample with another word than `done` has counted all the same: what is whole is recorded, what is not is given
/// up only when it is said twice.
#[test]
fn a_whole_sample_is_recorded_whichever_word_ends_it() {
    for word in ["finish", "skip", "leaf-stage"] {
        let place = Place::new();
        let imke = with_stage(&place);
        let kinds = ["north-40", "--kinds", "stand-count,leaf-stage"];
        let said = answers(&imke, &kinds, &["", "17ft5in", "31", word]);
        assert!(said.contains("31 plants in 17.42 ft"), "{word}: {said}");
        assert_eq!(imke.observations().len(), 1, "{word}");
    }
    let place = Place::new();
    let imke = with_stage(&place);
    let kinds = ["north-40", "--kinds", "stand-count,leaf-stage"];
    let said = answers(&imke, &kinds, &["32in", "17ft5in", "skip", "skip", "finish"]);
    assert!(said.contains("`skip` once more gives that up") && said.contains("Length of row 17ft5in"), "{said}");
    assert!(said.contains("given up, not recorded: stand-count: Row width 32in"), "{said}");
    assert!(imke.observations().is_empty());

    // Stopped and ended later, or put aside for another visit: as before.
    answers(&imke, &kinds, &["32in", "17ft5in", "31", "quit"]);
    let ended = answers(&imke, &kinds, &["finish"]);
    assert!(ended.contains("31 plants in 17.42 ft at 32 in"), "{ended}");
    answers(&imke, &kinds, &["32in", "17ft5in", "33", "quit"]);
    let anew = answers(&imke, &["north-40", "--kinds", "note", "--new"], &["quit"]);
    assert!(anew.contains("33 plants in 17.42 ft at 32 in"), "{anew}");
    answers(&imke, &["north-40", "--kinds", "stand-count", "--new"], &["32in", "17ft5in", "quit"]);
    let dropped = answers(&imke, &["north-40", "--kinds", "note", "--new"], &["quit"]);
    assert!(dropped.contains("given up, not recorded: stand-count: Row width 32in"), "{dropped}");
    assert_eq!(imke.observations().len(), 2);
}

#[test]
fn what_was_skipped_stays_so_and_what_is_needed_is_asked_for_at_once() {
    let place = Place::new();
    let imke = with_stage(&place);
    let kinds = ["north-40", "--kinds", "leaf-stage,application"];
    let mut visit = Visit::start(&imke, &kinds);
    visit.question().expect("the stage");
    visit.answer("skip");
    let asked = visit.question().expect("the application");
    assert!(asked.contains("(2/2)"), "{asked}");
    visit.dies();
    let said = answers(&imke, &kinds, &["", "quit"]);
    assert!(said.contains("it stops there") && said.contains("(2/2)") && !said.contains("(1/2)"), "{said}");
    assert!(said.contains("  ! Day is needed (answer it, or `skip` leaves out the kind)"), "{said}");
    let again = answers(&imke, &kinds, &["quit"]);
    assert!(!again.contains("it stops there"), "it was left with `quit`: {again}");
}

#[test]
fn a_visit_takes_a_picture_by_its_file() {
    let place = Place::new();
    let imke = with_stage(&place);
    let file = place.folder().join("gap.jpg");
    let made = ligule_testkit::run_python(
        "photo.py",
        [file.to_str().expect("UTF-8"), "7", "2026:06:12 09:40:00", "-05:00", "42.03", "-93.62"],
    );
    assert!(made.contains("JPEG"), "{made}");
    let said =
        answers(&imke, &["north-40", "--kinds", "photo"], &["nowhere.jpg", "gap.jpg", "Row 3, gaps", "", "finish"]);
    assert!(said.contains("Picture (its file): ") && said.contains("  ! "), "{said}");
    let photos = crate::photos::photos(&imke);
    assert_eq!(photos.len(), 1, "{said}");
    assert_eq!((&photos[0]["caption"], &photos[0]["here"]), (&"Row 3, gaps".into(), &true.into()));
    imke.does(&["photo", "verify"]);
}

#[test]
fn metric_answers_come_back_as_they_were_given() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.does(&["crew", "set", "units", "metric"]);
    let said = answers(&imke, &["north-40", "--kinds", "stand-count"], &["76", "5.31", "31", "done", "again", "quit"]);
    assert!(said.contains("  row 76 cm"), "{said}");
    assert!(said.contains("length 5.31 m") && said.contains("31 plants in 5.31 m at 76 cm"), "{said}");
}

/// The process is killed at random moments while a visit is answered. Whatever was echoed is there in the end, each answer
/// that was taken became one observation, and no answer is there twice.
#[test]
fn a_visit_survives_being_killed_at_any_moment() {
    const SAMPLES: usize = 25;
    let place = Place::new();
    let imke = with_stage(&place);
    let mut seed =
        std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).expect("after 1970").as_nanos() as u64 | 1;
    println!("seed {seed}");
    let mut roll = |sides: u64| {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        seed % sides
    };
    let kinds = ["north-40", "--kinds", "stand-count"];
    let (mut plants, mut kills) = (100, 0_usize);
    // Numbers of plants that were echoed, and keys that were told to be recorded.
    let (mut echoed, mut told): (BTreeSet<String>, BTreeSet<String>) = Default::default();
    let mut hear = |said: &str, told: &mut BTreeSet<String>| {
        for line in said.lines() {
            if let Some(number) = line.strip_prefix("  plants ") {
                echoed.insert(number.to_owned());
            }
            if let Some((key, _)) = line.split_once("recorded ").and_then(|(_, rest)| rest.split_once(": stand-count"))
            {
                told.insert(key.to_owned());
            }
        }
    };
    'visit: loop {
        let mut visit = Visit::start(&imke, &kinds);
        loop {
            let Some(said) = visit.question() else { break 'visit };
            hear(&said, &mut told);
            let question = said.lines().last().expect("a question");
            let line = match question {
                q if q.starts_with("Row width") => "30in".to_owned(),
                q if q.starts_with("Length of row") => "17ft5in".to_owned(),
                q if q.starts_with("Plants") => {
                    plants += 1;
                    plants.to_string()
                }
                q if q.starts_with("Rows counted") => "done".to_owned(),
                q if q.starts_with("`again`") && told.len() >= SAMPLES => String::new(),
                q if q.starts_with("`again`") => "again".to_owned(),
                q => panic!("unexpected: {q}"),
            };
            visit.answer(&line);
            if roll(3) == 0 {
                std::thread::sleep(Duration::from_micros(roll(12_000)));
                kills += 1;
                let said = visit.dies();
                hear(&said, &mut told);
                break;
            }
        }
    }
    let listed = imke.observations();
    let values: Vec<String> = listed
        .iter()
        .map(|one| one["values"]["plants"].as_str().expect("a number").trim_end_matches(".0").to_owned())
        .collect();
    let distinct: BTreeSet<String> = values.iter().cloned().collect();
    assert_eq!(values.len(), distinct.len(), "no sample is there twice");
    assert!(echoed.is_subset(&distinct), "echoed and lost: {:?}", echoed.difference(&distinct));
    let keys: BTreeSet<String> =
        listed.iter().map(|one| one["observation"].as_str().expect("a key").to_owned()).collect();
    assert!(told.is_subset(&keys), "recorded and lost: {:?}", told.difference(&keys));
    // A kill between the journal and the file beside it, which tells copied journals apart, costs a new visit: no more than
    // one a kill, and the observations are there all the same.
    let visits: BTreeSet<&str> = keys.iter().map(|key| &key[..26]).collect();
    assert!(visits.len() <= 1 + kills && visits.len() < values.len() / 2, "{visits:?}");
    assert!(kills >= 15, "{kills} kills prove little");
    println!("{kills} kills, {} samples, {} visits", values.len(), visits.len());
    imke.does(&["journal", "verify"]);
}
