//! A share of plants, and how sure it is.

use crate::error::Error;
use crate::statistics::z_two_sided;

/// Returns the Wilson score interval of a share: `found` of `trials`, from 0 to 1.
///
/// For the share of plants cut, infested or dead: unlike the simple normal interval, it holds for few plants and
/// for shares near 0 or 1.
///
/// *Holds:* one trial or more; plants chosen independently of each other (plants beside each other are not, so the
/// true interval of a clustered pest is wider); level 0.5 to 0.999. Over shares of every size it covers at its level
/// on average; at one share it may cover more or less, because plants come in whole numbers. *Errors:*
/// [`Error::TooFew`], [`Error::MoreFoundThanLookedAt`], [`Error::OutOfRange`]. *Source:* E. B. Wilson (1927),
/// Probable inference, the law of succession, and statistical inference, Journal of the American Statistical
/// Association 22:209-212.
///
/// 7 cut plants of 250 (computed by hand with z = 1.96):
/// ```
/// let (low, high) = ligule_agronomy::statistics::wilson_interval(7, 250, 0.95)?;
/// assert!((low - 0.0136).abs() < 0.00005 && (high - 0.0567).abs() < 0.00005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn wilson_interval(found: u64, trials: u64, level: f64) -> Result<(f64, f64), Error> {
    let (n, p) = valid_share(found, trials)?;
    let z = z_two_sided(level)?;
    let below = 1.0 + z * z / n;
    let centre = (p + z * z / (2.0 * n)) / below;
    let half_width = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt() / below;
    // Exactly 0 and 1 at the ends, where subtraction would leave a rounding error.
    let low = if found == 0 { 0.0 } else { (centre - half_width).max(0.0) };
    let high = if found == trials { 1.0 } else { (centre + half_width).min(1.0) };
    Ok((low, high))
}

/// Returns the standard error of a share: how far the shares of samples of this size lie apart.
///
/// For planning: with it one sees which thresholds a sample can tell apart. For an interval use [`wilson_interval`].
///
/// *Units:* a share from 0 to 1. *Holds:* one trial or more; plants chosen independently of each other; zero where all
/// or none were found, which does not mean that the share is sure. *Errors:* as [`wilson_interval`]. *Source:*
/// definition: √(p (1 − p) / n).
///
/// 3 of 100 plants (computed by hand): 1.7 points, so that a threshold of 3 % cannot be told from one of 5 %.
/// ```
/// let error = ligule_agronomy::statistics::share_standard_error(3, 100)?;
/// assert!((error - 0.017).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn share_standard_error(found: u64, trials: u64) -> Result<f64, Error> {
    let (n, p) = valid_share(found, trials)?;
    Ok((p * (1.0 - p) / n).sqrt())
}

/// Returns how many were looked at, and the share found.
fn valid_share(found: u64, trials: u64) -> Result<(f64, f64), Error> {
    if trials == 0 {
        return Err(Error::TooFew { what: "plants looked at", needed: 1, came: 0 });
    }
    if found > trials {
        return Err(Error::MoreFoundThanLookedAt { found, trials });
    }
    Ok((trials as f64, found as f64 / trials as f64))
}
