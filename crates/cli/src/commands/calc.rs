use std::io;

use clap::{Arg, ArgMatches, Command};
use ligule_engine::Unit;
use ligule_engine::catalogue::{self, Answer, Input, Need, Takes, Value, Worksheet};
use ligule_engine::{EngineError, Result};
use serde_json::json;

use crate::args::{Format, Global};
use crate::listing::Listing;

/// Adds one subcommand a worksheet to `calc`.
pub(crate) fn with_worksheets(calc: Command) -> Command {
    calc.subcommands(catalogue::worksheets().into_iter().map(subcommand))
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
    let Some((name, matches)) = chosen else {
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
        Format::Text => for_people(sheet, &answer),
        format => Ok(for_programs(&answer).write(format, "", &mut out)?),
    }
}

/// The working, the results, what to know, the source.
fn for_people(sheet: &Worksheet, answer: &Answer) -> Result<()> {
    say!("{}", sheet.title);
    for step in &answer.steps {
        say!("  {step}");
    }
    say!();
    let width = answer.results.iter().map(|outcome| outcome.name.chars().count()).max().unwrap_or(0);
    for outcome in &answer.results {
        say!("{:width$}  {outcome}", outcome.name);
    }
    say!();
    for remark in &answer.remarks {
        say!("note: {remark}");
    }
    say!("source: {}", sheet.source);
    Ok(())
}

/// A row a result, unrounded; steps, remarks and source are for people.
fn for_programs(answer: &Answer) -> Listing {
    let mut listing = Listing::new(["result", "value", "least", "greatest", "words", "unit"]);
    for outcome in &answer.results {
        let (value, least, greatest, words) = match &outcome.value {
            Value::Number(number) => (json!(number), json!(null), json!(null), json!(null)),
            Value::Range(least, greatest) => (json!(null), json!(least), json!(greatest), json!(null)),
            Value::Text(words) => (json!(null), json!(null), json!(null), json!(words)),
        };
        listing.row(vec![json!(outcome.name), value, least, greatest, words, json!(outcome.unit)]);
    }
    listing
}
