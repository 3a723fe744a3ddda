//! A session: the tables of one snapshot and of what is not archived yet, ready for questions.

use std::collections::BTreeMap;
use std::sync::Arc;

use datafusion::arrow::array::{RecordBatch, StringArray, new_null_array};
use datafusion::arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use datafusion::datasource::MemTable;
use datafusion::error::DataFusionError;
use datafusion::execution::runtime_env::RuntimeEnvBuilder;
use datafusion::logical_expr::{JoinType, LogicalPlan, Union, cast, col, lit};
use datafusion::prelude::{DataFrame, SQLOptions, SessionConfig, SessionContext};
use ligule_archive::kind::{Kind, ResultType};
use ligule_archive::table::{Column, Table};
use ligule_archive::{Archive, Damage, LiveFile, batches_of, table};

use crate::archived::{Damaged, Files};
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
///
/// A table of which a file or the log is damaged never answers short: queries of it, and of `long` where it would need
/// it, are refused with [`QueryError::Archive`], while the other tables answer. Bytes that were altered without changing
/// a file's size are found when they can no longer be decoded, and else by [`Archive::verify`] alone.
pub struct Session {
    context: SessionContext,
    tables: BTreeMap<String, TableInfo>,
    archive: Option<Archive>,
    snapshot: Option<u64>,
    /// The archived files of whole tables.
    files: Vec<LiveFile>,
    /// What is damaged, by table.
    damage: BTreeMap<String, Damage>,
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
    /// An archive whose snapshot cannot be read, or a journal that cannot; kinds that contradict each other or the archive.
    pub async fn new(options: SessionOptions) -> Result<Self, QueryError> {
        let config = SessionConfig::new().with_information_schema(true);
        let mut runtime = RuntimeEnvBuilder::new();
        if let Some(bytes) = options.memory_limit {
            runtime = runtime.with_memory_limit(bytes, 1.0);
        }
        let runtime = runtime.build_arc().map_err(|e| QueryError::running(&e))?;
        let context = SessionContext::new_with_config_rt(config, runtime);
        functions::register(&context);
        let mut session = Self {
            context,
            tables: BTreeMap::new(),
            archive: options.archive.clone(),
            snapshot: None,
            files: Vec::new(),
            damage: BTreeMap::new(),
        };
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
    /// A text that is not one query, a name that is not known, a statement that would change something, a damaged
    /// table, or a failure while it runs.
    pub async fn sql(&self, text: &str) -> Result<Answer, QueryError> {
        let names = self.table_names();
        let planning = |e: DataFusionError| QueryError::planning(&e, &names);
        let plan = match self.context.state().create_logical_plan(text).await.map_err(planning) {
            Ok(plan) => plan,
            // The columns of a table whose log is damaged are not known.
            Err(error) => return Err(self.damage_named_in(text).unwrap_or(error)),
        };
        let reads = SQLOptions::new().with_allow_ddl(false).with_allow_dml(false).with_allow_statements(false);
        reads.verify_plan(&plan).map_err(|e| QueryError::ReadOnly { what: refused(&e) })?;
        let frame = self.context.execute_logical_plan(plan).await.map_err(planning)?;
        let schema = Arc::clone(frame.schema().inner());
        match frame.collect().await {
            Ok(batches) => {
                let schema = batches.first().map_or(schema, RecordBatch::schema);
                Ok(Answer { schema, batches })
            }
            // Type coercion and function checks happen while optimising, so they may still be faults of the query.
            Err(e) if crate::error::is_of_planning(&e) => Err(planning(e)),
            Err(e) => {
                let damage = if crate::error::may_be_damage(&e) { self.damage_in_files().await } else { None };
                Err(damage.unwrap_or_else(|| QueryError::running(&e)))
            }
        }
    }

    /// Returns the damage of a table that a query names.
    fn damage_named_in(&self, text: &str) -> Option<QueryError> {
        let state = self.context.state();
        let statement = state.sql_to_statement(text, &state.config().options().sql_parser.dialect).ok()?;
        let names = state.resolve_table_references(&statement).ok()?;
        let damage = names.iter().find_map(|name| {
            let name = name.table();
            self.damage.get(name).or_else(|| self.damage.get(name.strip_suffix("_all")?))
        });
        damage.map(|damage| damage.error().into())
    }

    /// Reads the files and returns the first damage.
    async fn damage_in_files(&self) -> Option<QueryError> {
        let archive = self.archive.as_ref()?;
        for file in &self.files {
            if let Some(damage) = archive.read_through(file).await {
                return Some(damage.error().into());
            }
        }
        None
    }

    fn table_names(&self) -> Vec<String> {
        self.tables.keys().cloned().collect()
    }

    async fn register_tables(&mut self, options: &SessionOptions) -> Result<(), QueryError> {
        let (mut archived, mut units) = (Vec::new(), BTreeMap::new());
        if let Some(archive) = &options.archive {
            self.context.register_object_store(archive.root(), archive.store());
            let found = archive.inspect().await?;
            if let Some(damage) = found.damage.iter().find(|damage| damage.table == table::SNAPSHOT) {
                // Without it nothing tells which states of the tables belong together.
                return Err(damage.error().into());
            }
            self.snapshot = found.snapshot.map(|info| info.number);
            (archived, units, self.files) = (found.tables, found.units, found.files);
            for damage in found.damage {
                self.damage.entry(damage.table.clone()).or_insert(damage);
            }
        }
        let live: &dyn LiveRows = options.live.as_deref().unwrap_or(&NoLive);
        let live = live.newer_than(&units).map_err(|source| QueryError::Live { source })?;
        let overridden: Vec<String> =
            live.iter().filter(|unit| units.contains_key(&unit.doc)).map(|unit| unit.doc.to_string()).collect();
        let fresh = batches_of(&options.kinds, &live.iter().collect::<Vec<_>>())?;
        let mut tables = tables::united(table::tables(&options.kinds)?, archived)?;
        let nameless = self.damage.keys().filter(|name| tables.iter().all(|table| table.name != **name));
        tables.extend(nameless.map(|name| tables::unknown(name)).collect::<Vec<_>>());
        for table in tables {
            let frame = self.frame(&table, fresh.get(&table.name), &overridden).map_err(|e| QueryError::running(&e))?;
            self.register(&table, frame).map_err(|e| QueryError::running(&e))?;
        }
        self.register_long(&options.kinds).await.map_err(|e| QueryError::running(&e))
    }

    /// Unites the archived rows of a table, without those of documents that the journal holds anew, and its live rows.
    fn frame(
        &self,
        table: &Table,
        live: Option<&RecordBatch>,
        overridden: &[String],
    ) -> Result<DataFrame, DataFusionError> {
        let schema = plain(table);
        if let Some(damage) = self.damage.get(&table.name) {
            return self.context.read_table(Arc::new(Damaged { schema, damage: damage.clone() }));
        }
        let live = match live {
            Some(batch) => fitted(&schema, batch)?,
            None => RecordBatch::new_empty(Arc::clone(&schema)),
        };
        let live_rows = live.num_rows();
        let live = self.context.read_table(Arc::new(MemTable::try_new(Arc::clone(&schema), vec![vec![live]])?))?;
        let files: Vec<LiveFile> = self.files.iter().filter(|file| file.table == table.name).cloned().collect();
        let Some(archive) = self.archive.as_ref().filter(|_| !files.is_empty()) else { return Ok(live) };
        let mut archived = self.context.read_table(Arc::new(Files::new(archive, schema, files)?))?;
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
        let shared =
            ["season", "field", "field_name", "grower", "region", "crop", "time", "day", "observation", "conflicts"];
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
        self.add("long", "One row per number of an observation that is not voided, whatever the kind; numbers of lists are in the tables of their own.", &columns, long)
    }
}

/// Returns a table's columns without units and meanings, which [`Session::describe`] tells: the engine refuses some
/// unions of columns that differ in them.
fn plain(table: &Table) -> SchemaRef {
    let field = |column: &Column| Field::new(&column.name, column.data_type.clone(), true);
    Arc::new(Schema::new(table.columns.iter().map(field).collect::<Vec<_>>()))
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
