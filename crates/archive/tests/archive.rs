//! Laws of an archive: the same heads give the same bytes, twice adds nothing, nobody's rows are lost, a writer that
//! dies leaves the old state, damage is named and repaired.

mod common;
mod failing_store;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use common::{at, farm, kinds, quiet, unit};
use ligule_archive::{Archive, ArchiveError, FarmUnit, FieldFacts, LiveFile};
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
    assert_eq!(second.rows, first.rows);
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
            assert!(matches!(&refused, ArchiveError::Damaged { path, .. } if *path == file.path), "{refused}");
            let part = archive.repair(&units[..1], &kinds(), at(NOON), &quiet).await.expect_err("not all there");
            assert!(matches!(part, ArchiveError::Damaged { .. }), "{part}");
            archive.repair(&units, &kinds(), at(NOON), &quiet).await.expect("repaired");
            check_rows(&archive, &units).await;
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_empty_place_is_an_empty_archive_and_a_missing_one_is_an_error() {
    let (folder, archive) = folder();
    assert_eq!(archive.snapshot().await.expect("readable"), None);
    assert!(archive.files(None).await.expect("readable").is_empty());
    assert!(archive.verify().await.expect("readable").is_whole());
    let missing = folder.path().join("nowhere");
    let error = Archive::open(missing.to_str().expect("a path in UTF-8")).expect_err("missing");
    assert!(matches!(error, ArchiveError::Missing { .. }), "{error}");
    let error = Archive::open("gopher://farm/archive").expect_err("no such store");
    assert!(matches!(error, ArchiveError::Location { .. }), "{error}");
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
    assert_eq!(archive.snapshot().await.expect("readable").expect("a snapshot").number, 23);
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
