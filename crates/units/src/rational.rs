//! Exact fractions of two 128-bit integers: all that unit conversion needs.

use std::cmp::Ordering;
use std::fmt;

/// An exact fraction, always in lowest terms with a positive denominator.
///
/// Every operation is checked: `None` says that the result does not fit.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Rational {
    numerator: i128,
    denominator: i128,
}

const fn gcd(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.unsigned_abs(), b.unsigned_abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    // Both came from numbers whose magnitude fits, and one of them was no i128::MIN: `new` refuses it.
    a as i128
}

impl Rational {
    /// Zero.
    pub const ZERO: Self = Self::whole(0);
    /// One.
    pub const ONE: Self = Self::whole(1);

    /// Returns the whole number `n`.
    pub const fn whole(n: i64) -> Self {
        Self { numerator: n as i128, denominator: 1 }
    }

    /// Returns `numerator / denominator` in lowest terms; `None` if the denominator is zero or a part is `i128::MIN`.
    pub const fn new(numerator: i128, denominator: i128) -> Option<Self> {
        if denominator == 0 || numerator == i128::MIN || denominator == i128::MIN {
            return None;
        }
        let divisor = gcd(numerator, denominator) * if denominator < 0 { -1 } else { 1 };
        Some(Self { numerator: numerator / divisor, denominator: denominator / divisor })
    }

    /// Returns the fraction of a constant table, where a zero denominator is a mistake found at compile time.
    pub(crate) const fn table(numerator: i128, denominator: i128) -> Self {
        match Self::new(numerator, denominator) {
            Some(value) => value,
            None => panic!("a factor of the unit table has a zero denominator"),
        }
    }

    /// Returns the part above the line.
    pub const fn numerator(self) -> i128 {
        self.numerator
    }

    /// Returns the part below the line, which is positive.
    pub const fn denominator(self) -> i128 {
        self.denominator
    }

    /// Returns the sum.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let common = gcd(self.denominator, other.denominator);
        let left = self.numerator.checked_mul(other.denominator / common)?;
        let right = other.numerator.checked_mul(self.denominator / common)?;
        Self::new(left.checked_add(right)?, (self.denominator / common).checked_mul(other.denominator)?)
    }

    /// Returns the difference.
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        self.checked_add(other.negated())
    }

    /// Returns the product.
    pub fn checked_mul(self, other: Self) -> Option<Self> {
        // Crosswise reduction first, so that only results that truly do not fit are refused.
        let a = gcd(self.numerator, other.denominator).max(1);
        let b = gcd(other.numerator, self.denominator).max(1);
        Self::new(
            (self.numerator / a).checked_mul(other.numerator / b)?,
            (self.denominator / b).checked_mul(other.denominator / a)?,
        )
    }

    /// Returns the quotient; `None` also when `other` is zero.
    pub fn checked_div(self, other: Self) -> Option<Self> {
        self.checked_mul(Self::new(other.denominator, other.numerator)?)
    }

    /// Returns the number with its sign turned.
    pub const fn negated(self) -> Self {
        Self { numerator: -self.numerator, denominator: self.denominator }
    }

    /// Returns the nearest whole number; a half goes away from zero.
    pub const fn rounded(self) -> i128 {
        let whole = self.numerator / self.denominator;
        let rest = (self.numerator % self.denominator).unsigned_abs();
        let denominator = self.denominator.unsigned_abs();
        if rest >= denominator - rest { whole + if self.numerator < 0 { -1 } else { 1 } } else { whole }
    }

    /// Returns the number times ten to the `scale`, rounded to a whole number, a half going away from zero.
    pub fn to_fixed(self, scale: u8) -> Option<i128> {
        let ten = Self::new(10_i128.checked_pow(scale.into())?, 1)?;
        Some(self.checked_mul(ten)?.rounded())
    }

    /// Returns the nearest `f64`, to within the rounding of one division.
    pub fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }
}

impl PartialOrd for Rational {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rational {
    fn cmp(&self, other: &Self) -> Ordering {
        // Continued fractions: compare the whole parts, then the reciprocals of what is left. It cannot overflow.
        let (mut a, mut b, mut c, mut d) = (self.numerator, self.denominator, other.numerator, other.denominator);
        let mut turned = false;
        loop {
            let (p, q) = (a.div_euclid(b), c.div_euclid(d));
            let (left, right) = (a.rem_euclid(b), c.rem_euclid(d));
            let found = match (p.cmp(&q), left == 0, right == 0) {
                (Ordering::Equal, true, true) => Some(Ordering::Equal),
                (Ordering::Equal, true, false) => Some(Ordering::Less),
                (Ordering::Equal, false, true) => Some(Ordering::Greater),
                (Ordering::Equal, false, false) => None,
                (unequal, _, _) => Some(unequal),
            };
            if let Some(found) = found {
                return if turned { found.reverse() } else { found };
            }
            (a, b, c, d) = (b, left, d, right);
            turned = !turned;
        }
    }
}

impl fmt::Debug for Rational {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.numerator, self.denominator)
    }
}

impl fmt::Display for Rational {
    /// Writes the number in decimals: all of them where they are six or fewer, else six, rounded.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.to_fixed(6) {
            Some(fixed) => f.write_str(&crate::format::decimal(fixed, 6)),
            None => write!(f, "{:e}", self.to_f64()),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_half_goes_away_from_zero() {
        for (n, expected) in [(1, 1), (-1, -1), (3, 2), (-3, -2), (0, 0)] {
            assert_eq!(Rational::table(n, 2).rounded(), expected, "{n}/2");
        }
        assert_eq!(Rational::table(49, 100).rounded(), 0);
    }

    #[test]
    fn the_largest_and_least_are_ordered_without_overflow() {
        let large = Rational::table(i128::MAX, 3);
        let small = Rational::table(3, i128::MAX);
        assert!(large > small && large.negated() < small.negated());
        assert_eq!(large.checked_mul(large), None);
        assert_eq!(Rational::new(1, 0), None);
        assert_eq!(Rational::new(i128::MIN, 1), None);
    }

    fn fraction() -> impl Strategy<Value = Rational> {
        (any::<i64>(), 1..=i64::MAX).prop_map(|(n, d)| Rational::table(n.into(), d.into()))
    }

    proptest! {
        #[test]
        fn order_agrees_with_crosswise_products(a in fraction(), b in fraction()) {
            let expected = (a.numerator() * b.denominator()).cmp(&(b.numerator() * a.denominator()));
            prop_assert_eq!(a.cmp(&b), expected);
        }

        #[test]
        fn what_is_added_can_be_taken_away(a in -1_000_000_i64..1_000_000, b in 1_i64..1000, c in -1_000_000_i64..1_000_000, d in 1_i64..1000) {
            let (x, y) = (Rational::table(a.into(), b.into()), Rational::table(c.into(), d.into()));
            prop_assert_eq!(x.checked_add(y).and_then(|s| s.checked_sub(y)), Some(x));
            if y != Rational::ZERO {
                prop_assert_eq!(x.checked_mul(y).and_then(|s| s.checked_div(y)), Some(x));
            }
        }
    }
}
