//! Checking every byte that the last snapshot names.

use std::collections::{BTreeMap, BTreeSet};

use crate::archive::{Archive, live_file};
use crate::file::{self, Opened};
use crate::inspect::Damage;
use crate::{ArchiveError, LiveFile, log, table};

/// What a check of the whole archive found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct VerifyReport {
    /// The snapshot that was checked; nothing where nothing was ever compacted.
    pub snapshot: Option<u64>,
    /// Files that are whole, over all tables but `snapshot`; counted as in [`crate::CompactReport::files`].
    pub files: usize,
    /// Rows in them; counted as in [`crate::CompactReport::rows`].
    pub rows: u64,
    /// What is not.
    pub damage: Vec<Damage>,
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
    /// Where the snapshot cannot be read, the tables are checked as their logs have them.
    ///
    /// # Errors
    /// A store that refuses; every damage is in the report.
    pub async fn verify(&self) -> Result<VerifyReport, ArchiveError> {
        let survey = self.survey().await?;
        let heads: Option<BTreeMap<String, String>> = match survey.tables.get(table::FIELD) {
            Some(state) => self
                .units_in(state)
                .await
                .ok()
                .map(|units| units.into_iter().map(|(doc, unit)| (doc.to_string(), unit.heads)).collect()),
            None => None,
        };
        let mut report =
            VerifyReport { snapshot: survey.snapshot.as_ref().map(|info| info.number), ..VerifyReport::default() };
        let known: BTreeSet<String> = survey.damage.iter().map(Damage::path).collect();
        for (name, state) in &survey.tables {
            for add in state.files.values() {
                let file = live_file(name, add);
                if known.contains(&file.path) {
                    continue;
                }
                match self.check(&file, add, heads.as_ref()).await {
                    Ok(()) => {
                        report.files += 1;
                        report.rows += file.rows;
                    }
                    Err(what) => report.damage.push(Damage::of_file(file, what)),
                }
            }
        }
        report.damage.extend(survey.damage);
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
