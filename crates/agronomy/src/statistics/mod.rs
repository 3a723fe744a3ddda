//! Means, shares, lines and differences, each with its interval.
//!
//! - [`mean`], [`sample_sd`], [`t_half_width`]: the mean of counts over equal lengths of row.
//! - [`weighted_mean`]: spots of unequal length or unequal numbers of plants; [`grouped_mean`]: a tally.
//! - [`wilson_interval`], [`share_standard_error`]: a share of plants.
//! - [`regression`]: a straight line through points; what is measured may not be extrapolated from it.
//! - [`welch_test`]: two means; [`anova`]: the means of several planter units, and which of them differs.
//! - [`t_two_sided`], [`t_p_value`], [`f_p_value`]: the distributions they rest on, from `statrs`.
//!
//! Every interval supposes values drawn independently of each other: plants beside each other, or counts from one
//! spot, are not. A small p says that chance alone would seldom do this; it does not say that the difference matters.

mod anova;
mod distribution;
mod mean;
mod regression;
mod share;
mod weighted;
mod welch;
mod worksheets;

pub use anova::{Anova, Comparison, Group, MOST_GROUPS, Pair, anova};
pub use distribution::{f_p_value, t_p_value, t_two_sided, z_two_sided};
pub use mean::{mean, sample_sd, t_half_width};
pub use regression::{Regression, regression};
pub use share::{share_standard_error, wilson_interval};
pub use weighted::{WeightedMean, grouped_mean, weighted_mean};
pub use welch::{WelchTest, welch_test};

pub(crate) use worksheets::{WORKSHEETS, tables};

use crate::error::{Error, within};

/// The level at which intervals are shown unless someone chooses another.
pub const USUAL_LEVEL: f64 = 0.95;

/// A number with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The number.
    pub value: f64,
    /// Its standard error; for a prediction, the standard error of predicting one new value.
    pub standard_error: f64,
    /// The interval around it, lower end first.
    pub interval: (f64, f64),
}

impl Estimate {
    /// Returns a number with the interval that reaches `t` standard errors to either side.
    fn new(value: f64, standard_error: f64, t: f64) -> Self {
        let half_width = t * standard_error;
        Self { value, standard_error, interval: (value - half_width, value + half_width) }
    }
}

fn valid_level(level: f64) -> Result<f64, Error> {
    within("a level", level, 0.5, 0.999, "")
}

/// Returns an error unless both lists are of one length.
fn same_length(what: &'static str, first: usize, other: &'static str, second: usize) -> Result<(), Error> {
    match first.cmp(&second) {
        std::cmp::Ordering::Equal => Ok(()),
        std::cmp::Ordering::Less => Err(Error::TooFew { what, needed: second, came: first }),
        std::cmp::Ordering::Greater => Err(Error::TooFew { what: other, needed: first, came: second }),
    }
}

/// Returns the error for values that are all alike: without spread there is nothing to test.
fn all_alike(what: &'static str) -> Error {
    Error::TooFew { what, needed: 2, came: 1 }
}
