//! The degree days of whole columns, as a weather file holds them.

use ligule_units::{DegreeDays, Temperature};

use crate::degree_days::sine::single_sine;
use crate::degree_days::{Accumulation, Method, Model, accumulate};
use crate::error::Error;

/// Days that are summed side by side: as many as a core's vector unit takes, twice over.
const LANES: usize = 8;

/// Air between these is summed at once, in °F; the rest is left to [`accumulate`], which knows what it refuses.
const ORDINARY: std::ops::RangeInclusive<f64> = -130.0..=140.0;

/// Returns the sum of degree days over two columns of °F, where NaN is a missing temperature.
///
/// The same sum as [`accumulate`], but for rounding, and faster; for archives of many stations and years.
///
/// *Units:* °F in both columns. *Holds:* as [`accumulate`]. *Source:* that of each [`Method`]. *Errors:* as [`accumulate`];
/// [`Error::TooFew`] where one column is shorter.
///
/// University of Wisconsin Extension, Calculating growing degree days: 90/65, 72/46 and 63/42 °F give 43.0.
/// ```
/// use ligule_agronomy::degree_days::{accumulate_columns, Model};
/// let season = accumulate_columns(&[90.0, 72.0, 63.0, f64::NAN], &[65.0, 46.0, 42.0, 40.0], &Model::corn())?;
/// assert!((season.sum.fahrenheit() - 43.0).abs() < 1e-9);
/// assert_eq!((season.days, season.missing), (3, 1));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn accumulate_columns(maximum: &[f64], minimum: &[f64], model: &Model) -> Result<Accumulation, Error> {
    let (days, nights) = (maximum.len(), minimum.len());
    if days != nights {
        let what = if days < nights { "maxima" } else { "minima" };
        return Err(Error::TooFew { what, needed: days.max(nights), came: days.min(nights) });
    }
    let base = model.base().fahrenheit();
    let upper = model.upper().map_or(f64::INFINITY, Temperature::fahrenheit);
    let at_once = match model.method() {
        Method::ModifiedAverage => {
            sum(maximum, minimum, |high, low| f64::midpoint(high.max(base).min(upper), low.max(base).min(upper)) - base)
        }
        Method::SimpleAverage => sum(maximum, minimum, |high, low| (f64::midpoint(high, low) - base).max(0.0)),
        Method::ClippedAverage => {
            sum(maximum, minimum, |high, low| f64::midpoint(high, low).max(base).min(upper) - base)
        }
        Method::CappedMaximum => {
            sum(maximum, minimum, |high, low| (f64::midpoint(high.min(upper), low) - base).max(0.0))
        }
        Method::SingleSine => {
            let upper = model.upper().map(Temperature::fahrenheit);
            sum(maximum, minimum, |high, low| single_sine(high, low, base, upper))
        }
    };
    if let Some(season) = at_once {
        return Ok(season);
    }
    let given = |degrees: &f64| (!degrees.is_nan()).then(|| Temperature::from_fahrenheit(*degrees));
    accumulate(maximum.iter().map(given).zip(minimum.iter().map(given)), model)
}

/// Returns the sum of `day` over all days that have both temperatures, or nothing if a day is out of the ordinary.
fn sum(maximum: &[f64], minimum: &[f64], day: impl Fn(f64, f64) -> f64) -> Option<Accumulation> {
    let (mut sums, mut counts, mut wrong) = ([0.0; LANES], [0.0; LANES], [false; LANES]);
    let mut add = |lane: usize, high: f64, low: f64| {
        let given = !(high.is_nan() | low.is_nan());
        let ordinary = (low >= *ORDINARY.start()) & (high <= *ORDINARY.end()) & (low <= high);
        wrong[lane] |= given & !ordinary;
        sums[lane] += if given { day(high, low) } else { 0.0 };
        counts[lane] += if given { 1.0 } else { 0.0 };
    };
    let ((highs, last_highs), (lows, last_lows)) = (maximum.as_chunks::<LANES>(), minimum.as_chunks::<LANES>());
    for (highs, lows) in highs.iter().zip(lows) {
        for (lane, (high, low)) in highs.iter().zip(lows).enumerate() {
            add(lane, *high, *low);
        }
    }
    for (high, low) in last_highs.iter().zip(last_lows) {
        add(0, *high, *low);
    }
    if wrong.contains(&true) {
        return None;
    }
    let days = counts.iter().sum::<f64>() as usize;
    let sum = DegreeDays::from_fahrenheit(sums.iter().sum());
    Some(Accumulation { sum, days, missing: maximum.len() - days })
}
