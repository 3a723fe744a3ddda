//! The mean of several counts, how sure it is, and how many counts make it surer.

use ligule_units::PlantDensity;

use super::{FEW_COUNTS, valid_density};
use crate::error::{Error, within};
use crate::statistics;

/// The most counts that [`counts_needed`] considers.
pub(super) const MOST_COUNTS: usize = 10_000;

/// The mean of several stand counts, and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandEstimate {
    /// How many counts there were.
    pub counts: usize,
    /// Their mean.
    pub mean: PlantDensity,
    /// Their standard deviation (n − 1); from two counts on.
    pub sd: Option<PlantDensity>,
    /// Standard deviation over mean, as a share; from two counts on, unless the mean is zero.
    pub cv: Option<f64>,
    /// Half the width of the t interval; from two counts on.
    pub half_width: Option<PlantDensity>,
    /// The t interval around the mean, its lower end not below zero; from two counts on.
    pub interval: Option<(PlantDensity, PlantDensity)>,
    /// The level of the interval.
    pub level: f64,
}

impl StandEstimate {
    /// Returns whether there are enough counts to lean on the interval: [`FEW_COUNTS`](crate::stand::FEW_COUNTS) or more.
    pub fn is_reliable(&self) -> bool {
        self.counts >= FEW_COUNTS
    }
}

/// Returns the mean of stand counts with its t interval.
///
/// Compare the whole interval, not the mean, with a threshold; and do not pool a patchy field, but estimate each of
/// its zones.
///
/// *Units:* densities in and out; the level is a number from 0.5 to 0.999, usually 0.95. *Holds:* counts over the
/// same length of row, at random places; below [`FEW_COUNTS`](crate::stand::FEW_COUNTS) the interval is unreliable. *Errors:*
/// [`Error::TooFew`] without counts; [`Error::OutOfRange`]. *Source:* NIST/SEMATECH (2012), e-Handbook of
/// Statistical Methods, section 7.2.2.1.
///
/// Eight counts of a thousandth of an acre (computed by hand: 29,000 ± 2.365 × 2,000 / √8):
/// ```
/// use ligule_units::PlantDensity;
/// let counts = [30.0, 28.0, 31.0, 27.0, 29.0, 26.0, 32.0, 29.0].map(|n| PlantDensity::from_per_acre(n * 1000.0));
/// let estimate = ligule_agronomy::stand::stand_estimate(&counts, 0.95)?;
/// assert!((estimate.mean.per_acre() - 29_000.0).abs() < 1e-6);
/// let (low, high) = estimate.interval.expect("eight counts");
/// assert_eq!((low.per_acre().round(), high.per_acre().round()), (27_328.0, 30_672.0));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn stand_estimate(counts: &[PlantDensity], level: f64) -> Result<StandEstimate, Error> {
    if counts.is_empty() {
        return Err(Error::TooFew { what: "stand counts", needed: 1, came: 0 });
    }
    within("a level", level, 0.5, 0.999, "")?;
    let mut per_acre = Vec::with_capacity(counts.len());
    for &count in counts {
        per_acre.push(valid_density("a stand count", count, 0.0)?.per_acre());
    }
    let mean = statistics::mean(&per_acre)?;
    let mut estimate = StandEstimate {
        counts: counts.len(),
        mean: PlantDensity::from_per_acre(mean),
        sd: None,
        cv: None,
        half_width: None,
        interval: None,
        level,
    };
    if counts.len() > 1 {
        let sd = statistics::sample_sd(&per_acre)?;
        let half_width = statistics::t_half_width(&per_acre, level)?;
        estimate.sd = Some(PlantDensity::from_per_acre(sd));
        estimate.cv = (mean > 0.0).then(|| sd / mean);
        estimate.half_width = Some(PlantDensity::from_per_acre(half_width));
        estimate.interval = Some((
            PlantDensity::from_per_acre((mean - half_width).max(0.0)),
            PlantDensity::from_per_acre(mean + half_width),
        ));
    }
    Ok(estimate)
}

/// Returns how many counts are needed for an interval of ± a share of the mean.
///
/// It is the least n from 2 up for which t × cv / √n is at most the share, with t of n − 1 degrees of freedom.
///
/// *Units:* all three are shares: a coefficient of variation of 10 % is 0.10, ± 5 % is 0.05. *Holds:* cv 0 to 10,
/// half-width 0.001 to 1, level 0.5 to 0.999. *Errors:* [`Error::OutOfRange`]; [`Error::OutOfReach`] over 10,000
/// counts. *Source:* solved from the t interval, NIST/SEMATECH (2012), e-Handbook of Statistical Methods,
/// section 7.2.2.2.
///
/// CV 10 %, ± 5 %, 95 % (computed by hand, stepping n):
/// ```
/// assert_eq!(ligule_agronomy::stand::counts_needed(0.10, 0.05, 0.95)?, 18);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn counts_needed(cv: f64, relative_half_width: f64, level: f64) -> Result<usize, Error> {
    let cv = within("a coefficient of variation", cv, 0.0, 10.0, "")?;
    let aim = within("a relative half-width", relative_half_width, 0.001, 1.0, "")?;
    // z is below every t, so no smaller n can do; from there the steps are few.
    let at_least = (statistics::z_two_sided(level)? * cv / aim).powi(2).floor();
    if at_least > MOST_COUNTS as f64 {
        return Err(Error::OutOfReach { limit: MOST_COUNTS });
    }
    for n in (at_least as usize).max(2)..=MOST_COUNTS {
        if statistics::t_two_sided(level, n - 1)? * cv / (n as f64).sqrt() <= aim {
            return Ok(n);
        }
    }
    Err(Error::OutOfReach { limit: MOST_COUNTS })
}
