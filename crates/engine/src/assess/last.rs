//! The last look at soil and roots, and notes.

use ligule_observation::{
    kind::{Measure, ResultType},
    record::{Record, Value},
};
use ligule_units::{System, Unit, format_fixed};

use super::{
    model::{LastCheck, Note},
    reader::{Reader, of_kind},
};

pub(super) fn check(records: &[&Record], kind: &str, reader: &mut Reader<'_>) -> Option<LastCheck> {
    let record = of_kind(records, kind).into_iter().max_by_key(|r| (r.day, r.at))?;
    let declared = reader.kinds().get(kind)?;
    let mut values = Vec::new();
    for measure in &declared.measures {
        if let Some(measured) = record.values.get(&measure.name)
            && !reader.is_open(record, &measure.name)
        {
            let label = measure.label.get("en").unwrap_or(&measure.name).clone();
            values.push((label, shown(record, measure, &measured.value, reader)));
        }
    }
    Some(LastCheck { day: record.day, values, rests_on: vec![record.key.clone()] })
}

/// Returns a value as people read it.
fn shown(record: &Record, measure: &Measure, value: &Value, reader: &Reader<'_>) -> String {
    match value {
        Value::Text(text) if measure.result == ResultType::Choice => reader.label(record, &measure.name, text),
        Value::Text(text) => text.clone(),
        Value::Int(number) => match measure.unit.as_deref().filter(|u| *u != "1").and_then(Unit::by_ucum) {
            Some(unit) => format_fixed(*number, unit, measure.scale, System::Us),
            None => (*number as f64 / 10f64.powi(measure.scale.into())).to_string(),
        },
    }
}

/// Returns the notes, the latest first.
pub(super) fn notes(records: &[&Record], reader: &mut Reader<'_>) -> Vec<Note> {
    of_kind(records, "note")
        .into_iter()
        .rev()
        .filter_map(|record| {
            let text = reader.text(record, "text")?.to_owned();
            Some(Note { day: record.day, by: record.by.clone(), text, observation: record.key.clone() })
        })
        .collect()
}
