//! Yield of a hand-harvested plot, and metric yields.

use ligule_units::Area;

use super::grain::Grain;
use super::moisture::standard_bushels;
use crate::error::{Error, within};

/// Returns the yield of a plot that was harvested and weighed.
///
/// *Units:* net pounds of shelled or threshed grain; moisture as a share; bu/ac at standard moisture. *Holds:* plots
/// of 1 sq ft to 1,000 ac, moistures of 0 to 0.6; nothing is lost in a hand-harvested plot, so a combine brings less.
/// *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic; printed as a formula by J. Lauer (2002), Methods for
/// calculating corn yield, University of Wisconsin A033.
///
/// 10.5 lb of corn at 22 % from a thousandth of an acre (computed by hand: 10.5 × 78 / 84.5 / 56 × 1,000):
/// ```
/// use ligule_agronomy::harvest::{Grain, plot_yield};
/// use ligule_units::Area;
/// let bushels = plot_yield(Grain::Corn, 10.5, 0.22, Area::from_acres(0.001))?;
/// assert!((bushels - 173.08).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn plot_yield(grain: Grain, pounds: f64, moisture: f64, area: Area) -> Result<f64, Error> {
    within("the area of a plot", area.square_feet(), 1.0, 43_560_000.0, " sq ft")?;
    Ok(standard_bushels(grain, pounds, moisture, 0.0)? / area.acres())
}

/// Returns a yield in kilograms per hectare.
///
/// *Units:* bu/ac in, kg/ha out, at the grain's standard moisture. *Holds:* 0 to 1,000 bu/ac. *Errors:*
/// [`Error::OutOfRange`]. *Source:* arithmetic: a pound is 0.45359237 kg.
///
/// A bushel per acre is 62.77 kg/ha of corn and 67.25 kg/ha of soybean (computed by hand):
/// ```
/// use ligule_agronomy::harvest::{Grain, kilograms_per_hectare};
/// assert!((kilograms_per_hectare(Grain::Corn, 1.0)? - 62.77).abs() < 0.005);
/// assert!((kilograms_per_hectare(Grain::Soybean, 1.0)? - 67.25).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn kilograms_per_hectare(grain: Grain, bushels_per_acre: f64) -> Result<f64, Error> {
    let bushels = within("a yield", bushels_per_acre, 0.0, 1000.0, " bu/ac")?;
    Ok(bushels * grain.bushel() * KILOGRAMS / Area::from_acres(1.0).hectares())
}

/// Kilograms of a pound, exactly.
pub(super) const KILOGRAMS: f64 = 0.453_592_37;
