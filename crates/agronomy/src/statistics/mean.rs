//! The mean of a sample, its spread, and how sure the mean is.

use crate::error::{Error, within};
use crate::statistics::t_two_sided;

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
    Ok((squares_around(mean, values) / (values.len() - 1) as f64).sqrt())
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

/// Returns the sum of squared differences from the mean.
pub(super) fn squares_around(mean: f64, values: &[f64]) -> f64 {
    values.iter().map(|v| (v - mean) * (v - mean)).sum()
}
