//! The fields of a crew, kept in the crew's own document.

pub mod boundary;
pub mod merge;
pub mod roster;
pub mod split;
mod winding;

use std::collections::{BTreeMap, HashMap};

use automerge::{ActorId, ObjId, ObjType, ReadDoc, ScalarValue, hydrate::Value as Hydrate, transaction::Transactable};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{document::FieldDocument, error::DocumentError};

/// Under what name is kept that a field is retired.
const RETIRED: &str = "retired";

/// A field as the crew knows it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Field {
    /// A ULID; names the field for good.
    pub id: String,
    /// What people type: letters, digits, dashes; unique within the crew.
    pub name: String,
    /// Who farms it; may be empty.
    pub grower: String,
    /// ISO 3166-2 code of state or province: `US-IA`.
    pub region: String,
    /// IANA time zone: `America/Chicago`.
    pub zone: String,
    /// Area in hectares × 10,000 (square metres).
    pub area_m2: Option<i64>,
    /// Usual row width, inches × 1,000.
    pub row_width_mil: Option<i64>,
    /// Usual crop: `corn`, `soybean`; empty where none.
    pub crop: String,
    /// Longitude of its middle, degrees × 10⁷.
    pub lon_e7: Option<i32>,
    /// Latitude of its middle, degrees × 10⁷.
    pub lat_e7: Option<i32>,
    /// Code of the weather station whose days stand for the field's; empty where none.
    #[serde(default)]
    pub station: String,
    /// No longer farmed by the crew; its records stay.
    pub retired: bool,
    /// Where it lies, as [`boundary::Boundary::to_text`] writes it; empty where that is not known.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub boundary: String,
    /// The name of its soil; empty where that is not known.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub soil: String,
    /// The field that it was part of before that was split; empty where there was none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub split_from: String,
    /// The fields that it was made part of, see [`merge::United`]; written by [`FieldDocument::merge_field`] alone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub merged_into: Vec<String>,
}

/// Entries that a field without them does not have at all.
const OPTIONAL: [&str; 3] = ["boundary", "soil", "split_from"];

impl Field {
    fn entries(&self) -> Vec<(&'static str, ScalarValue)> {
        let int = |n: Option<i64>| n.map_or(ScalarValue::Null, ScalarValue::Int);
        vec![
            ("name", self.name.as_str().into()),
            ("grower", self.grower.as_str().into()),
            ("region", self.region.as_str().into()),
            ("zone", self.zone.as_str().into()),
            ("area_m2", int(self.area_m2)),
            ("row_width_mil", int(self.row_width_mil)),
            ("crop", self.crop.as_str().into()),
            ("lon", int(self.lon_e7.map(i64::from))),
            ("lat", int(self.lat_e7.map(i64::from))),
            ("station", self.station.as_str().into()),
            (RETIRED, ScalarValue::Boolean(self.retired)),
            ("boundary", self.boundary.as_str().into()),
            ("soil", self.soil.as_str().into()),
            ("split_from", self.split_from.as_str().into()),
        ]
    }
}

impl FieldDocument {
    /// Adds a field or writes what changed of it, entry by entry, so that two people may change different entries.
    pub fn put_field(&mut self, field: &Field, at: Timestamp) -> Result<(), DocumentError> {
        let known = match self.doc.get(&self.fields, field.id.as_str()) {
            Ok(Some((automerge::Value::Object(ObjType::Map), id))) => Some(id),
            _ => None,
        };
        let before = known.as_ref().and_then(|id| self.field(&field.id, id));
        if before.as_ref() == Some(field) {
            return Ok(());
        }
        self.change(at, |d| match &known {
            None => {
                let there = |(key, value): &(&str, ScalarValue)| {
                    !(OPTIONAL.contains(key) && value.as_str().is_none_or(str::is_empty))
                };
                let entries = field.entries().into_iter().filter(there);
                let map: HashMap<&str, Hydrate> = entries.map(|(k, v)| (k, Hydrate::Scalar(v))).collect();
                let value = Hydrate::Map(map.into());
                d.lib(|d| d.doc.batch_create_object(&d.fields, field.id.as_str(), &value, false)).map(|_| ())
            }
            Some(id) => {
                let old = before.map(|b| b.entries()).unwrap_or_default();
                for (key, value) in field.entries() {
                    if !old.iter().any(|(k, v)| *k == key && *v == value) {
                        d.lib(|d| d.doc.put(id, key, value))?;
                    }
                }
                Ok(())
            }
        })
    }

    /// Returns since when the fields that are retired are so, by identifier, as the clock of whoever retired them told it; where
    /// two did, since the first.
    pub fn retired_since(&mut self) -> BTreeMap<String, Timestamp> {
        let mut puts: Vec<(String, u64, ActorId)> = Vec::new();
        for item in self.doc.map_range(&self.fields, ..) {
            for (value, put) in self.doc.get_all(item.id(), RETIRED).unwrap_or_default() {
                if let (Some(true), ObjId::Id(counter, actor, _)) = (value.as_bool(), put) {
                    puts.push((item.key.to_string(), counter, actor));
                }
            }
        }
        let mut since: BTreeMap<String, Timestamp> = BTreeMap::new();
        if puts.is_empty() {
            return since;
        }
        for change in self.doc.get_changes_meta(&[]) {
            let Ok(at) = Timestamp::from_second(change.timestamp) else { continue };
            for (id, ..) in puts
                .iter()
                .filter(|(_, put, actor)| *actor == *change.actor && (change.start_op..=change.max_op).contains(put))
            {
                let first = since.entry(id.clone()).or_insert(at);
                *first = at.min(*first);
            }
        }
        since
    }

    /// Returns the fields, by identifier.
    pub fn fields(&self) -> Vec<Field> {
        self.doc.map_range(&self.fields, ..).filter_map(|item| self.field(&item.key, &item.id())).collect()
    }

    fn field(&self, id: &str, map: &ObjId) -> Option<Field> {
        let text = |key: &str| self.text_at(map, key).unwrap_or_default();
        let retired = matches!(
            self.doc.get(map, RETIRED),
            Ok(Some((automerge::Value::Scalar(s), _))) if s.as_bool() == Some(true)
        );
        Some(Field {
            id: id.to_owned(),
            name: self.text_at(map, "name")?,
            grower: text("grower"),
            region: text("region"),
            zone: text("zone"),
            area_m2: self.int_at(map, "area_m2"),
            row_width_mil: self.int_at(map, "row_width_mil"),
            crop: text("crop"),
            lon_e7: self.int_at(map, "lon").and_then(|n| n.try_into().ok()),
            lat_e7: self.int_at(map, "lat").and_then(|n| n.try_into().ok()),
            station: text("station"),
            retired,
            boundary: text("boundary"),
            soil: text("soil"),
            split_from: text("split_from"),
            merged_into: self.merged_into(map),
        })
    }
}
