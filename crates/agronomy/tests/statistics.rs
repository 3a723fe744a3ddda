//! Any numbers at all, in any formula of statistics, give an answer that is a number or an error; and laws of the answers.

use ligule_agronomy::statistics::{
    Estimate, anova, f_p_value, grouped_mean, mean, regression, share_standard_error, t_half_width, t_p_value,
    weighted_mean, welch_test,
};
use proptest::collection::vec;
use proptest::prelude::*;

fn wild() -> impl Strategy<Value = f64> {
    let telling = vec![
        0.0,
        -0.0,
        1e9,
        -1e9,
        1e15,
        -1e15,
        1e-160,
        5e-324,
        f64::MIN_POSITIVE,
        f64::MAX,
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
    ];
    prop_oneof![1 => any::<f64>(), 3 => prop::sample::select(telling), 12 => -200.0..200.0_f64]
}

/// Values that are all in range, so that what follows the check is met too; often alike, often very unlike.
fn valid() -> impl Strategy<Value = f64> {
    let telling = vec![0.0, -0.0, 1.0, 1e15, -1e15, 1e-160, -1e-160, 5e-324, f64::MIN_POSITIVE];
    prop_oneof![1 => prop::sample::select(telling), 1 => -200.0..200.0_f64]
}

fn values() -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![vec(wild(), 0..8), vec(valid(), 0..8)]
}

fn is_sound(estimate: Estimate) -> bool {
    let (low, high) = estimate.interval;
    let finite = [estimate.value, estimate.standard_error, low, high].iter().all(|number| number.is_finite());
    finite && estimate.standard_error >= 0.0 && low <= estimate.value && estimate.value <= high
}

fn is_chance(p: f64) -> bool {
    (0.0..=1.0 + 1e-9).contains(&p)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(4000) })]

    #[test]
    fn means(first in values(), second in values(), times in vec(any::<u64>(), 0..8), level in prop_oneof![wild(), 0.5..0.999]) {
        if let Ok(found) = weighted_mean(&first, &second, level) {
            prop_assert!(is_sound(found.mean), "{:?}", found);
        }
        let few: Vec<u64> = times.iter().map(|n| n % 50).collect();
        for times in [&times, &few] {
            if let Ok(found) = grouped_mean(&first, times, level) {
                prop_assert!(is_sound(found.mean), "{:?}", found);
            }
        }
    }

    #[test]
    fn lines(x in values(), y in values(), at in wild(), level in prop_oneof![wild(), 0.5..0.999]) {
        let shorter = x.len().min(y.len());
        for (x, y) in [(&x[..], &y[..]), (&x[..shorter], &y[..shorter])] {
            if let Ok(line) = regression(x, y, level) {
                prop_assert!(is_sound(line.slope) && is_sound(line.intercept), "{:?}", line);
                prop_assert!(is_chance(line.slope_p) && line.residual_sd.is_finite(), "{:?}", line);
                prop_assert!(line.r_squared.is_none_or(is_chance), "{:?}", line);
                for at in [at, x[0], line.measured.0, line.measured.1] {
                    if let (Ok(mean), Ok(new)) = (line.mean_response(at), line.prediction(at)) {
                        prop_assert!(is_sound(mean) && is_sound(new), "{:?} at {}", line, at);
                        prop_assert!(mean.standard_error <= new.standard_error);
                    }
                }
            }
        }
    }

    #[test]
    fn tests_of_means(groups in vec(values(), 0..5), level in prop_oneof![wild(), 0.5..0.999]) {
        if let [first, second, ..] = &groups[..] && let Ok(test) = welch_test(first, second, level) {
            prop_assert!(is_sound(test.difference) && test.t.is_finite() && is_chance(test.p), "{:?}", test);
            let most = (first.len() + second.len() - 2) as f64;
            prop_assert!((1.0..=most * (1.0 + 1e-9)).contains(&test.degrees_of_freedom), "{:?}", test);
        }
        if let Ok(found) = anova(&groups) {
            prop_assert!(found.f.is_finite() && found.f >= 0.0 && is_chance(found.p), "{:?}", found);
            if let (Ok(others), Ok(pairs)) = (found.against_the_others(level), found.pairs(level)) {
                prop_assert_eq!((others.len(), pairs.len()), (groups.len(), groups.len() * (groups.len() - 1) / 2));
                for compared in others.iter().chain(pairs.iter().map(|pair| &pair.compared)) {
                    prop_assert!(is_sound(compared.difference) && is_chance(compared.p), "{:?}", compared);
                }
            }
        }
    }

    #[test]
    fn tails(a in wild(), b in wild(), c in wild(), found in any::<u64>(), trials in any::<u64>()) {
        prop_assert!(t_p_value(a, b).map_or(true, is_chance));
        prop_assert!(f_p_value(a, b, c).map_or(true, is_chance));
        prop_assert!(share_standard_error(found, trials).map_or(true, |error| (0.0..=0.5).contains(&error)));
    }

    #[test]
    fn equal_weights_are_no_weights(values in vec(-200.0..200.0_f64, 2..10), weight in 0.1..100.0_f64) {
        let weighted = weighted_mean(&values, &vec![weight; values.len()], 0.95)?;
        let tallied = grouped_mean(&values, &vec![1; values.len()], 0.95)?;
        let half_width = t_half_width(&values, 0.95)?;
        for found in [weighted, tallied] {
            prop_assert!((found.mean.value - mean(&values)?).abs() <= 1e-10);
            prop_assert!((found.mean.interval.1 - found.mean.value - half_width).abs() <= 1e-9 * half_width.max(1.0));
        }
    }

    #[test]
    fn two_groups_of_one_size_are_a_t_test(first in vec(-50.0..50.0_f64, 4), second in vec(-50.0..50.0_f64, 4)) {
        // With groups of one size F is the square of the t of Welch, though the degrees of freedom differ.
        let (f, t) = (anova(&[&first[..], &second[..]])?.f, welch_test(&first, &second, 0.95)?.t);
        prop_assert!((f - t * t).abs() <= 1e-9 * f.max(1.0));
    }

    #[test]
    fn a_larger_t_or_f_is_rarer(t in 0.0..20.0_f64, more in 0.01..5.0_f64, above in 1.0..50.0_f64, below in 1.0..500.0_f64) {
        prop_assert!(t_p_value(t + more, below)? < t_p_value(t, below)?);
        // Next to nothing, with many degrees of freedom, both are 1 to the last digit of an f64.
        let (larger, smaller) = (f_p_value(t + more, above, below)?, f_p_value(t, above, below)?);
        prop_assert!(larger < smaller || t < 0.5 && larger == smaller && smaller == 1.0, "{larger} {smaller}");
        // Both sides of t are its square as an F.
        let (both, squared) = (t_p_value(t, below)?, f_p_value(t * t, 1.0, below)?);
        prop_assert!((both - squared).abs() <= 1e-10 * both.max(1e-300) + 1e-14);
    }
}
