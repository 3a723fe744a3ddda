//! The flags of `record` and `amend`, made from the kinds' own declarations.

use clap::{Arg, ArgAction, ArgMatches, Command};
use ligule_engine::kind::{Kind, Measure, ResultType};
use ligule_engine::kinds::KindSet;
use ligule_engine::{EngineError, PHOTO, Phrase, Reading, Result};

use crate::photo_args::with_files;

/// Adds one subcommand a kind to `record`; weather is observed at stations and comes in by `import`.
pub(crate) fn with_kinds(record: Command, kinds: &KindSet, reading: &Reading) -> Command {
    record
        .subcommand_negates_reqs(true)
        .args_conflicts_with_subcommands(true)
        .subcommands(kinds.iter().filter(|kind| kind.feature != "weather").map(|kind| subcommand(kind, reading)))
}

fn subcommand(kind: &Kind, reading: &Reading) -> Command {
    let text = |labels| text(labels, &reading.language);
    let mut command = Command::new(kind.kind.clone())
        .about(text(&kind.label).to_owned())
        .long_about(format!("{}\n\nHow: {}", text(&kind.about), text(&kind.protocol)))
        .after_help(format!(
            "Example:\n  ligule record {} north-40 {}\n\nSeveral in one go: a flag that is given once holds for all, one that \
             is given several times tells each.",
            kind.kind, kind.example
        ))
        .arg(field(kind))
        .next_help_heading("Measures");
    for measure in &kind.measures {
        command = command.arg(argument(&kind.kind, measure, reading));
    }
    if kind.kind == PHOTO {
        command = with_files(command);
    }
    command
        .next_help_heading("Time and place")
        .arg(
            Arg::new("at").long("at").value_name("TIME").action(ArgAction::Append).help(
                "When it was observed: `2026-05-28T07:40` or `07:40` today, in the field's time zone [default: now]",
            ),
        )
        .arg(
            Arg::new("near")
                .long("near")
                .value_name("LAT,LON")
                .allow_hyphen_values(true)
                .action(ArgAction::Append)
                .help("Where, in degrees: `42.03,-93.62`; without FIELD it finds the field by its boundary"),
        )
        .arg(Arg::new("by").long("by").value_name("NAME").help("Who observed [default: the person of this journal]"))
        .arg(
            Arg::new("accept-time")
                .long("accept-time")
                .action(ArgAction::SetTrue)
                .help("Record a time that lies in the future of this device's clock"),
        )
        .arg(Arg::new(AND).long(AND).value_name("KIND …").num_args(1..).allow_hyphen_values(true).help(
            "Another observation of the same field, time and person, as one would type it after `ligule record`; \
                     all are recorded or none",
        ))
}

/// The flag behind which another observation stands.
pub(crate) const AND: &str = "and";

/// The field; a place can tell it, but not where files of photos follow it.
fn field(kind: &Kind) -> Arg {
    let field = Arg::new("field").value_name("FIELD").required(kind.kind == PHOTO);
    field.help("The field, by its name; left out where `--near` tells it")
}

/// Returns the argument of one measure.
fn argument(kind: &str, measure: &Measure, reading: &Reading) -> Arg {
    let text = |labels| text(labels, &reading.language);
    let mut help = text(&measure.label).to_owned();
    match measure.result {
        ResultType::Quantity | ResultType::Count | ResultType::List => {
            // The unit that is told is that of a bare number.
            if let Some([low, high]) = measure.range {
                help.push_str(&format!(" ({})", reading.range(measure, low, high)));
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
        .action(ArgAction::Append)
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

/// One of several samples that flags tell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Sample {
    /// The values given for the kind's measures, as typed, in the order of the measures.
    pub(crate) values: Vec<(String, String)>,
    pub(crate) at: Option<String>,
    pub(crate) near: Option<String>,
}

/// Returns the samples that flags tell: one, or as many as some flag was given times.
///
/// *Errors:* flags that were given several times, but not the same number of times.
pub(crate) fn samples(kind: &Kind, matches: &ArgMatches, reading: &Reading) -> Result<Vec<Sample>> {
    let all = |name: &str| matches.get_many::<String>(name).map_or_else(Vec::new, |texts| texts.cloned().collect());
    let given: Vec<(&Measure, Vec<String>)> = kind
        .measures
        .iter()
        .map(|measure| (measure, all(&measure.name)))
        .filter(|(_, texts)| !texts.is_empty())
        .collect();
    let (at, near) = (all("at"), all("near"));
    let flags = || {
        let named = given.iter().map(|(measure, texts)| (measure.flag(), texts.len()));
        named.chain([("at".to_owned(), at.len()), ("near".to_owned(), near.len())])
    };
    let number = flags().map(|(_, times)| times).max().unwrap_or(1).max(1);
    if let Some((flag, times)) = flags().find(|(_, times)| *times > 1 && *times != number) {
        let most = flags().find(|(_, times)| *times == number).map_or_else(String::new, |(flag, _)| flag);
        let with: [(&str, &dyn std::fmt::Display); 4] =
            [("flag", &flag), ("number", &number), ("most", &most), ("times", &times)];
        return Err(EngineError::user(
            reading.say(Phrase::GivenUnlikeTimes, &with),
            reading.say(Phrase::GiveOnceOrEach, &with[..2]),
        ));
    }
    let nth = |texts: &[String], n: usize| texts.get(n).or_else(|| texts.first()).cloned();
    let sample = |n| Sample {
        values: given.iter().filter_map(|(measure, texts)| Some((measure.name.clone(), nth(texts, n)?))).collect(),
        at: nth(&at, n),
        near: nth(&near, n),
    };
    Ok((0..number).map(sample).collect())
}

/// Returns the text in a language, in English where there is none.
fn text<'a>(labels: &'a ligule_engine::kind::Labels, language: &str) -> &'a str {
    labels.get(language).or_else(|| labels.get("en")).map_or("", String::as_str)
}
