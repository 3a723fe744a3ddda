use std::io::Read;
use std::path::Path;

use clap::ArgMatches;
use ligule_engine::kind::Kind;
use ligule_engine::{Engine, EngineError, Entry, Fault, Recorded, Result};

use crate::args::{Format, Global, RecordLines};
use crate::record_args;

/// Records one observation from flags, or many from lines.
pub(crate) fn run(global: &Global, args: &RecordLines, one: Option<(&str, &ArgMatches)>) -> Result<()> {
    let mut engine = crate::open(global)?;
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
    match global.format {
        Format::Json => {
            say!("{}", serde_json::to_string_pretty(&recorded)?);
            return Ok(());
        }
        Format::Ndjson => {
            for one in &recorded {
                say!("{}", serde_json::to_string(one)?);
            }
            return Ok(());
        }
        Format::Text | Format::Csv => {}
    }
    if let [only] = recorded.as_slice() {
        say!("recorded {}: {}", only.key, only.understood);
        if let Some(amounts) = &only.amounts {
            say!("  {amounts}");
        }
    } else {
        say!("recorded {} on {}", count(&recorded), fields(&recorded));
    }
    Ok(())
}

fn count(recorded: &[Recorded]) -> String {
    format!("{} observations", recorded.len())
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
    }
}

/// Reads the lines; every line that does not hold is named, and then nothing is recorded.
fn lines(engine: &Engine, text: &str, name: &str) -> Result<Vec<Entry>> {
    let mut entries = Vec::new();
    let mut command = record_args::with_kinds(clap::Command::new("record").no_binary_name(true), engine.kinds());
    let mut wrong = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let origin = format!("{name}, line {}", number + 1);
        let Some(words) = shlex::split(line) else {
            wrong.push(format!("{origin}: a quotation mark is not closed"));
            continue;
        };
        match command.try_get_matches_from_mut(words) {
            Ok(matches) => match matches.subcommand() {
                Some((kind, matches)) => {
                    let mut entry = entry(engine.kind(kind)?, matches);
                    entry.origin = Some(origin);
                    entries.push(entry);
                }
                None => wrong.push(format!("{origin}: expected a kind and a field")),
            },
            Err(error) => {
                // What clap says before it tells the usage, on one line.
                let message = error.to_string();
                let said = message.lines().take_while(|line| !line.starts_with("Usage:")).map(str::trim);
                let said: Vec<&str> = said.filter(|line| !line.is_empty()).collect();
                wrong.push(format!("{origin}: {}", said.join(" ").trim_start_matches("error: ")));
            }
        }
    }
    if !wrong.is_empty() {
        return Err(EngineError::user(wrong.join("\n"), "mend these lines; nothing was recorded"));
    }
    if entries.is_empty() {
        return Err(EngineError::user(format!("{name} holds no lines to record"), "write one observation a line"));
    }
    Ok(entries)
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
