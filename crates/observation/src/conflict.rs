//! Concurrent values that differ, and who wrote them.

use automerge::{ObjId, ReadDoc, ScalarValue};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{
    document::{ENTERED, FieldDocument, Writer, is_measure, scalar},
    error::DocumentError,
    ids::{DeviceId, ObservationKey},
    record::{Measured, Value},
};

/// A measure whose concurrent values differ and wait for a person.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Conflict {
    /// The observation.
    pub key: ObservationKey,
    /// Its kind.
    pub kind: String,
    /// The measure.
    pub measure: String,
    /// The differing values; the last one is shown until a person decides.
    pub candidates: Vec<Candidate>,
}

/// One of several concurrent values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Candidate {
    /// The value and the text it was entered as.
    pub measured: Measured,
    /// The person who wrote it; empty where the writer did not sign.
    pub by: String,
    /// The device it was written on; all zeros where the writer did not sign.
    pub device: DeviceId,
    /// When it was written, to the second, as that device's clock told it.
    pub at: Timestamp,
}

impl FieldDocument {
    /// Returns every conflict: differing concurrent values of observations that are not void.
    pub fn conflicts(&self) -> Vec<Conflict> {
        self.project(None)
            .records
            .into_iter()
            .filter(|r| !r.conflicts.is_empty())
            .flat_map(|r| self.conflicts_of(&r.key, &r.kind, &r.conflicts))
            .collect()
    }

    /// Returns the conflicts of one observation, given the measures that its record lists.
    pub fn conflicts_of(&self, key: &str, kind: &str, measures: &[String]) -> Vec<Conflict> {
        if measures.is_empty() {
            return Vec::new();
        }
        let Ok(maps) = self.observation(key) else { return Vec::new() };
        measures
            .iter()
            .map(|measure| Conflict {
                key: key.to_owned(),
                kind: kind.to_owned(),
                measure: measure.clone(),
                candidates: self.candidates_of(&maps, measure),
            })
            // A measure may also wait for what was written to another observation.
            .filter(|conflict| conflict.candidates.len() > 1)
            .collect()
    }

    /// Writes values of a measure as people do who do not know of each other, in place of every value there: a conflict
    /// between these values, of which the last one is shown.
    ///
    /// Every value needs a writer whose actor has not written into this document; the first writer has the least actor,
    /// the last one the greatest. *Errors:* nothing is written where one value cannot be.
    pub fn put_beside(
        &mut self,
        key: &str,
        measure: &str,
        values: &[(Writer, Measured)],
        at: Timestamp,
    ) -> Result<(), DocumentError> {
        if !is_measure(measure) {
            return Err(DocumentError::BadMeasure { got: measure.to_owned() });
        }
        let maps = self.observation(key)?;
        let mut copies = Vec::with_capacity(values.len());
        for (writer, measured) in values {
            let mut copy = self.clone();
            copy.set_writer(writer.clone());
            // Of concurrent operations the one with the greater number is shown, then the one of the greater actor: each
            // of the copies makes as many operations before the value as the others.
            copy.change(at, |d| {
                maps.iter().try_for_each(|map| d.put_anew(map, measure, scalar(&measured.value)))?;
                let entered = measured.entered.as_deref().map_or(ScalarValue::Null, ScalarValue::from);
                maps.iter().try_for_each(|map| d.put_anew(map, &format!("{measure}{ENTERED}"), entered.clone()))
            })?;
            copies.push(copy);
        }
        copies.iter_mut().try_for_each(|copy| self.lib(|d| d.doc.merge(&mut copy.doc).map(drop)))
    }

    /// Returns the concurrent values of a field over an observation's maps, one for each differing value; the one
    /// that is shown comes last.
    pub(crate) fn candidates_of(&self, maps: &[ObjId], measure: &str) -> Vec<Candidate> {
        let mut out: Vec<Candidate> = Vec::new();
        for map in maps {
            let entered = self.doc.get_all(map, format!("{measure}{ENTERED}")).unwrap_or_default();
            for (value, id) in self.values_of(map, measure) {
                let ObjId::Id(_, actor, _) = &id else { continue };
                let text = entered.iter().find_map(|(text, at)| match at {
                    ObjId::Id(_, a, _) if a == actor => text.as_str().map(str::to_owned),
                    _ => None,
                });
                let (device, by) = self.who(actor.to_bytes()).unwrap_or((DeviceId([0; 32]), String::new()));
                let candidate = Candidate {
                    measured: Measured { value, entered: text },
                    by,
                    device,
                    at: self.time_of(&id).unwrap_or(Timestamp::UNIX_EPOCH),
                };
                // A later equal value takes the place of an earlier one, so that what is shown stays last.
                out.retain(|c| c.measured.value != candidate.measured.value);
                out.push(candidate);
            }
        }
        out
    }

    /// Tells whether concurrent values of a field over an observation's maps differ. Who wrote them when is not looked up,
    /// which takes as long as the changes are large.
    pub(crate) fn differ(&self, maps: &[ObjId], measure: &str) -> bool {
        let mut values = maps.iter().flat_map(|map| self.values_of(map, measure)).map(|(value, _)| value);
        values.next().is_some_and(|first| values.any(|value| value != first))
    }

    /// Returns the concurrent values of a field in one map.
    fn values_of(&self, map: &ObjId, measure: &str) -> impl Iterator<Item = (Value, ObjId)> {
        let all = self.doc.get_all(map, measure).unwrap_or_default();
        all.into_iter().filter_map(|(value, id)| match value.as_scalar() {
            Some(ScalarValue::Int(n)) => Some((Value::Int(*n), id)),
            Some(ScalarValue::Str(s)) => Some((Value::Text(s.to_string()), id)),
            _ => None,
        })
    }

    /// Returns the time of the change that holds an operation.
    fn time_of(&self, operation: &ObjId) -> Option<Timestamp> {
        let hash = self.doc.hash_for_opid(operation)?;
        let change = self.doc.get_change_by_hash(&hash)?;
        Timestamp::from_second(change.timestamp()).ok()
    }
}
