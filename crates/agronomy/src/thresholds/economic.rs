//! The economic injury level, and when to act before it is reached.

use crate::error::{Error, within};

/// What a treatment costs and what it saves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Economics {
    /// Cost of the treatment, material and application, $/ac.
    pub cost: f64,
    /// What the crop is worth, $/bu.
    pub price: f64,
    /// Yield lost to one pest in each sampling unit (a plant, a foot of row), bu/ac: the product I × D of the formula.
    pub loss: f64,
    /// The share of that loss which the treatment prevents, 0.01 to 1.
    pub control: f64,
}

pub(crate) fn valid_cost(cost: f64) -> Result<f64, Error> {
    within("a cost of treatment", cost, 0.0, 10_000.0, " $/ac")
}

pub(crate) fn valid_price(price: f64) -> Result<f64, Error> {
    within("a price", price, 0.01, 1_000.0, " $/bu")
}

pub(crate) fn valid_yield(yield_per_acre: f64) -> Result<f64, Error> {
    within("an expected yield", yield_per_acre, 0.1, 1_000.0, " bu/ac")
}

pub(crate) fn valid_control(control: f64) -> Result<f64, Error> {
    within("a share of control", control, 0.01, 1.0, "")
}

/// Returns the economic injury level: the pests in each sampling unit whose loss, as far as the treatment prevents it,
/// equals the cost of the treatment: C / (V × I × D × K).
///
/// *Units:* see [`Economics`]; pests in each sampling unit out. *Holds:* damage nearly in proportion to the pests below
/// the level, one pest at work, honest forecasts of price and yield; cost of 0 to 10,000 $/ac, price of 0.01 to 1,000
/// $/bu, loss of 10⁻⁹ to 1,000 bu/ac, control of 0.01 to 1. *Errors:* [`Error::OutOfRange`]. *Source:* the level of
/// V. M. Stern et al. (1959), The integrated control concept, Hilgardia 29:81-101, in the symbols of L. P. Pedigo,
/// Economic thresholds and economic injury levels, Radcliffe's IPM World Textbook (symbols from memory, to be
/// verified).
///
/// North Carolina State University, ENT 425: control for 20 $/ac, a crop of 500 $/ac (100 units at 5), of which 800
/// insects injure a tenth; printed as 320 insects an acre:
/// ```
/// use ligule_agronomy::thresholds::{Economics, economic_injury_level};
/// let economics = Economics { cost: 20.0, price: 5.0, loss: 100.0 * 0.10 / 800.0, control: 1.0 };
/// assert!((economic_injury_level(&economics)? - 320.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn economic_injury_level(economics: &Economics) -> Result<f64, Error> {
    let (cost, price) = (valid_cost(economics.cost)?, valid_price(economics.price)?);
    let loss = within("a yield lost to one pest", economics.loss, 1e-9, 1_000.0, " bu/ac")?;
    Ok(cost / (price * loss * valid_control(economics.control)?))
}

/// The shares of the economic injury level at which people act. Common convention, from memory, to be verified.
pub const USUAL_FRACTIONS: [f64; 2] = [0.75, 0.80];

/// Returns the action threshold that is a fixed share of the economic injury level.
///
/// *Units:* those of the level; the share is 0.05 to 1. *Holds:* levels of 0 to 10¹⁸. *Errors:*
/// [`Error::OutOfRange`]. *Source:* common convention (from memory, to be verified): 0.75 or 0.8
/// ([`USUAL_FRACTIONS`]).
///
/// 0.8 × 320 (computed by hand):
/// ```
/// assert_eq!(ligule_agronomy::thresholds::fractional_threshold(320.0, 0.8)?, 256.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn fractional_threshold(level: f64, share: f64) -> Result<f64, Error> {
    Ok(valid_level(level)? * within("a share of the injury level", share, 0.05, 1.0, "")?)
}

/// Returns the action threshold from which a growing population reaches the economic injury level after a lead time:
/// EIL × e^(−r × t).
///
/// *Units:* growth `rate` per day (see [`super::growth_rate`]), `lead_days` the days between scouting and effect.
/// *Holds:* exponential growth; rates of 0 to 2 a day, leads of 0 to 60 days. *Errors:* [`Error::OutOfRange`].
/// *Source:* exponential growth; the step from level to threshold as in D. W. Ragsdale et al. (2007), Economic
/// threshold for soybean aphid, Journal of Economic Entomology 100:1258-1267.
///
/// That paper's level of 674 aphids a plant, 7 days, at the rate that leads from 273 to 674:
/// ```
/// let rate = ligule_agronomy::thresholds::growth_rate(273.0, 674.0, 7.0)?;
/// let threshold = ligule_agronomy::thresholds::lead_time_threshold(674.0, rate, 7.0)?;
/// assert!((threshold - 273.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn lead_time_threshold(level: f64, rate: f64, lead_days: f64) -> Result<f64, Error> {
    let rate = within("a growth rate", rate, 0.0, 2.0, " per day")?;
    let days = within("a lead time", lead_days, 0.0, 60.0, " days")?;
    Ok(valid_level(level)? * (-rate * days).exp())
}

fn valid_level(level: f64) -> Result<f64, Error> {
    within("an economic injury level", level, 0.0, 1e18, "")
}

/// Returns the share of the yield that pays for a treatment: C / (price × yield).
///
/// *Units:* $/ac, $/bu, bu/ac in; a share out, over 1 where the treatment costs more than the crop is worth. *Holds:*
/// as [`economic_injury_level`], yields of 0.1 to 1,000 bu/ac. *Errors:* [`Error::OutOfRange`]. *Source:* Cornell
/// University, Northeast Region Certified Crop Adviser study resources, pest management, performance objective 7
/// (maximum allowable crop loss).
///
/// 18 $/ac, 4.50 $/bu, 200 bu/ac (computed by hand):
/// ```
/// assert_eq!(ligule_agronomy::thresholds::break_even_loss(18.0, 4.5, 200.0)?, 0.02);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn break_even_loss(cost: f64, price: f64, yield_per_acre: f64) -> Result<f64, Error> {
    Ok(valid_cost(cost)? / (valid_price(price)? * valid_yield(yield_per_acre)?))
}

/// Returns the gain threshold: the yield whose worth equals the cost of a treatment, C / price.
///
/// *Units:* $/ac and $/bu in, bu/ac out. *Holds:* as [`economic_injury_level`]. *Errors:* [`Error::OutOfRange`].
/// *Source:* definition.
///
/// ```
/// assert_eq!(ligule_agronomy::thresholds::gain_threshold(18.0, 4.5)?, 4.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn gain_threshold(cost: f64, price: f64) -> Result<f64, Error> {
    Ok(valid_cost(cost)? / valid_price(price)?)
}
