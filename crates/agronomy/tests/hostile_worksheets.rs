//! Whatever is typed into a worksheet, or into all of its inputs at once, gives an answer or an error: none panics,
//! none hangs, none answers with what is no number.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc;
use std::time::Duration;

use common::{Random, seed};
use ligule_agronomy::catalogue::{Answer, Input, Takes, Value, Worksheet, worksheets};

mod common;

/// Random workings of each worksheet, beside the listed texts.
const RANDOM_WORKINGS: usize = 300;

/// How long all workings of one worksheet may take before it counts as hanging; a second or two is usual.
const PATIENCE: Duration = Duration::from_secs(120);

/// Texts that break things more often than chance would bring them.
const NUMBERS: [&str; 32] = [
    "0",
    "-0",
    "1",
    "-1",
    "2",
    "0.5",
    "1e-9",
    "-1e-9",
    "1e-308",
    "5e-324",
    "1e9",
    "-1e9",
    "1000000000",
    "1e15",
    "-1e15",
    "1e18",
    "1e21",
    "1e100",
    "1e308",
    "-1e308",
    "1.7976931348623157e308",
    "99999999999999999999999999999999999",
    "0.00000000000000000000000000000000000000001",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "infinity",
    "1/0",
    "0/0",
    "9223372036854775807",
    "18446744073709551616",
];

const OTHERS: [&str; 40] = [
    "",
    " ",
    "\t",
    "\n",
    "-",
    "--",
    "x",
    "…",
    "½",
    "1½",
    "٣",
    "1,000",
    "1.000,5",
    "$",
    "$-5",
    "100%",
    "1000000000%",
    "-50%",
    "1e9 ft",
    "1e300 km",
    "-1 in",
    "0 in",
    "1 furlong",
    "1e9 °F",
    "-500 °C",
    "0 K",
    "1e308 1/[acr_us]",
    "V0",
    "V255",
    "V999999999999",
    "R0",
    "R7",
    "VE",
    "vt",
    "2026-05-28",
    "0000-01-01",
    "9999-12-31",
    "-9999-01-01",
    "2026-02-30",
    "🌽",
];

/// Returns a text of this many entries.
fn list_of(text: &str, entries: usize) -> String {
    vec![text; entries].join(" ")
}

fn long_texts() -> Vec<String> {
    vec![
        "9".repeat(5000),
        "a".repeat(100_000),
        list_of("1", 2),
        list_of("0", 10),
        list_of("1e9", 100),
        list_of("1e308", 10),
        list_of("-1e308 1e308", 5),
        list_of("1 2 3", 3000),
        list_of("0 1e15 -1e15", 10),
        list_of("V4", 1000),
        (0..2000).map(|n| n.to_string()).collect::<Vec<_>>().join(" "),
    ]
}

fn example(sheet: &Worksheet) -> Vec<(String, String)> {
    let words = shlex::split(sheet.example).expect("a test of the catalogue reads every example");
    words.chunks(2).map(|pair| (pair[0].trim_start_matches("--").to_owned(), pair[1].clone())).collect()
}

/// Returns what is wrong with an answer: a number that is none. An infinite or missing number must be an error instead.
fn wrong(answer: &Answer) -> Option<String> {
    answer.results.iter().find_map(|outcome| {
        let right = match outcome.value {
            Value::Number(number) => number.is_finite(),
            Value::Range(low, high) => low.is_finite() && high.is_finite() && low <= high,
            Value::Text(_) => true,
        };
        (!right).then(|| format!("{} = {:?}", outcome.name, outcome.value))
    })
}

/// Works a sheet; returns what went wrong.
fn work(sheet: &Worksheet, typed: &[(String, String)]) -> Option<String> {
    let borrowed: Vec<_> = typed.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let shown = || {
        let cut = |text: &String| text.chars().take(60).collect::<String>();
        typed.iter().map(|(name, text)| format!("--{name} '{}'", cut(text))).collect::<Vec<_>>().join(" ")
    };
    let worked = catch_unwind(AssertUnwindSafe(|| match sheet.work(&borrowed) {
        Ok(answer) => {
            let shown: usize = answer.results.iter().map(|outcome| outcome.to_string().len()).sum();
            wrong(&answer).or((shown == 0).then(|| "shows nothing".to_owned()))
        }
        Err(error) => error.to_string().is_empty().then(|| "an empty message".to_owned()),
    }));
    match worked {
        Ok(None) => None,
        Ok(Some(what)) => Some(format!("{} {}: {what}", sheet.name, shown())),
        Err(_) => Some(format!("{} {}: PANIC", sheet.name, shown())),
    }
}

/// Returns texts that an input may well be given: words of its list, and the listed ones.
fn texts_for(input: &Input) -> Vec<String> {
    let words: &[&str] = if let Takes::Word(words) = input.takes { words } else { &[] };
    words.iter().chain(&NUMBERS).chain(&OTHERS).map(|text| (*text).to_owned()).chain(long_texts()).collect()
}

fn all_workings(sheet: &Worksheet, random: &mut Random) -> Vec<String> {
    let example = example(sheet);
    let mut failures = Vec::new();
    let mut check = |typed: &[(String, String)]| failures.extend(work(sheet, typed));
    let with = |changes: &[(&str, String)]| {
        let mut typed: Vec<_> = example.clone();
        for (name, text) in changes {
            match typed.iter_mut().find(|(given, _)| given == name) {
                Some((_, given)) => given.clone_from(text),
                None => typed.push(((*name).to_owned(), text.clone())),
            }
        }
        typed
    };
    // Nothing at all, a name that is not asked, each input alone.
    check(&[]);
    check(&with(&[("no-such-input", "1".to_owned())]));
    for input in sheet.inputs {
        let mut without = example.clone();
        without.retain(|(name, _)| name != input.name);
        check(&without);
        for text in texts_for(input) {
            check(&with(&[(input.name, text)]));
        }
    }
    // The same text in every input.
    for text in NUMBERS.iter().chain(&OTHERS).map(|text| (*text).to_owned()).chain(long_texts()) {
        let everywhere: Vec<_> = sheet.inputs.iter().map(|input| (input.name.to_owned(), text.clone())).collect();
        check(&everywhere);
    }
    // Inputs that fit the example but not each other, at random; and numbers of every size.
    let texts: Vec<Vec<String>> = sheet.inputs.iter().map(texts_for).collect();
    for _ in 0..RANDOM_WORKINGS {
        let mut changes = Vec::new();
        for (input, texts) in sheet.inputs.iter().zip(&texts) {
            let text = match random.whole(0, 5) {
                0 | 1 => continue,
                2 => texts[random.whole(0, texts.len() as u64 - 1) as usize].clone(),
                3 => format!("{}", f64::from_bits(random.bits())),
                4 => {
                    let most = 10_u32.pow(random.whole(0, 6) as u32);
                    format!("{:.3}", random.between(0.0, f64::from(most)))
                }
                _ => random.whole(0, 30).to_string(),
            };
            let entries = if input.many { random.whole(1, 12) as usize } else { 1 };
            changes.push((input.name, list_of(&text, entries)));
        }
        check(&with(&changes));
    }
    failures
}

#[test]
fn no_worksheet_panics_or_hangs_or_answers_with_no_number() {
    let seed = seed();
    let mut failures = Vec::new();
    for sheet in worksheets() {
        let (tell, told) = mpsc::channel();
        std::thread::spawn(move || tell.send(all_workings(sheet, &mut Random(seed))));
        match told.recv_timeout(PATIENCE) {
            Ok(found) => {
                if let Some(first) = found.first() {
                    failures.push(format!("{} workings of `{}`, first {first}", found.len(), sheet.name));
                }
            }
            Err(_) => failures.push(format!("`{}` did not end within {} s", sheet.name, PATIENCE.as_secs())),
        }
    }
    assert!(failures.is_empty(), "seed {seed}:\n{}", failures.join("\n"));
    println!("{} worksheets", worksheets().len());
}
