//! Reads values of records as quantities, and keeps account of what had to be left out.

use ligule_observation::{kind::Measure, kinds::KindSet, record::Record};
use ligule_units::{Length, PlantDensity, Quantity, Unit, parse};

use super::model::SetAside;
use crate::phrases::Phrase;
use crate::reading::{Reading, code_label};

/// Reads values; a measure that waits for a person is never read, and listed.
pub(super) struct Reader<'a> {
    kinds: &'a KindSet,
    reading: &'a Reading,
    set_aside: Vec<SetAside>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(kinds: &'a KindSet, reading: &'a Reading) -> Self {
        Self { kinds, reading, set_aside: Vec::new() }
    }

    pub(super) fn into_set_aside(self) -> Vec<SetAside> {
        self.set_aside
    }

    pub(super) fn kinds(&self) -> &'a KindSet {
        self.kinds
    }

    pub(super) fn reading(&self) -> &'a Reading {
        self.reading
    }

    /// Leaves a value out, once.
    pub(super) fn set_aside(&mut self, record: &Record, measure: &str, why: impl Into<String>) {
        let entry = SetAside { observation: record.key.clone(), measure: measure.to_owned(), why: why.into() };
        if !self.set_aside.contains(&entry) {
            self.set_aside.push(entry);
        }
    }

    /// Tells whether a measure waits for a decision, and lists it if so.
    pub(super) fn is_open(&mut self, record: &Record, measure: &str) -> bool {
        if record.conflicts.iter().any(|m| m == measure) {
            self.set_aside(record, measure, self.reading.word(Phrase::InConflict));
            return true;
        }
        // Corrections of two devices can each hold and not go together.
        let Some(kind) = self.kinds.get(&record.kind) else { return false };
        let Some(invalid) = kind.apart(record).filter(|_| kind.waiting(record).iter().any(|m| m == measure)) else {
            return false;
        };
        let why = self.reading.refusal(self.kinds, &invalid);
        self.set_aside(record, measure, self.reading.say(Phrase::NotTogether, &[("why", &why)]));
        true
    }

    /// Tells whether none of the measures that belong together waits for a decision; lists all that do.
    pub(super) fn are_settled(&mut self, record: &Record, measures: &[&str]) -> bool {
        let open = measures.iter().filter(|m| self.is_open(record, m)).count();
        open == 0
    }

    fn measure(&self, record: &Record, measure: &str) -> Option<&'a Measure> {
        self.kinds.get(&record.kind)?.measures.iter().find(|m| m.name == measure)
    }

    pub(super) fn text<'r>(&mut self, record: &'r Record, measure: &str) -> Option<&'r str> {
        if self.is_open(record, measure) { None } else { record.text(measure) }
    }

    /// Returns a number in the unit of its measure.
    pub(super) fn number(&mut self, record: &Record, measure: &str) -> Option<f64> {
        if self.is_open(record, measure) {
            return None;
        }
        record.number(self.measure(record, measure)?)
    }

    pub(super) fn count(&mut self, record: &Record, measure: &str) -> Option<u32> {
        if self.is_open(record, measure) {
            return None;
        }
        u32::try_from(record.int(measure)?).ok()
    }

    fn quantity(&mut self, record: &Record, measure: &str) -> Option<Quantity> {
        if self.is_open(record, measure) {
            return None;
        }
        let declared = self.measure(record, measure)?;
        let unit = Unit::by_ucum(declared.unit.as_deref()?)?;
        Quantity::from_fixed(record.int(measure)?, unit, declared.scale).ok()
    }

    pub(super) fn length(&mut self, record: &Record, measure: &str) -> Option<Length> {
        Length::try_from(&self.quantity(record, measure)?).ok()
    }

    /// Returns a length in inches; one that is kept in inches is not sent through metres and back.
    pub(super) fn inches(&mut self, record: &Record, measure: &str) -> Option<f64> {
        match self.measure(record, measure)?.unit.as_deref() {
            Some("[in_i]") => self.number(record, measure),
            _ => self.length(record, measure).map(|l| l.inches()),
        }
    }

    /// Returns plants or seeds per area, as exact as they were typed: whole ones per acre are not whole ones per hectare.
    pub(super) fn density(&mut self, record: &Record, measure: &str) -> Option<PlantDensity> {
        let kept = self.quantity(record, measure)?;
        let scale = self.measure(record, measure)?.scale;
        let typed = record.values.get(measure)?.entered.as_deref().and_then(|text| parse(text, kept.unit).ok());
        let typed = typed.filter(|typed| typed.to_fixed(kept.unit, scale).ok() == record.int(measure));
        PlantDensity::try_from(&typed.unwrap_or(kept)).ok()
    }

    /// Returns the numbers of a list, in the unit of its measure; one that is no number is left out and listed.
    pub(super) fn list(&mut self, record: &Record, measure: &str) -> Vec<f64> {
        let Some(text) = self.text(record, measure) else { return Vec::new() };
        let (numbers, rest): (Vec<_>, Vec<_>) = text
            .split_whitespace()
            .map(|w| w.parse::<f64>().ok().filter(|n| n.is_finite()).ok_or(w))
            .partition(Result::is_ok);
        for word in rest.into_iter().filter_map(Result::err) {
            self.set_aside(record, measure, self.reading.say(Phrase::NumbersExpected, &[("word", &word)]));
        }
        numbers.into_iter().filter_map(Result::ok).collect()
    }

    /// Returns the lengths of a list.
    pub(super) fn lengths(&mut self, record: &Record, measure: &str) -> Vec<Length> {
        let Some(unit) = self.measure(record, measure).and_then(|m| m.unit.as_deref()) else { return Vec::new() };
        let make: fn(f64) -> Length = match unit {
            "[in_i]" => Length::from_inches,
            "[ft_i]" => Length::from_feet,
            "cm" => Length::from_centimetres,
            "m" => Length::from_metres,
            _ => return Vec::new(),
        };
        self.list(record, measure).into_iter().map(make).collect()
    }

    /// Returns what people call a code of a choice; the code where the lists do not have it.
    pub(super) fn label(&self, record: &Record, measure: &str, code: &str) -> String {
        match self.measure(record, measure) {
            Some(measure) => code_label(self.kinds, measure, code, &self.reading.language),
            None => code.to_owned(),
        }
    }
}

/// Returns the records of a kind.
pub(super) fn of_kind<'r>(records: &[&'r Record], kind: &str) -> Vec<&'r Record> {
    records.iter().filter(|r| r.kind == kind).copied().collect()
}

/// Asks the days of some records, in order of time, for an answer, the latest first, and returns the first one.
pub(super) fn last_usable_day<T>(records: &[&Record], answer: impl FnMut(&[&Record]) -> Option<T>) -> Option<T> {
    records.chunk_by(|a, b| a.day == b.day).rev().find_map(answer)
}
