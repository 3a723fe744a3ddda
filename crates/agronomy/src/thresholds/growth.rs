//! How fast a population grows, and the days of feeding it has cost.

use crate::error::{Error, within};

/// Returns the daily rate of exponential growth between two counts: ln(later / earlier) / days; negative when the
/// population shrinks.
///
/// *Units:* counts in one unit, days. *Holds:* counts of 0.001 to 10⁹, 0.1 to 365 days. *Errors:*
/// [`Error::OutOfRange`]. *Source:* definition of exponential growth.
///
/// 273 to 674 aphids a plant in 7 days, the threshold and the injury level of D. W. Ragsdale et al. (2007), Journal of
/// Economic Entomology 100:1258-1267 (rate computed by hand):
/// ```
/// let rate = ligule_agronomy::thresholds::growth_rate(273.0, 674.0, 7.0)?;
/// assert!((rate - 0.1291).abs() < 0.00005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn growth_rate(earlier: f64, later: f64, days: f64) -> Result<f64, Error> {
    let count = |value| within("a count", value, 0.001, 1e9, "");
    Ok((count(later)? / count(earlier)?).ln() / within("a time between counts", days, 0.1, 365.0, " days")?)
}

/// Returns the days in which a population doubles: ln 2 / rate.
///
/// *Units:* rate per day in, days out. *Holds:* rates of 0.0001 to 500 a day; a population that shrinks does not
/// double. *Errors:* [`Error::OutOfRange`]. *Source:* definition of exponential growth.
///
/// ```
/// let rate = ligule_agronomy::thresholds::growth_rate(273.0, 674.0, 7.0)?;
/// assert!((ligule_agronomy::thresholds::doubling_time(rate)? - 5.37).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn doubling_time(rate: f64) -> Result<f64, Error> {
    Ok(std::f64::consts::LN_2 / within("a growth rate", rate, 1e-4, 500.0, " per day")?)
}

/// A count on a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visit {
    /// The day, counted from any start.
    pub day: f64,
    /// The mean count of one plant.
    pub count: f64,
}

/// Returns the cumulative insect days of a season: the mean of each two counts, times the days between them, summed.
///
/// *Units:* counts for each plant, days in; insect days for each plant out. *Holds:* two visits or more, in the order
/// of their days; counts of 0 to 10⁹. *Errors:* [`Error::TooFew`], [`Error::OutOfRange`]. *Source:* R. F. Ruppel
/// (1983), Cumulative insect-days as an index of crop protection, Journal of Economic Entomology 76:375-377 (from
/// memory, to be verified).
///
/// 50, 250 and 600 aphids, a week apart (computed by hand):
/// ```
/// use ligule_agronomy::thresholds::{Visit, insect_days};
/// let visits = [(0.0, 50.0), (7.0, 250.0), (14.0, 600.0)].map(|(day, count)| Visit { day, count });
/// assert_eq!(insect_days(&visits)?, 4_025.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn insect_days(visits: &[Visit]) -> Result<f64, Error> {
    if visits.len() < 2 {
        return Err(Error::TooFew { what: "visits", needed: 2, came: visits.len() });
    }
    for visit in visits {
        within("a count", visit.count, 0.0, 1e9, "")?;
        within("a day", visit.day, -1e6, 1e6, "")?;
    }
    let mut sum = 0.0;
    for pair in visits.windows(2) {
        let days = within("a time between visits", pair[1].day - pair[0].day, 0.0, 365.0, " days")?;
        sum += f64::midpoint(pair[0].count, pair[1].count) * days;
    }
    Ok(sum)
}
