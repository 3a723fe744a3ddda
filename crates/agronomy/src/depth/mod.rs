//! Seed depth, measured on dug plants.

mod warnings;
mod worksheets;

pub use warnings::{DepthWarning, depth_warnings};

pub(crate) use worksheets::{WORKSHEETS, tables};

use ligule_units::Length;

use crate::error::{Error, within};
use crate::statistics;

/// Inches from crown to soil surface, over a wide range of seed depths. *Source:* R. L. Nielsen (2022), Rootless or
/// floppy corn syndrome, Purdue University.
pub const CROWN_DEPTH_INCHES: f64 = 0.75;

/// Inches of seed depth below which a stand is at risk. *Source:* E. Nafziger, University of Illinois, quoted
/// 17 April 2013 on corn emergence.
const SHALLOW_INCHES: f64 = 1.25;

/// A measurement is read to a sixteenth of an inch at best; a limit is not passed by the rounding of a conversion.
const HAIR_INCHES: f64 = 1e-9;

/// Returns the depth of the seed from the length between seed and crown (the mesocotyl), plus ¾ in.
///
/// *Units:* lengths. *Holds:* plants with nodal roots; if the seed lay shallower than about 1¼ in the crown is
/// shallower too and the rule overstates the depth, so measure seed to surface there. *Errors:*
/// [`Error::OutOfRange`] outside 0 to 8 in. *Source:* G. LaBarge (2023), Corn planting depth and emergence
/// problems, Ohio State University; common practice.
///
/// 1.0 in from seed to crown:
/// ```
/// use ligule_units::Length;
/// let depth = ligule_agronomy::depth::seed_depth(Length::from_inches(1.0))?;
/// assert!((depth.inches() - 1.75).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn seed_depth(seed_to_crown: Length) -> Result<Length, Error> {
    within("a length from seed to crown", seed_to_crown.inches(), 0.0, 8.0, " in")?;
    Ok(seed_to_crown + Length::from_inches(CROWN_DEPTH_INCHES))
}

/// Returns whether a seed lies shallower than 1¼ in, which risks rootless corn and uneven emergence.
///
/// *Source:* E. Nafziger, University of Illinois, quoted 17 April 2013 on corn emergence: seed never under about
/// 1¼ in.
///
/// ```
/// use ligule_units::Length;
/// assert!(ligule_agronomy::depth::is_too_shallow(Length::from_inches(1.0)));
/// assert!(!ligule_agronomy::depth::is_too_shallow(Length::from_inches(1.25)));
/// ```
pub fn is_too_shallow(depth: Length) -> bool {
    depth.inches() < SHALLOW_INCHES - HAIR_INCHES
}

/// Seed depths of consecutive plants, against the target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthSummary {
    /// How many plants were dug.
    pub plants: usize,
    /// The mean depth.
    pub mean: Length,
    /// The standard deviation (n − 1); from two plants on.
    pub sd: Option<Length>,
    /// The share of plants more than ¼ in from the target.
    pub share_off_quarter_inch: f64,
    /// The share of plants more than ½ in from the target.
    pub share_off_half_inch: f64,
    /// How many plants lie shallower than 1¼ in.
    pub too_shallow: usize,
}

/// Returns the summary of seed depths: mean, spread, shares off target, plants too shallow.
///
/// *Units:* lengths. *Holds:* depths and target of 0 to 8 in; 10 consecutive plants are usual (common practice, no
/// source), and ¼ and ½ in are the usual limits (common practice, no source). *Errors:* [`Error::TooFew`] without
/// depths; [`Error::OutOfRange`]. *Source:* definitions of mean and spread; 1¼ in: E. Nafziger, University of Illinois,
/// quoted 17 April 2013 on corn emergence.
///
/// Four plants, target 2 in (computed by hand):
/// ```
/// use ligule_units::Length;
/// let depths = [1.0, 1.75, 2.0, 2.25].map(Length::from_inches);
/// let summary = ligule_agronomy::depth::depth_summary(&depths, Length::from_inches(2.0))?;
/// assert!((summary.mean.inches() - 1.75).abs() < 1e-12);
/// assert_eq!((summary.share_off_quarter_inch, summary.share_off_half_inch, summary.too_shallow), (0.25, 0.25, 1));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn depth_summary(depths: &[Length], target: Length) -> Result<DepthSummary, Error> {
    if depths.is_empty() {
        return Err(Error::TooFew { what: "seed depths", needed: 1, came: 0 });
    }
    let target = within("a target depth", target.inches(), 0.0, 8.0, " in")?;
    let mut inches = Vec::with_capacity(depths.len());
    for depth in depths {
        inches.push(within("a seed depth", depth.inches(), 0.0, 8.0, " in")?);
    }
    let share_off = |limit: f64| {
        let off = inches.iter().filter(|d| (*d - target).abs() > limit + HAIR_INCHES).count();
        off as f64 / inches.len() as f64
    };
    Ok(DepthSummary {
        plants: depths.len(),
        mean: Length::from_inches(statistics::mean(&inches)?),
        sd: statistics::sample_sd(&inches).ok().map(Length::from_inches),
        share_off_quarter_inch: share_off(0.25),
        share_off_half_inch: share_off(0.5),
        too_shallow: depths.iter().filter(|d| is_too_shallow(**d)).count(),
    })
}
