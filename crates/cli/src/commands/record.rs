use std::io::Read;
use std::path::Path;

use clap::ArgMatches;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use ligule_engine::kind::Kind;
use ligule_engine::{APPLICATION, Engine, EngineError, Entry, Noun, PHOTO, Phrase, Reading, Recorded, Result};

use super::photo::{self, Files, Pictures};
use crate::args::{Format, Global, RecordLines};
use crate::listing::printable;
use crate::record_args::{self, AND, Sample};
use crate::refused::on_one_line;

/// Records observations from flags, or many from lines.
pub(crate) fn run(global: &Global, args: &RecordLines, one: Option<(&str, &ArgMatches)>) -> Result<()> {
    let mut engine = crate::open(global)?;
    if let Some((PHOTO, matches)) = one
        && let Some(files) = Files::of(matches)
    {
        let [entry] = entries(engine.kind(PHOTO)?, matches, engine.reading())?.try_into().map_err(|_| {
            let reading = engine.reading();
            EngineError::user(reading.word(Phrase::FlagGivenTwice), reading.word(Phrase::EachOnceForFiles))
        })?;
        let accept = matches.get_flag("accept-time") || args.accept_time;
        let mut others = with_more(&engine, vec![entry.clone()], matches)?;
        // The first is the picture's own.
        others.remove(0);
        let pictures = photo::look(&engine, &entry, &files)?;
        let recorded = photo::record(&mut engine, pictures, others, accept)?;
        // All were there already, which was said.
        return if recorded.is_empty() { Ok(()) } else { tell(global, engine.reading(), &recorded, true) };
    }
    let (entries, accept) = match (one, &args.lines) {
        (Some((kind, matches)), _) => {
            let kind = engine.kind(kind)?.clone();
            (
                with_more(&engine, entries(&kind, matches, engine.reading())?, matches)?,
                matches.get_flag("accept-time") || args.accept_time,
            )
        }
        (None, Some(file)) => {
            let (entries, pictures) = lines(&engine, &read(file, engine.reading())?, &file.display().to_string())?;
            if !pictures.is_empty() {
                let recorded = photo::record(&mut engine, pictures, entries, args.accept_time)?;
                return if recorded.is_empty() { Ok(()) } else { tell(global, engine.reading(), &recorded, false) };
            }
            (entries, args.accept_time)
        }
        (None, None) => {
            let reading = engine.reading();
            let (what, hint) = (Phrase::NothingToRecord, Phrase::NameKindAndField);
            return Err(EngineError::user(reading.word(what), reading.word(hint)));
        }
    };
    let recorded = engine.record(&entries, accept)?;
    tell(global, engine.reading(), &recorded, one.is_some())
}

/// Says what was recorded: each of them, and to those who brought lines also their number; of very many not each, but how many
/// of each kind on each field. `each` is of those who typed them.
fn tell(global: &Global, reading: &Reading, recorded: &[Recorded], each: bool) -> Result<()> {
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
    let one_by_one = each || recorded.len() <= EACH;
    if one_by_one {
        for one in recorded {
            say!("{}", reading.say(Phrase::Recorded, &[("key", &one.key), ("what", &one.understood)]));
            if let Some(amounts) = &one.amounts {
                say!("  {amounts}");
            }
        }
    }
    if !each && recorded.len() > 1 {
        let n = reading.counted(recorded.len(), Noun::Observation);
        say!("{}", reading.say(Phrase::RecordedMany, &[("n", &n), ("fields", &fields(recorded, reading))]));
    }
    if !each && recorded.len() > EACH {
        let sums = by_field(recorded);
        for (field, kinds) in sums.iter().take(NAMED) {
            let kinds: Vec<String> = kinds.iter().map(|(kind, n)| format!("{kind} {n}")).collect();
            say!("  {}: {}", printable(field), kinds.join(", "));
        }
        if sums.len() > NAMED {
            say!("  … (`--format json`)");
        }
    }
    tell_keep_out(recorded, one_by_one)?;
    let mut told: Vec<&str> = Vec::new();
    for note in recorded.iter().flat_map(|one| &one.notes) {
        if !told.contains(&note.as_str()) {
            crate::exit::note(reading, note);
            told.push(note);
        }
    }
    Ok(())
}

/// Tells what keeps people out of the fields, unless an application that was just told of did; `one_by_one` says that it was.
fn tell_keep_out(recorded: &[Recorded], one_by_one: bool) -> Result<()> {
    let told = |field: &str| {
        let of_field = |one: &Recorded| one.field == field && one.kind == APPLICATION && one.amounts.is_some();
        one_by_one && recorded.iter().any(of_field)
    };
    let several = recorded.iter().any(|one| one.field != recorded[0].field);
    for one in recorded.iter().filter(|one| !one.keep_out.is_empty() && !told(&one.field)) {
        let field = if several { format!("{}: ", printable(&one.field)) } else { String::new() };
        for line in &one.keep_out {
            say!("  {field}{}", printable(line));
        }
    }
    Ok(())
}

/// Counts the kinds on each field, in order of appearance.
fn by_field(recorded: &[Recorded]) -> Vec<(&str, Vec<(&str, usize)>)> {
    let mut sums: Vec<(&str, Vec<(&str, usize)>)> = Vec::new();
    let mut places = std::collections::HashMap::new();
    for one in recorded {
        let place = *places.entry(one.field.as_str()).or_insert(sums.len());
        if place == sums.len() {
            sums.push((&one.field, Vec::new()));
        }
        let kinds = &mut sums[place].1;
        match kinds.iter_mut().find(|(kind, _)| *kind == one.kind_read) {
            Some((_, n)) => *n += 1,
            None => kinds.push((&one.kind_read, 1)),
        }
    }
    sums
}

/// Names the fields, each once, in order of appearance.
fn fields(recorded: &[Recorded], reading: &Reading) -> String {
    let mut names: Vec<&str> = Vec::new();
    for one in recorded {
        if !names.contains(&one.field.as_str()) {
            names.push(&one.field);
        }
    }
    if names.len() > NAMED { reading.counted(names.len(), Noun::FieldOfCrew) } else { names.join(", ") }
}

/// How many fields are named.
const NAMED: usize = 12;

/// How many observations are told one by one to those who brought lines.
const EACH: usize = 20;

/// Makes entries of parsed flags, one a sample.
fn entries(kind: &Kind, matches: &ArgMatches, reading: &Reading) -> Result<Vec<Entry>> {
    let text = |name: &str| matches.get_one::<String>(name).cloned();
    let samples = record_args::samples(kind, matches, reading)?.into_iter();
    let entry = |sample: Sample| Entry {
        kind: kind.kind.clone(),
        field: text("field").unwrap_or_default(),
        values: sample.values,
        at: sample.at,
        place: sample.near,
        by: text("by"),
        origin: None,
        faults: Vec::new(),
    };
    Ok(samples.map(entry).collect())
}

/// Adds the observations that stand behind `--and` on the command line.
fn with_more(engine: &Engine, entries: Vec<Entry>, matches: &ArgMatches) -> Result<Vec<Entry>> {
    if matches.contains_id(AND) { Lines::new(engine).with_more(entries, matches) } else { Ok(entries) }
}

/// Reads the lines, and looks at the pictures that they name; what is wrong with a line stands in its entry, to be told with
/// whatever else is wrong.
fn lines(engine: &Engine, text: &str, name: &str) -> Result<(Vec<Entry>, Pictures)> {
    // Some editors mark a file's coding at its start.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (mut entries, mut pictures) = (Vec::new(), Vec::new());
    let mut reader = Lines::new(engine);
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let words = shlex::split(line).ok_or_else(|| vec![engine.reading().word(Phrase::QuoteOpen).to_owned()]);
        let read = match words {
            Ok(words) => reader.read(words)?,
            Err(faults) => vec![Entry { faults, ..Entry::default() }],
        };
        let origin = Some(engine.reading().say(Phrase::LineOf, &[("file", &name), ("n", &(number + 1))]));
        let read = read.into_iter().map(|entry| Entry { origin: origin.clone(), ..entry });
        match reader.files.take() {
            None => entries.extend(read),
            Some(files) => {
                let mut read = read;
                for entry in read.by_ref().take(reader.own) {
                    let (looked_at, wrong) = photo::look_from_line(engine, &entry, &files);
                    pictures.extend(looked_at);
                    entries.extend(wrong);
                }
                entries.extend(read);
            }
        }
    }
    if entries.is_empty() && pictures.is_empty() {
        let what = engine.reading().say(Phrase::NoLines, &[("file", &name)]);
        return Err(EngineError::user(what, engine.reading().word(Phrase::OneALine)));
    }
    Ok((entries, pictures))
}

/// Takes lines apart.
struct Lines<'a> {
    engine: &'a Engine,
    strict: clap::Command,
    /// The same without any flag that has to be there: for the rest of a line in which a flag is wrong.
    lenient: clap::Command,
    /// The pictures that the last line names.
    files: Option<Files>,
    /// How many of its observations stand before the first `--and`: the pictures are theirs.
    own: usize,
}

impl<'a> Lines<'a> {
    fn new(engine: &'a Engine) -> Self {
        let strict = record_args::with_kinds(
            clap::Command::new("record").no_binary_name(true),
            engine.kinds(),
            &Reading::default(),
        );
        let lenient = strict.clone().mut_subcommands(|kind| kind.mut_args(|arg| arg.required(false)));
        Self { engine, strict, lenient, files: None, own: 0 }
    }

    fn read(&mut self, mut words: Vec<String>) -> Result<Vec<Entry>> {
        let wrong = |faults| Ok(vec![Entry { faults, ..Entry::default() }]);
        let mut faults = Vec::new();
        let matches = loop {
            match self.strict.try_get_matches_from_mut(&words) {
                Ok(matches) => break matches,
                Err(error) => {
                    if let Some(rest) = without_unknown(&words, &error) {
                        faults.push(on_one_line(&error, self.engine.reading()));
                        words = rest;
                        continue;
                    }
                    // A flag that is missing may be one that was misspelt.
                    let missing = error.kind() == ErrorKind::MissingRequiredArgument;
                    if !missing || faults.is_empty() {
                        faults.push(on_one_line(&error, self.engine.reading()));
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
                let own = match entries(self.engine.kind(kind)?, matches, self.engine.reading()) {
                    Ok(entries) => entries.into_iter().map(|entry| Entry { faults: faults.clone(), ..entry }).collect(),
                    Err(error) => {
                        faults.push(error.message);
                        vec![Entry { faults, ..Entry::default() }]
                    }
                };
                let (files, n) = (if kind == PHOTO { Files::of(matches) } else { None }, own.len());
                let entries = self.with_more(own, matches);
                (self.files, self.own) = (files, n);
                entries
            }
            None => wrong(vec![self.engine.reading().word(Phrase::KindAndFieldExpected).to_owned()]),
        }
    }

    /// Adds the observations that stand behind `--and`, each of the kind, field, time and person of the one before unless it
    /// says otherwise.
    fn with_more(&mut self, mut entries: Vec<Entry>, matches: &ArgMatches) -> Result<Vec<Entry>> {
        let and = format!("--{AND}");
        let words: Vec<String> = matches.get_many::<String>(AND).into_iter().flatten().cloned().collect();
        if words.is_empty() {
            return Ok(entries);
        }
        for words in words.split(|word| *word == and) {
            let before = entries.last().cloned().unwrap_or_default();
            let mut words = words.to_vec();
            let flag = |words: &[String], at: usize| words.get(at).is_none_or(|word| word.starts_with('-'));
            if flag(&words, 0) {
                words.insert(0, before.kind.clone());
            }
            let same_field = flag(&words, 1);
            if same_field && !before.field.is_empty() {
                words.insert(1, before.field.clone());
            }
            let text = words.join(" ");
            // Where the place told the field, it does so again.
            if let (true, true, Some(place)) = (same_field, before.field.is_empty(), &before.place)
                && !words.iter().any(|word| word == "--near" || word.starts_with("--near="))
            {
                words.push(format!("--near={place}"));
            }
            for mut entry in self.read(words)? {
                if self.files.take().is_some() {
                    entry.faults.push(self.engine.reading().word(Phrase::NoFilesBehindAnd).to_owned());
                }
                // Else it would make a visit of its own, of which the one before knows nothing.
                for (flag, here, there) in [("by", &entry.by, &before.by), ("at", &entry.at, &before.at)] {
                    if here.is_some() && there.is_none() {
                        entry.faults.push(self.engine.reading().say(Phrase::FlagBehindAnd, &[("flag", &flag)]));
                    }
                }
                entry.at = entry.at.or_else(|| before.at.clone());
                entry.by = entry.by.or_else(|| before.by.clone());
                entry.origin = Some(format!("`{text}`"));
                entries.push(entry);
            }
        }
        Ok(entries)
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

fn read(file: &Path, reading: &Reading) -> Result<String> {
    let failed = |error: std::io::Error| {
        let what = match error.kind() {
            std::io::ErrorKind::NotFound => reading.say(Phrase::NoSuchFile, &[("file", &file.display())]),
            _ => reading.say(Phrase::FileUnread, &[("file", &file.display()), ("error", &error)]),
        };
        EngineError::user(what, reading.word(Phrase::NameTextFile))
    };
    if file == Path::new("-") {
        let mut text = String::new();
        std::io::stdin().lock().read_to_string(&mut text).map_err(failed)?;
        return Ok(text);
    }
    std::fs::read_to_string(file).map_err(failed)
}
