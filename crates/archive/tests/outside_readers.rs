//! What others read in an archive is what was written: deltalake, Polars, DuckDB and PyArrow, after one compaction,
//! after two, and after a checkpoint of the log; cell by cell of three tables.
//!
//! Needs a Python with those packages: `cargo xtask test` brings one and sets `LIGULE_PYTHON`.

#[allow(dead_code, reason = "each test program uses a part of it")]
mod common;

use std::process::Command;

use common::{at, farm, kinds, quiet, unit};
use ligule_archive::record::{Record, Value};
use ligule_archive::{Archive, FarmUnit};
use serde_json::{Value as Json, json};

#[tokio::test(flavor = "multi_thread")]
async fn other_engines_read_what_was_written() {
    let Some(python) = std::env::var_os("LIGULE_PYTHON") else {
        panic!(
            "LIGULE_PYTHON is not set: run `cargo xtask test`, which brings a Python with deltalake, polars, duckdb and pyarrow"
        );
    };
    let folder = tempfile::tempdir().expect("a temporary folder");
    let location = folder.path().to_str().expect("a path in UTF-8");
    let archive = Archive::create(location).expect("an archive");
    let mut units = farm(5, 2024..=2026, 20);
    archive.compact(&units, &kinds(), at("2026-06-01T12:00:00Z"), &quiet).await.expect("a compaction");
    // With one version in the folder, a plain glob is right too.
    check(&python, &archive, &units, true).await;
    for unit in units.iter_mut().filter(|unit| unit.season == 2026).take(2) {
        let ligule_archive::ids::Feature::Field(id) = &unit.feature else { continue };
        *unit = common::unit(&id.clone(), 2026, 31, "h2");
    }
    units.push(unit("F99", 2023, 4, "h1"));
    archive.compact(&units, &kinds(), at("2026-07-01T12:00:00Z"), &quiet).await.expect("a compaction");
    check(&python, &archive, &units, false).await;
    // Enough commits for a checkpoint, which readers then start from.
    for n in 2..13 {
        let last = units.last_mut().expect("a unit");
        *last = unit("F99", 2023, n, &format!("h{n}"));
        archive.compact(&units, &kinds(), at("2026-08-01T12:00:00Z"), &quiet).await.expect("a compaction");
    }
    check(&python, &archive, &units, false).await;
}

async fn check(python: &std::ffi::OsStr, archive: &Archive, units: &[FarmUnit], glob: bool) {
    let root = archive.root().to_file_path().expect("a local archive");
    let mut files = serde_json::Map::new();
    for file in archive.files(None).await.expect("files") {
        let list = files.entry(file.table).or_insert_with(|| json!([]));
        list.as_array_mut().expect("a list").push(root.join(&file.path).to_string_lossy().into_owned().into());
    }
    let work = tempfile::tempdir().expect("a temporary folder");
    let expected = work.path().join("expected.json");
    let what = json!({ "root": root, "glob": glob, "files": files, "tables": {
        "stand_count": counts(units), "seed_depth__seed_to_surface": depths(units), "field": fields(units),
    }, "shapes": shapes(units) });
    std::fs::write(&expected, what.to_string()).expect("the expectations");
    let script = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside_readers.py");
    let output = Command::new(python).arg(script).arg(&expected).output().expect("LIGULE_PYTHON runs");
    assert!(
        output.status.success(),
        "{}\n{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    let said = String::from_utf8_lossy(&output.stdout);
    let checked = said.lines().filter(|line| line.starts_with("ok ")).count();
    // Geometries, by GeoPandas; three tables; deltalake, polars (delta and files), duckdb, pyarrow, and the globs of polars and duckdb.
    assert_eq!(checked, 1 + 3 * if glob { 7 } else { 5 }, "{said}");
}

fn records<'a>(units: &'a [FarmUnit], kind: &'a str) -> impl Iterator<Item = (&'a FarmUnit, &'a Record)> {
    units.iter().flat_map(move |unit| unit.records.iter().filter(move |r| r.kind == kind).map(move |r| (unit, r)))
}

fn scaled(record: &Record, measure: &str, scale: i32) -> Json {
    record.int(measure).map_or(Json::Null, |n| json!(n as f64 / 10f64.powi(scale)))
}

fn text(record: &Record, measure: &str) -> Json {
    match record.values.get(measure).map(|m| &m.value) {
        Some(Value::Text(text)) => json!(text),
        _ => Json::Null,
    }
}

fn counts(units: &[FarmUnit]) -> Json {
    let rows: Vec<Json> = records(units, "stand-count")
        .map(|(unit, record)| {
            json!({
                "season": record.season, "document": unit.doc.to_string(), "observation": record.key,
                "field_name": unit.field.name, "crop": record.crop, "time": record.at.as_microsecond(),
                "day": record.day.to_string(),
                "lon": record.place.map(|p| f64::from(p.lon_e7) / 1e7), "lat": record.place.map(|p| f64::from(p.lat_e7) / 1e7),
                "void": record.void.is_some(), "void_why": record.void.as_ref().map(|v| v.why.clone()),
                "conflicts": (!record.conflicts.is_empty()).then(|| record.conflicts.join(" ")),
                "row_width_in": scaled(record, "row_width", 3), "plants": scaled(record, "plants", 1),
                "rows": record.int("rows"), "vigour": text(record, "vigour"), "sown": text(record, "sown"),
            })
        })
        .collect();
    rows.into()
}

fn depths(units: &[FarmUnit]) -> Json {
    let mut rows = Vec::new();
    for (_, record) in records(units, "seed-depth") {
        for (i, number) in record.text("seed_to_surface").unwrap_or_default().split_whitespace().enumerate() {
            let value: f64 = number.parse().expect("a number");
            rows.push(json!({ "season": record.season, "observation": record.key, "position": i + 1, "value": value }));
        }
    }
    rows.into()
}

fn fields(units: &[FarmUnit]) -> Json {
    let row = |unit: &FarmUnit| {
        json!({
            "season": unit.season, "document": unit.doc.to_string(), "field_name": unit.field.name,
            "heads": unit.heads, "observations": unit.records.len(), "soil": unit.field.soil,
            "area_ha": unit.field.area_m2.map(|m2| m2 as f64 / 1e4), "row_width_in": 30.0, "retired": false,
            "lon": -93.62, "lat": 42.03, "boundary": hex(&unit.field.boundary),
        })
    };
    units.iter().map(row).collect()
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What a library of geometries must find in a boundary: bounds, area in square degrees, polygons and holes.
fn shapes(units: &[FarmUnit]) -> Json {
    let shape = |unit: &FarmUnit| {
        let ligule_archive::ids::Feature::Field(id) = &unit.feature else { return Json::Null };
        let boundary = common::boundary(id);
        let (low, high) = boundary.corners().expect("a boundary");
        let degrees = |e7: i32| f64::from(e7) / 1e7;
        let polygons = boundary.polygons();
        // Squares of 0.004 and 0.002 degrees, each first one with a hole of 0.0005.
        let area = 0.004f64.powi(2) - 0.0005f64.powi(2) + if polygons.len() > 1 { 0.002f64.powi(2) } else { 0.0 };
        json!({
            "document": unit.doc.to_string(), "area": area, "polygons": polygons.len(), "holes": 1,
            "bounds": [degrees(low.lon_e7), degrees(low.lat_e7), degrees(high.lon_e7), degrees(high.lat_e7)],
        })
    };
    units.iter().map(shape).collect()
}
