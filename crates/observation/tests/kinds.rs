//! The kinds that come with the program, and messages about values and declarations that do not fit.

mod common;

use std::{collections::BTreeMap, path::Path};

use common::int;
use ligule_observation::{
    kinds::{CODELIST_FILES, KIND_FILES, KindSet},
    record::{Measured, Value},
};

fn text(t: &str) -> Measured {
    Measured { value: Value::Text(t.into()), entered: None }
}

fn check(kind: &str, values: &[(&str, Measured)]) -> Result<(), String> {
    let values: BTreeMap<_, _> = values.iter().map(|(k, v)| ((*k).to_owned(), v.clone())).collect();
    KindSet::builtin().check(kind, &values).map_err(|e| e.to_string())
}

/// Every file in the folders is embedded, and every kind and list bears its file's name.
#[test]
fn all_files_are_embedded() {
    for (folder, files) in [("kinds", &KIND_FILES[..]), ("codelists", &CODELIST_FILES[..])] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas").join(folder);
        let mut on_disk: Vec<_> = std::fs::read_dir(&path)
            .expect("the folder is there")
            .map(|e| e.expect("readable").file_name().into_string().expect("plain"))
            .filter(|n| n.ends_with(".toml"))
            .map(|n| format!("{folder}/{n}"))
            .collect();
        on_disk.sort();
        let mut embedded: Vec<_> = files.iter().map(|(name, _)| (*name).to_owned()).collect();
        embedded.sort();
        assert_eq!(on_disk, embedded);
    }
    let set = KindSet::builtin();
    for kind in set.iter() {
        assert!(KIND_FILES.iter().any(|(f, _)| *f == format!("kinds/{}.toml", kind.kind)), "{}", kind.kind);
        for labels in [&kind.label, &kind.about, &kind.protocol] {
            assert!(labels.contains_key("es"), "{} lacks Spanish", kind.kind);
        }
    }
    for list in set.codelists() {
        assert!(CODELIST_FILES.iter().any(|(f, _)| *f == format!("codelists/{}.toml", list.list)), "{}", list.list);
    }
}

/// EPPO codes have five letters for plants and six for others (EPPO Global Database, description of the codes).
#[test]
fn eppo_codes_have_their_form() {
    let set = KindSet::builtin();
    for (list, length) in [("weeds", 5), ("organisms", 6)] {
        let list = set.codelist(list).expect("built in");
        for code in list.codes.iter().filter(|c| c.certainty != ligule_observation::codelist::Certainty::Own) {
            assert!(
                code.code.len() == length && code.code.bytes().all(|b| b.is_ascii_uppercase()),
                "{} in {}",
                code.code,
                list.list
            );
            assert!(code.scientific.is_some(), "{}", code.code);
        }
    }
    // Read in the EPPO Global Database: Ambrosia trifida is AMBTR.
    assert_eq!(set.codelist("weeds").and_then(|l| l.find("Ambrosia trifida")).map(|c| c.code.as_str()), Some("AMBTR"));
}

#[test]
fn codes_are_found_by_what_people_write() {
    let set = KindSet::builtin();
    let organism = set.get("pest-count").and_then(|k| k.measure("organism")).expect("built in");
    for written in ["AGROYP", "agroyp", "black cutworm", "Black-Cutworm", "gusano cortador negro", "agrotis ipsilon"] {
        assert_eq!(set.code(organism, written).as_deref(), Some("AGROYP"), "{written}");
    }
    assert_eq!(set.code(organism, "grizzly"), None);
    let crop = set.get("planting").and_then(|k| k.measure("crop")).expect("built in");
    assert_eq!(set.code(crop, "Corn").as_deref(), Some("corn"));
    assert_eq!(set.get("stand-count").and_then(|k| k.measure("row")).map(|m| m.column()), Some("row_width_in".into()));
}

#[test]
fn values_that_fit_are_accepted() {
    check("stand-count", &[("plants", int(295)), ("row_width", int(30_000))]).expect("29.5 plants at 30 in");
    check("leaf-stage", &[("collars", text("4 4 5 3"))]).expect("a list");
    check("seed-depth", &[("seed_to_crown", text("1.25 1.5 0.875"))]).expect("a list of inches");
    check("planting", &[("day", text("2026-05-02")), ("crop", text("corn")), ("tolerance", text("glyphosate"))])
        .expect("a planting");
    check("weather-day", &[("day", text("2026-05-02")), ("tmin", int(-35))]).expect("-3.5 degrees");
    for kind in KindSet::builtin().iter() {
        for measure in &kind.measures {
            assert!(measure.range.is_some() || measure.unit.is_none(), "{}.{} has no range", kind.kind, measure.name);
        }
    }
}

#[test]
fn messages_say_what_was_expected_what_came_and_the_nearest() {
    let message = |kind: &str, values: &[(&str, Measured)]| check(kind, values).expect_err("does not fit");
    assert_eq!(
        message("stand-cuont", &[]),
        "expected a kind of observation, got `stand-cuont`; did you mean `stand-count`?"
    );
    assert_eq!(
        message("stand-count", &[("plant", int(1))]),
        "`stand-count` has no measure `plant`; did you mean `plants`?"
    );
    assert_eq!(
        message("stand-count", &[("length", int(174_000))]),
        "`stand-count` needs `plants` (Plants), which is missing"
    );
    assert_eq!(
        message("stand-count", &[("plants", int(-10))]),
        "`plants` of `stand-count` must lie between 0 and 1000, got -1"
    );
    assert_eq!(
        message("stand-count", &[("plants", int(290)), ("row_width", int(300_000))]),
        "`row_width` of `stand-count` must lie between 4 and 80 in, got 300"
    );
    assert_eq!(
        message("pest-count", &[("organism", text("AGROYP")), ("plants_cut", int(-1))]),
        "`plants_cut` of `pest-count` counts things and cannot be below zero, got -1"
    );
    assert_eq!(
        message("pest-count", &[("organism", text("AGROYS"))]),
        "`organism` of `pest-count`: expected a code, got `AGROYS`; did you mean `AGROYP`?"
    );
    assert_eq!(
        message("stand-count", &[("plants", text("many"))]),
        "`plants` of `stand-count`: expected a number, got `many`"
    );
    assert_eq!(
        message("leaf-stage", &[("stage", text("V99"))]),
        "`stage` of `leaf-stage`: expected a growth stage such as `VE`, `V4`, `VT` or `R1`, got `V99`"
    );
    assert_eq!(
        message("leaf-stage", &[("collars", text("4 4.5"))]),
        "`collars` of `leaf-stage`: expected numbers with at most 0 decimals, separated by blanks, got `4.5`"
    );
    assert_eq!(
        message("planting", &[("day", text("2026-02-30")), ("crop", text("corn"))]),
        "`day` of `planting`: expected a day as YYYY-MM-DD, got `2026-02-30`"
    );
    assert!(message("root-check", &[]).starts_with("`root-check` needs at least one value; it has `plants`"));
}

#[test]
fn a_folder_adds_kinds_and_bad_files_are_told_by_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let good = r#"kind = "ia.lodging"
version = 1
feature = "stand"
label = { en = "Lodging" }
about = { en = "Stalks that lean or lie." }
protocol = { en = "Push 20 stalks." }

[[measure]]
name = "leaning"
label = { en = "Leaning" }
type = "count"
unit = "1"
range = [0, 1000]
"#;
    let file = folder.path().join("ia.lodging.toml");
    std::fs::write(&file, good).expect("writes");
    let set = KindSet::with_folder(folder.path()).expect("good");
    assert_eq!(set.get("ia.lodging").map(|k| k.table()), Some("ia_lodging".into()));
    assert_eq!(set.nearest("ia.loding"), Some("ia.lodging"));

    let message = |text: &str| {
        std::fs::write(&file, text).expect("writes");
        KindSet::with_folder(folder.path()).expect_err("bad").to_string()
    };
    let at = |line: usize| format!("{}:{line}: ", file.display());
    let unit = message(&good.replace("unit = \"1\"\n", ""));
    assert_eq!(
        unit,
        at(9) + "measure `leaning`: numbers need `unit` (a UCUM code; `1` for counts), and nothing else has one"
    );
    assert!(message(&good.replace("type = \"count\"", "type = \"cuont\"")).starts_with(&at(11)));
    assert!(message(&good.replace("version = 1", "version = ")).starts_with(&at(2)));
    assert_eq!(
        message(&good.replace("range = [0, 1000]", "range = [9, 1]")),
        at(9) + "measure `leaning`: `range` must be the least and the greatest value"
    );
}
