//! Laws of stands, evenness, spacing, stages and depth, at random: nothing panics, ranges are in order.

use ligule_agronomy::depth::{depth_summary, depth_warnings};
use ligule_agronomy::evenness::{LateTable, LeafLagStudy, days_behind, emergence_evenness, late_loss, leaf_lag_loss};
use ligule_agronomy::spacing::{
    SpacingStudy, gaps_from_positions, pair_yield, skip_compensation, spacing_loss, spacing_summary,
};
use ligule_agronomy::stage::{LeafCount, SoybeanStage, collars_from, soybean_field_stage, stage_by_split_stalk};
use ligule_agronomy::stand::{chance_cv, clustered_stand, density_on_share, locations_needed, stand_estimate};
use ligule_units::{DegreeDays, Length, PlantDensity};
use proptest::num::f64::ANY;
use proptest::prelude::*;

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![ANY, -1.0..100.0_f64, Just(0.0), Just(1e9), Just(f64::NAN), Just(f64::INFINITY)]
}

fn densities(counts: &[f64]) -> Vec<PlantDensity> {
    counts.iter().copied().map(PlantDensity::from_per_acre).collect()
}

fn inches(numbers: &[f64]) -> Vec<Length> {
    numbers.iter().copied().map(Length::from_inches).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

    #[test]
    fn whatever_comes_nothing_panics(
        numbers in prop::collection::vec(any_number(), 0..8),
        (a, b, c) in (any_number(), any_number(), any_number()),
        leaves in any::<u8>(),
        each in any::<usize>(),
    ) {
        let spots: Vec<_> = numbers.chunks(2).map(densities).collect();
        let _ = clustered_stand(&spots, a);
        let _ = locations_needed(a, b, each, c, 0.95);
        let _ = (chance_cv(a, b), density_on_share(a, b), emergence_evenness(&numbers));
        let _ = days_behind(a, DegreeDays::from_fahrenheit(b));
        LateTable::ALL.iter().for_each(|table| drop(late_loss(*table, a, b)));
        LeafLagStudy::ALL.iter().for_each(|study| drop(leaf_lag_loss(*study, a, b)));
        SpacingStudy::ALL.iter().for_each(|study| drop(spacing_loss(*study, Length::from_inches(a), b)));
        let lengths = inches(&numbers);
        let _ = (gaps_from_positions(&lengths), spacing_summary(&lengths, Length::from_inches(a)));
        let _ = (pair_yield(PlantDensity::from_per_acre(a)), skip_compensation(PlantDensity::from_per_acre(a)));
        LeafCount::ALL.iter().for_each(|count| drop(collars_from(*count, leaves)));
        let _ = stage_by_split_stalk(leaves);
        let stages = [SoybeanStage::Node(leaves), SoybeanStage::Reproductive(leaves), SoybeanStage::Emergence];
        let _ = soybean_field_stage(&stages[..usize::from(leaves % 4)]);
        if let Ok(summary) = depth_summary(&lengths, Length::from_inches(a)) {
            let _ = depth_warnings(&summary, Length::from_inches(b));
        }
    }

    #[test]
    fn one_count_at_each_spot_is_a_plain_sample(counts in prop::collection::vec(1e3..5e4_f64, 2..12)) {
        let counts = densities(&counts);
        let spots: Vec<_> = counts.iter().map(std::slice::from_ref).collect();
        let (plain, spots) = (stand_estimate(&counts, 0.95).unwrap(), clustered_stand(&spots, 0.95).unwrap());
        prop_assert!((plain.mean.per_acre() - spots.mean.per_acre()).abs() < 1e-6);
        prop_assert!((plain.half_width.unwrap().per_acre() - spots.half_width.per_acre()).abs() < 1e-6);
        prop_assert!(spots.design_effect.is_none());
    }

    #[test]
    fn shares_of_clustered_stands_are_shares(
        spots in prop::collection::vec(prop::collection::vec(1e3..5e4_f64, 1..5), 2..8),
    ) {
        let spots: Vec<_> = spots.iter().map(|spot| densities(spot)).collect();
        let found = clustered_stand(&spots, 0.95).unwrap();
        prop_assert!(found.interval.0.per_acre() <= found.mean.per_acre() + 1e-6);
        prop_assert!(found.mean.per_acre() <= found.interval.1.per_acre() + 1e-6);
        prop_assert!(found.intraclass.is_none_or(|share| (0.0..=1.0).contains(&share)));
        prop_assert!(found.design_effect.is_none_or(|effect| effect > 0.0));
    }

    #[test]
    fn more_counts_at_a_spot_never_need_more_spots(between in 0.0..0.3_f64, within in 0.0..0.3_f64, each in 1_usize..20) {
        let needed = |each| locations_needed(between, within, each, 0.05, 0.95).unwrap();
        prop_assert!(needed(each + 1) <= needed(each));
        prop_assert!(locations_needed(between, within, each, 0.10, 0.95).unwrap() <= needed(each));
    }

    #[test]
    fn a_longer_delay_never_costs_less(share in 0.0..0.75_f64, days in 0.0..23.0_f64, more in 0.0..1.0_f64) {
        for table in LateTable::ALL {
            let (less, longer) = (late_loss(*table, share, days).unwrap(), late_loss(*table, share, days + more).unwrap());
            prop_assert!(less <= longer + 1e-12 && (0.0..0.25).contains(&less));
        }
    }

    #[test]
    fn more_late_plants_or_leaves_never_cost_less(share in 0.0..0.16_f64, leaves in 0.0..1.9_f64) {
        for study in LeafLagStudy::ALL {
            let (low, high) = leaf_lag_loss(*study, share, leaves).unwrap();
            prop_assert!(low <= high);
            prop_assert!(leaf_lag_loss(*study, share, leaves + 0.1).unwrap().0 >= low);
            prop_assert!(leaf_lag_loss(*study, share + 0.005, leaves).unwrap().1 >= high);
        }
    }

    #[test]
    fn shares_of_lagging_plants_are_in_order(collars in prop::collection::vec(0_u8..=48, 1..60)) {
        let collars: Vec<_> = collars.into_iter().map(|half| f64::from(half) / 2.0).collect();
        let found = emergence_evenness(&collars).unwrap();
        prop_assert!(found.half_leaf >= found.one_leaf && found.one_leaf >= found.two_leaves);
        prop_assert!(found.half_leaf <= 0.5);
        prop_assert!(found.two_leaves_interval.0 <= found.two_leaves && found.two_leaves <= found.two_leaves_interval.1);
    }

    #[test]
    fn gaps_add_up_and_their_classes_too(gaps in prop::collection::vec(0.0..40.0_f64, 1..60)) {
        let found = spacing_summary(&inches(&gaps), Length::from_inches(6.5)).unwrap();
        prop_assert!((found.multiples + found.misses + found.quality_of_feed - 1.0).abs() < 1e-9);
        let mut place = 0.0;
        let places: Vec<_> = std::iter::once(0.0).chain(gaps.iter().map(|gap| { place += gap; place })).collect();
        let again = gaps_from_positions(&inches(&places)).unwrap();
        prop_assert!(again.iter().zip(&gaps).all(|(again, gap)| (again.inches() - gap).abs() < 1e-6));
    }

    #[test]
    fn uneven_spacing_never_pays(sd in 2.7..6.3_f64, yield_bushels in 0.0..500.0_f64) {
        for study in SpacingStudy::ALL {
            let loss = |sd| spacing_loss(*study, Length::from_inches(sd), yield_bushels).unwrap();
            prop_assert!(loss(sd) >= 0.0 && loss(sd + 0.05) >= loss(sd));
        }
    }
}

#[test]
fn a_table_says_where_it_ends() {
    for (share, days) in [(0.76, 10.0), (0.5, 24.1)] {
        assert!(late_loss(LateTable::Smoothed, share, days).unwrap_err().to_string().starts_with("outside the table"));
    }
    let thick = PlantDensity::from_per_acre(34_000.0);
    assert!(skip_compensation(thick).unwrap_err().to_string().starts_with("outside the table"));
    let even = spacing_loss(SpacingStudy::Ontario2004, Length::from_inches(2.0), 200.0);
    assert!(even.unwrap_err().to_string().starts_with("outside the table"));
}
