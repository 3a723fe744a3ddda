//! What is handed to the archive.

use std::sync::Arc;

use ligule_observation::ids::{DocId, Feature};
use ligule_observation::record::{Place, Record};

/// What the crew knows about a field besides its observations; an empty text where nothing is known.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FieldFacts {
    /// The name people call it by.
    pub name: String,
    /// Who farms it.
    pub grower: String,
    /// The region by which advice and reports are grouped.
    pub region: String,
    /// Its IANA time zone.
    pub zone: String,
    /// Its area, square metres.
    pub area_m2: Option<i64>,
    /// Its usual row width, inches × 1,000.
    pub row_width_mil: Option<i64>,
    /// The code of the weather station whose days stand for the field's.
    pub station: String,
    /// The name of its soil.
    pub soil: String,
    /// That soil's symbol in the soil survey.
    pub soil_map_unit: String,
    /// That soil's texture class.
    pub soil_texture: String,
    /// Whether the crew no longer farms it.
    pub retired: bool,
    /// The field that it was part of before that was split.
    pub split_from: String,
    /// Its middle.
    pub middle: Option<Place>,
    /// Where it lies, see [`crate::well_known_binary`]; empty where that is not known.
    pub boundary: Vec<u8>,
}

/// One document as it is archived: a field or a weather station in one season.
#[derive(Debug, Clone, PartialEq)]
pub struct FarmUnit {
    /// The document.
    pub doc: DocId,
    /// What it is about.
    pub feature: Feature,
    /// Year of harvest.
    pub season: i32,
    /// The crop, empty where none is known.
    pub crop: String,
    /// The document's heads, in any one spelling that is the same on every device.
    pub heads: String,
    /// The archived heads that this document is known to contain (see [`crate::Archive::units`]). When the archive
    /// holds others at the moment of the commit, the unit is left out and reported as stale. `None` replaces
    /// whatever is there: for whoever has made sure that nobody else writes this document.
    pub replaces: Option<String>,
    /// What is known about the field.
    pub field: Arc<FieldFacts>,
    /// Its observations, voided ones included.
    pub records: Vec<Record>,
}

impl FarmUnit {
    /// Returns its observations as rows.
    pub fn rows(&self) -> Vec<Row<'_>> {
        self.records.iter().map(|record| Row { document: self.doc, field: &self.field, record }).collect()
    }
}

/// One observation with what is known about its field.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    /// The document it is kept in.
    pub document: DocId,
    /// What is known about the field.
    pub field: &'a FieldFacts,
    /// The observation.
    pub record: &'a Record,
}

/// Returns the identifier that the column `field` holds.
pub(crate) fn feature_id(feature: &Feature) -> &str {
    match feature {
        Feature::Field(id) | Feature::Station(id) => id,
        Feature::Crew => "crew",
    }
}

/// Returns what kind of feature it is, as the table `field` tells it.
pub(crate) fn feature_type(feature: &Feature) -> &'static str {
    match feature {
        Feature::Field(_) => "field",
        Feature::Station(_) => "station",
        Feature::Crew => "crew",
    }
}
