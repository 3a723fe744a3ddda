//! From what a person typed to what is kept.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use ligule_journal::Photos;
use ligule_observation::codename::Meaning;
use ligule_observation::kind::{Kind, Measure, ResultType};
use ligule_observation::kinds::{Invalid, KindSet};
use ligule_observation::record::{Measured, Value};
use ligule_units::{Error, Unit, parse};

use crate::error::{EngineError, Result};
use crate::moment::FIRST_DAY;
use crate::number::decimal;
use crate::photos::{CONTENT, PHOTO, TAKEN_AT};
use crate::phrases::Phrase;
use crate::reading::{Reading, code_label};

/// Reads the values of one observation as a person typed them, by measure name or flag; returns what could be read, and
/// what could not.
///
/// `usual` are values that hold where nothing else was given. Nothing is written. Each error says what was expected,
/// what came and the nearest valid thing.
pub fn read_values(
    kinds: &KindSet,
    kind: &Kind,
    given: &[(String, String)],
    usual: &BTreeMap<String, Measured>,
    today: Date,
    reading: &Reading,
) -> (BTreeMap<String, Measured>, Vec<EngineError>) {
    let mut values = BTreeMap::new();
    let mut wrong = Vec::new();
    for (name, text) in given {
        let Some(measure) = kind.measure(name) else {
            wrong.push(no_measure(kind, name, reading));
            continue;
        };
        let measure = meant(kind, measure, text);
        match read_value(kinds, kind, measure, text, today, reading) {
            Ok(measured) => {
                if values.insert(measure.name.clone(), measured).is_some() {
                    let twice = reading.say(Phrase::GivenTwice, &[("flag", &measure.flag())]);
                    wrong.push(EngineError::user(twice, reading.word(Phrase::GiveOnce)));
                }
            }
            Err(error) => wrong.push(error),
        }
    }
    for (name, measured) in usual {
        values.entry(name.clone()).or_insert_with(|| measured.clone());
    }
    (values, wrong)
}

/// Checks the values of one observation together: what is missing, what does not go with what.
pub fn check_whole(kinds: &KindSet, kind: &Kind, values: &BTreeMap<String, Measured>, reading: &Reading) -> Result<()> {
    kinds.check(&kind.kind, values).map_err(|invalid| refused(kind, reading.refusal(kinds, &invalid), reading))
}

/// Says that a kind has no such measure, and which it has.
pub(crate) fn no_measure(kind: &Kind, name: &str, reading: &Reading) -> EngineError {
    EngineError::user(
        reading.say(Phrase::NoSuchMeasure, &[("kind", &kind.kind), ("name", &name)]),
        reading.known(Phrase::MeasuresAre, name, kind.measures.iter().map(Measure::flag)),
    )
}

fn refused(kind: &Kind, message: String, reading: &Reading) -> EngineError {
    EngineError::user(message, reading.say(Phrase::SeeKind, &[("kind", &kind.kind)]))
}

/// Reads one value as a person typed it, and checks it against its measure; a range is told as it is read.
pub fn read_value(
    kinds: &KindSet,
    kind: &Kind,
    measure: &Measure,
    text: &str,
    today: Date,
    reading: &Reading,
) -> Result<Measured> {
    let measured = understand(kinds, kind, measure, text.trim(), today, reading)?;
    if let (PHOTO, CONTENT, Value::Text(hash)) = (kind.kind.as_str(), measure.name.as_str(), &measured.value)
        && !Photos::is_hash(hash)
    {
        let with: [(&str, &dyn std::fmt::Display); 3] = [("flag", &measure.flag()), ("kind", &PHOTO), ("text", &text)];
        return Err(EngineError::user(reading.say(Phrase::HashExpected, &with), reading.word(Phrase::NameTheFile)));
    }
    // Journals may hold other texts, of an earlier program or another one.
    if let (PHOTO, TAKEN_AT, Value::Text(time)) = (kind.kind.as_str(), measure.name.as_str(), &measured.value)
        && time.parse::<Timestamp>().is_err()
        && time.parse::<DateTime>().is_err()
    {
        let with: [(&str, &dyn std::fmt::Display); 4] = [
            ("flag", &measure.flag()),
            ("kind", &kind.kind),
            ("expected", &reading.word(Phrase::FormTime)),
            ("got", &text),
        ];
        return Err(refused(kind, reading.say(Phrase::RefusedForm, &with), reading));
    }
    kinds.check_value(&kind.kind, &measure.name, &measured.value).map_err(|invalid| {
        refused(kind, reading.refusal(kinds, &as_typed(invalid, measure, text, reading)), reading)
    })?;
    Ok(measured)
}

/// Returns a refusal that tells the number as it was typed: in another unit than it is kept in, what is kept of it differs in
/// its last digits.
fn as_typed(mut invalid: Invalid, measure: &Measure, text: &str, reading: &Reading) -> Invalid {
    let kept = measure.unit.as_deref().and_then(Unit::by_ucum).filter(|kept| reading.unit_read(measure, kept) != *kept);
    if let (Invalid::OutOfRange { got, .. }, Some(kept), ResultType::Quantity) = (&mut invalid, kept, measure.result)
        && let Ok(exact) = parse(text, kept).and_then(|quantity| quantity.to(kept))
    {
        *got = exact.to_f64().to_string();
    }
    invalid
}

fn understand(
    kinds: &KindSet,
    kind: &Kind,
    measure: &Measure,
    text: &str,
    today: Date,
    reading: &Reading,
) -> Result<Measured> {
    let flag = measure.flag();
    let refuse = |why: String| {
        let why = reading.say(Phrase::ValueRefused, &[("flag", &flag), ("kind", &kind.kind), ("why", &why)]);
        refused(kind, why, reading)
    };
    let plain = |value: String| {
        let entered = (value != text).then(|| text.to_owned());
        Measured { value: Value::Text(value), entered }
    };
    Ok(match measure.result {
        ResultType::Quantity | ResultType::Count => {
            let n = fixed(measure, text, reading).map_err(refuse)?;
            let entered = (decimal(n, measure.scale) != text).then(|| text.to_owned());
            Measured { value: Value::Int(n), entered }
        }
        ResultType::List => {
            let mut numbers = Vec::new();
            for item in items(text, reading).map_err(refuse)? {
                let (item, times) = tallied(item, reading).map_err(refuse)?;
                let number = decimal(fixed(measure, item, reading).map_err(refuse)?, measure.scale);
                if numbers.len() + times > MOST_NUMBERS {
                    return Err(refuse(reading.say(Phrase::TooManyNumbers, &[("most", &MOST_NUMBERS)])));
                }
                numbers.extend(std::iter::repeat_n(number, times));
            }
            plain(numbers.join(" "))
        }
        ResultType::Choice => match kinds.meaning(measure, text) {
            Meaning::One(code) => plain(code.to_owned()),
            Meaning::Several(codes) => {
                // Of one code a part of its name was typed.
                let what = if codes.len() > 1 { Phrase::CodeOfSeveral } else { Phrase::NoSuchCode };
                let several = reading.say(what, &[("flag", &flag), ("kind", &kind.kind), ("text", &text)]);
                return Err(EngineError::user(several, codes_meant(kinds, kind, measure, &codes, reading)));
            }
            Meaning::None => {
                let none = reading.say(Phrase::NoSuchCode, &[("flag", &flag), ("kind", &kind.kind), ("text", &text)]);
                return Err(EngineError::user(none, codes_near(kinds, kind, measure, text, reading)));
            }
        },
        ResultType::Stage => plain(text.to_uppercase()),
        ResultType::Day => {
            let day: Date = text.parse().map_err(|_| {
                let expected = reading.word(Phrase::FormDay);
                let with: [(&str, &dyn std::fmt::Display); 4] =
                    [("flag", &flag), ("kind", &kind.kind), ("expected", &expected), ("got", &text)];
                refused(kind, reading.say(Phrase::RefusedForm, &with), reading)
            })?;
            if day < FIRST_DAY {
                let early = reading.say(Phrase::WhenTooEarly, &[("text", &day)]);
                return Err(refuse(early));
            }
            if day > today {
                return Err(EngineError::user(
                    reading.say(Phrase::DayAhead, &[("flag", &flag), ("day", &day), ("today", &today)]),
                    reading.word(Phrase::CorrectTheTime),
                ));
            }
            plain(day.to_string())
        }
        ResultType::Text => match text.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t')) {
            Some(c) => {
                return Err(refuse(reading.say(Phrase::ControlCharacter, &[("character", &c.escape_unicode())])));
            }
            None => plain(text.to_owned()),
        },
    })
}

/// How many codes are named beside a word that is none of them.
const FEW_CODES: usize = 6;

/// How alike two names are, 0 to 1, of which one may be the other misspelt.
const NEAR: f64 = 0.85;

/// Asks which of several codes is meant.
fn codes_meant(kinds: &KindSet, kind: &Kind, measure: &Measure, codes: &[&str], reading: &Reading) -> String {
    let named: Vec<String> =
        codes.iter().take(FEW_CODES).map(|code| code_named(kinds, measure, code, reading)).collect();
    let asked = reading.say(Phrase::DidYouMeanCode, &[("codes", &named.join(reading.word(Phrase::WordOr)))]);
    format!("{asked} {}", reading.say(Phrase::AllCodes, &[("kind", &kind.kind)]))
}

/// Names the codes beside a word that is none of them: all where they are few, else those whose names are nearest.
fn codes_near(kinds: &KindSet, kind: &Kind, measure: &Measure, text: &str, reading: &Reading) -> String {
    let nearest = kinds.nearest_codes(measure, text);
    if let Some((code, _)) = nearest.first().filter(|(_, near)| (NEAR..1.0).contains(near)) {
        return codes_meant(kinds, kind, measure, &[code], reading);
    }
    let named = |codes: Vec<&str>| {
        let named = codes.into_iter().map(|code| code_named(kinds, measure, code, reading));
        named.collect::<Vec<_>>().join(", ")
    };
    if nearest.len() <= FEW_CODES + 2 {
        let all = kinds.codes(measure).into_iter().map(|(code, _)| code).collect();
        return reading.say(Phrase::CodesAre, &[("words", &named(all))]);
    }
    let near = nearest.iter().take(FEW_CODES).map(|(code, _)| *code).collect();
    let near = reading.say(Phrase::NearestCodesAre, &[("words", &named(near))]);
    format!("{near}; {}", reading.say(Phrase::AllCodes, &[("kind", &kind.kind)]))
}

/// Returns what people call a code, and the code where that is another word.
fn code_named(kinds: &KindSet, measure: &Measure, code: &str, reading: &Reading) -> String {
    match code_label(kinds, measure, code, &reading.language) {
        label if label == code => format!("`{code}`"),
        label => format!("{label} (`{code}`)"),
    }
}

/// Splits a list at commas or semicolons where it has any (`1 1/4, 1 1/8`), else at blanks (`4 4 5`).
///
/// At blanks a fraction behind a whole number could mean one number or two, and is refused.
fn items<'t>(text: &'t str, reading: &Reading) -> std::result::Result<impl Iterator<Item = &'t str> + use<'t>, String> {
    let commas = text.contains([',', ';']);
    let at = move |c: char| if commas { c == ',' || c == ';' } else { c.is_whitespace() };
    if !commas && text.split_whitespace().skip(1).any(|item| item.contains(['/', '¼', '½', '¾'])) {
        return Err(reading.say(Phrase::CommasExpected, &[("text", &text)]));
    }
    Ok(text.split(at).map(str::trim).filter(|item| !item.is_empty()))
}

/// The most numbers that one list takes.
const MOST_NUMBERS: usize = 1000;

/// Takes a tally apart: `4:15` is the number 4 fifteen times. Whatever has no colon stands there once.
fn tallied<'t>(item: &'t str, reading: &Reading) -> std::result::Result<(&'t str, usize), String> {
    let Some((number, times)) = item.split_once(':') else { return Ok((item, 1)) };
    match times.trim().parse::<usize>() {
        Ok(times @ 0..=MOST_NUMBERS) => Ok((number.trim(), times)),
        _ => Err(reading.say(Phrase::TallyExpected, &[("most", &MOST_NUMBERS), ("text", &item)])),
    }
}

/// Returns the measure that a text is of: another one that tells the same in a unit of another dimension, where the text is in
/// that, as a yield in tonnes is; else the one that was named.
pub(crate) fn meant<'k>(kind: &'k Kind, measure: &'k Measure, text: &str) -> &'k Measure {
    let told = text.contains(char::is_alphabetic) && fixed(measure, text, &Reading::default()).is_err();
    let named = |other: &&Measure| other.name.strip_prefix(&measure.name).is_some_and(|rest| rest.starts_with('_'));
    let fits = |other: &&Measure| told && other.unit.is_some() && fixed(other, text, &Reading::default()).is_ok();
    kind.measures.iter().filter(named).find(fits).unwrap_or(measure)
}

/// Reads a number with an optional unit as the integer that is kept.
fn fixed(measure: &Measure, text: &str, reading: &Reading) -> std::result::Result<i64, String> {
    let code = measure.unit.as_deref().unwrap_or("1");
    let unit = Unit::by_ucum(code).ok_or_else(|| reading.say(Phrase::UnitNotKnown, &[("unit", &code)]))?;
    let whole = measure.result == ResultType::Count || (code == "1" && measure.scale == 0);
    let told = |error: ligule_units::Error| match (&error, code) {
        (Error::WrongDimension { .. }, "1") => reading.say(Phrase::NoUnitExpected, &[("text", &text)]),
        // A number that takes no unit is none of the percentages that are told as an example of it.
        (Error::Empty { .. } | Error::NoNumber { .. } | Error::UnknownUnit { .. } | Error::Comma { .. }, "1") => {
            let phrase = match error {
                Error::Comma { .. } => Phrase::NumberMarks,
                _ => Phrase::NumberExpected,
            };
            reading.say(phrase, &[("example", &example(measure, whole)), ("text", &text)])
        }
        _ => reading.quantity_refusal(&error),
    };
    let quantity = parse(text, unit).map_err(told)?;
    if unit.ucum == "1" && quantity.unit.ucum != "1" {
        return Err(reading.say(Phrase::NoUnitExpected, &[("text", &text)]));
    }
    let n = quantity.to_fixed(unit, measure.scale).map_err(told)?;
    // What rounds to nothing was not nothing: of a temperature it is one like any other.
    let zero = ligule_units::Rational::ZERO;
    if n == 0 && unit.offset == zero && quantity.value != zero && quantity.unit.offset == zero {
        let (least, symbol) = (decimal(1, measure.scale), unit.symbol);
        return Err(reading.say(Phrase::SmallestStep, &[("least", &least), ("unit", &symbol), ("text", &text)]));
    }
    if whole && quantity.to_f64() != n as f64 {
        return Err(reading.say(Phrase::WholeExpected, &[("text", &text)]));
    }
    Ok(n)
}

/// Returns a bare number as it may be typed for a measure, within its range.
fn example(measure: &Measure, whole: bool) -> String {
    let [low, high] = measure.range.unwrap_or([0.0, 100.0]);
    let usual = if whole { 20.0 } else { 6.5 };
    if (low..=high).contains(&usual) { usual.to_string() } else { high.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(kind: &str, flag: &str, text: &str) -> std::result::Result<Measured, String> {
        let kinds = KindSet::builtin();
        let kind = kinds.get(kind).expect("a kind that comes with the program");
        let measure = kind.measure(flag).expect("a measure of it");
        let today = jiff::civil::date(2026, 5, 28);
        read_value(&kinds, kind, measure, text, today, &Reading::default()).map_err(|error| error.message)
    }

    #[test]
    fn lists_with_fractions_need_commas() {
        let depths = read("seed-depth", "seed_to_crown", "1 1/4, 1 1/8,1").expect("three depths");
        assert_eq!(depths.value, Value::Text("1.25 1.125 1".into()));
        assert_eq!(depths.entered.as_deref(), Some("1 1/4, 1 1/8,1"));
        let error = read("seed-depth", "seed_to_crown", "1 1/4 1 1/2").expect_err("two numbers or four");
        assert!(error.contains("commas"), "{error}");
        assert_eq!(read("leaf-stage", "collars", "4 4 5").expect("three plants").value, Value::Text("4 4 5".into()));
    }

    #[test]
    fn plants_are_tallied_by_their_number() {
        let tally = read("leaf-stage", "collars", "3:2 4:3 5 6:0").expect("six plants");
        assert_eq!(tally.value, Value::Text("3 3 4 4 4 5".into()));
        assert_eq!(tally.entered.as_deref(), Some("3:2 4:3 5 6:0"));
        let depths = read("seed-depth", "seed_to_crown", "1 1/4: 2, 1 1/2:1").expect("three depths");
        assert_eq!(depths.value, Value::Text("1.25 1.25 1.5".into()));
        for wrong in ["4:", "4:x", "4:-1", ":3", "4:1001", "4:600 5:600", "4:99999999999999999999", "4:2:3"] {
            assert!(read("leaf-stage", "collars", wrong).is_err(), "{wrong}");
        }
        assert!(read("leaf-stage", "collars", "6:0").is_err(), "a list holds at least one number");
    }

    #[test]
    fn a_tape_is_read_in_one_direction() {
        let tape = read("plant-spacing", "positions", "0, 6 1/4, 6 1/4, 1ft 7in").expect("four plants");
        assert_eq!(tape.value, Value::Text("0 6.25 6.25 19".into()));
        let error = read("plant-spacing", "positions", "0 6.25 60.5 12").expect_err("the tape was misread");
        assert_eq!(error, "`--positions` of `plant-spacing` must not go down, got 12 after 60.5 in, in place 4");
    }

    #[test]
    fn a_yield_in_tonnes_is_a_mass() {
        let kinds = KindSet::builtin();
        for (kind, flag, mass) in [("harvest", "yield", "yield_mass"), ("yield-estimate", "estimate", "estimate_mass")]
        {
            let kind = kinds.get(kind).expect("a kind that comes with the program");
            let today = jiff::civil::date(2026, 5, 28);
            let read = |text: &str| {
                let given = [(flag.to_owned(), text.to_owned())];
                let (values, wrong) = read_values(&kinds, kind, &given, &BTreeMap::new(), today, &Reading::default());
                assert!(wrong.is_empty(), "{wrong:?}");
                values.into_iter().map(|(name, measured)| (name, measured.value)).collect::<Vec<_>>()
            };
            assert_eq!(read("9.4 t/ha"), [(mass.to_owned(), Value::Int(9_400))]);
            assert_eq!(read("9400kg/ha"), [(mass.to_owned(), Value::Int(9_400))]);
            assert_eq!(read("150bu/ac"), [(flag.to_owned(), Value::Int(1_500))]);
            assert_eq!(read("150"), [(flag.to_owned(), Value::Int(1_500))]);
        }
        assert!(read("harvest", "yield", "12 ft").is_err(), "neither");
    }

    #[test]
    fn counts_have_no_unit_and_no_fraction() {
        for (kind, flag, text) in [
            ("stand-count", "plants", "45%"),
            ("leaf-stage", "collars", "4.5 3"),
            ("pest-count", "plants_cut", "2.5"),
            ("pest-count", "plants_cut", "7 in"),
        ] {
            assert!(read(kind, flag, text).is_err(), "{kind} {flag} {text}");
        }
        assert_eq!(read("stand-count", "plants", "29.5").expect("a doubtful plant is half").value, Value::Int(295));
    }

    #[test]
    fn what_is_no_number_is_answered_with_one_that_can_be_typed() {
        for (kind, flag, example) in [
            ("stand-count", "plants", "6.5"),
            ("pest-count", "plants_cut", "20"),
            ("leaf-stage", "collars", "20"),
            ("nutrient-test", "ph", "6.5"),
            ("root-check", "node_injury", "3"),
        ] {
            for text in ["nan", "inf", "many", "30 plants"] {
                let error = read(kind, flag, text).expect_err("no number");
                assert!(!error.contains('%'), "{kind} {flag} {text}: {error}");
            }
            let error = read(kind, flag, "nan").expect_err("no number");
            assert!(error.contains(&format!("expected a number such as `{example}`, got `nan`")), "{error}");
            assert!(read(kind, flag, example).is_ok(), "{kind} {flag} {example}");
        }
    }

    #[test]
    fn what_would_be_rounded_to_nothing_is_refused() {
        let error = read("harvest", "barren", "0.02").expect_err("2 %, or a fiftieth of one");
        assert!(error.contains("smallest step that is kept"), "{error}");
        assert_eq!(read("harvest", "barren", "0").expect("none").value, Value::Int(0));
        assert_eq!(read("frost-damage", "lowest", "32.01F").expect("as good as 0 °C").value, Value::Int(0));
    }

    #[test]
    fn a_photo_is_named_by_a_hash() {
        let hash = "a7ffc6f8bf1ed76651c14756a061d662f580ff4de43b49fa82d80a4b80f8434a";
        assert_eq!(read("photo", "content", hash).expect("a hash").value, Value::Text(hash.into()));
        for wrong in ["", "a7ff", &hash.to_uppercase(), &hash.replace('a', "g"), "../../../../etc/passwd"] {
            assert!(read("photo", "content", wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn when_a_photo_was_taken_is_a_time() {
        for good in ["2026-06-12T09:40:00-05:00", "2026-06-12T09:40:00", "2026-06-12 09:40", "2026-06-12T14:40:00Z"] {
            assert_eq!(read("photo", "taken_at", good).expect("a time").value, Value::Text(good.into()));
        }
        for wrong in ["yesterday", "09:40", "2026-13-12T09:40:00", "12/06/2026"] {
            let error = read("photo", "taken_at", wrong).expect_err("no time");
            assert!(error.contains("expected a time such as `2026-06-12T09:40:00-05:00`"), "{error}");
        }
    }

    #[test]
    fn a_range_is_told_in_the_units_that_are_read() {
        let kinds = KindSet::builtin();
        let kind = kinds.get("stand-count").expect("a kind that comes with the program");
        let row = kind.measure("row_width").expect("a measure of it");
        let said = |system| {
            let reading = Reading { system, ..Reading::default() };
            let today = jiff::civil::date(2026, 5, 28);
            read_value(&kinds, kind, row, "300cm", today, &reading).expect_err("no row is that wide").message
        };
        let metric = said(ligule_units::System::Metric);
        assert_eq!(metric, "`--row` of `stand-count` must lie between 10.16 and 203.2 cm, got 300");
        assert!(said(ligule_units::System::Us).contains("between 4 and 80 in, got 118.11"));
    }

    /// What is kept of another unit is rounded; what was typed, and a bound of it, is told all the same.
    #[test]
    fn what_is_out_of_range_is_told_as_it_was_typed() {
        let told = |kind, flag, text| read(kind, flag, text).expect_err("out of range");
        let cold = told("soil-check", "temperature", "-500F");
        assert_eq!(cold, "`--temperature` of `soil-check` must lie between -22 and 140 °F, got -500");
        // 45,000 kg/ha are 40,148.06 lb/ac (0.45359237 kg/lb, 0.40468564 ha/ac).
        let much = told("harvest", "yield_mass", "99999.5lb/ac");
        assert_eq!(much, "`--yield-mass` of `harvest` must lie between 0 and 40148 lb/ac, got 99999.5");
        assert!(
            read("harvest", "yield_mass", "40148lb/ac").is_ok() && read("harvest", "yield_mass", "40149lb/ac").is_err()
        );
    }

    #[test]
    fn an_unknown_code_is_answered_with_the_nearest() {
        let kinds = KindSet::builtin();
        let kind = kinds.get("pest-count").expect("a kind that comes with the program");
        let measure = kind.measure("organism").expect("a measure of it");
        let today = jiff::civil::date(2026, 5, 28);
        let error = read_value(&kinds, kind, measure, "AGROYQ", today, &Reading::default()).expect_err("no code");
        assert!(error.hint.expect("a hint").contains("did you mean black cutworm (`AGROYP`)?"));
    }

    #[test]
    fn codes_are_found_without_accents_in_the_plural_and_asked_back_where_several_fit() {
        let kinds = KindSet::builtin();
        let read = |kind: &str, flag: &str, text: &str, language: &str| {
            let kind = kinds.get(kind).expect("a kind that comes with the program");
            let measure = kind.measure(flag).expect("a measure of it");
            let reading = Reading { language: language.to_owned(), ..Reading::default() };
            let today = jiff::civil::date(2026, 5, 28);
            let told = read_value(&kinds, kind, measure, text, today, &reading);
            told.map(|told| told.value).map_err(|error| error.hint.expect("a hint"))
        };
        for (kind, flag, text, code) in [
            ("pest-count", "organism", "Black Cutworms", "AGROYP"),
            ("pest-count", "organism", "BLACK-CUTWORM", "AGROYP"),
            ("pest-count", "organism", "gusanos cortadores negros", "AGROYP"),
            ("pest-count", "organism", "bcw", "AGROYP"),
            ("pest-count", "organism", "nematodos del quiste", "HETDGL"),
            ("pest-count", "organism", "araña de dos manchas", "TETRUR"),
            ("pest-count", "organism", "arana de dos manchas", "TETRUR"),
            ("planting", "crop", "maiz", "corn"),
            ("planting", "crop", "Maíz", "corn"),
        ] {
            assert_eq!(read(kind, flag, text, "es"), Ok(Value::Text(code.to_owned())), "{text}");
        }
        for (text, named) in [
            (
                "cutworm",
                vec!["black cutworm (`AGROYP`)", "western bean cutworm (`western-bean-cutworm`)", "dingy cutworm"],
            ),
            ("armyworms", vec!["true armyworm (`PSEDUN`)", "fall armyworm"]),
            ("rootworm", vec!["western corn rootworm", "northern corn rootworm"]),
            ("stink", vec!["stink bug"]),
        ] {
            let hint = read("pest-count", "organism", text, "en").expect_err(text);
            assert!(hint.starts_with("did you mean "), "{hint}");
            assert!(named.iter().all(|name| hint.contains(name)), "{hint}");
            assert!(hint.contains("`ligule kind pest-count --codes`") && hint.len() < 250, "{hint}");
        }
        let hint = read("pest-count", "organism", "gusano trozador", "es").expect_err("called so elsewhere");
        assert!(hint.contains("gusano cortador negro (`AGROYP`)") && hint.len() < 400, "{hint}");
        let hint = read("pest-count", "organism", "chinche", "es").expect_err("a part of a name");
        assert!(hint.starts_with("¿quiso decir chinche hedionda"), "{hint}");
        let hint = read("soil-check", "moisture", "dry", "en").expect_err("told in shares");
        assert!(hint.contains("0 to 25 % (`0-25`)") && hint.contains("field capacity (`100`)"), "{hint}");
    }

    #[test]
    fn control_characters_stay_out_of_texts() {
        assert!(read("note", "text", "red \u{1b}[31m").is_err());
        assert!(read("note", "text", "two\nlines").is_ok());
    }
}
