use std::io;

use ligule_engine::{EngineError, Noun, Phrase, Reading, Result};
use serde_json::json;

use crate::args::{Amend, Format, Global, Resolve, VoidArgs};
use crate::exit::note;
use crate::listing::Listing;

/// Lets days in the future pass; the flags of `amend` are measures, so that clap does not read it.
const ACCEPT_TIME: &str = "--accept-time";

/// Writes new values of an observation's measures.
pub(crate) fn amend(global: &Global, args: &Amend) -> Result<()> {
    let accept_time = args.values.iter().any(|word| word == ACCEPT_TIME);
    let words: Vec<&String> = args.values.iter().filter(|word| *word != ACCEPT_TIME).collect();
    let mut engine = crate::open(global)?;
    let values = pairs(&words, engine.reading())?;
    let said = engine.amend(&args.observation, &values, accept_time)?;
    say!("{}", engine.reading().say(Phrase::SaidRecorded, &[("what", &said)]));
    super::reentry::show_after(&engine, &args.observation)
}

/// Reads `--measure value` and `--measure=value`.
fn pairs(words: &[&String], reading: &Reading) -> Result<Vec<(String, String)>> {
    let mut pairs = Vec::new();
    let mut words = words.iter();
    while let Some(word) = words.next() {
        let Some(flag) = word.strip_prefix("--").filter(|flag| !flag.is_empty()) else {
            let what = reading.say(Phrase::MeasureExpected, &[("word", word)]);
            return Err(EngineError::user(what, reading.word(Phrase::QuoteBlanks)));
        };
        let pair = match flag.split_once('=') {
            Some((name, value)) => (name.to_owned(), value.to_owned()),
            None => {
                let value = words.next().ok_or_else(|| {
                    let said = |what| reading.say(what, &[("flag", &flag)]);
                    EngineError::user(said(Phrase::FlagWithoutValue), said(Phrase::WriteFlagValue))
                })?;
                (flag.to_owned(), (*value).clone())
            }
        };
        pairs.push(pair);
    }
    Ok(pairs)
}

/// Voids an observation.
pub(crate) fn void(global: &Global, args: &VoidArgs) -> Result<()> {
    let mut engine = crate::open(global)?;
    engine.void(&args.observation, &args.why)?;
    let reading = engine.reading();
    let said = reading.say(Phrase::IsVoid, &[("key", &args.observation), ("why", &args.why)]);
    say!("{}", reading.say(Phrase::SaidRecorded, &[("what", &said)]));
    Ok(())
}

/// Shows what waits for a person.
pub(crate) fn conflicts(global: &Global) -> Result<()> {
    let engine = crate::open(global)?;
    let mut columns = vec!["observation", "field", "kind", "measure", "candidate", "by", "at", "device"];
    // People read below what does not go together, and what to type.
    let programs = global.format != Format::Text;
    if programs {
        columns.extend(["why", "settle"]);
    }
    let mut listing = Listing::new(columns).read_by(engine.reading());
    let conflicts = engine.conflicts()?;
    for conflict in &conflicts {
        let (kind, measure) = match global.format {
            Format::Text => conflict.called(engine.kinds(), engine.reading()),
            _ => (conflict.kind.clone(), conflict.measure.clone()),
        };
        let local_time = engine.local_time(&conflict.observation)?;
        for candidate in &conflict.candidates {
            let mut row = vec![
                json!(conflict.observation),
                json!(conflict.field),
                json!(kind),
                json!(measure),
                json!(if programs { &candidate.value } else { &candidate.read }),
                json!(candidate.by),
                json!(match global.format {
                    Format::Text => local_time(&candidate.at),
                    _ => candidate.at.clone(),
                }),
                json!(super::list::short(&candidate.device, global.format)),
            ];
            if programs {
                row.extend([json!(conflict.why), json!(candidate.settle)]);
            }
            listing.row(row);
        }
    }
    listing.write(global.format, engine.reading().word(Phrase::NoConflicts), &mut io::stdout().lock())?;
    if global.format == Format::Text {
        for advice in engine.advice_on(&conflicts)? {
            note(engine.reading(), &advice);
        }
        let doubles = engine.doubles(None)?.len();
        if doubles > 0 {
            let twice = engine.reading().counted(doubles, Noun::ObservationTwice);
            note(engine.reading(), &engine.reading().say(Phrase::ThereTwice, &[("observations", &twice)]));
        }
    }
    Ok(())
}

/// Writes the value that holds.
pub(crate) fn resolve(global: &Global, args: &Resolve) -> Result<()> {
    let mut engine = crate::open(global)?;
    let measure = args.measure.strip_prefix("--").unwrap_or(&args.measure);
    let said = engine.resolve(&args.observation, measure, &args.value)?;
    say!("{}", engine.reading().say(Phrase::SaidRecorded, &[("what", &said)]));
    super::reentry::show_after(&engine, &args.observation)
}
