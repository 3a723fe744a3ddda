//! What a crew has agreed on for how things are read: units and language, kept in the crew's own document.
//!
//! They lie in the document's map `fields` under `crew:settings`: a field's key is a ULID, which has no colon, and an
//! entry without a name is no field to programs that do not know of settings. Two devices that set something before they
//! met have each begun an entry; what is written later goes into both.

use std::collections::{BTreeMap, HashMap};

use automerge::{
    ObjId, ObjType, ReadDoc, ScalarValue, ScalarValueRef, ValueRef, hydrate::Value as Hydrate,
    transaction::Transactable,
};
use jiff::Timestamp;

use crate::{document::FieldDocument, error::DocumentError};

const KEY: &str = "crew:settings";

/// Settings by name: `units` (`us`, `metric`), `language` (ISO 639-1); what this program does not know is in it too.
pub type Settings = BTreeMap<String, String>;

impl FieldDocument {
    /// Returns the crew's settings; of what two devices set at the same time, the value that every device shows.
    pub fn settings(&self) -> Settings {
        let mut settings = Settings::new();
        for map in self.settings_maps() {
            for item in self.doc.map_range(&map, ..) {
                if let ValueRef::Scalar(ScalarValueRef::Str(text)) = item.value {
                    settings.insert(item.key.into_owned(), text.to_string());
                }
            }
        }
        settings
    }

    /// Writes what of the given settings is new; those that are not given stay.
    pub fn set_settings(&mut self, new: &Settings, at: Timestamp) -> Result<(), DocumentError> {
        let maps = self.settings_maps();
        if maps.is_empty() {
            let map: HashMap<&str, Hydrate> =
                new.iter().map(|(name, value)| (name.as_str(), Hydrate::scalar(value.as_str()))).collect();
            let value = Hydrate::Map(map.into());
            return self
                .change(at, |d| d.lib(|d| d.doc.batch_create_object(&d.fields, KEY, &value, false)).map(|_| ()));
        }
        let mut changed = Vec::new();
        for map in &maps {
            for (name, value) in new {
                let all = self.doc.get_all(map, name.as_str()).unwrap_or_default();
                if all.len() != 1 || all[0].0.as_scalar().and_then(|s| s.as_str()) != Some(value) {
                    changed.push((map, name, value));
                }
            }
        }
        if changed.is_empty() {
            return Ok(());
        }
        self.change(at, |d| {
            changed.into_iter().try_for_each(|(map, name, value)| d.put(map, name, ScalarValue::Str(value.into())))
        })
    }

    /// Returns the maps that hold settings, the one that wins last.
    fn settings_maps(&self) -> Vec<ObjId> {
        let all = self.doc.get_all(&self.fields, KEY).unwrap_or_default();
        let maps = all.into_iter().filter(|(value, _)| matches!(value, automerge::Value::Object(ObjType::Map)));
        maps.map(|(_, id)| id).collect()
    }
}
