//! Limits of air temperature as published.

use ligule_units::Temperature;

use crate::catalogue::Origin;
use crate::error::{Error, within};
use crate::spraying::Severity;

/// A limit of air temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureLimit {
    /// What happens beyond it.
    pub of: &'static str,
    /// The limit, °F.
    pub fahrenheit: f64,
    /// Whether warmer than it is beyond it; otherwise colder.
    pub warmer: bool,
    /// Whether it is the night's lowest rather than the temperature now.
    pub night: bool,
    /// How grave it is.
    pub severity: Severity,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// The limits as published.
pub const TEMPERATURE_LIMITS: [TemperatureLimit; 4] = [
    TemperatureLimit {
        of: "systemic movement slows",
        fahrenheit: 85.0,
        warmer: true,
        night: false,
        severity: Severity::Amber,
        origin: Origin::Page,
        source: "S. Lancaster, Kansas State University, Agronomy eUpdate, Herbicide applications and high temperatures; South Dakota \
                 State University Extension (2025) for dicamba",
    },
    TemperatureLimit {
        of: "contact materials burn the crop",
        fahrenheit: 90.0,
        warmer: true,
        night: false,
        severity: Severity::Red,
        origin: Origin::Page,
        source: "S. Lancaster, Kansas State University, Agronomy eUpdate, Herbicide applications and high temperatures",
    },
    TemperatureLimit {
        of: "a cold night slows the crop's metabolism: more injury, less control",
        fahrenheit: 50.0,
        warmer: false,
        night: true,
        severity: Severity::Amber,
        origin: Origin::Page,
        source: "E. Prostko (2021), University of Georgia, Cold temperatures and postemergence field corn herbicide applications",
    },
    TemperatureLimit {
        of: "wait for warmer days after cold",
        fahrenheit: 60.0,
        warmer: false,
        night: false,
        severity: Severity::Amber,
        origin: Origin::Page,
        source: "an article of the farm press on temperature and herbicide interactions",
    },
];

impl TemperatureLimit {
    /// Returns whether a temperature is beyond this limit; the limit itself is not.
    ///
    /// *Holds:* −130 to 140 °F. *Errors:* [`Error::OutOfRange`]. *Source:* the limit's own.
    ///
    /// ```
    /// use ligule_agronomy::spraying::TEMPERATURE_LIMITS;
    /// use ligule_units::Temperature;
    /// assert!(TEMPERATURE_LIMITS[0].is_passed(Temperature::from_fahrenheit(86.0))?);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn is_passed(&self, temperature: Temperature) -> Result<bool, Error> {
        let came = within("an air temperature", temperature.fahrenheit(), -130.0, 140.0, " °F")?;
        // What the way through another scale left behind does not pass a limit.
        Ok(if self.warmer { came > self.fahrenheit + 1e-9 } else { came < self.fahrenheit - 1e-9 })
    }
}
