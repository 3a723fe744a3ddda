//! The tables of an archive: their columns, units and meanings.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use arrow::datatypes::{DataType, Field, Schema, SchemaRef, TimeUnit};
use ligule_observation::kind::{Kind, Measure, ResultType};

use crate::{ArchiveError, geo};

/// The table with one row per unit.
pub const FIELD: &str = "field";
/// The table of what no typed column can hold.
pub const OTHER: &str = "other";
/// The table that names a consistent version of every other.
pub const SNAPSHOT: &str = "snapshot";

/// Names that a kind's table may not have: the archive's own tables, and views that the query engine adds.
const RESERVED: [&str; 4] = [FIELD, OTHER, SNAPSHOT, "long"];

/// A column: its name, type, unit and meaning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// The name.
    pub name: String,
    /// The Arrow type. Every column may hold nulls.
    pub data_type: DataType,
    /// The UCUM code of the unit, for numbers.
    pub unit: Option<String>,
    /// What it means, one sentence.
    pub meaning: String,
}

/// A table: its name and columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// The name, which is also the folder.
    pub name: String,
    /// What a row is, one sentence.
    pub about: String,
    /// The version of the kind it is made from, or of the layout.
    pub version: u32,
    /// The columns in order.
    pub columns: Vec<Column>,
    /// The columns by which rows are sorted within a file; together they tell rows apart.
    pub sorted_by: Vec<&'static str>,
}

impl Table {
    /// Returns the Arrow schema; each field carries `unit` and `meaning`.
    pub fn schema(&self) -> SchemaRef {
        Arc::new(Schema::new(self.columns.iter().map(Column::field).collect::<Vec<_>>()))
    }
}

impl Column {
    fn new(name: &str, data_type: DataType, unit: Option<&str>, meaning: &str) -> Self {
        Self { name: name.to_owned(), data_type, unit: unit.map(str::to_owned), meaning: meaning.to_owned() }
    }

    fn field(&self) -> Field {
        let mut metadata = HashMap::from([("meaning".to_owned(), self.meaning.clone())]);
        metadata.extend(self.unit.clone().map(|unit| ("unit".to_owned(), unit)));
        Field::new(&self.name, self.data_type.clone(), true).with_metadata(metadata)
    }
}

/// The type of instants: microseconds, UTC.
pub(crate) fn instant() -> DataType {
    DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into()))
}

/// Returns the columns that name a row's document and field: first in every table but `snapshot`.
fn place_columns() -> Vec<Column> {
    vec![
        Column::new("season", DataType::Int32, None, "The year of harvest."),
        Column::new("document", DataType::Utf8, None, "The document that the row is kept in, in hex."),
        Column::new("field", DataType::Utf8, None, "The field's ULID, or a weather station's code."),
    ]
}

fn fact_columns() -> Vec<Column> {
    vec![
        Column::new("field_name", DataType::Utf8, None, "The name people call the field by."),
        Column::new("grower", DataType::Utf8, None, "Who farms the field."),
        Column::new("region", DataType::Utf8, None, "The region by which advice and reports are grouped."),
        Column::new("crop", DataType::Utf8, None, "The crop of the field in that season; null where none is known."),
    ]
}

/// Returns the columns that every observation has.
fn common_columns() -> Vec<Column> {
    let mut columns = place_columns();
    columns.extend(fact_columns());
    columns.extend([
        Column::new("time", instant(), None, "When it was observed, as the device's clock told it, UTC."),
        Column::new("day", DataType::Date32, None, "The day in the field's own time zone."),
        Column::new("visit", DataType::Utf8, None, "The visit on which it was observed, a ULID."),
        Column::new("observation", DataType::Utf8, None, "The observation's key: visit, dash, number within the visit."),
        Column::new("by", DataType::Utf8, None, "The person who observed."),
        Column::new("device", DataType::Utf8, None, "The device that recorded it, its public key in hex."),
        Column::new("lon", DataType::Float64, Some("deg"), "Longitude of the sample, degrees east, WGS 84."),
        Column::new("lat", DataType::Float64, Some("deg"), "Latitude of the sample, degrees north, WGS 84."),
        Column::new("void", DataType::Boolean, None, "Whether the observation was voided."),
        Column::new("void_why", DataType::Utf8, None, "The reason given for voiding it."),
        Column::new(
            "conflicts",
            DataType::Utf8,
            None,
            "Measures that wait for a person, whose concurrent values differ or that do not go together, separated by blanks; null where there are none.",
        ),
    ]);
    columns
}

/// Returns the table of a kind: common columns, then one per measure except lists, which have tables of their own.
pub fn kind_table(kind: &Kind) -> Table {
    let mut columns = common_columns();
    columns.extend(kind.measures.iter().filter(|m| m.result != ResultType::List).map(|measure| Column {
        name: column_name(kind, measure),
        data_type: measure_type(measure),
        unit: measure.unit.clone(),
        meaning: meaning(measure),
    }));
    Table {
        name: kind.table(),
        about: english(&kind.about).unwrap_or_else(|| format!("Observations of kind `{}`.", kind.kind)),
        version: kind.version,
        columns,
        sorted_by: vec!["field", "time", "observation", "document"],
    }
}

/// Returns the column of a measure: its own name with the unit's suffix, or, where every observation has a column of
/// that name already (`day`, `crop`), that name behind the table's: `planting_day`.
pub fn column_name(kind: &Kind, measure: &Measure) -> String {
    let name = measure.column();
    if common_columns().iter().any(|column| column.name == name) { format!("{}_{name}", kind.table()) } else { name }
}

/// Returns the table of a list measure: one row per number of the list.
pub fn list_table(kind: &Kind, measure: &Measure) -> Table {
    let mut columns = place_columns();
    columns.extend([
        Column::new("time", instant(), None, "When it was observed, as the device's clock told it, UTC."),
        Column::new("observation", DataType::Utf8, None, "The observation's key, as in the kind's own table."),
        Column::new("void", DataType::Boolean, None, "Whether the observation was voided."),
        Column::new("position", DataType::Int32, None, "Place in the list, from 1."),
        Column {
            name: "value".to_owned(),
            data_type: DataType::Float64,
            unit: measure.unit.clone(),
            meaning: meaning(measure),
        },
    ]);
    Table {
        name: list_table_name(kind, measure),
        about: format!("The numbers of `{}` in observations of kind `{}`, one row each.", measure.name, kind.kind),
        version: kind.version,
        columns,
        sorted_by: vec!["field", "time", "observation", "position", "document"],
    }
}

/// Returns the name of a list measure's table: the kind's, two underscores, the measure's.
pub fn list_table_name(kind: &Kind, measure: &Measure) -> String {
    format!("{}__{}", kind.table(), measure.name)
}

/// Returns the list measures of a kind.
pub fn lists(kind: &Kind) -> impl Iterator<Item = &Measure> {
    kind.measures.iter().filter(|m| m.result == ResultType::List)
}

/// Returns the table of what no typed column can hold: kinds and measures that the compacting program did not know.
pub fn other_table() -> Table {
    let mut columns = common_columns();
    columns.extend([
        Column::new("kind", DataType::Utf8, None, "The kind of observation."),
        Column::new("measure", DataType::Utf8, None, "The measure; null for an observation without any."),
        Column::new(
            "value",
            DataType::Utf8,
            None,
            "What is kept: a text, or the integer at the scale that the kind declares.",
        ),
    ]);
    Table {
        name: OTHER.to_owned(),
        about: "Values that have no column: of kinds or measures that the compacting program did not know, or of another type than declared.".to_owned(),
        version: crate::LAYOUT_VERSION,
        columns,
        sorted_by: vec!["field", "time", "observation", "measure", "document"],
    }
}

/// Returns the table of units.
pub fn field_table() -> Table {
    let mut columns = place_columns();
    columns.push(Column::new("feature", DataType::Utf8, None, "What it is: `field` or `station`."));
    columns.extend(fact_columns());
    columns.extend([
        Column::new("heads", DataType::Utf8, None, "The heads of the document when it was archived."),
        Column::new(
            "kinds",
            DataType::Utf8,
            None,
            "Kinds that occur in it, with the versions that the compacting program knew; 0 is unknown.",
        ),
        Column::new("observations", DataType::Int64, None, "Number of observations, voided ones included."),
        Column::new("zone", DataType::Utf8, None, "The field's IANA time zone."),
        Column::new("area_ha", DataType::Float64, Some("har"), "The field's area."),
        Column::new("row_width_in", DataType::Float64, Some("[in_i]"), "The field's usual row width."),
        Column::new("station", DataType::Utf8, None, "Code of the weather station whose days stand for the field's."),
        Column::new("soil", DataType::Utf8, None, "The name of the field's soil."),
        Column::new("soil_map_unit", DataType::Utf8, None, "That soil's symbol in the soil survey."),
        Column::new("soil_texture", DataType::Utf8, None, "That soil's texture class."),
        Column::new("retired", DataType::Boolean, None, "Whether the crew no longer farms the field."),
        Column::new("split_from", DataType::Utf8, None, "The ULID of the field that it was part of before that was split."),
        Column::new("lon", DataType::Float64, Some("deg"), "Longitude of the field's middle, degrees east, WGS 84."),
        Column::new("lat", DataType::Float64, Some("deg"), "Latitude of the field's middle, degrees north, WGS 84."),
        Column::new(
            geo::COLUMN,
            DataType::Binary,
            None,
            "Where the field lies: a polygon or multipolygon of longitude and latitude on WGS 84, as well-known binary; the files are GeoParquet 1.1.",
        ),
    ]);
    Table {
        name: FIELD.to_owned(),
        about: "Fields and weather stations by season: one row per archived document.".to_owned(),
        version: crate::LAYOUT_VERSION,
        columns,
        sorted_by: vec!["field", "document"],
    }
}

/// Returns the table that names a consistent version of every other. It is not partitioned and holds one file.
pub fn snapshot_table() -> Table {
    Table {
        name: SNAPSHOT.to_owned(),
        about: "The versions of all tables that belong together, one row per table.".to_owned(),
        version: crate::LAYOUT_VERSION,
        columns: vec![
            Column::new("table_name", DataType::Utf8, None, "The table."),
            Column::new("version", DataType::Int64, None, "Its version in its Delta log."),
            Column::new("files", DataType::Int64, None, "Number of its live files."),
            Column::new("rows", DataType::Int64, None, "Number of rows in them."),
            Column::new("made_at", instant(), None, "When the compaction was made."),
            Column::new("program", DataType::Utf8, None, "The program that made it, with its version."),
        ],
        sorted_by: vec!["table_name"],
    }
}

/// Returns every table that observations of these kinds are kept in, in the order in which they are committed.
///
/// # Errors
/// A name that is taken twice.
pub fn tables(kinds: &[Kind]) -> Result<Vec<Table>, ArchiveError> {
    let mut all = Vec::new();
    let mut taken: BTreeMap<String, String> =
        RESERVED.iter().map(|name| ((*name).to_owned(), "the archive itself".to_owned())).collect();
    for kind in kinds {
        let mut own = vec![kind_table(kind)];
        own.extend(lists(kind).map(|measure| list_table(kind, measure)));
        for table in own {
            if let Some(by) = taken.insert(table.name.clone(), format!("kind `{}`", kind.kind)) {
                return Err(ArchiveError::NameTaken { kind: kind.kind.clone(), what: "table", name: table.name, by });
            }
            let mut columns = std::collections::BTreeSet::new();
            if let Some(twice) = table.columns.iter().find(|c| !columns.insert(c.name.as_str())) {
                return Err(ArchiveError::NameTaken {
                    kind: kind.kind.clone(),
                    what: "column",
                    name: twice.name.clone(),
                    by: format!("another column of table `{}`", table.name),
                });
            }
            all.push(table);
        }
    }
    all.push(other_table());
    all.push(field_table());
    Ok(all)
}

/// Returns the Arrow type of a measure's column.
pub(crate) fn measure_type(measure: &Measure) -> DataType {
    match measure.result {
        ResultType::Quantity if measure.scale > 0 => DataType::Float64,
        ResultType::Quantity | ResultType::Count => DataType::Int64,
        ResultType::Day => DataType::Date32,
        ResultType::Choice | ResultType::Stage | ResultType::List | ResultType::Text => DataType::Utf8,
    }
}

fn meaning(measure: &Measure) -> String {
    english(&measure.about).or_else(|| english(&measure.label)).unwrap_or_else(|| measure.name.clone())
}

fn english(labels: &ligule_observation::kind::Labels) -> Option<String> {
    labels.get("en").filter(|text| !text.is_empty()).cloned()
}
