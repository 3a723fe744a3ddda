//! Where an archive is, and what its last snapshot names.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use arrow::array::{AsArray, RecordBatch};
use arrow::datatypes::{Int32Type, Int64Type, TimestampMicrosecondType};
use bytes::Bytes;
use deltalake::kernel::Add;
use jiff::Timestamp;
use ligule_observation::ids::DocId;
use object_store::path::Path;
use object_store::{ObjectStore, ObjectStoreExt as _};
use url::Url;

use crate::file::{self, Opened};
use crate::log::{self, Log, State};
use crate::table::{self, Column, Table};
use crate::{ArchiveError, FieldFacts};

/// An archive of seasons in a folder or an object store. Cheap to clone.
#[derive(Clone)]
pub struct Archive {
    inner: Arc<Inner>,
}

struct Inner {
    store: Arc<dyn ObjectStore>,
    prefix: Path,
    root: Url,
    /// The folder, where the store is a local disk.
    folder: Option<PathBuf>,
}

/// What the last snapshot names: versions that belong together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SnapshotInfo {
    /// The snapshot's own number, from 0; grows with every compaction that changed something.
    pub number: u64,
    /// When the compaction was made, as its caller told it.
    pub made_at: Timestamp,
    /// The program that made it.
    pub program: String,
    /// The tables by name.
    pub tables: BTreeMap<String, TableVersion>,
}

/// A table as a snapshot names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TableVersion {
    /// The version in the table's Delta log.
    pub version: u64,
    /// Number of live files.
    pub files: u64,
    /// Number of rows.
    pub rows: u64,
}

/// A file that the last snapshot names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LiveFile {
    /// The table.
    pub table: String,
    /// Year of harvest.
    pub season: Option<i32>,
    /// The path relative to the archive: `planting/season=2026/part-….parquet`.
    pub path: String,
    /// Size in bytes.
    pub bytes: u64,
    /// Number of rows.
    pub rows: u64,
}

/// A document as the archive holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitState {
    /// Year of harvest.
    pub season: i32,
    /// The identifier of the field or station.
    pub field: String,
    /// The heads that were archived.
    pub heads: String,
    /// Number of observations.
    pub observations: u64,
    pub(crate) facts: FieldFacts,
    pub(crate) crop: String,
    pub(crate) kinds: String,
}

/// A consistent view: the snapshot and the states of the tables that it names.
pub(crate) struct View {
    pub(crate) snapshot: Option<(SnapshotInfo, State)>,
    pub(crate) tables: BTreeMap<String, State>,
}

impl Archive {
    /// Opens the archive in a folder or at a URL.
    ///
    /// # Errors
    /// A place that does not exist, or of a sort that this program cannot use.
    pub fn open(location: &str) -> Result<Self, ArchiveError> {
        let archive = Self::at(location)?;
        match &archive.inner.folder {
            Some(folder) if !folder.is_dir() => Err(ArchiveError::Missing { location: location.to_owned() }),
            _ => Ok(archive),
        }
    }

    /// Opens the archive in a folder or at a URL, and makes the folder if need be.
    ///
    /// # Errors
    /// A place that cannot be made, or of a sort that this program cannot use.
    pub fn create(location: &str) -> Result<Self, ArchiveError> {
        let archive = Self::at(location)?;
        if let Some(folder) = &archive.inner.folder {
            std::fs::create_dir_all(folder)
                .map_err(|e| ArchiveError::Location { location: location.to_owned(), reason: e.to_string() })?;
        }
        Ok(archive)
    }

    /// Makes an archive of a store that the caller has opened; `root` is where in it the archive is.
    ///
    /// # Errors
    /// A URL whose path is not one.
    pub fn with_store(store: Arc<dyn ObjectStore>, root: Url) -> Result<Self, ArchiveError> {
        let prefix = Path::from_url_path(root.path())
            .map_err(|e| ArchiveError::Location { location: root.to_string(), reason: e.to_string() })?;
        let folder = if root.scheme() == "file" { root.to_file_path().ok() } else { None };
        Ok(Self { inner: Arc::new(Inner { store, prefix, root, folder }) })
    }

    fn at(location: &str) -> Result<Self, ArchiveError> {
        let bad = |reason: String| ArchiveError::Location { location: location.to_owned(), reason };
        let mut url = if location.contains("://") {
            Url::parse(location).map_err(|e| bad(e.to_string()))?
        } else {
            let path = std::path::absolute(location).map_err(|e| bad(e.to_string()))?;
            Url::from_directory_path(path).map_err(|()| bad("it is not a path".to_owned()))?
        };
        if !url.path().ends_with('/') {
            url.set_path(&format!("{}/", url.path()));
        }
        let (store, _) = object_store::parse_url(&url).map_err(|e| bad(e.to_string()))?;
        Self::with_store(Arc::from(store), url)
    }

    /// Returns where the archive is.
    pub fn root(&self) -> &Url {
        &self.inner.root
    }

    /// Returns the store that it is in; its paths start at the store's root, not at the archive's.
    pub fn store(&self) -> Arc<dyn ObjectStore> {
        Arc::clone(&self.inner.store)
    }

    pub(crate) fn path(&self, relative: &str) -> Path {
        relative.split('/').fold(self.inner.prefix.clone(), |path, part| path.join(part))
    }

    /// Returns the URL of a table.
    pub(crate) fn url(&self, table: &str) -> Url {
        let mut url = self.inner.root.clone();
        url.set_path(&format!("{}{table}/", url.path()));
        url
    }

    /// Returns what the last snapshot names; nothing where nothing was ever compacted.
    ///
    /// # Errors
    /// A log or snapshot file that cannot be read.
    pub async fn snapshot(&self) -> Result<Option<SnapshotInfo>, ArchiveError> {
        Ok(self.last_snapshot().await?.map(|(info, _)| info))
    }

    /// Returns the files that the last snapshot names, of one table or of all.
    ///
    /// # Errors
    /// A log or snapshot file that cannot be read.
    pub async fn files(&self, table: Option<&str>) -> Result<Vec<LiveFile>, ArchiveError> {
        let Some((info, _)) = self.last_snapshot().await? else { return Ok(Vec::new()) };
        let mut files = Vec::new();
        for (name, version) in info.tables {
            if table.is_none_or(|only| only == name)
                && let Some(state) = Log::new(self, &name).load(Some(version.version)).await?
            {
                files.extend(state.files.values().map(|add| live_file(&name, add)));
            }
        }
        Ok(files)
    }

    /// Returns every table that the last snapshot names, with its columns as they are archived.
    ///
    /// # Errors
    /// A log or snapshot file that cannot be read.
    pub async fn tables(&self) -> Result<Vec<Table>, ArchiveError> {
        Ok(self.view().await?.tables.into_iter().map(|(name, state)| state.into_table(&name)).collect())
    }

    /// Returns every archived document with its heads. A device compares them with its own before it compacts.
    ///
    /// # Errors
    /// A log or file that cannot be read.
    pub async fn units(&self) -> Result<BTreeMap<DocId, UnitState>, ArchiveError> {
        let Some((info, _)) = self.last_snapshot().await? else { return Ok(BTreeMap::new()) };
        let Some(version) = info.tables.get(table::FIELD) else { return Ok(BTreeMap::new()) };
        match Log::new(self, table::FIELD).load(Some(version.version)).await? {
            Some(state) => self.units_in(&state).await,
            None => Ok(BTreeMap::new()),
        }
    }

    pub(crate) async fn units_in(&self, field: &State) -> Result<BTreeMap<DocId, UnitState>, ArchiveError> {
        let mut units = BTreeMap::new();
        for path in field.files.keys() {
            units.extend(unit_states(&self.open_file(table::FIELD, path).await?.1));
        }
        Ok(units)
    }

    pub(crate) async fn view(&self) -> Result<View, ArchiveError> {
        let snapshot = self.last_snapshot().await?;
        let mut tables = BTreeMap::new();
        if let Some((info, _)) = &snapshot {
            for (name, version) in &info.tables {
                if let Some(state) = Log::new(self, name).load(Some(version.version)).await? {
                    tables.insert(name.clone(), state);
                }
            }
        }
        Ok(View { snapshot, tables })
    }

    async fn last_snapshot(&self) -> Result<Option<(SnapshotInfo, State)>, ArchiveError> {
        let Some(state) = Log::new(self, table::SNAPSHOT).load(None).await? else { return Ok(None) };
        let Some(path) = state.files.keys().next() else { return Ok(None) };
        let (_, rows) = self.open_file(table::SNAPSHOT, path).await?;
        let info = snapshot_info(state.version, &rows).ok_or_else(|| ArchiveError::Damaged {
            path: format!("{}/{path}", table::SNAPSHOT),
            reason: "it does not name tables and versions".to_owned(),
        })?;
        Ok(Some((info, state)))
    }

    /// Reads a file whole and decodes it.
    pub(crate) async fn open_file(&self, table: &str, path: &str) -> Result<(Opened, RecordBatch), ArchiveError> {
        let damaged = |reason| ArchiveError::Damaged { path: format!("{table}/{path}"), reason };
        let bytes = match self.get(&format!("{table}/{path}")).await {
            Err(ArchiveError::Store { source: object_store::Error::NotFound { .. }, .. }) => {
                return Err(damaged("it is missing".to_owned()));
            }
            other => other?,
        };
        file::check_name(path, &bytes).map_err(damaged)?;
        let opened = Opened::new(bytes).map_err(damaged)?;
        let rows = opened.read().map_err(damaged)?;
        Ok((opened, rows))
    }

    pub(crate) async fn get(&self, relative: &str) -> Result<Bytes, ArchiveError> {
        let error = |source| ArchiveError::Store { path: relative.to_owned(), source };
        self.inner.store.get(&self.path(relative)).await.map_err(error)?.bytes().await.map_err(error)
    }

    /// Puts a file that is named by its content. One that is there already is the same file, unless a crash cut it
    /// short: then it is put anew.
    pub(crate) async fn put(&self, relative: &str, bytes: Bytes) -> Result<(), ArchiveError> {
        let error = |source| ArchiveError::Store { path: relative.to_owned(), source };
        let path = self.path(relative);
        let there = self.inner.store.get(&path).await.ok();
        if let Some(there) = there
            && there.bytes().await.is_ok_and(|old| old == bytes)
        {
            return Ok(());
        }
        self.inner.store.put(&path, bytes.into()).await.map_err(error)?;
        self.sync_to_disk(relative);
        Ok(())
    }

    /// Forces a file to the disk, where the store is one. A failure is not an error: `verify` finds what a power cut
    /// took, and the journals still hold it.
    pub(crate) fn sync_to_disk(&self, relative: &str) {
        if let Some(folder) = &self.inner.folder {
            let path = folder.join(relative);
            for place in [Some(path.as_path()), path.parent()].into_iter().flatten() {
                if let Err(e) = std::fs::File::open(place).and_then(|f| f.sync_all()) {
                    tracing::warn!("could not force {} to the disk: {e}", place.display());
                }
            }
        }
    }
}

impl std::fmt::Debug for Archive {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Archive({})", self.inner.root)
    }
}

impl State {
    /// Returns the table with the columns that this version has.
    pub(crate) fn into_table(self, name: &str) -> Table {
        Table { name: name.to_owned(), about: self.about(), version: 0, columns: self.columns, sorted_by: Vec::new() }
    }
}

pub(crate) fn live_file(table: &str, add: &Add) -> LiveFile {
    LiveFile {
        table: table.to_owned(),
        season: log::season_of(add),
        path: format!("{table}/{}", add.path),
        bytes: add.size.try_into().unwrap_or(0),
        rows: log::rows_of(add),
    }
}

/// Returns the columns that a table keeps on gaining: those archived, then those that are new.
///
/// # Errors
/// A column whose type differs.
pub(crate) fn united(archived: &[Column], declared: Table) -> Result<Table, ArchiveError> {
    let mut columns = archived.to_vec();
    for column in declared.columns {
        match archived.iter().find(|old| old.name == column.name) {
            Some(old) if old.data_type != column.data_type => {
                return Err(ArchiveError::ColumnChanged {
                    table: declared.name,
                    column: column.name,
                    archived: old.data_type.to_string(),
                    declared: column.data_type.to_string(),
                });
            }
            Some(_) => {}
            None => columns.push(column),
        }
    }
    Ok(Table { columns, ..declared })
}

fn snapshot_info(number: u64, rows: &RecordBatch) -> Option<SnapshotInfo> {
    let names = rows.column_by_name("table_name")?.as_string_opt::<i32>()?;
    let counts = |name| rows.column_by_name(name)?.as_primitive_opt::<Int64Type>();
    let (versions, files, counted) = (counts("version")?, counts("files")?, counts("rows")?);
    let made = rows.column_by_name("made_at")?.as_primitive_opt::<TimestampMicrosecondType>()?;
    let programs = rows.column_by_name("program")?.as_string_opt::<i32>()?;
    let tables = (0..rows.num_rows())
        .map(|i| {
            let version = TableVersion {
                version: versions.value(i).try_into().ok()?,
                files: files.value(i).try_into().ok()?,
                rows: counted.value(i).try_into().ok()?,
            };
            Some((names.value(i).to_owned(), version))
        })
        .collect::<Option<BTreeMap<_, _>>>()?;
    (rows.num_rows() > 0).then_some(())?;
    Some(SnapshotInfo {
        number,
        made_at: Timestamp::from_microsecond(made.value(0)).ok()?,
        program: programs.value(0).to_owned(),
        tables,
    })
}

/// Returns the units in rows of the table `field`; a row that is not one is passed over.
fn unit_states(rows: &RecordBatch) -> BTreeMap<DocId, UnitState> {
    let texts = |name: &str| rows.column_by_name(name).and_then(|column| column.as_string_opt::<i32>());
    let text = |name: &str, i: usize| {
        texts(name)
            .filter(|column| arrow::array::Array::is_valid(column, i))
            .map(|c| c.value(i).to_owned())
            .unwrap_or_default()
    };
    let seasons = rows.column_by_name("season").and_then(|column| column.as_primitive_opt::<Int32Type>());
    let counts = rows.column_by_name("observations").and_then(|column| column.as_primitive_opt::<Int64Type>());
    (0..rows.num_rows())
        .filter_map(|i| {
            let state = UnitState {
                season: seasons?.value(i),
                field: text("field", i),
                heads: text("heads", i),
                observations: counts?.value(i).try_into().ok()?,
                facts: FieldFacts { name: text("field_name", i), grower: text("grower", i), region: text("region", i) },
                crop: text("crop", i),
                kinds: text("kinds", i),
            };
            Some((file::document(&text("document", i))?, state))
        })
        .collect()
}
