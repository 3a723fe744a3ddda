//! Decimal numbers as people write them, turned to tenths without floating point.

/// A unit a plain file may be in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    Celsius,
    Fahrenheit,
    Millimetre,
    Inch,
}

/// Tenths of °C or of mm, and whether they are the number as written, unrounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Tenths {
    pub(super) value: i32,
    pub(super) exact: bool,
}

/// Reads a decimal number in a unit as tenths of °C or tenths of mm, rounded half away from zero.
///
/// °C = (°F − 32) × 5/9 and 1 in = 25.4 mm, both exact by definition.
pub(super) fn tenths(text: &str, unit: Unit) -> Option<Tenths> {
    let (negative, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let all_digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    // Nine digits on either side are more than any thermometer gives, and keep the products below far inside i128.
    if (whole.is_empty() && fraction.is_empty())
        || whole.len() > 9
        || fraction.len() > 9
        || !all_digits(whole)
        || !all_digits(fraction)
    {
        return None;
    }
    let one = 10_i128.pow(fraction.len() as u32);
    let part = |s: &str| if s.is_empty() { Some(0) } else { s.parse::<i128>().ok() };
    let magnitude = part(whole)? * one + part(fraction)?;
    let number = if negative { -magnitude } else { magnitude };
    let (numerator, denominator) = match unit {
        Unit::Celsius | Unit::Millimetre => (number * 10, one),
        Unit::Fahrenheit => ((number - 32 * one) * 50, 9 * one),
        Unit::Inch => (number * 254, one),
    };
    let rounded = (numerator.abs() * 2 + denominator) / (denominator * 2) * numerator.signum();
    Some(Tenths { value: i32::try_from(rounded).ok()?, exact: rounded * denominator == numerator })
}
