//! Quantities that formulas reckon with; those that must not mix are different types.

use std::cmp::Ordering;
use std::iter::Sum;
use std::ops::{Add, Div, Mul, Sub};

use uom::si::f64 as si;
use uom::si::{area, areal_number_density, length, temperature_interval, thermodynamic_temperature, time};

use crate::error::Error;
use crate::quantity::Quantity;
use crate::unit::Dimension;

/// Square feet in an acre. *Source:* National Institute of Standards and Technology, Handbook 44, appendix C; exact.
const SQUARE_FEET_PER_ACRE: f64 = 43_560.0;

/// A temperature difference times a time, which SI has no name for: the type is what `uom` says the product is.
type KelvinSeconds = uom::si::Quantity<
    uom::si::ISQ<
        uom::typenum::Z0,
        uom::typenum::Z0,
        uom::typenum::P1,
        uom::typenum::Z0,
        uom::typenum::P1,
        uom::typenum::Z0,
        uom::typenum::Z0,
    >,
    uom::si::SI<f64>,
    f64,
>;

/// Derives order from the stored number: `uom` orders its quantities, but not through our names.
macro_rules! ordered {
    ($($name:ident),*) => {$(
        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
                self.0.value.partial_cmp(&other.0.value)
            }
        }

        impl $name {
            /// Returns whether it is neither infinite nor not a number.
            pub fn is_finite(self) -> bool {
                self.0.value.is_finite()
            }
        }
    )*};
}

ordered!(Length, Area, PlantDensity, Temperature, TemperatureDifference, DegreeDays);

/// A length: a row's width, a depth, a distance walked.
///
/// ```
/// use ligule_units::Length;
/// let row = Length::from_inches(30.0);
/// assert!((row.metres() - 0.762).abs() < 1e-15);
/// assert!(row < Length::from_feet(3.0));
/// ```
///
/// A length times a length is an area, and nothing else:
/// ```compile_fail,E0308
/// use ligule_units::{Area, Length};
/// let nonsense = Length::from_feet(1.0) + Area::from_acres(1.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Length(si::Length);

impl Length {
    /// Makes a length of inches.
    pub fn from_inches(inches: f64) -> Self {
        Self(si::Length::new::<length::inch>(inches))
    }

    /// Makes a length of feet.
    pub fn from_feet(feet: f64) -> Self {
        Self(si::Length::new::<length::foot>(feet))
    }

    /// Makes a length of metres.
    pub fn from_metres(metres: f64) -> Self {
        Self(si::Length::new::<length::meter>(metres))
    }

    /// Makes a length of centimetres.
    pub fn from_centimetres(centimetres: f64) -> Self {
        Self(si::Length::new::<length::centimeter>(centimetres))
    }

    /// Returns it in inches.
    pub fn inches(self) -> f64 {
        self.0.get::<length::inch>()
    }

    /// Returns it in feet.
    pub fn feet(self) -> f64 {
        self.0.get::<length::foot>()
    }

    /// Returns it in metres.
    pub fn metres(self) -> f64 {
        self.0.get::<length::meter>()
    }

    /// Returns it in centimetres.
    pub fn centimetres(self) -> f64 {
        self.0.get::<length::centimeter>()
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Mul<f64> for Length {
    type Output = Self;
    fn mul(self, times: f64) -> Self {
        Self(self.0 * times)
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area(self.0 * other.0)
    }
}

impl Div for Length {
    type Output = f64;
    fn div(self, other: Self) -> f64 {
        (self.0 / other.0).value
    }
}

impl TryFrom<&Quantity> for Length {
    type Error = Error;
    fn try_from(quantity: &Quantity) -> Result<Self, Error> {
        Ok(Self::from_metres(quantity.base_f64(Dimension::Length)?))
    }
}

/// An area of land.
///
/// ```
/// use ligule_units::{Area, Length};
/// let sample = Length::from_feet(17.424) * Length::from_inches(30.0);
/// assert!((sample.acres() - 0.001).abs() < 1e-15);
/// assert!(((Area::from_acres(0.001) / Length::from_inches(30.0)).feet() - 17.424).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area(si::Area);

impl Area {
    /// Makes an area of acres, each of 43,560 square feet.
    pub fn from_acres(acres: f64) -> Self {
        Self::from_square_feet(acres * SQUARE_FEET_PER_ACRE)
    }

    /// Makes an area of hectares.
    pub fn from_hectares(hectares: f64) -> Self {
        Self(si::Area::new::<area::hectare>(hectares))
    }

    /// Makes an area of square feet.
    pub fn from_square_feet(square_feet: f64) -> Self {
        Self(si::Area::new::<area::square_foot>(square_feet))
    }

    /// Makes an area of square metres.
    pub fn from_square_metres(square_metres: f64) -> Self {
        Self(si::Area::new::<area::square_meter>(square_metres))
    }

    /// Returns it in acres.
    pub fn acres(self) -> f64 {
        self.square_feet() / SQUARE_FEET_PER_ACRE
    }

    /// Returns it in hectares.
    pub fn hectares(self) -> f64 {
        self.0.get::<area::hectare>()
    }

    /// Returns it in square feet.
    pub fn square_feet(self) -> f64 {
        self.0.get::<area::square_foot>()
    }

    /// Returns it in square metres.
    pub fn square_metres(self) -> f64 {
        self.0.get::<area::square_meter>()
    }
}

impl Div<Length> for Area {
    type Output = Length;
    fn div(self, side: Length) -> Length {
        Length(self.0 / side.0)
    }
}

impl TryFrom<&Quantity> for Area {
    type Error = Error;
    fn try_from(quantity: &Quantity) -> Result<Self, Error> {
        Ok(Self::from_square_metres(quantity.base_f64(Dimension::Area)?))
    }
}

/// Plants, or seeds, per area of land.
///
/// ```
/// use ligule_units::{Area, PlantDensity};
/// let stand = PlantDensity::of(30.0, Area::from_acres(0.001));
/// assert!((stand.per_acre() - 30_000.0).abs() < 1e-9);
/// assert_eq!(stand.per_hectare().round(), 74_132.0);
/// assert!((stand * Area::from_acres(2.0) - 60_000.0).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlantDensity(si::ArealNumberDensity);

impl PlantDensity {
    /// Makes the density of that many plants on an area.
    pub fn of(plants: f64, area: Area) -> Self {
        Self((si::Ratio::from(plants) / area.0).into())
    }

    /// Makes a density of plants per acre.
    pub fn from_per_acre(plants: f64) -> Self {
        Self::of(plants, Area::from_acres(1.0))
    }

    /// Makes a density of plants per hectare.
    pub fn from_per_hectare(plants: f64) -> Self {
        Self::of(plants, Area::from_hectares(1.0))
    }

    /// Makes a density of plants per square metre.
    pub fn from_per_square_metre(plants: f64) -> Self {
        Self(si::ArealNumberDensity::new::<areal_number_density::per_square_meter>(plants))
    }

    /// Returns it in plants per acre.
    pub fn per_acre(self) -> f64 {
        self * Area::from_acres(1.0)
    }

    /// Returns it in plants per hectare.
    pub fn per_hectare(self) -> f64 {
        self * Area::from_hectares(1.0)
    }

    /// Returns it in plants per square metre.
    pub fn per_square_metre(self) -> f64 {
        self.0.get::<areal_number_density::per_square_meter>()
    }
}

impl Mul<Area> for PlantDensity {
    type Output = f64;
    fn mul(self, area: Area) -> f64 {
        (self.0 * area.0).value
    }
}

impl Mul<f64> for PlantDensity {
    type Output = Self;
    fn mul(self, times: f64) -> Self {
        Self(self.0 * times)
    }
}

impl Div for PlantDensity {
    type Output = f64;
    fn div(self, other: Self) -> f64 {
        (self.0 / other.0).value
    }
}

impl TryFrom<&Quantity> for PlantDensity {
    type Error = Error;
    fn try_from(quantity: &Quantity) -> Result<Self, Error> {
        Ok(Self::from_per_square_metre(quantity.base_f64(Dimension::PerArea)?))
    }
}

/// A temperature, of air or of soil.
///
/// ```
/// use ligule_units::{Temperature, TemperatureDifference};
/// let (maximum, base) = (Temperature::from_fahrenheit(86.0), Temperature::from_fahrenheit(50.0));
/// assert!((maximum.celsius() - 30.0).abs() < 1e-12);
/// let above: TemperatureDifference = maximum - base;
/// assert!((above.fahrenheit() - 36.0).abs() < 1e-12);
/// ```
///
/// Two temperatures have a difference, but no sum:
/// ```compile_fail,E0308
/// use ligule_units::Temperature;
/// let sum = Temperature::from_celsius(20.0) + Temperature::from_celsius(10.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Temperature(si::ThermodynamicTemperature);

impl Temperature {
    /// Makes a temperature of degrees Fahrenheit.
    pub fn from_fahrenheit(degrees: f64) -> Self {
        Self(si::ThermodynamicTemperature::new::<thermodynamic_temperature::degree_fahrenheit>(degrees))
    }

    /// Makes a temperature of degrees Celsius.
    pub fn from_celsius(degrees: f64) -> Self {
        Self(si::ThermodynamicTemperature::new::<thermodynamic_temperature::degree_celsius>(degrees))
    }

    /// Returns it in degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0.get::<thermodynamic_temperature::degree_fahrenheit>()
    }

    /// Returns it in degrees Celsius.
    pub fn celsius(self) -> f64 {
        self.0.get::<thermodynamic_temperature::degree_celsius>()
    }

    /// Returns the temperature half way between two.
    pub fn midway(self, other: Self) -> Self {
        self + (other - self) * 0.5
    }
}

impl Sub for Temperature {
    type Output = TemperatureDifference;
    fn sub(self, other: Self) -> TemperatureDifference {
        // `uom` leaves the difference of two temperatures out; both are kelvins above absolute zero.
        TemperatureDifference(si::TemperatureInterval::new::<temperature_interval::kelvin>(
            self.0.value - other.0.value,
        ))
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Self;
    fn add(self, difference: TemperatureDifference) -> Self {
        Self(self.0 + difference.0)
    }
}

impl TryFrom<&Quantity> for Temperature {
    type Error = Error;
    fn try_from(quantity: &Quantity) -> Result<Self, Error> {
        quantity.must_be(Dimension::Temperature)?;
        let degrees = quantity.to_f64();
        Ok(if quantity.unit.ucum == "[degF]" { Self::from_fahrenheit(degrees) } else { Self::from_celsius(degrees) })
    }
}

/// A difference of two temperatures.
///
/// It is no temperature, so it cannot be compared with one:
/// ```compile_fail,E0308
/// use ligule_units::{Temperature, TemperatureDifference};
/// let nonsense = TemperatureDifference::from_celsius(10.0) < Temperature::from_celsius(10.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureDifference(si::TemperatureInterval);

impl TemperatureDifference {
    /// Makes a difference of Fahrenheit degrees.
    pub fn from_fahrenheit(degrees: f64) -> Self {
        Self(si::TemperatureInterval::new::<temperature_interval::degree_fahrenheit>(degrees))
    }

    /// Makes a difference of Celsius degrees.
    pub fn from_celsius(degrees: f64) -> Self {
        Self(si::TemperatureInterval::new::<temperature_interval::degree_celsius>(degrees))
    }

    /// Returns it in Fahrenheit degrees.
    pub fn fahrenheit(self) -> f64 {
        self.0.get::<temperature_interval::degree_fahrenheit>()
    }

    /// Returns it in Celsius degrees.
    pub fn celsius(self) -> f64 {
        self.0.get::<temperature_interval::degree_celsius>()
    }

    /// Returns the degree days of holding this difference for so many days.
    pub fn over_days(self, days: f64) -> DegreeDays {
        DegreeDays(self.0 * si::Time::new::<time::day>(days))
    }
}

impl Mul<f64> for TemperatureDifference {
    type Output = Self;
    fn mul(self, times: f64) -> Self {
        Self(self.0 * times)
    }
}

/// Degree days: a temperature difference above a base, summed over days.
///
/// ```
/// use ligule_units::{DegreeDays, TemperatureDifference};
/// let day = TemperatureDifference::from_fahrenheit(20.5).over_days(1.0);
/// let sum: DegreeDays = [day, day].into_iter().sum();
/// assert!((sum.fahrenheit() - 41.0).abs() < 1e-12);
/// assert!((sum.celsius() * 1.8 - 41.0).abs() < 1e-12);
/// ```
///
/// They are no difference of temperatures, so that a sum and a day's value cannot be mixed up:
/// ```compile_fail,E0308
/// use ligule_units::{DegreeDays, TemperatureDifference};
/// let nonsense = DegreeDays::from_celsius(10.0) + TemperatureDifference::from_celsius(10.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DegreeDays(KelvinSeconds);

impl DegreeDays {
    /// No degree days.
    pub fn zero() -> Self {
        Self::from_celsius(0.0)
    }

    /// Makes a sum of Fahrenheit degree days.
    pub fn from_fahrenheit(degree_days: f64) -> Self {
        TemperatureDifference::from_fahrenheit(degree_days).over_days(1.0)
    }

    /// Makes a sum of Celsius degree days.
    pub fn from_celsius(degree_days: f64) -> Self {
        TemperatureDifference::from_celsius(degree_days).over_days(1.0)
    }

    /// Returns it in Fahrenheit degree days.
    pub fn fahrenheit(self) -> f64 {
        self.per_day().fahrenheit()
    }

    /// Returns it in Celsius degree days.
    pub fn celsius(self) -> f64 {
        self.per_day().celsius()
    }

    fn per_day(self) -> TemperatureDifference {
        TemperatureDifference(self.0 / si::Time::new::<time::day>(1.0))
    }
}

impl Add for DegreeDays {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for DegreeDays {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Sum for DegreeDays {
    fn sum<I: Iterator<Item = Self>>(terms: I) -> Self {
        terms.fold(Self::zero(), Add::add)
    }
}

impl TryFrom<&Quantity> for DegreeDays {
    type Error = Error;
    fn try_from(quantity: &Quantity) -> Result<Self, Error> {
        Ok(Self::from_celsius(quantity.base_f64(Dimension::DegreeDays)?))
    }
}
