//! A second opinion: t quantiles and t intervals by SciPy, Wilson intervals by statsmodels and by their definition, degree
//! days by our own lines of NumPy (by packages of others: `second_opinion_weather.rs`), 10,000 random cases of each. `second_opinion_tests.rs` asks about tests, weighted means and lines.
//!
//! `LIGULE_PYTHON` names a Python that has all three; `cargo xtask test` makes one. The cases come from a seed that is
//! printed with every failure and that `LIGULE_SEED` sets.

use common::{Random, ask, seed};
use ligule_agronomy::degree_days::{Method, Model, accumulate};
use ligule_agronomy::statistics::{t_half_width, t_two_sided, wilson_interval};
use ligule_units::Temperature;
use serde::Deserialize;
use serde_json::json;

mod common;

const CASES: usize = 10_000;

/// Relative difference accepted for t quantiles and everything made of them: both sides solve iteratively.
const T_TOLERANCE: f64 = 1e-10;
/// Absolute difference accepted for shares, which lie between 0 and 1.
const SHARE_TOLERANCE: f64 = 1e-12;
/// Absolute difference accepted for a day's degree days in °F: ours go through kelvins.
const DAY_TOLERANCE: f64 = 1e-10;

#[derive(Deserialize)]
struct Answers {
    t_quantiles: Vec<f64>,
    t_half_width: Vec<f64>,
    wilson: Vec<(f64, f64)>,
    wilson_of_statsmodels: Vec<(f64, f64)>,
    degree_days: Vec<Vec<f64>>,
}

#[test]
fn scipy_and_numpy_agree() {
    let seed = seed();
    let mut random = Random(seed);
    let levels: Vec<f64> = (0..CASES).map(|_| random.between(0.5, 0.999)).collect();
    let freedom: Vec<u64> =
        (0..CASES).map(|i| if i % 4 == 0 { random.whole(1, 100_000) } else { random.whole(1, 60) }).collect();
    let samples: Vec<Vec<f64>> =
        (0..CASES).map(|_| (0..random.whole(2, 20)).map(|_| random.between(0.0, 45_000.0)).collect()).collect();
    let trials: Vec<u64> = (0..CASES).map(|_| random.whole(1, 1000)).collect();
    let found: Vec<u64> = trials.iter().map(|n| random.whole(0, *n)).collect();
    let minimum: Vec<f64> = (0..CASES).map(|_| random.between(-40.0, 90.0)).collect();
    let maximum: Vec<f64> = minimum.iter().map(|low| low + random.between(0.0, 45.0)).collect();
    let base: Vec<f64> = (0..CASES).map(|_| random.between(32.0, 60.0)).collect();
    let upper: Vec<f64> = base.iter().map(|low| low + random.between(1.0, 50.0)).collect();

    let answers: Answers = ask(
        "second_opinion.py",
        &json!({
            "t_quantiles": { "level": levels, "freedom": freedom },
            "t_half_width": { "samples": samples, "level": levels },
            "wilson": { "found": found, "trials": trials, "level": levels },
            "wilson_of_statsmodels": { "found": found, "trials": trials, "level": levels },
            "degree_days": { "maximum": maximum, "minimum": minimum, "base": base, "upper": upper },
        }),
    );

    let mut worst = [0.0_f64; 4];
    let mut compare = |which: usize, case: usize, ours: f64, theirs: f64, relative: bool, tolerance: f64| {
        let difference = (ours - theirs).abs() / if relative { theirs.abs() } else { 1.0 };
        assert!(difference <= tolerance, "seed {seed}, case {case}: ours {ours}, theirs {theirs}");
        worst[which] = worst[which].max(difference);
    };
    assert_eq!(answers.t_quantiles.len(), CASES);
    assert_eq!(answers.t_half_width.len(), CASES);
    assert_eq!(answers.wilson.len(), CASES);
    assert_eq!(answers.wilson_of_statsmodels.len(), CASES);
    for i in 0..CASES {
        let freedom = usize::try_from(freedom[i]).expect("fits");
        let t = t_two_sided(levels[i], freedom).expect("valid");
        compare(0, i, t, answers.t_quantiles[i], true, T_TOLERANCE);
        let half_width = t_half_width(&samples[i], levels[i]).expect("valid");
        compare(1, i, half_width, answers.t_half_width[i], true, T_TOLERANCE);
        let (low, high) = wilson_interval(found[i], trials[i], levels[i]).expect("valid");
        for theirs in [&answers.wilson[i], &answers.wilson_of_statsmodels[i]] {
            compare(2, i, low, theirs.0, false, SHARE_TOLERANCE);
            compare(2, i, high, theirs.1, false, SHARE_TOLERANCE);
        }
    }
    let methods = [Method::ModifiedAverage, Method::SimpleAverage, Method::ClippedAverage, Method::CappedMaximum];
    assert_eq!(answers.degree_days.len(), methods.len());
    for (method, theirs) in methods.into_iter().zip(&answers.degree_days) {
        assert_eq!(theirs.len(), CASES);
        for i in 0..CASES {
            let upper = (method != Method::SimpleAverage).then(|| Temperature::from_fahrenheit(upper[i]));
            let model = Model::new(method, Temperature::from_fahrenheit(base[i]), upper).expect("valid");
            let day = (Some(Temperature::from_fahrenheit(maximum[i])), Some(Temperature::from_fahrenheit(minimum[i])));
            let ours = accumulate([day], &model).expect("valid").sum.fahrenheit();
            compare(3, i, ours, theirs[i], false, DAY_TOLERANCE);
        }
    }
    println!(
        "largest differences: t {:.1e}, half-width {:.1e}, share {:.1e}, day {:.1e}",
        worst[0], worst[1], worst[2], worst[3]
    );
}
