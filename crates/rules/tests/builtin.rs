//! The packs that come with the program: built from the sources beside them, sound, and true to their golden cases.

#[path = "../../xtask/src/packs.rs"]
#[allow(dead_code, reason = "the tests need the building, not the command")]
mod packs;

use std::{collections::BTreeMap, io::Write, path::Path, time::Instant};

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

/// Says something that is seen even where the test passes: the test harness keeps back what print macros write, and
/// only that.
fn say(sentence: &str) {
    std::io::stderr().write_all(format!("{sentence}\n").as_bytes()).expect("stderr can be written");
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
            say(&format!("packs NOT REBUILT: {missing}. The golden cases of the built packs were run instead."));
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
            say(&format!("{name} rebuilt: golden cases and bytes compared (same compiler and lock file)"));
            assert!(new.bytes == *bytes, "{name} differs from what its sources give; run `cargo xtask packs`");
        } else {
            say(&format!(
                "{name} rebuilt: golden cases compared, bytes NOT (another compiler or lock file than recorded)"
            ));
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
    match (finding.code.as_str(), finding.severity, finding.window.unwrap().state) {
        ("no-conflict", _, WindowState::Open) => 0,
        ("no-conflict", _, WindowState::Closing) => 1,
        ("memory-only", Severity::Info, WindowState::Unknown) => 2,
        ("unknown", _, WindowState::Unknown) => 3,
        ("memory-only", Severity::Watch, WindowState::Unknown) => 4,
        ("too-early" | "no-tolerance" | "past-limit", Severity::Stop, _) => 5,
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

/// A limit from memory is no evidence: it makes neither "no conflict found" nor a conflict with a published limit.
#[test]
fn a_limit_from_memory_decides_nothing() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "corn-herbicide-windows");
    let marks = |row: &BTreeMap<String, String>| ["stage_mark", "first_mark", "height_mark"].map(|m| row[m].clone());
    let (mut remembered, mut without_a_page, mut seen) = (0, 0, 0);
    for row in ingredients().iter().filter(|row| row["partner"].is_empty() && marks(row).contains(&"m".to_owned())) {
        remembered += 1;
        let page = marks(row).contains(&"P".to_owned());
        without_a_page += usize::from(!page);
        for stage in [None, Some("VE"), Some("V3"), Some("V7"), Some("V12"), Some("VT")] {
            for height in [None, Some(2.0), Some(14.0), Some(30.0), Some(60.0)] {
                let obs = plants(stage, height, Some("glyphosate+glufosinate+2,4-D"));
                for found in loaded.evaluate(&question(&row["ingredient"], &row["placement"]), &obs).unwrap() {
                    assert_ne!(found.code, "no-conflict", "{row:?} at {stage:?}, {height:?}");
                    if !page {
                        let code = found.code.as_str();
                        assert!(["unknown", "memory-only"].contains(&code), "{code}: {row:?} at {stage:?}, {height:?}");
                    }
                    if found.code == "memory-only" {
                        assert!(found.headline.contains("from memory only"), "{}", found.headline);
                        assert!(found.because.iter().all(|r| r.text.contains("from memory")), "{:?}", found.because);
                        seen += 1;
                    }
                }
            }
        }
    }
    assert!(remembered > 5 && without_a_page > 5 && seen > 50, "{remembered}, {without_a_page}, {seen}");
}

/// The handbook of the Pacific Northwest that the pack cites is on sweet corn: no cell that counts rests on it.
#[test]
fn no_limit_for_field_corn_was_read_for_sweet_corn() {
    let mut rows = 0;
    for row in ingredients().iter().filter(|row| row["citations"].split(' ').any(|id| id == "pnw")) {
        rows += 1;
        for (cell, mark) in [("stage", "stage_mark"), ("first_in", "first_mark"), ("height_in", "height_mark")] {
            assert!(row[cell].is_empty() || row[mark] == "low", "{row:?}");
        }
    }
    assert!(rows >= 2, "the rows that name it are still there: {rows}");
}

#[test]
fn a_count_that_cannot_be_true_is_never_judged() {
    let host = Host::new(HostOptions::default()).unwrap();
    let loaded = load(&host, "black-cutworm");
    let day = "2026-06-12".parse().unwrap();
    let regions = ["US-IA", "US-MN", "US-NE", "US-IL", "US-IN", "US-KY", "CA-ON"];
    let mut judged = 0;
    for (examined, cut, damaged) in
        [(10, 20, None), (10, 11, None), (10, 0, Some(11)), (10, 10, Some(10)), (1, 2, Some(2))]
    {
        let counts = [("plants_examined", Some(examined)), ("plants_cut", Some(cut)), ("plants_affected", damaged)];
        let counts = counts.into_iter().filter_map(|(name, n)| Some((name, "1", Cell::Number(f64::from(n?)))));
        let others = [
            ("organism", "", Cell::Text("AGROYP".to_owned())),
            ("larvae", "1", Cell::Number(3.0)),
            ("larva_length", "[in_i]", Cell::Number(0.5)),
        ];
        let rows = counts.chain(others).map(|(name, unit, cell)| Row {
            group: 0,
            day,
            observation: "v-07".to_owned(),
            measure: format!("pest-count/{name}"),
            unit: unit.to_owned(),
            cell,
            conflicted: false,
        });
        let features = vec![(Feature::Field("F".to_owned()), 2026)];
        let obs = Observations::from_rows(features, rows.collect()).unwrap();
        for region in regions {
            let context = SeasonContext { region: region.to_owned(), settings: BTreeMap::new(), ..question("", "") };
            let found = loaded.evaluate(&context, &obs).unwrap();
            assert!(!found.is_empty(), "{region}");
            if cut.max(damaged.unwrap_or(0)) <= examined {
                judged += usize::from(found.iter().any(|f| f.code == "at-threshold"));
                continue;
            }
            assert_eq!(found.len(), 1, "{found:?}");
            assert_eq!((found[0].code.as_str(), found[0].severity), ("impossible-count", Severity::Watch), "{region}");
            assert!(found[0].because.iter().all(|r| r.observations == [obs.key(0).unwrap().clone()]), "{found:?}");
        }
    }
    assert!(judged >= 6, "counts that can be true are judged: {judged}");
}

/// A case that the host would never ask proves nothing about what people are told.
#[test]
fn a_case_outside_the_regions_of_the_pack_does_not_hold() {
    let host = Host::new(HostOptions::default()).unwrap();
    let pack = builtin("black-cutworm");
    let manifest = String::from_utf8(pack.files()["pack.toml"].clone()).unwrap();
    let narrow = manifest.replace("regions = [\"US\", \"CA\"]", "regions = [\"US-IA\"]");
    assert_ne!(narrow, manifest);
    let report = check(&host.load(&pack.with_file("pack.toml", narrow.into_bytes()).unwrap()).unwrap()).unwrap();
    for case in &report.cases {
        let of_iowa = case.problems.is_empty();
        assert_eq!(case.problems.iter().any(|p| p.contains("does not cover")), !of_iowa, "{}", case.file);
    }
    let holds = |file: &str| report.cases.iter().find(|c| c.file == file).unwrap().problems.is_empty();
    assert!(holds("cases/iowa-small-larvae.toml") && !holds("cases/ohio-has-no-rule.toml"));
}

#[test]
fn the_hash_of_a_pack_tells_contents_apart() {
    let pack = builtin("black-cutworm");
    let same = Pack::from_bytes("a copy", &pack.to_bytes().unwrap()).unwrap();
    assert_eq!(pack.content_hash(), same.content_hash());
    assert_ne!(pack.content_hash(), builtin("corn-herbicide-windows").content_hash());
    let table = "tables/thresholds.csv";
    let mut rows = pack.files()[table].clone();
    rows.push(b'\n');
    let edited = pack.with_file(table, rows).unwrap();
    assert_eq!(edited.name(), pack.name());
    assert_ne!(edited.content_hash(), pack.content_hash());
    let signed = ligule_rules::sign(&pack, &[7; 32]).unwrap();
    assert_eq!(signed.content_hash(), pack.content_hash(), "a signature is no content");
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
