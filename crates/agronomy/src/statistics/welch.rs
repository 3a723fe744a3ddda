//! Two means compared, without supposing that they spread alike.

use crate::error::Error;
use crate::statistics::distribution::{t_above, t_tails};
use crate::statistics::mean::squares_around;
use crate::statistics::{Estimate, all_alike, mean, valid_level};

/// The difference of two means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WelchTest {
    /// The mean of the first sample and of the second.
    pub means: (f64, f64),
    /// The first mean less the second, with its interval.
    pub difference: Estimate,
    /// The difference over its standard error.
    pub t: f64,
    /// The degrees of freedom by Welch and Satterthwaite, seldom whole.
    pub degrees_of_freedom: f64,
    /// How often chance alone gives a difference as far from zero.
    pub p: f64,
    /// The level of the interval.
    pub level: f64,
}

/// Returns the difference of two means by Welch's t test: the samples may spread differently and be of unequal size.
///
/// *Units:* any, the same for both samples. *Holds:* two values or more in each, independent, near normal; not for
/// pairs taken side by side (test their differences against zero instead); level 0.5 to 0.999. *Errors:*
/// [`Error::TooFew`], also where neither sample has any spread; [`Error::OutOfRange`]. *Source:* B. L. Welch (1947),
/// The generalization of "Student's" problem when several different population variances are involved, Biometrika
/// 34:28-35; NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.3.1.
///
/// The example of that section, minutes to assemble a device by an old and a new procedure: t = 2.269.
/// ```
/// let old = [32.0, 37.0, 35.0, 28.0, 41.0, 44.0, 35.0, 31.0, 34.0, 38.0, 42.0];
/// let new = [36.0, 31.0, 30.0, 31.0, 34.0, 36.0, 29.0, 32.0, 31.0];
/// let test = ligule_agronomy::statistics::welch_test(&old, &new, 0.95)?;
/// assert!((test.t - 2.269).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn welch_test(first: &[f64], second: &[f64], level: f64) -> Result<WelchTest, Error> {
    let level = valid_level(level)?;
    let (first_mean, first_part) = mean_and_part(first)?;
    let (second_mean, second_part) = mean_and_part(second)?;
    let variance = first_part + second_part;
    if variance < f64::MIN_POSITIVE {
        return Err(all_alike("different values within a sample"));
    }
    // Shares of the variance, because its square may be too small for a float to hold.
    let share = first_part / variance;
    let inverse = share * share / (first.len() - 1) as f64 + (1.0 - share) * (1.0 - share) / (second.len() - 1) as f64;
    let degrees_of_freedom = (1.0 / inverse).max(1.0);
    let difference =
        Estimate::new(first_mean - second_mean, variance.sqrt(), t_above((1.0 - level) / 2.0, degrees_of_freedom));
    let t = difference.value / difference.standard_error;
    let means = (first_mean, second_mean);
    Ok(WelchTest { means, difference, t, degrees_of_freedom, p: t_tails(t, degrees_of_freedom), level })
}

/// Returns a sample's mean, and the part it has in the variance of the difference.
fn mean_and_part(sample: &[f64]) -> Result<(f64, f64), Error> {
    let mean = mean(sample)?;
    if sample.len() < 2 {
        return Err(Error::TooFew { what: "values in each sample", needed: 2, came: sample.len() });
    }
    let count = sample.len() as f64;
    Ok((mean, squares_around(mean, sample) / (count - 1.0) / count))
}
