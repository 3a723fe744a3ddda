//! Any number at all, in any formula, gives an answer or an error and never a panic or a silent infinity.

use ligule_agronomy::degree_days::{
    LeafRate, Method, Model, Seedbed, Texture, accumulate, delayed_planting_maturity, emergence_need,
    predict_leaf_stage,
};
use ligule_agronomy::stage::{BbchRange, CornStage, SoybeanStage, bbch, field_stage, soybean_bbch};
use ligule_agronomy::{depth, spacing, stand, statistics};
use ligule_units::{DegreeDays, Length, PlantDensity, Temperature};
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

fn method() -> impl Strategy<Value = Method> {
    prop::sample::select(vec![
        Method::ModifiedAverage,
        Method::SimpleAverage,
        Method::ClippedAverage,
        Method::CappedMaximum,
    ])
}

fn finite(length: Length) -> bool {
    length.is_finite()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn stands(a in wild(), b in wild(), c in wild()) {
        let (x, y) = (Length::from_inches(a), Length::from_feet(b));
        let answers = [
            stand::plants_per_area(c, x, y),
            stand::wheel_density(c, x, y),
            stand::hoop_density(c, x),
            stand::seeding_rate_for(PlantDensity::from_per_acre(a), b, c),
            spacing::density_at_spacing(x, y),
        ];
        for density in answers.into_iter().flatten() {
            prop_assert!(density.is_finite() && density.per_acre() >= 0.0);
        }
        prop_assert!(stand::row_length(x, b).map_or(true, finite));
        prop_assert!(stand::row_length_of_hectare(x, b).map_or(true, finite));
        prop_assert!(spacing::plant_spacing(x, PlantDensity::from_per_acre(b)).map_or(true, finite));
        prop_assert!(spacing::gap_limits(x).map_or(true, |l| finite(l.more_skips)));
        let share = stand::share_of_seeding_rate(PlantDensity::from_per_acre(a), PlantDensity::from_per_acre(b));
        prop_assert!(share.map_or(true, f64::is_finite));
    }

    #[test]
    fn estimates(counts in prop::collection::vec(wild(), 0..12), level in wild()) {
        let densities: Vec<_> = counts.iter().map(|n| PlantDensity::from_per_acre(*n)).collect();
        if let Ok(found) = stand::stand_estimate(&densities, level) {
            prop_assert!(found.mean.is_finite());
            if let Some((low, high)) = found.interval {
                prop_assert!(low.is_finite() && high.is_finite() && low <= found.mean && found.mean <= high);
            }
        }
        let _ = statistics::mean(&counts);
        prop_assert!(statistics::t_half_width(&counts, level).map_or(true, |h| h.is_finite() && h >= 0.0));
    }

    #[test]
    fn needed_counts_are_enough_and_one_fewer_is_not(cv in wild(), aim in wild(), level in wild()) {
        if let Ok(n) = stand::counts_needed(cv, aim, level) {
            let reached = |n: usize| statistics::t_two_sided(level, n - 1).map(|t| t * cv / (n as f64).sqrt() <= aim);
            prop_assert_eq!(reached(n), Ok(true));
            if n > 2 {
                prop_assert_eq!(reached(n - 1), Ok(false));
            }
        }
    }

    #[test]
    fn shares_lie_within_their_interval(found in any::<u64>(), trials in any::<u64>(), level in wild()) {
        for (found, trials) in [(found, trials), (found % 500, trials % 500)] {
            if let Ok((low, high)) = statistics::wilson_interval(found, trials, level) {
                let share = found as f64 / trials as f64;
                prop_assert!(0.0 <= low && low <= share + 1e-12 && share <= high + 1e-12 && high <= 1.0);
            }
        }
    }

    #[test]
    fn degree_days(method in method(), base in wild(), upper in prop::option::of(wild()), days in prop::collection::vec((prop::option::of(wild()), prop::option::of(wild())), 0..8)) {
        let model = Model::new(method, Temperature::from_fahrenheit(base), upper.map(Temperature::from_fahrenheit));
        for model in [model, Ok(Model::corn())].into_iter().flatten() {
            let temperatures = days.iter().map(|(a, b)| (a.map(Temperature::from_fahrenheit), b.map(Temperature::from_fahrenheit)));
            if let Ok(season) = accumulate(temperatures, &model) {
                prop_assert!(season.sum.is_finite() && season.sum >= DegreeDays::zero());
                prop_assert_eq!(season.days + season.missing, days.len());
            }
        }
    }

    #[test]
    fn corn_degree_days_stay_within_36_a_day_and_method_1_never_exceeds_method_2(low in -60.0..120.0_f64, range in 0.0..60.0_f64) {
        let (maximum, minimum) = (Temperature::from_fahrenheit(low + range), Temperature::from_fahrenheit(low));
        let base = Temperature::from_fahrenheit(50.0);
        let two = Model::new(Method::ModifiedAverage, base, None).and_then(|m| m.day(maximum, minimum));
        let one = Model::new(Method::ClippedAverage, base, None).and_then(|m| m.day(maximum, minimum));
        if let (Ok(one), Ok(two)) = (one, two) {
            // McMaster and Wilhelm (1997): with a base alone, method 1 gives at most what method 2 gives.
            prop_assert!(one.fahrenheit() <= two.fahrenheit() + 1e-9);
            let corn = Model::corn().day(maximum, minimum)?;
            prop_assert!((0.0..=36.0 + 1e-9).contains(&corn.fahrenheit()));
        }
    }

    #[test]
    fn forecasts(a in wild(), b in wild(), c in any::<u8>(), d in any::<u32>()) {
        let (x, y) = (DegreeDays::from_fahrenheit(a), DegreeDays::from_fahrenheit(b));
        for rate in [LeafRate::Purdue, LeafRate::Iowa] {
            let _ = predict_leaf_stage(x, y, rate, c);
        }
        prop_assert!(delayed_planting_maturity(x, d).map_or(true, DegreeDays::is_finite));
        for texture in [Texture::Fine, Texture::Medium, Texture::Coarse] {
            let seedbed = Seedbed { depth: Length::from_inches(a), texture, dry: d % 2 == 0, residue: b };
            prop_assert!(emergence_need(&seedbed).map_or(true, |n| n.low <= n.high && n.high.is_finite()));
        }
    }

    #[test]
    fn depths(depths in prop::collection::vec(wild(), 0..8), target in wild()) {
        let lengths: Vec<_> = depths.iter().map(|d| Length::from_inches(*d)).collect();
        if let Ok(summary) = depth::depth_summary(&lengths, Length::from_inches(target)) {
            prop_assert!(summary.share_off_half_inch <= summary.share_off_quarter_inch);
        }
        prop_assert!(depth::seed_depth(Length::from_inches(target)).map_or(true, finite));
    }

    #[test]
    fn field_stages_hold_the_half_rule(collars in prop::collection::vec(any::<u8>(), 0..30), few in prop::collection::vec(0_u8..12, 1..30)) {
        let _ = field_stage(&collars);
        let field = field_stage(&few)?;
        let stage = field.stage.collars().expect("a leaf stage");
        let past = |n: u8| few.iter().filter(|c| **c >= n).count() * 2 >= few.len();
        prop_assert!(past(stage) && !past(stage + 1));
        prop_assert!(field.least <= field.stage && field.stage <= field.greatest);
        prop_assert!(field.share_two_behind <= field.share_one_behind);
    }

    #[test]
    fn stages_read_back_as_written_and_have_codes(text in "[VvRr]?[A-Za-z0-9+]{0,4}") {
        if let Ok(stage) = text.parse::<CornStage>() {
            prop_assert_eq!(stage.to_string(), text.to_ascii_uppercase());
            let BbchRange { low, high } = bbch(stage);
            prop_assert!(low <= high && high <= 99);
        }
        if let Ok(stage) = text.parse::<SoybeanStage>() {
            prop_assert_eq!(stage.to_string(), text.to_ascii_uppercase());
            prop_assert!(soybean_bbch(stage).low <= soybean_bbch(stage).high);
        }
    }
}
