//! The kinds that come with the program, and messages about values and declarations that do not fit.

mod common;

use std::{collections::BTreeMap, path::Path};

use common::int;
use ligule_observation::{
    codename::Meaning,
    kind::{Labels, Measure, Relation, ResultType},
    kinds::{CODELIST_FILES, KIND_FILES, KindSet},
    record::{Measured, Value},
};
use proptest::prelude::*;

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
    }
    for list in set.codelists() {
        assert!(CODELIST_FILES.iter().any(|(f, _)| *f == format!("codelists/{}.toml", list.list)), "{}", list.list);
    }
}

/// Every unit is one that values can be entered in, and a number says what its column holds.
#[test]
fn every_unit_is_known() {
    for kind in KindSet::builtin().iter() {
        for measure in &kind.measures {
            let Some(code) = &measure.unit else { continue };
            assert!(ligule_units::Unit::by_ucum(code).is_some(), "{}.{}: {code}", kind.kind, measure.name);
            assert_eq!(measure.suffix.is_empty(), code == "1", "{}.{}: {code}", kind.kind, measure.name);
        }
    }
}

/// What a season is written down with; each kind tells how it is sampled and shows how it is entered.
#[test]
fn a_whole_season_can_be_recorded() {
    let set = KindSet::builtin();
    for (kind, measures) in [
        (
            "planting",
            "day crop seeding_rate row_width set_depth relative_maturity tolerance planter row_units soil_condition",
        ),
        ("stand-count", "plants row_width length hoop_diameter thousandths row_unit"),
        ("plant-spacing", "positions row_width row_unit"),
        ("leaf-stage", "collars stage method"),
        ("plant-height", "height heights"),
        ("seed-depth", "seed_to_crown seed_to_surface set_depth"),
        ("root-check", "plants nodal_whorls root_angle sidewall node_injury limiting_depth"),
        ("soil-check", "depth structure moisture dry_layer temperature residue compaction"),
        ("plant-health", "colour uniformity root_lodged stalk_lodged vigour vigour_percent"),
        ("pest-count", "organism life_stage plants_examined plants_affected plants_cut instar trap traps caught"),
        ("weed-count", "weed height density emergence emergence_days"),
        ("disease", "organism plants_examined plants_affected severity leaf_position"),
        ("nutrient-test", "method depth_to nitrate_n phosphorus potassium ph organic_matter tissue_n"),
        ("hail-damage", "plants_examined plants_lost defoliation growing_point stage"),
        ("frost-damage", "plants_examined plants_lost defoliation growing_point stage"),
        ("application", "active_ingredient rate stage height wind temperature licence reentry"),
        ("photo", "content media_type caption taken_at"),
        ("note", "text"),
        ("yield-estimate", "ears kernel_rows kernels_per_row"),
        ("harvest", "yield moisture population barren test_weight lodged"),
        ("weather-day", "day tmax tmin precip"),
    ] {
        let known = set.get(kind).unwrap_or_else(|| panic!("there is no {kind}"));
        for measure in measures.split(' ') {
            assert!(known.measures.iter().any(|m| m.name == measure), "{kind} has no {measure}");
        }
        assert!(!known.example.is_empty(), "{kind} shows no example");
    }
}

/// The README lists each kind with what it is for and when it is asked for.
#[test]
fn the_readme_lists_every_kind() {
    let readme = include_str!("../../../schemas/kinds/README.md");
    for kind in KindSet::builtin().iter() {
        let asked = if kind.stages.is_empty() { "any time".to_owned() } else { kind.stages.join(" to ") };
        let line = format!("| `{}` | {} | {asked} |", kind.kind, kind.about["en"]);
        assert!(readme.lines().any(|l| l == line), "expected in schemas/kinds/README.md: {line}");
    }
}

/// Every text that people read stands in English and Spanish, as the files' README says.
#[test]
fn every_text_stands_in_two_languages() {
    let both = |what: String, labels: &Labels| {
        for language in ["en", "es"] {
            assert!(labels.get(language).is_some_and(|text| !text.trim().is_empty()), "{what} lacks `{language}`");
        }
        assert_eq!(labels.len(), 2, "{what}: {labels:?}");
    };
    let set = KindSet::builtin();
    for kind in set.iter() {
        both(format!("label of {}", kind.kind), &kind.label);
        both(format!("about of {}", kind.kind), &kind.about);
        both(format!("protocol of {}", kind.kind), &kind.protocol);
        for measure in &kind.measures {
            both(format!("label of {}.{}", kind.kind, measure.name), &measure.label);
            if !measure.about.is_empty() {
                both(format!("about of {}.{}", kind.kind, measure.name), &measure.about);
            }
            for choice in &measure.choices {
                both(format!("{}.{}: {}", kind.kind, measure.name, choice.code), &choice.label);
            }
        }
    }
    for list in set.codelists() {
        both(format!("about of {}", list.list), &list.about);
        for code in &list.codes {
            both(format!("{}: {}", list.list, code.code), &code.label);
        }
    }
    let active = set.codelist("active-ingredients").expect("built in");
    assert_eq!(active.find("glifosato").map(|c| c.code.as_str()), Some("glyphosate"));
    assert_eq!(active.find("Atrazina").map(|c| c.code.as_str()), Some("atrazine"));
}

/// EPPO codes have five letters for plants and six for others (EPPO Global Database, description of the codes).
#[test]
fn eppo_codes_have_their_form() {
    let set = KindSet::builtin();
    for (list, length) in [("weeds", 5), ("organisms", 6), ("diseases", 6)] {
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
    // Of a label that explains itself behind a colon, what stands before it is enough.
    let basis = set.get("harvest").and_then(|kind| kind.measure("basis")).expect("a measure");
    assert_eq!(set.code(basis, "seco").as_deref(), Some("dry"));
    assert_eq!(set.code(basis, "15.5 % en maíz"), None);
    assert_eq!(set.get("stand-count").and_then(|k| k.measure("row")).map(|m| m.column()), Some("row_width_in".into()));
}

#[test]
fn values_that_fit_are_accepted() {
    check("stand-count", &[("plants", int(295)), ("row_width", int(30_000)), ("length", int(174_000))])
        .expect("29.5 plants in 17.4 ft at 30 in");
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

/// Each label is that of its code alone, in capitals, too; another word of a code, where it may mean one more, is asked back.
#[test]
fn a_name_means_its_code_and_a_short_one_may_mean_several() {
    let set = KindSet::builtin();
    let mut several = Vec::new();
    for kind in set.iter() {
        for measure in &kind.measures {
            let meant = |text: &str| set.meaning(measure, text);
            let Some(list) = measure.codelist.as_ref().and_then(|list| set.codelist(list)) else {
                for choice in &measure.choices {
                    for label in choice.label.values().chain([&choice.code]) {
                        assert_eq!(meant(&label.to_uppercase()), Meaning::One(&choice.code), "{}: {label}", kind.kind);
                    }
                }
                continue;
            };
            for code in &list.codes {
                for name in code.label.values().chain(&code.scientific).chain([&code.code]) {
                    assert_eq!(meant(&name.to_uppercase()), Meaning::One(&code.code), "{}: {name}", kind.kind);
                }
                for word in &code.also {
                    match meant(word) {
                        Meaning::One(one) => assert_eq!(one, code.code, "{word}"),
                        Meaning::Several(those) if those.contains(&code.code.as_str()) => several.push(word.clone()),
                        other => panic!("{word}: {other:?}"),
                    }
                }
            }
        }
    }
    several.sort();
    several.dedup();
    assert_eq!(several, ["armyworm", "brown spot", "cutworm", "fusarium"]);
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
        "`stand-count` has no measure `plant`; did you mean `--plants`?"
    );
    assert_eq!(
        message("stand-count", &[("length", int(174_000))]),
        "`stand-count` needs `--plants` (Plants), which is missing"
    );
    assert_eq!(
        message("stand-count", &[("plants", int(-10))]),
        "`--plants` of `stand-count` must lie between 0 and 1000, got -1"
    );
    assert_eq!(
        message("stand-count", &[("plants", int(290)), ("row_width", int(300_000))]),
        "`--row` of `stand-count` must lie between 4 and 80 in, got 300"
    );
    assert_eq!(
        message("pest-count", &[("organism", text("AGROYP")), ("plants_cut", int(-1))]),
        "`--cut` of `pest-count` counts things and cannot be below zero, got -1"
    );
    assert_eq!(
        message("pest-count", &[("organism", text("AGROYS"))]),
        "`--organism` of `pest-count`: expected a code, got `AGROYS`; did you mean `AGROYP`?"
    );
    assert_eq!(
        message("stand-count", &[("plants", text("many"))]),
        "`--plants` of `stand-count`: expected a number, got `many`"
    );
    assert_eq!(
        message("leaf-stage", &[("stage", text("V99"))]),
        "`--stage` of `leaf-stage`: expected a growth stage such as `VE`, `V4`, `VT` or `R1`, got `V99`"
    );
    assert_eq!(
        message("leaf-stage", &[("collars", text("4 4.5"))]),
        "`--collars` of `leaf-stage`: expected whole numbers, separated by blanks, got `4.5`"
    );
    assert_eq!(
        message("planting", &[("day", text("2026-02-30")), ("crop", text("corn"))]),
        "`--day` of `planting`: expected a day as YYYY-MM-DD, got `2026-02-30`"
    );
    // Units are told as people write them, not by the endings of the archive's columns or by UCUM codes.
    assert_eq!(
        message("soil-check", &[("temperature", int(900))]),
        "`--temperature` of `soil-check` must lie between -30 and 60 °C, got 90"
    );
    assert_eq!(
        message("planting", &[("day", text("2026-05-02")), ("crop", text("corn")), ("seeding_rate", int(30))]),
        "`--rate` of `planting` must lie between 1000 and 500000 per acre, got 30"
    );
    assert_eq!(
        message("weed-count", &[("weed", text("AMATU")), ("density", int(100_001))]),
        "`--density` of `weed-count` must lie between 0 and 10000 per square metre, got 10000.1"
    );
    assert_eq!(
        message("seed-depth", &[("seed_to_crown", text("1.25 1.0005"))]),
        "`--seed-to-crown` of `seed-depth`: expected numbers with at most 3 decimals, separated by blanks, got `1.0005`"
    );
    assert_eq!(
        message("stand-count", &[("plants", int(300)), ("length", int(174_000))]),
        "`stand-count` needs `--row` and `--length`, or `--hoop`, or `--thousandths`"
    );
    assert_eq!(
        message("note", &[("text", text(" \n"))]),
        "`--text` of `note`: expected a text that is not empty, got ` \n`"
    );
    assert!(message("root-check", &[]).starts_with("`root-check` needs at least one value; it has `--plants`"));
}

#[test]
fn measures_that_do_not_go_together_are_refused() {
    let message = |kind: &str, values: &[(&str, Measured)]| check(kind, values).expect_err("does not fit");
    let pests =
        |cut, plants| [("organism", text("AGROYP")), ("plants_cut", int(cut)), ("plants_examined", int(plants))];
    check("pest-count", &pests(20, 20)).expect("every plant may be cut");
    assert_eq!(
        message("pest-count", &pests(21, 20)),
        "`--cut` of `pest-count` must not exceed `--plants`, got 21 with 20"
    );
    assert_eq!(
        message(
            "pest-count",
            &[("organism", text("AGROYP")), ("plants_affected", int(3)), ("plants_examined", int(2))]
        ),
        "`--damaged` of `pest-count` must not exceed `--plants`, got 3 with 2"
    );
    assert_eq!(
        message("weed-count", &[("weed", text("AMATU")), ("height", int(450)), ("tallest", int(425))]),
        "`--height` of `weed-count` must not exceed `--tallest`, got 4.5 with 4.25 in"
    );
    check("weed-count", &[("weed", text("AMATU")), ("height", int(450))]).expect("nothing to compare with");
    assert_eq!(
        message("weather-day", &[("day", text("2026-05-02")), ("tmin", int(-35)), ("tmax", int(-40))]),
        "`--tmin` of `weather-day` must not exceed `--tmax`, got -3.5 with -4 °C"
    );
    let hoop = [("plants", int(140)), ("hoop_diameter", int(30_000)), ("row_width", int(30_000))];
    assert_eq!(
        message("stand-count", &hoop),
        "`stand-count` takes either `--hoop` or `--row`, not both; record each in an observation of its own"
    );
    assert_eq!(
        message("stand-count", &[hoop[0].clone(), hoop[1].clone(), ("length", int(174_000))]),
        "`stand-count` takes either `--hoop` or `--length`, not both; record each in an observation of its own"
    );
    assert_eq!(
        message("stand-count", &[hoop[0].clone(), hoop[1].clone(), ("rows", int(2))]),
        "`stand-count` takes either `--hoop` or `--rows`, not both; record each in an observation of its own"
    );
    check("stand-count", &hoop[..2]).expect("a hoop alone");
    assert_eq!(
        message("leaf-stage", &[("collars", text("4 4")), ("stage", text("V4"))]),
        "`leaf-stage` takes either `--collars` or `--stage`, not both; record each in an observation of its own"
    );
}

/// A soil sample has no nutrients of a leaf, and a leaf no acidity.
#[test]
fn what_does_not_go_with_the_material_is_refused() {
    let message = |values: &[(&str, Measured)]| check("nutrient-test", values).expect_err("does not fit");
    let of = |code: &str| ("material", text(code));
    check("nutrient-test", &[of("soil"), ("nitrate_n", int(170)), ("depth_to", int(120))]).expect("soil");
    check("nutrient-test", &[of("ear-leaf"), ("tissue_n", int(290)), ("cores", int(15))]).expect("a leaf");
    check("nutrient-test", &[of("lower-stalk"), ("stalk_nitrate_n", int(900))]).expect("a stalk");
    assert_eq!(
        message(&[of("soil"), ("tissue_n", int(290))]),
        "`--tissue-n` of `nutrient-test` goes with `--material` whole-plant, newest-leaf, ear-leaf or lower-stalk, got \
         `--material soil`; record each in an observation of its own"
    );
    assert_eq!(
        message(&[of("ear-leaf"), ("tissue_n", int(290)), ("ph", int(650))]),
        "`--ph` of `nutrient-test` goes with `--material` soil, got `--material ear-leaf`; record each in an observation \
         of its own"
    );
    assert!(message(&[of("ear-leaf"), ("stalk_nitrate_n", int(900))]).contains("`--material` lower-stalk"));
    // After a merge the material can be one that this device does not know; then nothing is known to go with it.
    let lost = BTreeMap::from([("ph".to_owned(), int(650))]);
    let lost = KindSet::builtin().check_together("nutrient-test", &lost).expect_err("of what?").to_string();
    assert!(lost.ends_with("which is missing; give `--material`"), "{lost}");
}

#[test]
fn lists_that_belong_together_have_one_length() {
    let estimate = |rows: &str, kernels: Option<&str>| {
        let mut values = vec![("ears", int(30)), ("kernel_rows", text(rows))];
        values.extend(kernels.map(|list| ("kernels_per_row", text(list))));
        KindSet::builtin()
            .check_together("yield-estimate", &values.into_iter().map(|(k, v)| (k.to_owned(), v)).collect())
            .map_err(|e| e.to_string())
    };
    assert_eq!(estimate("16 14", Some("31 28")), Ok(()));
    assert_eq!(
        estimate("16 14", Some("31")).expect_err("one ear lacks its kernels"),
        "`--kernel-rows` and `--kernels-per-row` of `yield-estimate` go together number by number, got 2 and 1"
    );
    assert!(estimate("16 14", None).is_err(), "one list does not do");
}

#[test]
fn a_tape_does_not_run_backwards() {
    check("plant-spacing", &[("positions", text("0 6.25 6.25 12.5"))]).expect("two plants of one hill");
    assert_eq!(
        check("plant-spacing", &[("positions", text("0 12.5 6.25"))]).expect_err("goes back"),
        "`--positions` of `plant-spacing` must not go down, got 6.25 after 12.5 in, in place 3"
    );
}

/// A file of the user's may add measures to a kind; what is in documents and archives already keeps its meaning.
#[test]
fn a_later_version_only_adds() {
    let (_, height) = KIND_FILES.iter().find(|(file, _)| *file == "kinds/plant-height.toml").expect("built in");
    let later = height.replace("version = 1\n", "version = 2\n");
    let message = |text: &str| {
        KindSet::builtin().add(Path::new("plant-height.toml"), text).expect_err("breaks what is kept").to_string()
    };
    let plants = "\n[[measure]]\nname = \"plants\"\nlabel = { en = \"Plants\" }\ntype = \"count\"\nunit = \"1\"\n";
    let mut set = KindSet::builtin();
    set.add(Path::new("plant-height.toml"), &(later.clone() + plants)).expect("one more at the end");
    assert!(set.get("plant-height").is_some_and(|kind| kind.measure("plants").is_some()));
    assert!(message(&later.replacen("scale = 2", "scale = 3", 1)).contains("another type, unit, scale or suffix"));
    assert!(message(&later.replacen("unit = \"[in_i]\"", "unit = \"cm\"", 1)).contains("name a new one instead"));
    let first = later.replacen("\n[[measure]]", &format!("{plants}\n[[measure]]"), 1);
    assert!(message(&first).contains("new measures go to the end"));
    assert!(
        message(&later.replace("name = \"heights\"", "name = \"tall\"").replace("[\"heights\"]", "[\"tall\"]"))
            .contains("`heights` of version 1 is missing")
    );
}

/// A correction is checked with all values as they stand after it, and only for what they are to each other.
#[test]
fn values_after_a_correction_are_checked_together() {
    let set = KindSet::builtin();
    let together = |cut, plants| {
        let values = BTreeMap::from([("plants_cut".to_owned(), int(cut)), ("plants_examined".to_owned(), int(plants))]);
        set.check_together("pest-count", &values).map_err(|e| e.to_string())
    };
    assert_eq!(together(3, 100), Ok(()), "that the organism is missing is not told again");
    assert_eq!(
        together(3, 2).expect_err("more cut than there are"),
        "`--cut` of `pest-count` must not exceed `--plants`, got 3 with 2"
    );
    let strange = BTreeMap::from([("singulation".to_owned(), int(1)), ("plants".to_owned(), int(1))]);
    set.check_together("stand-count", &strange).expect("measures of a later version are kept");
    assert!(set.check_together("stand-cuont", &strange).is_err());
}

proptest! {
    /// Whoever looks for values that do not go together passes over no observation that has such: whatever is refused
    /// holds one of the sets of measures whole.
    #[test]
    fn what_does_not_go_together_holds_a_set_that_can(
        n in any::<prop::sample::Index>(),
        kept in prop::collection::vec(prop::option::weighted(0.4, 0_i64..4), 40),
    ) {
        let set = KindSet::builtin();
        let kinds: Vec<_> = set.iter().filter(|kind| !kind.relations.is_empty()).collect();
        let kind = n.get(&kinds);
        let value = |measure: &Measure, n: i64| match measure.result {
            ResultType::Quantity | ResultType::Count => int(n),
            ResultType::Choice => text(measure.choices.get(n as usize).map_or("", |choice| &choice.code)),
            _ => text(&vec!["1"; n as usize].join(" ")),
        };
        let values: BTreeMap<String, Measured> = (kind.measures.iter().zip(kept))
            .filter_map(|(measure, n)| Some((measure.name.clone(), value(measure, n?))))
            .collect();
        let mut sets = kind.relations.iter().flat_map(Relation::broken_with);
        let can = sets.any(|set| set.iter().all(|measure| values.contains_key(*measure)));
        prop_assert!(can || kind.check_together(&values).is_ok(), "{}: {values:?}", kind.kind);
    }
}

#[test]
fn numbers_of_different_scales_are_compared_exactly() {
    let mut set = KindSet::default();
    let kind = r#"kind = "ia.lengths"
version = 1
feature = "plant"
label = { en = "Lengths" }
about = { en = "Two lengths." }
protocol = { en = "Measure." }
measure = [
    { name = "short", label = { en = "Short" }, type = "quantity", unit = "m", scale = 9 },
    { name = "long", label = { en = "Long" }, type = "quantity", unit = "m", scale = 0 },
]
relation = [{ least = "short", most = "long" }]
"#;
    set.add(Path::new("ia.lengths.toml"), kind).expect("good");
    let check = |short, long| {
        set.check("ia.lengths", &BTreeMap::from([("short".to_owned(), int(short)), ("long".to_owned(), int(long))]))
    };
    assert!(check(9_000_000_000, 9).is_ok());
    assert!(check(9_000_000_001, 9).is_err());
    assert!(check(i64::MAX, i64::MAX).is_ok(), "no overflow");
    assert!(check(i64::MIN, i64::MIN).is_err(), "the long one is the smaller");
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
    // Relations that cannot be checked.
    let lying = "\n[[measure]]\nname = \"lying\"\nlabel = { en = \"Lying\" }\ntype = \"count\"\nunit = \"1\"\n";
    let related = |relation: &str| message(&format!("{good}{lying}\n[[relation]]\n{relation}\n"));
    let line = at(21);
    assert_eq!(
        related("least = \"lyng\"\nmost = \"leaning\""),
        format!("{line}a relation names `lyng`, which is no measure of the kind; did you mean `lying`?")
    );
    assert_eq!(
        related("measure = \"lying\"\nexcludes = [\"lying\"]"),
        format!("{line}a relation names a measure twice: `lying`, `lying`")
    );
    assert_eq!(
        related("measure = \"lying\"\nexcludes = []"),
        format!("{line}`lying` excludes nothing; name at least one measure")
    );
    assert!(
        related("only = [\"lying\"]\nwhere = \"leaning\"\nis = [\"soil\"]")
            .contains("a measure that is chosen from codes"),
        "a share is not chosen"
    );
    assert!(related("least = \"lying\"").contains("expected a relation as `least` and `most` (two measures)"));
    assert!(
        related("paired = [\"lying\", \"leaning\"]")
            .ends_with("`paired` names two or more lists; `lying`, `leaning` are not")
    );
    assert!(
        message(&good.replace("type = \"count\"", "type = \"count\"\nascending = true"))
            .ends_with("only a list is `ascending`")
    );
    let text = "\n[[measure]]\nname = \"why\"\nlabel = { en = \"Why\" }\ntype = \"text\"\n";
    assert_eq!(
        message(&format!("{good}{text}\n[[relation]]\nleast = \"why\"\nmost = \"leaning\"\n")),
        at(20) + "`least` and `most` compare numbers in one unit; `why` and `leaning` are not"
    );
    std::fs::write(&file, format!("{good}{lying}\n[[relation]]\nleast = \"lying\"\nmost = \"leaning\"\n"))
        .expect("writes");
    KindSet::with_folder(folder.path()).expect("a good relation");
}
