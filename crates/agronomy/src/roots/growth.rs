//! How nodal roots grow: their angle, and the sign of a compacted furrow wall.

use crate::error::{Error, within};

/// The angle of nodal roots in classes. Common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RootAngle {
    /// Up to 20° from the horizontal: a hard layer, wet soil, or much nitrogen near the surface.
    Flat,
    /// 20 to 40°.
    Shallow,
    /// 40 to 60°.
    Normal,
    /// Over 60°.
    Steep,
}

words!(RootAngle, "angle", { Flat => "flat", Shallow => "shallow", Normal => "normal", Steep => "steep" });

impl RootAngle {
    /// From where, up to where, degrees.
    pub(super) const fn bounds(self) -> (f64, f64) {
        match self {
            Self::Flat => (0.0, 20.0),
            Self::Shallow => (20.0, 40.0),
            Self::Normal => (40.0, 60.0),
            Self::Steep => (60.0, 90.0),
        }
    }
}

/// Returns the class of a nodal-root angle, measured from the horizontal at V4 to V6, for each whorl.
///
/// *Units:* degrees. *Holds:* 0 to 90°; a root exactly on a limit belongs to the class that begins there, except 60°,
/// which is normal. *Errors:* [`Error::OutOfRange`]. *Source:* common practice, no source.
///
/// ```
/// use ligule_agronomy::roots::{RootAngle, root_angle};
/// let words = [10.0, 20.0, 50.0, 60.0, 75.0].map(|angle| root_angle(angle).unwrap().word());
/// assert_eq!(words, ["flat", "shallow", "normal", "normal", "steep"]);
/// ```
pub fn root_angle(degrees: f64) -> Result<RootAngle, Error> {
    let degrees = within("an angle from the horizontal", degrees, 0.0, 90.0, "°")?;
    Ok(match degrees {
        d if d < RootAngle::Flat.bounds().1 => RootAngle::Flat,
        d if d < RootAngle::Shallow.bounds().1 => RootAngle::Shallow,
        d if d <= RootAngle::Normal.bounds().1 => RootAngle::Normal,
        _ => RootAngle::Steep,
    })
}

/// The sign of a compacted furrow wall, 0 to 3. The signs are published, the score is common practice.
///
/// *Source of the signs:* Purdue University (2022), Sidewall compaction: why is it important and how to avoid it at
/// planting; Kansas State University, Sidewall compaction from planting into wet soils.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sidewall {
    /// 0: no sign.
    None,
    /// 1: the furrow wall is smeared and shiny, roots cross it.
    Smear,
    /// 2: roots are partly turned along the row.
    PartlyTurned,
    /// 3: roots stay in the slot, flat in the direction of the row.
    Confined,
}

words!(Sidewall, "sign", {
    None => "none",
    Smear => "smear only",
    PartlyTurned => "roots partly turned",
    Confined => "roots confined to the slot",
});

impl Sidewall {
    /// Returns the score, 0 to 3.
    ///
    /// ```
    /// assert_eq!(ligule_agronomy::roots::Sidewall::Confined.score(), 3);
    /// ```
    pub const fn score(self) -> u8 {
        match self {
            Self::None => 0,
            Self::Smear => 1,
            Self::PartlyTurned => 2,
            Self::Confined => 3,
        }
    }
}

/// Returns the sidewall sign of a dug plant, from the share of its nodal roots that turned along the slot.
///
/// *Units:* `turned` is the share of nodal roots that do not cross the furrow wall, 0 to 1. *Holds:* V2 and later; all
/// or nearly all roots turned (0.9 or more) is a plant confined to the slot. *Errors:* [`Error::OutOfRange`]. *Source:*
/// that of [`Sidewall`]; the limits of the shares are common practice, no source.
///
/// ```
/// use ligule_agronomy::roots::{Sidewall, sidewall};
/// assert_eq!(sidewall(true, 0.0)?, Sidewall::Smear);
/// assert_eq!(sidewall(true, 0.4)?.score(), 2);
/// assert_eq!(sidewall(false, 0.95)?, Sidewall::Confined);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn sidewall(smeared: bool, turned: f64) -> Result<Sidewall, Error> {
    let turned = within("a share of roots turned", turned, 0.0, 1.0, "")?;
    Ok(if turned >= NEARLY_ALL {
        Sidewall::Confined
    } else if turned > 0.0 {
        Sidewall::PartlyTurned
    } else if smeared {
        Sidewall::Smear
    } else {
        Sidewall::None
    })
}

/// The share of roots from which on they count as confined. Common practice, no source.
const NEARLY_ALL: f64 = 0.9;
