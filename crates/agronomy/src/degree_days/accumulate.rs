//! The degree days of many days, with gaps counted and never filled.

use ligule_units::{DegreeDays, Temperature};

use crate::degree_days::Model;
use crate::error::Error;

/// The share of missing days above which no stage should be foretold. Common practice, no source.
pub const FORECAST_MISSING_LIMIT: f64 = 0.05;

/// A sum of degree days, and how much of it is not there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accumulation {
    /// The sum over the days that have both temperatures.
    pub sum: DegreeDays,
    /// How many days were summed.
    pub days: usize,
    /// How many days lack a temperature and add nothing; the true sum is higher or equal.
    pub missing: usize,
}

impl Accumulation {
    /// Returns the share of days that lack a temperature; 0 if there are no days at all.
    pub fn missing_share(&self) -> f64 {
        let all = self.days + self.missing;
        if all == 0 { 0.0 } else { self.missing as f64 / all as f64 }
    }

    /// Returns whether enough days are there to foretell a stage: at least one, and at most 5 % missing.
    pub fn supports_forecast(&self) -> bool {
        self.days > 0 && self.missing_share() <= FORECAST_MISSING_LIMIT
    }
}

/// Returns the sum of degree days over days of (maximum, minimum).
///
/// *Units:* temperatures; `None` is a missing one. *Holds:* as [`Model::day`]; a day without both temperatures is
/// counted as missing and never filled. *Errors:* [`Error::Day`], which says which day and why. *Source:* see
/// [`Method`](crate::degree_days::Method).
///
/// University of Wisconsin Extension, Calculating growing degree days: 90/65, 72/46 and 63/42 °F give 43.0.
/// ```
/// use ligule_agronomy::degree_days::{accumulate, Model};
/// use ligule_units::Temperature;
/// let days = [(90.0, 65.0), (72.0, 46.0), (63.0, 42.0)]
///     .map(|(high, low)| (Some(Temperature::from_fahrenheit(high)), Some(Temperature::from_fahrenheit(low))));
/// let season = accumulate(days.into_iter().chain([(None, None)]), &Model::corn())?;
/// assert!((season.sum.fahrenheit() - 43.0).abs() < 1e-9);
/// assert_eq!((season.days, season.missing), (3, 1));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn accumulate<I>(days: I, model: &Model) -> Result<Accumulation, Error>
where
    I: IntoIterator<Item = (Option<Temperature>, Option<Temperature>)>,
{
    let mut season = Accumulation { sum: DegreeDays::zero(), days: 0, missing: 0 };
    for day in days {
        if let (Some(maximum), Some(minimum)) = day {
            let day = season.days + season.missing + 1;
            let added = model.day(maximum, minimum);
            season.sum = season.sum + added.map_err(|reason| Error::Day { day, reason: Box::new(reason) })?;
            season.days += 1;
        } else {
            season.missing += 1;
        }
    }
    Ok(season)
}
