//! Several counts at each of several spots: neighbours are alike, so they tell less than as many counts far apart.

use ligule_units::PlantDensity;

use super::estimate::MOST_COUNTS;
use super::valid_density;
use crate::error::{Error, within};
use crate::statistics;

/// The most spots, and counts at a spot, that are accepted.
const MOST_AT_A_SPOT: f64 = 1000.0;

/// The mean of counts taken several at a spot, and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClusteredStand {
    /// How many spots there were.
    pub locations: usize,
    /// How many counts there were in all.
    pub counts: usize,
    /// The mean of the spots' means, each spot counting alike.
    pub mean: PlantDensity,
    /// The standard deviation of counts at one spot; where some spot has two counts or more.
    pub sd_within: Option<PlantDensity>,
    /// The standard deviation between spots beyond that of counts at one spot, zero where they differ no more than chance
    /// lets them; where some spot has two counts or more.
    pub sd_between: Option<PlantDensity>,
    /// The share of all variance that lies between spots (intraclass correlation), 0 to 1; unless all counts are equal.
    pub intraclass: Option<f64>,
    /// How many times the variance of as many counts at random places; unless all counts are equal.
    pub design_effect: Option<f64>,
    /// The standard error of the mean.
    pub standard_error: PlantDensity,
    /// Half the width of the t interval.
    pub half_width: PlantDensity,
    /// The t interval around the mean, its lower end not below zero.
    pub interval: (PlantDensity, PlantDensity),
    /// The level of the interval.
    pub level: f64,
}

/// Returns the mean of stand counts taken several at a spot, with its t interval.
///
/// The interval rests on the means of the spots, with one degree of freedom less than there are spots: more counts at a
/// spot help only as far as counts at one spot differ.
///
/// *Units:* densities; `spots` has the counts of one spot each; the level is a number from 0.5 to 0.999. *Holds:* corn and
/// soybean; two spots or more, chosen at random; counts over the same length. *Errors:* [`Error::TooFew`];
/// [`Error::OutOfRange`]. *Source:* variances by the analysis of variance, S. R. Searle, G. Casella, C. E. McCulloch (1992),
/// Variance components, chapter 4; design effect after L. Kish (1965), Survey sampling, from memory, to be verified.
///
/// The spots of a classic data set, O. L. Davies and P. L. Goldsmith (1972), Statistical methods in research and
/// production, table 6.1: six batches of five, mean 1527.5, standard error 19.38 in the manual of lme4:
/// ```
/// use ligule_units::PlantDensity;
/// let batches = [
///     [1545.0, 1440.0, 1440.0, 1520.0, 1580.0], [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
///     [1595.0, 1550.0, 1605.0, 1510.0, 1560.0], [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
///     [1595.0, 1630.0, 1515.0, 1635.0, 1625.0], [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
/// ];
/// let spots = batches.map(|batch| batch.map(PlantDensity::from_per_acre));
/// let stand = ligule_agronomy::stand::clustered_stand(&spots, 0.95)?;
/// assert!((stand.mean.per_acre() - 1527.5).abs() < 1e-6);
/// assert!((stand.standard_error.per_acre() - 19.38).abs() < 0.005);
/// assert!((stand.sd_between.unwrap().per_acre() - 42.00).abs() < 0.005);
/// assert!((stand.sd_within.unwrap().per_acre() - 49.51).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn clustered_stand<S: AsRef<[PlantDensity]>>(spots: &[S], level: f64) -> Result<ClusteredStand, Error> {
    if spots.len() < 2 {
        return Err(Error::TooFew { what: "spots", needed: 2, came: spots.len() });
    }
    within("a number of spots", spots.len() as f64, 2.0, MOST_AT_A_SPOT, "")?;
    let (mut means, mut sizes, mut squares_within) = (Vec::new(), Vec::new(), 0.0);
    for spot in spots {
        let spot = spot.as_ref();
        if spot.is_empty() {
            return Err(Error::TooFew { what: "stand counts at each spot", needed: 1, came: 0 });
        }
        within("a number of counts at a spot", spot.len() as f64, 1.0, MOST_AT_A_SPOT, "")?;
        let mut counts = Vec::with_capacity(spot.len());
        for &count in spot {
            counts.push(valid_density("a stand count", count, 0.0)?.per_acre());
        }
        let mean = statistics::mean(&counts)?;
        squares_within += counts.iter().map(|count| (count - mean).powi(2)).sum::<f64>();
        means.push(mean);
        sizes.push(counts.len() as f64);
    }
    let (locations, all) = (means.len() as f64, sizes.iter().sum::<f64>());
    let mean = statistics::mean(&means)?;
    let standard_error = statistics::sample_sd(&means)? / locations.sqrt();
    let half_width = statistics::t_two_sided(level, means.len() - 1)? * standard_error;
    let density = PlantDensity::from_per_acre;
    let mut stand = ClusteredStand {
        locations: means.len(),
        counts: all as usize,
        mean: density(mean),
        sd_within: None,
        sd_between: None,
        intraclass: None,
        design_effect: None,
        standard_error: density(standard_error),
        half_width: density(half_width),
        interval: (density((mean - half_width).max(0.0)), density(mean + half_width)),
        level,
    };
    if all > locations {
        let of_count = squares_within / (all - locations);
        let grand = means.iter().zip(&sizes).map(|(mean, size)| mean * size).sum::<f64>() / all;
        let squares = means.iter().zip(&sizes).map(|(mean, size)| size * (mean - grand).powi(2)).sum::<f64>();
        let usual_size = (all - sizes.iter().map(|size| size * size).sum::<f64>() / all) / (locations - 1.0);
        let of_spot = ((squares / (locations - 1.0) - of_count) / usual_size).max(0.0);
        stand.sd_within = Some(density(of_count.sqrt()));
        stand.sd_between = Some(density(of_spot.sqrt()));
        let total = of_spot + of_count;
        if total > 0.0 {
            let harmonic = locations / sizes.iter().map(|size| 1.0 / size).sum::<f64>();
            stand.intraclass = Some(of_spot / total);
            stand.design_effect = Some(all / locations * (of_spot + of_count / harmonic) / total);
        }
    }
    Ok(stand)
}

impl ClusteredStand {
    /// Returns how many spots in all give an interval of ± a share of the mean, with so many counts at each.
    ///
    /// *Units:* `relative_half_width` is a share, ± 5 % is 0.05. *Errors:* those of [`locations_needed`];
    /// [`Error::TooFew`] where no spot has two counts or the mean is zero. *Source:* as [`locations_needed`].
    ///
    /// Two spots of two counts, 28 and 30, 30 and 32 thousand (computed by hand): between spots the variance is
    /// (4 − 2) / 2 = 1, at one spot 2; with four counts each √(1 + 2 / 4) / 30 = 4.08 % a spot.
    /// ```
    /// use ligule_units::PlantDensity;
    /// let spots = [[28e3, 30e3], [30e3, 32e3]].map(|spot| spot.map(PlantDensity::from_per_acre));
    /// let stand = ligule_agronomy::stand::clustered_stand(&spots, 0.95)?;
    /// // 5 spots: 2.776 × 4.08 / √5 = 5.07 %; 6 spots: 2.571 × 4.08 / √6 = 4.29 %.
    /// assert_eq!(stand.locations_needed(4, 0.05)?, 6);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn locations_needed(&self, counts_each: usize, relative_half_width: f64) -> Result<usize, Error> {
        let (Some(of_spot), Some(of_count)) = (self.sd_between, self.sd_within) else {
            return Err(Error::TooFew { what: "counts at one spot at least", needed: 2, came: 1 });
        };
        let mean = self.mean.per_acre();
        if mean <= 0.0 {
            return Err(Error::TooFew { what: "plants", needed: 1, came: 0 });
        }
        let (between, at_spot) = (of_spot.per_acre() / mean, of_count.per_acre() / mean);
        locations_needed(between, at_spot, counts_each, relative_half_width, self.level)
    }
}

/// Returns how many spots give an interval of ± a share of the mean, with so many counts at each.
///
/// It is the least L from 2 up for which t × √((b² + w² / m) / L) is at most the share, with t of L − 1 degrees of freedom.
///
/// *Units:* b (between spots) and w (at one spot) are standard deviations over the mean, as shares; m counts at each spot;
/// the half-width is a share. *Holds:* b and w 0 to 10, m 1 to 1,000, half-width 0.001 to 1, level 0.5 to 0.999.
/// *Errors:* [`Error::OutOfRange`]; [`Error::OutOfReach`] over 10,000 spots. *Source:* solved from the t interval,
/// NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.2.2.2, of the spots' means.
///
/// With one count at a spot it is a plain sample: CV 10 %, ± 5 %, 95 % (computed by hand, stepping L):
/// ```
/// use ligule_agronomy::stand::locations_needed;
/// assert_eq!(locations_needed(0.0, 0.10, 1, 0.05, 0.95)?, 18);
/// // However many counts at a spot, what lies between spots is left.
/// assert_eq!(locations_needed(0.10, 0.0, 1000, 0.05, 0.95)?, 18);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn locations_needed(
    cv_between: f64,
    cv_within: f64,
    counts_each: usize,
    relative_half_width: f64,
    level: f64,
) -> Result<usize, Error> {
    let between = within("a coefficient of variation between spots", cv_between, 0.0, 10.0, "")?;
    let at_spot = within("a coefficient of variation at a spot", cv_within, 0.0, 10.0, "")?;
    let counts = within("a number of counts at a spot", counts_each as f64, 1.0, MOST_AT_A_SPOT, "")?;
    let aim = within("a relative half-width", relative_half_width, 0.001, 1.0, "")?;
    let cv = (between * between + at_spot * at_spot / counts).sqrt();
    // z is below every t, so that fewer spots cannot do.
    let at_least = (statistics::z_two_sided(level)? * cv / aim).powi(2).floor();
    if at_least <= MOST_COUNTS as f64 {
        for spots in (at_least as usize).max(2)..=MOST_COUNTS {
            if statistics::t_two_sided(level, spots - 1)? * cv / (spots as f64).sqrt() <= aim {
                return Ok(spots);
            }
        }
    }
    Err(Error::OutOfReach { limit: MOST_COUNTS })
}
