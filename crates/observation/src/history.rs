//! Everything that ever happened to one observation.

use automerge::{
    ScalarValue,
    legacy::{Key, ObjectId, OpType},
};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{
    document::{ENTERED, FieldDocument, VOID},
    error::DocumentError,
    guard::guarded,
    ids::DeviceId,
    record::Value,
    version::ChangeHash,
};

/// One value that was written to an observation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HistoryEntry {
    /// The measure; `void` for the voiding of the observation.
    pub measure: String,
    /// The value written; for a void its JSON.
    pub value: Value,
    /// The text it was entered as.
    pub entered: Option<String>,
    /// The person; empty where the writer did not sign.
    pub by: String,
    /// The device; all zeros where the writer did not sign.
    pub device: DeviceId,
    /// When, to the second, as that device's clock told it.
    pub at: Timestamp,
    /// The hash of the change that wrote it.
    pub change: ChangeHash,
}

impl FieldDocument {
    /// Returns every value ever written to an observation, in causal order.
    pub fn history(&mut self, key: &str) -> Result<Vec<HistoryEntry>, DocumentError> {
        let homes: Vec<_> = self
            .observation(key)?
            .iter()
            .filter_map(|map| match map {
                automerge::ObjId::Id(counter, actor, _) => {
                    Some(ObjectId::Id(automerge::legacy::OpId::new(*counter, actor)))
                }
                automerge::ObjId::Root => None,
            })
            .collect();
        let mut out = Vec::new();
        for change in self.doc.get_changes(&[]) {
            let change =
                guarded(|| change.decode()).map_err(|why| DocumentError::Damaged { key: self.key.clone(), why })?;
            let (device, by) = self.who(change.actor_id.to_bytes()).unwrap_or((DeviceId([0; 32]), String::new()));
            let at = Timestamp::from_second(change.time).unwrap_or(Timestamp::UNIX_EPOCH);
            let hash = change.hash.map_or([0; 32], |h| h.0);
            let first = out.len();
            let mut texts: Vec<(String, String)> = Vec::new();
            for op in change.operations.iter().filter(|op| homes.contains(&op.obj)) {
                let (Key::Map(name), OpType::Put(value)) = (&op.key, &op.action) else { continue };
                let value = match value {
                    ScalarValue::Int(n) => Value::Int(*n),
                    ScalarValue::Str(s) => Value::Text(s.to_string()),
                    _ => continue,
                };
                let measure = match (name.as_str(), &value) {
                    (VOID, _) => "void".to_owned(),
                    (name, Value::Text(text)) if name.ends_with(ENTERED) => {
                        texts.push((name[..name.len() - ENTERED.len()].to_owned(), text.clone()));
                        continue;
                    }
                    (name, _) if name.contains(':') => continue,
                    (name, _) => name.to_owned(),
                };
                out.push(HistoryEntry { measure, value, entered: None, by: by.clone(), device, at, change: hash });
            }
            for entry in &mut out[first..] {
                entry.entered = texts.iter().find(|(m, _)| *m == entry.measure).map(|(_, t)| t.clone());
            }
        }
        Ok(out)
    }
}
