//! The last look at soil and roots, and notes.

use ligule_observation::{
    kind::ResultType,
    record::{Record, Value},
};

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
            let label = reader.reading().label(&measure.label, &measure.name).to_owned();
            let value = match &measured.value {
                Value::Text(code) if measure.result == ResultType::Choice => reader.label(record, &measure.name, code),
                _ => reader.reading().value(reader.kinds(), Some(measure), measured),
            };
            values.push((label, value));
        }
    }
    Some(LastCheck { day: record.day, values, rests_on: vec![record.key.clone()] })
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
