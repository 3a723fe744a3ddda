//! The stand beside the seed that was dropped.

use ligule_units::PlantDensity;

use super::valid_density;
use crate::error::{Error, within};

/// Returns the stand as a share of the seeds dropped.
///
/// *Units:* densities in, a share out; it passes 1 where the planter dropped more than its setting. *Holds:* stands
/// of 0 or more, rates of 1 per acre or more. *Errors:* [`Error::OutOfRange`]. *Source:* definition.
///
/// ```
/// use ligule_units::PlantDensity;
/// let (stand, rate) = (PlantDensity::from_per_acre(28_800.0), PlantDensity::from_per_acre(32_000.0));
/// assert!((ligule_agronomy::stand::share_of_seeding_rate(stand, rate)? - 0.90).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn share_of_seeding_rate(stand: PlantDensity, seeding_rate: PlantDensity) -> Result<f64, Error> {
    Ok(valid_density("a stand", stand, 0.0)? / valid_density("a seeding rate", seeding_rate, 1.0)?)
}

/// Returns the seeding rate that reaches a stand, given the germination of the seed and its expected survival.
///
/// *Units:* densities; germination and survival are shares from 0.01 to 1. *Holds:* survival of viable corn seed is
/// 0.85 to 0.95 and germination on the tag commonly 0.95 or more. *Errors:* [`Error::OutOfRange`]. *Source:* Ohio
/// State University Extension, Corn seeding rates versus final stands.
///
/// 32,000 plants an acre, both shares 0.95:
/// ```
/// use ligule_units::PlantDensity;
/// let rate = ligule_agronomy::stand::seeding_rate_for(PlantDensity::from_per_acre(32_000.0), 0.95, 0.95)?;
/// assert_eq!(rate.per_acre().round(), 35_457.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn seeding_rate_for(target: PlantDensity, germination: f64, survival: f64) -> Result<PlantDensity, Error> {
    let target = valid_density("a target stand", target, 0.0)?;
    let germination = within("germination", germination, 0.01, 1.0, "")?;
    let survival = within("survival", survival, 0.01, 1.0, "")?;
    Ok(target * (1.0 / (germination * survival)))
}

/// Returns the coefficient of variation that counts have from chance alone, with nothing wrong in the field.
///
/// Each seed makes a plant or not, independently: CV = √((1 − p) / (S × p)). What counts vary beyond it comes from
/// row units, soil, pests.
///
/// *Units:* seeds that fall on the length counted; the share of them that makes plants; the CV is a share. *Holds:* 1 to
/// 1,000,000 seeds, shares from 0.01 to 1. *Errors:* [`Error::OutOfRange`]. *Source:* the binomial distribution.
///
/// 34 seeds of which 90 % make plants (computed by hand): SD 1.75 of 30.6 plants.
/// ```
/// let cv = ligule_agronomy::stand::chance_cv(34.0, 0.90)?;
/// assert!((cv - 0.057).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn chance_cv(seeds: f64, emergence: f64) -> Result<f64, Error> {
    let seeds = within("a number of seeds", seeds, 1.0, 1e6, "")?;
    let p = within("a share that makes plants", emergence, 0.01, 1.0, "")?.min(1.0);
    Ok(((1.0 - p) / (seeds * p)).sqrt())
}
