//! Laws of thresholds, weeds and nitrogen: levels move the way money does, losses stay between none and the greatest,
//! plans and verdicts are in order, and no number whatever makes any of them panic.

use ligule_agronomy::catalogue::{tables, worksheets};
use ligule_agronomy::cautions::{CAUTIONS, LABEL, REENTRY};
use ligule_agronomy::nitrogen::{IowaSpring, iowa_sidedress, nitrate_in_soil, ohio_sidedress};
use ligule_agronomy::thresholds::{
    BORER_FORMS, BorerCount, Crop, CropStage, Economics, Kind, Limit, Reading, Recorded, Stop, Threshold, Verdict,
    Visit, WaldPlan, all_published, aphid_plan, borer_reckoning, break_even_loss, cutworm_stage, doubling_time,
    economic_injury_level, fractional_threshold, gain_threshold, growth_rate, insect_days, lead_time_threshold,
    measure, mite_levels, per_foot_of_row, published, rescaled, stalk_borer_threshold, stink_bug_plan,
};
use ligule_agronomy::weeds::{
    AtrazineApplication, Hyperbola, Species, atrazine_year, days_until_height, loss_by_leaf_area, loss_with_emergence,
    nebraska_period,
};
use ligule_units::{DegreeDays, Length};
use proptest::num::f64::{ANY, NORMAL};
use proptest::prelude::*;

/// Every `f64`, with the ones that break things more often than chance would bring them.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => ANY,
        2 => NORMAL,
        4 => prop::sample::select(vec![0.0, -0.0, 1e9, -1e9, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN_POSITIVE]),
        6 => -200.0..200.0_f64,
        3 => 0.0..1.0_f64,
    ]
}

fn corn_stage() -> impl Strategy<Value = CropStage> {
    let texts: Vec<String> = std::iter::once("VE".to_owned())
        .chain((1..=20).map(|n| format!("V{n}")))
        .chain(["VT".to_owned()])
        .chain((1..=6).map(|n| format!("R{n}")))
        .collect();
    prop::sample::select(texts).prop_map(|text| CropStage::Corn(text.parse().expect("a stage of corn")))
}

/// Returns a field of which every measure the threshold asks for is recorded, with conditions met.
fn met(threshold: &Threshold) -> Recorded {
    let mut recorded = Recorded::default();
    for text in [threshold.stages.0, threshold.stages.1].into_iter().filter(|text| !text.is_empty()) {
        recorded = recorded.at(CropStage::read(threshold.crop, text).expect("a stage of the table"));
    }
    let length = (1..200).map(|n| Length::from_inches(f64::from(n) / 100.0)).find(|l| threshold.larvae.include(*l));
    recorded = recorded.larvae_of(length.expect("some larvae are meant"));
    for condition in threshold.also {
        let reading = match condition.limit {
            Limit::Yes => Reading::Fact(true),
            Limit::AtLeast(limit) | Limit::Band(_, limit) => Reading::Amount(limit),
            Limit::Above(limit) => Reading::Amount(limit + 1.0),
            Limit::AtMost(limit) => Reading::Amount(limit),
            Limit::Under(limit) => Reading::Amount(limit / 2.0),
        };
        recorded = recorded.with(condition.measure, reading);
    }
    recorded
}

#[test]
fn every_published_threshold_tells_below_from_above_and_asks_for_what_is_missing() {
    let mut seen = 0;
    for threshold in all_published() {
        let (low, high) = match threshold.limit {
            Limit::AtLeast(limit) => (limit * 0.99, limit),
            Limit::Above(limit) => (limit, limit + 0.01),
            Limit::Band(low, high) => {
                let between = met(threshold).with(threshold.measure, Reading::Amount(low));
                let verdict = threshold.evaluate(&between).expect("valid").verdict;
                assert_eq!(verdict, Verdict::InTheBand, "{threshold:?}");
                assert!(low < high, "{threshold:?}");
                (low * 0.99, high)
            }
            other => panic!("no pest is counted downwards: {other:?}"),
        };
        let of =
            |value| threshold.evaluate(&met(threshold).with(threshold.measure, Reading::Amount(value))).expect("valid");
        assert_eq!((of(low).verdict, of(high).verdict), (Verdict::Below, Verdict::AtOrAbove), "{threshold:?}");
        let nothing = threshold.evaluate(&Recorded::default()).expect("valid");
        assert_eq!(nothing.verdict, Verdict::NotEnoughRecorded, "{threshold:?}");
        assert!(!threshold.source.is_empty() && !threshold.regions.is_empty(), "{threshold:?}");
        seen += 1;
    }
    assert!(seen > 80, "expected the thresholds transcribed so far, found {seen}");
}

#[test]
fn nothing_is_borrowed_from_a_neighbour() {
    assert_eq!(published("black-cutworm", "US-OH").count(), 0);
    for threshold in published("western-bean-cutworm", "US-NE") {
        assert_eq!(threshold.limit, Limit::Band(5.0, 8.0), "two regions never merge numbers");
    }
}

#[test]
fn a_reading_that_does_not_fit_is_an_error() {
    let iowa = published("black-cutworm", "US-IA").next().expect("listed");
    for reading in
        [Reading::Fact(true), Reading::Visits(vec![(1, 2)]), Reading::Amount(101.0), Reading::Amount(f64::NAN)]
    {
        assert!(iowa.evaluate(&Recorded::default().with(measure::PLANTS_CUT, reading)).is_err());
    }
    let more = Reading::Found { found: 3, of: 2 };
    assert!(iowa.evaluate(&Recorded::default().with(measure::PLANTS_CUT, more)).is_err());
    let soybean = CropStage::read(Crop::Soybean, "V3").expect("a stage");
    assert!(iowa.evaluate(&Recorded::default().at(soybean)).is_err());
}

#[test]
fn no_answer_says_that_something_is_allowed_or_to_be_sprayed() {
    let mut texts: Vec<String> = CAUTIONS.iter().map(|caution| caution.text.to_owned()).collect();
    for sheet in worksheets() {
        let typed = shlex::split(sheet.example).expect("quotes match");
        let typed: Vec<_> = typed.chunks(2).map(|pair| (pair[0].trim_start_matches("--"), pair[1].as_str())).collect();
        let answer = sheet.work(&typed).expect("the example works");
        texts.extend(answer.remarks);
        texts.extend(answer.results.iter().map(ToString::to_string));
    }
    for text in texts {
        let lower = text.to_lowercase();
        for word in ["is allowed", "may be sprayed", "spray now", "treat now", "safe to spray"] {
            assert!(!lower.contains(word), "{text}");
        }
    }
}

#[test]
fn worksheets_that_bear_on_a_treatment_show_what_decides_and_name_every_other_caution() {
    let treatment = [
        "economic-injury-level",
        "break-even-loss",
        "spider-mites-corn",
        "corn-borer",
        "stalk-borer",
        "sequential-sampling",
        "aphid-plan",
        "stink-bug-plan",
        "pest-threshold",
        "weed-loss",
        "weed-loss-by-emergence",
        "weed-height",
        "atrazine-year",
        "critical-period",
        "insect-days",
        "delta-t",
    ];
    for name in treatment {
        let sheets = worksheets();
        let sheet = sheets.iter().find(|sheet| sheet.name == name).unwrap_or_else(|| panic!("{name} is listed"));
        let typed = shlex::split(sheet.example).expect("quotes match");
        let typed: Vec<_> = typed.chunks(2).map(|pair| (pair[0].trim_start_matches("--"), pair[1].as_str())).collect();
        let answer = sheet.work(&typed).expect("the example works");
        for caution in CAUTIONS {
            let shown = [LABEL, REENTRY].contains(&caution);
            let there = |remark: &String| if shown { remark == caution.text } else { remark.contains(caution.about) };
            assert!(answer.remarks.iter().any(there), "{name} lacks {}", caution.about);
        }
    }
}

#[test]
fn what_is_from_memory_says_so_in_the_worksheet() {
    for (sheet, typed) in [
        ("sequential-sampling", vec![("safe", "2%"), ("damaging", "5%"), ("plants", "100")]),
        ("aphid-plan", vec![("plants", "16"), ("positive", "12")]),
        (
            "pest-threshold",
            vec![("pest", "western-bean-cutworm"), ("region", "US-IA"), ("recorded", "egg-masses=6/100")],
        ),
    ] {
        let sheets = worksheets();
        let sheet = sheets.iter().find(|listed| listed.name == sheet).expect("listed");
        let remarks = sheet.work(&typed).expect("valid").remarks;
        assert!(remarks.iter().any(|remark| remark.contains("from memory, to be verified")), "{}", sheet.name);
    }
}

#[test]
fn a_worksheet_names_the_regions_that_are_known() {
    let sheets = worksheets();
    let sheet = sheets.iter().find(|sheet| sheet.name == "pest-threshold").expect("listed");
    let typed = [("pest", "black-cutworm"), ("region", "US-OH"), ("recorded", "plants-cut=7/250")];
    let message = sheet.work(&typed).expect_err("no threshold is known").to_string();
    assert!(message.contains("CA-ON, US-IA") && message.contains("US-OH"), "{message}");
}

#[test]
fn the_stages_of_stalk_borer_are_the_tables_alone() {
    for (text, price) in [("VE", 2.0), ("V8", 2.0), ("VT", 2.0), ("R1", 2.0), ("V7", 4.0)] {
        assert!(stalk_borer_threshold(text.parse().expect("a stage"), price).is_err(), "{text} at {price}");
    }
}

#[test]
fn the_tables_are_listed() {
    let names: Vec<_> = tables().iter().map(|table| table.name).collect();
    for name in
        ["corn-thresholds", "soybean-thresholds", "cautions", "pest-degree-days", "critical-period", "nitrate-ohio"]
    {
        assert!(names.contains(&name), "{name}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn levels_rise_with_cost_and_fall_with_price_loss_and_control(
        cost in 1.0..100.0_f64, price in 1.0..20.0_f64, loss in 0.01..20.0_f64, control in 0.1..0.9_f64, more in 1.01..1.1_f64,
    ) {
        let at = |cost, price, loss, control| economic_injury_level(&Economics { cost, price, loss, control }).unwrap();
        let level = at(cost, price, loss, control);
        prop_assert!(at(cost * more, price, loss, control) > level);
        prop_assert!(at(cost, price * more, loss, control) < level);
        prop_assert!(at(cost, price, loss * more, control) < level);
        prop_assert!(at(cost, price, loss, control * more) < level);
        prop_assert!(fractional_threshold(level, 0.8).unwrap() < level);
        prop_assert!(lead_time_threshold(level, 0.1, 7.0).unwrap() < level);
    }

    #[test]
    fn a_plant_at_the_injury_level_neither_gains_nor_loses(
        form in prop::sample::select(BORER_FORMS.to_vec()), cost in 0.1..40.0_f64, price in 2.0..8.0_f64,
        yield_per_acre in 80.0..250.0_f64,
    ) {
        let mut count = BorerCount {
            counted: 0.0, survival: form.survival[0].value, loss: form.loss[0].value, beyond: form.beyond, cap: form.cap,
            yield_per_acre, price, control: form.control[0].value, cost,
        };
        let Some(counted) = borer_reckoning(&count).unwrap().injury_level_counted else { return Ok(()) };
        count.counted = counted;
        let at_level = borer_reckoning(&count).unwrap();
        prop_assert!(at_level.net.abs() < 1e-6, "{at_level:?}");
        count.counted = counted * 1.5;
        prop_assert!(borer_reckoning(&count).unwrap().net >= at_level.net - 1e-9);
    }

    #[test]
    fn weeds_cost_between_nothing_and_the_greatest_loss(
        per_plant in 1e-6..10_000.0_f64, most in 0.01..100.0_f64, density in 0.0..100_000.0_f64, more in 0.0..100.0_f64,
        days in -60.0..120.0_f64, decline in 0.0..1.0_f64,
    ) {
        let curve = Hyperbola::new(per_plant, most).unwrap();
        let loss = curve.loss(density).unwrap();
        prop_assert!((0.0..=most).contains(&loss));
        let denser = (density + more).min(100_000.0);
        prop_assert!(curve.loss(denser).unwrap() >= loss * (1.0 - 1e-12));
        let one = Hyperbola::loss_to_several(&[Species { per_plant, density }], most).unwrap();
        prop_assert_eq!(one, loss, "one weed among several is one weed");
        let together = Hyperbola::loss_to_several(&[Species { per_plant, density }; 2], most).unwrap();
        prop_assert!((loss * (1.0 - 1e-12)..=most).contains(&together), "another weed never gives yield back");
        let emerged = loss_with_emergence(per_plant, most, decline, density, days).unwrap();
        prop_assert!((0.0..=most).contains(&emerged));
        let later = loss_with_emergence(per_plant, most, decline, density, (days + 1.0).min(120.0)).unwrap();
        prop_assert!(later <= emerged * (1.0 + 1e-12), "a later weed costs no more");
        let same = loss_with_emergence(per_plant, most, decline, density, 0.0).unwrap();
        prop_assert!((same - loss).abs() <= 1e-9 * most, "emerged with the crop it is the plain hyperbola");
    }

    #[test]
    fn the_density_of_a_loss_costs_that_loss(per_plant in 0.01..100.0_f64, most in 1.0..100.0_f64, share in 0.0..0.99_f64) {
        let curve = Hyperbola::new(per_plant, most).unwrap();
        let loss = most * share;
        let density = curve.density(loss).unwrap().expect("below the greatest");
        prop_assume!(density <= 100_000.0);
        prop_assert!((curve.loss(density).unwrap() - loss).abs() < 1e-6);
        prop_assert!(curve.density(most).unwrap().is_none());
    }

    #[test]
    fn the_lines_of_a_plan_keep_apart(
        safe in 0.001..0.5_f64, apart in 0.001..0.4_f64, alarm in 0.001..0.4_f64, missed in 0.001..0.4_f64, plants in 1..5000_u64,
        found in 0..5000_u64,
    ) {
        let plan = WaldPlan::new(safe, safe + apart.max(0.0011), alarm, missed).unwrap();
        let limits = plan.limits(plants).unwrap();
        if let (Some(low), Some(high)) = (limits.safe_at_most, limits.damaging_at_least) {
            prop_assert!(low < high);
        }
        prop_assert!((safe..=safe + apart.max(0.0011)).contains(&plan.slope()), "the lines rise between the two shares");
        let found = found.min(plants);
        let stop = plan.judge(found, plants).unwrap();
        if found < plants && stop == Stop::Above {
            prop_assert_eq!(plan.judge(found + 1, plants).unwrap(), Stop::Above);
        }
        if found > 0 && stop == Stop::Below {
            prop_assert_eq!(plan.judge(found - 1, plants).unwrap(), Stop::Below);
        }
    }

    #[test]
    fn more_cut_plants_never_lower_the_verdict(found in 0..250_u64, stage in corn_stage(), larva in 0.1..2.0_f64) {
        for threshold in published("black-cutworm", "US-IA") {
            let of = |found| {
                let recorded = Recorded::default().at(stage).larvae_of(Length::from_inches(larva));
                threshold.evaluate(&recorded.with(measure::PLANTS_CUT, Reading::Found { found, of: 250 })).unwrap()
            };
            let (fewer, more) = (of(found), of(found + 1));
            prop_assert!(fewer.verdict <= more.verdict);
            let (low, high) = fewer.interval.expect("a share");
            prop_assert!((low..=high).contains(&fewer.value.expect("recorded")));
            prop_assert_eq!(threshold.holds_at(stage) && threshold.larvae.include(Length::from_inches(larva)), fewer.verdict != Verdict::OutsideItsWindow);
        }
    }

    #[test]
    fn fertilizer_falls_with_the_test(ppm in 0.0..60.0_f64, more in 0.0..10.0_f64, rate in 0.0..300.0_f64, whole in 0..60_u16) {
        for spring in IowaSpring::ALL {
            let (here, there) = (iowa_sidedress(ppm, *spring).unwrap(), iowa_sidedress(ppm + more, *spring).unwrap());
            prop_assert!(0.0 <= there && there <= here);
        }
        let (here, there) = (ohio_sidedress(rate, whole).unwrap(), ohio_sidedress(rate, whole + 1).unwrap());
        prop_assert!(0.0 <= there && there <= here && here <= rate);
    }

    #[test]
    fn the_critical_period_is_in_order(nitrogen in 0.0..210.0_f64) {
        let period = nebraska_period(nitrogen).unwrap();
        prop_assert!(period.begins.0 <= period.begins.1 && period.begins.1 <= period.ends.0 && period.ends.0 <= period.ends.1);
        prop_assert!(period.first_day.0 <= period.first_day.1 && period.last_day.0 <= period.last_day.1);
    }

    #[test]
    fn counts_that_grow_double_in_the_time_that_they_say(earlier in 1.0..1000.0_f64, times in 1.1..50.0_f64, days in 1.0..60.0_f64) {
        let rate = growth_rate(earlier, earlier * times, days).unwrap();
        let doubling = doubling_time(rate).unwrap();
        prop_assert!((earlier * (rate * doubling).exp() - 2.0 * earlier).abs() < 1e-6 * earlier);
    }

    #[test]
    fn anything_gives_a_number_or_an_error(a in wild(), b in wild(), c in wild(), d in wild(), e in wild()) {
        let numbers = [
            economic_injury_level(&Economics { cost: a, price: b, loss: c, control: d }),
            fractional_threshold(a, b),
            lead_time_threshold(a, b, c),
            break_even_loss(a, b, c),
            gain_threshold(a, b),
            growth_rate(a, b, c),
            doubling_time(a),
            insect_days(&[Visit { day: a, count: b }, Visit { day: c, count: d }]),
            mite_levels(a, b, c).map(|levels| levels.leaves + levels.area),
            rescaled(a, (b, c), (d, e)),
            per_foot_of_row(a, b),
            Hyperbola::new(a, b).and_then(|curve| curve.loss(c)),
            Hyperbola::new(a, b).and_then(|curve| curve.density(c)).map(|density| density.unwrap_or(0.0)),
            Hyperbola::through(a, b, c).map(|curve| curve.per_plant()),
            Hyperbola::loss_to_several(&[Species { per_plant: a, density: b }, Species { per_plant: c, density: d }], e),
            loss_with_emergence(a, b, c, d, e),
            loss_by_leaf_area(a, b, c),
            days_until_height(Length::from_inches(a), Length::from_inches(b), Length::from_inches(c)),
            atrazine_year(&[AtrazineApplication { rate: a, post: true }, AtrazineApplication { rate: b, post: false }], true).map(|year| year.total),
            nebraska_period(a).map(|period| period.first_day.1),
            iowa_sidedress(a, IowaSpring::Normal),
            ohio_sidedress(a, 15),
            nitrate_in_soil(a, Length::from_inches(b)),
            stalk_borer_threshold("V3".parse().unwrap(), a),
            cutworm_stage(DegreeDays::from_fahrenheit(a)).map(|stage| stage.from),
            WaldPlan::new(a, b, c, d).map(|plan| plan.slope() + plan.upper() + plan.lower() + plan.discrimination()),
        ];
        for number in numbers.into_iter().flatten() {
            prop_assert!(number.is_finite());
        }
        let count = BorerCount {
            counted: a, survival: b, loss: c, beyond: Some((d, e)), cap: Some(a), yield_per_acre: b, price: c, control: d, cost: e,
        };
        if let Ok(sum) = borer_reckoning(&count) {
            prop_assert!(sum.net.is_finite() && (0.0..=1.0).contains(&sum.loss));
            prop_assert!(sum.injury_level.is_none_or(f64::is_finite));
        }
    }

    #[test]
    fn anything_counted_gives_an_answer_or_an_error(found in any::<u64>(), of in any::<u64>(), value in wild(), length in wild(), stage in corn_stage()) {
        let _ = (aphid_plan(found, of), stink_bug_plan("V4".parse().unwrap(), found, of));
        if let Ok(plan) = WaldPlan::new(0.02, 0.05, 0.1, 0.1) {
            let _ = plan.judge(found, of);
        }
        let _ = ohio_sidedress(value, found as u16);
        for threshold in all_published().filter(|threshold| threshold.crop == Crop::Corn) {
            let reading = if threshold.measure.kind == Kind::Share { Reading::Found { found, of } } else { Reading::Amount(value) };
            let recorded = Recorded::default().at(stage).larvae_of(Length::from_inches(length)).with(threshold.measure, reading);
            if let Ok(assessment) = threshold.evaluate(&recorded) {
                prop_assert!(assessment.value.is_none_or(f64::is_finite) && !assessment.reasons.is_empty());
            }
        }
    }

    #[test]
    fn any_text_is_a_reading_or_is_not(text in ".*") {
        if let Some(Reading::Amount(number)) = Reading::read(&text) {
            let iowa = published("black-cutworm", "US-IA").next().expect("listed");
            let answer = iowa.evaluate(&Recorded::default().with(measure::PLANTS_CUT, Reading::Amount(number)));
            prop_assert_eq!(answer.is_ok(), (0.0..=100.0 + 1e-7).contains(&number));
        }
    }
}
