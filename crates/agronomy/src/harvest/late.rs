//! What stands in the field before harvest: plants, ears, barren and lodged plants.

use ligule_units::PlantDensity;

use crate::error::{Error, within};
use crate::stand::valid_density;
use crate::statistics::wilson_interval;

/// Plants of a late count, each of them looked at; what was not counted is `None`, and nothing is said of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LatePlants {
    /// All plants.
    pub plants: u64,
    /// Those without an ear that would be harvested.
    pub barren: Option<u64>,
    /// Those that lean more than 30 degrees from the root.
    pub root_lodged: Option<u64>,
    /// Those broken below the ear.
    pub stalk_lodged: Option<u64>,
}

/// A share of plants, and its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// The share, 0 to 1.
    pub share: f64,
    /// The Wilson interval, lower end first.
    pub interval: (f64, f64),
}

/// What a late count says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LateCount {
    /// Barren plants, if they were counted.
    pub barren: Option<Share>,
    /// Plants with an ear, if the barren were counted.
    pub with_ear: Option<Share>,
    /// Root-lodged plants, if they were counted.
    pub root_lodged: Option<Share>,
    /// Stalk-lodged plants, if they were counted.
    pub stalk_lodged: Option<Share>,
}

/// Returns the shares of barren and of lodged plants, each with its interval.
///
/// Root lodging is a lean of more than 30 degrees, stalk lodging a break below the ear (common practice, no source).
///
/// *Units:* whole plants; shares; the level is 0.5 to 0.999. *Holds:* plants that were each looked at; plants beside
/// each other are alike, so the true interval of a clustered fault is wider. *Errors:* [`Error::TooFew`] without
/// plants; [`Error::MoreFoundThanLookedAt`]; [`Error::OutOfRange`] for the level. *Source:* definition; interval: E.
/// B. Wilson (1927).
///
/// In Illinois 97.3 % of plants had ears in 2008 to 2011 and 81.5 % in the drought of 2012 (a press page quoting
/// USDA-NASS): 27 barren of 1,000 is a usual year:
/// ```
/// use ligule_agronomy::harvest::{LatePlants, late_count};
/// let count = late_count(LatePlants { plants: 1000, barren: Some(27), ..LatePlants::default() }, 0.95)?;
/// let (barren, with_ear) = (count.barren.expect("counted"), count.with_ear.expect("counted"));
/// assert!((with_ear.share - 0.973).abs() < 1e-12);
/// assert!(barren.interval.0 < 0.027 && 0.027 < barren.interval.1);
/// assert_eq!(count.root_lodged, None);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn late_count(counted: LatePlants, level: f64) -> Result<LateCount, Error> {
    // No plants, or a level that is none, is told even where nothing was counted on them.
    wilson_interval(0, counted.plants, level)?;
    let share = |found: Option<u64>| -> Result<Option<Share>, Error> {
        let Some(found) = found else { return Ok(None) };
        let interval = wilson_interval(found, counted.plants, level)?;
        Ok(Some(Share { share: found as f64 / counted.plants as f64, interval }))
    };
    Ok(LateCount {
        barren: share(counted.barren)?,
        with_ear: share(counted.barren.map(|barren| counted.plants.saturating_sub(barren)))?,
        root_lodged: share(counted.root_lodged)?,
        stalk_lodged: share(counted.stalk_lodged)?,
    })
}

/// Returns the harvest stand as a share of an earlier one.
///
/// The final stand is normally a few percent below the early one (from memory, to be verified). A share above 1 says
/// that one of the counts was off.
///
/// *Units:* densities; a share. *Holds:* early stands of 1 plant an acre or more; shares up to 1.5. *Errors:*
/// [`Error::OutOfRange`]. *Source:* definition.
///
/// ```
/// use ligule_units::PlantDensity;
/// let [early, late] = [30_000.0, 29_100.0].map(PlantDensity::from_per_acre);
/// assert!((ligule_agronomy::harvest::stand_kept(early, late)? - 0.97).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn stand_kept(early: PlantDensity, harvest: PlantDensity) -> Result<f64, Error> {
    let early = valid_density("an early stand", early, 1.0)?.per_acre();
    Ok(within("a harvest stand", harvest.per_acre(), 0.0, early * 1.5, " per acre")? / early)
}
