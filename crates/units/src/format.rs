//! Showing kept integers in the units that people read.

use std::fmt;
use std::str::FromStr;

use crate::error::Error;
use crate::quantity::Quantity;
use crate::rational::Rational;
use crate::unit::Unit;

/// Which units a crew reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum System {
    /// US customary: inches, feet, acres, °F.
    #[default]
    Us,
    /// Metric: centimetres, metres, hectares, °C.
    Metric,
}

impl System {
    /// Returns the unit that people of this system read where a record keeps `unit`.
    pub fn unit_for(self, unit: &'static Unit) -> &'static Unit {
        let code = match self {
            Self::Us => unit.us,
            Self::Metric => unit.metric,
        };
        Unit::by_ucum(code).unwrap_or(unit)
    }
}

impl fmt::Display for System {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Us => "us",
            Self::Metric => "metric",
        })
    }
}

impl FromStr for System {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.to_ascii_lowercase().as_str() {
            "us" => Ok(Self::Us),
            "metric" => Ok(Self::Metric),
            _ => Err(Error::UnknownSystem { came: text.to_owned() }),
        }
    }
}

/// Returns the quantity that `value`, kept in `unit` at `scale` decimals, stands for, in the units that people of
/// `system` read, with trailing zeros trimmed.
///
/// It shows as few digits as tell the kept integer from its neighbours: read back with [`parse`](crate::parse()) and kept
/// again, the text gives the same integer, and what was typed in such a unit is shown as it was typed. A number too large
/// to convert is shown in `unit`.
///
/// ```
/// use ligule_units::{format_fixed, System, Unit};
/// let foot = Unit::by_ucum("[ft_i]").expect("in the table");
/// assert_eq!(format_fixed(1742, foot, 2, System::Us), "17.42 ft");
/// assert_eq!(format_fixed(1742, foot, 2, System::Metric), "5.31 m");
/// ```
pub fn format_fixed(value: i64, unit: &'static Unit, scale: u8, system: System) -> String {
    format_fixed_in(value, unit, scale, system.unit_for(unit))
}

/// Returns what [`format_fixed`] does in a unit of choice, `shown`, of the same dimension.
///
/// ```
/// use ligule_units::{format_fixed_in, Unit};
/// let unit = |code| Unit::by_ucum(code).expect("in the table");
/// assert_eq!(format_fixed_in(12_345, unit("kg/har"), 0, unit("t/har")), "12.345 t/ha");
/// ```
pub fn format_fixed_in(value: i64, unit: &'static Unit, scale: u8, shown: &'static Unit) -> String {
    converted(value, unit, scale, shown).unwrap_or_else(|| with_symbol(&decimal(value.into(), scale), unit))
}

fn converted(value: i64, unit: &'static Unit, scale: u8, shown: &'static Unit) -> Option<String> {
    let quantity = Quantity::from_fixed(value, unit, scale).ok()?.to(shown).ok()?;
    let decimals = scale.checked_add(extra_decimals(unit, shown)?)?;
    let whole = quantity.value.to_fixed(decimals)?;
    let few = if unit == shown { None } else { shortest(value, unit, scale, shown, whole, decimals) };
    Some(with_symbol(&decimal(few.unwrap_or(whole), decimals), shown))
}

/// Rounds `whole`, a number of `shown` times ten to the `decimals`, to as few digits as still give `value` when they are kept.
fn shortest(value: i64, unit: &Unit, scale: u8, shown: &'static Unit, whole: i128, decimals: u8) -> Option<i128> {
    let unit = Unit::by_ucum(unit.ucum)?;
    let step = 10_i128.checked_pow(scale.into())?.checked_mul(2)?;
    // All numbers between these two are kept as the same integer.
    let end = |twice: i128| {
        let end = Quantity { value: Rational::new(twice, step)?, unit }.to(shown).ok()?;
        end.value.to_fixed(decimals)
    };
    let twice = i128::from(value) * 2;
    let (low, high) = (end(twice - 1)?, end(twice + 1)?);
    let mut power = 1_i128;
    let mut few = None;
    while power <= whole.abs() {
        let rounded = Rational::new(whole, power)?.rounded().checked_mul(power)?;
        if low <= rounded && rounded <= high {
            few = Some(rounded);
        }
        power = power.checked_mul(10)?;
    }
    // A half goes away from zero, so that one of the two ends belongs to the neighbour.
    let ten = 10_i128.checked_pow(decimals.into())?;
    few.filter(|few| {
        let read = Rational::new(*few, ten).map(|value| Quantity { value, unit: shown });
        read.and_then(|read| read.to_fixed(unit, scale).ok()) == Some(value)
    })
}

/// Returns how many more decimals a larger unit needs to tell apart what the smaller one does.
fn extra_decimals(unit: &Unit, shown: &Unit) -> Option<u8> {
    let ratio = shown.factor.checked_div(unit.factor)?;
    let mut power = Rational::ONE;
    let mut extra = 0;
    while power < ratio {
        power = power.checked_mul(Rational::whole(10))?;
        extra += 1;
    }
    Some(extra)
}

/// Returns `fixed / 10^scale` in decimals, without trailing zeros.
pub(crate) fn decimal(fixed: i128, scale: u8) -> String {
    let digits = format!("{:0>width$}", fixed.unsigned_abs(), width = usize::from(scale) + 1);
    let (whole, part) = digits.split_at(digits.len() - usize::from(scale));
    let part = part.trim_end_matches('0');
    let sign = if fixed < 0 { "-" } else { "" };
    if part.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part}") }
}

/// Returns the number with the unit's symbol; a blank stands between them where the symbol is a word.
pub(crate) fn with_symbol(number: &str, unit: &Unit) -> String {
    let blank =
        if unit.symbol.is_empty() || unit.symbol.starts_with(['%', '/']) || unit.symbol == "°" { "" } else { " " };
    format!("{number}{blank}{}", unit.symbol)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(code: &str) -> &'static Unit {
        Unit::by_ucum(code).unwrap()
    }

    #[test]
    fn each_system_reads_its_own_units() {
        for (value, code, scale, us, metric) in [
            (3000, "[in_i]", 2, "30 in", "76.2 cm"),
            (86, "[degF]", 0, "86 °F", "30 °C"),
            (300, "Cel", 1, "86 °F", "30 °C"),
            (-30, "Cel", 1, "26.6 °F", "-3 °C"),
            (30_000, "1/[acr_us]", 0, "30000/ac", "74132/ha"),
            (45, "%", 0, "45%", "45%"),
            (254, "mm", 1, "1 in", "25.4 mm"),
            (29, "1", 0, "29", "29"),
            (-5, "1", 2, "-0.05", "-0.05"),
        ] {
            assert_eq!(format_fixed(value, unit(code), scale, System::Us), us, "{value} {code}");
            assert_eq!(format_fixed(value, unit(code), scale, System::Metric), metric, "{value} {code}");
        }
    }

    #[test]
    fn what_was_typed_in_another_unit_comes_back_as_typed() {
        for (text, code, scale) in [
            ("76 cm", "[in_i]", 3),
            ("5.31 m", "[ft_i]", 4),
            ("84000/ha", "1/[acr_us]", 0),
            ("5 cm", "[in_i]", 3),
            ("25 cm", "[in_i]", 3),
            ("10 cm", "[in_i]", 3),
        ] {
            let kept = crate::parse(text, unit(code)).unwrap().to_fixed(unit(code), scale).unwrap();
            assert_eq!(format_fixed(kept, unit(code), scale, System::Metric), text);
        }
        let kept = crate::parse("58 °F", unit("Cel")).unwrap().to_fixed(unit("Cel"), 1).unwrap();
        assert_eq!(format_fixed(kept, unit("Cel"), 1, System::Us), "58 °F");
    }

    #[test]
    fn what_cannot_be_converted_is_shown_as_kept() {
        assert_eq!(format_fixed(i64::MAX, unit("[in_i]"), 255, System::Metric).len(), "0. in".len() + 255);
        assert_eq!(format_fixed(i64::MIN, unit("1"), 0, System::Us), "-9223372036854775808");
    }
}
