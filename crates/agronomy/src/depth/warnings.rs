//! What to look at when seed lies elsewhere than the planter was set to.

use ligule_units::Length;

use super::{DepthSummary, HAIR_INCHES};
use crate::catalogue::Origin;
use crate::error::{Error, within};

/// The setting that planters seldom should go under, inches. *Source:* [`NAFZIGER`].
const SHALLOW_SETTING_INCHES: f64 = 1.5;
/// The depth that is deep outside dry sandy soil, inches; from memory, to be verified.
const DEEP_INCHES: f64 = 2.5;
/// How far the mean may lie from the setting, inches, and the share of plants that may lie half an inch off. Practice.
const OFF_INCHES: f64 = 0.25;
const UNEVEN_SHARE: f64 = 0.2;

const NAFZIGER: &str = "E. Nafziger, University of Illinois, quoted 17 April 2013 on corn emergence";
const PRACTICE: &str = "common practice, no source";

/// Something about seed depth that is worth a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DepthWarning {
    /// Some seed lies under 1¼ in.
    SeedTooShallow,
    /// The planter is set under 1½ in.
    SetTooShallow,
    /// The mean lies more than ¼ in above the setting.
    ShallowerThanSet,
    /// The mean lies more than ¼ in below the setting.
    DeeperThanSet,
    /// The mean is deeper than 2½ in.
    Deep,
    /// One plant in five or more lies over ½ in off the setting.
    Uneven,
}

impl DepthWarning {
    /// Every one, in order.
    pub const ALL: [Self; 6] = [
        Self::SeedTooShallow,
        Self::SetTooShallow,
        Self::ShallowerThanSet,
        Self::DeeperThanSet,
        Self::Deep,
        Self::Uneven,
    ];

    /// Returns what is told.
    pub const fn words(self) -> &'static str {
        match self {
            Self::SeedTooShallow => {
                "seed shallower than 1¼ in: risk of rootless corn, herbicide uptake, uneven emergence; the crown is shallower \
                 too, so measure seed to surface"
            }
            Self::SetTooShallow => "planter set shallower than 1½ in",
            Self::ShallowerThanSet => "seed lies more than ¼ in shallower than set: check down force, residue, speed",
            Self::DeeperThanSet => "seed lies more than ¼ in deeper than set: check down force and gauge wheels",
            Self::Deep => "mean deeper than 2½ in: deep unless the soil is dry and sandy",
            Self::Uneven => "one plant in five or more lies over ½ in off the setting",
        }
    }

    /// Returns how the limit came to us, and from where.
    pub const fn source(self) -> (Origin, &'static str) {
        match self {
            Self::SeedTooShallow | Self::SetTooShallow => (Origin::Page, NAFZIGER),
            Self::Deep => (Origin::Memory, "from memory, to be verified"),
            Self::ShallowerThanSet | Self::DeeperThanSet | Self::Uneven => (Origin::Practice, PRACTICE),
        }
    }
}

/// Returns what about seed depths is worth a look, against the depth that the planter was set to.
///
/// *Units:* lengths; `summary` is that of [`depth_summary`](super::depth_summary) with the setting as its target. *Holds:*
/// corn; settings of 0 to 8 in. *Errors:* [`Error::OutOfRange`]. *Source:* that of each [`DepthWarning`].
///
/// Set to 2 in (computed by hand): mean 1.25 in, one plant too shallow, all three over ½ in off.
/// ```
/// use ligule_agronomy::depth::{DepthWarning::*, depth_summary, depth_warnings};
/// use ligule_units::Length;
/// let set = Length::from_inches(2.0);
/// let summary = depth_summary(&[1.0, 1.25, 1.25].map(Length::from_inches), set)?;
/// assert_eq!(depth_warnings(&summary, set)?, [SeedTooShallow, ShallowerThanSet, Uneven]);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn depth_warnings(summary: &DepthSummary, set: Length) -> Result<Vec<DepthWarning>, Error> {
    let set = within("a set depth", set.inches(), 0.0, 8.0, " in")?;
    let mean = within("a mean depth", summary.mean.inches(), 0.0, 8.0, " in")?;
    let holds = |warning: &DepthWarning| match warning {
        DepthWarning::SeedTooShallow => summary.too_shallow > 0,
        DepthWarning::SetTooShallow => set < SHALLOW_SETTING_INCHES - HAIR_INCHES,
        DepthWarning::ShallowerThanSet => set - mean > OFF_INCHES + HAIR_INCHES,
        DepthWarning::DeeperThanSet => mean - set > OFF_INCHES + HAIR_INCHES,
        DepthWarning::Deep => mean > DEEP_INCHES + HAIR_INCHES,
        DepthWarning::Uneven => summary.share_off_half_inch >= UNEVEN_SHARE - HAIR_INCHES,
    };
    Ok(DepthWarning::ALL.into_iter().filter(holds).collect())
}
