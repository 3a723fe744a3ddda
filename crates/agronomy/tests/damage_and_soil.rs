//! Laws of hail, frost, flood, roots and soil, tried at random: tables stay monotone between their knots, ranges stay
//! in order, versions stay within what encloses them, and no input whatever panics.

use jiff::civil::date;
use ligule_agronomy::catalogue::{Need, Takes, worksheets};
use ligule_agronomy::damage::{
    AdjusterOffset, Crop, Event, HailChart, HailStage, NodeStudy, combined_loss, days_to_wait, early_stand_loss,
    early_stand_losses, flood_limits, frost_reached, growing_point, hail_rows, late_stand_loss, leaf_loss,
    leaf_loss_range, soybean_node_loss, wait_range,
};
use ligule_agronomy::roots::{
    NodeLossStudy, RootAngle, Sidewall, from_old_scale, injury_loss, node_injury, root_angle, rootless_signs, sidewall,
    to_old_scale,
};
use ligule_agronomy::soil::{
    Feel, Grade, Layer, Moisture, ResidueClass, Shape, SizeClass, SizeSystem, TextureClass, WaterPerDepth, available,
    deficit, deficit_of, depletion, profile_water, residue_class, residue_cover, rupture_resistance, size_class,
    texture_class,
};
use ligule_agronomy::stage::{CornStage, SoybeanStage};
use ligule_units::{Length, PlantDensity, Temperature};
use proptest::num::f64::ANY;
use proptest::prelude::*;

/// Every `f64`, with the ones that break things more often than chance would bring them.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => ANY,
        4 => prop::sample::select(vec![0.0, -0.0, 1.0, 1e9, -1e9, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MIN_POSITIVE]),
        6 => -200.0..200.0_f64,
        4 => 0.0..1.0_f64,
    ]
}

/// The rows of the national chart, in the order of the season.
fn season() -> Vec<HailStage> {
    use HailStage::{
        Blister, Dent, EarlyDent, EarlyMilk, LateDent, LateMilk, Milk, NearlyMature, PreBlister, Silked, SilksBrown,
        SoftDough, Tassel,
    };
    let late = [
        Tassel,
        Silked,
        SilksBrown,
        PreBlister,
        Blister,
        EarlyMilk,
        Milk,
        LateMilk,
        SoftDough,
        EarlyDent,
        Dent,
        LateDent,
        NearlyMature,
    ];
    (7..=21).map(HailStage::Leaf).chain(late).collect()
}

fn hail_stage() -> impl Strategy<Value = HailStage> {
    prop_oneof![prop::sample::select(season()), any::<u8>().prop_map(HailStage::Leaf)]
}

fn corn_stage() -> impl Strategy<Value = CornStage> {
    prop_oneof![
        (0_u8..=30).prop_map(|n| CornStage::leaf(n).expect("exists")),
        Just(CornStage::VT),
        (1_u8..=6).prop_map(|n| CornStage::reproductive(n).expect("exists")),
    ]
}

fn in_share(number: f64) -> bool {
    (0.0..=1.0).contains(&number)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn leaf_loss_is_a_share_and_rises_with_the_leaves_lost(stage in hail_stage(), a in 0.0..=1.0_f64, b in 0.0..=1.0_f64, any in wild()) {
        for chart in HailChart::ALL {
            if let (Ok(less), Ok(more)) = (leaf_loss(*chart, stage, a.min(b)), leaf_loss(*chart, stage, a.max(b))) {
                prop_assert!(in_share(less) && less <= more + 1e-12 && in_share(more));
                let (low, high) = leaf_loss_range((stage, stage), a.max(b))?;
                prop_assert!(low <= more && more <= high);
                prop_assert_eq!(leaf_loss(*chart, stage, 0.0), Ok(0.0));
            }
            prop_assert!(leaf_loss(*chart, stage, any).map_or(true, in_share));
        }
    }

    #[test]
    fn leaf_loss_rises_up_to_tassel_and_falls_after_it(lost in 0.0..=1.0_f64) {
        let losses: Vec<_> = season().into_iter().map(|s| leaf_loss(HailChart::National, s, lost).expect("in the chart")).collect();
        let tassel = season().iter().position(|s| *s == HailStage::Tassel).expect("listed");
        prop_assert!(losses[..=tassel].windows(2).all(|pair| pair[0] <= pair[1] + 1e-12));
        prop_assert!(losses[tassel..].windows(2).all(|pair| pair[0] >= pair[1] - 1e-12));
    }

    #[test]
    fn the_minnesota_version_stays_within_two_points_of_the_national_chart(lost in 0.0..=1.0_f64) {
        for stage in [HailStage::Silked, HailStage::Milk, HailStage::SoftDough, HailStage::Dent] {
            let [ours, theirs] = [HailChart::National, HailChart::Minnesota].map(|c| leaf_loss(c, stage, lost).expect("in both"));
            prop_assert!((ours - theirs).abs() <= 0.02 + 1e-9, "{stage}: {ours} {theirs}");
        }
    }

    #[test]
    fn an_offset_of_two_counts_one_leaf_more_than_an_offset_of_one(stage in corn_stage()) {
        for offset in AdjusterOffset::ALL {
            if let Ok((first, last)) = hail_rows(stage, *offset) {
                prop_assert!(first <= last);
                prop_assert!(leaf_loss_range((first, last), 0.5).is_ok());
            }
        }
        if let (Ok((HailStage::Leaf(one), _)), Ok((HailStage::Leaf(two), _))) =
            (hail_rows(stage, AdjusterOffset::One), hail_rows(stage, AdjusterOffset::Two))
        {
            prop_assert_eq!(one + 1, two);
        }
        let _ = growing_point(stage);
    }

    #[test]
    fn losses_join_in_either_order_and_never_pass_their_sum(a in 0.0..=1.0_f64, b in 0.0..=1.0_f64, c in wild(), d in wild()) {
        let whole = combined_loss(a, b)?;
        prop_assert!((whole - combined_loss(b, a)?).abs() < 1e-12);
        prop_assert!(whole >= a.max(b) - 1e-12 && whole <= (a + b).min(1.0) + 1e-12);
        prop_assert!(combined_loss(c, d).map_or(true, in_share));
    }

    #[test]
    fn a_stand_is_lost_one_for_one_after_10_leaf_and_never_both_ways(stage in hail_stage(), before in wild(), after in wild()) {
        let [stand, left] = [before, after].map(PlantDensity::from_per_acre);
        let late = late_stand_loss(stage, stand, left);
        prop_assert!(late.clone().map_or(true, in_share));
        let early = early_stand_loss(stage, before, after);
        prop_assert!(early.clone().map_or(true, in_share));
        prop_assert!(late.is_err() || early.is_err());
        let loss = late_stand_loss(HailStage::Tassel, PlantDensity::from_per_acre(30_000.0), left);
        prop_assert!(loss.map_or(true, |loss| (loss + after / 30_000.0 - 1.0).abs() < 1e-9));
    }

    #[test]
    fn more_cold_and_more_hours_reach_no_fewer_limits(low in -20.0..50.0_f64, colder in 0.0..20.0_f64, hours in 0.0..24.0_f64, longer in 0.0..24.0_f64, a in wild(), b in wild()) {
        for crop in Crop::ALL {
            let mild = frost_reached(*crop, Temperature::from_fahrenheit(low), hours)?;
            let harsh = frost_reached(*crop, Temperature::from_fahrenheit(low - colder), hours + longer)?;
            prop_assert!(mild.iter().all(|limit| harsh.contains(limit)));
            let _ = frost_reached(*crop, Temperature::from_celsius(a), b);
        }
    }

    #[test]
    fn longer_under_water_is_never_better(collars in 0_u8..=30, fahrenheit in 32.0..110.0_f64, days in 0.0..20.0_f64, more in 0.0..20.0_f64, wild_days in wild(), wild_collars in any::<u8>()) {
        for crop in Crop::ALL {
            let limits = flood_limits(*crop, collars, Temperature::from_fahrenheit(fahrenheit))?;
            prop_assert!(!limits.is_empty(), "{collars} {fahrenheit}");
            for limit in limits {
                prop_assert!(limit.days.1.is_none_or(|most| limit.days.0 <= most));
                prop_assert!(limit.outlook(days) as u8 <= limit.outlook(days + more) as u8);
                let _ = limit.outlook(wild_days);
            }
            let _ = flood_limits(*crop, wild_collars, Temperature::from_fahrenheit(wild_days));
        }
    }

    #[test]
    fn more_nodes_lost_cost_no_less(n in 0_u8..12, a in 0.0..=1.0_f64, b in 0.0..=1.0_f64, any in wild()) {
        for stage in [SoybeanStage::Node(n), SoybeanStage::Reproductive(n), SoybeanStage::Cotyledon] {
            for study in NodeStudy::ALL {
                if let (Ok(less), Ok(more)) = (soybean_node_loss(*study, stage, a.min(b)), soybean_node_loss(*study, stage, a.max(b))) {
                    prop_assert!(in_share(less) && less <= more + 1e-12 && in_share(more));
                }
                prop_assert!(soybean_node_loss(*study, stage, any).map_or(true, in_share));
            }
        }
    }

    #[test]
    fn root_ratings_lie_within_their_conversion_there_and_back(nodes in 0.0..=3.0_f64, more in 0.0..3.0_f64, rating in 1.0..=6.0_f64, any in wild()) {
        let (low, high) = to_old_scale(nodes)?;
        prop_assert!(1.0 <= low && low <= high && high <= 6.0);
        prop_assert!(from_old_scale(low)?.0 <= nodes + 1e-12 && nodes <= from_old_scale(high)?.1 + 1e-12);
        let (low, high) = from_old_scale(rating)?;
        prop_assert!(low <= high && to_old_scale(low)?.0 <= rating && rating <= to_old_scale(high)?.1);
        for study in NodeLossStudy::ALL {
            let loss = injury_loss(nodes, *study)?;
            prop_assert!(in_share(loss) && loss <= injury_loss((nodes + more).min(3.0), *study)?);
            prop_assert!(injury_loss(any, *study).map_or(true, in_share));
        }
        let _ = (to_old_scale(any), from_old_scale(any));
    }

    #[test]
    fn roots_never_panic(ratings in prop::collection::vec(wild(), 0..12), a in wild(), b in wild(), flag in any::<bool>(), day in 1_i8..=28, month in 1_i8..=12) {
        if let Ok(found) = node_injury(&ratings) {
            prop_assert!(in_share(found.share_well_protected) && found.mean <= found.highest + 1e-12);
        }
        if let (Ok(low), Ok(high)) = (root_angle(a.min(b)), root_angle(a.max(b))) {
            prop_assert!(low <= high);
        }
        if let (Ok(low), Ok(high)) = (sidewall(flag, a.min(b)), sidewall(flag, a.max(b))) {
            prop_assert!(low <= high && high.score() <= 3);
        }
        let maxima: Vec<_> = ratings.iter().map(|f| Temperature::from_fahrenheit(*f)).collect();
        prop_assert!(rootless_signs(date(2026, month, day), Length::from_inches(a), flag, &maxima).map_or(true, |s| s.count() <= 4));
    }

    #[test]
    fn water_reads_back_and_profiles_add_up(inches in 0.1..6.0_f64, share in 0.0..=1.0_f64, thick in prop::collection::vec(wild(), 0..6), a in wild(), b in wild()) {
        let capacity = WaterPerDepth::from_inches_per_foot(inches);
        let metric = WaterPerDepth::from_millimetres_per_metre(capacity.millimetres_per_metre());
        prop_assert!((metric.inches_per_foot() - inches).abs() < 1e-12);
        prop_assert!((depletion(capacity, deficit_of(capacity, share)?)? - (1.0 - share)).abs() < 1e-9);
        let _ = (deficit_of(WaterPerDepth::from_inches_per_foot(a), b), depletion(WaterPerDepth::from_inches_per_foot(a), WaterPerDepth::from_inches_per_foot(b)));
        let layers: Vec<_> = thick.iter().zip(Feel::ALL.iter().cycle()).zip(TextureClass::ALL.iter().cycle())
            .map(|((t, feel), texture)| Layer { thickness: Length::from_inches(*t), texture: *texture, feel: *feel }).collect();
        if let Ok(water) = profile_water(&layers) {
            prop_assert!(water.available.0 <= water.available.1 && water.deficit.0 <= water.deficit.1);
            prop_assert!((water.depth.inches() - thick.iter().sum::<f64>()).abs() < 1e-6);
        }
    }

    #[test]
    fn larger_units_are_of_no_smaller_class_and_both_systems_agree_above_fine(a in 0.01..2000.0_f64, b in 0.01..2000.0_f64, any in wild()) {
        for shape in Shape::ALL {
            for system in SizeSystem::ALL {
                if let (Ok(small), Ok(large)) = (size_class(*system, *shape, a.min(b)), size_class(*system, *shape, a.max(b))) {
                    prop_assert!(small <= large);
                }
                let _ = size_class(*system, *shape, any);
            }
            if let (Ok(ours), Ok(theirs)) = (size_class(SizeSystem::FieldBook, *shape, a), size_class(SizeSystem::Canadian, *shape, a)) {
                // The Canadian list joins the two finest classes, and has no more than four (platy: three).
                let last = if *shape == Shape::Platy { SizeClass::Coarse } else { SizeClass::VeryCoarse };
                prop_assert_eq!(ours.max(SizeClass::Fine).min(last), theirs);
            }
        }
    }

    #[test]
    fn harder_blocks_and_more_residue_are_of_no_lower_class(a in wild(), b in wild(), hits in prop::collection::vec(any::<u32>(), 0..6), marks in any::<u32>(), few in prop::collection::vec(0_u32..=100, 1..6)) {
        if let (Ok(soft), Ok(hard)) = (rupture_resistance(a.min(b)), rupture_resistance(a.max(b))) {
            prop_assert!(soft <= hard && !hard.name(Moisture::Dry).is_empty());
        }
        if let (Ok(bare), Ok(covered)) = (residue_class(a.min(b)), residue_class(a.max(b))) {
            prop_assert!(bare <= covered);
        }
        let _ = residue_cover(&hits, marks);
        let cover = residue_cover(&few, 100)?;
        prop_assert!(in_share(cover.mean));
        prop_assert!(cover.interval.is_none_or(|(low, high)| 0.0 <= low && low <= cover.mean && cover.mean <= high && high <= 1.0));
        prop_assert_eq!(cover.conservation, few.iter().sum::<u32>() as usize >= 30 * few.len());
    }

    #[test]
    fn stages_read_back_as_written(stage in prop::sample::select(season()), text in "\\PC{0,12}") {
        prop_assert_eq!(stage.to_string().parse::<HailStage>()?, stage);
        let _ = (text.parse::<HailStage>(), text.parse::<Crop>(), text.parse::<Feel>(), texture_class(&text));
    }

    #[test]
    fn worksheets_never_panic(choice in any::<prop::sample::Index>(), texts in prop::collection::vec(prop::sample::select(TEXTS.to_vec()), 8), left_out in any::<u8>()) {
        let ours: Vec<_> = worksheets().into_iter().filter(|sheet| OURS.contains(&sheet.name)).collect();
        prop_assert_eq!(ours.len(), OURS.len());
        let sheet = choice.get(&ours);
        let mut typed = Vec::new();
        for (index, input) in sheet.inputs.iter().enumerate() {
            if input.need != Need::Required && left_out & (1 << (index % 8)) != 0 {
                continue;
            }
            // A word that is none of the choices is refused before the formula: give one of them.
            let text = match input.takes {
                Takes::Word(words) => words[usize::from(left_out) % words.len()],
                Takes::Day => "2026-05-28",
                _ => texts[index % texts.len()],
            };
            typed.push((input.name, text));
        }
        if let Ok(answer) = sheet.work(&typed) {
            prop_assert!(!answer.steps.is_empty() && !answer.results.is_empty(), "{} {:?}", sheet.name, typed);
            for outcome in &answer.results {
                prop_assert!(!outcome.to_string().contains("NaN") && !outcome.to_string().contains("inf"), "{} {:?}", sheet.name, typed);
            }
        }
    }
}

const OURS: [&str; 17] = [
    "hail-leaf-loss",
    "hail-loss",
    "soybean-node-loss",
    "growing-point",
    "days-to-wait",
    "frost-survival",
    "flood-survival",
    "node-injury",
    "old-root-rating",
    "root-angle",
    "sidewall-sign",
    "rootless-corn",
    "soil-moisture",
    "soil-depletion",
    "soil-structure",
    "rupture-resistance",
    "residue-cover",
];

const TEXTS: [&str; 24] = [
    "0",
    "-1",
    "1",
    "2",
    "3.5",
    "50",
    "100",
    "1e9",
    "1e300",
    "0.1 0.5 1",
    "nonsense",
    "13-leaf",
    "21-leaf",
    "V11",
    "V30",
    "VT",
    "R3",
    "R6",
    "VE",
    "silt loam",
    "fine",
    "68F",
    "tassel",
    "99999999999999999999",
];

#[test]
fn every_word_reads_back_as_what_it_names() {
    macro_rules! reads_back {
        ($($name:ident),+) => {$(
            assert_eq!($name::ALL.len(), $name::WORDS.len());
            for one in $name::ALL {
                assert_eq!(one.word().parse::<$name>().as_ref(), Ok(one));
            }
        )+};
    }
    reads_back!(HailChart, AdjusterOffset, Crop, Event, NodeStudy, NodeLossStudy, RootAngle, Sidewall);
    reads_back!(Feel, Grade, Moisture, ResidueClass, Shape, SizeClass, SizeSystem, TextureClass);
    assert_eq!("wheat".parse::<Crop>().unwrap_err().to_string(), "`crop`: expected one of corn, soybean, got `wheat`");
}

#[test]
fn every_wait_lies_within_the_range_over_all() {
    for crop in Crop::ALL {
        for event in Event::ALL {
            let (least, most) = wait_range(*crop, *event);
            assert!(
                days_to_wait(*crop, *event)
                    .all(|wait| least <= wait.days.0 && wait.days.0 <= wait.days.1 && wait.days.1 <= most)
            );
        }
    }
}

#[test]
fn every_deficit_of_the_guide_is_share_times_capacity_within_its_rounding() {
    for texture in TextureClass::ALL {
        let capacity = texture.capacity();
        for feel in Feel::ALL {
            let (wet, dry) = feel.share();
            let (least, most) = deficit(*texture, *feel);
            let reckoned = (
                deficit_of(capacity.0, dry).expect("in range").inches_per_foot(),
                deficit_of(capacity.1, wet).expect("in range").inches_per_foot(),
            );
            assert!((least.inches_per_foot() - reckoned.0).abs() <= 0.05 + 1e-9, "{texture:?} {feel:?}");
            assert!((most.inches_per_foot() - reckoned.1).abs() <= 0.05 + 1e-9, "{texture:?} {feel:?}");
            let there = available(*texture, *feel);
            assert!(there.0 <= there.1);
        }
        // Wetter soil lacks no more.
        assert!(Feel::ALL.windows(2).all(|pair| deficit(*texture, pair[0]).1 >= deficit(*texture, pair[1]).1));
    }
}

#[test]
fn stages_outside_the_chart_are_refused_with_what_it_covers() {
    let message = leaf_loss(HailChart::National, HailStage::Leaf(5), 0.5).unwrap_err().to_string();
    assert!(
        message.contains("outside the table") && message.contains("7-leaf") && message.ends_with("got 5-leaf"),
        "{message}"
    );
    let v13 = CornStage::leaf(13).expect("exists");
    assert!(
        hail_rows(v13, AdjusterOffset::Practice).unwrap_err().to_string().contains("count the leaves as an adjuster")
    );
    assert!(
        late_stand_loss(HailStage::Leaf(10), PlantDensity::from_per_acre(3e4), PlantDensity::from_per_acre(2e4))
            .is_err()
    );
}

#[test]
fn the_hail_worksheet_reads_early_stand_loss_from_every_table_of_stands() {
    let sheets = worksheets();
    let sheet = sheets.iter().find(|sheet| sheet.name == "hail-loss").expect("listed");
    let typed = [("stage", "8-leaf"), ("defoliation", "0%"), ("before", "30000"), ("after", "18000")];
    assert!(sheet.work(&typed).unwrap_err().to_string().contains("planted"));
    let dated = [typed.as_slice(), &[("planted", "2026-04-25")]].concat();
    let answer = sheet.work(&dated).expect("in a table");
    // Illinois, 25 April: 100 % at 30,000 plants and 88 % at 18,000.
    assert!(
        answer.steps.iter().any(|step| step.contains("illinois") && step.contains("cost 12.0 %")),
        "{:?}",
        answer.steps
    );
    let losses = early_stand_losses(
        HailStage::Leaf(8),
        date(2026, 4, 25),
        PlantDensity::from_per_acre(30_000.0),
        PlantDensity::from_per_acre(18_000.0),
    );
    let losses = losses.expect("in a table");
    let told: Vec<f64> = losses.iter().filter_map(|(_, loss)| loss.clone().ok()).collect();
    assert!(!told.is_empty() && told.len() < losses.len() && told.into_iter().all(in_share), "{losses:?}");
    assert!(sheet.work(&[dated.as_slice(), &[("ears", "10%")]].concat()).is_ok());
}

#[test]
fn the_hail_worksheet_asks_for_the_offset_and_tells_which_it_took() {
    let sheets = worksheets();
    let sheet = sheets.iter().find(|sheet| sheet.name == "hail-leaf-loss").expect("listed");
    let without = sheet.work(&[("stage", "V11"), ("defoliation", "50%")]).unwrap_err().to_string();
    assert!(without.contains("offset"), "{without}");
    let answer = sheet.work(&[("stage", "V11"), ("offset", "two"), ("defoliation", "50%")]).expect("in the chart");
    assert_eq!(answer.results[0].to_string(), "10.0 %");
    assert!(
        answer
            .remarks
            .iter()
            .any(|r| r.contains("read as 13-leaf with the offset `two`; with `one` the row would be 12-leaf"))
    );
    let late = sheet.work(&[("stage", "R5"), ("defoliation", "100")]).expect("in the chart");
    assert_eq!(late.results[0].to_string(), "8.0 to 32.0 %");
    assert!(late.remarks.iter().any(|r| r.contains("from memory")));
}
