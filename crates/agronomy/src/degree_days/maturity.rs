//! Degree days to black layer after a late planting.

use ligule_units::DegreeDays;

use crate::error::{Error, within};

/// Returns the degree days from planting to black layer of a hybrid that is planted after 1 May: 6.8 °F days fewer
/// for each day.
///
/// *Units:* °F or °C days of the corn model; days after 1 May. *Holds:* 0 to 45 days; ratings of 1500 to 4000 °F days;
/// Indiana and Ohio, where three hybrids were planted late April to mid June; not outside the eastern and central
/// Corn Belt, and not for plantings before 1 May. *Errors:* [`Error::OutOfRange`]. *Source:* R. L. Nielsen et al.
/// (2002), Agronomy Journal 94:549-558, as applied in R. L. Nielsen, Hybrid maturity decisions for delayed planting,
/// Purdue University.
///
/// A hybrid of 2,700 planted on 31 May:
/// ```
/// use ligule_units::DegreeDays;
/// let rated = DegreeDays::from_fahrenheit(2700.0);
/// let needed = ligule_agronomy::degree_days::delayed_planting_maturity(rated, 30)?;
/// assert!((needed.fahrenheit() - 2496.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn delayed_planting_maturity(rated: DegreeDays, days_after_1_may: u32) -> Result<DegreeDays, Error> {
    let rated = within("rated degree days to black layer", rated.fahrenheit(), 1500.0, 4000.0, " °F·d")?;
    let days = within("days after 1 May", days_after_1_may.into(), 0.0, 45.0, "")?;
    Ok(DegreeDays::from_fahrenheit(rated - 6.8 * days))
}
