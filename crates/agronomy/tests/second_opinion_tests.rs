//! A second opinion on tails, weighted means, lines, Welch's test and analysis of variance: SciPy and statsmodels, 10,000
//! random cases of each, from a printed seed that `LIGULE_SEED` sets.
//!
//! The same formulas are reckoned on both sides, so that they differ by rounding alone: sums in another order, and an
//! incomplete beta function by another method. What is compared relative to a small difference of large numbers is
//! compared relative to the standard error instead.

use common::{Random, ask, seed};
use ligule_agronomy::statistics::{
    Estimate, anova, f_p_value, grouped_mean, regression, t_p_value, weighted_mean, welch_test,
};
use serde::Deserialize;
use serde_json::json;

mod common;

const CASES: usize = 10_000;

/// Tails, relative: the logarithm of the gamma function of half the degrees of freedom, up to 50,000 here, keeps a share
/// of 10⁻¹⁶ of a number near 500,000, and the tail is a difference of such numbers.
const TAIL_TOLERANCE: f64 = 5e-9;
/// Numbers of moderate size, relative to themselves or to a standard error: rounding of sums of at most a few dozen.
const ROUNDING: f64 = 1e-9;
/// Interval ends, in standard errors: the rounding of both sides, and two ways to solve for t.
const END_TOLERANCE: f64 = 1e-8;

/// Compares, and keeps the largest difference met under each heading.
struct Worst {
    seed: u64,
    met: Vec<(&'static str, f64)>,
}

impl Worst {
    fn compare(&mut self, what: &'static str, case: usize, ours: f64, theirs: f64, scale: f64, tolerance: f64) {
        let difference = if ours == theirs { 0.0 } else { (ours - theirs).abs() / scale };
        assert!(difference <= tolerance, "seed {}, case {case}, {what}: ours {ours}, theirs {theirs}", self.seed);
        match self.met.iter_mut().find(|(name, _)| *name == what) {
            Some((_, worst)) => *worst = worst.max(difference),
            None => self.met.push((what, difference)),
        }
    }

    /// Compares a number with its error and interval, given by the others as four numbers.
    fn estimate(&mut self, what: &'static str, case: usize, ours: Estimate, theirs: &[f64]) {
        let error = theirs[1];
        self.compare(what, case, ours.value, theirs[0], error.max(theirs[0].abs()), ROUNDING);
        self.compare(what, case, ours.standard_error, error, error, ROUNDING);
        self.ends(what, case, ours, error, &theirs[2..]);
    }

    fn ends(&mut self, what: &'static str, case: usize, ours: Estimate, error: f64, theirs: &[f64]) {
        // With one degree of freedom an end lies hundreds of standard errors away.
        let scale = error.max(theirs[0].abs()).max(theirs[1].abs());
        self.compare(what, case, ours.interval.0, theirs[0], scale, END_TOLERANCE);
        self.compare(what, case, ours.interval.1, theirs[1], scale, END_TOLERANCE);
    }

    fn tail(&mut self, what: &'static str, case: usize, ours: f64, theirs: f64) {
        // Below 10⁻²⁰⁰ a tail is zero for anybody.
        self.compare(what, case, ours, theirs, theirs.max(1e-200), TAIL_TOLERANCE);
    }

    fn tell(&self) {
        for (what, worst) in &self.met {
            println!("{what}: largest difference {worst:.1e}");
        }
    }
}

fn cases<T>(make: impl FnMut() -> T) -> Vec<T> {
    std::iter::repeat_with(make).take(CASES).collect()
}

fn sample(random: &mut Random, sizes: (u64, u64), mean: f64, sd: f64) -> Vec<f64> {
    let mut values = vec![0.0; random.whole(sizes.0, sizes.1) as usize];
    random.normal(&mut values, mean, sd);
    values
}

fn levels(random: &mut Random) -> Vec<f64> {
    cases(|| [0.5, 0.8, 0.9, 0.95, 0.99, 0.999][random.whole(0, 5) as usize])
}

#[test]
fn tails_of_t_and_f() {
    #[derive(Deserialize)]
    struct Answers {
        t_tails: Vec<f64>,
        f_tails: Vec<f64>,
    }
    let seed = seed();
    let mut random = Random(seed);
    let freedom = |random: &mut Random| {
        let most = [30.0, 300.0, 100_000.0][random.whole(0, 2) as usize];
        random.between(1.0, most)
    };
    let t = cases(|| random.between(-8.0, 8.0));
    let t_freedom = cases(|| freedom(&mut random));
    let f = cases(|| random.between(0.0, 10.0));
    let (above, below) = (cases(|| random.whole(1, 60) as f64), cases(|| freedom(&mut random).floor()));
    let asked = json!({
        "t_tails": { "t": t, "freedom": t_freedom },
        "f_tails": { "f": f, "above": above, "below": below },
    });
    let answers: Answers = ask("second_opinion.py", &asked);
    assert_eq!((answers.t_tails.len(), answers.f_tails.len()), (CASES, CASES));
    let mut worst = Worst { seed, met: Vec::new() };
    for i in 0..CASES {
        worst.tail("tails of t", i, t_p_value(t[i], t_freedom[i]).expect("valid"), answers.t_tails[i]);
        worst.tail("tail of F", i, f_p_value(f[i], above[i], below[i]).expect("valid"), answers.f_tails[i]);
    }
    worst.tell();
}

#[test]
fn weighted_means_and_tallies() {
    #[derive(Deserialize)]
    struct Answers {
        weighted: Vec<[f64; 4]>,
        tally: Vec<[f64; 4]>,
    }
    let seed = seed();
    let mut random = Random(seed);
    let levels = levels(&mut random);
    let values = cases(|| sample(&mut random, (2, 15), 30.0, 4.0));
    let weights: Vec<Vec<f64>> =
        values.iter().map(|values| values.iter().map(|_| random.between(1.0, 50.0)).collect()).collect();
    let times: Vec<Vec<u64>> =
        values.iter().map(|values| values.iter().map(|_| random.whole(1, 40)).collect()).collect();
    let asked = json!({
        "weighted": { "values": values, "weights": weights, "level": levels },
        "tally": { "values": values, "times": times, "level": levels },
    });
    let answers: Answers = ask("second_opinion.py", &asked);
    assert_eq!((answers.weighted.len(), answers.tally.len()), (CASES, CASES));
    let mut worst = Worst { seed, met: Vec::new() };
    for i in 0..CASES {
        let ours = weighted_mean(&values[i], &weights[i], levels[i]).expect("valid");
        worst.estimate("weighted mean (WLS, HC1)", i, ours.mean, &answers.weighted[i]);
        let ours = grouped_mean(&values[i], &times[i], levels[i]).expect("valid");
        worst.estimate("tally (DescrStatsW)", i, ours.mean, &answers.tally[i]);
    }
    worst.tell();
}

#[test]
fn lines() {
    #[derive(Deserialize)]
    struct Answers {
        regression: Vec<Vec<f64>>,
    }
    let seed = seed();
    let mut random = Random(seed);
    let levels = levels(&mut random);
    let x: Vec<Vec<f64>> = cases(|| (0..random.whole(3, 15)).map(|_| random.between(0.0, 60.0)).collect());
    let slopes = cases(|| random.between(-3.0, 3.0));
    let y: Vec<Vec<f64>> = (0..CASES)
        .map(|i| x[i].iter().map(|x| 150.0 + slopes[i] * x + 8.0 * random.two_normal().0).collect())
        .collect();
    let at: Vec<f64> = x
        .iter()
        .map(|x| {
            let (least, most) = x.iter().fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(*x), high.max(*x)));
            random.between(least, most)
        })
        .collect();
    let asked = json!({ "regression": { "x": x, "y": y, "at": at, "level": levels } });
    let Answers { regression: answers } = ask("second_opinion.py", &asked);
    assert_eq!(answers.len(), CASES);
    let mut worst = Worst { seed, met: Vec::new() };
    for (i, theirs) in answers.iter().enumerate() {
        let ours = regression(&x[i], &y[i], levels[i]).expect("valid");
        worst.estimate("slope", i, ours.slope, &theirs[0..4]);
        worst.estimate("intercept", i, ours.intercept, &theirs[4..8]);
        worst.compare("R²", i, ours.r_squared.expect("y that differ"), theirs[8], 1.0, ROUNDING);
        worst.tail("p of the slope", i, ours.slope_p, theirs[9]);
        let (mean, new) = (ours.mean_response(at[i]).expect("within"), ours.prediction(at[i]).expect("within"));
        worst.compare("mean response", i, mean.value, theirs[10], theirs[10].abs().max(1.0), ROUNDING);
        worst.ends("mean response", i, mean, mean.standard_error, &theirs[11..13]);
        worst.ends("prediction", i, new, new.standard_error, &theirs[13..15]);
    }
    worst.tell();
}

#[test]
fn two_means_by_welch() {
    #[derive(Deserialize)]
    struct Answers {
        welch: Vec<[f64; 5]>,
    }
    let seed = seed();
    let mut random = Random(seed);
    let levels = levels(&mut random);
    let spread = cases(|| random.between(0.2, 5.0));
    let first = cases(|| sample(&mut random, (2, 12), 30.0, 2.0));
    let second: Vec<_> = spread.iter().map(|sd| sample(&mut random, (2, 12), 31.0, *sd)).collect();
    let asked = json!({ "welch": { "first": first, "second": second, "level": levels } });
    let Answers { welch: answers } = ask("second_opinion.py", &asked);
    assert_eq!(answers.len(), CASES);
    let mut worst = Worst { seed, met: Vec::new() };
    for (i, theirs) in answers.iter().enumerate() {
        let ours = welch_test(&first[i], &second[i], levels[i]).expect("valid");
        worst.compare("t of Welch", i, ours.t, theirs[0], theirs[0].abs().max(1.0), ROUNDING);
        worst.compare("degrees of freedom of Welch", i, ours.degrees_of_freedom, theirs[1], theirs[1], ROUNDING);
        worst.tail("p of Welch", i, ours.p, theirs[2]);
        worst.ends("difference", i, ours.difference, ours.difference.standard_error, &theirs[3..5]);
    }
    worst.tell();
}

#[test]
fn planter_units() {
    #[derive(Deserialize)]
    struct Answers {
        anova: Vec<[f64; 2]>,
        against_the_others: Vec<Vec<[f64; 5]>>,
        pairs: Vec<Vec<f64>>,
    }
    let seed = seed();
    let mut random = Random(seed);
    let levels = levels(&mut random);
    let groups: Vec<Vec<Vec<f64>>> = cases(|| {
        let count = random.whole(2, 8);
        (0..count)
            .map(|_| {
                let mean = random.between(1.5, 2.5);
                sample(&mut random, (2, 10), mean, 0.3)
            })
            .collect()
    });
    let asked = json!({
        "anova": { "groups": groups },
        "against_the_others": { "groups": groups, "level": levels },
        "pairs": { "groups": groups },
    });
    let answers: Answers = ask("second_opinion.py", &asked);
    assert_eq!((answers.anova.len(), answers.against_the_others.len(), answers.pairs.len()), (CASES, CASES, CASES));
    let mut worst = Worst { seed, met: Vec::new() };
    for i in 0..CASES {
        let ours = anova(&groups[i]).expect("valid");
        worst.compare("F", i, ours.f, answers.anova[i][0], answers.anova[i][0].max(1e-3), ROUNDING);
        worst.tail("p of F", i, ours.p, answers.anova[i][1]);
        let others = ours.against_the_others(levels[i]).expect("a valid level");
        assert_eq!(others.len(), answers.against_the_others[i].len());
        for (ours, theirs) in others.iter().zip(&answers.against_the_others[i]) {
            worst.estimate("unit against the others", i, ours.difference, &theirs[..4]);
            worst.tail("adjusted p of a unit", i, ours.p, theirs[4]);
        }
        let pairs = ours.pairs(levels[i]).expect("a valid level");
        assert_eq!(pairs.len(), answers.pairs[i].len());
        for (ours, theirs) in pairs.iter().zip(&answers.pairs[i]) {
            worst.tail("adjusted p of a pair", i, ours.compared.p, *theirs);
        }
    }
    worst.tell();
}
