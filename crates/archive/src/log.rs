//! The Delta Lake log of one table.
//!
//! The column `season` is a partition column of the log and is in the files as well: Delta readers take it from the
//! log and pass over the one in the file, and whoever reads files without the log has it too. `outside_readers` holds
//! deltalake, Polars, DuckDB and PyArrow to that. A commit is never retried by the library: what it would lay over
//! somebody else's commit was reckoned from an older state, so `compact` reckons it anew.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use arrow::datatypes::DataType;
use deltalake::DeltaTable;
use deltalake::kernel::transaction::{CommitBuilder, CommitProperties, TableReference, TransactionError};
use deltalake::kernel::{Action, Add, CommitInfo, Remove};
use deltalake::logstore::{LogStoreRef, StorageConfig, default_logstore};
use deltalake::protocol::{DeltaOperation, SaveMode};
use deltalake::table::state::DeltaTableState;
use jiff::Timestamp;
use object_store::prefix::PrefixStore;
use serde_json::{Value, json};

use crate::archive::Archive;
use crate::file::PROGRAM;
use crate::table::{Column, SNAPSHOT, Table, instant};
use crate::{ArchiveError, LAYOUT_VERSION};

/// Commits between two checkpoints. Every compaction replays the log of every table several times, and replaying a
/// hundred commits (the usual interval) took most of its time.
const CHECKPOINT_INTERVAL: &str = "10";

/// Returns the folder of a table's log, relative to the archive.
pub(crate) fn folder(table: &str) -> String {
    format!("{table}/_delta_log")
}

/// Returns why a log cannot be read, in one line.
pub(crate) fn in_words(error: &ArchiveError) -> String {
    let text = match error {
        ArchiveError::Log { source, .. } => source.to_string(),
        other => other.to_string(),
    };
    let line = text.lines().next().unwrap_or_default();
    format!("the table's log cannot be read ({line})")
}

/// The log of one table.
pub(crate) struct Log {
    table: String,
    store: LogStoreRef,
}

/// A table at one version.
pub(crate) struct State {
    pub(crate) version: u64,
    /// Live files by path within the table.
    pub(crate) files: BTreeMap<String, Add>,
    pub(crate) columns: Vec<Column>,
    delta: DeltaTableState,
}

/// What became of an attempt to commit.
pub(crate) enum Committed {
    /// The version it got.
    As(u64),
    /// Somebody else was first.
    Overtaken,
}

impl Log {
    pub(crate) fn new(archive: &Archive, table: &str) -> Self {
        let prefixed = PrefixStore::new(archive.store(), archive.path(table));
        let location = archive.url(table);
        let store = default_logstore(Arc::new(prefixed), archive.store(), &location, &StorageConfig::default());
        Self { table: table.to_owned(), store }
    }

    /// Loads a version of the table, the latest if none is given; nothing where there is no table yet.
    pub(crate) async fn load(&self, version: Option<u64>) -> Result<Option<State>, ArchiveError> {
        let error = ArchiveError::log(&self.table);
        if !self.store.is_delta_table_location().await.map_err(&error)? {
            return Ok(None);
        }
        let mut table = DeltaTable::new(Arc::clone(&self.store));
        table.update_incremental(version).await.map_err(&error)?;
        let delta = table.snapshot().map_err(&error)?.clone();
        let files = delta
            .log_data()
            .iter()
            .map(|view| {
                #[expect(deprecated, reason = "the only way to get at the tags, which a file put back must keep")]
                let add = view.add_action();
                (add.path.clone(), add)
            })
            .collect();
        let schema = serde_json::to_value(delta.schema().as_ref()).unwrap_or_default();
        Ok(Some(State { version: delta.version(), files, columns: columns_from(&schema), delta }))
    }

    /// Makes `files` the table's live files, provided that the table is still as `before` says.
    pub(crate) async fn commit(
        &self,
        before: Option<&State>,
        table: &Table,
        files: &BTreeMap<String, Add>,
        at: Timestamp,
    ) -> Result<Committed, ArchiveError> {
        let error = ArchiveError::log(&self.table);
        let (mode, actions) = self.actions(before, table, files, at)?;
        let partition_by = partitions(table);
        let builder =
            CommitBuilder::from(CommitProperties::default().with_max_retries(0).with_cleanup_expired_logs(Some(false)))
                .with_actions(actions);
        let reference = before.map(|state| &state.delta as &dyn TableReference);
        let operation = DeltaOperation::Write { mode, partition_by: Some(partition_by), predicate: None };
        match builder.build(reference, Arc::clone(&self.store), operation).await {
            Ok(done) => Ok(Committed::As(done.version())),
            Err(deltalake::DeltaTableError::Transaction { source: TransactionError::MaxCommitAttempts(_) })
            | Err(deltalake::DeltaTableError::VersionAlreadyExists(_)) => Ok(Committed::Overtaken),
            Err(other) => Err(error(other)),
        }
    }

    fn actions(
        &self,
        before: Option<&State>,
        table: &Table,
        files: &BTreeMap<String, Add>,
        at: Timestamp,
    ) -> Result<(SaveMode, Vec<Action>), ArchiveError> {
        let none = BTreeMap::new();
        let live = before.map_or(&none, |state| &state.files);
        let mut actions = vec![Action::CommitInfo(CommitInfo {
            timestamp: Some(at.as_millisecond()),
            operation: Some("WRITE".to_owned()),
            engine_info: Some(PROGRAM.to_owned()),
            ..CommitInfo::default()
        })];
        if before.is_none() {
            actions.push(Action::Protocol(from_json(
                &self.table,
                json!({ "minReaderVersion": 1, "minWriterVersion": 2 }),
            )?));
        }
        if before.is_none_or(|state| state.columns.len() < table.columns.len()) {
            let id = before.map_or_else(|| table_id(&self.table, at), |state| state.delta.metadata().id().to_owned());
            let created = before.map_or(Some(at.as_millisecond()), |state| state.delta.metadata().created_time());
            actions.push(Action::Metadata(from_json(
                &self.table,
                json!({
                    "id": id,
                    "name": self.table,
                    "description": table.about,
                    "format": { "provider": "parquet", "options": {} },
                    "schemaString": schema_json(table).to_string(),
                    "partitionColumns": partitions(table),
                    "configuration": {
                        "ligule.layout_version": LAYOUT_VERSION.to_string(),
                        "delta.checkpointInterval": CHECKPOINT_INTERVAL,
                    },
                    "createdTime": created,
                }),
            )?));
        }
        let gone = live.values().filter(|add| !files.contains_key(&add.path));
        actions.extend(gone.map(|add| {
            Action::Remove(Remove {
                path: add.path.clone(),
                data_change: true,
                deletion_timestamp: Some(at.as_millisecond()),
                extended_file_metadata: Some(true),
                partition_values: Some(add.partition_values.clone()),
                size: Some(add.size),
                ..Remove::default()
            })
        }));
        actions.extend(files.values().filter(|add| !live.contains_key(&add.path)).cloned().map(Action::Add));
        let mode = if before.is_none() { SaveMode::ErrorIfExists } else { SaveMode::Overwrite };
        Ok((mode, actions))
    }
}

fn partitions(table: &Table) -> Vec<String> {
    if table.name == SNAPSHOT { Vec::new() } else { vec!["season".to_owned()] }
}

/// Returns the action that adds a file.
pub(crate) fn add(path: String, season: Option<i32>, written: &crate::file::Written, at: Timestamp) -> Add {
    Add {
        path,
        partition_values: season.map(|year| ("season".to_owned(), Some(year.to_string()))).into_iter().collect(),
        size: written.bytes.len() as i64,
        modification_time: at.as_millisecond(),
        data_change: true,
        stats: Some(written.stats.clone()),
        tags: Some(HashMap::from([
            ("ligule.units".to_owned(), Some(written.units.to_string())),
            ("ligule.units_digest".to_owned(), Some(written.units_digest.clone())),
        ])),
        deletion_vector: None,
        base_row_id: None,
        default_row_commit_version: None,
        clustering_provider: None,
    }
}

/// Returns the number of rows that the log gives for a file.
pub(crate) fn rows_of(add: &Add) -> u64 {
    let stats: Value = add.stats.as_deref().and_then(|text| serde_json::from_str(text).ok()).unwrap_or_default();
    stats["numRecords"].as_u64().unwrap_or(0)
}

/// Returns the season of a file.
pub(crate) fn season_of(add: &Add) -> Option<i32> {
    add.partition_values.get("season")?.as_deref()?.parse().ok()
}

/// Returns a tag of a file.
pub(crate) fn tag<'a>(add: &'a Add, name: &str) -> Option<&'a str> {
    add.tags.as_ref()?.get(name)?.as_deref()
}

fn from_json<T: serde::de::DeserializeOwned>(table: &str, value: Value) -> Result<T, ArchiveError> {
    let error = ArchiveError::log(table);
    serde_json::from_value(value).map_err(|e| error(e.into()))
}

/// A table's identifier in the form of a UUID. It need not be random: two writers who create one table both try
/// for version 0, and one of them loses.
fn table_id(table: &str, at: Timestamp) -> String {
    let hex = crate::file::hash(format!("{table} {at}").as_bytes());
    format!("{}-{}-{}-{}-{}", &hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..])
}

fn schema_json(table: &Table) -> Value {
    let fields: Vec<Value> = table
        .columns
        .iter()
        .map(|column| {
            let mut metadata = serde_json::Map::new();
            metadata.insert("meaning".to_owned(), column.meaning.clone().into());
            if let Some(unit) = &column.unit {
                metadata.insert("unit".to_owned(), unit.clone().into());
            }
            json!({ "name": column.name, "type": delta_type(&column.data_type), "nullable": true, "metadata": metadata })
        })
        .collect();
    json!({ "type": "struct", "fields": fields })
}

fn delta_type(data_type: &DataType) -> &'static str {
    match data_type {
        DataType::Int32 => "integer",
        DataType::Int64 => "long",
        DataType::Float64 => "double",
        DataType::Boolean => "boolean",
        DataType::Date32 => "date",
        DataType::Timestamp(..) => "timestamp",
        DataType::Binary => "binary",
        _ => "string",
    }
}

fn columns_from(schema: &Value) -> Vec<Column> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let column = |field: &Value| Column {
        name: text(&field["name"]),
        data_type: match field["type"].as_str().unwrap_or_default() {
            "integer" => DataType::Int32,
            "long" => DataType::Int64,
            "double" => DataType::Float64,
            "boolean" => DataType::Boolean,
            "date" => DataType::Date32,
            "binary" => DataType::Binary,
            "timestamp" => instant(),
            _ => DataType::Utf8,
        },
        unit: field["metadata"]["unit"].as_str().map(str::to_owned),
        meaning: text(&field["metadata"]["meaning"]),
    };
    schema["fields"].as_array().map(|fields| fields.iter().map(column).collect()).unwrap_or_default()
}

impl State {
    /// Returns what the table's rows are, as its metadata tells it.
    pub(crate) fn about(&self) -> String {
        self.delta.metadata().description().unwrap_or_default().to_owned()
    }
}
