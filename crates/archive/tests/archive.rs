//! Laws of an archive: the same heads give the same bytes, twice adds nothing, nobody's rows are lost, a writer that
//! dies leaves the old state, damage is named and repaired.

mod common;
mod failing_store;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use common::{at, farm, kinds, quiet, unit};
use ligule_archive::{Archive, ArchiveError, Damage, FarmUnit, FieldFacts, LiveFile};
use url::Url;

const NOON: &str = "2026-06-01T12:00:00Z";

fn folder() -> (tempfile::TempDir, Archive) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let archive = Archive::create(folder.path().to_str().expect("a path in UTF-8")).expect("an archive");
    (folder, archive)
}

async fn data_files(archive: &Archive) -> BTreeSet<String> {
    archive.files(None).await.expect("files").into_iter().map(|file| file.path).collect()
}

async fn rows(archive: &Archive, table: &str) -> u64 {
    archive.files(Some(table)).await.expect("files").iter().map(|file| file.rows).sum()
}

fn promised(units: &[FarmUnit], kind: &str) -> u64 {
    units.iter().flat_map(|unit| &unit.records).filter(|record| record.kind == kind).count() as u64
}

async fn check_rows(archive: &Archive, units: &[FarmUnit]) {
    assert_eq!(rows(archive, "stand_count").await, promised(units, "stand-count"));
    assert_eq!(rows(archive, "seed_depth").await, promised(units, "seed-depth"));
    assert_eq!(rows(archive, "seed_depth__seed_to_surface").await, 3 * promised(units, "seed-depth"));
    // The kind nobody knows, and of each stand count the measure that version 1 lacks.
    assert_eq!(rows(archive, "other").await, promised(units, "moon-phase") + promised(units, "stand-count"));
    assert_eq!(rows(archive, "field").await, units.len() as u64);
    let report = archive.verify().await.expect("a report");
    assert!(report.is_whole(), "{report:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_heads_give_the_same_bytes_whatever_the_way_there() {
    let units = farm(7, 2024..=2026, 6);
    let (_a, at_once) = folder();
    at_once.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    let (_b, bit_by_bit) = folder();
    let mut shuffled: Vec<FarmUnit> = units.iter().rev().cloned().collect();
    for unit in &mut shuffled {
        unit.records.reverse();
    }
    for part in shuffled.chunks(4) {
        let mut early = part.to_vec();
        for unit in &mut early {
            unit.records.truncate(3);
            unit.heads = "h0".into();
        }
        bit_by_bit.compact(&early, &kinds(), at("2026-05-01T00:00:00Z"), &quiet).await.expect("a compaction");
        bit_by_bit.compact(part, &kinds(), at("2026-05-02T00:00:00Z"), &quiet).await.expect("a compaction");
    }
    assert_eq!(data_files(&at_once).await, data_files(&bit_by_bit).await);
    check_rows(&bit_by_bit, &units).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn compacting_twice_adds_nothing() {
    let (folder, archive) = folder();
    let units = farm(3, 2025..=2026, 4);
    let first = archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!((first.changed_units, first.unchanged_units, first.files_removed), (6, 0, 0));
    let before = on_disk(folder.path());
    let second = archive.compact(&units, &kinds(), at("2026-06-02T12:00:00Z"), &quiet).await.expect("a compaction");
    assert_eq!((second.changed_units, second.unchanged_units), (0, 6));
    assert_eq!((second.files_added, second.files_removed, second.tables.len()), (0, 0, 0));
    assert_eq!((second.rows, second.files), (first.rows, first.files));
    let whole = archive.verify().await.expect("a report");
    assert_eq!((whole.rows, whole.files), (first.rows, first.files), "compact and verify count alike");
    assert_eq!(first.files, data_files(&archive).await.len());
    assert_eq!(before, on_disk(folder.path()));
}

#[tokio::test(flavor = "multi_thread")]
async fn what_changed_rewrites_its_season_only_and_others_stay() {
    let (_folder, archive) = folder();
    let mut units = farm(3, 2024..=2026, 4);
    archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    let before = data_files(&archive).await;
    let changed = units.iter_mut().find(|u| u.season == 2025).expect("a unit");
    *changed = unit("F00", 2025, 9, "h2");
    let only_it = [changed.clone()];
    let report = archive.compact(&only_it, &kinds(), at("2026-06-02T12:00:00Z"), &quiet).await.expect("a compaction");
    assert_eq!(report.changed_units, 1);
    let after = data_files(&archive).await;
    for path in before.symmetric_difference(&after) {
        assert!(path.contains("season=2025"), "{path}");
    }
    check_rows(&archive, &units).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_field_that_is_renamed_is_written_anew() {
    let (_folder, archive) = folder();
    let mut units = vec![unit("F00", 2026, 2, "h1")];
    archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    units[0].field = Arc::new(FieldFacts { name: "North forty".into(), ..(*units[0].field).clone() });
    let report = archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(report.changed_units, 1);
    check_rows(&archive, &units).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn many_rows_are_spread_over_files_and_growth_gives_the_same_layout() {
    let (_folder, archive) = folder();
    let units = farm(24, 2026..=2026, 1500);
    archive.compact(&units[..8], &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(archive.files(Some("seed_depth__seed_to_surface")).await.expect("files").len(), 1);
    archive.compact(&units[8..], &kinds(), at(NOON), &quiet).await.expect("a compaction");
    // 24 × 1500 × 3 = 108,000 rows.
    assert_eq!(archive.files(Some("seed_depth__seed_to_surface")).await.expect("files").len(), 2);
    check_rows(&archive, &units).await;
    let (_other, at_once) = self::folder();
    at_once.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(data_files(&archive).await, data_files(&at_once).await);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_kind_that_gains_a_measure_gains_a_column_and_values_move_into_it() {
    let (_folder, archive) = folder();
    let units = farm(2, 2025..=2026, 3);
    archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(rows(&archive, "other").await, 4 + 12);
    let newer = vec![common::count_kind_2(), common::depth_kind()];
    let report = archive.compact(&units, &newer, at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(report.changed_units, 4);
    assert_eq!(rows(&archive, "other").await, 4);
    let tables = archive.tables().await.expect("tables");
    let table = tables.iter().find(|table| table.name == "stand_count").expect("the table");
    let last = table.columns.last().expect("a column");
    assert_eq!((last.name.as_str(), last.unit.as_deref()), ("length_ft", Some("[ft_i]")));
    // A device with the older kinds does not undo it.
    let back = archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(back.changed_units, 0);
    // And when it writes, the column stays, and what it has no column for goes to `other`.
    let one = [unit("F00", 2026, 4, "h2")];
    archive.compact(&one, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(rows(&archive, "other").await, 4 + 4);
    assert!(archive.verify().await.expect("a report").is_whole());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_column_never_changes_its_type() {
    let (_folder, archive) = folder();
    let units = farm(1, 2026..=2026, 2);
    archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    let mut changed = kinds();
    changed[0].version = 2;
    changed[0].measures[2].result = ligule_archive::kind::ResultType::Text;
    let error = archive.compact(&units, &changed, at(NOON), &quiet).await.expect_err("refused");
    assert!(matches!(&error, ArchiveError::ColumnChanged { column, .. } if column == "rows"), "{error}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_that_is_behind_leaves_what_is_newer() {
    let (_folder, archive) = folder();
    let newer = unit("F00", 2026, 5, "h2");
    archive.compact(std::slice::from_ref(&newer), &kinds(), at(NOON), &quiet).await.expect("a compaction");
    let behind = FarmUnit { replaces: Some("h1".into()), ..unit("F00", 2026, 2, "h1b") };
    let report = archive.compact(&[behind], &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(report.stale_units, vec![newer.doc]);
    check_rows(&archive, &[newer]).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn several_compact_at_once_and_no_row_is_lost_or_doubled() {
    let (folder, _) = folder();
    let units = farm(8, 2025..=2026, 3);
    let mut jobs = Vec::new();
    for part in units.chunks(4) {
        let (part, location) = (part.to_vec(), folder.path().to_str().expect("a path in UTF-8").to_owned());
        jobs.push(tokio::spawn(async move {
            let archive = Archive::open(&location).expect("an archive");
            archive.compact(&part, &kinds(), at(NOON), &quiet).await
        }));
    }
    for job in jobs {
        job.await.expect("no panic").expect("a compaction");
    }
    let archive = Archive::open(folder.path().to_str().expect("a path in UTF-8")).expect("an archive");
    check_rows(&archive, &units).await;
    let (_other, at_once) = self::folder();
    at_once.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    assert_eq!(data_files(&archive).await, data_files(&at_once).await);
    latest_is_what_the_snapshot_names(&archive).await;
}

/// Outside readers see the latest version of each table: it must be the one that the snapshot names, or hold the same files.
async fn latest_is_what_the_snapshot_names(archive: &Archive) {
    for (table, files) in by_table(archive).await {
        let url = archive.root().join(&format!("{table}/")).expect("a URL");
        let latest = deltalake::open_table(url).await.expect("a Delta table");
        let live: BTreeSet<String> =
            latest.snapshot().expect("a state").log_data().iter().map(|f| f.path().to_string()).collect();
        assert_eq!(live, files, "table {table}");
    }
}

async fn by_table(archive: &Archive) -> BTreeMap<String, BTreeSet<String>> {
    let mut tables: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for LiveFile { table, path, .. } in archive.files(None).await.expect("files") {
        let within = path.split_once('/').expect("a table's folder").1.to_owned();
        tables.entry(table).or_default().insert(within);
    }
    tables
}

#[tokio::test(flavor = "multi_thread")]
async fn a_writer_that_dies_leaves_the_old_state_and_the_next_puts_the_tables_right() {
    let old = farm(3, 2026..=2026, 3);
    let new: Vec<FarmUnit> =
        old.iter().map(|u| FarmUnit { heads: "h2".into(), ..unit(field_of(u), 2026, 5, "h2") }).collect();
    let mut died = 0;
    for commits in 0.. {
        let (folder, archive) = folder();
        archive.compact(&old, &kinds(), at(NOON), &quiet).await.expect("a compaction");
        let before = data_files(&archive).await;
        let root = Url::from_directory_path(folder.path()).expect("a URL");
        let failing =
            Archive::with_store(Arc::new(failing_store::FailingStore::after(commits)), root).expect("an archive");
        if failing.compact(&new, &kinds(), at(NOON), &quiet).await.is_ok() {
            break;
        }
        died += 1;
        assert_eq!(data_files(&archive).await, before, "after {commits} commits");
        check_rows(&archive, &old).await;
        // Whoever compacts next, even a device that knows nothing of it, puts the tables back …
        if commits % 2 == 0 {
            archive.compact(&old, &kinds(), at(NOON), &quiet).await.expect("a compaction");
            latest_is_what_the_snapshot_names(&archive).await;
            check_rows(&archive, &old).await;
        }
        // … and the one that died goes through the second time.
        archive.compact(&new, &kinds(), at(NOON), &quiet).await.expect("a compaction");
        latest_is_what_the_snapshot_names(&archive).await;
        check_rows(&archive, &new).await;
    }
    // Five tables with rows (one kind with a list, one without, other, field) and the snapshot.
    assert_eq!(died, 6);
}

fn field_of(unit: &FarmUnit) -> &str {
    match &unit.feature {
        ligule_archive::ids::Feature::Field(id) => id,
        other => panic!("the farm has fields only, not {other}"),
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn damage_is_named_and_repaired_from_a_device_that_holds_the_documents() {
    let units = farm(3, 2025..=2026, 3);
    for damage in ["cut", "flipped", "missing", "foreign"] {
        for table in ["stand_count", "field"] {
            let (folder, archive) = folder();
            archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
            let file = archive.files(Some(table)).await.expect("files").remove(0);
            let path = folder.path().join(&file.path);
            let bytes = std::fs::read(&path).expect("the file");
            match damage {
                "cut" => std::fs::write(&path, &bytes[..bytes.len() / 2]).expect("cut"),
                "flipped" => {
                    let mut bytes = bytes;
                    bytes[60] ^= 0x40;
                    std::fs::write(&path, bytes).expect("flipped");
                }
                "missing" => std::fs::remove_file(&path).expect("removed"),
                _ => std::fs::write(&path, b"not a Parquet file").expect("overwritten"),
            }
            let report = archive.verify().await.expect("a report");
            assert_eq!(report.damage.len(), 1, "{damage} {table}: {report:?}");
            assert_eq!(report.damage[0].file.as_ref().expect("a file").path, file.path);
            let changed = [FarmUnit { heads: "h2".into(), ..units[0].clone() }];
            let refused = archive.compact(&changed, &kinds(), at(NOON), &quiet).await.expect_err("damaged");
            names_damage(&refused, &file.path);
            if damage != "flipped" {
                // Even where there is nothing new; bytes of the right number are only seen by whoever reads them.
                let refused = archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect_err("damaged");
                names_damage(&refused, &file.path);
                let damage = archive.inspect().await.expect("an inspection").damage;
                assert_eq!(damage.iter().map(Damage::path).collect::<Vec<_>>(), [file.path.as_str()]);
            }
            let part = archive.repair(&units[..1], &kinds(), at(NOON), &quiet).await.expect_err("not all there");
            assert!(matches!(part, ArchiveError::Unrepairable { .. }), "{part}");
            archive.repair(&units, &kinds(), at(NOON), &quiet).await.expect("repaired");
            check_rows(&archive, &units).await;
        }
    }
}

/// The message names the place, what is left and the command that mends it.
#[track_caller]
fn names_damage(error: &ArchiveError, path: &str) {
    assert!(error.is_damage() && !error.is_missing() && !error.is_users_fault(), "{error}");
    assert!(matches!(error, ArchiveError::Damaged { path: named, .. } if named == path), "{path}: {error}");
    let said = error.to_string();
    for part in [path, "still readable: ", "`ligule archive verify`", "`ligule compact --repair`"] {
        assert!(said.contains(part), "`{part}` in {said}");
    }
}

type Harm = (&'static str, fn(&Path));

/// What can happen to a log, given the table's folder.
const LOG_HARM: [Harm; 5] = [
    ("table gone", |table| std::fs::remove_dir_all(table).expect("removed")),
    ("log gone", |table| std::fs::remove_dir_all(table.join("_delta_log")).expect("removed")),
    ("log overwritten", |table| overwrite_log(table, b"not a log")),
    ("log emptied", |table| overwrite_log(table, b"")),
    ("last commit gone", |table| std::fs::remove_file(last_commit(table)).expect("removed")),
];

fn overwrite_log(table: &Path, with: &[u8]) {
    for entry in std::fs::read_dir(table.join("_delta_log")).expect("the log") {
        std::fs::write(entry.expect("an entry").path(), with).expect("overwritten");
    }
}

fn last_commit(table: &Path) -> PathBuf {
    let log = std::fs::read_dir(table.join("_delta_log")).expect("the log");
    log.map(|entry| entry.expect("an entry").path()).max().expect("a commit")
}

/// Two compactions, so that logs have more than one commit.
async fn archived_twice(archive: &Archive, units: &[FarmUnit]) {
    let early: Vec<FarmUnit> =
        units.iter().map(|u| FarmUnit { heads: "h0".into(), records: u.records[..3].to_vec(), ..u.clone() }).collect();
    archive.compact(&early, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    archive.compact(units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_damaged_log_is_named_and_repaired_from_a_device_that_holds_everything() {
    let units = farm(3, 2025..=2026, 3);
    for (what, harm) in LOG_HARM {
        for table in ["stand_count", "other", "field"] {
            let (folder, archive) = folder();
            archived_twice(&archive, &units).await;
            let before = data_files(&archive).await;
            harm(&folder.path().join(table));
            println!("{what}: {table}");
            let report = archive.verify().await.expect("a report");
            assert_eq!(report.damage.len(), 1, "{report:?}");
            assert_eq!((report.damage[0].table.as_str(), &report.damage[0].file), (table, &None), "{report:?}");
            assert!(report.files > 0 && report.files < before.len(), "the other tables are whole: {report:?}");
            let log = format!("{table}/_delta_log");
            names_damage(&archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect_err("damaged"), &log);
            names_damage(&archive.files(None).await.expect_err("damaged"), &log);
            names_damage(&archive.tables().await.expect_err("damaged"), &log);
            let part = archive.repair(&units[1..], &kinds(), at(NOON), &quiet).await.expect_err("not all there");
            assert!(matches!(&part, ArchiveError::Unrepairable { documents: 1, path } if *path == log), "{part}");
            let report = archive.repair(&units, &kinds(), at(NOON), &quiet).await.expect("repaired");
            assert_eq!(data_files(&archive).await, before, "the same bytes as before");
            assert_eq!(report.files, before.len());
            check_rows(&archive, &units).await;
            latest_is_what_the_snapshot_names(&archive).await;
            let again = archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
            assert_eq!((again.changed_units, again.files_added), (0, 0));
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_damaged_snapshot_is_named_and_made_anew_from_the_tables_logs() {
    let units = farm(3, 2025..=2026, 3);
    let file_harm: [Harm; 2] = [
        ("file gone", |table| std::fs::remove_file(last_parquet(table)).expect("removed")),
        ("file overwritten", |table| std::fs::write(last_parquet(table), b"not Parquet").expect("overwritten")),
    ];
    for (what, harm) in LOG_HARM.into_iter().filter(|(what, _)| *what != "last commit gone").chain(file_harm) {
        let (folder, archive) = folder();
        archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
        let before = data_files(&archive).await;
        harm(&folder.path().join("snapshot"));
        println!("{what}");
        let report = archive.verify().await.expect("a report");
        assert_eq!(report.damage.len(), 1, "{report:?}");
        assert_eq!((report.damage[0].table.as_str(), report.files), ("snapshot", before.len()), "{report:?}");
        let path = report.damage[0].path();
        assert_eq!(path.ends_with(".parquet"), what.starts_with("file"), "{path}");
        names_damage(&archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect_err("damaged"), &path);
        names_damage(&archive.snapshot().await.expect_err("damaged"), &path);
        names_damage(&archive.files(None).await.expect_err("damaged"), &path);
        names_damage(&archive.units().await.expect_err("damaged"), &path);
        // No rows were lost, so that a device that holds a part can do it.
        let known = archive.inspect().await.expect("an inspection").units;
        assert_eq!(known.len(), units.len());
        archive.repair(&units[..1], &kinds(), at(NOON), &quiet).await.expect("repaired");
        assert_eq!(data_files(&archive).await, before);
        check_rows(&archive, &units).await;
        latest_is_what_the_snapshot_names(&archive).await;
    }
}

fn last_parquet(table: &Path) -> PathBuf {
    let files = std::fs::read_dir(table).expect("the table").map(|entry| entry.expect("an entry").path());
    files.filter(|path| path.extension().is_some_and(|end| end == "parquet")).max().expect("a file")
}

#[tokio::test(flavor = "multi_thread")]
async fn an_archive_without_any_log_is_made_anew_by_whoever_holds_all_that_its_files_name() {
    let units = farm(3, 2025..=2026, 3);
    let (folder, archive) = folder();
    archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    let before = data_files(&archive).await;
    for entry in std::fs::read_dir(folder.path()).expect("the archive") {
        std::fs::remove_dir_all(entry.expect("an entry").path().join("_delta_log")).expect("removed");
    }
    let report = archive.verify().await.expect("a report");
    assert_eq!((report.files, report.damage.len()), (0, 6), "{report:?}");
    let part = archive.repair(&units[2..], &kinds(), at(NOON), &quiet).await.expect_err("not all there");
    assert!(matches!(&part, ArchiveError::Unrepairable { documents: 2, .. }), "{part}");
    archive.repair(&units, &kinds(), at(NOON), &quiet).await.expect("repaired");
    assert_eq!(data_files(&archive).await, before);
    check_rows(&archive, &units).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_that_is_behind_repairs_nothing() {
    for harm in ["field file", "stand_count file", "field log"] {
        let (folder, archive) = folder();
        let newer = unit("F00", 2026, 5, "h2");
        archive.compact(std::slice::from_ref(&newer), &kinds(), at(NOON), &quiet).await.expect("a compaction");
        let table = folder.path().join(harm.split(' ').next().expect("a table"));
        match harm.ends_with("file") {
            true => std::fs::remove_file(last_parquet(&table.join("season=2026"))).expect("removed"),
            false => std::fs::remove_dir_all(table.join("_delta_log")).expect("removed"),
        }
        let known = archive.inspect().await.expect("an inspection").units;
        assert_eq!(known[&newer.doc].heads, "h2", "{harm}: the other files tell the heads");
        let behind = FarmUnit { replaces: Some("h1".into()), ..unit("F00", 2026, 2, "h1") };
        let error = archive.repair(&[behind], &kinds(), at(NOON), &quiet).await.expect_err("older");
        assert!(matches!(error, ArchiveError::Unrepairable { documents: 1, .. }), "{harm}: {error}");
        let ahead = FarmUnit { replaces: Some("h2".into()), ..unit("F00", 2026, 7, "h3") };
        archive.repair(std::slice::from_ref(&ahead), &kinds(), at(NOON), &quiet).await.expect("repaired");
        check_rows(&archive, &[ahead]).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_first_compaction_that_dies_is_no_damage() {
    let units = farm(2, 2026..=2026, 3);
    let mut died = 0;
    for commits in 0.. {
        let (folder, archive) = folder();
        let root = Url::from_directory_path(folder.path()).expect("a URL");
        let failing =
            Archive::with_store(Arc::new(failing_store::FailingStore::after(commits)), root).expect("an archive");
        if failing.compact(&units, &kinds(), at(NOON), &quiet).await.is_ok() {
            break;
        }
        died += 1;
        assert_eq!(archive.snapshot().await.expect("readable"), None, "after {commits} commits");
        assert!(archive.verify().await.expect("a report").is_whole(), "after {commits} commits");
        archive.compact(&units, &kinds(), at(NOON), &quiet).await.expect("a compaction");
        check_rows(&archive, &units).await;
    }
    // The snapshots' log is begun first; then as above.
    assert_eq!(died, 7);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_empty_place_is_an_empty_archive_and_a_missing_one_is_an_error() {
    let (folder, archive) = folder();
    assert_eq!(archive.snapshot().await.expect("readable"), None);
    assert!(archive.files(None).await.expect("readable").is_empty());
    assert!(archive.verify().await.expect("readable").is_whole());
    let missing = folder.path().join("nowhere");
    let error = Archive::open(missing.to_str().expect("a path in UTF-8")).expect_err("missing");
    assert!(error.is_missing() && !error.is_users_fault() && !error.is_damage(), "{error}");
    let file = folder.path().join("notes.txt");
    std::fs::write(&file, "beans").expect("written");
    for (place, why) in [(file.as_path(), "it is a file"), (&file.join("archive"), "a file is in the way")] {
        let place = place.to_str().expect("a path in UTF-8");
        for opened in [Archive::open(place), Archive::create(place)] {
            let error = opened.expect_err("no folder");
            assert!(error.is_users_fault() && !error.is_missing(), "{error}");
            assert!(error.to_string().contains(why) || error.to_string().contains("a file is in the way"), "{error}");
        }
    }
    for url in ["gopher://north/seasons", "s3://north/seasons", "https://north.example/seasons"] {
        let error = Archive::open(url).expect_err("no such store");
        assert!(error.is_users_fault() && !error.is_missing(), "{error}");
        assert!(error.to_string().contains("this version keeps archives in local folders only"), "{error}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn logs_stay_readable_past_their_checkpoints() {
    // A checkpoint comes with every tenth version; tags and old versions must survive it.
    let archive = Archive::create("memory:///farm").expect("an archive");
    let steady = unit("F01", 2025, 2, "h1");
    archive.compact(std::slice::from_ref(&steady), &kinds(), at(NOON), &quiet).await.expect("a compaction");
    for n in 0..23 {
        let one = [unit("F00", 2026, 1 + n % 2, &format!("h{n}"))];
        archive.compact(&one, &kinds(), at(NOON), &quiet).await.expect("a compaction");
    }
    assert_eq!(archive.snapshot().await.expect("readable").expect("a snapshot").number, 24);
    check_rows(&archive, &[steady, unit("F00", 2026, 1, "h22")]).await;
}

fn on_disk(folder: &std::path::Path) -> BTreeMap<std::path::PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut waiting = vec![folder.to_owned()];
    while let Some(next) = waiting.pop() {
        for entry in std::fs::read_dir(next).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                waiting.push(path);
            } else {
                let bytes = std::fs::read(&path).expect("a file");
                found.insert(path, bytes);
            }
        }
    }
    found
}
