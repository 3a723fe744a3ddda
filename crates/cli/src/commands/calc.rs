use std::io::{self, Write};

use clap::{Arg, ArgMatches, Command};
use ligule_engine::catalogue::{self, Answer, Input, Need, Outcome, Takes, Value, Worksheet};
use ligule_engine::number::thousands;
use ligule_engine::{EngineError, Phrase, Reading, Result, Unit};
use serde_json::{Map, Value as Json, json};

use crate::args::{Format, Global};
use crate::listing::Listing;

/// Adds one subcommand a worksheet to `calc`.
pub(crate) fn with_worksheets(calc: Command) -> Command {
    let list =
        Command::new("list").about("List the worksheets").after_help("Example:\n  ligule calc list --format csv");
    calc.subcommand(list).subcommands(catalogue::worksheets().into_iter().map(subcommand))
}

fn subcommand(sheet: &'static Worksheet) -> Command {
    Command::new(sheet.name)
        .about(sheet.title)
        .long_about(format!("{}\n\nSource: {}", sheet.title, sheet.source))
        .after_help(format!("Example:\n  ligule calc {} {}", sheet.name, sheet.example))
        .args(sheet.inputs.iter().map(argument))
}

fn argument(input: &'static Input) -> Arg {
    let mut help = input.help.to_owned();
    let (value_name, unit) = match input.takes {
        Takes::Quantity(code) => ("QUANTITY", Unit::by_ucum(code).map_or("", |unit| unit.symbol)),
        Takes::CornYield => ("QUANTITY", "bu/ac; t/ha and kg/ha are read too"),
        Takes::Number(unit) => ("NUMBER", unit),
        Takes::Word(words) => {
            help.push_str(&format!(" ({})", words.join(", ")));
            ("WORD", "")
        }
        Takes::Text => ("TEXT", ""),
        Takes::Day => ("YYYY-MM-DD", ""),
    };
    if !unit.is_empty() {
        help.push_str(&format!("; a bare number means {unit}"));
    }
    if input.many {
        help.push_str(", several with blanks between");
    }
    if let Need::Usual(usual) = input.need {
        help.push_str(&format!(" [default: {usual}]"));
    }
    Arg::new(input.name)
        .long(input.name)
        .value_name(value_name)
        .help(help)
        .required(input.need == Need::Required)
        .allow_hyphen_values(true)
}

/// Lists the worksheets, or works one.
pub(crate) fn run(global: &Global, chosen: Option<(&str, &ArgMatches)>) -> Result<()> {
    let sheets = catalogue::worksheets();
    let mut out = io::stdout().lock();
    let Some((name, matches)) = chosen.filter(|(name, _)| *name != "list") else {
        let mut listing = Listing::new(["name", "title", "example"]);
        for sheet in sheets {
            listing.row(vec![
                json!(sheet.name),
                json!(sheet.title),
                json!(format!("ligule calc {} {}", sheet.name, sheet.example)),
            ]);
        }
        return Ok(listing.write(global.format, "no worksheets", &mut out)?);
    };
    let sheet = sheets.into_iter().find(|sheet| sheet.name == name).expect("clap knows only the worksheets");
    let typed: Vec<(&str, &str)> = sheet
        .inputs
        .iter()
        .filter_map(|input| matches.get_one::<String>(input.name).map(|text| (input.name, text.as_str())))
        .collect();
    let answer = sheet.work(&typed).map_err(|error| {
        EngineError::user(error.to_string(), format!("for example: `ligule calc {} {}`", sheet.name, sheet.example))
    })?;
    match global.format {
        Format::Text => for_people(sheet, &answer, &super::reading(global)?)?,
        Format::Csv => results(sheet, &answer).write(Format::Csv, "", &mut out)?,
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &whole(sheet, &answer))?;
            writeln!(out)?;
        }
        Format::Ndjson => writeln!(out, "{}", whole(sheet, &answer))?,
    }
    Ok(())
}

/// The working, the results, what to know, the source. The working is in the units of its source; a result is told in
/// those that are read too.
fn for_people(sheet: &Worksheet, answer: &Answer, reading: &Reading) -> Result<()> {
    say!("{}", sheet.title);
    for step in &answer.steps {
        say!("  {step}");
    }
    say!();
    let width = answer.results.iter().map(|outcome| outcome.name.chars().count()).max().unwrap_or(0);
    for outcome in &answer.results {
        let read = read_in(outcome, reading).map_or(String::new(), |read| format!(" ({read})"));
        say!("{:width$}  {outcome}{read}", outcome.name);
    }
    say!();
    for remark in &answer.remarks {
        say!("note: {remark}");
    }
    say!("source: {}", sheet.source);
    Ok(())
}

/// Returns a result in the units that are read; nothing where it is in them already, stands beside the same in others, or has
/// none that can be turned into others. Degrees are left alone: some of them are differences.
fn read_in(outcome: &Outcome, reading: &Reading) -> Option<String> {
    if let Some(grain) = outcome.grain {
        let told = |bushels: f64| reading.yield_per_acre(grain, bushels);
        return match &outcome.value {
            _ if !reading.reads_tonnes() => None,
            Value::Number(bushels) => Some(told(*bushels)),
            Value::Range(low, high) => {
                Some(reading.say(Phrase::RangeOf, &[("low", &told(*low)), ("high", &told(*high))]))
            }
            Value::Text(_) => None,
        };
    }
    let whole = |text: &str| Unit::by_spelling(text).filter(|unit| !["Cel", "[degF]", "1", "%"].contains(&unit.ucum));
    let (what, unit) = match outcome.unit.split_once('/') {
        Some((what @ ("plants" | "seeds"), per)) => (format!(" {what}"), whole(&format!("/{per}"))?),
        _ => (String::new(), whole(outcome.unit)?),
    };
    if outcome.name.ends_with(", metric") {
        return None;
    }
    let told = |value: f64| {
        let (value, symbol) = reading.converted(value, unit.ucum);
        (symbol != unit.symbol).then(|| (number_text(value, outcome.decimals), symbol))
    };
    let (number, symbol) = match &outcome.value {
        Value::Number(number) => told(*number)?,
        Value::Range(least, greatest) => {
            let ((least, symbol), (greatest, _)) = (told(*least)?, told(*greatest)?);
            (reading.say(Phrase::RangeOf, &[("low", &least), ("high", &greatest)]), symbol)
        }
        Value::Text(_) => return None,
    };
    let blank = if symbol.starts_with('/') { "" } else { " " };
    Some(format!("{number}{what}{blank}{symbol}"))
}

/// A number with as many decimals, and marks at the thousands where it has none.
fn number_text(value: f64, decimals: u8) -> String {
    match decimals {
        0 => thousands(value),
        _ => format!("{value:.*}", usize::from(decimals)),
    }
}

/// A result as programs read it, unrounded.
fn result(outcome: &Outcome) -> Map<String, Json> {
    let (value, least, greatest, words) = match &outcome.value {
        Value::Number(number) => (json!(number), Json::Null, Json::Null, Json::Null),
        Value::Range(least, greatest) => (Json::Null, json!(least), json!(greatest), Json::Null),
        Value::Text(words) => (Json::Null, Json::Null, Json::Null, json!(words)),
    };
    let pairs = [
        ("result", json!(outcome.name)),
        ("value", value),
        ("least", least),
        ("greatest", greatest),
        ("words", words),
        ("unit", json!(outcome.unit)),
    ];
    pairs.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

/// Everything that people are shown: whoever passes a number on has its cautions and its source at hand.
fn whole(sheet: &Worksheet, answer: &Answer) -> Json {
    json!({
        "worksheet": sheet.name,
        "title": sheet.title,
        "results": answer.results.iter().map(result).collect::<Vec<_>>(),
        "steps": answer.steps,
        "notes": answer.remarks,
        "source": sheet.source,
    })
}

/// A row a result, each with the notes and the source, because rows get separated.
fn results(sheet: &Worksheet, answer: &Answer) -> Listing {
    let mut listing = Listing::new(["result", "value", "least", "greatest", "words", "unit", "notes", "source"]);
    let notes = answer.remarks.join(" ");
    for outcome in &answer.results {
        let cells = result(outcome).into_iter().map(|(_, value)| value);
        listing.row(cells.chain([json!(notes), json!(sheet.source)]).collect());
    }
    listing
}
