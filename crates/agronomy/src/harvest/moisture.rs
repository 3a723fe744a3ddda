//! What drying takes from the weight of grain.

use super::grain::Grain;
use crate::error::{Error, within};

/// Dry matter lost in drying and handling, as a share of the first weight, as buyers commonly take it. Measured
/// losses ran 0.0022 to 0.0171. *Source:* D. Karki (2020), Corn grain moisture discount, South Dakota State
/// University.
pub const USUAL_HANDLING_LOSS: f64 = 0.005;

/// Returns the share of the wet weight that leaves as water when grain dries.
///
/// Dry matter stays: 1 − (1 − from) / (1 − to). From drier to wetter the share is negative: so much water would have to
/// be added. Nobody dries grain that way, and buyers do not pay for water that is not there; plots that are compared at
/// one moisture are reckoned so.
///
/// *Units:* moistures and the answer are shares of the wet weight. *Holds:* moistures of 0 to 0.6. *Errors:*
/// [`Error::OutOfRange`]. *Source:* D. R. Hicks, H. A. Cloud, Calculating grain weight shrinkage in corn, National Corn
/// Handbook NCH-61.
///
/// From 25 to 15.5 %, printed as 11.24 %:
/// ```
/// let shrink = ligule_agronomy::harvest::water_shrink(0.25, 0.155)?;
/// assert!((shrink - 0.1124).abs() < 0.00005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn water_shrink(from: f64, to: f64) -> Result<f64, Error> {
    let from = within("a moisture before drying", from, 0.0, 0.6, "")?;
    let to = within("a moisture after drying", to, 0.0, 0.6, "")?;
    Ok(1.0 - (1.0 - from) / (1.0 - to))
}

/// Returns the share of the wet weight that each point of moisture removed takes, in hundredths: 1.183 at 15.5 %.
///
/// *Units:* the moisture after drying is a share; percent a point out. *Holds:* 0 to 0.6. *Errors:*
/// [`Error::OutOfRange`]. *Source:* D. Karki (2020), Corn grain moisture discount, South Dakota State University.
///
/// Dried to 13 %, printed as 1.15:
/// ```
/// let factor = ligule_agronomy::harvest::shrink_a_point(0.13)?;
/// assert!((factor - 1.15).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn shrink_a_point(to: f64) -> Result<f64, Error> {
    Ok(1.0 / (1.0 - within("a moisture after drying", to, 0.0, 0.6, "")?))
}

/// Returns the weight that is left after drying, with dry matter lost on the way.
///
/// The handling loss is taken off the first, wet weight, as buyers' tables do; taken off the dried weight it would be
/// a little less.
///
/// *Units:* weight in any unit, the same out; moistures and loss are shares. *Holds:* moistures of 0 to 0.6, losses
/// of 0 to 0.1. *Errors:* [`Error::OutOfRange`]. *Source:* D. Karki (2020), Corn grain moisture discount, South
/// Dakota State University.
///
/// 1,000 lb at 25.5 %: shrink 11.83 %, with 0.5 % handling 12.33 %:
/// ```
/// let dried = ligule_agronomy::harvest::dried_weight(1000.0, 0.255, 0.155, 0.005)?;
/// assert!((dried - 876.66).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn dried_weight(wet: f64, from: f64, to: f64, handling_loss: f64) -> Result<f64, Error> {
    let wet = within("a weight", wet, 0.0, 1e9, "")?;
    let loss = within("a handling loss", handling_loss, 0.0, 0.1, "")?;
    Ok(wet * (1.0 - water_shrink(from, to)? - loss).max(0.0))
}

/// Returns the standard bushels in a weight of wet grain: dry matter counts, water does not.
///
/// *Units:* pounds; moisture and loss are shares; bushels at 15.5 % (corn) or 13 % (soybean). *Holds* and *errors:* as
/// [`dried_weight`]. *Source:* arithmetic on [`Grain::bushel`].
///
/// 1,000 lb of corn at 25.5 %, with 0.5 % handling, 15.65 bu (computed by hand: 876.66 / 56):
/// ```
/// use ligule_agronomy::harvest::{Grain, standard_bushels};
/// assert!((standard_bushels(Grain::Corn, 1000.0, 0.255, 0.005)? - 15.65).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn standard_bushels(grain: Grain, pounds: f64, moisture: f64, handling_loss: f64) -> Result<f64, Error> {
    Ok(dried_weight(pounds, moisture, grain.standard_moisture(), handling_loss)? / grain.bushel())
}

/// Returns the share of the weight that a buyer takes off by a flat factor for each point of moisture.
///
/// A factor above 1.183 pays the buyer for more than the water: 1.2 to 1.5 are common.
///
/// *Units:* moistures are shares; the factor is percent a point; a share out, none below the standard. *Holds:*
/// moistures 0 to 0.6, factors 0 to 5. *Errors:* [`Error::OutOfRange`]. *Source:* D. Karki (2020), Corn grain
/// moisture discount, South Dakota State University.
///
/// Five points at 1.2 (computed by hand): 6 %:
/// ```
/// let taken = ligule_agronomy::harvest::pencil_shrink(0.20, 0.15, 1.2)?;
/// assert!((taken - 0.06).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn pencil_shrink(from: f64, to: f64, percent_a_point: f64) -> Result<f64, Error> {
    let from = within("a moisture before drying", from, 0.0, 0.6, "")?;
    let to = within("a moisture after drying", to, 0.0, 0.6, "")?;
    let factor = within("a shrink factor", percent_a_point, 0.0, 5.0, " % a point")?;
    Ok(((from - to) * factor).clamp(0.0, 1.0))
}
