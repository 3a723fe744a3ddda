//! Everything that ever happened to one observation.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use automerge::{
    Change, ScalarValue,
    legacy::{Key, ObjectId, OpType},
};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{
    document::{ENTERED, FieldDocument, VOID},
    error::DocumentError,
    guard::guarded,
    ids::{DeviceId, ObservationKey},
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
    /// Returns every value ever written to an observation, in causal order; what is concurrent, by the time that its device
    /// claims and then by hash, so that every device tells it alike.
    pub fn history(&mut self, key: &str) -> Result<Vec<HistoryEntry>, DocumentError> {
        let homes = self.homes(key)?.into_iter().map(|home| (home, key)).collect();
        Ok(self.written(&homes)?.remove(key).unwrap_or_default())
    }

    /// Returns what [`Self::history`] tells, for every observation at once.
    pub fn histories(&mut self) -> Result<BTreeMap<ObservationKey, Vec<HistoryEntry>>, DocumentError> {
        let keys: Vec<_> = self.records(None).into_iter().map(|r| r.key).collect();
        let mut homes = HashMap::new();
        for key in &keys {
            homes.extend(self.homes(key)?.into_iter().map(|home| (home, key.as_str())));
        }
        self.written(&homes)
    }

    /// Returns the maps that an observation lies in; two devices may each have begun one.
    fn homes(&self, key: &str) -> Result<Vec<ObjectId>, DocumentError> {
        let id = |map: &automerge::ObjId| match map {
            automerge::ObjId::Id(counter, actor, _) => {
                Some(ObjectId::Id(automerge::legacy::OpId::new(*counter, actor)))
            }
            automerge::ObjId::Root => None,
        };
        Ok(self.observation(key)?.iter().filter_map(id).collect())
    }

    /// Reads every change once, for what it wrote into the given maps of observations.
    fn written(
        &mut self,
        homes: &HashMap<ObjectId, &str>,
    ) -> Result<BTreeMap<ObservationKey, Vec<HistoryEntry>>, DocumentError> {
        let mut out: BTreeMap<ObservationKey, Vec<HistoryEntry>> = BTreeMap::new();
        for change in in_order(self.doc.get_changes(&[])) {
            let change =
                guarded(|| change.decode()).map_err(|why| DocumentError::Damaged { key: self.key.clone(), why })?;
            let (device, by) = self.who(change.actor_id.to_bytes()).unwrap_or((DeviceId([0; 32]), String::new()));
            let at = Timestamp::from_second(change.time).unwrap_or(Timestamp::UNIX_EPOCH);
            let hash = change.hash.map_or([0; 32], |h| h.0);
            let mut here: BTreeMap<&str, Vec<HistoryEntry>> = BTreeMap::new();
            let mut texts: HashMap<(&str, String), String> = HashMap::new();
            for op in &change.operations {
                let Some(&key) = homes.get(&op.obj) else { continue };
                let (Key::Map(name), OpType::Put(value)) = (&op.key, &op.action) else { continue };
                let value = match value {
                    ScalarValue::Int(n) => Value::Int(*n),
                    ScalarValue::Str(s) => Value::Text(s.to_string()),
                    _ => continue,
                };
                let measure = match (name.as_str(), &value) {
                    (VOID, _) => "void".to_owned(),
                    (name, Value::Text(text)) if name.ends_with(ENTERED) => {
                        texts.entry((key, name[..name.len() - ENTERED.len()].to_owned())).or_insert(text.clone());
                        continue;
                    }
                    (name, _) if name.contains(':') => continue,
                    (name, _) => name.to_owned(),
                };
                let entry = HistoryEntry { measure, value, entered: None, by: by.clone(), device, at, change: hash };
                here.entry(key).or_default().push(entry);
            }
            for (key, mut entries) in here {
                for entry in &mut entries {
                    entry.entered = texts.get(&(key, entry.measure.clone())).cloned();
                }
                out.entry(key.to_owned()).or_default().extend(entries);
            }
        }
        Ok(out)
    }
}

/// Puts changes in an order that depends on them alone: each after those that it was made on, of several that may come next
/// the one of the earliest claimed time, then of the lowest hash.
fn in_order(changes: Vec<Change>) -> Vec<Change> {
    let places: HashMap<_, usize> = changes.iter().enumerate().map(|(at, change)| (change.hash(), at)).collect();
    let mut after: Vec<Vec<usize>> = vec![Vec::new(); changes.len()];
    let mut waits_for = vec![0_usize; changes.len()];
    for (at, change) in changes.iter().enumerate() {
        for before in change.deps().iter().filter_map(|hash| places.get(hash)) {
            after[*before].push(at);
            waits_for[at] += 1;
        }
    }
    let rank = |at: usize| (changes[at].timestamp(), changes[at].hash().0, at);
    let mut ready: BTreeSet<_> = (0..changes.len()).filter(|at| waits_for[*at] == 0).map(rank).collect();
    let mut order = Vec::with_capacity(changes.len());
    while let Some((_, _, at)) = ready.pop_first() {
        order.push(at);
        for next in &after[at] {
            waits_for[*next] -= 1;
            if waits_for[*next] == 0 {
                ready.insert(rank(*next));
            }
        }
    }
    let mut changes: Vec<Option<Change>> = changes.into_iter().map(Some).collect();
    order.into_iter().filter_map(|at| changes[at].take()).collect()
}
