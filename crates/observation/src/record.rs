//! One observation as everything above this crate sees it.

use std::collections::BTreeMap;

use jiff::{Timestamp, civil::Date};
use serde::{Deserialize, Serialize};

use crate::ids::{DeviceId, Feature, ObservationKey};

/// One observation with the values that hold now (of concurrent candidates, the one every device agrees to show).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Its key.
    pub key: ObservationKey,
    /// The visit it was made on (a ULID).
    pub visit: String,
    /// The kind's name; may be one that this device does not know.
    pub kind: String,
    /// The feature the document is about.
    pub feature: Feature,
    /// Year of harvest.
    pub season: i32,
    /// The crop of the field in that season: `corn`, `soybean`; empty where it is not known or there is none.
    pub crop: String,
    /// Phenomenon time, as the device's clock told it.
    pub at: Timestamp,
    /// The device's offset from UTC at that time, minutes east.
    pub offset_minutes: i16,
    /// The day in the feature's own time zone.
    pub day: Date,
    /// The person who observed.
    pub by: String,
    /// The device that recorded it.
    pub device: DeviceId,
    /// Place of the sample, degrees east and north (WGS 84), where one was given.
    pub place: Option<Place>,
    /// Values by measure name; measures this device does not know are in here too.
    pub values: BTreeMap<String, Measured>,
    /// Set when the observation was voided.
    pub void: Option<Void>,
    /// Measures whose concurrent values differ, or that were corrected elsewhere while the observation was moved here, and
    /// wait for a person; see also [`MOVED_TO`].
    pub conflicts: Vec<String>,
}

/// A place on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Longitude, degrees × 10⁷.
    pub lon_e7: i32,
    /// Latitude, degrees × 10⁷.
    pub lat_e7: i32,
}

/// A value and the text it was entered as.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Measured {
    /// What is kept.
    pub value: Value,
    /// The text as entered, where it says more than the value does.
    pub entered: Option<String>,
}

/// What is kept of one result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Value {
    /// A number × 10^scale in the measure's unit.
    Int(i64),
    /// A code, stage, day, list or text.
    Text(String),
}

/// Stands among [`Record::conflicts`], beside all measures, where devices moved a visit to different fields, so that nobody knows
/// yet of which field the observation is.
pub const MOVED_TO: &str = "moved-to";

/// Why, when and by whom an observation was voided.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Void {
    /// The reason given.
    pub why: String,
    /// The person.
    pub by: String,
    /// When, as that device's clock told it.
    pub at: Timestamp,
    /// The other reasons, where several people voided it who did not know of each other; these have none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<Void>,
}

impl Void {
    /// Returns every reason, each once.
    pub fn reasons(&self) -> impl Iterator<Item = &Self> {
        std::iter::once(self).chain(&self.also)
    }
}

impl Record {
    /// Returns the integer kept for a measure, if it has one.
    pub fn int(&self, measure: &str) -> Option<i64> {
        match self.values.get(measure)?.value {
            Value::Int(n) => Some(n),
            Value::Text(_) => None,
        }
    }

    /// Returns the text kept for a measure, if it has one.
    pub fn text(&self, measure: &str) -> Option<&str> {
        match &self.values.get(measure)?.value {
            Value::Text(t) => Some(t),
            Value::Int(_) => None,
        }
    }

    /// Returns a number in the measure's unit, given the scale that its kind declares.
    pub fn number(&self, measure: &crate::kind::Measure) -> Option<f64> {
        Some(self.int(&measure.name)? as f64 / 10f64.powi(measure.scale.into()))
    }
}
