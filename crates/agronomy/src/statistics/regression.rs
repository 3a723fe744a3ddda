//! A straight line through points, with intervals.

use crate::error::{Error, within};
use crate::statistics::distribution::{t_above, t_tails};
use crate::statistics::mean::squares_around;
use crate::statistics::{Estimate, mean, same_length, valid_level};

/// A straight line fitted by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Regression {
    /// How many points there were.
    pub points: usize,
    /// How much y changes with one of x.
    pub slope: Estimate,
    /// Where the line meets x = 0, which may lie outside what was measured.
    pub intercept: Estimate,
    /// How often chance alone gives a slope as far from zero.
    pub slope_p: f64,
    /// The share of the spread of y that the line accounts for; none if all y are alike.
    pub r_squared: Option<f64>,
    /// The standard deviation of the points around the line (n − 2).
    pub residual_sd: f64,
    /// Points less two.
    pub degrees_of_freedom: usize,
    /// The level of the intervals.
    pub level: f64,
    /// The least and the greatest x measured; the line is not read beyond them.
    pub measured: (f64, f64),
    x_mean: f64,
    y_mean: f64,
    x_squares: f64,
    t: f64,
}

/// Returns the straight line through points by least squares, with intervals.
///
/// *Units:* any; the slope is in units of y for one of x. *Holds:* three points or more, at two or more different x; x
/// known without error; y independent, near normal, of equal spread around a line that is straight. Look at a plot
/// before you believe it. *Errors:* [`Error::TooFew`]; [`Error::OutOfRange`] beyond ±10¹⁵. *Source:* NIST/SEMATECH
/// (2012), e-Handbook of Statistical Methods, section 4.1.4.1 and 4.4.3.1.
///
/// Five points by hand; the published tests fit the reference data set Norris of NIST
/// (slope 19.5 / 10, intercept 5.9 − 1.95 × 3, residuals 0.05, 0.1, −0.35, 0.2, 0 with 0.175 for their squares):
/// ```
/// let line = ligule_agronomy::statistics::regression(&[1.0, 2.0, 3.0, 4.0, 5.0], &[2.05, 4.05, 5.55, 8.05, 9.8], 0.95)?;
/// assert!((line.slope.value - 1.95).abs() < 1e-12 && (line.intercept.value - 0.05).abs() < 1e-12);
/// assert!((line.residual_sd - (0.175_f64 / 3.0).sqrt()).abs() < 1e-12);
/// assert!((line.mean_response(4.0)?.value - 7.85).abs() < 1e-12);
/// assert!(line.prediction(6.0).is_err());
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn regression(x: &[f64], y: &[f64], level: f64) -> Result<Regression, Error> {
    let level = valid_level(level)?;
    same_length("x", x.len(), "y", y.len())?;
    let points = x.len();
    if points < 3 {
        return Err(Error::TooFew { what: "points", needed: 3, came: points });
    }
    let (x_mean, y_mean) = (mean(x)?, mean(y)?);
    let (x_squares, y_squares) = (squares_around(x_mean, x), squares_around(y_mean, y));
    let pairs = || x.iter().map(|x| x - x_mean).zip(y.iter().map(|y| y - y_mean));
    let products: f64 = pairs().map(|(x, y)| x * y).sum();
    let slope = products / x_squares;
    // Also where the squares are too small for a float to hold.
    if x_squares < f64::MIN_POSITIVE || !slope.is_finite() {
        return Err(Error::TooFew { what: "different x", needed: 2, came: 1 });
    }
    let residuals: f64 = pairs().map(|(x, y)| (y - slope * x).powi(2)).sum();
    let degrees_of_freedom = points - 2;
    let residual_sd = (residuals / degrees_of_freedom as f64).sqrt();
    let t = t_above((1.0 - level) / 2.0, degrees_of_freedom as f64);
    let slope_error = residual_sd / x_squares.sqrt();
    let intercept_error = residual_sd * (1.0 / points as f64 + x_mean * x_mean / x_squares).sqrt();
    let slope_p = match (slope_error > 0.0, slope == 0.0) {
        (true, _) => t_tails(slope / slope_error, degrees_of_freedom as f64),
        (false, flat) => f64::from(u8::from(flat)),
    };
    Ok(Regression {
        points,
        slope: Estimate::new(slope, slope_error, t),
        intercept: Estimate::new(y_mean - slope * x_mean, intercept_error, t),
        slope_p,
        r_squared: (y_squares > 0.0).then(|| (1.0 - residuals / y_squares).max(0.0)),
        residual_sd,
        degrees_of_freedom,
        level,
        measured: (
            x.iter().copied().fold(f64::INFINITY, f64::min),
            x.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ),
        x_mean,
        y_mean,
        x_squares,
        t,
    })
}

impl Regression {
    /// Returns the line at `x`, with the interval of the mean there: where the line may lie.
    ///
    /// *Errors:* [`Error::OutsideTable`] beyond the x measured. *Source:* NIST/SEMATECH (2012), e-Handbook of
    /// Statistical Methods, section 4.5.1.1.
    ///
    /// Five points (computed by hand: 0.24152 × √(1/5 + 1/10) × 3.182):
    /// ```
    /// let line = ligule_agronomy::statistics::regression(&[1.0, 2.0, 3.0, 4.0, 5.0], &[2.05, 4.05, 5.55, 8.05, 9.8], 0.95)?;
    /// let there = line.mean_response(4.0)?;
    /// assert!((there.interval.1 - (7.85 + 0.421)).abs() < 0.001);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn mean_response(&self, x: f64) -> Result<Estimate, Error> {
        self.at(x, 0.0)
    }

    /// Returns the line at `x`, with the interval of one new value there: where the next point may lie.
    ///
    /// *Errors:* [`Error::OutsideTable`] beyond the x measured. *Source:* NIST/SEMATECH (2012), e-Handbook of
    /// Statistical Methods, section 4.5.1.2.
    ///
    /// The same points (computed by hand: 0.24152 × √(1 + 1/5 + 1/10) × 3.182):
    /// ```
    /// let line = ligule_agronomy::statistics::regression(&[1.0, 2.0, 3.0, 4.0, 5.0], &[2.05, 4.05, 5.55, 8.05, 9.8], 0.95)?;
    /// let there = line.prediction(4.0)?;
    /// assert!((there.interval.1 - (7.85 + 0.876)).abs() < 0.001);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn prediction(&self, x: f64) -> Result<Estimate, Error> {
        self.at(x, 1.0)
    }

    fn at(&self, x: f64, own_variance: f64) -> Result<Estimate, Error> {
        let (least, greatest) = self.measured;
        if within("x", x, least, greatest, "").is_err() {
            let (covers, came) = (format!("from {least} to {greatest}"), format!("{x}"));
            return Err(Error::OutsideTable { table: "the regression line", what: "x", covers, came });
        }
        let off = x - self.x_mean;
        let share = own_variance + 1.0 / self.points as f64 + off * off / self.x_squares;
        Ok(Estimate::new(self.y_mean + self.slope.value * off, self.residual_sd * share.sqrt(), self.t))
    }
}
