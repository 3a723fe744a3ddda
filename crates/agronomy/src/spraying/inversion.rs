//! Signs of a surface temperature inversion.

use ligule_units::TemperatureDifference;

use crate::error::{Error, within};
use crate::spraying::wind::FASTEST;

/// Below this wind an inversion is likely, mph.
pub(super) const CALM: f64 = 3.0;
/// From how long before sunset, minutes. Common practice.
pub(super) const BEFORE_SUNSET: f64 = 60.0;
/// To how long after sunrise, minutes; the sources say one to two hours, the longer is taken. Common practice.
pub(super) const AFTER_SUNRISE: f64 = 120.0;

/// What is seen and measured; what was not looked at is `None`, and is no sign of anything.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sky {
    /// Whether the sky is clear.
    pub clear: Option<bool>,
    /// Wind, miles per hour.
    pub wind: Option<f64>,
    /// Minutes until sunset; negative after it.
    pub minutes_to_sunset: Option<f64>,
    /// Minutes since sunrise; negative before it.
    pub minutes_since_sunrise: Option<f64>,
    /// Whether smoke or dust hangs flat.
    pub smoke_hangs: Option<bool>,
    /// How much warmer the air is at 8 to 10 ft than near the ground.
    pub warmer_above: Option<TemperatureDifference>,
}

/// What the signs say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum InversionRisk {
    /// An inversion is there or to be expected: the signs seen.
    Expected(Vec<&'static str>),
    /// Some sign is seen, not enough to expect one.
    Possible(Vec<&'static str>),
    /// None of the signs that were looked at; others were not looked at.
    Unknown,
    /// Every sign was looked at and none is seen.
    NoSignSeen,
}

/// Returns what the signs say of a surface inversion.
///
/// It is expected if smoke or dust hangs flat, if the air is warmer above, or if a clear sky, a wind below 3 mph and
/// the time from an hour before sunset to two hours after sunrise meet. An inversion can be there under wind aloft.
///
/// *Units:* see [`Sky`]. *Holds:* winds of 0 to 250 mph, minutes within a day, differences of −50 to 50 °C. *Errors:*
/// [`Error::OutOfRange`]. *Source:* Australian training notes on surface temperature inversions; Pesticide Environmental Stewardship,
/// Evaluate the weather conditions (calm); the clock hours are common practice.
///
/// 2 mph, clear, half an hour before sunset:
/// ```
/// use ligule_agronomy::spraying::{InversionRisk, Sky, inversion_signs};
/// let sky = Sky { clear: Some(true), wind: Some(2.0), minutes_to_sunset: Some(30.0), ..Sky::default() };
/// assert!(matches!(inversion_signs(&sky)?, InversionRisk::Expected(_)));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn inversion_signs(sky: &Sky) -> Result<InversionRisk, Error> {
    let minutes = |name, minutes: Option<f64>| minutes.map(|m| within(name, m, -1440.0, 1440.0, " min")).transpose();
    let wind = sky.wind.map(|wind| within("a wind", wind, 0.0, FASTEST, " mph")).transpose()?;
    let to_sunset = minutes("minutes to sunset", sky.minutes_to_sunset)?;
    let since_sunrise = minutes("minutes since sunrise", sky.minutes_since_sunrise)?;
    let above =
        sky.warmer_above.map(|above| within("a difference", above.celsius(), -50.0, 50.0, " °C")).transpose()?;

    let calm = wind.map(|wind| wind < CALM);
    let evening = to_sunset.map(|minutes| minutes <= BEFORE_SUNSET);
    let morning = since_sunrise.map(|minutes| minutes <= AFTER_SUNRISE);
    // Either side of the night tells; both must be known to rule it out.
    let night = match (evening, morning) {
        (Some(true), _) | (_, Some(true)) => Some(true),
        (Some(false), Some(false)) => Some(false),
        _ => None,
    };
    let warmer = above.map(|above| above > 0.0);
    let looked = [
        (sky.smoke_hangs, "smoke or dust hangs flat"),
        (warmer, "warmer at 8 to 10 ft than near the ground"),
        (sky.clear, "clear sky"),
        (calm, "wind below 3 mph"),
        (night, "from an hour before sunset to two hours after sunrise"),
    ];
    let seen: Vec<_> = looked.iter().filter(|(sign, _)| *sign == Some(true)).map(|(_, name)| *name).collect();
    let yes = |sign: Option<bool>| sign == Some(true);
    Ok(if yes(sky.smoke_hangs) || yes(warmer) || (yes(sky.clear) && yes(calm) && yes(night)) {
        InversionRisk::Expected(seen)
    } else if !seen.is_empty() {
        InversionRisk::Possible(seen)
    } else if looked.iter().all(|(sign, _)| sign.is_some()) {
        InversionRisk::NoSignSeen
    } else {
        InversionRisk::Unknown
    })
}
