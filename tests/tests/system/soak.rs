//! Processes are killed at random moments: what was said to be recorded is there, whole, and nothing else is there by half.
//!
//! A hundred rounds in the suite; `cargo xtask soak journal --rounds N` plays any number. A failing run prints its seed,
//! and `LIGULE_SOAK_SEED` plays it again; the moments at which processes die still depend on the machine.

use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

use ligule_testkit::{Answer, Place};
use serde_json::Value;

use crate::device::Device;

const ROUNDS: u64 = 100;
/// Lines of one call of `record --lines`, and days or rows of one imported file.
const BATCH: usize = 8;
/// Two pests, by EPPO code.
const ORGANISMS: [&str; 2] = ["AGROYP", "PSEDUN"];

/// xorshift64*: small, and the same everywhere.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        usize::try_from(self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33).expect("31 bits") % sides
    }
}

/// What a person knows of an observation: the values that it must show.
type Values = BTreeMap<&'static str, String>;

/// What was done, and what would be there if it was done.
enum Act {
    /// New observations; each is told apart by its marks.
    Record(Vec<Values>),
    /// Other values of an observation.
    Amend(String, Values),
    Void(String),
    /// New days of a weather station, or rows of a sheet.
    Import(Vec<Values>),
    /// Nothing that can be seen.
    Snapshot,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum What {
    Record,
    Lines,
    /// Lines that are recorded in several transactions.
    VeryMany,
    Amend,
    Void,
    Import,
    Sheet,
    Snapshot,
}

const ACTS: [What; 10] = [
    What::Record,
    What::Record,
    What::Lines,
    What::VeryMany,
    What::Amend,
    What::Amend,
    What::Void,
    What::Import,
    What::Sheet,
    What::Snapshot,
];

struct Soak<'a> {
    device: Device<'a>,
    dice: Dice,
    /// What is there for certain, by key; void ones are marked.
    known: BTreeMap<String, (Values, bool)>,
    /// Grows with every observation, so that each is told from every other.
    number: usize,
    /// How long an act takes that nobody ends.
    usual: BTreeMap<What, Duration>,
    acknowledged: usize,
    killed_before: usize,
    killed_after: usize,
}

#[test]
fn whatever_is_killed_nothing_acknowledged_is_lost_and_nothing_is_half_there() {
    let told = |name: &str| std::env::var(name).ok().map(|text| text.parse::<u64>().expect("a whole number"));
    let rounds = told("LIGULE_SOAK_ROUNDS").unwrap_or(ROUNDS);
    let seed = told("LIGULE_SOAK_SEED").unwrap_or_else(|| {
        let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).expect("after 1970");
        u64::from(now.subsec_nanos()) << 20 | now.as_secs() & 0xf_ffff
    });
    println!("seed {seed}, {rounds} rounds");
    let place = Place::new();
    let mut soak = Soak {
        device: Device::with_field(&place, "imke"),
        dice: Dice(seed | 1),
        known: BTreeMap::new(),
        number: 0,
        usual: BTreeMap::new(),
        acknowledged: 0,
        killed_before: 0,
        killed_after: 0,
    };
    let creek = ["field", "add", "creek", "--grower", "G", "--region", "US-IA", "--zone", "America/Chicago"];
    soak.device.does(&creek);
    let each = BTreeSet::from(ACTS);
    for what in each {
        soak.unharmed(what);
    }
    for round in 0..rounds {
        soak.round();
        if round % 25 == 24 {
            soak.is_whole();
        }
        if round % 250 == 249 {
            println!("{} rounds, {} observations", round + 1, soak.known.len());
        }
    }
    soak.is_whole();
    println!(
        "{} acts acknowledged before the kill, {} killed with nothing done, {} killed with all done and nothing said",
        soak.acknowledged, soak.killed_before, soak.killed_after
    );
    // Moments before and after the decisive one were tried, or this shows little.
    assert!(soak.acknowledged > 0 && soak.killed_before > 0, "the moments of the kills were badly chosen");
}

impl Soak<'_> {
    /// Does it with nobody in the way, to know how long it takes.
    fn unharmed(&mut self, what: What) {
        let start = Instant::now();
        let (words, act) = self.act(what);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        self.device.does(&words);
        self.usual.insert(what, start.elapsed());
        assert!(self.settle(act), "it was done");
    }

    /// Starts a process, kills it at a random moment, and looks.
    fn round(&mut self) {
        let what = ACTS[self.dice.roll(ACTS.len())];
        let (words, act) = self.act(what);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let usual = self.usual[&what];
        // From its start to a little after its usual end.
        let moment = usual.mul_f64(self.dice.roll(1500) as f64 / 1000.0);
        let mut child = self.device.starts(&words);
        std::thread::sleep(moment);
        child.kill().expect("the process is ours");
        let output = child.wait_with_output().expect("the process is ours");
        let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
        let answer = Answer { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) };
        // Every row of a sheet is of a scout of its own, and very many lines are of many years, which is told; a kill may
        // cut that short.
        let told = |line: &str| {
            let begins = ["note: scout ", "note: the year "];
            begins.iter().any(|begin| line.starts_with(begin) || begin.starts_with(line))
        };
        assert!(answer.stderr.lines().all(told), "{words:?}: {}", answer.stderr);
        let said = !answer.stdout.is_empty();
        let done = self.settle(act);
        assert!(done || !said, "{words:?} after {moment:?}: it said {:?}, and nothing is there", answer.stdout);
        match (said, done) {
            (true, _) => self.acknowledged += 1,
            (false, true) => self.killed_after += 1,
            (false, false) => self.killed_before += 1,
        }
    }

    fn next(&mut self) -> usize {
        self.number += 1;
        self.number
    }

    /// A line and what it records: two values that a correction changes together.
    fn count(&mut self) -> (String, Values) {
        let n = self.next();
        let (plants, organism) = (n % 1000 + 1, ORGANISMS[n % 2]);
        let values = Values::from([
            ("kind", "pest-count".to_owned()),
            ("plants_examined", plants.to_string()),
            ("organism", organism.to_owned()),
        ]);
        let line = format!("pest-count north-40 --organism {organism} --plants {plants} --at 2026-05-20T08:00");
        (line, values)
    }

    fn act(&mut self, what: What) -> (Vec<String>, Act) {
        let words = |line: &str| shlex::split(line).expect("well quoted");
        let standing: Vec<String> = (self.known.iter())
            .filter(|(_, (values, void))| !void && values["kind"] == "pest-count")
            .map(|(key, _)| key.clone())
            .collect();
        match what {
            What::Record => {
                let (line, values) = self.count();
                (words(&format!("record {line}")), Act::Record(vec![values]))
            }
            What::Lines => {
                let (lines, values): (Vec<_>, Vec<_>) = (0..BATCH).map(|_| self.count()).unzip();
                let file = self.device.place().folder().join("lines.txt");
                std::fs::write(file, lines.join("\n")).expect("the folder can be written");
                (words("record --lines lines.txt"), Act::Record(values))
            }
            What::VeryMany => {
                // One transaction takes at most 200 documents and people.
                let places = (0..440).map(|n| (["north-40", "creek"][n % 2], 1970 + n / 2 % 55, n / 110));
                let (lines, values): (Vec<_>, Vec<_>) = places
                    .map(|(field, year, scout)| {
                        let (line, values) = self.count();
                        let line = line.replace("north-40", field).replace("2026", &year.to_string());
                        let told = [("field", field.to_owned()), ("by", format!("scout {scout}"))];
                        (format!("{line} --by \"scout {scout}\""), values.into_iter().chain(told).collect::<Values>())
                    })
                    .unzip();
                let file = self.device.place().folder().join("lines.txt");
                std::fs::write(file, lines.join("\n")).expect("the folder can be written");
                (words("record --lines lines.txt"), Act::Record(values))
            }
            What::Amend => {
                let key = standing[self.dice.roll(standing.len())].clone();
                let plants = self.next() % 1000 + 1;
                let mut values = self.known[&key].0.clone();
                let organism = ORGANISMS[usize::from(values["organism"] == ORGANISMS[0])];
                values.insert("plants_examined", plants.to_string());
                values.insert("organism", organism.to_owned());
                (words(&format!("amend {key} --plants {plants} --organism {organism}")), Act::Amend(key, values))
            }
            What::Void => {
                let key = standing[self.dice.roll(standing.len())].clone();
                (words(&format!("void {key} --why soaked")), Act::Void(key))
            }
            What::Import => {
                let n = self.next();
                let mut file = "date,tmin_c,tmax_c\n".to_owned();
                let values = (1..=BATCH).map(|day| {
                    file += &format!("2026-04-{day:02},{},{}\n", day, day + 10);
                    Values::from([
                        ("kind", "weather-day".to_owned()),
                        ("field", format!("soak-{n}")),
                        ("day", format!("2026-04-{day:02}")),
                    ])
                });
                let values = values.collect();
                let path = self.device.place().folder().join("days.csv");
                std::fs::write(path, file).expect("the folder can be written");
                (words(&format!("import weather days.csv --station soak-{n}")), Act::Import(values))
            }
            What::Sheet => {
                // Rows of two fields, so of two documents; the mapping is kept from the first time on.
                let mut file = "field,date,time,scout,row width (in),length (ft),plants\n".to_owned();
                let values = (0..BATCH).map(|row| {
                    let (n, field) = (self.next(), ["north-40", "creek"][row % 2]);
                    let plants = 10 + n % 30;
                    file += &format!("{field},2026-05-21,08:{row:02},scout {n},30,17.5,{plants}\n");
                    Values::from([
                        ("kind", "stand-count".to_owned()),
                        ("field", field.to_owned()),
                        ("by", format!("scout {n}")),
                        ("plants", plants.to_string()),
                    ])
                });
                let values = values.collect();
                std::fs::write(self.device.place().folder().join("counts.csv"), file)
                    .expect("the folder can be written");
                (words("import observations counts.csv --yes"), Act::Import(values))
            }
            What::Snapshot => (words("journal snapshot"), Act::Snapshot),
        }
    }

    /// Compares what is listed with what must be there with and without the act; tells whether the act was done.
    fn settle(&mut self, act: Act) -> bool {
        let mut listed: BTreeMap<String, Value> = (self.device.observations().into_iter())
            .map(|one| (one["observation"].as_str().expect("a key").to_owned(), one))
            .collect();
        let (mut expected, new) = match act {
            Act::Record(new) | Act::Import(new) => (None, new),
            Act::Amend(key, values) => (Some((key, (values, false))), Vec::new()),
            Act::Void(key) => {
                let (values, _) = self.known[&key].clone();
                (Some((key, (values, true))), Vec::new())
            }
            Act::Snapshot => (None, Vec::new()),
        };
        let mut done = new.is_empty() && expected.is_none();
        let known: Vec<String> = self.known.keys().cloned().collect();
        for key in known {
            let one = listed.remove(&key).unwrap_or_else(|| panic!("{key} was there and is gone"));
            if shows(&one, &self.known[&key]) {
                continue;
            }
            let after = expected.take_if(|(changed, _)| *changed == key);
            let Some((_, after)) = after else { panic!("{key} shows {one}, not {:?}", self.known[&key]) };
            assert!(shows(&one, &after), "{key} is neither as it was nor as it should be: {one}");
            self.known.insert(key, after);
            done = true;
        }
        if listed.is_empty() {
            return done;
        }
        assert_eq!(listed.len(), new.len(), "all that was recorded together is there, or nothing of it");
        for values in new {
            let after = (values, false);
            let key = listed.iter().find(|(_, one)| shows(one, &after)).map(|(key, _)| key.clone());
            let key = key.unwrap_or_else(|| panic!("nothing shows {:?} among {listed:?}", after.0));
            listed.remove(&key);
            self.known.insert(key, after);
        }
        true
    }

    fn is_whole(&self) {
        let said = self.device.does(&["journal", "verify"]);
        assert!(said.contains(&format!("and {} observations are whole", self.known.len())), "{said}");
    }
}

/// Tells whether a listed observation shows these values.
fn shows(one: &Value, (values, void): &(Values, bool)) -> bool {
    let text = |value: &Value| value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    one["state"].as_str().is_some_and(|state| state.starts_with("void") == *void)
        && values.iter().all(|(name, expected)| {
            let value = if one[*name].is_null() { &one["values"][*name] } else { &one[*name] };
            text(value) == *expected
        })
}
