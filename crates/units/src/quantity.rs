//! A number with its unit, exact.

use std::fmt;

use crate::error::Error;
use crate::rational::Rational;
use crate::unit::{Dimension, Unit};

/// An exact number of a unit, as someone entered it.
///
/// # Reading
/// [`parse`](crate::parse()) makes one from text.
/// ```
/// use ligule_units::{parse, Unit};
/// let foot = Unit::by_ucum("[ft_i]").expect("in the table");
/// assert_eq!(parse("17 ft 5 in", foot)?.to_string(), "17.416667 ft");
/// # Ok::<(), ligule_units::Error>(())
/// ```
///
/// # Converting
/// [`Quantity::to`] is exact; [`Quantity::to_fixed`] rounds once, at the end.
/// ```
/// use ligule_units::{parse, Unit};
/// let celsius = Unit::by_ucum("Cel").expect("in the table");
/// let day = parse("86F", celsius)?;
/// assert_eq!(day.to(celsius)?.to_string(), "30 °C");
/// assert_eq!(day.to_fixed(celsius, 1)?, 300);
/// # Ok::<(), ligule_units::Error>(())
/// ```
///
/// # Comparing
/// Two quantities are equal when number and unit are; 12 in and 1 ft are not, until one is converted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quantity {
    /// The number, in `unit`.
    pub value: Rational,
    /// The unit.
    pub unit: &'static Unit,
}

impl Quantity {
    /// Returns the quantity that an integer kept at `scale` decimals stands for.
    ///
    /// *Errors:* [`Error::Overflow`] if ten to the `scale` does not fit 128 bits (`scale` over 38).
    pub fn from_fixed(value: i64, unit: &'static Unit, scale: u8) -> Result<Self, Error> {
        let overflow = || Error::Overflow { came: value.to_string(), unit: unit.name, scale };
        let ten = 10_i128.checked_pow(scale.into()).ok_or_else(overflow)?;
        Ok(Self { value: Rational::new(value.into(), ten).ok_or_else(overflow)?, unit })
    }

    /// Returns the same quantity in another unit of its dimension, exactly.
    ///
    /// *Errors:* [`Error::WrongDimension`]; [`Error::Overflow`] if the exact result does not fit.
    pub fn to(&self, unit: &'static Unit) -> Result<Self, Error> {
        self.must_be(unit.dimension)?;
        if self.unit == unit {
            return Ok(*self);
        }
        let value = self
            .value
            .checked_mul(self.unit.factor)
            .and_then(|v| v.checked_add(self.unit.offset))
            .and_then(|v| v.checked_sub(unit.offset))
            .and_then(|v| v.checked_div(unit.factor))
            .ok_or_else(|| self.overflow(unit, 0))?;
        Ok(Self { value, unit })
    }

    /// Returns the number in `unit` times ten to the `scale`, as an integer; a half goes away from zero.
    ///
    /// *Errors:* [`Error::WrongDimension`]; [`Error::Overflow`] if the integer does not fit 64 bits.
    pub fn to_fixed(&self, unit: &'static Unit, scale: u8) -> Result<i64, Error> {
        let fixed = self.to(unit)?.value.to_fixed(scale);
        fixed.and_then(|v| i64::try_from(v).ok()).ok_or_else(|| self.overflow(unit, scale))
    }

    /// Returns the number, in the quantity's own unit, as the nearest `f64`.
    pub fn to_f64(&self) -> f64 {
        self.value.to_f64()
    }

    /// Returns the number in the dimension's base unit as an `f64`, if the quantity is of that dimension.
    pub(crate) fn base_f64(&self, dimension: Dimension) -> Result<f64, Error> {
        self.must_be(dimension)?;
        Ok(self.value.to_f64() * self.unit.factor.to_f64())
    }

    pub(crate) fn must_be(&self, expected: Dimension) -> Result<(), Error> {
        let got = self.unit.dimension;
        if got == expected { Ok(()) } else { Err(Error::WrongDimension { expected, got, came: self.to_string() }) }
    }

    fn overflow(&self, unit: &'static Unit, scale: u8) -> Error {
        Error::Overflow { came: self.to_string(), unit: unit.name, scale }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&crate::format::with_symbol(&self.value.to_string(), self.unit))
    }
}
