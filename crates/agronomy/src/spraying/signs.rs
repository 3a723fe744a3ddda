//! Everything in the weather that speaks against spraying, with its source.

use ligule_units::Temperature;

use crate::error::{Error, within};
use crate::spraying::delta_t::{GOOD, HIGH, LOW};
use crate::spraying::{
    DeltaTClass, InversionRisk, Sky, TEMPERATURE_LIMITS, WIND_LIMITS, WindPlace, delta_t, delta_t_class,
    inversion_signs,
};

/// How grave a sign is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// A published number advises caution.
    Amber,
    /// A published number advises against.
    Red,
}

words!(Severity, "severity", { Amber => "amber", Red => "red" });

/// The weather at a place and time; what was not measured is `None`, and nothing is concluded from it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Moment {
    /// Air temperature.
    pub air: Option<Temperature>,
    /// Relative humidity, 0 to 1.
    pub humidity: Option<f64>,
    /// The lowest temperature of the night.
    pub night: Option<Temperature>,
    /// Wind, sky and the signs of an inversion.
    pub sky: Sky,
}

/// One thing that speaks against spraying.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// How grave it is.
    pub severity: Severity,
    /// What it is, with the number that came.
    pub what: String,
    /// Author, year, title; memory and practice say so.
    pub source: String,
}

/// Returns what in the weather speaks against spraying by published numbers, the gravest first.
///
/// An empty list permits nothing: it says that no conflict was found in what was measured, and nothing of what
/// [`not_measured`] lists. Where that is not empty the weather is unknown, not without conflict. Windows
/// for one active ingredient are not applied here; they stand in [`WIND_LIMITS`].
///
/// *Units:* see [`Moment`]. *Holds:* ranges of the parts; where the wet-bulb equation does not hold, a sign says so.
/// *Errors:* [`Error::OutOfRange`]. *Source:* each sign's own.
///
/// 2 mph, clear, half an hour before sunset: an inversion, red.
/// ```
/// use ligule_agronomy::spraying::{Moment, Severity, Sky, signs};
/// let sky = Sky { clear: Some(true), wind: Some(2.0), minutes_to_sunset: Some(30.0), ..Sky::default() };
/// let found = signs(&Moment { sky, ..Moment::default() })?;
/// assert!(found[0].severity == Severity::Red && found.iter().any(|sign| sign.what.contains("inversion")));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn signs(moment: &Moment) -> Result<Vec<Sign>, Error> {
    let mut found: Vec<Sign> = inversion(&moment.sky)?.into_iter().collect();
    if let Some(wind) = moment.sky.wind {
        found.extend(windy(wind)?);
    }
    for limit in &TEMPERATURE_LIMITS {
        let measured = if limit.night { moment.night } else { moment.air };
        if let Some(temperature) = measured
            && limit.is_passed(temperature)?
        {
            let (side, came) = (if limit.warmer { "above" } else { "below" }, temperature.fahrenheit());
            let what = format!("{came:.0} °F is {side} {:.0} °F: {}", limit.fahrenheit, limit.of);
            found.push(Sign { severity: limit.severity, what, source: limit.source.to_owned() });
        }
    }
    if let (Some(air), Some(humidity)) = (moment.air, moment.humidity) {
        within("a relative humidity", humidity, 0.0, 1.0, "")?;
        match delta_t(air, humidity) {
            Ok(difference) => found.extend(delta(delta_t_class(difference)?, difference.celsius())),
            // Not knowing is told, so that it is not taken for a Delta T that is good.
            Err(reason) => found.push(Sign {
                severity: Severity::Amber,
                what: format!("Delta T is unknown: {reason}"),
                source: "R. Stull (2011), Journal of Applied Meteorology and Climatology 50:2267-2269".to_owned(),
            }),
        }
    }
    found.sort_by_key(|sign| std::cmp::Reverse(sign.severity));
    Ok(found)
}

/// Returns what of the weather was not measured or looked at, each in words; [`signs`] says nothing of these.
///
/// *Units:* see [`Moment`]. *Holds:* always; humidity counts as measured by itself, though Delta T needs the air too.
/// *Errors:* none. *Source:* the inputs of [`signs`].
///
/// ```
/// use ligule_agronomy::spraying::{Moment, Sky, not_measured};
/// let sky = Sky { wind: Some(5.0), ..Sky::default() };
/// let missing = not_measured(&Moment { sky, ..Moment::default() });
/// assert!(missing.contains(&"time to sunset") && !missing.contains(&"wind"));
/// ```
pub fn not_measured(moment: &Moment) -> Vec<&'static str> {
    let sky = &moment.sky;
    let looked = [
        (moment.air.is_some(), "air temperature"),
        (moment.humidity.is_some(), "humidity"),
        (moment.night.is_some(), "lowest temperature of the night"),
        (sky.wind.is_some(), "wind"),
        (sky.clear.is_some(), "sky"),
        (sky.minutes_to_sunset.is_some(), "time to sunset"),
        (sky.minutes_since_sunrise.is_some(), "time since sunrise"),
        (sky.smoke_hangs.is_some(), "smoke or dust"),
        (sky.warmer_above.is_some(), "temperature at 8 to 10 ft"),
    ];
    looked.into_iter().filter(|(looked, _)| !looked).map(|(_, name)| name).collect()
}

fn inversion(sky: &Sky) -> Result<Option<Sign>, Error> {
    let sign = |severity, risk: &str, seen: Vec<&str>| Sign {
        severity,
        what: format!("a temperature inversion is {risk}: {}", seen.join(", ")),
        source: "Australian training notes on surface temperature inversions; clock hours are common practice"
            .to_owned(),
    };
    Ok(match inversion_signs(sky)? {
        InversionRisk::Expected(seen) => Some(sign(Severity::Red, "to be expected", seen)),
        InversionRisk::Possible(seen) => Some(sign(Severity::Amber, "possible", seen)),
        InversionRisk::Unknown | InversionRisk::NoSignSeen => None,
    })
}

fn windy(wind: f64) -> Result<Vec<Sign>, Error> {
    let mut found = Vec::new();
    for limit in WIND_LIMITS.iter().filter(|limit| !limit.of.contains("dicamba")) {
        let source = format!("{} ({})", limit.source, limit.origin.words());
        match limit.place(wind)? {
            WindPlace::Inside => {}
            WindPlace::Below => {
                let least = limit.least.unwrap_or_default();
                let what = format!("wind of {wind:.0} mph is below {least:.0} mph: direction shifts, inversion likely");
                found.push(Sign { severity: Severity::Red, what, source });
            }
            WindPlace::Above => {
                // Only a ceiling that labels print advises against; the lower ones advise caution.
                let severity = if limit.of.contains("label") { Severity::Red } else { Severity::Amber };
                let what = format!("wind of {wind:.0} mph is above {:.0} mph ({})", limit.most, limit.of);
                found.push(Sign { severity, what, source });
            }
        }
    }
    Ok(found)
}

fn delta(class: DeltaTClass, celsius: f64) -> Option<Sign> {
    let (severity, why) = match class {
        DeltaTClass::Good => return None,
        DeltaTClass::Low => (Severity::Amber, format!("below {LOW:.0} °C: drops last and drift; inversion or dew")),
        DeltaTClass::Caution => (Severity::Amber, format!("above {GOOD:.0} °C: drops dry fast")),
        DeltaTClass::Avoid => (Severity::Red, format!("above {HIGH:.0} °C: drops dry too fast")),
    };
    let source = "North Dakota State University, Crop & Pest Report, 23 May 2019; Australian practice".to_owned();
    Some(Sign { severity, what: format!("Delta T of {celsius:.1} °C is {why}"), source })
}
