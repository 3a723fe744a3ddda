//! Harvest at random: no number panics, dry matter is kept, ranges are ordered.

use ligule_agronomy::harvest::{
    Grain, KERNEL_FACTORS, LatePlants, component_yield, component_yield_range, dried_weight, kernel_factor,
    kilograms_per_hectare, late_count, pencil_shrink, plot_yield, shrink_a_point, stand_kept, standard_bushels,
    test_weight_grade, test_weight_metric, water_shrink,
};
use ligule_units::{Area, PlantDensity};
use proptest::num::f64::ANY;
use proptest::prelude::*;

fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        3 => ANY,
        3 => prop::sample::select(vec![0.0, -0.0, 1e9, -1e9, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX]),
        4 => 0.0..100.0_f64,
        4 => 0.0..1.0_f64,
    ]
}

fn grain() -> impl Strategy<Value = Grain> {
    prop::sample::select(Grain::ALL.to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn nothing_panics(a in wild(), b in wild(), c in wild(), d in wild(), grain in grain(), n in any::<u64>(), m in any::<u64>()) {
        let answers = [
            component_yield(a, b, c, d),
            kernel_factor(a),
            water_shrink(a, b),
            shrink_a_point(a),
            pencil_shrink(a, b, c),
            dried_weight(a, b, c, d),
            standard_bushels(grain, a, b, c),
            plot_yield(grain, a, b, Area::from_acres(c)),
            kilograms_per_hectare(grain, a),
            test_weight_metric(a),
            stand_kept(PlantDensity::from_per_acre(a), PlantDensity::from_per_acre(b)),
        ];
        prop_assert!(answers.iter().flatten().all(|number| number.is_finite()));
        let _ = test_weight_grade(a);
        if let Ok((least, most)) = component_yield_range(a, b, c) {
            prop_assert!(least <= most);
        }
        let counted = LatePlants { plants: n, barren: Some(m), root_lodged: Some(m), stalk_lodged: None };
        prop_assert_eq!(late_count(counted, 0.95).is_ok(), n > 0 && m <= n);
    }

    #[test]
    fn drying_keeps_the_dry_matter(wet in 1.0..1e6_f64, from in 0.0..0.5_f64, to in 0.0..0.5_f64, grain in grain()) {
        let dried = dried_weight(wet, from, to, 0.0).expect("valid");
        prop_assert!((dried * (1.0 - to) - wet * (1.0 - from)).abs() < 1e-9 * wet);
        // By way of any other moisture it comes to the same bushels.
        let straight = standard_bushels(grain, wet, from, 0.0).expect("valid");
        let round = standard_bushels(grain, dried, to, 0.0).expect("valid");
        prop_assert!((straight - round).abs() < 1e-9 * straight.max(1.0));
    }

    #[test]
    fn every_published_factor_lies_in_the_range(ears in 1.0..45.0_f64, rows in 10.0..22.0_f64, kernels in 10.0..50.0_f64) {
        let (least, most) = component_yield_range(ears, rows, kernels).expect("valid");
        for factor in KERNEL_FACTORS {
            let bushels = component_yield(ears, rows, kernels, factor.thousand).expect("valid");
            prop_assert!(least <= bushels && bushels <= most);
        }
    }
}
