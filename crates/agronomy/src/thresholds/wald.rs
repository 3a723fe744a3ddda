//! Sequential sampling of a share after Wald: look on until the count itself decides.

use crate::error::{Error, within};

/// What a sequential plan says after so many plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stop {
    /// Stop: the count is at or below the safe line.
    Below,
    /// Look at more plants.
    More,
    /// Stop: the count is at or above the line of damage.
    Above,
    /// The plan has no more plants: come again in a few days.
    Revisit,
}

impl Stop {
    /// Returns what the reader is told.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Below => "stop: at or below the safe line",
            Self::More => "no decision: look at more plants",
            Self::Above => "stop: at or above the published line",
            Self::Revisit => "no decision and no more plants: look again in 3 to 4 days",
        }
    }
}

/// Two parallel stop lines for a share.
///
/// The lines are s × n + u above and s × n − l below, for n plants looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaldPlan {
    discrimination: f64,
    slope: f64,
    upper: f64,
    lower: f64,
}

/// The stop limits after a number of plants, in whole plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Stop as safe at this many or fewer; `None` while no count is safe yet.
    pub safe_at_most: Option<u64>,
    /// Stop as damaging at this many or more; `None` while so few plants cannot decide.
    pub damaging_at_least: Option<u64>,
}

/// A count that lies on a line but for the rounding of binary fractions lies on it.
const ON_THE_LINE: f64 = 1e-9;

impl WaldPlan {
    /// Returns the plan that parts a safe share from a damaging one with given errors.
    ///
    /// *Units:* shares from 0 to 1. `false_alarm` is how often a field with the safe share may be called damaging,
    /// `missed` how often one with the damaging share may be called safe. *Holds:* plants chosen at random; shares of
    /// 0.001 to 0.999, the damaging one at least 0.001 above the safe one; errors of 0.001 to 0.4. *Errors:*
    /// [`Error::OutOfRange`]. *Source:* A. Wald (1947), Sequential Analysis, the binomial case (formulas from memory,
    /// to be verified).
    ///
    /// 2 % safe, 5 % damaging, errors of 0.10 (computed by hand):
    /// ```
    /// let plan = ligule_agronomy::thresholds::WaldPlan::new(0.02, 0.05, 0.10, 0.10)?;
    /// assert!((plan.slope() - 0.03282).abs() < 0.000005 && (plan.upper() - 2.319).abs() < 0.0005);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn new(safe: f64, damaging: f64, false_alarm: f64, missed: f64) -> Result<Self, Error> {
        let p0 = within("a safe share", safe, 0.001, 0.998, "")?;
        let p1 = within("a damaging share", damaging, p0 + 0.001, 0.999, "")?;
        let a = within("a chance of a false alarm", false_alarm, 0.001, 0.4, "")?;
        let b = within("a chance of a miss", missed, 0.001, 0.4, "")?;
        let h = (p1 * (1.0 - p0) / (p0 * (1.0 - p1))).ln();
        Ok(Self {
            discrimination: h,
            slope: ((1.0 - p0) / (1.0 - p1)).ln() / h,
            upper: ((1.0 - b) / a).ln() / h,
            lower: ((1.0 - a) / b).ln() / h,
        })
    }

    /// Returns h, the logarithm of the ratio of the odds.
    pub const fn discrimination(&self) -> f64 {
        self.discrimination
    }

    /// Returns s, by which both lines rise with each plant.
    pub const fn slope(&self) -> f64 {
        self.slope
    }

    /// Returns u, by which the upper line starts above 0.
    pub const fn upper(&self) -> f64 {
        self.upper
    }

    /// Returns l, by which the lower line starts below 0.
    pub const fn lower(&self) -> f64 {
        self.lower
    }

    /// Returns the limits after so many plants: the safe one rounded down, the damaging one rounded up.
    ///
    /// *Errors:* [`Error::OutOfRange`] outside 1 to 1,000,000 plants. *Source:* A. Wald (1947), Sequential Analysis,
    /// binomial case (from memory, to be verified).
    ///
    /// 2 % safe, 5 % damaging, errors of 0.10, after 100 plants (computed by hand: 0.96 and 5.60):
    /// ```
    /// let plan = ligule_agronomy::thresholds::WaldPlan::new(0.02, 0.05, 0.10, 0.10)?;
    /// let limits = plan.limits(100)?;
    /// assert_eq!((limits.safe_at_most, limits.damaging_at_least), (Some(0), Some(6)));
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn limits(&self, looked_at: u64) -> Result<Limits, Error> {
        let n = within("a number of plants", looked_at as f64, 1.0, 1e6, "")?;
        let safe = (self.slope * n - self.lower + ON_THE_LINE).floor();
        let damaging = (self.slope * n + self.upper - ON_THE_LINE).ceil();
        Ok(Limits {
            safe_at_most: (safe >= 0.0).then_some(safe as u64),
            damaging_at_least: (damaging <= n).then_some(damaging as u64),
        })
    }

    /// Returns what the plan says of a count.
    ///
    /// *Errors:* as [`WaldPlan::limits`], and [`Error::MoreFoundThanLookedAt`]. *Source:* as [`WaldPlan::limits`].
    ///
    /// ```
    /// use ligule_agronomy::thresholds::{Stop, WaldPlan};
    /// let plan = WaldPlan::new(0.02, 0.05, 0.10, 0.10)?;
    /// assert_eq!([0, 3, 6].map(|found| plan.judge(found, 100).unwrap()), [Stop::Below, Stop::More, Stop::Above]);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn judge(&self, found: u64, looked_at: u64) -> Result<Stop, Error> {
        let limits = self.limits(looked_at)?;
        if found > looked_at {
            return Err(Error::MoreFoundThanLookedAt { found, trials: looked_at });
        }
        Ok(if limits.damaging_at_least.is_some_and(|least| found >= least) {
            Stop::Above
        } else if limits.safe_at_most.is_some_and(|most| found <= most) {
            Stop::Below
        } else {
            Stop::More
        })
    }
}
