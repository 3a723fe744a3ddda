//! Where an archive is, and what its last snapshot names.

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::PathBuf;
use std::sync::Arc;

use arrow::array::{Array as _, AsArray, RecordBatch};
use arrow::datatypes::{Float64Type, Int32Type, Int64Type, TimestampMicrosecondType};
use bytes::Bytes;
use deltalake::kernel::Add;
use jiff::Timestamp;
use ligule_observation::ids::DocId;
use ligule_observation::record::Place;
use object_store::path::Path;
use object_store::{ObjectStore, ObjectStoreExt as _};
use url::Url;

use crate::file::{self, Opened};
use crate::log::{self, Log, State};
use crate::table::{self, Column, Table};
use crate::{ArchiveError, FieldFacts, geo};

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
    /// The snapshot's own number, from 1; grows with every compaction that changed something.
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
#[derive(Debug, Clone, PartialEq)]
pub struct UnitState {
    /// Year of harvest.
    pub season: i32,
    /// The identifier of the field or station.
    pub field: String,
    /// The heads that were archived.
    pub heads: String,
    /// Number of observations.
    pub observations: u64,
    /// What was known of the field besides.
    pub facts: FieldFacts,
    pub(crate) crop: String,
    pub(crate) kinds: String,
}

impl Archive {
    /// Opens the archive in a folder or at a URL.
    ///
    /// # Errors
    /// [`ArchiveError::Missing`] where there is nothing yet; [`ArchiveError::Location`] for a place that can be none: a
    /// file, a folder that may not be read, a store of a sort that this version does not know.
    pub fn open(location: &str) -> Result<Self, ArchiveError> {
        let archive = Self::at(location)?;
        if let Some(folder) = &archive.inner.folder {
            let bad = |reason: String| ArchiveError::Location { location: location.to_owned(), reason };
            match std::fs::metadata(folder) {
                Ok(found) if !found.is_dir() => return Err(bad("it is a file".to_owned())),
                Ok(_) => std::fs::read_dir(folder).map(|_| ()).map_err(|e| bad(in_words(&e)))?,
                Err(e) if e.kind() == ErrorKind::NotFound => {
                    return Err(ArchiveError::Missing { location: location.to_owned() });
                }
                Err(e) => return Err(bad(in_words(&e))),
            }
        }
        Ok(archive)
    }

    /// Opens the archive in a folder or at a URL, and makes the folder if need be.
    ///
    /// # Errors
    /// A place that cannot be made, or of a sort that this program cannot use.
    pub fn create(location: &str) -> Result<Self, ArchiveError> {
        let archive = Self::at(location)?;
        if let Some(folder) = &archive.inner.folder {
            std::fs::create_dir_all(folder)
                .map_err(|e| ArchiveError::Location { location: location.to_owned(), reason: in_words(&e) })?;
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
        if !["file", "memory"].contains(&url.scheme()) {
            return Err(bad("this version keeps archives in local folders only".to_owned()));
        }
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
        self.last_snapshot().await
    }

    /// Returns the files that the last snapshot names, of one table or of all.
    ///
    /// # Errors
    /// A log or snapshot file that cannot be read.
    pub async fn files(&self, table: Option<&str>) -> Result<Vec<LiveFile>, ArchiveError> {
        let Some(info) = self.last_snapshot().await? else { return Ok(Vec::new()) };
        let mut files = Vec::new();
        for (name, promised) in &info.tables {
            if table.is_none_or(|only| only == name) {
                files.extend(self.named(name, promised).await?.files.values().map(|add| live_file(name, add)));
            }
        }
        Ok(files)
    }

    /// Returns every table that the last snapshot names, with its columns as they are archived.
    ///
    /// # Errors
    /// A log or snapshot file that cannot be read.
    pub async fn tables(&self) -> Result<Vec<Table>, ArchiveError> {
        let Some(info) = self.last_snapshot().await? else { return Ok(Vec::new()) };
        let mut tables = Vec::new();
        for (name, promised) in &info.tables {
            tables.push(self.named(name, promised).await?.into_table(name));
        }
        Ok(tables)
    }

    /// Returns every archived document with its heads. A device compares them with its own before it compacts.
    ///
    /// # Errors
    /// A log or file that cannot be read. [`Archive::inspect`] returns what is known nevertheless.
    pub async fn units(&self) -> Result<BTreeMap<DocId, UnitState>, ArchiveError> {
        let Some(info) = self.last_snapshot().await? else { return Ok(BTreeMap::new()) };
        let Some(promised) = info.tables.get(table::FIELD) else { return Ok(BTreeMap::new()) };
        self.units_in(&self.named(table::FIELD, promised).await?).await
    }

    pub(crate) async fn units_in(&self, field: &State) -> Result<BTreeMap<DocId, UnitState>, ArchiveError> {
        let mut units = BTreeMap::new();
        for path in field.files.keys() {
            units.extend(unit_states(&self.open_file(table::FIELD, path).await?.1));
        }
        Ok(units)
    }

    /// Loads a table as the snapshot names it.
    ///
    /// # Errors
    /// A log that is missing, cannot be read, or gives other files than the snapshot promises.
    pub(crate) async fn named(&self, name: &str, promised: &TableVersion) -> Result<State, ArchiveError> {
        let damaged = |reason: String| ArchiveError::Damaged { path: log::folder(name), reason };
        let state = match Log::new(self, name).load(Some(promised.version)).await {
            Ok(Some(state)) => state,
            Ok(None) => return Err(damaged("the table's log is missing".to_owned())),
            Err(e) => return Err(damaged(log::in_words(&e))),
        };
        let (files, rows) = (state.files.len() as u64, state.rows());
        if (state.version, files, rows) != (promised.version, promised.files, promised.rows) {
            return Err(damaged(format!(
                "the snapshot promises {} rows in {} files at version {}, the table's log gives {rows} in {files} at version {}",
                promised.rows, promised.files, promised.version, state.version
            )));
        }
        Ok(state)
    }

    /// # Errors
    /// A snapshot that cannot be read, or tables without any.
    pub(crate) async fn last_snapshot(&self) -> Result<Option<SnapshotInfo>, ArchiveError> {
        match self.snapshot_log().await? {
            Some(log) => self.snapshot_in(&log).await,
            None => Ok(None),
        }
    }

    /// Returns the snapshot that this state of the snapshots' log holds.
    pub(crate) async fn snapshot_in(&self, log: &State) -> Result<Option<SnapshotInfo>, ArchiveError> {
        let Some(path) = log.files.keys().next() else { return Ok(None) };
        let (_, rows) = self.open_file(table::SNAPSHOT, path).await?;
        let damaged = || ArchiveError::Damaged {
            path: format!("{}/{path}", table::SNAPSHOT),
            reason: "it does not name tables and versions".to_owned(),
        };
        snapshot_info(log.version, &rows).ok_or_else(damaged).map(Some)
    }

    /// Returns the log of the snapshots; nothing where nobody ever began to compact.
    ///
    /// # Errors
    /// A log that cannot be read, or tables without any: it is begun before every table.
    pub(crate) async fn snapshot_log(&self) -> Result<Option<State>, ArchiveError> {
        let damaged = |reason: String| ArchiveError::Damaged { path: log::folder(table::SNAPSHOT), reason };
        let log = Log::new(self, table::SNAPSHOT);
        let load = async || log.load(None).await.map_err(|e| damaged(log::in_words(&e)));
        if let Some(state) = load().await? {
            return Ok(Some(state));
        }
        let tables = self.table_folders().await?;
        // Somebody may have begun in between: their first act is this log, before any table.
        match load().await? {
            None if !tables.is_empty() => {
                Err(damaged(format!("it is missing, and these tables are there: {}", tables.join(", "))))
            }
            found => Ok(found),
        }
    }

    /// Returns the names of the folders that hold a log or seasons, but for the snapshots' own.
    pub(crate) async fn table_folders(&self) -> Result<Vec<String>, ArchiveError> {
        let mut names = Vec::new();
        for name in self.list("").await?.0 {
            let inside = self.list(&name).await?.0;
            if name != table::SNAPSHOT && inside.iter().any(|n| n == "_delta_log" || n.starts_with("season=")) {
                names.push(name);
            }
        }
        Ok(names)
    }

    /// Returns the names of the folders and of the files in a folder of the archive.
    pub(crate) async fn list(&self, relative: &str) -> Result<(Vec<String>, Vec<String>), ArchiveError> {
        let path = if relative.is_empty() { self.inner.prefix.clone() } else { self.path(relative) };
        let error = |source| ArchiveError::Store { path: relative.to_owned(), source };
        let listed = match self.inner.store.list_with_delimiter(Some(&path)).await {
            Err(object_store::Error::NotFound { .. }) => return Ok((Vec::new(), Vec::new())),
            other => other.map_err(error)?,
        };
        let name = |path: &Path| path.filename().unwrap_or_default().to_owned();
        let folders = listed.common_prefixes.iter().map(name).collect();
        Ok((folders, listed.objects.iter().map(|object| name(&object.location)).collect()))
    }

    /// Moves a file within the archive.
    pub(crate) async fn rename(&self, from: &str, to: &str) -> Result<(), ArchiveError> {
        let error = |source| ArchiveError::Store { path: from.to_owned(), source };
        self.inner.store.rename(&self.path(from), &self.path(to)).await.map_err(error)
    }

    /// Returns the size of a file in bytes, or nothing where it is not there.
    pub(crate) async fn size(&self, relative: &str) -> Result<Option<u64>, ArchiveError> {
        match self.inner.store.head(&self.path(relative)).await {
            Ok(found) => Ok(Some(found.size)),
            Err(object_store::Error::NotFound { .. }) => Ok(None),
            Err(source) => Err(ArchiveError::Store { path: relative.to_owned(), source }),
        }
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

fn in_words(error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::PermissionDenied => "this program has no permission for it".to_owned(),
        ErrorKind::NotADirectory | ErrorKind::AlreadyExists => "a file is in the way".to_owned(),
        _ => error.to_string(),
    }
}

impl State {
    /// Returns the number of rows that the log gives.
    pub(crate) fn rows(&self) -> u64 {
        self.files.values().map(log::rows_of).sum()
    }

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
        texts(name).filter(|column| column.is_valid(i)).map(|c| c.value(i).to_owned()).unwrap_or_default()
    };
    let number = |name: &str, i: usize| {
        let column = rows.column_by_name(name)?.as_primitive_opt::<Float64Type>()?;
        column.is_valid(i).then(|| column.value(i))
    };
    let degrees = |name: &str, i: usize| number(name, i).map(|degrees| (degrees * 1e7).round() as i32);
    let flag = |name: &str, i: usize| {
        let column = rows.column_by_name(name).and_then(|column| column.as_boolean_opt());
        column.is_some_and(|column| column.is_valid(i) && column.value(i))
    };
    let bytes = |name: &str, i: usize| {
        let column = rows.column_by_name(name).and_then(|column| column.as_binary_opt::<i32>());
        column.filter(|column| column.is_valid(i)).map(|column| column.value(i).to_vec()).unwrap_or_default()
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
                facts: FieldFacts {
                    name: text("field_name", i),
                    grower: text("grower", i),
                    region: text("region", i),
                    zone: text("zone", i),
                    area_m2: number("area_ha", i).map(|hectares| (hectares * 1e4).round() as i64),
                    row_width_mil: number("row_width_in", i).map(|inches| (inches * 1e3).round() as i64),
                    station: text("station", i),
                    soil: text("soil", i),
                    soil_map_unit: text("soil_map_unit", i),
                    soil_texture: text("soil_texture", i),
                    retired: flag("retired", i),
                    split_from: text("split_from", i),
                    middle: degrees("lon", i).zip(degrees("lat", i)).map(|(lon_e7, lat_e7)| Place { lon_e7, lat_e7 }),
                    boundary: bytes(geo::COLUMN, i),
                },
                crop: text("crop", i),
                kinds: text("kinds", i),
            };
            Some((file::document(&text("document", i))?, state))
        })
        .collect()
}
