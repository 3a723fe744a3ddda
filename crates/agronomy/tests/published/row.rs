//! A row of a published table, and the answer it is compared with.

use std::collections::BTreeMap;

use ligule_units::{DegreeDays, Length, PlantDensity, Unit, parse};
use serde::Deserialize;
use toml::Value;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Source {
    pub(crate) publication: Publication,
    pub(crate) row: Vec<Row>,
}

/// Where the numbers come from; each field must be there, or the file is refused.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Publication {
    pub(crate) title: String,
    pub(crate) author: String,
    pub(crate) year: Option<u16>,
    pub(crate) table: String,
    pub(crate) url: Option<String>,
    pub(crate) transcribed_by: String,
    pub(crate) transcribed_on: String,
    pub(crate) confidence: Confidence,
}

/// `page`: read on a page; `derived`: reckoned by hand from what a page or a definition says; `memory`: recalled.
#[derive(Deserialize, Debug, Clone, Copy, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Confidence {
    Page,
    Derived,
    Memory,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Row {
    pub(crate) name: String,
    pub(crate) check: String,
    pub(crate) inputs: BTreeMap<String, Value>,
    /// A number, a text, or the two ends of a printed range such as "6 to 9 %", between which we must lie.
    pub(crate) expected: Value,
    pub(crate) tolerance: Option<f64>,
    pub(crate) relative: Option<f64>,
    pub(crate) note: Option<String>,
    /// Why we differ from what is printed; `ours` then says what we answer.
    pub(crate) disagrees: Option<String>,
    pub(crate) ours: Option<Value>,
    /// Where this row comes from, if not from where its file does.
    pub(crate) confidence: Option<Confidence>,
}

/// What the library says: a number, or a text such as a stage. A range is only ever printed, never ours.
#[derive(Debug, PartialEq)]
pub(crate) enum Answer {
    Number(f64),
    Text(String),
    Range(f64, f64),
}

impl Row {
    pub(crate) fn number(&self, name: &str) -> f64 {
        as_f64(self.inputs.get(name).unwrap_or_else(|| panic!("`{}` has no input `{name}`", self.name)))
    }

    pub(crate) fn text(&self, name: &str) -> &str {
        self.inputs.get(name).and_then(Value::as_str).unwrap_or_else(|| panic!("`{}` has no text `{name}`", self.name))
    }

    pub(crate) fn whole(&self, name: &str) -> u64 {
        self.inputs.get(name).and_then(Value::as_integer).and_then(|n| u64::try_from(n).ok()).expect("a whole number")
    }

    pub(crate) fn inches(&self, name: &str) -> Length {
        Length::from_inches(self.number(name))
    }

    pub(crate) fn per_acre(&self, name: &str) -> PlantDensity {
        PlantDensity::from_per_acre(self.number(name))
    }

    pub(crate) fn fahrenheit_days(&self, name: &str) -> DegreeDays {
        DegreeDays::from_fahrenheit(self.number(name))
    }

    pub(crate) fn numbers(&self, name: &str) -> Vec<f64> {
        self.list(name).iter().map(as_f64).collect()
    }

    pub(crate) fn list(&self, name: &str) -> &[Value] {
        let list = self.inputs.get(name).and_then(Value::as_array);
        list.unwrap_or_else(|| panic!("`{}` has no list `{name}`", self.name))
    }

    pub(crate) fn yes(&self, name: &str) -> bool {
        let yes = self.inputs.get(name).and_then(Value::as_bool);
        yes.unwrap_or_else(|| panic!("`{}` has no `{name}` that is true or false", self.name))
    }

    pub(crate) fn has(&self, name: &str) -> bool {
        self.inputs.contains_key(name)
    }

    /// Returns what the publication prints; a text with a length in it counts in inches.
    pub(crate) fn printed(&self) -> Answer {
        self.read(&self.expected)
    }

    /// Returns whether our answer is what the row says it must be: the printed one, or with `disagrees` the row's `ours`
    /// and not the printed one.
    pub(crate) fn holds(&self, answer: &Answer) -> bool {
        match (&self.disagrees, &self.ours) {
            (None, None) => self.agree(answer, &self.printed()),
            (Some(_), Some(ours)) => self.agree(answer, &self.read(ours)) && !self.agree(answer, &self.printed()),
            _ => panic!("`{}` needs both of `disagrees` and `ours`, or neither", self.name),
        }
    }

    fn read(&self, value: &Value) -> Answer {
        match value {
            Value::String(text) if self.tolerance.is_some() => {
                let inch = Unit::by_ucum("[in_i]").expect("in the table");
                let length = parse(text, inch).and_then(|q| q.to(inch)).expect("a length");
                Answer::Number(length.to_f64())
            }
            Value::String(text) => Answer::Text(text.clone()),
            Value::Array(ends) => match ends.as_slice() {
                [low, high] if as_f64(low) < as_f64(high) => Answer::Range(as_f64(low), as_f64(high)),
                _ => panic!("`{}` needs two ends of a range, the lower first", self.name),
            },
            number => Answer::Number(as_f64(number)),
        }
    }

    fn agree(&self, ours: &Answer, printed: &Answer) -> bool {
        match (ours, printed) {
            (Answer::Text(ours), Answer::Text(printed)) => ours == printed,
            (Answer::Number(ours), Answer::Number(printed)) => {
                let tolerance = match (self.tolerance, self.relative) {
                    (Some(absolute), None) => absolute,
                    (None, Some(relative)) => relative * printed.abs(),
                    _ => panic!("`{}` needs one of `tolerance` and `relative`", self.name),
                };
                // The printed number is itself a rounded binary: leave room for that, and for nothing more.
                (ours - printed).abs() <= tolerance + 1e-9 * printed.abs().max(1.0)
            }
            // A range leaves room enough: beyond its ends only what binaries round.
            (Answer::Number(ours), Answer::Range(low, high)) => (low - 1e-9..=high + 1e-9).contains(ours),
            _ => false,
        }
    }
}

pub(crate) fn as_f64(value: &Value) -> f64 {
    match value {
        Value::Float(number) => *number,
        Value::Integer(number) => *number as f64,
        other => panic!("expected a number, got `{other}`"),
    }
}
