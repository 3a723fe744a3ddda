//! Why values were refused, or do not go together, said in the language and units of whoever reads.

use ligule_observation::kind::{Kind, Measure, Relation, ResultType};
use ligule_observation::kinds::{Invalid, KindSet, one_of};
use ligule_units::Unit;

use crate::phrases::Phrase;
use crate::reading::{Reading, in_unit};

impl Reading {
    /// Says why values do not fit their kind.
    pub(crate) fn refusal(&self, kinds: &KindSet, invalid: &Invalid) -> String {
        let (which, flag) = match invalid {
            Invalid::UnknownKind { .. } | Invalid::UnknownMeasure { .. } | Invalid::UnknownCode { .. } => {
                return invalid.to_string();
            }
            Invalid::Empty { kind, .. } | Invalid::Alternatives { kind, .. } => (kind, ""),
            Invalid::Missing { kind, flag, .. }
            | Invalid::OutOfRange { kind, flag, .. }
            | Invalid::Negative { kind, flag, .. }
            | Invalid::Descends { kind, flag, .. }
            | Invalid::Misplaced { kind, flag, .. }
            | Invalid::Form { kind, flag, .. } => (kind, flag.as_str()),
            Invalid::Exceeds { kind, least, .. } => (kind, least.as_str()),
            Invalid::Excluded { kind, one, .. } | Invalid::Unpaired { kind, one, .. } => (kind, one.as_str()),
        };
        let Some(kind) = kinds.get(which) else { return invalid.to_string() };
        let measure = by_flag(kind, flag);
        let name = &kind.kind;
        match invalid {
            Invalid::Missing { .. } => {
                let label = measure.map_or(flag, |measure| self.label(&measure.label, flag));
                self.say(Phrase::RefusedMissing, &[("kind", name), ("flag", &flag), ("label", &label)])
            }
            Invalid::Alternatives { .. } => {
                let flags = |way: &Vec<String>| {
                    let flags = way.iter().map(|name| kind.measure(name).map_or_else(|| name.clone(), Measure::flag));
                    flags.map(|flag| format!("`--{flag}`")).collect::<Vec<_>>().join(self.word(Phrase::WordAnd))
                };
                let ways = kind.needs.iter().map(flags).collect::<Vec<_>>().join(self.word(Phrase::WordOr));
                self.say(Phrase::RefusedAlternatives, &[("kind", name), ("alternatives", &ways)])
            }
            Invalid::Empty { measures, .. } => {
                self.say(Phrase::RefusedEmpty, &[("kind", name), ("measures", measures)])
            }
            Invalid::OutOfRange { got, .. } => {
                let range = measure.and_then(|measure| Some(self.bounds(measure, measure.range?).0));
                let [low, high] = range.unwrap_or_default();
                let (got, unit) = self.read_as(measure, got);
                let high = with_unit(high.to_string(), unit);
                let with: [(&str, &dyn std::fmt::Display); 5] =
                    [("flag", &flag), ("kind", name), ("low", &low), ("high", &high), ("got", &got)];
                self.say(Phrase::RefusedRange, &with)
            }
            Invalid::Negative { got, .. } => {
                self.say(Phrase::RefusedNegative, &[("flag", &flag), ("kind", name), ("got", got)])
            }
            Invalid::Exceeds { most, got, limit, .. } => {
                let (got, _) = self.read_as(measure, got);
                let (limit, unit) = self.read_as(by_flag(kind, most), number_of(limit));
                let limit = with_unit(limit, unit);
                let with: [(&str, &dyn std::fmt::Display); 5] =
                    [("flag", &flag), ("kind", name), ("most", most), ("got", &got), ("limit", &limit)];
                self.say(Phrase::RefusedExceeds, &with)
            }
            Invalid::Excluded { other, .. } => {
                self.say(Phrase::RefusedExcluded, &[("kind", name), ("flag", &flag), ("other", other)])
            }
            Invalid::Misplaced { chosen, codes, got, .. } => {
                let codes = one_of(codes, self.word(Phrase::WordOr).trim_matches([',', ' ']));
                let with: [(&str, &dyn std::fmt::Display); 4] =
                    [("flag", &flag), ("kind", name), ("chosen", chosen), ("codes", &codes)];
                let Some(got) = got else { return self.say(Phrase::RefusedUnplaced, &with) };
                let with = [&with[..], &[("got", got)]].concat();
                match measure.and_then(|measure| counterpart(kind, measure, chosen, got)) {
                    Some(other) => self.say(Phrase::MisplacedOther, &[&with[..], &[("other", &other.flag())]].concat()),
                    None => self.say(Phrase::RefusedMisplaced, &with),
                }
            }
            Invalid::Unpaired { other, got, others, .. } => {
                let with: [(&str, &dyn std::fmt::Display); 5] =
                    [("flag", &flag), ("other", other), ("kind", name), ("got", got), ("others", others)];
                self.say(Phrase::RefusedUnpaired, &with)
            }
            Invalid::Descends { after, before, place, .. } => {
                let (after, _) = self.read_as(measure, after);
                let (before, unit) = self.read_as(measure, number_of(before));
                let before = with_unit(before, unit);
                let with: [(&str, &dyn std::fmt::Display); 5] =
                    [("flag", &flag), ("kind", name), ("after", &after), ("before", &before), ("place", place)];
                self.say(Phrase::RefusedDescends, &with)
            }
            Invalid::Form { expected, got, .. } => {
                let expected = self.form(measure, expected);
                let with: [(&str, &dyn std::fmt::Display); 4] =
                    [("flag", &flag), ("kind", name), ("expected", &expected), ("got", got)];
                self.say(Phrase::RefusedForm, &with)
            }
            Invalid::UnknownKind { .. } | Invalid::UnknownMeasure { .. } | Invalid::UnknownCode { .. } => {
                invalid.to_string()
            }
        }
    }

    /// Returns a number of a measure, told in the unit in which it is kept, as it is read, and what that unit is called.
    fn read_as(&self, measure: Option<&Measure>, number: &str) -> (String, &'static str) {
        let unit = measure.and_then(|measure| Some((measure, Unit::by_ucum(measure.unit.as_deref()?)?)));
        let Some((measure, unit)) = unit else { return (number.to_owned(), "") };
        let shown = self.unit_read(measure, unit);
        let called = if shown.symbol.starts_with('/') && self.language == "en" { shown.name } else { shown.symbol };
        match number.parse::<f64>() {
            Ok(value) if shown != unit => {
                (((in_unit(value, unit, shown).0 * 100.0).round() / 100.0).to_string(), called)
            }
            _ => (number.to_owned(), called),
        }
    }

    /// Says which form a value was expected to have; what `otherwise` says in English is the most exact.
    fn form(&self, measure: Option<&Measure>, otherwise: &str) -> String {
        if self.language == "en" {
            return otherwise.to_owned();
        }
        let phrase = match measure.map(|measure| measure.result) {
            Some(ResultType::Quantity | ResultType::Count) => Phrase::FormNumber,
            Some(ResultType::List) => Phrase::FormList,
            Some(ResultType::Stage) => Phrase::FormStage,
            Some(ResultType::Day) => Phrase::FormDay,
            Some(ResultType::Choice | ResultType::Text) | None => Phrase::FormText,
        };
        self.word(phrase).to_owned()
    }
}

/// Returns the measure that tells of `got` what `measure` tells of what it goes with: `stalk_nitrate_n` for `nitrate_n`.
fn counterpart<'k>(kind: &'k Kind, measure: &Measure, chosen: &str, got: &str) -> Option<&'k Measure> {
    let decides = by_flag(kind, chosen)?;
    let placed = kind.relations.iter().filter_map(|relation| match relation {
        Relation::OnlyWhere { only, chosen, is } if *chosen == decides.name && is.iter().any(|code| code == got) => {
            Some(only)
        }
        _ => None,
    });
    let named = |name: &&String| name.strip_suffix(&measure.name).is_some_and(|part| part.ends_with('_'));
    placed.flatten().find(named).and_then(|name| kind.measure(name))
}

fn by_flag<'k>(kind: &'k Kind, flag: &str) -> Option<&'k Measure> {
    kind.measures.iter().find(|measure| measure.flag() == flag)
}

/// Returns the number of a number with its unit.
fn number_of(text: &str) -> &str {
    text.split_once(' ').map_or(text, |(number, _)| number)
}

fn with_unit(number: String, unit: &str) -> String {
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use ligule_observation::record::{Measured, Value};
    use ligule_units::{Dimension, System};

    use super::*;

    fn int(n: i64) -> Measured {
        Measured { value: Value::Int(n), entered: None }
    }

    fn text(text: &str) -> Measured {
        Measured { value: Value::Text(text.into()), entered: None }
    }

    /// One fault of each sort that the checks of values find.
    fn faults() -> Vec<Invalid> {
        let kinds = KindSet::builtin();
        let of = |kind: &str, values: &[(&str, Measured)]| {
            let values: BTreeMap<String, Measured> =
                values.iter().map(|(name, value)| ((*name).to_owned(), value.clone())).collect();
            kinds.check(kind, &values).expect_err("does not fit")
        };
        let count = [("plants", int(310)), ("row_width", int(30_000))];
        vec![
            of("photo", &[("caption", text("gate"))]),
            of("stand-count", &count[..1]),
            of("root-check", &[]),
            of("stand-count", &[("row_width", int(300_000))]),
            of("pest-count", &[("plants_cut", int(-1))]),
            of("weed-count", &[("weed", text("AMATU")), ("height", int(450)), ("tallest", int(420))]),
            of("stand-count", &[count[0].clone(), count[1].clone(), ("hoop_diameter", int(30_000))]),
            of("nutrient-test", &[("material", text("soil")), ("tissue_n", int(290))]),
            of("yield-estimate", &[("ears", int(30)), ("kernel_rows", text("16 14")), ("kernels_per_row", text("31"))]),
            of("plant-spacing", &[("positions", text("0 12.5 6.25"))]),
            of("leaf-stage", &[("stage", text("early"))]),
            of("planting", &[("day", text("1 May"))]),
        ]
    }

    /// Whoever reads American units in English reads what the kinds themselves say.
    #[test]
    fn english_is_what_the_kinds_say() {
        let kinds = KindSet::builtin();
        for fault in faults() {
            assert_eq!(Reading::default().refusal(&kinds, &fault), fault.to_string());
        }
    }

    #[test]
    fn spanish_has_none_of_the_english() {
        let kinds = KindSet::builtin();
        let spanish = Reading { language: "es".into(), ..Reading::default() };
        for fault in faults() {
            let said = spanish.refusal(&kinds, &fault);
            let words = [" of ", " got ", " needs ", " must ", " and ", "expected", " missing"];
            assert!(words.iter().all(|word| !said.contains(word)), "{said}");
            assert!(said.contains('`'), "it names what was typed: {said}");
        }
    }

    /// What stands beside the wrong material is answered with the measure that is meant, where there is one.
    #[test]
    fn a_misplaced_measure_is_answered_with_the_right_one() {
        let kinds = KindSet::builtin();
        let said = |measure: &str| {
            let values = BTreeMap::from([
                ("material".to_owned(), text("lower-stalk")),
                (measure.to_owned(), int(17)),
                ("stalk_nitrate_n".to_owned(), int(170)),
            ]);
            Reading::default().refusal(&kinds, &kinds.check("nutrient-test", &values).expect_err("of soil"))
        };
        assert!(said("nitrate_n").ends_with("with which it is `--stalk-nitrate-n`"), "{}", said("nitrate_n"));
        assert!(said("phosphorus").ends_with("record each in an observation of its own"), "{}", said("phosphorus"));
    }

    #[test]
    fn numbers_are_told_in_the_units_that_are_read() {
        let kinds = KindSet::builtin();
        let metric = Reading { system: System::Metric, ..Reading::default() };
        let said: Vec<String> = faults().iter().map(|fault| metric.refusal(&kinds, fault)).collect();
        for part in ["between 10.16 and 203.2 cm, got 762", "got 11.43 with 10.67 cm", "got 15.88 after 31.75 cm"] {
            assert!(said.iter().any(|said| said.contains(part)), "{part} in {said:#?}");
        }
    }

    /// The dimensions of units are told in Spanish, each of those in the table.
    #[test]
    fn quantities_are_refused_in_the_readers_language() {
        let spanish = Reading { language: "es".into(), ..Reading::default() };
        for unit in Unit::all() {
            let other = if unit.dimension == Dimension::Mass { "1 ft" } else { "1 lb" };
            let error = ligule_units::parse(other, unit).expect_err("of another dimension");
            let said = spanish.quantity_refusal(&error);
            assert!(
                said.starts_with("se esperaba un") && !said.contains(" which ") && !said.contains("expected"),
                "{said}"
            );
        }
        let error =
            ligule_units::parse("30 inhces", Unit::by_ucum("[in_i]").expect("in the table")).expect_err("misspelt");
        let said = spanish.quantity_refusal(&error);
        assert!(said.contains("unidad desconocida `inhces`, ¿quiso decir"), "{said}");
    }
}
