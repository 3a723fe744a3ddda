//! Checking every byte that the last snapshot names.

use std::collections::BTreeMap;

use crate::archive::{Archive, live_file};
use crate::file::{self, Opened};
use crate::log;
use crate::{ArchiveError, LiveFile, table};

/// What a check of the whole archive found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct VerifyReport {
    /// The snapshot that was checked; nothing where nothing was ever compacted.
    pub snapshot: Option<u64>,
    /// Files that are whole.
    pub files: usize,
    /// Rows in them.
    pub rows: u64,
    /// What is not.
    pub damage: Vec<Damage>,
}

/// One thing that is damaged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The file, or the log where `file` is nothing.
    pub table: String,
    /// The file as the log describes it.
    pub file: Option<LiveFile>,
    /// What is wrong.
    pub what: String,
    /// What can still be read.
    pub readable: String,
    /// What to do next.
    pub next: String,
}

impl VerifyReport {
    /// Tells whether everything is whole.
    pub fn is_whole(&self) -> bool {
        self.damage.is_empty()
    }
}

impl Archive {
    /// Reads every live file and checks that its bytes are what its name promises, that it holds as many rows as the
    /// log and the snapshot say, and that the heads in it are those that the log's tags and the table `field` carry.
    ///
    /// # Errors
    /// Only a snapshot that cannot be read at all; every other damage is in the report.
    pub async fn verify(&self) -> Result<VerifyReport, ArchiveError> {
        let mut report = VerifyReport::default();
        let Some(info) = self.snapshot().await? else { return Ok(report) };
        report.snapshot = Some(info.number);
        let heads: Option<BTreeMap<String, String>> = self
            .units()
            .await
            .ok()
            .map(|units| units.into_iter().map(|(doc, unit)| (doc.to_string(), unit.heads)).collect());
        for (name, version) in &info.tables {
            let state = match log::Log::new(self, name).load(Some(version.version)).await {
                Ok(Some(state)) => state,
                Ok(None) => {
                    report.damage.push(log_damage(name, "its log is missing".to_owned()));
                    continue;
                }
                Err(e) => {
                    report.damage.push(log_damage(name, e.to_string()));
                    continue;
                }
            };
            let mut rows = 0;
            for add in state.files.values() {
                let file = live_file(name, add);
                rows += file.rows;
                match self.check(&file, add, heads.as_ref()).await {
                    Ok(()) => {
                        report.files += 1;
                        report.rows += file.rows;
                    }
                    Err(what) => report.damage.push(file_damage(file, what)),
                }
            }
            if (state.files.len() as u64, rows) != (version.files, version.rows) {
                report.damage.push(log_damage(
                    name,
                    format!(
                        "the snapshot promises {} rows in {} files, the log gives {rows} in {}",
                        version.rows,
                        version.files,
                        state.files.len()
                    ),
                ));
            }
        }
        Ok(report)
    }

    async fn check(
        &self,
        file: &LiveFile,
        add: &deltalake::kernel::Add,
        heads: Option<&BTreeMap<String, String>>,
    ) -> Result<(), String> {
        let bytes = match self.get(&file.path).await {
            Ok(bytes) => bytes,
            Err(ArchiveError::Store { source: object_store::Error::NotFound { .. }, .. }) => {
                return Err("it is missing".to_owned());
            }
            Err(e) => return Err(e.to_string()),
        };
        file::check_name(&add.path, &bytes)?;
        let opened = Opened::new(bytes)?;
        let rows = opened.read()?;
        if rows.num_rows() as u64 != file.rows {
            return Err(format!("it holds {} rows, the log promises {}", rows.num_rows(), file.rows));
        }
        let units = opened.units()?;
        if log::tag(add, "ligule.units_digest").is_some_and(|digest| digest != file::units_digest(&units)) {
            return Err("the heads in it are not those that the log's tag carries".to_owned());
        }
        let counted = file::rows_by_document(&rows);
        let promised: BTreeMap<String, u64> = units.iter().map(|(doc, unit)| (doc.clone(), unit.rows)).collect();
        if counted != promised {
            return Err("its footer and its rows disagree on the documents in it".to_owned());
        }
        let other = heads.and_then(|heads| units.iter().find(|(doc, unit)| heads.get(*doc) != Some(&unit.heads)));
        match other {
            Some((doc, _)) => Err(format!("it holds document {doc} at other heads than table `{}` says", table::FIELD)),
            None => Ok(()),
        }
    }
}

fn file_damage(file: LiveFile, what: String) -> Damage {
    let season = file.season.map(|year| format!(" of season {year}")).unwrap_or_default();
    Damage {
        table: file.table.clone(),
        what,
        readable: format!("every other file; queries of `{}`{season} fail until it is repaired", file.table),
        next: "compact with repair from a device that holds all fields of that season, or restore the file from a copy under the same name".to_owned(),
        file: Some(file),
    }
}

fn log_damage(table: &str, what: String) -> Damage {
    Damage {
        table: table.to_owned(),
        file: None,
        what,
        readable: format!("every table but `{table}`; its Parquet files may be read one by one"),
        next: format!("restore `{table}/_delta_log` from a copy, or compact all devices into a new folder"),
    }
}

impl Archive {
    /// Writes damaged files anew from units that hold the same documents, and reports what it did. Call it with every
    /// unit that the device holds.
    ///
    /// # Errors
    /// As [`Archive::compact`]; and [`ArchiveError::Damaged`] where a damaged file holds a document that is not
    /// among the units, because writing it anew would lose that document.
    pub async fn repair(
        &self,
        units: &[crate::FarmUnit],
        kinds: &[ligule_observation::kind::Kind],
        at: jiff::Timestamp,
        progress: &(dyn Fn(crate::Progress) + Sync),
    ) -> Result<crate::CompactReport, ArchiveError> {
        let mut lost = std::collections::BTreeSet::new();
        let damage = self.verify().await?.damage;
        let archived = match damage.iter().any(|d| d.table == table::FIELD && d.file.is_some()) {
            // The list of documents is damaged itself: what the files beside it hold is the next best list.
            true => self.documents_beside_field().await?,
            false => self.units().await?.into_iter().map(|(doc, unit)| (doc, unit.season)).collect(),
        };
        for file in damage.into_iter().filter_map(|damage| damage.file) {
            let inside = |doc: &ligule_observation::ids::DocId| {
                file::bucket_in(&file.path).is_none_or(|(bucket, of)| crate::bucket::bucket_of(*doc, of) == bucket)
            };
            let missing = archived
                .iter()
                .filter(|(doc, season)| file.season.is_none_or(|year| year == **season) && inside(doc))
                .filter(|(doc, _)| !units.iter().any(|unit| unit.doc == **doc))
                .count();
            if missing > 0 {
                return Err(ArchiveError::Damaged {
                    path: file.path,
                    reason: format!("{missing} documents that it may hold are not on this device"),
                });
            }
            lost.insert(file.path);
        }
        self.compact_without(units, kinds, at, &lost, progress).await
    }

    async fn documents_beside_field(&self) -> Result<BTreeMap<ligule_observation::ids::DocId, i32>, ArchiveError> {
        let mut documents = BTreeMap::new();
        for file in self.files(None).await? {
            if file.table == table::FIELD || file.table == table::SNAPSHOT {
                continue;
            }
            let Ok(bytes) = self.get(&file.path).await else { continue };
            let Ok(units) = Opened::new(bytes).and_then(|opened| opened.units()) else { continue };
            let ids = units.keys().filter_map(|doc| file::document(doc));
            documents.extend(ids.map(|doc| (doc, file.season.unwrap_or(0))));
        }
        Ok(documents)
    }
}
