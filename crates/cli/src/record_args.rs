//! The flags of `record` and `amend`, made from the kinds' own declarations.

use clap::{Arg, ArgAction, ArgMatches, Command};
use ligule_engine::kind::{Kind, Measure, ResultType};
use ligule_engine::kinds::KindSet;
use ligule_engine::{EngineError, PHOTO, Phrase, Reading, Result};

use crate::photo_args::with_files;
use crate::refused::spanish_value;
use crate::spanish;

/// Adds one subcommand a kind to `record`; weather is observed at stations and comes in by `import`.
pub(crate) fn with_kinds(record: Command, kinds: &KindSet, reading: &Reading) -> Command {
    record.subcommand_negates_reqs(true).args_conflicts_with_subcommands(true).subcommands(kinds.iter().map(|kind| {
        match kind.feature.as_str() {
            // Whoever types it is told where weather comes in.
            "weather" => subcommand(kind, reading).hide(true).mut_args(|arg| arg.required(false)),
            _ => subcommand(kind, reading),
        }
    }))
}

fn subcommand(kind: &Kind, reading: &Reading) -> Command {
    let text = |labels| text(labels, &reading.language);
    let value = |name| named(reading, name);
    let mut command = Command::new(kind.kind.clone())
        .about(text(&kind.label).to_owned())
        .long_about(format!(
            "{}\n\n{}",
            text(&kind.about),
            reading.say(Phrase::KindHow, &[("protocol", &text(&kind.protocol))])
        ))
        .after_help(format!(
            "{}\n  ligule record {} north-40 {}\n\n{}",
            reading.word(Phrase::HelpExample),
            kind.kind,
            kind.example,
            reading.word(Phrase::HelpSeveral)
        ))
        .arg(field(kind, reading))
        .next_help_heading(reading.word(Phrase::HelpMeasures));
    for measure in &kind.measures {
        command = command.arg(argument(&kind.kind, measure, reading));
    }
    if kind.kind == PHOTO {
        command = with_files(command, named(reading, "FIELD"));
    }
    let spanish = reading.language == "es";
    command = command
        .next_help_heading(reading.word(Phrase::HelpTimeAndPlace))
        .arg(
            Arg::new("at")
                .long("at")
                .value_name(value("TIME"))
                .action(ArgAction::Append)
                .help(reading.word(Phrase::HelpAt)),
        )
        .arg(
            Arg::new("near")
                .long("near")
                .value_name("LAT,LON")
                .allow_hyphen_values(true)
                .action(ArgAction::Append)
                .help(reading.word(Phrase::HelpNear)),
        )
        .arg(Arg::new("by").long("by").value_name(value("NAME")).help(reading.word(Phrase::HelpBy)))
        .arg(
            Arg::new("accept-time")
                .long("accept-time")
                .action(ArgAction::SetTrue)
                .help(reading.word(Phrase::HelpAcceptTime)),
        )
        .arg(
            Arg::new(AND)
                .long(AND)
                .value_name(if spanish { "TEMA …" } else { "KIND …" })
                .num_args(1..)
                .allow_hyphen_values(true)
                .help(reading.word(Phrase::HelpAnd)),
        );
    if spanish { spanish::labelled(command) } else { command }
}

/// The flag behind which another observation stands.
pub(crate) const AND: &str = "and";

/// The field; a place can tell it, but not where files of photos follow it.
fn field(kind: &Kind, reading: &Reading) -> Arg {
    let field = Arg::new("field").value_name(named(reading, "FIELD")).required(kind.kind == PHOTO);
    let field = field.help(reading.word(Phrase::HelpField));
    if reading.language == "es" { field.help_heading("Argumentos") } else { field }
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
        ResultType::Choice => help.push_str(&format!(" ({})", reading.say(Phrase::HelpCodes, &[("kind", &kind)]))),
        _ => {}
    }
    let argument = Arg::new(measure.name.clone())
        .long(measure.flag())
        .value_name(named(reading, value_name(measure.result)))
        .required(measure.required)
        .action(ArgAction::Append)
        .allow_hyphen_values(true);
    match text(&measure.about) {
        "" => argument.help(help),
        about => argument.long_help(format!("{help}. {about}")).help(help),
    }
}

/// Returns what a value is called in the language of whoever reads.
fn named(reading: &Reading, value: &'static str) -> &'static str {
    if reading.language == "es" { spanish_value(value) } else { value }
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
