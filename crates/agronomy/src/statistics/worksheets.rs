//! The worksheets of statistics, and the table of t.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::catalogue::with_marks;
use crate::catalogue::{Answer, Cell, Given, Input, Origin, Table, Takes, Worksheet};
use crate::error::Error;
use crate::statistics::{
    Estimate, WeightedMean, anova, mean, regression, sample_sd, share_standard_error, t_half_width, t_two_sided,
    weighted_mean, welch_test, wilson_interval, z_two_sided,
};

const LEVELS: [f64; 5] = [0.80, 0.90, 0.95, 0.99, 0.999];
const FREEDOMS: [usize; 36] = [
    1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30, 40,
    60, 80, 100, 120, 1000,
];
const T_SOURCE: &str = "Student's t distribution, two-sided; as tabulated in NIST/SEMATECH (2012), e-Handbook of \
                        Statistical Methods, section 1.3.6.7.2";

pub(crate) fn tables() -> Vec<Table> {
    let mut columns = vec![Cow::Borrowed("degrees of freedom")];
    columns.extend(LEVELS.iter().map(|level| Cow::Owned(format!("t, {} %", level * 100.0))));
    let title = "Student's t for two-sided intervals, by degrees of freedom and level";
    let holds = "For a mean of n counts, n − 1 degrees of freedom. Any level from 50 to 99.9 %: `ligule calc t`.";
    let table = FREEDOMS.iter().fold(Table::new("t", title, holds, columns), |table, freedom| {
        let t = |level: &f64| Cell::from(t_two_sided(*level, *freedom).expect("the levels of the table are in range"));
        let cells: Vec<_> = std::iter::once(Cell::from(*freedom as f64)).chain(LEVELS.iter().map(t)).collect();
        table.row(cells, Origin::Derived, T_SOURCE)
    });
    vec![table]
}

/// Beside each interval that supposes a random sample.
const RANDOM: &str = "Holds for values taken at random and independently of each other, near a normal distribution.";
/// Beside each p.
const SMALL_P: &str = "A small p says that chance alone would seldom do this, not that the difference matters.";
/// Counts below which an interval of a mean is not to be leaned on. Common practice, no source.
const FEW: usize = 4;

const LEVEL: Input = Input::usual("level", Takes::Quantity("%"), "95%", "Level of the interval, 50 to 99.9 %");

pub(crate) const WORKSHEETS: &[Worksheet] = &[
    Worksheet {
        name: "mean-interval",
        title: "Mean of counts, with its t interval",
        inputs: &[Input::required("values", Takes::Number(""), "The counts").many(), LEVEL],
        source: "NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.2.2.1",
        example: "--values '30 28 31 27 29 26 32 29'",
        work: mean_interval,
    },
    Worksheet {
        name: "planter-units",
        title: "Which planter unit differs: analysis of variance, and each unit against the others",
        inputs: &[
            Input::required("values", Takes::Number(""), "What was measured, such as depths or gaps").many(),
            Input::required("units", Takes::Text, "The planter unit of each value, in the same order").many(),
            LEVEL,
        ],
        source: "NIST/SEMATECH (2012), e-Handbook of Statistical Methods, sections 7.4.3 and 7.4.7.3 (Bonferroni)",
        example: "--values '6.9 5.4 5.8 4.6 4.0 8.3 6.8 7.8 9.2 6.5 8.0 10.5 8.1 6.9 9.3' --units '1 1 1 1 1 2 2 2 2 2 3 3 3 3 3'",
        work: planter_units,
    },
    Worksheet {
        name: "regression",
        title: "Straight line through points, with intervals of the slope, the mean and a new value",
        inputs: &[
            Input::required("x", Takes::Number(""), "What is known, such as days or rates").many(),
            Input::required("y", Takes::Number(""), "What was measured at each x, in the same order").many(),
            Input::optional("at", Takes::Number(""), "Read the line at this x, within those measured"),
            LEVEL,
        ],
        source: "NIST/SEMATECH (2012), e-Handbook of Statistical Methods, sections 4.1.4.1 and 4.5.1",
        example: "--x '1 2 3 4 5' --y '2.05 4.05 5.55 8.05 9.8' --at 4",
        work: line,
    },
    Worksheet {
        name: "share-interval",
        title: "Share of plants found, with its Wilson interval",
        inputs: &[
            Input::required("found", Takes::Number("plants"), "Plants with the sign: cut, infested, dead"),
            Input::required("of", Takes::Number("plants"), "Plants looked at"),
            LEVEL,
        ],
        source: "E. B. Wilson (1927), Probable inference, the law of succession, and statistical inference, Journal of the American Statistical Association 22:209-212",
        example: "--found 7 --of 250",
        work: share_interval,
    },
    Worksheet {
        name: "t",
        title: "Student's t for a two-sided interval",
        inputs: &[Input::required("freedom", Takes::Number(""), "Degrees of freedom: counts less one"), LEVEL],
        source: T_SOURCE,
        example: "--freedom 7",
        work: t_value,
    },
    Worksheet {
        name: "two-means",
        title: "Difference of two means, by Welch's t test",
        inputs: &[
            Input::required("first", Takes::Number(""), "Values of the first sample").many(),
            Input::required("second", Takes::Number(""), "Values of the second sample").many(),
            LEVEL,
        ],
        source: "B. L. Welch (1947), The generalization of \"Student's\" problem when several different population variances are involved, Biometrika 34:28-35; NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.3.1",
        example: "--first '32 37 35 28 41 44 35 31 34 38 42' --second '36 31 30 31 34 36 29 32 31'",
        work: two_means,
    },
    Worksheet {
        name: "weighted-mean",
        title: "Mean of spots weighted by length of row or plants looked at, with its interval",
        inputs: &[
            Input::required("values", Takes::Number(""), "The rate of each spot, such as plants in a metre").many(),
            Input::required("weights", Takes::Number(""), "Length of row, or plants, of each spot, in the same order")
                .many(),
            LEVEL,
        ],
        source: "W. G. Cochran (1977), Sampling Techniques, third edition, section 6.4 (from memory, to be verified)",
        example: "--values '3.0 2.8 3.1 2.6' --weights '10 20 30 20'",
        work: weighted,
    },
];

fn mean_interval(given: &Given) -> Result<Answer, Error> {
    let (values, level) = (given.numbers("values"), given.number("level") / 100.0);
    let (mean, sd) = (mean(values)?, sample_sd(values)?);
    let half_width = t_half_width(values, level)?;
    let (n, t) = (values.len(), t_two_sided(level, values.len() - 1)?);
    let decimals = decimals(half_width);
    let answer = Answer::default()
        .step(format!("mean of {n} values = {}", short(mean)))
        .step(format!("standard deviation (n − 1) = {}", short(sd)))
        .step(format!("t ({} %, {} degrees of freedom) = {t:.3}", short(level * 100.0), n - 1))
        .step(format!("{t:.3} × {} / √{n} = {}", short(sd), short(half_width)))
        .number("mean", mean, decimals, "")
        .range("interval", (mean - half_width, mean + half_width), decimals, "")
        .number("standard deviation", sd, decimals, "");
    let answer = if mean > 0.0 && (sd / mean).is_finite() {
        answer.number("coefficient of variation", sd / mean * 100.0, 1, "%")
    } else {
        answer
    };
    let few = "Fewer than four values: do not lean on the interval (common practice, no source).";
    let answer = answer.remark(RANDOM).remark("Compare the whole interval, not the mean, with a threshold.");
    Ok(if n < FEW { answer.remark(few) } else { answer })
}

fn planter_units(given: &Given) -> Result<Answer, Error> {
    let (values, units, level) = (given.numbers("values"), given.texts("units"), given.number("level") / 100.0);
    super::same_length("values", values.len(), "units", units.len())?;
    let mut places = BTreeMap::new();
    let (mut names, mut groups): (Vec<&str>, Vec<Vec<f64>>) = (Vec::new(), Vec::new());
    for (value, unit) in values.iter().zip(units) {
        let place = *places.entry(unit.as_str()).or_insert_with(|| {
            names.push(unit);
            groups.push(Vec::new());
            names.len() - 1
        });
        groups[place].push(*value);
    }
    let found = anova(&groups)?;
    let (above, below) = found.degrees_of_freedom;
    let mut answer = Answer::default();
    for (name, group) in names.iter().zip(&found.groups) {
        answer = answer.step(format!("unit {name}: {} values, mean {}", group.values, short(group.mean)));
    }
    let mean_square = |squares: f64, freedom: usize| short(squares / freedom as f64);
    answer = answer
        .step(format!("between units: {} / {above} = {}", short(found.between), mean_square(found.between, above)))
        .step(format!("within units: {} / {below} = {}", short(found.within), mean_square(found.within, below)))
        .step(format!("F = {}, with {above} and {below} degrees of freedom", short(found.f)));
    let mut differing = Vec::new();
    for (name, against) in names.iter().zip(found.against_the_others(level)?) {
        let (low, high) = against.difference.interval;
        let more = short(against.difference.value);
        answer = answer.step(format!(
            "unit {name} less the mean of the others: {more} ({} to {}), adjusted p {:.4}",
            short(low),
            short(high),
            against.p,
        ));
        if low > 0.0 || high < 0.0 {
            differing.push(format!("unit {name} by {more}"));
        }
    }
    let differing = if differing.is_empty() { "none at this level".to_owned() } else { differing.join(", ") };
    Ok(answer
        .words("differ from the mean of the others", differing)
        .number("F", found.f, decimals(found.f), "")
        .number("p that no unit differs", found.p, 4, "")
        .number("standard deviation within units, pooled", found.pooled_sd, decimals(found.pooled_sd), "")
        .remark(
            "Intervals and p of the units are adjusted after Bonferroni for as many comparisons as there are units.",
        )
        .remark("Supposes that values are independent and spread alike behind every unit.")
        .remark(SMALL_P))
}

fn line(given: &Given) -> Result<Answer, Error> {
    let line = regression(given.numbers("x"), given.numbers("y"), given.number("level") / 100.0)?;
    let decimals_of = |estimate: &Estimate| decimals(estimate.standard_error.max(estimate.value.abs() / 1000.0));
    let mut answer = Answer::default()
        .step(format!("{} points, x from {} to {}", line.points, short(line.measured.0), short(line.measured.1)))
        .step(format!("y = {} + {} × x", short(line.intercept.value), short(line.slope.value)))
        .step(format!(
            "standard deviation around the line ({} degrees of freedom) = {}",
            line.degrees_of_freedom,
            short(line.residual_sd)
        ));
    let mut estimates = Vec::new();
    if let Some(x) = given.maybe("at") {
        let (mean, new) = (line.mean_response(x)?, line.prediction(x)?);
        answer = answer.step(format!("at x = {}: {}", short(x), short(mean.value)));
        estimates.push(("y on the line", "interval of the mean there", mean));
        estimates.push(("next y there", "interval of a new value there", new));
    }
    estimates.push(("slope", "interval of the slope", line.slope));
    estimates.push(("intercept", "interval of the intercept", line.intercept));
    for (name, interval, estimate) in estimates {
        let decimals = decimals_of(&estimate);
        answer = answer.number(name, estimate.value, decimals, "").range(interval, estimate.interval, decimals, "");
    }
    answer = answer.number("p of no slope", line.slope_p, 4, "");
    if let Some(share) = line.r_squared {
        answer = answer.number("R²", share, 4, "");
    }
    Ok(answer
        .remark("Supposes a straight line, x without error, and equal spread around the line: look at a plot first.")
        .remark("The line is not read beyond the x measured.")
        .remark(SMALL_P))
}

fn share_interval(given: &Given) -> Result<Answer, Error> {
    let (found, of, level) = (whole("found", given)?, whole("of", given)?, given.number("level") / 100.0);
    let (low, high) = wilson_interval(found, of, level)?;
    let share = found as f64 / of as f64;
    let z = z_two_sided(level)?;
    Ok(Answer::default()
        .step(format!("{found} / {of} = {} %", short(share * 100.0)))
        .step(format!("z ({} %) = {z:.3}", short(level * 100.0)))
        .step(format!("(p + z²/2n ± z √(p (1 − p)/n + z²/4n²)) / (1 + z²/n) = {low:.4} to {high:.4}"))
        .step(format!("standard error √(p (1 − p)/n) = {} points", short(share_standard_error(found, of)? * 100.0)))
        .number("share", share * 100.0, 2, "%")
        .range("interval", (low * 100.0, high * 100.0), 2, "%")
        .remark(
            "Holds for plants chosen independently; plants beside each other are not, and the true interval is wider.",
        )
        .remark("Where a threshold lies inside the interval, the count cannot tell on which side of it the field is."))
}

fn t_value(given: &Given) -> Result<Answer, Error> {
    let (freedom, level) = (whole("freedom", given)?, given.number("level") / 100.0);
    let t = t_two_sided(level, usize::try_from(freedom).unwrap_or(usize::MAX))?;
    let tail = (1.0 - level) / 2.0 * 100.0;
    Ok(Answer::default()
        .step(format!("{} % in the middle leaves {} % beyond each end", short(level * 100.0), short(tail)))
        .number("t", t, 3, "")
        .remark("For the mean of n counts, n − 1 degrees of freedom."))
}

fn two_means(given: &Given) -> Result<Answer, Error> {
    let (first, second) = (given.numbers("first"), given.numbers("second"));
    let test = welch_test(first, second, given.number("level") / 100.0)?;
    let (difference, error) = (test.difference.value, test.difference.standard_error);
    let (first_sd, second_sd) = (sample_sd(first)?, sample_sd(second)?);
    let decimals = decimals(error);
    let answer = Answer::default()
        .step(format!("first: {} values, mean {}, SD {}", first.len(), short(test.means.0), short(first_sd)))
        .step(format!("second: {} values, mean {}, SD {}", second.len(), short(test.means.1), short(second_sd)))
        .step(format!("standard error √(s₁²/n₁ + s₂²/n₂) = {}", short(error)))
        .step(format!("t = {} / {} = {}", short(difference), short(error), short(test.t)))
        .step(format!("degrees of freedom (Welch and Satterthwaite) = {:.2}", test.degrees_of_freedom))
        .number("first less second", difference, decimals, "")
        .range("interval", test.difference.interval, decimals, "")
        .number("p of no difference", test.p, 4, "")
        .remark(RANDOM)
        .remark("Not for pairs taken side by side: work out their differences, and the interval of their mean.")
        .remark(SMALL_P);
    Ok(if first.len().min(second.len()) < FEW {
        answer.remark(
            "Fewer than four values in a sample: the interval is wider than its level says, and covers the difference more \
             often; a difference that is there is easily missed.",
        )
    } else {
        answer
    })
}

fn weighted(given: &Given) -> Result<Answer, Error> {
    let (values, weights, level) = (given.numbers("values"), given.numbers("weights"), given.number("level") / 100.0);
    let WeightedMean { mean, degrees_of_freedom, .. } = weighted_mean(values, weights, level)?;
    let all: f64 = weights.iter().sum();
    let products: f64 = values.iter().zip(weights).map(|(v, w)| v * w).sum();
    let decimals = decimals(mean.standard_error);
    Ok(Answer::default()
        .step(format!("sum of value × weight = {}; sum of weights = {}", short(products), short(all)))
        .step(format!("{} / {} = {}", short(products), short(all), short(mean.value)))
        .step(format!("standard error √(n/(n − 1) × Σ (w (v − mean))²) / Σ w = {}", short(mean.standard_error)))
        .step(format!("t with {degrees_of_freedom} degrees of freedom (spots less one)"))
        .number("weighted mean", mean.value, decimals, "")
        .range("interval", mean.interval, decimals, "")
        .number("standard error", mean.standard_error, decimals, "")
        .remark("Design-based: spots taken at random, each counting by its weight; plants of one spot are not taken as independent.")
        .remark("With few spots, or weights that differ much, it covers a little less often than its level says."))
}

/// Returns an input that counts something.
fn whole(name: &'static str, given: &Given) -> Result<u64, Error> {
    let number = crate::error::within(name, given.number(name), 0.0, 1e9, "")?;
    if number.fract() != 0.0 {
        let came = format!("{number}");
        return Err(Error::NoNumber { input: name, unit: "whole plants or counts", came });
    }
    Ok(number.max(0.0) as u64)
}

/// Returns how many decimals show four figures of a number.
fn decimals(number: f64) -> u8 {
    let size = number.abs().log10();
    if size.is_finite() { (3.0 - size.floor()).clamp(0.0, 12.0) as u8 } else { 2 }
}

/// Returns a number with about four figures.
fn short(number: f64) -> String {
    let text = with_marks(number, usize::from(decimals(number)));
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}
