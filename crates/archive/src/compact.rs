//! Adding farm units to an archive.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Duration;

use arrow::array::{
    ArrayRef, AsArray, BooleanArray, Int64Array, RecordBatch, StringArray, TimestampMicrosecondArray, new_null_array,
};
use arrow::compute::{concat_batches, filter_record_batch};
use deltalake::kernel::Add;
use jiff::Timestamp;
use ligule_observation::ids::DocId;
use ligule_observation::kind::Kind;

use crate::archive::{Archive, UnitState, united};
use crate::batch::{batches_of, kinds_in, sort};
use crate::bucket::{bucket_of, buckets_for};
use crate::file::{self, Opened, PROGRAM, UnitIn, UnitsIn};
use crate::inspect::Survey;
use crate::log::{self, Committed, Log};
use crate::repair::Repair;
use crate::table::{self, Table};
use crate::unit::feature_id;
use crate::{ArchiveError, FarmUnit};

/// How often a compaction starts anew when others commit first.
const ATTEMPTS: usize = 20;

/// What a compaction is doing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Progress {
    /// Rewriting the files of one season of one table.
    Writing {
        /// The table.
        table: String,
        /// Year of harvest.
        season: i32,
    },
    /// Committing to the log of a table.
    Committing {
        /// The table.
        table: String,
        /// How many tables are committed already.
        done: usize,
        /// How many there are.
        of: usize,
    },
    /// Others committed first; starting anew.
    Again {
        /// Which attempt begins, from 2.
        attempt: usize,
    },
}

/// What a compaction did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CompactReport {
    /// Tables whose files changed.
    pub tables: Vec<String>,
    /// Files that came to the live ones.
    pub files_added: usize,
    /// Files that are live no longer.
    pub files_removed: usize,
    /// Files that are live now, over all tables but `snapshot`; what a whole archive's [`crate::VerifyReport::files`] is.
    pub files: usize,
    /// Rows in them; what a whole archive's [`crate::VerifyReport::rows`] is. An observation with a list has rows in two
    /// tables, and the table `field` has one row per document.
    pub rows: u64,
    /// Units that were written.
    pub changed_units: usize,
    /// Units that the archive holds as they are.
    pub unchanged_units: usize,
    /// Units that were left out because the archive holds heads that they do not contain: sync, then compact again.
    pub stale_units: Vec<DocId>,
    /// The snapshot that is the last one now.
    pub snapshot: Option<u64>,
}

/// The files that a table should have.
struct Plan {
    table: Table,
    files: BTreeMap<String, Add>,
}

impl Archive {
    /// Brings units into the archive: files of the buckets in which something changed are written anew, and one
    /// snapshot makes all of it true at once. Units that are there with the same heads cost nothing; doing it twice
    /// adds nothing. Units that are not given stay as they are. Others may compact at the same time.
    ///
    /// `at` is the time of the compaction. Documents of crews (feature `Crew`) do not belong here.
    ///
    /// # Errors
    /// A name that two kinds claim, a column whose type changed, a store that refuses, others who were faster twenty
    /// times; and [`ArchiveError::Damaged`] where a log cannot be read, a live file is missing or of another size, or a
    /// file that is to be rewritten is damaged: then nothing is written, see [`Archive::repair`].
    pub async fn compact(
        &self,
        units: &[FarmUnit],
        kinds: &[Kind],
        at: Timestamp,
        progress: &(dyn Fn(Progress) + Sync),
    ) -> Result<CompactReport, ArchiveError> {
        self.compact_with(units, kinds, at, None, progress).await
    }

    /// Compacts as if what is to be repaired were not there.
    pub(crate) async fn compact_with(
        &self,
        units: &[FarmUnit],
        kinds: &[Kind],
        at: Timestamp,
        repair: Option<&Repair>,
        progress: &(dyn Fn(Progress) + Sync),
    ) -> Result<CompactReport, ArchiveError> {
        let units: BTreeMap<DocId, &FarmUnit> = units.iter().map(|unit| (unit.doc, unit)).collect();
        for attempt in 1..=ATTEMPTS {
            let job = Job { archive: self, units: &units, kinds, at, repair, progress };
            if let Some(report) = job.run().await? {
                return Ok(report);
            }
            progress(Progress::Again { attempt: attempt + 1 });
            tokio::time::sleep(Duration::from_millis(20 * attempt as u64)).await;
        }
        Err(ArchiveError::Busy { attempts: ATTEMPTS })
    }
}

struct Job<'a> {
    archive: &'a Archive,
    units: &'a BTreeMap<DocId, &'a FarmUnit>,
    kinds: &'a [Kind],
    at: Timestamp,
    repair: Option<&'a Repair>,
    progress: &'a (dyn Fn(Progress) + Sync),
}

impl Job<'_> {
    /// Makes one attempt; nothing means that somebody else committed in between.
    async fn run(&self) -> Result<Option<CompactReport>, ArchiveError> {
        let mut view = self.archive.survey().await?;
        if self.repair.is_none() {
            if let Some(damage) = view.damage.first() {
                return Err(damage.error());
            }
            if !self.begin(&mut view).await? {
                return Ok(None);
            }
        }
        let mut lost_units = BTreeSet::new();
        for (name, state) in &mut view.tables {
            state.files.retain(|path, _| {
                let kept = self.repair.is_none_or(|repair| !repair.lost.contains(&format!("{name}/{path}")));
                if !kept {
                    lost_units.insert((file::bucket_in(path), file::season_in(path)));
                }
                kept
            });
        }
        let archived = match (self.repair, view.tables.get(table::FIELD)) {
            (Some(repair), _) => repair.known.clone(),
            (None, Some(state)) => self.archive.units_in(state).await?,
            (None, None) => BTreeMap::new(),
        };
        let everything = self.repair.is_some_and(|repair| repair.everything);
        let is_lost = |unit: &FarmUnit| {
            everything
                || lost_units.iter().any(|(bucket, season)| {
                    *season == Some(unit.season)
                        && bucket.is_some_and(|(bucket, buckets)| bucket_of(unit.doc, buckets) == bucket)
                })
        };
        let mut report = CompactReport::default();
        let mut changed: BTreeMap<i32, Vec<&FarmUnit>> = BTreeMap::new();
        for unit in self.units.values() {
            match archived.get(&unit.doc) {
                Some(old) if is_stale(unit, old) => report.stale_units.push(unit.doc),
                Some(old) if is_unchanged(unit, old, self.kinds) && !is_lost(unit) => report.unchanged_units += 1,
                _ => {
                    report.changed_units += 1;
                    changed.entry(unit.season).or_default().push(unit);
                }
            }
        }
        let mut plans = self.plans(&view)?;
        for (season, units) in &changed {
            self.write_season(*season, units, &mut plans).await?;
        }
        self.commit(&view, plans, report).await
    }

    /// Begins the log of the snapshots where nothing was ever compacted, before any table: tables without it are damage.
    /// Returns whether this job may go on: nobody has written a snapshot meanwhile.
    async fn begin(&self, view: &mut Survey) -> Result<bool, ArchiveError> {
        if view.log.is_none() {
            let log = Log::new(self.archive, table::SNAPSHOT);
            // Whoever is faster has done the same.
            log.commit(None, &table::snapshot_table(), &BTreeMap::new(), self.at).await?;
            self.archive.sync_to_disk(&format!("{}/{:020}.json", log::folder(table::SNAPSHOT), 0));
            view.log = log.load(Some(0)).await?;
            return Ok(view.log.as_ref().is_some_and(|log| log.files.is_empty()));
        }
        Ok(true)
    }

    /// Returns the tables with the files that the snapshot names; they are the ground on which this job builds, whatever
    /// others have staged since.
    fn plans(&self, view: &Survey) -> Result<Vec<Plan>, ArchiveError> {
        let mut plans = Vec::new();
        for declared in table::tables(self.kinds)? {
            let state = view.tables.get(&declared.name);
            let table = match state {
                Some(state) => united(&state.columns, declared)?,
                None => declared,
            };
            plans.push(Plan { table, files: state.map(|state| state.files.clone()).unwrap_or_default() });
        }
        // Tables of kinds that this device does not know come along as they are; their rows of changed units move to
        // `other`, where this device puts what it does not know.
        for (name, state) in &view.tables {
            if !plans.iter().any(|plan| plan.table.name == *name) {
                let list = name.contains("__");
                let table = Table {
                    name: name.clone(),
                    about: state.about(),
                    version: 0,
                    columns: state.columns.clone(),
                    sorted_by: if list {
                        vec!["field", "time", "observation", "position", "document"]
                    } else {
                        vec!["field", "time", "observation", "document"]
                    },
                };
                plans.insert(0, Plan { table, files: state.files.clone() });
            }
        }
        Ok(plans)
    }

    async fn write_season(&self, season: i32, units: &[&FarmUnit], plans: &mut [Plan]) -> Result<(), ArchiveError> {
        let batches = batches_of(self.kinds, units)?;
        for plan in plans {
            let fresh = match batches.get(&plan.table.name) {
                Some(batch) => batch.clone(),
                None => RecordBatch::new_empty(plan.table.schema()),
            };
            self.write_table(season, units, &fresh, plan).await?;
        }
        Ok(())
    }

    /// Rewrites the buckets of one table and season in which rows of the changed units are or were.
    async fn write_table(
        &self,
        season: i32,
        changed: &[&FarmUnit],
        fresh: &RecordBatch,
        plan: &mut Plan,
    ) -> Result<(), ArchiveError> {
        let table = &plan.table;
        let changed: BTreeMap<String, &FarmUnit> = changed.iter().map(|unit| (unit.doc.to_string(), *unit)).collect();
        let mut old_files: Vec<(String, Opened)> = Vec::new();
        let mut units = UnitsIn::new();
        let mut touched: BTreeSet<String> = BTreeSet::new();
        for path in plan.files.values().filter(|add| log::season_of(add) == Some(season)).map(|add| add.path.clone()) {
            let opened = self.open(&table.name, &path).await?;
            let inside = opened.units().map_err(|reason| damaged(&table.name, &path, reason))?;
            for (document, unit) in inside {
                if changed.contains_key(&document) {
                    touched.insert(document);
                } else {
                    units.insert(document, unit);
                }
            }
            old_files.push((path, opened));
        }
        for (document, rows) in file::rows_by_document(fresh) {
            if let Some(unit) = changed.get(&document) {
                units.insert(document.clone(), UnitIn { heads: unit.heads.clone(), rows });
                touched.insert(document);
            }
        }
        if touched.is_empty() {
            return Ok(());
        }
        (self.progress)(Progress::Writing { table: table.name.clone(), season });

        let buckets = buckets_for(units.values().map(|unit| unit.rows).sum());
        let spread_anew = old_files.iter().any(|(path, _)| file::bucket_in(path).is_none_or(|(_, of)| of != buckets));
        let rewritten: BTreeSet<u32> = if spread_anew {
            (0..buckets).collect()
        } else {
            touched.iter().filter_map(|document| file::document(document)).map(|doc| bucket_of(doc, buckets)).collect()
        };
        let schema = table.schema();
        let mut rows = vec![fitted(table, fresh)?];
        for (path, opened) in &old_files {
            if spread_anew || file::bucket_in(path).is_some_and(|(bucket, _)| rewritten.contains(&bucket)) {
                let all = opened.read().map_err(|reason| damaged(&table.name, path, reason))?;
                rows.push(fitted(table, &keep(table, &all, |document| !changed.contains_key(document))?)?);
                plan.files.remove(path);
            }
        }
        let rows = concat_batches(&schema, &rows).map_err(ArchiveError::arrow(&table.name))?;
        for bucket in rewritten {
            let mine = |document: &str| file::document(document).is_some_and(|doc| bucket_of(doc, buckets) == bucket);
            let batch = sort(table, &keep(table, &rows, mine)?)?;
            if batch.num_rows() == 0 {
                continue;
            }
            let inside: UnitsIn =
                units.iter().filter(|(doc, _)| mine(doc)).map(|(d, u)| (d.clone(), u.clone())).collect();
            let written = file::write(table, &batch, &inside)?;
            let path = file::name(Some(season), bucket, buckets, &written.hash);
            self.archive.put(&format!("{}/{path}", table.name), written.bytes.clone()).await?;
            plan.files.insert(path.clone(), log::add(path, Some(season), &written, self.at));
        }
        Ok(())
    }

    async fn open(&self, table: &str, path: &str) -> Result<Opened, ArchiveError> {
        let bytes = match self.archive.get(&format!("{table}/{path}")).await {
            Err(ArchiveError::Store { source: object_store::Error::NotFound { .. }, .. }) => {
                return Err(damaged(table, path, "it is missing".to_owned()));
            }
            other => other?,
        };
        file::check_name(path, &bytes).and_then(|()| Opened::new(bytes)).map_err(|reason| damaged(table, path, reason))
    }

    /// Stages every table, then commits the snapshot that makes it true.
    async fn commit(
        &self,
        view: &Survey,
        plans: Vec<Plan>,
        mut report: CompactReport,
    ) -> Result<Option<CompactReport>, ArchiveError> {
        let mut named = BTreeMap::new();
        let mut any_staged = false;
        let of = plans.len();
        for (done, plan) in plans.iter().enumerate() {
            let none = BTreeMap::new();
            let before = view.tables.get(&plan.table.name).map_or(&none, |state| &state.files);
            let added = plan.files.keys().filter(|path| !before.contains_key(*path)).count();
            let removed = before.keys().filter(|path| !plan.files.contains_key(*path)).count();
            if added + removed > 0 {
                report.tables.push(plan.table.name.clone());
                report.files_added += added;
                report.files_removed += removed;
            }
            report.files += plan.files.len();
            report.rows += plan.files.values().map(log::rows_of).sum::<u64>();
            let (version, staged) =
                self.stage(plan, || Progress::Committing { table: plan.table.name.clone(), done, of }).await?;
            any_staged |= staged;
            if let Some(version) = version {
                named.insert(plan.table.name.clone(), (version, plan));
            }
        }
        if report.tables.is_empty() && self.repair.is_none() {
            report.snapshot = view.snapshot.as_ref().map(|info| info.number);
            // What was staged here was only put back as the snapshot names it. If the snapshot moved meanwhile, it was
            // put back too far.
            let moved = any_staged && self.archive.snapshot().await?.map(|now| now.number) != report.snapshot;
            return Ok((!moved).then_some(report));
        }
        let Some(number) = self.commit_snapshot(view.log.as_ref(), &named).await? else { return Ok(None) };
        report.snapshot = Some(number);
        for (name, (version, _)) in &named {
            self.archive.sync_to_disk(&format!("{name}/_delta_log/{version:020}.json"));
        }
        self.archive.sync_to_disk(&format!("{}/_delta_log/{number:020}.json", table::SNAPSHOT));
        // Somebody who found nothing to do may have put a table back while this job was between its commits.
        for (_, plan) in named.values() {
            self.stage(plan, || Progress::Committing { table: plan.table.name.clone(), done: of, of }).await?;
        }
        Ok(Some(report))
    }

    /// Makes the plan's files the latest version of its table and returns that version, and whether a commit was needed.
    async fn stage(&self, plan: &Plan, committing: impl Fn() -> Progress) -> Result<(Option<u64>, bool), ArchiveError> {
        let log = Log::new(self.archive, &plan.table.name);
        for _ in 0..ATTEMPTS {
            let latest = log.load(None).await?;
            let table = match &latest {
                None if plan.files.is_empty() => return Ok((None, false)),
                None => plan.table.clone(),
                Some(state) if state.files.keys().eq(plan.files.keys()) => return Ok((Some(state.version), false)),
                Some(state) => united(&state.columns, plan.table.clone())?,
            };
            (self.progress)(committing());
            if let Committed::As(version) = log.commit(latest.as_ref(), &table, &plan.files, self.at).await? {
                return Ok((Some(version), true));
            }
        }
        Err(ArchiveError::Busy { attempts: ATTEMPTS })
    }

    async fn commit_snapshot(
        &self,
        last: Option<&log::State>,
        named: &BTreeMap<String, (u64, &Plan)>,
    ) -> Result<Option<u64>, ArchiveError> {
        let table = table::snapshot_table();
        let numbers = |pick: fn(&(u64, &Plan)) -> u64| -> ArrayRef {
            Arc::new(Int64Array::from_iter_values(named.values().map(|plan| pick(plan) as i64)))
        };
        let columns: Vec<ArrayRef> = vec![
            Arc::new(StringArray::from_iter_values(named.keys())),
            numbers(|(version, _)| *version),
            numbers(|(_, plan)| plan.files.len() as u64),
            numbers(|(_, plan)| plan.files.values().map(log::rows_of).sum()),
            Arc::new(
                TimestampMicrosecondArray::from_iter_values(named.values().map(|_| self.at.as_microsecond()))
                    .with_timezone("UTC"),
            ),
            Arc::new(StringArray::from_iter_values(named.values().map(|_| PROGRAM))),
        ];
        let batch = RecordBatch::try_new(table.schema(), columns).map_err(ArchiveError::arrow(&table.name))?;
        let written = file::write(&table, &batch, &UnitsIn::new())?;
        let path = file::name(None, 0, 1, &written.hash);
        self.archive.put(&format!("{}/{path}", table.name), written.bytes.clone()).await?;
        let files = BTreeMap::from([(path.clone(), log::add(path, None, &written, self.at))]);
        let log = Log::new(self.archive, &table.name);
        Ok(match log.commit(last, &table, &files, self.at).await? {
            Committed::As(number) => Some(number),
            Committed::Overtaken => None,
        })
    }
}

/// Tells whether the archive holds heads of a document that this unit is not known to contain.
pub(crate) fn is_stale(unit: &FarmUnit, archived: &UnitState) -> bool {
    unit.heads != archived.heads && unit.replaces.as_ref().is_some_and(|known| *known != archived.heads)
}

fn is_unchanged(unit: &FarmUnit, archived: &UnitState, kinds: &[Kind]) -> bool {
    unit.heads == archived.heads
        && unit.season == archived.season
        && unit.crop == archived.crop
        && feature_id(&unit.feature) == archived.field
        && *unit.field == archived.facts
        && !knows_more(&kinds_in(kinds, unit), &archived.kinds)
}

/// Tells whether this program knows a kind, or a newer version of it, that the one who archived did not: then values
/// move from the table `other` into columns.
fn knows_more(mine: &str, archived: &str) -> bool {
    let parse = |text: &str| -> BTreeMap<String, u32> {
        let pairs = text.split_whitespace().filter_map(|pair| pair.rsplit_once('='));
        pairs.filter_map(|(kind, version)| Some((kind.to_owned(), version.parse().ok()?))).collect()
    };
    let archived = parse(archived);
    parse(mine).iter().any(|(kind, version)| archived.get(kind).is_none_or(|old| version > old))
}

fn damaged(table: &str, path: &str, reason: String) -> ArchiveError {
    ArchiveError::Damaged { path: format!("{table}/{path}"), reason }
}

/// Keeps the rows whose document passes.
fn keep(table: &Table, rows: &RecordBatch, passes: impl Fn(&str) -> bool) -> Result<RecordBatch, ArchiveError> {
    let Some(documents) = rows.column_by_name("document").and_then(|column| column.as_string_opt::<i32>()) else {
        return Ok(rows.slice(0, 0));
    };
    let mask: BooleanArray = documents.iter().map(|document| Some(document.is_some_and(&passes))).collect();
    filter_record_batch(rows, &mask).map_err(ArchiveError::arrow(&table.name))
}

/// Returns the rows with the table's columns: those that the rows lack are null.
fn fitted(table: &Table, rows: &RecordBatch) -> Result<RecordBatch, ArchiveError> {
    let columns = table
        .columns
        .iter()
        .map(|column| match rows.column_by_name(&column.name) {
            Some(values) => Arc::clone(values),
            None => new_null_array(&column.data_type, rows.num_rows()),
        })
        .collect();
    RecordBatch::try_new(table.schema(), columns).map_err(ArchiveError::arrow(&table.name))
}
