//! The distributions that intervals and tests rest on: normal, Student's t, F.

use statrs::distribution::{Continuous, ContinuousCDF, Normal, StudentsT};
use statrs::function::beta::beta_reg;

use crate::error::{Error, within};
use crate::statistics::valid_level;

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
    let level = valid_level(level)?;
    Ok(t_above((1.0 - level) / 2.0, valid_freedom(degrees_of_freedom as f64)?))
}

/// Returns the t that a share `tail` of the distribution lies above; `freedom` need not be whole.
///
/// The tail is from 10⁻¹⁰ to ¼, the freedom 1 or more: callers have checked.
pub(super) fn t_above(tail: f64, freedom: f64) -> f64 {
    let z = -Normal::standard().inverse_cdf(tail);
    if freedom >= MANY_DEGREES_OF_FREEDOM {
        return t_of_many_degrees(z, freedom);
    }
    let student = StudentsT::new(0.0, 1.0, freedom).expect("scale is one and freedom at least one");
    t_from_below(&student, tail, z)
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
    // With one degree of freedom a step at most doubles t, and the least tail that is asked for lies above 3 × 10⁹.
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

/// Returns how often chance alone gives a t as far from zero as this one, to either side: the two-sided p.
///
/// *Units:* a number from 0 to 1; the degrees of freedom need not be whole. *Holds:* 1 to 10⁹ degrees of freedom; the
/// relative error grows with them, to 10⁻⁸ at a million. *Errors:* [`Error::OutOfRange`]. *Source:* M. Abramowitz and
/// I. A. Stegun (1964), Handbook of Mathematical Functions, eq. 26.7.1; the number comes from `statrs`.
///
/// The two-sided 5 % point of 7 degrees of freedom in NIST/SEMATECH (2012), e-Handbook of Statistical Methods,
/// section 1.3.6.7.2:
/// ```
/// let p = ligule_agronomy::statistics::t_p_value(2.365, 7.0)?;
/// assert!((p - 0.05).abs() < 0.00005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn t_p_value(t: f64, degrees_of_freedom: f64) -> Result<f64, Error> {
    within("a t", t, -1e150, 1e150, "")?;
    Ok(t_tails(t, valid_freedom(degrees_of_freedom)?))
}

/// Returns both tails beyond ±t.
pub(super) fn t_tails(t: f64, freedom: f64) -> f64 {
    beta_reg(freedom / 2.0, 0.5, freedom / (freedom + t * t))
}

/// Returns how often chance alone gives an F as large as this one: the upper tail.
///
/// *Units:* a number from 0 to 1. *Holds:* F of 0 or more; 1 to 10⁹ degrees of freedom above and below the line; the
/// relative error grows with them, to 10⁻⁸ at a million. *Errors:* [`Error::OutOfRange`]. *Source:* M. Abramowitz and
/// I. A. Stegun (1964), Handbook of Mathematical Functions, eq. 26.6.2; the number comes from `statrs`.
///
/// The 5 % point of 2 and 12 degrees of freedom in NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section
/// 1.3.6.7.3, is 3.885:
/// ```
/// let p = ligule_agronomy::statistics::f_p_value(3.885, 2.0, 12.0)?;
/// assert!((p - 0.05).abs() < 0.00005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn f_p_value(f: f64, freedom_above: f64, freedom_below: f64) -> Result<f64, Error> {
    within("an F", f, 0.0, 1e300, "")?;
    let (above, below) = (valid_freedom(freedom_above)?, valid_freedom(freedom_below)?);
    // The small share itself, not 1 less a share near 1, as `statrs` does for its F distribution.
    Ok(beta_reg(below / 2.0, above / 2.0, below / (below + above * f.max(0.0))))
}

fn valid_freedom(degrees_of_freedom: f64) -> Result<f64, Error> {
    within("degrees of freedom", degrees_of_freedom, 1.0, 1e9, "").map(|freedom| freedom.max(1.0))
}
