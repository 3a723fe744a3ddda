//! A session: the tables of one snapshot and of what is not archived yet, ready for questions.

use std::collections::BTreeMap;
use std::sync::Arc;

use datafusion::arrow::array::{RecordBatch, StringArray, new_null_array};
use datafusion::arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use datafusion::catalog::TableProvider;
use datafusion::datasource::MemTable;
use datafusion::datasource::file_format::parquet::ParquetFormat;
use datafusion::datasource::listing::{ListingOptions, ListingTable, ListingTableConfig, ListingTableUrl};
use datafusion::error::DataFusionError;
use datafusion::execution::runtime_env::RuntimeEnvBuilder;
use datafusion::logical_expr::{JoinType, LogicalPlan, Union, cast, col, lit};
use datafusion::prelude::{DataFrame, SQLOptions, SessionConfig, SessionContext};
use ligule_archive::kind::{Kind, ResultType};
use ligule_archive::table::{Column, Table};
use ligule_archive::{Archive, LiveFile, batches_of, table};

use crate::{LiveRows, NoLive, QueryError, TableInfo, functions, tables};

/// What a session is made of.
#[derive(Clone, Default)]
pub struct SessionOptions {
    /// The archive, if there is one.
    pub archive: Option<Archive>,
    /// Rows that are not archived yet, if any.
    pub live: Option<Arc<dyn LiveRows>>,
    /// The kinds that this device knows.
    pub kinds: Vec<Kind>,
    /// Bytes of memory that queries may use before they spill to disk; no limit where none is given.
    pub memory_limit: Option<usize>,
}

/// A session over one snapshot. Make a new one to see what was compacted or recorded since.
pub struct Session {
    context: SessionContext,
    tables: BTreeMap<String, TableInfo>,
    snapshot: Option<u64>,
}

/// The answer to a query.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Its columns.
    pub schema: SchemaRef,
    /// Its rows.
    pub batches: Vec<RecordBatch>,
}

impl Answer {
    /// Returns the number of rows.
    pub fn rows(&self) -> usize {
        self.batches.iter().map(RecordBatch::num_rows).sum()
    }
}

impl Session {
    /// Reads the archive's last snapshot and the live rows, and makes their tables.
    ///
    /// # Errors
    /// An archive or journal that cannot be read; kinds that contradict each other or the archive.
    pub async fn new(options: SessionOptions) -> Result<Self, QueryError> {
        let config = SessionConfig::new().with_information_schema(true);
        let mut runtime = RuntimeEnvBuilder::new();
        if let Some(bytes) = options.memory_limit {
            runtime = runtime.with_memory_limit(bytes, 1.0);
        }
        let runtime = runtime.build_arc().map_err(|e| QueryError::running(&e))?;
        let context = SessionContext::new_with_config_rt(config, runtime);
        functions::register(&context);
        let mut session = Self { context, tables: BTreeMap::new(), snapshot: None };
        session.register_tables(&options).await?;
        Ok(session)
    }

    /// Returns the snapshot of the archive that this session reads.
    pub fn snapshot(&self) -> Option<u64> {
        self.snapshot
    }

    /// Returns every table, by name.
    pub fn tables(&self) -> impl Iterator<Item = &TableInfo> {
        self.tables.values()
    }

    /// Returns a table's columns with units and meanings.
    ///
    /// # Errors
    /// [`QueryError::UnknownTable`].
    pub fn describe(&self, name: &str) -> Result<&TableInfo, QueryError> {
        self.tables.get(name).ok_or_else(|| {
            let known = self.table_names();
            QueryError::UnknownTable { name: name.to_owned(), nearest: crate::error::nearest(name, &known), known }
        })
    }

    /// Answers one SQL query.
    ///
    /// # Errors
    /// A text that is not one query, a name that is not known, a statement that would change something, or a failure
    /// while it runs.
    pub async fn sql(&self, text: &str) -> Result<Answer, QueryError> {
        let names = self.table_names();
        let planning = |e: DataFusionError| QueryError::planning(&e, &names);
        let plan = self.context.state().create_logical_plan(text).await.map_err(planning)?;
        let reads = SQLOptions::new().with_allow_ddl(false).with_allow_dml(false).with_allow_statements(false);
        reads.verify_plan(&plan).map_err(|e| QueryError::ReadOnly { what: refused(&e) })?;
        let frame = self.context.execute_logical_plan(plan).await.map_err(planning)?;
        let schema = Arc::clone(frame.schema().inner());
        // Type coercion and function checks happen while optimising, so they may still be faults of the query.
        let batches = frame.collect().await.map_err(|e| match e.find_root() {
            DataFusionError::Plan(_) | DataFusionError::SchemaError(..) => QueryError::planning(&e, &names),
            _ => QueryError::running(&e),
        })?;
        let schema = batches.first().map_or(schema, RecordBatch::schema);
        Ok(Answer { schema, batches })
    }

    fn table_names(&self) -> Vec<String> {
        self.tables.keys().cloned().collect()
    }

    async fn register_tables(&mut self, options: &SessionOptions) -> Result<(), QueryError> {
        let (mut archived, mut files, mut units) = (Vec::new(), BTreeMap::new(), BTreeMap::new());
        if let Some(archive) = &options.archive {
            self.context.register_object_store(archive.root(), archive.store());
            self.snapshot = archive.snapshot().await?.map(|info| info.number);
            archived = archive.tables().await?;
            units = archive.units().await?;
            for file in archive.files(None).await? {
                files.entry(file.table.clone()).or_insert_with(Vec::new).push(file);
            }
        }
        let live: &dyn LiveRows = options.live.as_deref().unwrap_or(&NoLive);
        let live = live.newer_than(&units).map_err(|source| QueryError::Live { source })?;
        let overridden: Vec<String> =
            live.iter().filter(|unit| units.contains_key(&unit.doc)).map(|unit| unit.doc.to_string()).collect();
        let fresh = batches_of(&options.kinds, &live.iter().collect::<Vec<_>>())?;
        for table in tables::united(table::tables(&options.kinds)?, archived)? {
            let files = files.remove(&table.name).unwrap_or_default();
            let frame = self
                .frame(options.archive.as_ref(), &table, files, fresh.get(&table.name), &overridden)
                .map_err(|e| QueryError::running(&e))?;
            self.register(&table, frame).map_err(|e| QueryError::running(&e))?;
        }
        self.register_long(&options.kinds).await.map_err(|e| QueryError::running(&e))
    }

    /// Unites the archived rows of a table, without those of documents that the journal holds anew, and its live rows.
    fn frame(
        &self,
        archive: Option<&Archive>,
        table: &Table,
        files: Vec<LiveFile>,
        live: Option<&RecordBatch>,
        overridden: &[String],
    ) -> Result<DataFrame, DataFusionError> {
        let schema = table.schema();
        let live = match live {
            Some(batch) => fitted(&schema, batch)?,
            None => RecordBatch::new_empty(Arc::clone(&schema)),
        };
        let live_rows = live.num_rows();
        let live = self.context.read_table(Arc::new(MemTable::try_new(Arc::clone(&schema), vec![vec![live]])?))?;
        let Some(archive) = archive.filter(|_| !files.is_empty()) else { return Ok(live) };
        let mut archived = self.context.read_table(listing(archive, schema, &files)?)?;
        if !overridden.is_empty() {
            archived =
                archived.join(self.documents(overridden)?, JoinType::LeftAnti, &["document"], &["is_live"], None)?;
        }
        if live_rows == 0 { Ok(archived) } else { archived.union(live) }
    }

    fn documents(&self, documents: &[String]) -> Result<DataFrame, DataFusionError> {
        let schema = Arc::new(Schema::new(vec![Field::new("is_live", DataType::Utf8, false)]));
        let column = Arc::new(StringArray::from_iter_values(documents));
        let batch = RecordBatch::try_new(Arc::clone(&schema), vec![column])?;
        self.context.read_table(Arc::new(MemTable::try_new(schema, vec![vec![batch]])?))
    }

    fn register(&mut self, table: &Table, frame: DataFrame) -> Result<(), DataFusionError> {
        if table.columns.iter().any(|column| column.name == "void") {
            let all = format!("{}_all", table.name);
            let hidden = frame.clone().filter(col("void").is_not_true())?;
            self.add(&all, &format!("{} Voided ones included.", table.about), &table.columns, frame)?;
            self.add(&table.name, &table.about, &table.columns, hidden)
        } else {
            self.add(&table.name, &table.about, &table.columns, frame)
        }
    }

    fn add(&mut self, name: &str, about: &str, columns: &[Column], frame: DataFrame) -> Result<(), DataFusionError> {
        self.context.register_table(name, frame.into_view())?;
        let info = TableInfo { name: name.to_owned(), about: about.to_owned(), columns: columns.to_vec() };
        self.tables.insert(name.to_owned(), info);
        Ok(())
    }

    /// Adds the view `long`: one row per number, whatever the kind.
    async fn register_long(&mut self, kinds: &[Kind]) -> Result<(), DataFusionError> {
        let shared = ["season", "field", "field_name", "grower", "region", "crop", "time", "day", "observation"];
        let mut parts = Vec::new();
        for kind in kinds {
            let numbers = [ResultType::Quantity, ResultType::Count];
            for measure in kind.measures.iter().filter(|measure| numbers.contains(&measure.result)) {
                parts.push((kind, measure));
            }
        }
        let mut selected = Vec::new();
        for (kind, measure) in parts {
            let value = col(datafusion::common::Column::from_name(table::column_name(kind, measure)));
            let mut columns: Vec<_> = shared.iter().map(|name| col(*name)).collect();
            columns.extend([
                lit(kind.kind.as_str()).alias("kind"),
                lit(measure.name.as_str()).alias("measure"),
                lit(measure.unit.as_deref().unwrap_or("1")).alias("unit"),
                cast(value.clone(), DataType::Float64).alias("value"),
            ]);
            let part = self.context.table(kind.table()).await?.filter(value.is_not_null())?.select(columns)?;
            selected.push(Arc::new(part.into_unoptimized_plan()));
        }
        // One flat union: nested ones would be as deep as there are measures.
        let long = match selected.len() {
            0 => return Ok(()),
            1 => selected.remove(0).as_ref().clone(),
            _ => LogicalPlan::Union(Union::try_new_with_loose_types(selected)?),
        };
        let long = DataFrame::new(self.context.state(), long);
        let mut columns: Vec<Column> = Vec::new();
        if let Some(example) = self.tables.get(table::OTHER) {
            columns.extend(shared.iter().filter_map(|name| example.columns.iter().find(|c| c.name == *name)).cloned());
        }
        let text = |name: &str, meaning: &str| Column {
            name: name.to_owned(),
            data_type: DataType::Utf8,
            unit: None,
            meaning: meaning.to_owned(),
        };
        columns.extend([
            text("kind", "The kind of observation."),
            text("measure", "The measure."),
            text("unit", "The unit of the value, a UCUM code."),
            Column { data_type: DataType::Float64, ..text("value", "The value in that unit.") },
        ]);
        self.add("long", "One row per number of an observation that is not voided, whatever the kind.", &columns, long)
    }
}

/// Makes a table of exactly these files. The folder `season=…` is not declared as a partition: the files hold that
/// column themselves.
fn listing(
    archive: &Archive,
    schema: SchemaRef,
    files: &[LiveFile],
) -> Result<Arc<dyn TableProvider>, DataFusionError> {
    let urls = files
        .iter()
        .map(|file| {
            let url = archive.root().join(&file.path).map_err(|e| DataFusionError::External(Box::new(e)))?;
            ListingTableUrl::try_new(url, None)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let config = ListingTableConfig::new_with_multi_paths(urls)
        .with_listing_options(ListingOptions::new(Arc::new(ParquetFormat::default())))
        .with_schema(schema);
    Ok(Arc::new(ListingTable::try_new(config)?))
}

fn fitted(schema: &SchemaRef, batch: &RecordBatch) -> Result<RecordBatch, DataFusionError> {
    let columns = schema
        .fields()
        .iter()
        .map(|field| match batch.column_by_name(field.name()) {
            Some(values) => Arc::clone(values),
            None => new_null_array(field.data_type(), batch.num_rows()),
        })
        .collect();
    Ok(RecordBatch::try_new(Arc::clone(schema), columns)?)
}

fn refused(error: &DataFusionError) -> String {
    let message = error.strip_backtrace();
    let what = message.trim_start_matches("Error during planning: ");
    what.split_once(" not supported: ").map_or(what, |(_, statement)| statement).to_owned()
}
