//! Whether intervals cover as often as they say: 100,000 samples drawn for each, 95 % ± 0.5.
//!
//! With 100,000 samples the share that is covered has a standard error of 0.07 points, so that ± 0.5 is seven of them: a
//! right interval does not fail, and a wrong quantile, or n for n − 1, does. The seed is printed, and `LIGULE_SEED` sets
//! it. Intervals that by their nature cover more or less than they say are held to what is true of them, in the tests
//! below the exact ones.

use common::{Random, seed};
use ligule_agronomy::stand::{clustered_stand, stand_estimate};
use ligule_agronomy::statistics::{
    Estimate, anova, grouped_mean, mean, regression, t_half_width, weighted_mean, welch_test, wilson_interval,
};
use ligule_units::PlantDensity;

mod common;

const SAMPLES: u32 = 100_000;
const LEVEL: f64 = 0.95;
const TOLERANCE: f64 = 0.005;

/// Returns how often what was drawn holds.
fn share_of(draw: impl FnMut() -> bool) -> f64 {
    let found: u32 = std::iter::repeat_with(draw).take(SAMPLES as usize).map(u32::from).sum();
    f64::from(found) / f64::from(SAMPLES)
}

fn covers(estimate: Estimate, truth: f64) -> bool {
    estimate.interval.0 <= truth && truth <= estimate.interval.1
}

fn assert_exact(what: &str, share: f64) {
    println!("{what}: {:.2} %", share * 100.0);
    assert!((share - LEVEL).abs() <= TOLERANCE, "{what} covers {:.2} %", share * 100.0);
}

#[test]
fn t_intervals_of_two_counts_and_of_eight() {
    let mut random = Random(seed());
    for n in [2, 8] {
        let mut counts = vec![0.0; n];
        let share = share_of(|| {
            random.normal(&mut counts, 29.0, 2.5);
            let half_width = t_half_width(&counts, LEVEL).expect("valid counts");
            (mean(&counts).expect("valid counts") - 29.0).abs() <= half_width
        });
        assert_exact(&format!("t interval of {n} counts"), share);
    }
}

#[test]
fn the_interval_of_a_stand_though_cut_at_zero() {
    // Cutting the lower end at zero takes away only what cannot be: coverage stays what it was.
    let mut random = Random(seed());
    let mut counts = [0.0; 2];
    let mut cut = 0;
    let share = share_of(|| {
        // Five standard deviations from zero, so that a count below zero, which cannot be, does not come.
        random.normal(&mut counts, 3000.0, 600.0);
        let estimate = stand_estimate(&counts.map(|n| PlantDensity::from_per_acre(n.max(0.0))), LEVEL);
        let (low, high) = estimate.expect("valid counts").interval.expect("two counts");
        cut += u32::from(low.per_acre() <= 0.0);
        (low.per_acre()..=high.per_acre()).contains(&3000.0)
    });
    assert!(cut > SAMPLES / 10, "only {cut} intervals were cut");
    assert_exact("interval of two sparse stand counts", share);
}

#[test]
fn the_interval_of_a_stand_with_several_counts_a_spot() {
    // Spots differ as much as counts within a spot do; the interval of the counts pooled would be far too narrow.
    let mut random = Random(seed());
    let (mut spots, mut counts) = ([0.0; 5], [0.0; 3]);
    let mut pooled_covers = 0;
    let share = share_of(|| {
        random.normal(&mut spots, 29_000.0, 2000.0);
        let stands = spots.map(|spot| {
            random.normal(&mut counts, spot, 2000.0);
            counts.map(PlantDensity::from_per_acre)
        });
        let covers = |(low, high): (PlantDensity, PlantDensity)| (low.per_acre()..=high.per_acre()).contains(&29_000.0);
        let pooled = stand_estimate(stands.as_flattened(), LEVEL).expect("valid counts");
        pooled_covers += u32::from(covers(pooled.interval.expect("fifteen counts")));
        covers(clustered_stand(&stands, LEVEL).expect("valid counts").interval)
    });
    assert!(pooled_covers < SAMPLES / 10 * 9, "pooled counts cover {pooled_covers} of {SAMPLES}");
    assert_exact("interval of five spots of three counts", share);
}

#[test]
fn the_interval_of_a_tally() {
    let mut random = Random(seed());
    // Plants at three, four and five collars, a quarter, a half and a quarter of all; sixty are looked at.
    let share = share_of(|| {
        let mut times = [0_u64; 3];
        for _ in 0..60 {
            times[[0, 1, 1, 2][random.whole(0, 3) as usize]] += 1;
        }
        covers(grouped_mean(&[3.0, 4.0, 5.0], &times, LEVEL).expect("a valid tally").mean, 4.0)
    });
    // Plants come in whole numbers, so that no interval of them is exact.
    println!("interval of a tally of 60 plants: {:.2} %", share * 100.0);
    assert!((0.94..=LEVEL + TOLERANCE).contains(&share), "{share}");
}

#[test]
fn every_interval_of_a_regression() {
    let mut random = Random(seed());
    let x = [0.0, 5.0, 7.0, 12.0, 20.0, 24.0, 30.0];
    let (intercept, slope, sd) = (180.0, -1.2, 9.0);
    let mut noise = [0.0; 7];
    let mut covered = [0_u32; 4];
    let shown = share_of(|| {
        random.normal(&mut noise, 0.0, sd);
        let y: Vec<f64> = x.iter().zip(noise).map(|(x, e)| intercept + slope * x + e).collect();
        let line = regression(&x, &y, LEVEL).expect("valid points");
        let there = 18.0;
        let new = intercept + slope * there + sd * random.two_normal().0;
        let estimates = [
            (line.slope, slope),
            (line.intercept, intercept),
            (line.mean_response(there).expect("within"), intercept + slope * there),
            (line.prediction(there).expect("within"), new),
        ];
        for (count, (estimate, truth)) in covered.iter_mut().zip(estimates) {
            *count += u32::from(covers(estimate, truth));
        }
        line.slope_p <= 1.0
    });
    assert!((shown - 1.0).abs() < f64::EPSILON);
    for (what, count) in ["slope", "intercept", "mean at x", "new value at x"].into_iter().zip(covered) {
        assert_exact(what, f64::from(count) / f64::from(SAMPLES));
    }
}

#[test]
fn the_difference_of_two_means_by_welch() {
    let mut random = Random(seed());
    let (mut first, mut second) = ([0.0; 8], [0.0; 12]);
    let mut small = 0;
    let share = share_of(|| {
        random.normal(&mut first, 30.0, 1.5);
        random.normal(&mut second, 30.0, 3.0);
        let test = welch_test(&first, &second, LEVEL).expect("valid samples");
        small += u32::from(test.p < 1.0 - LEVEL);
        covers(test.difference, 0.0)
    });
    assert_exact("Welch interval of 8 and 12 values, SD 1 to 2", share);
    // The interval and the p are two views of one thing.
    assert!((f64::from(small) / f64::from(SAMPLES) - (1.0 - share)).abs() < 1e-4);
}

#[test]
fn an_analysis_of_variance_finds_what_is_not_there_one_time_in_twenty() {
    let mut random = Random(seed());
    let mut units = [[0.0; 5]; 4];
    let mut together = 0;
    let share = share_of(|| {
        for unit in &mut units {
            random.normal(unit, 2.0, 0.3);
        }
        let found = anova(&units).expect("valid groups");
        let others = found.against_the_others(LEVEL).expect("a valid level");
        together += u32::from(others.iter().all(|other| covers(other.difference, 0.0)));
        found.p >= 1.0 - LEVEL
    });
    assert_exact("F of four planter units alike", share);
    // Bonferroni's intervals hold all together at least as often as they say, and with few groups not much more often.
    let together = f64::from(together) / f64::from(SAMPLES);
    println!("four units against the others, all together: {:.2} %", together * 100.0);
    assert!((LEVEL - 0.0025..=LEVEL + 0.01).contains(&together), "{together}");
}

/// Wilson's interval is not exact at one share, because plants come in whole numbers; it is on average over all shares.
#[test]
fn wilson_intervals_on_average_over_shares_from_none_to_all() {
    let mut random = Random(seed());
    for n in [50_u64, 100] {
        let intervals: Vec<_> = (0..=n).map(|k| wilson_interval(k, n, LEVEL).expect("valid counts")).collect();
        let share = share_of(|| {
            let p = random.share();
            let found = (0..n).filter(|_| random.share() < p).count();
            let (low, high) = intervals[found];
            low <= p && p <= high
        });
        assert_exact(&format!("Wilson interval of {n} plants, shares evenly from 0 to 1"), share);
    }
}

/// At one share Wilson's interval covers from 84 % (very rare pests) to over 98 %: reckoned exactly, without chance.
#[test]
fn wilson_intervals_at_each_share_cover_what_they_can() {
    for n in [20_u64, 100] {
        let intervals: Vec<_> = (0..=n).map(|k| wilson_interval(k, n, LEVEL).expect("valid counts")).collect();
        let (mut least, mut least_ordinary) = (1.0_f64, 1.0_f64);
        // Above a half it is the mirror image.
        for step in 1..=1000 {
            let p = f64::from(step) / 2000.0;
            // Chance of each count, from the one before.
            let mut chance = (1.0 - p).powi(i32::try_from(n).expect("small"));
            let mut covered = 0.0;
            for k in 0..=n {
                let (low, high) = intervals[k as usize];
                covered += if low <= p && p <= high { chance } else { 0.0 };
                chance *= (n - k) as f64 / (k + 1) as f64 * p / (1.0 - p);
            }
            least = least.min(covered);
            if p >= 0.05 {
                least_ordinary = least_ordinary.min(covered);
            }
        }
        println!(
            "{n} plants: at least {:.1} %, {:.1} % for shares from 5 to 95 %",
            least * 100.0,
            least_ordinary * 100.0
        );
        assert!(least >= 0.83, "{n}: {least}");
        assert!(least_ordinary >= 0.89, "{n}: {least_ordinary}");
    }
}

/// The interval of a weighted mean leans on many spots: with few it covers a little less often than it says.
#[test]
fn weighted_means_of_few_spots_cover_somewhat_less() {
    let mut random = Random(seed());
    for spots in [10, 40] {
        let (mut values, mut weights) = (vec![0.0; spots], vec![0.0; spots]);
        let share = share_of(|| {
            random.normal(&mut values, 2.9, 0.4);
            weights.fill_with(|| random.between(5.0, 20.0));
            covers(weighted_mean(&values, &weights, LEVEL).expect("valid spots").mean, 2.9)
        });
        println!("weighted mean of {spots} spots, weights up to 4 to 1: {:.2} %", share * 100.0);
        assert!((0.935..=LEVEL + TOLERANCE).contains(&share), "{spots} spots: {share}");
    }
}

/// Welch's approximation is on the safe side for two values each.
#[test]
fn welch_intervals_of_the_smallest_samples_cover_more() {
    let mut random = Random(seed());
    let (mut first, mut second) = ([0.0; 2], [0.0; 2]);
    let share = share_of(|| {
        random.normal(&mut first, 30.0, 2.0);
        random.normal(&mut second, 30.0, 2.0);
        covers(welch_test(&first, &second, LEVEL).expect("valid samples").difference, 0.0)
    });
    println!("Welch interval of two and two values: {:.2} %", share * 100.0);
    assert!((0.965..=0.985).contains(&share), "{share}");
}
