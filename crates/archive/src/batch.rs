//! Observations laid out as columns.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, BinaryArray, BooleanArray, Date32Array, Float64Array, Int32Array, Int64Array, RecordBatch, StringArray,
    TimestampMicrosecondArray,
};
use arrow::compute::{SortColumn, lexsort_to_indices, take_record_batch};
use arrow::datatypes::DataType;
use jiff::civil::{Date, date};
use ligule_observation::kind::{Kind, Measure, ResultType};
use ligule_observation::record::{Measured, Record, Value};

use crate::table::{self, Table, measure_type};
use crate::unit::{feature_id, feature_type};
use crate::{ArchiveError, FarmUnit, FieldFacts, Row};

/// Returns the rows of one kind as its table holds them, sorted by field, time and observation. Rows of other kinds
/// are passed over; values that the kind has no column for are left to the table `other` (see [`batches_of`]).
///
/// # Errors
/// None that bad rows can cause: a value of the wrong type becomes null.
pub fn batch_for(kind: &Kind, rows: &[Row<'_>]) -> Result<RecordBatch, ArchiveError> {
    let table = table::kind_table(kind);
    let rows: Vec<Row<'_>> = rows.iter().filter(|row| row.record.kind == kind.kind).copied().collect();
    let mut columns = common(&rows, std::slice::from_ref(kind));
    columns.extend(kind.measures.iter().filter(|m| m.result != ResultType::List).map(|m| measure_column(m, &rows)));
    sorted(&table, columns)
}

/// Returns every row of every table that these units give, by table: the kinds' own, those of list measures,
/// `other`, `field`. Tables without rows are there too, empty.
///
/// # Errors
/// A name that two kinds claim.
pub fn batches_of(kinds: &[Kind], units: &[&FarmUnit]) -> Result<BTreeMap<String, RecordBatch>, ArchiveError> {
    table::tables(kinds)?;
    let rows: Vec<Row<'_>> = units.iter().flat_map(|unit| unit.rows()).collect();
    let mut by_kind: BTreeMap<&str, Vec<Row<'_>>> = BTreeMap::new();
    for row in rows {
        by_kind.entry(&row.record.kind).or_default().push(row);
    }
    let mut batches = BTreeMap::new();
    let mut leftovers = Vec::new();
    for kind in kinds {
        let rows = by_kind.remove(kind.kind.as_str()).unwrap_or_default();
        batches.insert(kind.table(), batch_for(kind, &rows)?);
        for measure in table::lists(kind) {
            let table = table::list_table(kind, measure);
            batches.insert(table.name.clone(), list_batch(&table, measure, &rows)?);
        }
        leftovers.extend(rows.into_iter().flat_map(|row| left_over(Some(kind), row)));
    }
    leftovers.extend(by_kind.into_values().flatten().flat_map(|row| left_over(None, row)));
    batches.insert(table::OTHER.to_owned(), other_batch(&leftovers, kinds)?);
    batches.insert(table::FIELD.to_owned(), field_batch(kinds, units)?);
    Ok(batches)
}

/// Sorts the columns by what the table is sorted by.
fn sorted(table: &Table, columns: Vec<ArrayRef>) -> Result<RecordBatch, ArchiveError> {
    let batch = RecordBatch::try_new(table.schema(), columns).map_err(ArchiveError::arrow(&table.name))?;
    sort(table, &batch)
}

/// Sorts a batch by what the table is sorted by.
pub(crate) fn sort(table: &Table, batch: &RecordBatch) -> Result<RecordBatch, ArchiveError> {
    let by: Vec<SortColumn> = table
        .sorted_by
        .iter()
        .filter_map(|name| batch.column_by_name(name))
        .map(|values| SortColumn { values: Arc::clone(values), options: None })
        .collect();
    let error = ArchiveError::arrow(&table.name);
    let order = lexsort_to_indices(&by, None).map_err(&error)?;
    take_record_batch(batch, &order).map_err(&error)
}

/// Null instead of an empty text.
fn known(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

fn texts<'a>(values: impl Iterator<Item = Option<&'a str>>) -> ArrayRef {
    Arc::new(values.collect::<StringArray>())
}

fn days_since_1970(day: Date) -> Option<i32> {
    date(1970, 1, 1).until(day).ok().map(|span| span.get_days())
}

fn times(rows: &[Row<'_>]) -> ArrayRef {
    let micros = rows.iter().map(|row| row.record.at.as_microsecond());
    Arc::new(TimestampMicrosecondArray::from_iter_values(micros).with_timezone("UTC"))
}

fn place(rows: &[Row<'_>]) -> Vec<ArrayRef> {
    let documents: Vec<String> = rows.iter().map(|row| row.document.to_string()).collect();
    vec![
        Arc::new(Int32Array::from_iter_values(rows.iter().map(|row| row.record.season))),
        texts(documents.iter().map(|text| Some(text.as_str()))),
        texts(rows.iter().map(|row| Some(feature_id(&row.record.feature)))),
    ]
}

fn common(rows: &[Row<'_>], kinds: &[Kind]) -> Vec<ArrayRef> {
    let devices: Vec<String> = rows.iter().map(|row| row.record.device.to_string()).collect();
    let kinds: BTreeMap<&str, &Kind> = kinds.iter().map(|kind| (kind.kind.as_str(), kind)).collect();
    let waiting = |record: &Record| {
        kinds.get(record.kind.as_str()).map_or_else(|| record.conflicts.clone(), |kind| kind.waiting(record))
    };
    let conflicts: Vec<String> = rows.iter().map(|row| waiting(row.record).join(" ")).collect();
    let degrees = |pick: fn(&ligule_observation::record::Place) -> i32| -> ArrayRef {
        let values = rows.iter().map(|row| row.record.place.as_ref().map(|place| f64::from(pick(place)) / 1e7));
        Arc::new(values.collect::<Float64Array>())
    };
    let mut columns = place(rows);
    columns.extend([
        texts(rows.iter().map(|row| known(&row.field.name))),
        texts(rows.iter().map(|row| known(&row.field.grower))),
        texts(rows.iter().map(|row| known(&row.field.region))),
        texts(rows.iter().map(|row| known(&row.record.crop))),
        times(rows),
        Arc::new(rows.iter().map(|row| days_since_1970(row.record.day)).collect::<Date32Array>()) as ArrayRef,
        texts(rows.iter().map(|row| known(&row.record.visit))),
        texts(rows.iter().map(|row| Some(row.record.key.as_str()))),
        texts(rows.iter().map(|row| known(&row.record.by))),
        texts(devices.iter().map(|text| Some(text.as_str()))),
        degrees(|place| place.lon_e7),
        degrees(|place| place.lat_e7),
        Arc::new(rows.iter().map(|row| Some(row.record.void.is_some())).collect::<BooleanArray>()) as ArrayRef,
        texts(rows.iter().map(|row| row.record.void.as_ref().map(|void| void.why.as_str()))),
        texts(conflicts.iter().map(|text| known(text))),
    ]);
    columns
}

/// What one value becomes in a typed column.
enum Cell<'a> {
    Float(f64),
    Int(i64),
    Day(i32),
    Text(&'a str),
}

/// Returns the cell for a value, or nothing where the value is not of the measure's type.
fn cell<'a>(measure: &Measure, value: &'a Value) -> Option<Cell<'a>> {
    match (measure_type(measure), value) {
        (DataType::Float64, Value::Int(n)) => Some(Cell::Float(*n as f64 / 10f64.powi(measure.scale.into()))),
        (DataType::Int64, Value::Int(n)) => Some(Cell::Int(*n)),
        (DataType::Date32, Value::Text(text)) => text.parse().ok().and_then(days_since_1970).map(Cell::Day),
        (DataType::Utf8, Value::Text(text)) => Some(Cell::Text(text)),
        _ => None,
    }
}

fn measure_column(measure: &Measure, rows: &[Row<'_>]) -> ArrayRef {
    let cells = rows.iter().map(|row| row.record.values.get(&measure.name).and_then(|m| cell(measure, &m.value)));
    match measure_type(measure) {
        DataType::Float64 => {
            Arc::new(cells.map(|c| if let Some(Cell::Float(x)) = c { Some(x) } else { None }).collect::<Float64Array>())
        }
        DataType::Int64 => {
            Arc::new(cells.map(|c| if let Some(Cell::Int(n)) = c { Some(n) } else { None }).collect::<Int64Array>())
        }
        DataType::Date32 => {
            Arc::new(cells.map(|c| if let Some(Cell::Day(d)) = c { Some(d) } else { None }).collect::<Date32Array>())
        }
        _ => texts(cells.map(|c| if let Some(Cell::Text(text)) = c { Some(text) } else { None })),
    }
}

/// Returns the numbers of a list, or nothing where it is not a list of numbers.
fn numbers(value: &Value) -> Option<Vec<f64>> {
    match value {
        Value::Text(text) => {
            text.split_whitespace().map(|word| word.parse::<f64>().ok().filter(|x| x.is_finite())).collect()
        }
        Value::Int(_) => None,
    }
}

fn list_batch(table: &Table, measure: &Measure, rows: &[Row<'_>]) -> Result<RecordBatch, ArchiveError> {
    let mut long: Vec<Row<'_>> = Vec::new();
    let (mut positions, mut values) = (Vec::new(), Vec::new());
    for row in rows {
        let list = row.record.values.get(&measure.name).and_then(|m| numbers(&m.value)).unwrap_or_default();
        for (position, value) in (1..).zip(list) {
            long.push(*row);
            positions.push(position);
            values.push(value);
        }
    }
    let mut columns = place(&long);
    columns.extend([
        times(&long),
        texts(long.iter().map(|row| Some(row.record.key.as_str()))),
        Arc::new(long.iter().map(|row| Some(row.record.void.is_some())).collect::<BooleanArray>()) as ArrayRef,
        Arc::new(Int32Array::from(positions)) as ArrayRef,
        Arc::new(Float64Array::from(values)) as ArrayRef,
    ]);
    sorted(table, columns)
}

/// One row of the table `other`.
struct Leftover<'a> {
    row: Row<'a>,
    measure: Option<&'a str>,
    value: Option<String>,
}

/// Returns what of an observation no typed column holds. Of an unknown kind that is everything, and the observation
/// itself even if it has no values.
fn left_over<'a>(kind: Option<&Kind>, row: Row<'a>) -> Vec<Leftover<'a>> {
    let held = |name: &str, measured: &Measured| {
        kind.and_then(|kind| kind.measures.iter().find(|m| m.name == name)).is_some_and(|measure| {
            match measure.result {
                ResultType::List => numbers(&measured.value).is_some(),
                _ => cell(measure, &measured.value).is_some(),
            }
        })
    };
    let mut rows: Vec<Leftover<'a>> = row
        .record
        .values
        .iter()
        .filter(|(name, measured)| !held(name, measured))
        .map(|(name, measured)| Leftover { row, measure: Some(name), value: Some(as_kept(&measured.value)) })
        .collect();
    if kind.is_none() && rows.is_empty() {
        rows.push(Leftover { row, measure: None, value: None });
    }
    rows
}

fn as_kept(value: &Value) -> String {
    match value {
        Value::Int(n) => n.to_string(),
        Value::Text(text) => text.clone(),
    }
}

fn other_batch(leftovers: &[Leftover<'_>], kinds: &[Kind]) -> Result<RecordBatch, ArchiveError> {
    let rows: Vec<Row<'_>> = leftovers.iter().map(|left| left.row).collect();
    let mut columns = common(&rows, kinds);
    columns.extend([
        texts(leftovers.iter().map(|left| Some(left.row.record.kind.as_str()))),
        texts(leftovers.iter().map(|left| left.measure)),
        texts(leftovers.iter().map(|left| left.value.as_deref())),
    ]);
    sorted(&table::other_table(), columns)
}

/// Returns the kinds that occur in a unit with the versions known here, in the spelling of the column `kinds`.
pub(crate) fn kinds_in(kinds: &[Kind], unit: &FarmUnit) -> String {
    let names: std::collections::BTreeSet<&str> = unit.records.iter().map(|record| record.kind.as_str()).collect();
    let version = |name: &str| kinds.iter().find(|kind| kind.kind == name).map_or(0, |kind| kind.version);
    names.iter().map(|name| format!("{name}={}", version(name))).collect::<Vec<_>>().join(" ")
}

fn field_batch(kinds: &[Kind], units: &[&FarmUnit]) -> Result<RecordBatch, ArchiveError> {
    let documents: Vec<String> = units.iter().map(|unit| unit.doc.to_string()).collect();
    let occurring: Vec<String> = units.iter().map(|unit| kinds_in(kinds, unit)).collect();
    let numbers = |pick: &dyn Fn(&FieldFacts) -> Option<f64>| -> ArrayRef {
        Arc::new(units.iter().map(|unit| pick(&unit.field)).collect::<Float64Array>())
    };
    let drawn = |bytes: &'_ [u8]| (!bytes.is_empty()).then(|| bytes.to_vec());
    let columns: Vec<ArrayRef> = vec![
        Arc::new(Int32Array::from_iter_values(units.iter().map(|unit| unit.season))),
        texts(documents.iter().map(|text| Some(text.as_str()))),
        texts(units.iter().map(|unit| Some(feature_id(&unit.feature)))),
        texts(units.iter().map(|unit| Some(feature_type(&unit.feature)))),
        texts(units.iter().map(|unit| known(&unit.field.name))),
        texts(units.iter().map(|unit| known(&unit.field.grower))),
        texts(units.iter().map(|unit| known(&unit.field.region))),
        texts(units.iter().map(|unit| known(&unit.crop))),
        texts(units.iter().map(|unit| Some(unit.heads.as_str()))),
        texts(occurring.iter().map(|text| Some(text.as_str()))),
        Arc::new(Int64Array::from_iter_values(units.iter().map(|unit| unit.records.len() as i64))),
        texts(units.iter().map(|unit| known(&unit.field.zone))),
        numbers(&|field| Some(field.area_m2? as f64 / 1e4)),
        numbers(&|field| Some(field.row_width_mil? as f64 / 1e3)),
        texts(units.iter().map(|unit| known(&unit.field.station))),
        texts(units.iter().map(|unit| known(&unit.field.soil))),
        texts(units.iter().map(|unit| known(&unit.field.soil_map_unit))),
        texts(units.iter().map(|unit| known(&unit.field.soil_texture))),
        Arc::new(units.iter().map(|unit| Some(unit.field.retired)).collect::<BooleanArray>()) as ArrayRef,
        texts(units.iter().map(|unit| known(&unit.field.split_from))),
        numbers(&|field| Some(f64::from(field.middle?.lon_e7) / 1e7)),
        numbers(&|field| Some(f64::from(field.middle?.lat_e7) / 1e7)),
        Arc::new(units.iter().map(|unit| drawn(&unit.field.boundary)).collect::<BinaryArray>()) as ArrayRef,
    ];
    sorted(&table::field_table(), columns)
}
