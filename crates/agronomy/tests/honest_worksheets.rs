//! Worksheets say what they do not know: no answer where the source has none, no working that hides a step.

use ligule_agronomy::Error;
use ligule_agronomy::catalogue::{Answer, worksheets};

fn work(name: &str, typed: &[(&str, &str)]) -> Result<Answer, Error> {
    let sheets = worksheets();
    sheets.iter().find(|sheet| sheet.name == name).unwrap_or_else(|| panic!("{name} is not listed")).work(typed)
}

/// Returns the answer as a person reads it, a line a step, result and remark.
fn read(name: &str, typed: &[(&str, &str)]) -> String {
    let answer = work(name, typed).unwrap_or_else(|error| panic!("{name} {typed:?}: {error}"));
    let results = answer.results.iter().map(|outcome| format!("{}: {outcome}", outcome.name));
    answer.steps.iter().cloned().chain(results).chain(answer.remarks.iter().cloned()).collect::<Vec<_>>().join("\n")
}

fn refusal(name: &str, typed: &[(&str, &str)]) -> String {
    match work(name, typed) {
        Err(error) => error.to_string(),
        Ok(answer) => panic!("{name} {typed:?} answers {answer:?}"),
    }
}

#[track_caller]
fn says(text: &str, expected: &[&str]) {
    for part in expected {
        assert!(text.contains(part), "`{part}` is not in\n{text}");
    }
}

#[track_caller]
fn silent(text: &str, wrong: &[&str]) {
    for part in wrong {
        assert!(!text.contains(part), "`{part}` is in\n{text}");
    }
}

#[test]
fn counts_on_a_share_of_an_acre_are_no_plants_per_acre() {
    let wrong = refusal("stand", &[("counts", "30 28 31 29 30")]);
    says(&wrong, &["thousandth", "share-count", "got 31"]);
    refusal("stand-spots", &[("counts", "30 28 31 29"), ("spots", "1 1 2 2")]);
    says(&read("stand", &[("counts", "0 28000 31000 29000")]), &["mean stand: 22,000 plants/ac"]);
}

#[test]
fn counts_without_spread_are_told_from_an_even_stand() {
    let alike = read("stand", &[("counts", "29000 29000 29000 29000 29000")]);
    says(&alike, &["All counts are alike", "about 6 %"]);
    silent(&read("stand", &[("counts", "29000 28000 30000 29000")]), &["All counts are alike"]);
    says(&read("counts-needed", &[("cv", "0%")]), &["counts: 2", "Never fewer than 2"]);
    silent(&read("counts-needed", &[("cv", "10%")]), &["Never fewer"]);
}

#[test]
fn more_plants_than_seeds_is_no_excellent_stand() {
    let more = read("stand-share", &[("stand", "36000"), ("seeding", "32000")]);
    says(&more, &["112.5 %", "check the seeding rate"]);
    silent(&more, &["excellent"]);
    says(&read("stand-share", &[("stand", "32000"), ("seeding", "32000")]), &["excellent"]);
}

#[test]
fn lengths_are_shown_as_they_were_typed() {
    says(&read("row-count", &[("plants", "29"), ("row", "22in"), ("length", "23.76ft")]), &["(22 in × 23.76 ft)"]);
    let metric = read("row-count", &[("plants", "29"), ("row", "76.2cm"), ("length", "5.3m")]);
    says(&metric, &["(30 in × 17.388451 ft)"]);
}

#[test]
fn a_capped_day_shows_both_numbers() {
    let day = read("degree-days", &[("max", "90"), ("min", "45")]);
    says(&day, &["(86.0 (capped, was 90.0) + 50.0 (raised, was 45.0)) / 2 − 50.0 = 18.00"]);
    says(&read("degree-days", &[("max", "72"), ("min", "65")]), &["(72.0 + 65.0) / 2 − 50.0 = 18.50"]);
}

const FIELD_AT_15: (&str, &str) = ("collars", "15 15 15 15 15 15 15 15 15 3");

#[test]
fn a_lag_beyond_the_tables_has_no_loss() {
    let far = read("evenness", &[FIELD_AT_15, ("degree-days", "40")]);
    says(
        &far,
        &["12.00 leaves behind", "days late: unknown", "Outside every published table", "has lags 0 to 2 leaves"],
    );
    silent(&far, &["loss of yield", " = 20.5 days"]);
}

#[test]
fn the_usual_day_is_shown_and_marked() {
    let typed = [("collars", "4 4 4.5 3.5 4 3 5 4 2 4")];
    let usual = read("evenness", &typed);
    says(&usual, &["1.50 × 82 °F days a leaf / 17 °F days a day = 7.2 days", "common practice, no source"]);
    let given = read("evenness", &[typed[0], ("degree-days", "24.6")]);
    says(&given, &["/ 24.6 °F days a day = 5.0 days"]);
    silent(&given, &["17 °F days a day"]);
}

#[test]
fn a_line_between_printed_points_is_said_to_be_ours() {
    let printed = read("late-plants", &[("share", "50%"), ("leaves", "2"), ("days", "24")]);
    says(&printed, &["iowa (as printed): 5.0 to 10.0 %", "minnesota (as printed): 17.0 %"]);
    says(&printed, &["in-turn (from the printed yields of the pattern): 22.0 %"]);
    let scaled = read("late-plants", &[("share", "20%"), ("leaves", "1.5"), ("days", "6")]);
    silent(&scaled, &["as printed", "from the printed"]);
    says(&scaled, &["iowa (our line", "minnesota (our line", "in-turn (our line", "no finding of theirs"]);
}

#[test]
fn collars_no_hybrid_bears_are_refused() {
    for typed in [[("collars", "3 30")], [("collars", "25")]] {
        says(&refusal("corn-stage", &typed), &["18 to 21 leaves", "common practice", "0 to 24"]);
        says(&refusal("evenness", &typed), &["0 to 24"]);
    }
    says(&read("corn-stage", &[("collars", "21 22 22 23")]), &["V22"]);
}

const MONEY: [(&str, &str); 6] = [
    ("price", "4.50"),
    ("planted", "2026-04-25"),
    ("stand", "18000"),
    ("replant-date", "2026-05-20"),
    ("replant-stand", "30000"),
    ("planting", "20"),
];

fn replant(table: &'static str, full_yield: &'static str) -> Vec<(&'static str, &'static str)> {
    let mut typed = MONEY.to_vec();
    typed.extend([("table", table), ("yield", full_yield)]);
    typed
}

#[test]
fn the_illinois_table_says_nothing_of_low_yields() {
    for full_yield in ["40", "90", "124"] {
        let wrong = refusal("replant", &replant("illinois", full_yield));
        says(&wrong, &["outside the table", "above about 125 bu/ac", &format!("got {full_yield} bu/ac")]);
    }
    let low = read("replant", &replant("illinois", "130"));
    says(&low, &["yield of a perfect crop (± 20 %): 125.00 bu/ac", "cut at the edge of the table"]);
    read("replant", &replant("iowa-2001", "90"));
    // Another table is no way round.
    let mut mixed = replant("iowa-2001", "90");
    mixed.push(("replant-table", "illinois"));
    refusal("replant", &mixed);
}

#[test]
fn a_yield_takes_its_unit() {
    let (bare, unit) =
        (read("replant", &replant("illinois", "180")), read("replant", &replant("illinois", "180 bu/ac")));
    assert_eq!(bare, unit);
    // Of corn a bushel is 56 lb: 11,300 kg/ha / (56 × 0.45359237 / 0.40468564224 kg/ha) are 180.03 bu/ac, worked by hand.
    says(&read("replant", &replant("illinois", "11.3 t/ha")), &["88.00 % of 180.03 = 158.43 bu/ac"]);
    assert_eq!(
        read("replant", &replant("illinois", "11.3 t/ha")),
        read("replant", &replant("illinois", "11300 kg/ha"))
    );
    for wrong in ["11.3 kg", "11.3 t", "-1 t/ha", "180 in"] {
        says(&refusal("replant", &replant("illinois", wrong)), &["yield"]);
    }
    // 56 lb/bu is 72.08 kg/hL.
    says(&read("test-weight", &[("test-weight", "72.1 kg/hL")]), &["test weight: 72.10 kg/hL", "US No. 1"]);
    says(&read("test-weight", &[("test-weight", "55 kg/hL")]), &["below all"]);
}

#[test]
fn a_stand_does_not_grow_in_the_hail() {
    let stand = |before, after| {
        let planted = ("planted", "2026-04-30");
        vec![("stage", "8-leaf"), ("defoliation", "50%"), ("before", before), ("after", after), planted]
    };
    says(&refusal("hail-loss", &stand("20000", "30000")), &["a stand after the damage from 0 to 20000"]);
    let told = read("hail-loss", &stand("30000", "18000"));
    says(&told, &["by the table illinois: 18000 of 30000", "by the table wisconsin-full: no value, outside the table"]);
    says(&told, &["by the table wisconsin-short: no value", "by the table iowa-2010: no value"]);
}

#[test]
fn a_night_that_reached_no_limit_is_no_safe_night() {
    let night = read("frost-survival", &[("minimum", "29F"), ("hours", "2.5"), ("stage", "V9")]);
    says(&night, &["limits reached: 0 of", "no published limit reached; this says nothing of harm"]);
    silent(&night, &["no harm"]);
}

#[test]
fn a_flood_is_judged_by_named_publications() {
    let old = read("flood-survival", &[("stage", "V9"), ("temperature", "68F"), ("days", "3")]);
    says(&old, &["survival likely", "1 of the publications speaks", "Nebraska", "Purdue", "Missouri"]);
    let young = read("flood-survival", &[("stage", "V3"), ("temperature", "60F"), ("days", "3")]);
    silent(&young, &["those that say nothing"]);
}

#[test]
fn what_was_not_counted_is_left_out() {
    let barren = read("late-count", &[("plants", "150"), ("barren", "6")]);
    says(&barren, &["barren: 6 / 150 = 4.0 %", "root-lodged: not counted", "stalk-lodged: not counted"]);
    silent(&barren, &["0 / 150", "root-lodged: 0"]);
    says(&read("late-count", &[("plants", "150"), ("root-lodged", "0")]), &["root-lodged: 0 / 150"]);
    says(&refusal("late-count", &[("plants", "150.6"), ("barren", "6")]), &["a whole number of plants", "150.6"]);
    says(&refusal("late-count", &[("plants", "150"), ("barren", "6.5")]), &["6.5"]);
    says(&refusal("late-count", &[("plants", "150")]), &["barren"]);
}

#[test]
fn dry_grain_gains_no_weight() {
    let dry = read("shrink", &[("weight", "1000lb"), ("moisture", "12%")]);
    says(&dry, &["weight after drying: 1,000.00 lb, as it is", "standard bushels: 17.86 bu", "water shrink: 0.00 %"]);
    says(&dry, &["buyers do not pay"]);
    // 1,000 lb at 15.5 % are 17.86 bu whatever more is dried off: 960.23 lb at 12 % are 17.15.
    let over = read("shrink", &[("weight", "1000lb"), ("moisture", "15.5%"), ("to", "12%")]);
    says(&over, &["weight after drying: 960.23 lb", "standard bushels: 17.15 bu", "not paid"]);
    // Between the standard and what it is dried to: nothing dried, counted at the standard.
    says(&read("shrink", &[("weight", "1000lb"), ("moisture", "16%"), ("to", "18%")]), &["standard bushels: 17.75 bu"]);
}

#[test]
fn losses_beyond_the_curve_are_told() {
    let dense = read("weed-loss", &[("per-plant", "24.7"), ("density", "8")]);
    says(&dense, &["yield loss: 66.40 %", "lost 91 % at 8 per m", "gives 66.4 %"]);
    let named = read("weed-loss", &[("per-plant", "24.7"), ("density", "8"), ("weed", "palmer-amaranth")]);
    says(&named, &["91 % was observed at 8.00 per m"]);
}

#[test]
fn a_weed_over_the_limit_shows_no_negative_days() {
    let over = read("weed-height", &[("height", "5in"), ("limit", "4in"), ("growth", "1.25in")]);
    says(&over, &["5 in is at or over the limit of 4 in", "days left: 0.0 days"]);
    silent(&over, &["4 − 5"]);
}

#[test]
fn weather_that_was_not_measured_is_unknown() {
    let some = read("spray-weather", &[("air", "20C"), ("humidity", "50")]);
    says(&some, &["signs: unknown: not measured: lowest temperature of the night, wind, sky, time to sunset"]);
    silent(&some, &["no conflict", "air temperature,"]);
    says(&read("spray-weather", &[]), &["signs: unknown: not measured: air temperature, humidity"]);
    let mut all = vec![("air", "20C"), ("humidity", "55"), ("night", "60F"), ("wind", "6mph"), ("clear", "no")];
    all.extend([("to-sunset", "300"), ("since-sunrise", "400"), ("smoke-hangs", "no"), ("warmer-above", "-0.5")]);
    says(&read("spray-weather", &all), &["signs: no conflict found with the published numbers"]);
    for left_out in 0..all.len() {
        let mut typed = all.clone();
        typed.remove(left_out);
        let told = read("spray-weather", &typed);
        says(&told, &["signs: unknown: not measured:"]);
        silent(&told, &["no conflict"]);
    }
    // A conflict is told before what was not measured.
    let windy = read("spray-weather", &[("wind", "20mph")]);
    says(&windy, &["not measured: air temperature"]);
    silent(&windy, &["signs: unknown"]);
}

#[test]
fn planting_before_may_is_not_late() {
    let early = refusal("delayed-planting", &[("rated", "2700"), ("planted", "2026-04-20")]);
    says(&early, &["1 May to 15 June", "2026-04-20"]);
    says(&read("delayed-planting", &[("rated", "2700"), ("planted", "2026-05-01")]), &["2,700 °F·d"]);
    refusal("delayed-planting", &[("rated", "2700"), ("planted", "2026-06-16")]);
    let early = read("maturity-need", &[("maturity", "105"), ("planted", "2026-04-20")]);
    says(&early, &["says nothing of it"]);
    silent(&early, &["less the drop"]);
}

#[test]
fn the_drop_for_late_planting_stays_in_its_region() {
    let late = read("maturity-need", &[("maturity", "105"), ("planted", "2026-05-31")]);
    // 2,515 of the seed trade's table less 6.8 × 30; Wisconsin's 2,400 to 2,600 as printed.
    says(&late, &["2515 to 2515 − 6.8 × 30 days = 2311", "joining them is ours", "not applied to 2400 to 2600"]);
    says(&late, &["black layer: 2,400 to 2,600 °F·d", "black layer, less the drop: 2,311 °F·d"]);
    says(&late, &["tassel: 1,200 °F·d", "silk: 1,300 to 1,325 °F·d", "silk, less the drop: "]);
    // Tassel is no silk.
    silent(&late, &["silk: 1,200", "silk: 1200"]);
    let short = read("maturity-need", &[("maturity", "96")]);
    says(&short, &["tassel: 1,200 °F·d", "Silk: outside the table"]);
}

#[test]
fn past_the_last_leaf_no_stage_is_foretold() {
    let past = read("leaf-stage", &[("degree-days", "3000"), ("emergence", "120")]);
    // 10 × 82 + 10 × 50 of 2,880; 10 × 84 + 10 × 56.
    says(
        &past,
        &["purdue: past the last leaf (V20)", "iowa: past the last leaf (V20)", "= 1320 of 2880", "1560 beyond"],
    );
    let last = read("leaf-stage", &[("degree-days", "1450"), ("emergence", "120"), ("rate", "purdue")]);
    says(&last, &["purdue: V20 (V19 to V20)"]);
}

#[test]
fn a_capped_loss_to_borers_shows_its_cap() {
    let money = [("yield", "135"), ("price", "3"), ("cost", "15"), ("stage", "V10")];
    let of = |counted| {
        let mut typed = money.to_vec();
        typed.extend([("form", "pennsylvania"), ("counted", counted)]);
        read("corn-borer", &typed)
    };
    says(&of("3"), &["0.059 for each borer × 0.6000 = 0.0354 of the yield"]);
    says(&of("300"), &["0.059 for each borer × 60.0000 = 3.5400, capped at 1.0000: all of the yield"]);
}

#[test]
fn kernels_have_no_ligules() {
    says(&read("corn-bbch", &[("stage", "V4")]), &["ligule"]);
    for stage in ["VT", "R1", "R5", "R6"] {
        silent(&read("corn-bbch", &[("stage", stage)]), &["ligule"]);
    }
}

#[test]
fn a_part_of_a_node_is_no_whole_one_on_the_old_scale() {
    says(&read("node-injury", &[("ratings", "0.1")]), &["on the old 1-6 scale: 2.0 to 3.0"]);
    // One root of a node among nine without injury: (9 × 1 + 4) / 10 to (9 × 2 + 4) / 10.
    says(&read("node-injury", &[("ratings", "0 0 0 0 0 0 0 0 0 1")]), &["on the old 1-6 scale: 1.3 to 2.2"]);
}
