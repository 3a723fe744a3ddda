//! The cold that kills: limits of several publications, none averaged.

use ligule_units::Temperature;

use super::Crop;
use crate::catalogue::Origin;
use crate::error::{Error, within};

/// The cold and the time at which one publication expects harm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrostLimit {
    /// The crop.
    pub crop: Crop,
    /// The air temperature, °F; harm is expected at it or below.
    pub fahrenheit: f64,
    /// For how many hours at the least. "A few" is read as 2, "several" as 3.
    pub hours: f64,
    /// What is harmed.
    pub harm: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

const NORTH_DAKOTA: &str = "C. Keene, North Dakota State University Extension, Farmers should assess corn and soybeans \
                            for frost and freeze damage";

pub(super) const LIMITS: [FrostLimit; 8] = [
    FrostLimit {
        crop: Crop::Corn,
        fahrenheit: 32.0,
        hours: 3.0,
        harm: "plant tissue above ground, after 3 to 4 hours",
        origin: Origin::Page,
        source: NORTH_DAKOTA,
    },
    FrostLimit {
        crop: Crop::Corn,
        fahrenheit: 28.0,
        hours: 0.25,
        harm: "most tissue above ground, after 15 minutes",
        origin: Origin::Page,
        source: NORTH_DAKOTA,
    },
    FrostLimit {
        crop: Crop::Corn,
        fahrenheit: 28.0,
        hours: 2.0,
        harm: "the growing point, even below ground, after a few hours",
        origin: Origin::Page,
        source: "agronomy page of the seed trade, weaker than an extension page",
    },
    FrostLimit {
        crop: Crop::Soybean,
        fahrenheit: 30.0,
        hours: 3.0,
        harm: "tissue, at 28 to 30 °F for several hours; not certain even at 28 °F",
        origin: Origin::Page,
        source: "University of Minnesota Extension (2015), Frost injury to soybean",
    },
    FrostLimit {
        crop: Crop::Soybean,
        fahrenheit: 30.0,
        hours: 3.0,
        harm: "plants at the cotyledon stage, below 30 °F for several hours",
        origin: Origin::Page,
        source: "M. Staton, Michigan State University Extension, Assessing frost/freeze damage to emerged soybeans",
    },
    FrostLimit {
        crop: Crop::Soybean,
        fahrenheit: 28.0,
        hours: 4.0,
        harm: "more than most varieties stand, which is 28 °F for 2 to 4 hours",
        origin: Origin::Page,
        source: "Purdue University cold-chamber trials of about 1990 to 1999, quoted in the farm press",
    },
    FrostLimit {
        crop: Crop::Soybean,
        fahrenheit: 26.0,
        hours: 2.0,
        harm: "seedlings begin to die, at 24 to 26 °F for 2 to 4 hours",
        origin: Origin::Page,
        source: "Purdue University cold-chamber trials of about 1990 to 1999, quoted in the farm press",
    },
    FrostLimit {
        crop: Crop::Soybean,
        fahrenheit: 24.0,
        hours: 0.0,
        harm: "half of the seedlings, after a short time",
        origin: Origin::Page,
        source: "D. W. Meyer and M. Badaruddin (2001), Frost tolerance of ten seedling legume species at four growth \
                 stages, Crop Science 41:1838-1842, quoted by University of Minnesota",
    },
];

/// Returns every published limit for a crop.
///
/// *Source:* that of each [`FrostLimit`].
///
/// ```
/// use ligule_agronomy::damage::{Crop, frost_limits};
/// assert!(frost_limits(Crop::Corn).all(|limit| limit.fahrenheit <= 32.0));
/// ```
pub fn frost_limits(crop: Crop) -> impl Iterator<Item = &'static FrostLimit> {
    LIMITS.iter().filter(move |limit| limit.crop == crop)
}

/// Returns the limits that a night reached: as cold, and for as long.
///
/// No limit reached is no promise: air in hollows, over residue and over dry loose soil is colder than at the station.
///
/// *Units:* the air's minimum, and the hours at about it. *Holds:* −60 to 60 °F, 0 to 72 hours; emerged plants.
/// *Errors:* [`Error::OutOfRange`]. *Source:* that of each [`FrostLimit`].
///
/// Half an hour at 30 °F reaches none of the limits for corn, half an hour at 27 °F one:
/// ```
/// use ligule_agronomy::damage::{Crop, frost_reached};
/// use ligule_units::Temperature;
/// assert_eq!(frost_reached(Crop::Corn, Temperature::from_fahrenheit(30.0), 0.5)?.len(), 0);
/// assert_eq!(frost_reached(Crop::Corn, Temperature::from_fahrenheit(27.0), 0.5)?.len(), 1);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn frost_reached(crop: Crop, minimum: Temperature, hours: f64) -> Result<Vec<&'static FrostLimit>, Error> {
    let minimum = within("a minimum temperature", minimum.fahrenheit(), -60.0, 60.0, " °F")?;
    let hours = within("hours at the minimum", hours, 0.0, 72.0, " h")?;
    // A temperature that came through Celsius must still reach the limit it was meant to.
    Ok(frost_limits(crop).filter(|limit| minimum <= limit.fahrenheit + 1e-9 && limit.hours <= hours + 1e-9).collect())
}
