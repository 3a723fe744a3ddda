//! One Parquet file: written whole, named by its content, read back with its own account of what is in it.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::compute::concat_batches;
use arrow::datatypes::{DataType, Date32Type, Float64Type, SchemaRef};
use bytes::Bytes;
use jiff::{ToSpan, civil::date};
use ligule_observation::ids::DocId;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::{ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReaderBuilder};
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::metadata::{KeyValue, SortingColumn};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::schema::types::ColumnPath;
use serde::{Deserialize, Serialize};

use crate::table::Table;
use crate::{ArchiveError, geo};

const UNITS_KEY: &str = "ligule.units";
const SCHEMA_KEY: &str = "ligule.schema";
const VERSION_KEY: &str = "ligule.schema_version";
const LAYOUT_KEY: &str = "ligule.layout_version";

/// The name and version under which files and snapshots are written.
pub(crate) const PROGRAM: &str = concat!("ligule ", env!("CARGO_PKG_VERSION"));

/// What a file says of one document in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct UnitIn {
    /// The document's heads when it was archived.
    pub(crate) heads: String,
    /// How many rows of the file are its.
    pub(crate) rows: u64,
}

/// The documents in a file.
pub(crate) type UnitsIn = BTreeMap<String, UnitIn>;

/// A file as it goes to the store.
pub(crate) struct Written {
    pub(crate) bytes: Bytes,
    pub(crate) hash: String,
    pub(crate) stats: String,
    pub(crate) units_digest: String,
    pub(crate) units: usize,
}

/// Writes a sorted batch as one file. The same batch and units give the same bytes.
pub(crate) fn write(table: &Table, batch: &RecordBatch, units: &UnitsIn) -> Result<Written, ArchiveError> {
    let error = ArchiveError::parquet(&table.name);
    let units_json = units_json(units);
    let mut about = vec![
        KeyValue::new(SCHEMA_KEY.to_owned(), table.name.clone()),
        KeyValue::new(VERSION_KEY.to_owned(), table.version.to_string()),
        KeyValue::new(LAYOUT_KEY.to_owned(), crate::LAYOUT_VERSION.to_string()),
        KeyValue::new(UNITS_KEY.to_owned(), units_json.clone()),
    ];
    about.extend(geo::metadata(batch).map(|geo| KeyValue::new(geo::KEY.to_owned(), geo)));
    let mut properties = WriterProperties::builder()
        .set_created_by(PROGRAM.to_owned())
        .set_compression(Compression::ZSTD(ZstdLevel::try_new(3).map_err(&error)?))
        .set_max_row_group_row_count(Some(1 << 20))
        .set_statistics_enabled(EnabledStatistics::Page)
        .set_sorting_columns(sorting(table, &batch.schema()))
        .set_key_value_metadata(Some(about));
    if batch.schema().column_with_name("time").is_some() {
        let time = ColumnPath::from("time");
        properties = properties
            .set_column_dictionary_enabled(time.clone(), false)
            .set_column_encoding(time, Encoding::DELTA_BINARY_PACKED);
    }
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, batch.schema(), Some(properties.build())).map_err(&error)?;
    writer.write(batch).map_err(&error)?;
    writer.close().map_err(&error)?;
    Ok(Written {
        hash: hash(&bytes),
        stats: stats(batch),
        units_digest: digest(&units_json),
        units: units.len(),
        bytes: bytes.into(),
    })
}

/// Returns the hash that names a file: the first 16 bytes of BLAKE3, in hex.
pub(crate) fn hash(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex()[..32].to_owned()
}

fn units_json(units: &UnitsIn) -> String {
    serde_json::to_string(units).expect("a map of texts and numbers is JSON")
}

fn digest(units_json: &str) -> String {
    hash(units_json.as_bytes())
}

/// Returns the digest of documents and heads that the log's tag carries.
pub(crate) fn units_digest(units: &UnitsIn) -> String {
    digest(&units_json(units))
}

fn sorting(table: &Table, schema: &SchemaRef) -> Option<Vec<SortingColumn>> {
    let column = |name: &&str| {
        let (index, _) = schema.column_with_name(name)?;
        Some(SortingColumn { column_idx: i32::try_from(index).ok()?, descending: false, nulls_first: true })
    };
    Some(table.sorted_by.iter().filter_map(column).collect())
}

/// Returns the statistics that the log carries, so that readers can pass files over: rows, and the least and greatest
/// field, day and place.
fn stats(batch: &RecordBatch) -> String {
    let (mut least, mut greatest, mut nulls) = (serde_json::Map::new(), serde_json::Map::new(), serde_json::Map::new());
    for name in ["field", "day", "lon", "lat"] {
        let Some(column) = batch.column_by_name(name) else { continue };
        nulls.insert(name.to_owned(), column.null_count().into());
        let range = match column.data_type() {
            DataType::Utf8 => {
                let texts = column.as_string::<i32>();
                texts.iter().flatten().min().zip(texts.iter().flatten().max()).map(|(a, b)| (a.into(), b.into()))
            }
            DataType::Date32 => {
                let days = column.as_primitive::<Date32Type>();
                let range = arrow::compute::min(days).zip(arrow::compute::max(days));
                range.and_then(|(a, b)| Some((calendar(a)?.into(), calendar(b)?.into())))
            }
            DataType::Float64 => {
                let numbers = column.as_primitive::<Float64Type>();
                let range = arrow::compute::min(numbers).zip(arrow::compute::max(numbers));
                range.map(|(a, b)| (a.into(), b.into()))
            }
            _ => None,
        };
        if let Some((a, b)) = range {
            let (a, b): (serde_json::Value, serde_json::Value) = (a, b);
            least.insert(name.to_owned(), a);
            greatest.insert(name.to_owned(), b);
        }
    }
    serde_json::json!({
        "numRecords": batch.num_rows(), "minValues": least, "maxValues": greatest, "nullCount": nulls,
    })
    .to_string()
}

fn calendar(days_since_1970: i32) -> Option<String> {
    date(1970, 1, 1).checked_add(days_since_1970.days()).ok().map(|day| day.to_string())
}

/// An opened file.
pub(crate) struct Opened {
    bytes: Bytes,
    metadata: ArrowReaderMetadata,
}

impl Opened {
    /// Opens a file's bytes.
    ///
    /// # Errors
    /// The reason for which it is not a Parquet file.
    pub(crate) fn new(bytes: Bytes) -> Result<Self, String> {
        let metadata = ArrowReaderMetadata::load(&bytes, ArrowReaderOptions::new()).map_err(|e| e.to_string())?;
        Ok(Self { bytes, metadata })
    }

    /// Returns the documents that the file says it holds.
    ///
    /// # Errors
    /// The reason for which its account cannot be read.
    pub(crate) fn units(&self) -> Result<UnitsIn, String> {
        let entries = self.metadata.metadata().file_metadata().key_value_metadata();
        let text = entries
            .and_then(|entries| entries.iter().find(|entry| entry.key == UNITS_KEY))
            .and_then(|entry| entry.value.as_deref())
            .ok_or_else(|| format!("its footer lacks `{UNITS_KEY}`"))?;
        serde_json::from_str(text).map_err(|e| format!("`{UNITS_KEY}` in its footer: {e}"))
    }

    /// Reads all rows.
    ///
    /// # Errors
    /// The reason for which they cannot be decoded.
    pub(crate) fn read(&self) -> Result<RecordBatch, String> {
        let reader = ParquetRecordBatchReaderBuilder::new_with_metadata(self.bytes.clone(), self.metadata.clone())
            .build()
            .map_err(|e| e.to_string())?;
        let schema = Arc::clone(self.metadata.schema());
        let batches = reader.collect::<Result<Vec<_>, _>>().map_err(|e| e.to_string())?;
        concat_batches(&schema, &batches).map_err(|e| e.to_string())
    }
}

/// Counts the rows of each document.
pub(crate) fn rows_by_document(batch: &RecordBatch) -> BTreeMap<String, u64> {
    let mut rows = BTreeMap::new();
    if let Some(documents) = batch.column_by_name("document") {
        for document in documents.as_string::<i32>().iter().flatten() {
            match rows.get_mut(document) {
                Some(count) => *count += 1,
                None => {
                    rows.insert(document.to_owned(), 1);
                }
            }
        }
    }
    rows
}

/// Parses a document's identifier as the column `document` holds it.
pub(crate) fn document(text: &str) -> Option<DocId> {
    text.parse().ok()
}

/// Returns the name of a file: its bucket, how many buckets there are, and the hash of its bytes.
pub(crate) fn name(season: Option<i32>, bucket: u32, buckets: u32, hash: &str) -> String {
    let folder = season.map(|year| format!("season={year}/")).unwrap_or_default();
    format!("{folder}part-{bucket:02}of{buckets:02}-{hash}.parquet")
}

/// Returns bucket and number of buckets as a file's name tells them.
pub(crate) fn bucket_in(path: &str) -> Option<(u32, u32)> {
    let (_, name) = path.rsplit_once("part-")?;
    let (bucket, rest) = name.split_once("of")?;
    Some((bucket.parse().ok()?, rest.split_once('-')?.0.parse().ok()?))
}

/// Returns the season as the folder of a file tells it.
pub(crate) fn season_in(path: &str) -> Option<i32> {
    path.split('/').find_map(|part| part.strip_prefix("season="))?.parse().ok()
}

/// Checks that bytes are those that the file's name promises.
///
/// # Errors
/// The reason for which they are not.
pub(crate) fn check_name(path: &str, bytes: &[u8]) -> Result<(), String> {
    let promised = path.rsplit_once('-').and_then(|(_, end)| end.strip_suffix(".parquet")).unwrap_or_default();
    let is = hash(bytes);
    if promised == is { Ok(()) } else { Err(format!("its name promises content {promised}, its bytes are {is}")) }
}
