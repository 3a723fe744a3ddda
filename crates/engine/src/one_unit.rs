//! Lists of which only some numbers have a unit: people write it once, at the end or at the start.

use ligule_observation::kind::{Measure, ResultType};
use ligule_units::{Quantity, Rational, Unit, parse};

use crate::error::EngineError;
use crate::phrases::Phrase;
use crate::reading::Reading;

/// A list that can be read in several ways: each of them as it is written so that it is read in that one.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum SeveralUnits {
    /// Some numbers have a unit and others none.
    Some(Vec<String>),
    /// What stands in it may be parts of one number or a number each.
    Parts(Vec<String>),
}

impl SeveralUnits {
    /// Says that it is not clear, and how to write it.
    pub(crate) fn refusal(&self, measure: &Measure, text: &str, reading: &Reading) -> EngineError {
        let (ways, what) = match self {
            Self::Some(ways) => (ways, Phrase::SomeHaveUnits),
            Self::Parts(ways) => (ways, Phrase::PartsOrNumbers),
        };
        let ways = ways.iter().map(|way| format!("`{way}`")).collect::<Vec<_>>();
        let ways = ways.join(reading.word(Phrase::WordOr));
        EngineError::user(
            reading.say(what, &[("flag", &measure.flag()), ("text", &text)]),
            reading.say(Phrase::WriteEachUnit, &[("ways", &ways)]),
        )
    }
}

/// Returns a list with the unit that stands once, with its last or its first number, behind each of them; any other list
/// as it is.
///
/// A bare number is in `bare`; `stated` says that somebody wrote so, as over a column. A bare zero needs no unit.
///
/// # Errors
/// Some numbers have a unit and others none, and which those are in makes a difference; `5 ft 2 in` at blanks.
pub(crate) fn one_unit(
    measure: &Measure,
    text: &str,
    bare: &'static Unit,
    stated: bool,
) -> Result<String, SeveralUnits> {
    let kept = measure.unit.as_deref().filter(|code| *code != "1").and_then(Unit::by_ucum);
    let (ResultType::List, Some(kept)) = (measure.result, kept) else { return Ok(text.to_owned()) };
    let commas = text.contains([',', ';']);
    let Some((list, moved)) = items(text, commas, kept) else { return Ok(text.to_owned()) };
    let together = |items: Vec<String>| items.join(if commas { ", " } else { " " });
    // `5 ft 2 in` is one height or two.
    let parts = |at: &usize| list[*at].goes_on_with(&list[at + 1]);
    let heights: Vec<usize> = (0..list.len().saturating_sub(1)).filter(|at| !commas && parts(at)).collect();
    if !heights.is_empty() {
        let mut one = String::new();
        for (at, item) in list.iter().enumerate() {
            one.push_str(if at == 0 || heights.contains(&(at - 1)) { "" } else { ", " });
            one.push_str(&item.written(bare));
        }
        let two = list.iter().map(|item| item.written(bare)).collect::<Vec<_>>().join(", ");
        return Err(SeveralUnits::Parts(vec![one, two]));
    }
    let told: Vec<usize> = (0..list.len()).filter(|at| !list[*at].units.is_empty()).collect();
    let as_written = || if moved { together(list.iter().map(Item::as_typed).collect()) } else { text.to_owned() };
    let zero = |item: &Item| item.value.value == Rational::ZERO && kept.offset == Rational::ZERO;
    let lacking = |item: &Item| item.units.is_empty() && !zero(item);
    if told.is_empty() || !list.iter().any(lacking) {
        return Ok(as_written());
    }
    let reading = |unit| together(list.iter().map(|item| item.written(unit)).collect());
    if let ([at], false) = (told.as_slice(), stated)
        && let ([unit], true) = (list[*at].units.as_slice(), *at == 0 || at + 1 == list.len())
    {
        return Ok(if *unit == bare { as_written() } else { reading(*unit) });
    }
    let mut units = vec![bare];
    for unit in told.iter().flat_map(|at| &list[*at].units) {
        if !units.contains(unit) {
            units.push(unit);
        }
    }
    if units.len() == 1 { Ok(as_written()) } else { Err(SeveralUnits::Some(units.into_iter().map(reading).collect())) }
}

/// One number of a list.
struct Item {
    number: String,
    /// How often it was seen, where it is a tally.
    times: Option<String>,
    /// The units in it, as many as it has parts.
    units: Vec<&'static Unit>,
    /// In the kept unit, where it has none.
    value: Quantity,
}

impl Item {
    fn as_typed(&self) -> String {
        self.with("")
    }

    /// Writes it with a unit, where it has none.
    fn written(&self, unit: &Unit) -> String {
        self.with(if self.units.is_empty() { unit.symbol } else { "" })
    }

    fn with(&self, symbol: &str) -> String {
        let times = self.times.as_ref().map_or(String::new(), |times| format!(":{times}"));
        format!("{}{symbol}{times}", self.number)
    }

    /// Tells whether another may be its smaller part, as 2 in of 5 ft.
    fn goes_on_with(&self, next: &Self) -> bool {
        let ([large], [small]) = (self.units.as_slice(), next.units.as_slice()) else { return false };
        let less = || next.value.to(large).is_ok_and(|value| value.value < Rational::ONE);
        small.factor < large.factor && self.times.is_none() && less()
    }
}

/// Takes a list apart, and tells whether a unit was put with the number that it stands apart from; nothing where it holds
/// what is no number, which is told elsewhere.
fn items(text: &str, commas: bool, kept: &'static Unit) -> Option<(Vec<Item>, bool)> {
    let unit = |word: &str| Unit::by_spelling(word).filter(|unit| unit.dimension == kept.dimension);
    // `cm: 23 25 22`
    let (ahead, text) = text.split_at(text.find(of_number).unwrap_or(text.len()));
    let ahead = match ahead.trim().trim_end_matches(':').trim_end() {
        "" => None,
        word => Some((word, unit(word)?)),
    };
    let mut moved = ahead.is_some();
    let mut words: Vec<String> = Vec::new();
    let at = |c: char| if commas { c == ',' || c == ';' } else { c.is_whitespace() };
    for word in text.split(at).map(str::trim).filter(|word| !word.is_empty()) {
        match words.last_mut() {
            // `23 25 22 cm`
            Some(last) if !word.contains(of_number) && unit(word).is_some() => {
                moved = true;
                match last.split_once(':') {
                    Some((number, times)) => *last = format!("{number}{word}:{times}"),
                    None => last.push_str(word),
                }
            }
            // At blanks a fraction behind a whole number could mean one number or two.
            Some(_) if !commas && word.contains(|c: char| c == '/' || (c.is_numeric() && !c.is_ascii_digit())) => {
                return None;
            }
            _ => words.push(word.to_owned()),
        }
    }
    let mut list = words.iter().map(|word| item(word, kept)).collect::<Option<Vec<_>>>()?;
    if let (Some((word, unit)), Some(first)) = (ahead, list.first_mut().filter(|first| first.units.is_empty())) {
        first.number.push_str(word);
        first.units.push(unit);
    } else if ahead.is_some() {
        return None;
    }
    Some((list, moved))
}

fn item(word: &str, kept: &'static Unit) -> Option<Item> {
    let (number, times) = word.split_once(':').map_or((word, None), |(number, times)| (number, Some(times)));
    let number = number.trim();
    let spellings = number.split(|c| of_number(c) || c == '/').map(str::trim).filter(|part| !part.is_empty());
    let units = spellings.map(|part| Unit::by_spelling(part).filter(|unit| unit.dimension == kept.dimension));
    let units = units.collect::<Option<Vec<_>>>()?;
    let value = parse(number, kept).ok()?;
    Some(Item { number: number.to_owned(), times: times.map(str::to_owned), units, value })
}

/// Tells whether a letter belongs to a number.
fn of_number(c: char) -> bool {
    c.is_numeric() || matches!(c, '.' | '-' | '−' | '+')
}

#[cfg(test)]
mod tests {
    use ligule_observation::kinds::KindSet;

    use super::*;

    fn read(kind: &str, measure: &str, text: &str, bare: &str) -> Result<String, Vec<String>> {
        let kinds = KindSet::builtin();
        let measure = kinds.get(kind).and_then(|kind| kind.measure(measure)).expect("a measure");
        one_unit(measure, text, Unit::by_spelling(bare).expect("a unit"), false)
            .map_err(|(SeveralUnits::Some(ways) | SeveralUnits::Parts(ways))| ways)
    }

    #[test]
    fn a_unit_written_once_at_the_end_or_the_start_holds_for_all() {
        for (text, whole) in [
            ("23, 25, 22cm", "23cm, 25cm, 22cm"),
            ("23 25 22 cm", "23cm 25cm 22cm"),
            ("23 25 22cm", "23cm 25cm 22cm"),
            ("23cm 25 22", "23cm 25cm 22cm"),
            ("cm: 23 25 22", "23cm 25cm 22cm"),
            ("cm 23, 25, 22", "23cm, 25cm, 22cm"),
            ("0 16 32 48 66 cm", "0cm 16cm 32cm 48cm 66cm"),
            ("3:4 4:2 5cm", "3cm:4 4cm:2 5cm"),
            ("3:4 4:2cm", "3:4 4:2cm"),
            ("1 1/4, 1 1/8 in", "1 1/4, 1 1/8 in"),
            ("2 1/2, 3 cm", "2 1/2cm, 3 cm"),
            // Each has its own, or none has.
            ("23cm, 9in, 0.3m", "23cm, 9in, 0.3m"),
            ("23 25 22", "23 25 22"),
            ("0, 16cm, 32cm", "0, 16cm, 32cm"),
            ("5ft2in, 5ft, 4ft11in", "5ft2in, 5ft, 4ft11in"),
            ("5 ft 2 in, 5 ft", "5 ft 2 in, 5 ft"),
            ("22 cm", "22cm"),
            ("23in, 25, 22in", "23in, 25, 22in"),
            // What is no list of numbers is told elsewhere.
            ("23, wide, 22cm", "23, wide, 22cm"),
            ("1 1/4 1 1/8 cm", "1 1/4 1 1/8 cm"),
        ] {
            assert_eq!(read("plant-height", "heights", text, "in"), Ok(whole.to_owned()), "{text}");
        }
        assert_eq!(read("leaf-stage", "collars", "4 5 6cm", "in"), Ok("4 5 6cm".to_owned()), "counts have none");
    }

    #[test]
    fn units_of_some_numbers_are_asked_back() {
        for (text, ways) in [
            ("0cm 16cm 32cm 48 66", vec!["0cm 16cm 32cm 48in 66in", "0cm 16cm 32cm 48cm 66cm"]),
            ("23, 25cm, 22", vec!["23in, 25cm, 22in", "23cm, 25cm, 22cm"]),
            ("4, 5, 5ft2in", vec!["4in, 5in, 5ft2in", "4ft, 5ft, 5ft2in"]),
            ("5 ft 2 in", vec!["5ft2in", "5ft, 2in"]),
        ] {
            let several = read("plant-height", "heights", text, "in").expect_err(text);
            assert_eq!(several, ways, "{text}");
            for way in ways {
                assert!(read("plant-height", "heights", way, "in").is_ok(), "{way} is taken as it stands");
            }
        }
        assert_eq!(read("plant-height", "heights", "0cm 16cm 48", "cm"), Ok("0cm 16cm 48".to_owned()));
    }
}
