//! Writing anew what is damaged, from units that hold the same documents.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use ligule_observation::ids::DocId;
use ligule_observation::kind::Kind;

use crate::archive::{Archive, UnitState};
use crate::compact::is_stale;
use crate::inspect::Damage;
use crate::{ArchiveError, CompactReport, FarmUnit, Progress, bucket, file, log, table};

/// What a compaction has to write anew.
pub(crate) struct Repair {
    /// Files that cannot be read, relative to the archive.
    pub(crate) lost: BTreeSet<String>,
    /// Whether a whole table has to be made anew, so that every unit is to be written.
    pub(crate) everything: bool,
    /// The documents that the archive holds or held.
    pub(crate) known: BTreeMap<DocId, UnitState>,
}

impl Archive {
    /// Writes what is damaged anew from units that hold the same documents, and reports what it did. Call it with every
    /// unit that the device holds, and with `replaces` of each as [`Archive::inspect`] tells the archived heads.
    ///
    /// Damaged files are written anew; a damaged log is set aside in the table's folder `_damaged_log-…` and its table
    /// made anew; a damaged snapshot is made from the tables' logs. Where nothing is damaged this is a compaction.
    ///
    /// # Errors
    /// As [`Archive::compact`]; and [`ArchiveError::Unrepairable`] where a damaged place may hold a document that is not
    /// among the units, or only in an older state, because writing it anew would lose rows. Then nothing was changed.
    pub async fn repair(
        &self,
        units: &[FarmUnit],
        kinds: &[Kind],
        at: Timestamp,
        progress: &(dyn Fn(Progress) + Sync),
    ) -> Result<CompactReport, ArchiveError> {
        let damage = self.verify().await?.damage;
        let known = self.inspect().await?.units;
        let held: BTreeSet<DocId> = units
            .iter()
            .filter(|unit| known.get(&unit.doc).is_none_or(|archived| !is_stale(unit, archived)))
            .map(|unit| unit.doc)
            .collect();
        let mut repair = Repair { lost: BTreeSet::new(), everything: false, known };
        let mut logs = BTreeSet::new();
        for one in &damage {
            let missing = repair.known.iter().filter(|(doc, unit)| may_hold(one, **doc, unit) && !held.contains(doc));
            let documents = missing.count();
            if documents > 0 {
                return Err(ArchiveError::Unrepairable { path: one.path(), documents });
            }
            match (&one.file, one.table.as_str()) {
                (Some(_), table::SNAPSHOT) => {}
                (Some(file), _) => drop(repair.lost.insert(file.path.clone())),
                (None, name) => {
                    repair.everything |= name != table::SNAPSHOT;
                    logs.insert(name.to_owned());
                }
            }
        }
        for table in &logs {
            self.set_aside(table, at).await?;
        }
        self.compact_with(units, kinds, at, (!damage.is_empty()).then_some(&repair), progress).await
    }

    /// Moves a damaged log away, so that a new one can be begun and the old one can still be looked at.
    async fn set_aside(&self, table: &str, at: Timestamp) -> Result<(), ArchiveError> {
        let folder = log::folder(table);
        for name in self.list(&folder).await?.1 {
            let aside = format!("{table}/_damaged_log-{}/{name}", at.as_millisecond());
            self.rename(&format!("{folder}/{name}"), &aside).await?;
        }
        Ok(())
    }
}

/// Tells whether rows of a document may be in a damaged place.
fn may_hold(damage: &Damage, doc: DocId, unit: &UnitState) -> bool {
    match &damage.file {
        // The snapshot holds no rows; its tables' logs tell what it told.
        _ if damage.table == table::SNAPSHOT => false,
        None => true,
        Some(file) => {
            file.season.is_none_or(|year| year == unit.season)
                && file::bucket_in(&file.path).is_none_or(|(bucket, of)| bucket::bucket_of(doc, of) == bucket)
        }
    }
}
