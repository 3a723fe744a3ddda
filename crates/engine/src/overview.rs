//! Every field at a glance: last visit, growth stage as last seen, and what keeps people out. No document is loaded.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

use crate::Engine;
use crate::assess;
use crate::error::Result;

/// The kind that tells the growth stage.
const STAGE: &str = "leaf-stage";

/// What is last known of a field.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Glance {
    /// The field's day of the last observation of any kind.
    pub last_visit: Option<Date>,
    /// The growth stage by the last visit that recorded one.
    pub stage: Option<String>,
    /// What keeps people out now, or may, in a few words.
    pub reentry: Option<String>,
}

impl Engine {
    /// Returns what is last known of every field that has records, by the fields' identifiers.
    pub fn glances(&self) -> Result<BTreeMap<String, Glance>> {
        let mut all: BTreeMap<String, Glance> = BTreeMap::new();
        for (field, seen) in self.journal.last_seen(STAGE)? {
            let stage = seen.of_kind.first().and_then(|first| {
                let assessed = assess::assess(&seen.of_kind, &self.kinds, &first.crop, None, Date::MAX);
                assessed.stage.map(|stage| stage.field_stage)
            });
            let last_visit = seen.visit.map(|last| last.day);
            all.insert(field, Glance { last_visit, stage, reentry: None });
        }
        for (field, reentry) in self.reentries()? {
            all.entry(field).or_default().reentry = Some(reentry.brief(&self.reading));
        }
        Ok(all)
    }
}
