//! The flags of `record` and `amend`, made from the kinds' own declarations.

use clap::{Arg, ArgMatches, Command};
use ligule_engine::kind::{Kind, Measure, ResultType};
use ligule_engine::kinds::KindSet;
use ligule_engine::{PHOTO, Unit};

use crate::photo_args::with_files;

/// Adds one subcommand a kind to `record`; weather is observed at stations and comes in by `import`.
pub(crate) fn with_kinds(record: Command, kinds: &KindSet, language: &str) -> Command {
    record
        .subcommand_negates_reqs(true)
        .args_conflicts_with_subcommands(true)
        .subcommands(kinds.iter().filter(|kind| kind.feature != "weather").map(|kind| subcommand(kind, language)))
}

fn subcommand(kind: &Kind, language: &str) -> Command {
    let text = |labels| text(labels, language);
    let mut command = Command::new(kind.kind.clone())
        .about(text(&kind.label).to_owned())
        .long_about(format!("{}\n\nHow: {}", text(&kind.about), text(&kind.protocol)))
        .after_help(format!("Example:\n  ligule record {} north-40 {}", kind.kind, kind.example))
        .arg(Arg::new("field").required(true).value_name("FIELD").help("The field, by its name"))
        .next_help_heading("Measures");
    for measure in &kind.measures {
        command = command.arg(argument(&kind.kind, measure, language));
    }
    if kind.kind == PHOTO {
        command = with_files(command);
    }
    command
        .next_help_heading("Time and place")
        .arg(
            Arg::new("at").long("at").value_name("TIME").help(
                "When it was observed: `2026-05-28T07:40` or `07:40` today, in the field's time zone [default: now]",
            ),
        )
        .arg(
            Arg::new("near")
                .long("near")
                .value_name("LAT,LON")
                .allow_hyphen_values(true)
                .help("Where, in degrees: `42.03,-93.62`"),
        )
        .arg(Arg::new("by").long("by").value_name("NAME").help("Who observed [default: the person of this journal]"))
        .arg(
            Arg::new("accept-time")
                .long("accept-time")
                .action(clap::ArgAction::SetTrue)
                .help("Record a time that lies in the future of this device's clock"),
        )
}

/// Returns the argument of one measure.
fn argument(kind: &str, measure: &Measure, language: &str) -> Arg {
    let text = |labels| text(labels, language);
    let mut help = text(&measure.label).to_owned();
    match measure.result {
        ResultType::Quantity | ResultType::Count | ResultType::List => {
            let symbol = measure.unit.as_deref().and_then(Unit::by_ucum).map_or("", |u| u.symbol);
            if let Some([low, high]) = measure.range {
                help.push_str(&format!(" ({low} to {high}"));
                if !symbol.is_empty() && symbol != "1" {
                    help.push_str(&format!(" {symbol}"));
                }
                help.push(')');
            }
        }
        ResultType::Choice if !measure.choices.is_empty() => {
            let codes: Vec<&str> = measure.choices.iter().map(|c| c.code.as_str()).collect();
            help.push_str(&format!(" ({})", codes.join(", ")));
        }
        ResultType::Choice => help.push_str(&format!(" (codes: `ligule kind {kind} --codes`)")),
        _ => {}
    }
    let argument = Arg::new(measure.name.clone())
        .long(measure.flag())
        .value_name(value_name(measure.result))
        .required(measure.required)
        .allow_hyphen_values(true);
    match text(&measure.about) {
        "" => argument.help(help),
        about => argument.long_help(format!("{help}. {about}")).help(help),
    }
}

fn value_name(result: ResultType) -> &'static str {
    match result {
        ResultType::Quantity => "QUANTITY",
        ResultType::Count => "NUMBER",
        ResultType::Choice => "CODE",
        ResultType::Stage => "STAGE",
        ResultType::Day => "YYYY-MM-DD",
        ResultType::List => "NUMBERS",
        ResultType::Text => "TEXT",
    }
}

/// The values given for a kind's measures, as typed, in the order of the measures.
pub(crate) fn given(kind: &Kind, matches: &ArgMatches) -> Vec<(String, String)> {
    kind.measures
        .iter()
        .filter_map(|m| matches.get_one::<String>(&m.name).map(|value| (m.name.clone(), value.clone())))
        .collect()
}

/// Returns the text in a language, in English where there is none.
fn text<'a>(labels: &'a ligule_engine::kind::Labels, language: &str) -> &'a str {
    labels.get(language).or_else(|| labels.get("en")).map_or("", String::as_str)
}
