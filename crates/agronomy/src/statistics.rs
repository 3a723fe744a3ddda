//! Means and their intervals, for counts and for shares.

use statrs::distribution::{Continuous, ContinuousCDF, Normal, StudentsT};

use crate::error::{Error, within};

/// The level at which intervals are shown unless someone chooses another.
pub const USUAL_LEVEL: f64 = 0.95;

/// Returns the arithmetic mean.
///
/// *Holds:* one finite value or more. *Errors:* [`Error::TooFew`] without values; [`Error::OutOfRange`] for one
/// beyond ±10¹⁵, infinite, or not a number. *Source:* definition.
///
/// Eight stand counts of a thousandth of an acre (computed by hand):
/// ```
/// let counts = [30.0, 28.0, 31.0, 27.0, 29.0, 26.0, 32.0, 29.0];
/// assert_eq!(ligule_agronomy::statistics::mean(&counts)?, 29.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn mean(values: &[f64]) -> Result<f64, Error> {
    if values.is_empty() {
        return Err(Error::TooFew { what: "values", needed: 1, came: 0 });
    }
    for &value in values {
        within("a value", value, -1e15, 1e15, "")?;
    }
    Ok(values.iter().sum::<f64>() / values.len() as f64)
}

/// Returns the standard deviation of a sample, with n − 1 below the line.
///
/// *Holds:* two finite values or more. *Errors:* as [`mean`], and [`Error::TooFew`] for one value.
/// *Source:* definition.
///
/// ```
/// let counts = [30.0, 28.0, 31.0, 27.0, 29.0, 26.0, 32.0, 29.0];
/// assert_eq!(ligule_agronomy::statistics::sample_sd(&counts)?, 2.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn sample_sd(values: &[f64]) -> Result<f64, Error> {
    let mean = mean(values)?;
    if values.len() < 2 {
        return Err(Error::TooFew { what: "values", needed: 2, came: values.len() });
    }
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    Ok((squares / (values.len() - 1) as f64).sqrt())
}

/// Returns Student's t for a two-sided interval: the quantile at (1 + `level`) / 2.
///
/// *Holds:* level 0.5 to 0.999, 1 degree of freedom or more. *Errors:* [`Error::OutOfRange`].
/// *Source:* Student's t distribution as tabulated in NIST/SEMATECH (2012), e-Handbook of Statistical Methods,
/// section 1.3.6.7.2; the number comes from `statrs`.
///
/// That table, 7 degrees of freedom, column 0.975:
/// ```
/// let t = ligule_agronomy::statistics::t_two_sided(0.95, 7)?;
/// assert!((t - 2.365).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn t_two_sided(level: f64, degrees_of_freedom: usize) -> Result<f64, Error> {
    let z = z_two_sided(level)?;
    let freedom = within("degrees of freedom", degrees_of_freedom as f64, 1.0, 1e9, "")?;
    if freedom >= MANY_DEGREES_OF_FREEDOM {
        return Ok(t_of_many_degrees(z, freedom));
    }
    let student = StudentsT::new(0.0, 1.0, freedom).expect("scale is one and freedom at least one");
    Ok(t_from_below(&student, (1.0 - level) / 2.0, z))
}

/// From here on the series in 1 / freedom is exact to the last digits, and the incomplete beta function is not.
const MANY_DEGREES_OF_FREEDOM: f64 = 1000.0;

/// Returns t by its expansion around z.
///
/// *Source:* M. Abramowitz and I. A. Stegun (1964), Handbook of Mathematical Functions, eq. 26.7.5.
fn t_of_many_degrees(z: f64, freedom: f64) -> f64 {
    let square = z * z;
    let g1 = z * (square + 1.0) / 4.0;
    let g2 = z * ((5.0 * square + 16.0) * square + 3.0) / 96.0;
    let g3 = z * (((3.0 * square + 19.0) * square + 17.0) * square - 15.0) / 384.0;
    let g4 = z * ((((79.0 * square + 776.0) * square + 1482.0) * square - 1920.0) * square - 945.0) / 92_160.0;
    z + (g1 + (g2 + (g3 + g4 / freedom) / freedom) / freedom) / freedom
}

/// Returns the t that `tail` lies above, by Newton's steps from z, which is always below it.
///
/// The tail is convex, so that no step passes the solution and the steps only grow shorter. We do not use the inverse
/// of `statrs` 0.19: with 10⁸ degrees of freedom it did not end within nine minutes.
fn t_from_below(student: &StudentsT, tail: f64, z: f64) -> f64 {
    let mut t = z;
    // The slowest of all levels and freedoms allowed here took 14 steps (0.999, one degree); the bound is for safety.
    for _ in 0..100 {
        let step = (student.sf(t) - tail) / student.pdf(t);
        t += step;
        if step.abs() <= 1e-14 * t {
            break;
        }
    }
    t
}

/// Returns the normal z for a two-sided interval: the quantile at (1 + `level`) / 2.
///
/// *Holds:* level 0.5 to 0.999. *Errors:* [`Error::OutOfRange`]. *Source:* NIST/SEMATECH (2012), e-Handbook of
/// Statistical Methods, section 1.3.6.7.1; the number comes from `statrs`.
///
/// ```
/// assert!((ligule_agronomy::statistics::z_two_sided(0.95)? - 1.960).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn z_two_sided(level: f64) -> Result<f64, Error> {
    let level = valid_level(level)?;
    Ok(Normal::standard().inverse_cdf(f64::midpoint(1.0, level)))
}

/// Returns half the width of the t interval around the mean of a sample.
///
/// *Holds:* two values or more, drawn at random from something near a normal distribution; level 0.5 to 0.999.
/// *Errors:* as [`sample_sd`] and [`t_two_sided`]. *Source:* NIST/SEMATECH (2012), e-Handbook of Statistical
/// Methods, section 7.2.2.1.
///
/// Eight counts with mean 29 and standard deviation 2: 2.365 × 2 / √8.
/// ```
/// let counts = [30.0, 28.0, 31.0, 27.0, 29.0, 26.0, 32.0, 29.0];
/// let half_width = ligule_agronomy::statistics::t_half_width(&counts, 0.95)?;
/// assert!((half_width - 1.67).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn t_half_width(values: &[f64], level: f64) -> Result<f64, Error> {
    let sd = sample_sd(values)?;
    Ok(t_two_sided(level, values.len() - 1)? * sd / (values.len() as f64).sqrt())
}

/// Returns the Wilson score interval of a share: `found` of `trials`, from 0 to 1.
///
/// For the share of plants cut, infested or dead: unlike the simple normal interval, it holds for few plants and
/// for shares near 0 or 1.
///
/// *Holds:* one trial or more; plants chosen independently of each other (plants beside each other are not, so the
/// true interval of a clustered pest is wider); level 0.5 to 0.999. *Errors:* [`Error::TooFew`],
/// [`Error::MoreFoundThanLookedAt`], [`Error::OutOfRange`]. *Source:* E. B. Wilson (1927), Probable inference, the
/// law of succession, and statistical inference, Journal of the American Statistical Association 22:209-212.
///
/// 7 cut plants of 250 (computed by hand with z = 1.96):
/// ```
/// let (low, high) = ligule_agronomy::statistics::wilson_interval(7, 250, 0.95)?;
/// assert!((low - 0.0136).abs() < 0.00005 && (high - 0.0567).abs() < 0.00005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn wilson_interval(found: u64, trials: u64, level: f64) -> Result<(f64, f64), Error> {
    if trials == 0 {
        return Err(Error::TooFew { what: "plants looked at", needed: 1, came: 0 });
    }
    if found > trials {
        return Err(Error::MoreFoundThanLookedAt { found, trials });
    }
    let z = z_two_sided(level)?;
    let (n, p) = (trials as f64, found as f64 / trials as f64);
    let below = 1.0 + z * z / n;
    let centre = (p + z * z / (2.0 * n)) / below;
    let half_width = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt() / below;
    // Exactly 0 and 1 at the ends, where subtraction would leave a rounding error.
    let low = if found == 0 { 0.0 } else { (centre - half_width).max(0.0) };
    let high = if found == trials { 1.0 } else { (centre + half_width).min(1.0) };
    Ok((low, high))
}

fn valid_level(level: f64) -> Result<f64, Error> {
    within("a level", level, 0.5, 0.999, "")
}
