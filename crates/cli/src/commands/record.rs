use std::io::Read;
use std::path::Path;

use clap::ArgMatches;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use ligule_engine::kind::Kind;
use ligule_engine::number::counted;
use ligule_engine::{Engine, EngineError, Entry, Fault, PHOTO, Recorded, Result};

use super::photo;
use crate::args::{Format, Global, RecordLines};
use crate::record_args;

/// Records one observation from flags, or many from lines.
pub(crate) fn run(global: &Global, args: &RecordLines, one: Option<(&str, &ArgMatches)>) -> Result<()> {
    let mut engine = crate::open(global)?;
    if let Some((PHOTO, matches)) = one
        && matches.contains_id("files")
    {
        let entry = entry(engine.kind(PHOTO)?, matches);
        let accept = matches.get_flag("accept-time") || args.accept_time;
        let recorded = photo::record(&mut engine, &entry, matches, accept)?;
        // All were there already, which was said.
        return if recorded.is_empty() { Ok(()) } else { tell(global, &recorded) };
    }
    let (entries, accept) = match (one, &args.lines) {
        (Some((kind, matches)), _) => {
            let kind = engine.kind(kind)?.clone();
            (vec![entry(&kind, matches)], matches.get_flag("accept-time") || args.accept_time)
        }
        (None, Some(file)) => (lines(&engine, &read(file)?, &file.display().to_string())?, args.accept_time),
        (None, None) => {
            return Err(EngineError::user(
                "nothing to record",
                "name a kind and a field, as in `ligule record stand-count north-40 …`, or a file with `--lines`; `ligule kind` lists the kinds",
            ));
        }
    };
    let recorded = engine.record(&entries, accept)?;
    tell(global, &recorded)
}

/// Says what was recorded.
fn tell(global: &Global, recorded: &[Recorded]) -> Result<()> {
    match global.format {
        Format::Json => {
            say!("{}", serde_json::to_string_pretty(recorded)?);
            return Ok(());
        }
        Format::Ndjson => {
            for one in recorded {
                say!("{}", serde_json::to_string(one)?);
            }
            return Ok(());
        }
        Format::Text | Format::Csv => {}
    }
    if let [only] = recorded {
        say!("recorded {}: {}", only.key, only.understood);
        if let Some(amounts) = &only.amounts {
            say!("  {amounts}");
        }
    } else {
        say!("recorded {} on {}", count(recorded), fields(recorded));
    }
    Ok(())
}

fn count(recorded: &[Recorded]) -> String {
    counted(recorded.len(), "observation", "observations")
}

/// Names the fields, each once, in order of appearance.
fn fields(recorded: &[Recorded]) -> String {
    let mut names: Vec<&str> = Vec::new();
    for one in recorded {
        if !names.contains(&one.field.as_str()) {
            names.push(&one.field);
        }
    }
    names.join(", ")
}

/// Makes an entry of parsed flags.
fn entry(kind: &Kind, matches: &ArgMatches) -> Entry {
    let text = |name: &str| matches.get_one::<String>(name).cloned();
    Entry {
        kind: kind.kind.clone(),
        field: text("field").unwrap_or_default(),
        values: record_args::given(kind, matches),
        at: text("at"),
        place: text("near"),
        by: text("by"),
        origin: None,
        faults: Vec::new(),
    }
}

/// Reads the lines; what is wrong with a line stands in its entry, to be told with whatever else is wrong.
fn lines(engine: &Engine, text: &str, name: &str) -> Result<Vec<Entry>> {
    let mut entries = Vec::new();
    let mut reader = Lines::new(engine);
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let mut entry = reader.read(line)?;
        entry.origin = Some(format!("{name}, line {}", number + 1));
        entries.push(entry);
    }
    if entries.is_empty() {
        return Err(EngineError::user(format!("{name} holds no lines to record"), "write one observation a line"));
    }
    Ok(entries)
}

/// Takes lines apart.
struct Lines<'a> {
    engine: &'a Engine,
    strict: clap::Command,
    /// The same without any flag that has to be there: for the rest of a line in which a flag is wrong.
    lenient: clap::Command,
}

impl<'a> Lines<'a> {
    fn new(engine: &'a Engine) -> Self {
        let strict = record_args::with_kinds(clap::Command::new("record").no_binary_name(true), engine.kinds(), "en");
        let lenient = strict.clone().mut_subcommands(|kind| kind.mut_args(|arg| arg.required(false)));
        Self { engine, strict, lenient }
    }

    fn read(&mut self, line: &str) -> Result<Entry> {
        let wrong = |faults| Ok(Entry { faults, ..Entry::default() });
        let Some(mut words) = shlex::split(line) else {
            return wrong(vec!["a quotation mark is not closed".to_owned()]);
        };
        let mut faults = Vec::new();
        let matches = loop {
            match self.strict.try_get_matches_from_mut(&words) {
                Ok(matches) => break matches,
                Err(error) => {
                    if let Some(rest) = without_unknown(&words, &error) {
                        faults.push(said(&error));
                        words = rest;
                        continue;
                    }
                    // A flag that is missing may be one that was misspelt.
                    let missing = error.kind() == ErrorKind::MissingRequiredArgument;
                    if !missing || faults.is_empty() {
                        faults.push(said(&error));
                    }
                    match self.lenient.try_get_matches_from_mut(&words) {
                        Ok(matches) if missing => break matches,
                        _ => return wrong(faults),
                    }
                }
            }
        };
        match matches.subcommand() {
            Some((kind, matches)) => {
                if kind == PHOTO && matches.contains_id("files") {
                    faults.push("a line names no file; use `ligule record photo FIELD FILE`".to_owned());
                }
                let mut entry = entry(self.engine.kind(kind)?, matches);
                entry.faults = faults;
                Ok(entry)
            }
            None => wrong(vec!["expected a kind and a field".to_owned()]),
        }
    }
}

/// Returns the words without the one that the error calls unknown, and without its value where it is a flag.
fn without_unknown(words: &[String], error: &clap::Error) -> Option<Vec<String>> {
    if error.kind() != ErrorKind::UnknownArgument {
        return None;
    }
    let Some(ContextValue::String(unknown)) = error.get(ContextKind::InvalidArg) else { return None };
    let flag = unknown.split('=').next().unwrap_or(unknown);
    let at = words.iter().position(|word| word == unknown || word.split('=').next() == Some(flag))?;
    let value = words[at].starts_with('-') && !words[at].contains('=');
    let value = value && words.get(at + 1).is_some_and(|next| !next.starts_with("--"));
    let rest = words.iter().enumerate().filter(|(i, _)| *i != at && !(value && *i == at + 1));
    Some(rest.map(|(_, word)| word.clone()).collect())
}

/// Returns what the error says before it tells the usage, on one line.
fn said(error: &clap::Error) -> String {
    let message = error.to_string();
    let said = message.lines().take_while(|line| !line.starts_with("Usage:")).map(str::trim);
    // That a flag could be meant as a value is no help here.
    let said = said.filter(|line| !line.is_empty() && !line.starts_with("tip: to pass"));
    let said: Vec<String> = said.map(|line| line.replace("tip: ", "; ")).collect();
    said.join(" ").replace(" ; ", "; ").trim_start_matches("error: ").to_owned()
}

fn read(file: &Path) -> Result<String> {
    let failed = |error: std::io::Error| {
        EngineError::new(
            Fault::User,
            format!("cannot read {}: {error}", file.display()),
            "name a text file, or `-` for standard input",
        )
    };
    if file == Path::new("-") {
        let mut text = String::new();
        std::io::stdin().lock().read_to_string(&mut text).map_err(failed)?;
        return Ok(text);
    }
    std::fs::read_to_string(file).map_err(failed)
}
