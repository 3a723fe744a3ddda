//! Plants behind their field.

use ligule_units::DegreeDays;

use crate::error::{Error, within};
use crate::stage::{COLLARS, LAST_COLLAR};
use crate::statistics::{USUAL_LEVEL, wilson_interval};

/// Leaves behind from which a plant counts as at risk of staying barren. Common practice, no source.
const AT_RISK_LEAVES: f64 = 2.0;

/// Fahrenheit degree days that a leaf takes up to V10. *Source:* R. L. Nielsen (2019), Predict leaf stage development in
/// corn using thermal time, Purdue University.
pub(super) const DEGREE_DAYS_A_LEAF: f64 = 82.0;

/// How far the plants of a field lag behind its stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmergenceEvenness {
    /// How many plants were staged.
    pub plants: usize,
    /// The greatest number of collars that half of the plants or more have reached.
    pub stage: f64,
    /// The share of plants half a leaf behind it or more.
    pub half_leaf: f64,
    /// The share of plants one leaf behind or more.
    pub one_leaf: f64,
    /// The share of plants two leaves behind or more: those at risk of staying barren.
    pub two_leaves: f64,
    /// The 95 % interval of the share two leaves behind or more.
    pub two_leaves_interval: (f64, f64),
    /// How far the plants that are a leaf behind or more are behind, on average; where there are any.
    pub mean_lag_of_late: Option<f64>,
}

/// Returns how far the plants of a field lag behind its stage, from the collars of each plant.
///
/// *Units:* collars, halves for a collar that is half out. *Holds:* corn, 0 to 24 collars, V3 to V5 at best; 20 plants in a
/// row or more. *Errors:* [`Error::TooFew`] without plants; [`Error::OutOfRange`]. *Source:* the field's stage: P.
/// Thomison, Identifying vegetative growth stages in corn, Ohio State University AGF-127; that plants two leaves behind
/// are at risk: common practice, no source; that late ones are often barren: University of Illinois Extension (2014),
/// Uneven corn emergence and yield potential.
///
/// Ten plants (computed by hand), the field at 4 collars:
/// ```
/// let collars = [4.0, 4.0, 4.5, 3.5, 4.0, 3.0, 5.0, 4.0, 2.0, 4.0];
/// let found = ligule_agronomy::evenness::emergence_evenness(&collars)?;
/// assert_eq!((found.stage, found.half_leaf, found.one_leaf, found.two_leaves), (4.0, 0.3, 0.2, 0.1));
/// assert_eq!(found.mean_lag_of_late, Some(1.5));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn emergence_evenness(collars: &[f64]) -> Result<EmergenceEvenness, Error> {
    let mut sorted = Vec::with_capacity(collars.len());
    for count in collars {
        sorted.push(within(COLLARS, *count, 0.0, LAST_COLLAR.into(), "")?);
    }
    sorted.sort_by(f64::total_cmp);
    let Some(&stage) = sorted.get(sorted.len() / 2) else {
        return Err(Error::TooFew { what: "plants", needed: 1, came: 0 });
    };
    let behind = |leaves: f64| sorted.iter().filter(|count| stage - **count >= leaves - 1e-9).count();
    let share = |leaves: f64| behind(leaves) as f64 / sorted.len() as f64;
    let late: Vec<f64> = sorted.iter().map(|count| stage - count).filter(|lag| *lag >= 1.0 - 1e-9).collect();
    Ok(EmergenceEvenness {
        plants: sorted.len(),
        stage,
        half_leaf: share(0.5),
        one_leaf: share(1.0),
        two_leaves: share(AT_RISK_LEAVES),
        two_leaves_interval: wilson_interval(behind(AT_RISK_LEAVES) as u64, sorted.len() as u64, USUAL_LEVEL)?,
        mean_lag_of_late: (!late.is_empty()).then(|| late.iter().sum::<f64>() / late.len() as f64),
    })
}

/// Returns how many days a lag of so many leaves is, at the degree days of the place.
///
/// *Units:* leaves; degree days of the corn model for each day. *Holds:* up to V10; 0 to 10 leaves; 1 to 50 °F days a day.
/// *Errors:* [`Error::OutOfRange`]. *Source:* 82 °F days a leaf, R. L. Nielsen (2019), Predict leaf stage development in
/// corn using thermal time, Purdue University.
///
/// Two leaves at 16.4 °F days a day (computed by hand): 164 / 16.4.
/// ```
/// use ligule_units::DegreeDays;
/// let days = ligule_agronomy::evenness::days_behind(2.0, DegreeDays::from_fahrenheit(16.4))?;
/// assert!((days - 10.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn days_behind(leaves: f64, a_day: DegreeDays) -> Result<f64, Error> {
    let leaves = within("a lag in leaves", leaves, 0.0, 10.0, "")?;
    let a_day = within("degree days in a day", a_day.fahrenheit(), 1.0, 50.0, " °F days")?;
    Ok(leaves * DEGREE_DAYS_A_LEAF / a_day)
}
