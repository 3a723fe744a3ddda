use std::io;

use ligule_engine::kind::{Kind, Labels, Measure, Relation, ResultType};
use ligule_engine::kinds::{KindSet, one_of};
use ligule_engine::{Engine, EngineError, Phrase, Reading, Result, Unit};
use serde_json::json;

use crate::args::{Format, Global, KindArgs};
use crate::listing::Listing;

/// Lists the kinds, or tells all about one.
pub(crate) fn run(global: &Global, args: &KindArgs) -> Result<()> {
    let folder = crate::journal_folder(global)?;
    let kinds = Engine::kinds_of(&folder)?;
    // Kinds are told without a journal too.
    let reading = super::crews_reading(global).but(global.unit_system.as_deref(), None)?;
    let (reading, language) = match &global.language {
        // A kind of one's own may have labels in a language that the program itself does not speak.
        Some(code) => {
            let reading = reading.clone().but(None, Some(code)).unwrap_or(reading);
            (reading, Language { code: code.clone(), asked: true })
        }
        None => (reading.clone(), Language { code: reading.language, asked: false }),
    };
    let mut out = io::stdout().lock();
    let Some(name) = &args.kind else {
        let mut listing = Listing::new(["kind", "label", "about", "measures"]).read_by(&reading);
        for kind in kinds.iter() {
            let measures: Vec<String> = kind.measures.iter().map(Measure::flag).collect();
            listing.row(vec![
                json!(kind.kind),
                json!(label(&kind.label, &language)?),
                json!(label(&kind.about, &language)?),
                json!(measures.join(" ")),
            ]);
        }
        return Ok(listing.write(global.format, reading.word(Phrase::NoKinds), &mut out)?);
    };
    let kind = Engine::kind_of(&kinds, name, &reading)?;
    if args.codes {
        let codes = codes(&kinds, kind, &language)?.read_by(&reading);
        return Ok(codes.write(global.format, reading.word(Phrase::NothingChosen), &mut out)?);
    }
    if global.format == Format::Text {
        say!("{}: {}", kind.kind, label(&kind.label, &language)?);
        say!("{}", label(&kind.about, &language)?);
        say!("{}", reading.say(Phrase::KindHow, &[("protocol", &label(&kind.protocol, &language)?)]));
        if let [from, to] = kind.stages.as_slice() {
            say!("{}", reading.say(Phrase::KindAskedFor, &[("from", from), ("to", to)]));
        }
        for relation in &kind.relations {
            let Relation::OnlyWhere { only, chosen, is } = relation else { continue };
            let flag = |name: &String| kind.measure(name).map_or_else(|| name.clone(), |m| format!("--{}", m.flag()));
            let measures = only.iter().map(flag).collect::<Vec<_>>().join(", ");
            let codes = one_of(is, reading.word(Phrase::WordOr).trim_matches([',', ' ']));
            let with: [(&str, &dyn std::fmt::Display); 3] =
                [("chosen", &flag(chosen)), ("codes", &codes), ("measures", &measures)];
            say!("{}", reading.say(Phrase::KindOnlyWhere, &with));
        }
        say!();
    }
    let measures = measures(kind, &language, (global.format == Format::Text).then_some(&reading))?;
    measures.read_by(&reading).write(global.format, reading.word(Phrase::NoMeasures), &mut out)?;
    Ok(())
}

/// Lists what may be chosen.
fn codes(kinds: &KindSet, kind: &Kind, language: &Language) -> Result<Listing> {
    let mut listing = Listing::new(["flag", "code", "label"]);
    for measure in &kind.measures {
        let flag = format!("--{}", measure.flag());
        for choice in &measure.choices {
            listing.row(vec![json!(flag), json!(choice.code), json!(label(&choice.label, language)?)]);
        }
        for code in measure.codelist.iter().filter_map(|list| kinds.codelist(list)).flat_map(|list| &list.codes) {
            listing.row(vec![json!(flag), json!(code.code), json!(label(&code.label, language)?)]);
        }
    }
    Ok(listing)
}

/// Lists the measures; `reading` is that of a person, where one reads.
fn measures(kind: &Kind, language: &Language, reading: Option<&Reading>) -> Result<Listing> {
    let mut listing =
        Listing::new(["flag", "label", "type", "unit", "least", "greatest", "required", "column", "codes"]);
    for measure in &kind.measures {
        let unit = measure.unit.as_deref().and_then(Unit::by_ucum).map(|u| u.symbol);
        // People read bounds in the unit in which they type a bare number.
        let (range, unit) = match (reading, measure.range) {
            (Some(reading), Some(range)) => {
                let (range, symbol) = reading.bounds(measure, range);
                (Some(range), Some(symbol))
            }
            (_, range) => (range, unit),
        };
        let codes: Vec<&str> = measure.choices.iter().map(|c| c.code.as_str()).collect();
        let codes = match (&measure.codelist, reading) {
            (Some(list), Some(reading)) => reading.say(Phrase::CodesOfList, &[("list", list)]),
            (Some(list), None) => format!("list {list}"),
            (None, _) => codes.join(" "),
        };
        listing.row(vec![
            json!(format!("--{}", measure.flag())),
            json!(label(&measure.label, language)?),
            match reading {
                Some(reading) => json!(reading.word(type_word(measure.result))),
                None => json!(measure.result),
            },
            json!(unit),
            json!(range.map(|[least, _]| least)),
            json!(range.map(|[_, greatest]| greatest)),
            json!(match (measure.required, reading) {
                (true, Some(reading)) => reading.word(Phrase::WordYes),
                (false, Some(reading)) => reading.word(Phrase::WordNo),
                (true, None) => "yes",
                (false, None) => "no",
            }),
            json!(measure.column()),
            json!(codes),
        ]);
    }
    Ok(listing)
}

/// What people call a type of result; in English its name.
fn type_word(result: ResultType) -> Phrase {
    match result {
        ResultType::Quantity => Phrase::TypeQuantity,
        ResultType::Count => Phrase::TypeCount,
        ResultType::Choice => Phrase::TypeChoice,
        ResultType::Stage => Phrase::TypeStage,
        ResultType::Day => Phrase::TypeDay,
        ResultType::List => Phrase::TypeList,
        ResultType::Text => Phrase::TypeText,
    }
}

/// The language of the labels.
struct Language {
    code: String,
    /// Whether somebody asked for it in this very call.
    asked: bool,
}

/// Returns the label in a language; where a kind has none in the crew's language, the English one.
fn label<'a>(labels: &'a Labels, language: &Language) -> Result<&'a str> {
    let english = || labels.get("en").filter(|_| !language.asked);
    labels.get(&language.code).or_else(english).map(String::as_str).ok_or_else(|| {
        let known: Vec<&str> = labels.keys().map(String::as_str).collect();
        EngineError::user(
            format!("there are no labels in `{}`", language.code),
            format!("the languages are {}", known.join(", ")),
        )
    })
}
