//! Rupture resistance: how hard a block of soil is to break.

use crate::error::{Error, within};

/// Whether the block is moist or dry; the classes have other names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Moisture {
    /// Moist.
    Moist,
    /// Dry.
    Dry,
}

words!(Moisture, "moisture", { Moist => "moist", Dry => "dry" });

/// A class of rupture resistance of a block of about 25 to 30 mm, by the least force that breaks it.
///
/// *Source:* names and forces: Schoeneberger et al. (2012), Field book for describing and sampling soils, version 3.0,
/// from memory, to be verified; the forces of 8, 20, 40 and 80 N also from the abstract of Describing soils:
/// calibration tool for teaching soil rupture resistance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rupture {
    /// No block holds together.
    Loose,
    /// Under 8 N: very slight force between fingers.
    One,
    /// 8 to 20 N: slight force between fingers.
    Two,
    /// 20 to 40 N: moderate force between fingers.
    Three,
    /// 40 to 80 N: strong force between fingers.
    Four,
    /// 80 to 160 N: moderate force between hands.
    Five,
    /// 160 to 800 N: full weight of the body under foot.
    Six,
    /// A blow under 3 J breaks it.
    Seven,
    /// Only a blow of 3 J or more breaks it.
    Eight,
}

impl Rupture {
    /// Every class, from loose on.
    pub const ALL: [Self; 9] =
        [Self::Loose, Self::One, Self::Two, Self::Three, Self::Four, Self::Five, Self::Six, Self::Seven, Self::Eight];

    /// Returns its name, which depends on moisture.
    ///
    /// ```
    /// use ligule_agronomy::soil::{Moisture, Rupture};
    /// assert_eq!(Rupture::Two.name(Moisture::Moist), "friable");
    /// assert_eq!(Rupture::Two.name(Moisture::Dry), "slightly hard");
    /// ```
    pub const fn name(self, moisture: Moisture) -> &'static str {
        let (moist, dry) = match self {
            Self::Loose => ("loose", "loose"),
            Self::One => ("very friable", "soft"),
            Self::Two => ("friable", "slightly hard"),
            Self::Three => ("firm", "moderately hard"),
            Self::Four => ("very firm", "hard"),
            Self::Five => ("extremely firm", "very hard"),
            Self::Six => ("slightly rigid", "extremely hard"),
            Self::Seven => ("rigid", "rigid"),
            Self::Eight => ("very rigid", "very rigid"),
        };
        match moisture {
            Moisture::Moist => moist,
            Moisture::Dry => dry,
        }
    }

    /// Returns the force from which on it holds, in newtons; none for loose soil and for classes told by a blow.
    pub(super) const fn least_newtons(self) -> Option<f64> {
        match self {
            Self::One => Some(0.0),
            Self::Two => Some(8.0),
            Self::Three => Some(20.0),
            Self::Four => Some(40.0),
            Self::Five => Some(80.0),
            Self::Six => Some(160.0),
            Self::Loose | Self::Seven | Self::Eight => None,
        }
    }
}

/// The force, in newtons, from which on blocks are told by a blow.
pub(super) const BLOW: f64 = 800.0;

/// Returns the class of the force that breaks a block.
///
/// *Units:* newtons (1 N is about 0.1 kg of weight). *Holds:* 0 to under 800 N, blocks of about 25 to 30 mm. *Errors:*
/// [`Error::OutOfRange`] below 0 and over 100,000 N; [`Error::OutsideTable`] from 800 N on, where a blow tells rigid
/// from very rigid. *Source:* that of [`Rupture`].
///
/// ```
/// use ligule_agronomy::soil::{Moisture, rupture_resistance};
/// assert_eq!(rupture_resistance(25.0)?.name(Moisture::Moist), "firm");
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn rupture_resistance(newtons: f64) -> Result<Rupture, Error> {
    let force = within("a force", newtons, 0.0, 1e5, " N")?;
    if force >= BLOW {
        return Err(Error::OutsideTable {
            table: "rupture resistance by force",
            what: "forces",
            covers: format!("under {BLOW} N; rigid and very rigid blocks are told by a blow of 3 J"),
            came: format!("{force} N"),
        });
    }
    let mut classes =
        Rupture::ALL.into_iter().rev().filter(|class| class.least_newtons().is_some_and(|from| force >= from));
    Ok(classes.next().unwrap_or(Rupture::One))
}
