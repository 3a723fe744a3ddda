//! Growers, planters and soils that a crew keeps, beside its fields in the crew's own document.
//!
//! An entry lies in the document's map `fields` under `<sort>:<name>`: a field's key is a ULID, which has no colon. Two
//! devices that add one name before they met add the same entry; what is written later goes into both of its maps.

use std::collections::{BTreeMap, HashMap};

use automerge::{
    ObjId, ObjType, ReadDoc, ScalarValue, ScalarValueRef, ValueRef, hydrate::Value as Hydrate,
    transaction::Transactable,
};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{document::FieldDocument, error::DocumentError, projection::plain, record::Value};

const RETIRED: &str = "retired";

/// What sort of thing is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Sort {
    /// Who farms fields.
    Grower,
    /// A planter: `row_units` (count), `row_width_mil` (inches × 1,000).
    Planter,
    /// A soil: `map_unit` (the survey's symbol), `texture` (its class), both text.
    Soil,
}

impl Sort {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Grower, Self::Planter, Self::Soil];

    /// Returns its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Grower => "grower",
            Self::Planter => "planter",
            Self::Soil => "soil",
        }
    }
}

/// One grower, planter or soil.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// What it is.
    pub sort: Sort,
    /// What people call it.
    pub name: String,
    /// What is known of it; what this program does not know is in here too.
    pub facts: BTreeMap<String, Value>,
    /// No longer offered.
    pub retired: bool,
}

impl Kept {
    /// Returns a number that is known of it.
    pub fn int(&self, fact: &str) -> Option<i64> {
        match self.facts.get(fact)? {
            Value::Int(n) => Some(*n),
            Value::Text(_) => None,
        }
    }

    /// Returns a text that is known of it.
    pub fn text(&self, fact: &str) -> Option<&str> {
        match self.facts.get(fact)? {
            Value::Text(text) => Some(text),
            Value::Int(_) => None,
        }
    }

    fn key(&self) -> String {
        format!("{}:{}", self.sort.word(), self.name)
    }
}

impl FieldDocument {
    /// Adds a grower, planter or soil, or writes what is new of it; facts that are not given stay.
    pub fn keep(&mut self, kept: &Kept, at: Timestamp) -> Result<(), DocumentError> {
        let key = kept.key();
        let maps = self.maps_under(&key);
        let facts = kept.facts.iter().map(|(name, value)| {
            let value = match value {
                Value::Int(n) => ScalarValue::Int(*n),
                Value::Text(text) => ScalarValue::Str(text.as_str().into()),
            };
            (name.as_str(), value)
        });
        let entries: Vec<(&str, ScalarValue)> = facts.chain([(RETIRED, ScalarValue::Boolean(kept.retired))]).collect();
        if maps.is_empty() {
            return self.change(at, |d| {
                let map: HashMap<&str, Hydrate> =
                    entries.into_iter().map(|(name, value)| (name, Hydrate::Scalar(value))).collect();
                let value = Hydrate::Map(map.into());
                d.lib(|d| d.doc.batch_create_object(&d.fields, key.as_str(), &value, false)).map(|_| ())
            });
        }
        let mut new = Vec::new();
        for map in &maps {
            for (name, value) in &entries {
                let all = self.doc.get_all(map, *name).unwrap_or_default();
                if all.len() != 1 || all[0].0.as_scalar() != Some(value) {
                    new.push((map, *name, value.clone()));
                }
            }
        }
        if new.is_empty() {
            return Ok(());
        }
        self.change(at, |d| new.into_iter().try_for_each(|(map, name, value)| d.put(map, name, value)))
    }

    /// Returns the growers, planters and soils, by sort and name.
    pub fn roster(&self) -> Vec<Kept> {
        let mut all: Vec<Kept> = self
            .doc
            .keys(&self.fields)
            .filter_map(|key| {
                let (word, name) = key.split_once(':')?;
                let sort = Sort::ALL.into_iter().find(|sort| sort.word() == word)?;
                let mut kept = Kept { sort, name: name.to_owned(), facts: BTreeMap::new(), retired: false };
                for map in self.maps_under(&key) {
                    for item in self.doc.map_range(&map, ..) {
                        if item.key == RETIRED {
                            kept.retired = matches!(item.value, ValueRef::Scalar(ScalarValueRef::Boolean(true)));
                        } else if let Some(value) = plain(&item.value) {
                            kept.facts.insert(item.key.into_owned(), value);
                        }
                    }
                }
                Some(kept)
            })
            .collect();
        all.sort_by(|a, b| (a.sort, &a.name).cmp(&(b.sort, &b.name)));
        all
    }

    /// Returns the maps under a key of `fields`; two devices may each have begun one. The one that wins comes last.
    fn maps_under(&self, key: &str) -> Vec<ObjId> {
        let all = self.doc.get_all(&self.fields, key).unwrap_or_default();
        all.into_iter()
            .filter(|(value, _)| matches!(value, automerge::Value::Object(ObjType::Map)))
            .map(|(_, id)| id)
            .collect()
    }
}
