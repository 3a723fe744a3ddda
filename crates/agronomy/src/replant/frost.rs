//! The latest day on which a hybrid can be planted and ripen before frost.

use ligule_units::DegreeDays;

use crate::degree_days::delayed_planting_maturity;
use crate::error::Error;

/// The last day after 1 May for which the shortening of the need is known.
const LAST_DAY: usize = 45;

/// Returns how many days after 1 May a hybrid can be planted and still reach black layer.
///
/// `normals` are the degree days of each day from 1 May to the day before the first killing frost, as the station's
/// past years have them on average. For a margin of safety take the frost of the earliest tenth of years, or cooler
/// normals.
///
/// *Units:* Fahrenheit or Celsius degree days of the corn model; days out, 0 for 1 May; nothing where even 1 May is
/// too late. *Holds:* as [`delayed_planting_maturity`]: Indiana and Ohio, up to 45 days after 1 May, the last day
/// considered; half of the years are cooler than normals. *Errors:* [`Error::OutOfRange`] for the rating;
/// [`Error::TooFew`] without normals. *Source:* R. L. Nielsen, Hybrid maturity decisions for delayed planting, Purdue
/// University; the search is arithmetic.
///
/// A hybrid of 2,700, and 150 days of 18.5 each (computed by hand): planted d days late it needs 2,700 − 6.8 d and
/// finds 2,775 − 18.5 d, which is enough up to 75 / 11.7 = 6.4 days:
/// ```
/// use ligule_agronomy::replant::latest_safe_planting;
/// use ligule_units::DegreeDays;
/// let normals = [DegreeDays::from_fahrenheit(18.5); 150];
/// assert_eq!(latest_safe_planting(DegreeDays::from_fahrenheit(2700.0), &normals)?, Some(6));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn latest_safe_planting(rated: DegreeDays, normals: &[DegreeDays]) -> Result<Option<u32>, Error> {
    if normals.is_empty() {
        return Err(Error::TooFew { what: "days of normals", needed: 1, came: 0 });
    }
    let mut latest = None;
    for day in 0..=LAST_DAY.min(normals.len() - 1) {
        let days = u32::try_from(day).expect("no more than 45");
        let need = delayed_planting_maturity(rated, days)?;
        let found: DegreeDays = normals[day..].iter().copied().sum();
        // Not a number is not enough.
        if found.fahrenheit() >= need.fahrenheit() {
            latest = Some(days);
        }
    }
    Ok(latest)
}
