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
#[derive(Deserialize, Debug)]
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
    pub(crate) expected: Value,
    pub(crate) tolerance: Option<f64>,
    pub(crate) relative: Option<f64>,
    pub(crate) note: Option<String>,
    pub(crate) disagrees: Option<String>,
}

/// What the library says: a number, or a text such as a stage.
#[derive(Debug, PartialEq)]
pub(crate) enum Answer {
    Number(f64),
    Text(String),
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
        match &self.expected {
            Value::String(text) if self.tolerance.is_some() => {
                let inch = Unit::by_ucum("[in_i]").expect("in the table");
                let length = parse(text, inch).and_then(|q| q.to(inch)).expect("a length");
                Answer::Number(length.to_f64())
            }
            Value::String(text) => Answer::Text(text.clone()),
            number => Answer::Number(as_f64(number)),
        }
    }

    /// Returns whether our answer is the printed one within the row's tolerance.
    pub(crate) fn agrees(&self, ours: &Answer) -> bool {
        match (ours, &self.printed()) {
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
