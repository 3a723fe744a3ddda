//! The area between a sine curve through a day's minimum and maximum and the thresholds.

use std::f64::consts::{FRAC_PI_2, PI};

/// Returns the mean height of the day's sine curve over `threshold`, counting nothing where it is below; any one scale.
fn above(maximum: f64, minimum: f64, threshold: f64) -> f64 {
    let (mean, amplitude) = (f64::midpoint(maximum, minimum), (maximum - minimum) / 2.0);
    if threshold >= maximum {
        0.0
    } else if threshold <= minimum {
        mean - threshold
    } else {
        // Between minimum and maximum the amplitude is above zero; rounding can carry the ratio past one.
        let theta = ((threshold - mean) / amplitude).clamp(-1.0, 1.0).asin();
        ((mean - threshold) * (FRAC_PI_2 - theta) + amplitude * theta.cos()) / PI
    }
}

/// Returns the degree days of a day by the single sine method; with an upper threshold, by its horizontal cut-off.
///
/// What lies over the upper threshold adds as much as the threshold itself, so that the area between both is the area
/// over the lower less the area over the upper. That is Zalom's six cases in one line.
pub(super) fn single_sine(maximum: f64, minimum: f64, base: f64, upper: Option<f64>) -> f64 {
    let over = upper.map_or(0.0, |upper| above(maximum, minimum, upper));
    // Rounding alone can bring the difference below zero.
    (above(maximum, minimum, base) - over).max(0.0)
}
