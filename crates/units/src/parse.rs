//! Reading quantities as people write them.

use crate::error::Error;
use crate::quantity::Quantity;
use crate::rational::Rational;
use crate::unit::Unit;

/// How many digits of a number are read; more is a slip of the finger, not a measurement.
const MOST_DIGITS: usize = 18;

/// Returns the quantity that `text` says, in the unit that it names; a bare number is in `default`.
///
/// Read are decimals with a point (`17.42 ft`), fractions (`3/4"`, `1 3/4 in`, `1½ in`), parts from large to small
/// (`17ft5in`, `17'5"`), signs (`-3C`), percentages (`45%`). The unit may be of any system, but must be of the
/// dimension of `default`.
///
/// *Errors:* every text that is none of these; the message says what was expected and the nearest unit.
///
/// ```
/// use ligule_units::{parse, Unit};
/// let inch = Unit::by_ucum("[in_i]").expect("in the table");
/// for text in ["30", "30in", "30 in", "30\"", "2'6\"", "2 ft 6 in", "2.5 ft", "76.2cm", "29 4/4 in"] {
///     assert_eq!(parse(text, inch)?.to_fixed(inch, 2)?, 3000, "{text}");
/// }
/// assert_eq!(
///     parse("30 inn", inch).unwrap_err().to_string(),
///     "expected a length such as `17 ft 5 in`, got `30 inn`: unknown unit `inn`, did you mean `in`?; \
///      units here: in, ft, yd, mi, mm, cm, m, km"
/// );
/// assert_eq!(
///     parse("5,31 m", inch).unwrap_err().to_string(),
///     "expected a length such as `17 ft 5 in`, got `5,31 m`: write a point for decimals and no mark for \
///      thousands (`5.31`, `32000`)"
/// );
/// # Ok::<(), ligule_units::Error>(())
/// ```
pub fn parse(text: &str, default: &'static Unit) -> Result<Quantity, Error> {
    let expected = default.dimension;
    let came = text.trim();
    if came.is_empty() {
        return Err(Error::Empty { expected });
    }
    if came.contains(',') {
        return Err(Error::Comma { expected, came: came.to_owned() });
    }
    let (negative, rest) = match came.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, came.strip_prefix('+').unwrap_or(came).trim_start()),
    };
    let reader = Reader { came, default };
    let sum = reader.parts(rest)?;
    let value = if negative { sum.value.negated() } else { sum.value };
    Ok(Quantity { value, unit: sum.unit })
}

struct Reader<'a> {
    came: &'a str,
    default: &'static Unit,
}

impl Reader<'_> {
    /// Reads one part after another and adds them up in the unit of the first.
    fn parts(&self, text: &str) -> Result<Quantity, Error> {
        let (value, rest) = self.number(text)?;
        if rest.is_empty() {
            return Ok(Quantity { value, unit: self.default });
        }
        let (unit, mut rest) = self.unit(rest)?;
        let mut sum = Quantity { value, unit };
        let mut least = unit;
        while !rest.is_empty() {
            let (value, after) = self.number(rest)?;
            if after.is_empty() {
                return Err(Error::PartWithoutUnit {
                    expected: self.default.dimension,
                    came: self.came.to_owned(),
                    after: rest.to_owned(),
                });
            }
            let (unit, after) = self.unit(after)?;
            let part = Quantity { value, unit };
            let whole = part.to(least).ok().filter(|p| unit.offset == Rational::ZERO && p.value < Rational::ONE);
            let added = whole.filter(|_| unit.factor < least.factor).and_then(|_| part.to(sum.unit).ok());
            let total = added.and_then(|p| sum.value.checked_add(p.value));
            sum.value = total.ok_or_else(|| Error::Parts { came: self.came.to_owned() })?;
            (least, rest) = (unit, after);
        }
        Ok(sum)
    }

    /// Reads the unit at the start of `text`, up to the next part's number.
    fn unit<'t>(&self, text: &'t str) -> Result<(&'static Unit, &'t str), Error> {
        // The whole of it first: some spellings hold digits (`m2`) or blanks (`per acre`). The unit one is written by leaving
        // it out: `3 1` are two numbers, and which was meant nobody knows.
        let (spelling, rest) = if text != "1" && Unit::by_spelling(text).is_some() {
            (text, "")
        } else {
            let end = text.find(starts_number).unwrap_or(text.len());
            (text[..end].trim(), text[end..].trim())
        };
        match Unit::by_spelling(spelling) {
            Some(unit) if unit.dimension == self.default.dimension => Ok((unit, rest)),
            Some(unit) => Err(Error::WrongDimension {
                expected: self.default.dimension,
                got: unit.dimension,
                came: self.came.to_owned(),
            }),
            None => {
                // A unit that is followed by digits is named whole: `m3`, not `m`.
                let unit = if rest.is_empty() { spelling } else { text };
                Err(Error::UnknownUnit {
                    expected: self.default.dimension,
                    came: self.came.to_owned(),
                    unit: unit.to_owned(),
                    nearest: nearest(spelling, self.default),
                })
            }
        }
    }

    /// Reads the number at the start of `text`: decimal, fraction or both.
    fn number<'t>(&self, text: &'t str) -> Result<(Rational, &'t str), Error> {
        let (first, rest) = self.decimal(text)?;
        // `1½`, or `½` alone, which `decimal` reads as nothing.
        if let Some((fraction, rest)) = vulgar(rest.trim_start()) {
            let whole = first.filter(|v| v.denominator() == 1).unwrap_or(Rational::ZERO);
            let value = whole.checked_add(fraction).ok_or_else(|| self.too_many())?;
            return Ok((value, rest.trim_start()));
        }
        let Some(first) = first else {
            return Err(Error::NoNumber {
                expected: self.default.dimension,
                came: self.came.to_owned(),
                at: text.to_owned(),
            });
        };
        // `3/4`, or `1 3/4`, or `1-3/4`.
        if let Some((value, rest)) = self.over(first, rest)? {
            return Ok((value, rest.trim_start()));
        }
        let next = rest.strip_prefix('-').unwrap_or(rest).trim_start();
        if first.denominator() == 1
            && next.len() < rest.len()
            && let (Some(second), rest) = self.decimal(next)?
            && let Some((fraction, rest)) = self.over(second, rest)?
        {
            let value = first.checked_add(fraction).ok_or_else(|| self.too_many())?;
            return Ok((value, rest.trim_start()));
        }
        Ok((first, rest.trim_start()))
    }

    /// Reads `/4` after a number, if it stands there.
    fn over<'t>(&self, above: Rational, text: &'t str) -> Result<Option<(Rational, &'t str)>, Error> {
        let Some(rest) = text.strip_prefix('/').filter(|r| r.starts_with(|c: char| c.is_ascii_digit())) else {
            return Ok(None);
        };
        let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        let (below, rest) = (self.digits(&rest[..end], "")?, &rest[end..]);
        if below == Rational::ZERO {
            return Err(Error::ZeroDenominator { came: self.came.to_owned() });
        }
        Ok(Some((above.checked_div(below).ok_or_else(|| self.too_many())?, rest)))
    }

    /// Reads digits with at most one point; nothing if there are none.
    fn decimal<'t>(&self, text: &'t str) -> Result<(Option<Rational>, &'t str), Error> {
        let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
        let (whole, rest) = text.split_at(end);
        let Some(after) = rest.strip_prefix('.') else {
            return Ok((if whole.is_empty() { None } else { Some(self.digits(whole, "")?) }, rest));
        };
        let end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
        let (part, rest) = after.split_at(end);
        if whole.is_empty() && part.is_empty() {
            return Ok((None, text));
        }
        Ok((Some(self.digits(whole, part)?), rest))
    }

    fn digits(&self, whole: &str, part: &str) -> Result<Rational, Error> {
        let digits = format!("{}{part}", whole.trim_start_matches('0'));
        if digits.len() > MOST_DIGITS || part.len() > MOST_DIGITS {
            return Err(self.too_many());
        }
        let above: i64 = if digits.is_empty() { 0 } else { digits.parse().map_err(|_| self.too_many())? };
        let below = 10_i128.pow(u32::try_from(part.len()).map_err(|_| self.too_many())?);
        Rational::new(above.into(), below).ok_or_else(|| self.too_many())
    }

    fn too_many(&self) -> Error {
        Error::TooManyDigits { came: self.came.to_owned() }
    }
}

fn starts_number(c: char) -> bool {
    c.is_ascii_digit() || vulgar_parts(c).is_some()
}

fn vulgar(text: &str) -> Option<(Rational, &str)> {
    let first = text.chars().next()?;
    let (above, below) = vulgar_parts(first)?;
    Some((Rational::new(above, below)?, &text[first.len_utf8()..]))
}

const fn vulgar_parts(c: char) -> Option<(i128, i128)> {
    match c {
        '½' => Some((1, 2)),
        '¼' => Some((1, 4)),
        '¾' => Some((3, 4)),
        '⅛' => Some((1, 8)),
        '⅜' => Some((3, 8)),
        '⅝' => Some((5, 8)),
        '⅞' => Some((7, 8)),
        _ => None,
    }
}

/// Returns the symbol of the unit whose spelling is nearest to `text`: of the dimension asked for if one is near.
fn nearest(text: &str, default: &'static Unit) -> Option<String> {
    let lower = text.to_lowercase();
    let near = |unit: &'static Unit| {
        let distance = unit
            .all_spellings()
            .filter(|s| s.chars().count() > 1)
            .map(|s| strsim::osa_distance(&s.to_lowercase(), &lower))
            .min()?;
        // One slip in a short word, two in a longer one.
        (distance <= 1 + usize::from(lower.chars().count() > 4)).then_some((distance, unit.symbol))
    };
    let best = |units: &mut dyn Iterator<Item = &'static Unit>| {
        units.filter(|u| !u.symbol.is_empty()).filter_map(near).min_by_key(|(distance, _)| *distance)
    };
    best(&mut Unit::of(default.dimension)).map(|(_, symbol)| symbol.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(code: &str) -> &'static Unit {
        Unit::by_ucum(code).unwrap()
    }

    #[test]
    fn quantities_are_read_as_people_write_them() {
        for (text, default, scale, expected) in [
            ("30in", "[in_i]", 2, 3000),
            ("30 IN", "[in_i]", 2, 3000),
            ("30″", "[in_i]", 2, 3000),
            ("30''", "[in_i]", 2, 3000),
            ("30", "[in_i]", 2, 3000),
            ("30.", "[in_i]", 2, 3000),
            (".5", "[in_i]", 2, 50),
            ("17ft5in", "[in_i]", 2, 20_900),
            ("17 pies 5 pulg", "[in_i]", 2, 20_900),
            ("30 pulgadas", "[in_i]", 2, 3000),
            ("34000 semillas por acre", "1/[acr_us]", 0, 34_000),
            ("17 ft 5 in", "[in_i]", 2, 20_900),
            ("17'5\"", "[in_i]", 2, 20_900),
            ("17’ 5 1/2”", "[in_i]", 2, 20_950),
            ("17.42 ft", "[in_i]", 2, 20_904),
            ("1 3/4 in", "[in_i]", 2, 175),
            ("1-3/4 in", "[in_i]", 2, 175),
            ("1¾ in", "[in_i]", 2, 175),
            ("¾\"", "[in_i]", 2, 75),
            ("3/4\"", "[in_i]", 2, 75),
            ("3/4", "[in_i]", 2, 75),
            ("76cm", "[in_i]", 2, 2992),
            ("-3C", "Cel", 1, -30),
            ("−3 °C", "Cel", 1, -30),
            ("- 3 c", "Cel", 1, -30),
            ("86F", "Cel", 1, 300),
            ("86 deg F", "Cel", 1, 300),
            ("45%", "%", 0, 45),
            ("45%", "1", 2, 45),
            ("0.45", "%", 2, 45),
            ("32000/ac", "1/[acr_us]", 0, 32_000),
            ("32000 plants per acre", "1/[acr_us]", 0, 32_000),
            ("32000 1/[acr_us]", "1/[acr_us]", 0, 32_000),
            ("74132 /ha", "1/[acr_us]", 0, 30_000),
            ("6 lb 4 oz", "[lb_av]", 2, 625),
            ("15 sq ft", "m2", 2, 139),
            ("15 m2", "m2", 2, 1500),
            ("12 ppm", "mg/kg", 0, 12),
            ("215 GDD", "K.d", 2, 11_944),
        ] {
            let read = parse(text, unit(default)).and_then(|q| q.to_fixed(unit(default), scale));
            assert_eq!(read, Ok(expected), "{text}");
        }
    }

    #[test]
    fn what_is_no_quantity_says_why() {
        for (text, default, part) in [
            ("", "[in_i]", "got nothing"),
            ("   ", "[in_i]", "got nothing"),
            ("in", "[in_i]", "there is no number at `in`"),
            (".", "[in_i]", "there is no number at `.`"),
            ("--3", "Cel", "there is no number at `-3`"),
            ("5,31 m", "m", "write a point"),
            ("32,000", "1/[acr_us]", "write a point"),
            ("3/0 in", "[in_i]", "divided by zero"),
            ("1e3", "[in_i]", "unknown unit `e3`"),
            ("30 inn", "[in_i]", "did you mean `in`?"),
            ("30 foot5", "[in_i]", "there is none after `5`"),
            ("30 metrs", "[in_i]", "did you mean `m`?"),
            ("30 m3", "[in_i]", "there is none after `3`"),
            ("30 furlong", "[in_i]", "unknown unit `furlong`; units here: in, ft"),
            ("30 F", "[in_i]", "expected a length, got `30 F`, which is a temperature; units here: in, ft"),
            ("17 ft 15 in", "[in_i]", "from large to small"),
            ("5 in 17 ft", "[in_i]", "from large to small"),
            ("17 ft -5 in", "[in_i]", "unknown unit `ft -"),
            ("20 C 3 C", "Cel", "from large to small"),
            ("1234567890123456789", "[in_i]", "at most 18 digits"),
            ("0.1234567890123456789", "[in_i]", "at most 18 digits"),
            ("NaN", "[in_i]", "there is no number"),
            ("½½ in", "[in_i]", "unknown unit"),
            ("3 1", "1", "unknown unit `1`"),
            ("31 1", "%", "unknown unit `1`"),
            ("3 1 %", "1", "unknown unit `1 %`"),
        ] {
            let message = parse(text, unit(default)).unwrap_err().to_string();
            assert!(message.contains(part), "`{text}` said: {message}");
        }
    }
}
