//! The packs that come with the program: built from the sources beside them, sound, and true to their golden cases.

#[path = "../../xtask/src/packs.rs"]
#[allow(dead_code, reason = "the tests need the building, not the command")]
mod packs;

use std::{collections::BTreeMap, path::Path, time::Instant};

use ligule_advice::{
    Feature, Finding, Severity, WindowState,
    columns::{Cell, Observations, Row},
};
use ligule_rules::{Host, HostOptions, LoadedPack, Pack, SeasonContext, builtin_packs, check};

fn builtin(id: &str) -> Pack {
    let (name, bytes) = builtin_packs().iter().find(|(name, _)| name.starts_with(id)).expect("the pack is built in");
    Pack::from_bytes(name, bytes).unwrap()
}

fn load(host: &Host, id: &str) -> LoadedPack {
    host.load(&builtin(id)).unwrap()
}

/// Panics with every case that does not hold.
fn hold_to_cases(loaded: &LoadedPack, which: &str) {
    let report = check(loaded).unwrap();
    for case in &report.cases {
        println!("{which} {} {}: {} fuel, {}", report.pack, case.file, case.fuel, case.about);
    }
    let broken: Vec<_> = report.cases.iter().filter(|c| !c.problems.is_empty()).collect();
    assert!(
        report.holds(),
        "{which} {}: {}",
        report.pack,
        broken.iter().map(|c| format!("\n{}: {}\n  {}", c.file, c.about, c.problems.join("\n  "))).collect::<String>()
    );
}

#[test]
fn every_builtin_pack_holds_its_golden_cases() {
    let host = Host::new(HostOptions::default()).unwrap();
    assert!(builtin_packs().len() >= 2);
    for (name, bytes) in builtin_packs() {
        let pack = Pack::from_bytes(name, bytes).unwrap();
        assert_eq!(*name, format!("{}-{}.pack", pack.manifest().id, pack.manifest().version));
        hold_to_cases(&host.load(&pack).unwrap(), "built");
    }
}

/// Rebuilds the packs where a toolchain for WebAssembly is, and says what was compared.
#[test]
fn builtin_packs_come_from_the_sources_beside_them() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap();
    for (name, bytes) in builtin_packs() {
        let pack = Pack::from_bytes(name, bytes).unwrap();
        for part in ["pack.toml", "README.md", "tables", "cases"] {
            compare_sources(&root.join("plugins").join(&pack.manifest().id).join(part), part, &pack);
        }
    }
    let toolchain = match packs::Toolchain::find() {
        Ok(toolchain) => toolchain,
        Err(missing) => {
            println!("NOT REBUILT: {missing}. The golden cases of the built packs were run instead.");
            return every_builtin_pack_holds_its_golden_cases();
        }
    };
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("plugins");
    let rebuilt = packs::build(&root, &target, &toolchain).unwrap();
    let host = Host::new(HostOptions::default()).unwrap();
    assert_eq!(rebuilt.len(), builtin_packs().len());
    for (name, bytes) in builtin_packs() {
        let new = rebuilt.iter().find(|r| r.name == *name).unwrap_or_else(|| panic!("{name} was not rebuilt"));
        hold_to_cases(&host.load(&Pack::from_bytes(name, &new.bytes).unwrap()).unwrap(), "rebuilt");
        let record = |bytes: &[u8]| -> toml::Table {
            let pack = Pack::from_bytes(name, bytes).unwrap();
            toml::from_str(std::str::from_utf8(&pack.files()[packs::RECORD]).unwrap()).unwrap()
        };
        let (old_record, new_record) = (record(bytes), record(&new.bytes));
        if old_record["rustc"] == new_record["rustc"] && old_record["lock"] == new_record["lock"] {
            println!("{name}: golden cases and bytes compared (same compiler and lock file)");
            assert!(new.bytes == *bytes, "{name} differs from what its sources give; run `cargo xtask packs`");
        } else {
            println!("{name}: golden cases compared, bytes not (another compiler or lock file than recorded)");
        }
    }
}

fn compare_sources(path: &Path, name: &str, pack: &Pack) {
    if path.is_dir() {
        for entry in std::fs::read_dir(path).unwrap() {
            let entry = entry.unwrap();
            compare_sources(&entry.path(), &format!("{name}/{}", entry.file_name().to_string_lossy()), pack);
        }
    } else {
        let source = std::fs::read(path).unwrap();
        assert!(pack.files().get(name) == Some(&source), "{}: {name} differs; run `cargo xtask packs`", pack.name());
    }
}

#[test]
fn no_path_of_the_building_machine_is_inside() {
    for (name, bytes) in builtin_packs() {
        let text = String::from_utf8_lossy(bytes);
        let folders = ["root", "work", "tmp", "home", "usr"].map(|folder| format!("/{folder}/"));
        for path in folders.iter().map(String::as_str).chain([".cargo", "crates.io"]) {
            let at = text.find(path).map(|i| text[i.saturating_sub(20)..].chars().take(80).collect::<String>());
            assert_eq!(at, None, "{name} holds {path}");
        }
    }
}

/// The measures that packs ask for are those that `schemas/kinds/` declares, in the same units.
#[test]
fn packs_ask_for_measures_that_exist() {
    let kinds = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/kinds");
    for (name, bytes) in builtin_packs() {
        let pack = Pack::from_bytes(name, bytes).unwrap();
        for need in &pack.manifest().needs {
            let (kind, measure) = need.measure.split_once('/').unwrap();
            let text = std::fs::read_to_string(kinds.join(format!("{kind}.toml"))).unwrap();
            let kind: toml::Table = toml::from_str(&text).unwrap();
            let measures = kind["measure"].as_array().unwrap();
            let found = measures.iter().find(|m| m["name"].as_str() == Some(measure));
            let found = found.unwrap_or_else(|| panic!("{name}: there is no measure {}", need.measure));
            let unit = found.get("unit").and_then(|u| u.as_str()).unwrap_or_default();
            assert_eq!(unit, need.unit, "{name}: {}", need.measure);
        }
    }
}

// Laws of the herbicide pack, over situations in a grid.

fn plants(stage: Option<&str>, height: Option<f64>, tolerance: Option<&str>) -> Observations {
    let mut rows = Vec::new();
    let mut push = |measure: &str, unit: &str, cell| {
        rows.push(Row {
            group: 0,
            day: "2026-06-12".parse().unwrap(),
            observation: format!("v-{measure}"),
            measure: measure.to_owned(),
            unit: unit.to_owned(),
            cell,
            conflicted: false,
        });
    };
    if let Some(stage) = stage {
        push("leaf-stage/stage", "", Cell::Stage(stage.to_owned()));
    }
    if let Some(height) = height {
        push("plant-height/height", "[in_i]", Cell::Number(height));
    }
    if let Some(tolerance) = tolerance {
        push("planting/tolerance", "", Cell::Text(tolerance.to_owned()));
    }
    Observations::from_rows(vec![(Feature::Field("F".to_owned()), 2026)], rows).unwrap()
}

fn question(mix: &str, placement: &str) -> SeasonContext {
    let settings = [("mix", mix), ("placement", placement)];
    SeasonContext {
        year: 2026,
        region: "US-IA".to_owned(),
        crop: "corn".to_owned(),
        as_of: "2026-06-12".parse().unwrap(),
        settings: settings.into_iter().map(|(k, v)| (k.to_owned(), v.to_owned())).collect(),
    }
}

/// How much a finding narrows: a later rank may never become an earlier one.
fn rank(finding: &Finding) -> u8 {
    match (finding.code.as_str(), finding.window.unwrap().state) {
        ("no-conflict", WindowState::Open) => 0,
        ("no-conflict", WindowState::Closing) => 1,
        ("unknown", _) => 2,
        ("too-early" | "no-tolerance" | "past-limit", _) => 3,
        other => panic!("unexpected {other:?}"),
    }
}

/// The table, read independently of the guest.
fn ingredients() -> Vec<BTreeMap<String, String>> {
    let pack = builtin("corn-herbicide-windows");
    let mut reader =
        csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(pack.files()["tables/limits.csv"].as_slice());
    reader.deserialize().map(|row| row.unwrap()).collect()
}

#[test]
fn a_partner_never_widens_a_window_and_never_drops_a_caution() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "corn-herbicide-windows");
    let mut names: Vec<String> = ingredients().into_iter().map(|row| row["ingredient"].clone()).collect();
    names.dedup();
    let (mut asked, mut narrowed) = (0, 0);
    for (stage, height) in [("V2", 4.0), ("V4", 9.0), ("V6", 19.0), ("V8", 29.0), ("V9", 36.0)] {
        let obs = plants(Some(stage), Some(height), Some("glyphosate+glufosinate+2,4-D"));
        for placement in ["broadcast", "directed"] {
            let ask = |mix: &str| {
                let mut found = loaded.evaluate(&question(mix, placement), &obs).unwrap();
                assert_eq!(found.len(), 1, "{mix}");
                found.remove(0)
            };
            let alone: Vec<Finding> = names.iter().map(|name| ask(name)).collect();
            for (i, first) in names.iter().enumerate() {
                for second in names.iter().skip(i + 1) {
                    let both = ask(&format!("{first}+{second}"));
                    for one in [first, second] {
                        let one = &alone[names.iter().position(|n| n == one).unwrap()];
                        assert!(
                            rank(&both) >= rank(one),
                            "{first} + {second} at {stage}, {height} in, {placement}: {both:?} against {one:?}"
                        );
                        for caution in &one.cautions {
                            assert!(both.cautions.contains(caution), "{first} + {second} lost `{caution}`");
                        }
                    }
                    narrowed += usize::from(rank(&both) > rank(&alone[i]));
                    asked += 1;
                }
            }
        }
    }
    println!("{asked} mixes asked, {narrowed} narrower than their first partner");
    assert!(asked > 1000 && narrowed > 100, "the law was tested on something: {asked}, {narrowed}");
}

#[test]
fn a_blank_or_doubtful_limit_never_yields_no_conflict() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "corn-herbicide-windows");
    let mut blank = 0;
    for row in ingredients().iter().filter(|row| row["partner"].is_empty()) {
        let unknown = |cell: &str, mark: &str| row[cell].is_empty() || row[mark] == "low";
        if !unknown("stage", "stage_mark") && !unknown("height_in", "height_mark") {
            continue;
        }
        blank += 1;
        for stage in [None, Some("VE"), Some("V3"), Some("V7")] {
            for height in [None, Some(2.0), Some(14.0), Some(30.0)] {
                let obs = plants(stage, height, Some("glyphosate+glufosinate+2,4-D"));
                for found in loaded.evaluate(&question(&row["ingredient"], &row["placement"]), &obs).unwrap() {
                    assert_ne!(found.code, "no-conflict", "{row:?} at {stage:?}, {height:?}");
                }
            }
        }
    }
    assert!(blank > 10, "there are blank limits in the table: {blank}");
}

#[test]
fn nothing_is_ever_called_allowed_and_every_finding_has_source_and_caution() {
    let host = Host::new(HostOptions::default()).unwrap();
    for (name, bytes) in builtin_packs() {
        let pack = Pack::from_bytes(name, bytes).unwrap();
        let findings = check(&host.load(&pack).unwrap()).unwrap().cases.into_iter().flat_map(|c| c.findings);
        for finding in findings {
            let text = format!("{finding:?}").to_lowercase();
            for word in ["allowed", "permitted", "you may spray", "safe to"] {
                assert!(!text.contains(word), "{name}: {text}");
            }
            assert!(!finding.citations.is_empty() && !finding.cautions.is_empty(), "{text}");
            assert!(finding.cautions[0].contains("label"), "the label comes first: {text}");
        }
    }
}

#[test]
fn an_unknown_setting_or_ingredient_is_answered_with_the_known_ones() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "corn-herbicide-windows");
    let obs = plants(Some("V4"), Some(9.0), None);
    let error = loaded.evaluate(&question("nicosulfurone", "broadcast"), &obs).unwrap_err().to_string();
    assert!(error.contains("`nicosulfurone`") && error.contains("nicosulfuron;"), "{error}");
    let error = loaded.evaluate(&question("nicosulfuron", "aerial"), &obs).unwrap_err().to_string();
    assert!(error.contains("`aerial`") && error.contains("`directed`"), "{error}");
    let mut context = question("nicosulfuron", "broadcast");
    context.settings.insert("nozzle".to_owned(), "flat".to_owned());
    let error = loaded.evaluate(&context, &obs).unwrap_err().to_string();
    assert!(error.contains("no setting `nozzle`") && error.contains("mix, placement"), "{error}");
}

#[test]
fn observations_in_another_unit_are_refused() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "corn-herbicide-windows");
    let row = Row {
        group: 0,
        day: "2026-06-12".parse().unwrap(),
        observation: "v-01".to_owned(),
        measure: "plant-height/height".to_owned(),
        unit: "cm".to_owned(),
        cell: Cell::Number(20.0),
        conflicted: false,
    };
    let obs = Observations::from_rows(vec![(Feature::Field("F".to_owned()), 2026)], vec![row]).unwrap();
    let error = loaded.evaluate(&question("nicosulfuron", "broadcast"), &obs).unwrap_err().to_string();
    assert!(error.contains("in `[in_i]`") && error.contains("hold `cm`"), "{error}");
}

#[test]
fn observations_after_the_day_asked_about_are_not_seen() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "corn-herbicide-windows");
    let obs = plants(Some("V4"), Some(9.0), None);
    let mut context = question("nicosulfuron", "broadcast");
    assert_eq!(loaded.evaluate(&context, &obs).unwrap()[0].code, "no-conflict");
    context.as_of = "2026-06-11".parse().unwrap();
    let found = loaded.evaluate(&context, &obs).unwrap();
    assert_eq!((found[0].code.as_str(), found[0].severity), ("unknown", Severity::Info));
}

#[test]
fn compiled_code_is_kept_and_a_damaged_entry_is_a_miss() {
    let folder = tempfile::tempdir().unwrap();
    let options = HostOptions { code_cache: Some(folder.path().join("code")), ..HostOptions::default() };
    let pack = builtin("black-cutworm");
    let timed = |what: &str| {
        let host = Host::new(options.clone()).unwrap();
        let start = Instant::now();
        let loaded = host.load(&pack).unwrap();
        println!("{what}: loaded in {:?}", start.elapsed());
        assert_eq!(loaded.codes()[0], "at-threshold");
    };
    timed("cold");
    let entries =
        || std::fs::read_dir(folder.path().join("code")).unwrap().map(|e| e.unwrap().path()).collect::<Vec<_>>();
    assert_eq!(entries().len(), 1);
    let before = std::fs::read(&entries()[0]).unwrap();
    timed("kept");
    for damage in [0, 40, before.len() - 1] {
        let mut bytes = before.clone();
        bytes[damage] ^= 1;
        std::fs::write(&entries()[0], &bytes).unwrap();
        timed("damaged");
        assert_eq!(std::fs::read(&entries()[0]).unwrap(), before, "the entry was written anew");
    }
    std::fs::write(&entries()[0], &before[..20]).unwrap();
    timed("cut short");
}

/// Not a check of speed, which depends on the machine: it prints what a question costs here.
#[test]
fn one_visit_and_many_fields_get_the_same_answer() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "corn-herbicide-windows");
    let one = plants(Some("V5"), Some(17.0), Some("glyphosate"));
    let context = SeasonContext { settings: BTreeMap::new(), ..question("", "") };
    let single = loaded.evaluate(&context, &one).unwrap();
    let start = Instant::now();
    for _ in 0..100 {
        assert_eq!(loaded.evaluate(&context, &one).unwrap(), single);
    }
    println!("one visit, in words: {:?} a question", start.elapsed() / 100);

    let fields = 1000;
    let rows = (0..fields).flat_map(|field| {
        let cells = [
            ("leaf-stage/stage", "", Cell::Stage("V5".to_owned())),
            ("plant-height/height", "[in_i]", Cell::Number(17.0)),
            ("planting/tolerance", "", Cell::Text("glyphosate".to_owned())),
        ];
        cells.into_iter().map(move |(measure, unit, cell)| Row {
            group: field,
            day: "2026-06-12".parse().unwrap(),
            observation: format!("v-{measure}"),
            measure: measure.to_owned(),
            unit: unit.to_owned(),
            cell,
            conflicted: false,
        })
    });
    let features = (0..fields).map(|f| (Feature::Field(format!("F{f:04}")), 2026)).collect();
    let many = Observations::from_rows(features, rows.collect()).unwrap();
    let start = Instant::now();
    let counts = loaded.count(&context, &many).unwrap();
    println!("{fields} fields, counted: {:?}", start.elapsed());
    for (code, count) in counts {
        assert_eq!(count, single.iter().filter(|f| f.code == code).count() * fields as usize, "{code}");
    }
    let start = Instant::now();
    let by_feature = loaded.evaluate_by_feature(&context, &many).unwrap();
    println!("{fields} fields, in words: {:?}", start.elapsed());
    assert!(by_feature.iter().all(|found| *found == single));
}
