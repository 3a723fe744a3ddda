//! What an archive holds, damaged or not, without reading its files.

use std::collections::{BTreeMap, BTreeSet};

use deltalake::kernel::Add;
use ligule_observation::ids::DocId;

use crate::archive::{Archive, SnapshotInfo, UnitState, live_file};
use crate::error::{REPAIR, readable_beside};
use crate::file::{self, Opened};
use crate::log::{self, Log, State};
use crate::table::{self, Table};
use crate::{ArchiveError, FieldFacts, LiveFile};

/// One thing that is damaged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The table.
    pub table: String,
    /// The file as the log describes it; nothing where the log itself is damaged.
    pub file: Option<LiveFile>,
    /// What is wrong.
    pub what: String,
    /// What can still be read.
    pub readable: String,
    /// What to do next.
    pub next: String,
}

/// What an archive holds and what of it is damaged, as far as logs and the sizes of files tell.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Inspection {
    /// The last snapshot; nothing where nothing was ever compacted, or where it is damaged.
    pub snapshot: Option<SnapshotInfo>,
    /// The tables whose logs are whole, with their columns as they are archived.
    pub tables: Vec<Table>,
    /// The live files of these tables, damaged ones included.
    pub files: Vec<LiveFile>,
    /// The archived documents. Where the table `field` is damaged they are those that the other files name, with
    /// season and heads alone; a document that files name at several heads has them all, separated by blanks.
    pub units: BTreeMap<DocId, UnitState>,
    /// What is damaged.
    pub damage: Vec<Damage>,
}

/// Logs and their damage.
#[derive(Default)]
pub(crate) struct Survey {
    pub(crate) snapshot: Option<SnapshotInfo>,
    /// The log of the snapshots, where it is there and can be read.
    pub(crate) log: Option<State>,
    /// The tables whose logs are whole: as the snapshot names them, or at their latest where it cannot be read.
    pub(crate) tables: BTreeMap<String, State>,
    pub(crate) damage: Vec<Damage>,
}

impl Damage {
    pub(crate) fn of_file(file: LiveFile, what: String) -> Self {
        Self {
            table: file.table.clone(),
            what,
            readable: readable_beside(&file.path),
            next: format!("restore the file from a copy under the same name, or run {REPAIR}"),
            file: Some(file),
        }
    }

    pub(crate) fn of_log(table: &str, what: String) -> Self {
        let path = log::folder(table);
        Self {
            table: table.to_owned(),
            file: None,
            what,
            readable: readable_beside(&path),
            next: format!("restore `{path}` from a copy, or run {REPAIR}"),
        }
    }

    /// Returns where it is, relative to the archive: the file, or the folder of the log.
    pub fn path(&self) -> String {
        self.file.as_ref().map_or_else(|| log::folder(&self.table), |file| file.path.clone())
    }

    /// Returns it as an error.
    pub fn error(&self) -> ArchiveError {
        ArchiveError::Damaged { path: self.path(), reason: self.what.clone() }
    }
}

impl Archive {
    /// Looks at every log and at the presence and size of every live file, and returns what is whole and what is not.
    /// Files are not read, but for those of the table `field`.
    ///
    /// # Errors
    /// A store that refuses.
    pub async fn inspect(&self) -> Result<Inspection, ArchiveError> {
        let mut survey = self.survey().await?;
        let units = match self.units_listed(&survey).await {
            Ok(units) => units,
            Err(damage) => {
                // Nothing is known of its size, or its bytes are others: a look at sizes could not tell.
                if let Some(damage) = damage.filter(|new| survey.damage.iter().all(|old| old.path() != new.path())) {
                    survey.damage.push(damage);
                }
                self.units_in_footers(&survey).await?
            }
        };
        let files = survey.files();
        let tables = survey.tables.into_iter().map(|(name, state)| state.into_table(&name)).collect();
        Ok(Inspection { snapshot: survey.snapshot, tables, files, units, damage: survey.damage })
    }

    /// Checks that a live file is there and as large as the log says.
    ///
    /// # Errors
    /// A store that refuses.
    pub async fn look_at(&self, file: &LiveFile) -> Result<Option<Damage>, ArchiveError> {
        let what = match self.size(&file.path).await? {
            None => "it is missing".to_owned(),
            Some(bytes) if bytes != file.bytes => format!("it has {bytes} bytes, the log promises {}", file.bytes),
            Some(_) => return Ok(None),
        };
        Ok(Some(Damage::of_file(file.clone(), what)))
    }

    /// Reads a live file whole and checks that its bytes are what its name promises and that it holds as many rows as
    /// the log says.
    pub async fn read_through(&self, file: &LiveFile) -> Option<Damage> {
        let within = file.path.split_once('/').map_or(file.path.as_str(), |(_, within)| within);
        let what = match self.open_file(&file.table, within).await {
            Ok((_, rows)) if rows.num_rows() as u64 == file.rows => return None,
            Ok((_, rows)) => format!("it holds {} rows, the log promises {}", rows.num_rows(), file.rows),
            Err(ArchiveError::Damaged { reason, .. }) => reason,
            Err(other) => other.to_string(),
        };
        Some(Damage::of_file(file.clone(), what))
    }

    pub(crate) async fn survey(&self) -> Result<Survey, ArchiveError> {
        let mut survey = Survey::default();
        let snapshot = match self.snapshot_log().await {
            Ok(Some(log)) => {
                let snapshot = self.snapshot_in(&log).await;
                survey.log = Some(log);
                snapshot
            }
            Ok(None) => Ok(None),
            Err(e) => Err(e),
        };
        match snapshot {
            Ok(snapshot) => {
                for (name, promised) in snapshot.iter().flat_map(|info| &info.tables) {
                    match self.named(name, promised).await {
                        Ok(state) => drop(survey.tables.insert(name.clone(), state)),
                        Err(e) => survey.damage.push(Damage::of_log(name, reason(e)?)),
                    }
                }
                survey.snapshot = snapshot;
            }
            Err(e) => {
                let file = survey.log.as_ref().and_then(|log| log.files.values().next());
                survey.damage.push(match (file, reason(e)?) {
                    (Some(add), what) => Damage::of_file(live_file(table::SNAPSHOT, add), what),
                    (None, what) => Damage::of_log(table::SNAPSHOT, what),
                });
                self.survey_folders(&mut survey).await?;
            }
        }
        for file in survey.files() {
            survey.damage.extend(self.look_at(&file).await?);
        }
        Ok(survey)
    }

    /// Loads the latest state of every table that is in the archive's folder.
    async fn survey_folders(&self, survey: &mut Survey) -> Result<(), ArchiveError> {
        for name in self.table_folders().await? {
            match Log::new(self, &name).load(None).await {
                Ok(Some(state)) => drop(survey.tables.insert(name, state)),
                Ok(None) => survey.damage.push(Damage::of_log(&name, "the table's log is missing".to_owned())),
                Err(e) => survey.damage.push(Damage::of_log(&name, log::in_words(&e))),
            }
        }
        Ok(())
    }

    /// Returns the documents that the table `field` lists, or why it cannot be relied on.
    async fn units_listed(&self, survey: &Survey) -> Result<BTreeMap<DocId, UnitState>, Option<Damage>> {
        if survey.damage.iter().any(|damage| damage.table == table::FIELD) {
            return Err(None);
        }
        let Some(state) = survey.tables.get(table::FIELD) else {
            return if survey.damage.is_empty() { Ok(BTreeMap::new()) } else { Err(None) };
        };
        self.units_in(state).await.map_err(|e| match e {
            ArchiveError::Damaged { path, reason } => {
                let file = survey.files().into_iter().find(|file| file.path == path);
                file.map(|file| Damage::of_file(file, reason))
            }
            _ => None,
        })
    }

    /// Returns the documents that files name in their footers: live files first, and any file that is left where no
    /// live one names a document.
    async fn units_in_footers(&self, survey: &Survey) -> Result<BTreeMap<DocId, UnitState>, ArchiveError> {
        let live: BTreeSet<String> = survey.files().into_iter().map(|file| file.path).collect();
        let mut left = BTreeSet::new();
        for table in self.table_folders().await? {
            for season in self.list(&table).await?.0 {
                let folder = format!("{table}/{season}");
                let names = self.list(&folder).await?.1.into_iter().filter(|name| name.ends_with(".parquet"));
                left.extend(names.map(|name| format!("{folder}/{name}")).filter(|path| !live.contains(path)));
            }
        }
        let mut units = self.units_named_by(&live).await;
        for (doc, unit) in self.units_named_by(&left).await {
            units.entry(doc).or_insert(unit);
        }
        Ok(units)
    }

    async fn units_named_by(&self, paths: &BTreeSet<String>) -> BTreeMap<DocId, UnitState> {
        let mut found: BTreeMap<DocId, (i32, BTreeSet<String>)> = BTreeMap::new();
        for path in paths {
            let Ok(bytes) = self.get(path).await else { continue };
            let whole = file::check_name(path, &bytes).and_then(|()| Opened::new(bytes)?.units());
            for (doc, unit) in whole.unwrap_or_default() {
                if let Some(doc) = file::document(&doc) {
                    let season = file::season_in(path).unwrap_or_default();
                    found.entry(doc).or_insert_with(|| (season, BTreeSet::new())).1.insert(unit.heads);
                }
            }
        }
        let state = |(season, heads): (i32, BTreeSet<String>)| UnitState {
            season,
            field: String::new(),
            heads: heads.into_iter().collect::<Vec<_>>().join(" "),
            observations: 0,
            facts: FieldFacts::default(),
            crop: String::new(),
            kinds: String::new(),
        };
        found.into_iter().map(|(doc, unit)| (doc, state(unit))).collect()
    }
}

impl Survey {
    /// Returns the live files of the tables whose logs are whole.
    pub(crate) fn files(&self) -> Vec<LiveFile> {
        let of = |(name, state): (&String, &State)| -> Vec<LiveFile> {
            state.files.values().map(|add: &Add| live_file(name, add)).collect()
        };
        self.tables.iter().flat_map(of).collect()
    }
}

/// Returns what is damaged; an error that is no damage goes on.
fn reason(error: ArchiveError) -> Result<String, ArchiveError> {
    match error {
        ArchiveError::Damaged { reason, .. } => Ok(reason),
        other => Err(other),
    }
}
