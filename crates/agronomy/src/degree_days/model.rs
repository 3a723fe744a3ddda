//! The degree days of one day.

use std::fmt;
use std::str::FromStr;

use ligule_units::{DegreeDays, Temperature, TemperatureDifference};

use crate::degree_days::sine::single_sine;
use crate::error::{Error, within};

const METHODS: &str = "modified-average, simple-average, clipped-average, capped-maximum, single-sine";

/// How a day's maximum and minimum become degree days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// Both temperatures are brought between the thresholds, then averaged: the corn method, "86/50".
    /// *Source:* R. L. Nielsen, Heat unit concepts related to corn development, Purdue University; it is Method 2 of
    /// G. S. McMaster and W. W. Wilhelm (1997), Growing degree-days: one equation, two interpretations, Agricultural
    /// and Forest Meteorology 87:291-300.
    ModifiedAverage,
    /// The average less the base, not below zero; no upper threshold.
    SimpleAverage,
    /// The average is brought between the thresholds.
    /// *Source:* Method 1 of McMaster and Wilhelm (1997).
    ClippedAverage,
    /// The maximum is cut at the upper threshold, then averaged with the minimum as it is.
    /// *Source:* University of Minnesota, Seedcorn maggot degree-day model.
    CappedMaximum,
    /// The area under a sine curve through minimum and maximum, between the thresholds; above the upper threshold, if
    /// there is one, the curve counts as if it stayed there (horizontal cut-off).
    /// *Source:* G. L. Baskerville and P. Emin (1969), Ecology 50:514-517, for the lower threshold; J. C. Allen (1976),
    /// Environmental Entomology 5:388-396, and F. G. Zalom et al. (1983), Degree-days: the calculation and use of heat
    /// units in pest management, University of California leaflet 21373, for both: six cases. Exact for the curve; how
    /// near a day comes to the curve is another matter.
    SingleSine,
}

impl Method {
    /// Every method, in order.
    pub const ALL: [Self; 5] =
        [Self::ModifiedAverage, Self::SimpleAverage, Self::ClippedAverage, Self::CappedMaximum, Self::SingleSine];
    /// What they are called, in the same order.
    pub const WORDS: &'static [&'static str] =
        &["modified-average", "simple-average", "clipped-average", "capped-maximum", "single-sine"];
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ModifiedAverage => "modified-average",
            Self::SimpleAverage => "simple-average",
            Self::ClippedAverage => "clipped-average",
            Self::CappedMaximum => "capped-maximum",
            Self::SingleSine => "single-sine",
        })
    }
}

impl FromStr for Method {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        Self::ALL
            .into_iter()
            .find(|m| m.to_string() == text)
            .ok_or_else(|| Error::UnknownMethod { expected: METHODS, came: text.to_owned() })
    }
}

/// A method with its thresholds: all that is needed to turn a day into degree days.
///
/// ```
/// use ligule_agronomy::degree_days::{Method, Model};
/// use ligule_units::Temperature;
/// let bean = Model::new(Method::SimpleAverage, Temperature::from_fahrenheit(46.0), None)?;
/// assert_eq!(bean.to_string(), "simple-average, base 46 °F");
/// assert_eq!(Model::corn().to_string(), "modified-average, base 50 °F, upper 86 °F");
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Model {
    method: Method,
    base: Temperature,
    upper: Option<Temperature>,
}

impl Model {
    /// Makes a model of a method and its thresholds.
    ///
    /// *Holds:* thresholds of −40 to 140 °F, the upper above the base. *Errors:* [`Error::OutOfRange`];
    /// [`Error::Thresholds`] if a simple average is given an upper threshold, or a capped maximum none.
    pub fn new(method: Method, base: Temperature, upper: Option<Temperature>) -> Result<Self, Error> {
        within("a base temperature", base.fahrenheit(), -40.0, 140.0, " °F")?;
        if let Some(upper) = upper {
            within("an upper threshold", upper.fahrenheit(), -40.0, 140.0, " °F")?;
            if upper <= base {
                let came = format!("base {:.1} °F, upper {:.1} °F", base.fahrenheit(), upper.fahrenheit());
                return Err(Error::Thresholds { expected: "an upper threshold above the base", came });
            }
        }
        match (method, upper) {
            (Method::SimpleAverage, Some(upper)) => Err(Error::Thresholds {
                expected: "no upper threshold for a simple average",
                came: format!("upper {:.1} °F", upper.fahrenheit()),
            }),
            (Method::CappedMaximum, None) => {
                Err(Error::Thresholds { expected: "an upper threshold for a capped maximum", came: "none".to_owned() })
            }
            _ => Ok(Self { method, base, upper }),
        }
    }

    /// Returns the corn model: modified average between 50 and 86 °F, which are 10 and 30 °C exactly.
    pub fn corn() -> Self {
        Self {
            method: Method::ModifiedAverage,
            base: Temperature::from_celsius(10.0),
            upper: Some(Temperature::from_celsius(30.0)),
        }
    }

    /// Returns its method.
    pub const fn method(&self) -> Method {
        self.method
    }

    /// Returns the temperature from which degrees are counted.
    pub const fn base(&self) -> Temperature {
        self.base
    }

    /// Returns the upper threshold, if the model has one.
    pub const fn upper(&self) -> Option<Temperature> {
        self.upper
    }

    /// Returns the degree days of a day.
    ///
    /// *Units:* temperatures in any scale; the same degree days read as °F or °C days (1.8 to 1). *Holds:*
    /// −130 to 140 °F (colder and hotter air was never measured), the maximum not below the minimum; the result is
    /// never negative. *Errors:* [`Error::OutOfRange`], [`Error::MaximumBelowMinimum`]. *Source:* see [`Method`];
    /// applying both thresholds to both temperatures covers days that are cold or hot throughout.
    ///
    /// R. L. Nielsen, Heat unit concepts related to corn development, Purdue University: 80 and 55 °F.
    /// ```
    /// use ligule_agronomy::degree_days::Model;
    /// use ligule_units::Temperature;
    /// let day = Model::corn().day(Temperature::from_fahrenheit(80.0), Temperature::from_fahrenheit(55.0))?;
    /// assert!((day.fahrenheit() - 17.5).abs() < 1e-9);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    ///
    /// The same in Celsius, thresholds 30 and 10 °C: 32.22 and 12.78 °C give 11.39.
    /// ```
    /// use ligule_agronomy::degree_days::Model;
    /// use ligule_units::Temperature;
    /// let day = Model::corn().day(Temperature::from_celsius(32.22), Temperature::from_celsius(12.78))?;
    /// assert!((day.celsius() - 11.39).abs() < 1e-9);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    ///
    /// A sine curve from 50 to 70 °F whose mean is the lower threshold: the amplitude over π.
    /// ```
    /// use ligule_agronomy::degree_days::{Method, Model};
    /// use ligule_units::Temperature;
    /// let model = Model::new(Method::SingleSine, Temperature::from_fahrenheit(60.0), None)?;
    /// let day = model.day(Temperature::from_fahrenheit(70.0), Temperature::from_fahrenheit(50.0))?;
    /// assert!((day.fahrenheit() - 10.0 / std::f64::consts::PI).abs() < 1e-9);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn day(&self, maximum: Temperature, minimum: Temperature) -> Result<DegreeDays, Error> {
        within("a day's maximum", maximum.fahrenheit(), -130.0, 140.0, " °F")?;
        within("a day's minimum", minimum.fahrenheit(), -130.0, 140.0, " °F")?;
        if maximum < minimum {
            return Err(Error::MaximumBelowMinimum { maximum: maximum.fahrenheit(), minimum: minimum.fahrenheit() });
        }
        let average = match self.method {
            Method::ModifiedAverage => self.clip(maximum).midway(self.clip(minimum)),
            Method::SimpleAverage => maximum.midway(minimum),
            Method::ClippedAverage => self.clip(maximum.midway(minimum)),
            Method::CappedMaximum => self.cap(maximum).midway(minimum),
            Method::SingleSine => {
                let (high, low) = (maximum.celsius(), minimum.celsius());
                let sum = single_sine(high, low, self.base.celsius(), self.upper.map(Temperature::celsius));
                return Ok(DegreeDays::from_celsius(sum));
            }
        };
        let above = average - self.base;
        let above = if average < self.base { TemperatureDifference::from_celsius(0.0) } else { above };
        Ok(above.over_days(1.0))
    }

    fn cap(&self, temperature: Temperature) -> Temperature {
        self.upper.filter(|upper| *upper < temperature).unwrap_or(temperature)
    }

    fn clip(&self, temperature: Temperature) -> Temperature {
        if temperature < self.base { self.base } else { self.cap(temperature) }
    }
}

impl fmt::Display for Model {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Thresholds are declared with a decimal at most; what is behind it comes from the conversion.
        let tenth = |t: Temperature| (t.fahrenheit() * 10.0).round() / 10.0;
        write!(f, "{}, base {} °F", self.method, tenth(self.base))?;
        self.upper.map_or(Ok(()), |upper| write!(f, ", upper {} °F", tenth(upper)))
    }
}
