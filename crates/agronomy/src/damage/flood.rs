//! How long plants live under water: limits of several publications, none averaged.

use ligule_units::Temperature;

use super::Crop;
use crate::catalogue::Origin;
use crate::error::{Error, within};

/// How long one publication lets plants live under water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloodLimit {
    /// The crop.
    pub crop: Crop,
    /// Leaf collars, from and to; for soybean every stage.
    pub collars: (u8, u8),
    /// The air or water temperature, °F, from and to.
    pub fahrenheit: (f64, f64),
    /// Days that they live: surely, and at the most; without a most where none is given.
    pub days: (f64, Option<f64>),
    /// What is said, shortly.
    pub note: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// What a limit says of plants that were under water for so long.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Outlook {
    /// Within the days that plants live.
    Likely,
    /// Between the days that they live surely and at the most.
    Doubtful,
    /// Beyond the days that they live at the most.
    Unlikely,
}

words!(Outlook, "outlook", { Likely => "survival likely", Doubtful => "survival doubtful", Unlikely => "survival \
                 unlikely" });

impl FloodLimit {
    /// Returns what the limit says of plants that were under water for `days`.
    ///
    /// *Source:* [`FloodLimit::source`].
    ///
    /// ```
    /// use ligule_agronomy::damage::{Crop, Outlook, flood_limits};
    /// use ligule_units::Temperature;
    /// let limits = flood_limits(Crop::Corn, 4, Temperature::from_fahrenheit(60.0))?;
    /// let nebraska = limits.iter().find(|limit| limit.source.contains("Nebraska")).expect("listed");
    /// let outlooks = [1.0, 3.0, 5.0].map(|days| nebraska.outlook(days));
    /// assert_eq!(outlooks, [Outlook::Likely, Outlook::Doubtful, Outlook::Unlikely]);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn outlook(&self, days: f64) -> Outlook {
        if days <= self.days.0 {
            Outlook::Likely
        } else if self.days.1.is_none_or(|most| days <= most) {
            Outlook::Doubtful
        } else {
            Outlook::Unlikely
        }
    }
}

const NEBRASKA: &str = "University of Nebraska (2018), Flooding and ponding in corn";
const PURDUE: &str = "R. L. Nielsen, Effects of flooding or ponding on young corn, Purdue University";
const ONTARIO: &str = "Ontario Ministry of Agriculture, Food and Rural Affairs, Flooding in field corn";
const MISSOURI: &str = "G. Luce (2019), Survival of flooded crops depends on time, temperature, University of Missouri \
                        Extension";
/// The ends of a temperature that has no bound, °F.
const ANY: (f64, f64) = (32.0, 110.0);

pub(super) const LIMITS: [FloodLimit; 8] = [
    limit(Crop::Corn, (0, 6), (32.0, 77.0), (2.0, Some(4.0)), "2 to 4 days; best under 48 hours", NEBRASKA),
    limit(Crop::Corn, (0, 6), (77.0, 110.0), (0.0, Some(1.0)), "may not live 24 hours", NEBRASKA),
    limit(Crop::Corn, (0, 6), (32.0, 75.0), (4.0, Some(4.0)), "about 4 days when cool", PURDUE),
    limit(Crop::Corn, (0, 8), ANY, (5.0, Some(7.0)), "5 days, up to a week when cool", ONTARIO),
    limit(Crop::Corn, (9, 30), ANY, (8.0, None), "8 days and more after the 8-leaf stage", ONTARIO),
    limit(Crop::Corn, (0, 6), (70.0, 110.0), (2.0, Some(2.0)), "about 2 days", MISSOURI),
    limit(Crop::Corn, (0, 6), (32.0, 65.0), (2.0, Some(4.0)), "as long as 4 days", MISSOURI),
    limit(Crop::Soybean, (0, 30), ANY, (1.0, Some(2.0)), "up to 48 hours; half of that or less when hot", MISSOURI),
];

const fn limit(
    crop: Crop,
    collars: (u8, u8),
    fahrenheit: (f64, f64),
    days: (f64, Option<f64>),
    note: &'static str,
    source: &'static str,
) -> FloodLimit {
    FloodLimit { crop, collars, fahrenheit, days, note, origin: Origin::Page, source }
}

/// Returns what each publication says of flooded plants of that stage at that temperature.
///
/// The soil's oxygen is gone after about 48 hours; moving water harms less than still water; silt in the whorl and
/// seedling disease kill later.
///
/// *Units:* leaf collars (for soybean without meaning), the temperature of air or water. *Holds:* 0 to 30 collars, 32
/// to 110 °F; for corn beyond V8 one publication only, and between 65 and 70 °F Missouri says nothing. *Errors:*
/// [`Error::OutOfRange`]. *Source:* that of each [`FloodLimit`].
///
/// Young corn at 80 °F: less than a day (Nebraska), two days (Missouri), five to seven (Ontario):
/// ```
/// use ligule_agronomy::damage::{Crop, flood_limits};
/// use ligule_units::Temperature;
/// let limits = flood_limits(Crop::Corn, 3, Temperature::from_fahrenheit(80.0))?;
/// assert_eq!(limits.iter().filter_map(|limit| limit.days.1).collect::<Vec<_>>(), [1.0, 7.0, 2.0]);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn flood_limits(crop: Crop, collars: u8, temperature: Temperature) -> Result<Vec<&'static FloodLimit>, Error> {
    within("a number of leaf collars", collars.into(), 0.0, 30.0, "")?;
    let fahrenheit = within("a temperature", temperature.fahrenheit(), ANY.0, ANY.1, " °F")?.clamp(ANY.0, ANY.1);
    Ok(LIMITS
        .iter()
        .filter(|limit| {
            limit.crop == crop
                && (limit.collars.0..=limit.collars.1).contains(&collars)
                && (limit.fahrenheit.0..=limit.fahrenheit.1).contains(&fahrenheit)
        })
        .collect())
}

/// Every publication of flooded plants of a crop; one with several limits comes as often.
pub(super) fn flood_sources(crop: Crop) -> impl Iterator<Item = &'static str> {
    LIMITS.iter().filter(move |limit| limit.crop == crop).map(|limit| limit.source)
}
