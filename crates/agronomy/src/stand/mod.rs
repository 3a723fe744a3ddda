//! Stand counts: how long a row to count, plants per area, and how sure the mean is.

mod area;
mod clusters;
mod estimate;
mod seeding;
mod tables;
mod worksheets;

pub use area::{density_on_share, hoop_density, plants_per_area, row_length, row_length_of_hectare, wheel_density};
pub use clusters::{ClusteredStand, clustered_stand, locations_needed};
pub use estimate::{StandEstimate, counts_needed, stand_estimate};
pub use seeding::{chance_cv, seeding_rate_for, share_of_seeding_rate};

pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;

use ligule_units::{Length, PlantDensity};

use crate::error::{Error, within};

/// The usual share of an acre, or of a hectare, that one count covers.
pub const USUAL_SHARE: f64 = 0.001;

/// Plants counted while walking with a measuring wheel. *Source:* University of Illinois Extension, Corn Stand Count.
pub const WHEEL_PLANTS: f64 = 150.0;

/// Counts below which an interval is flagged as unreliable. Common practice, no source.
pub const FEW_COUNTS: usize = 4;

pub(crate) fn valid_row_width(row_width: Length) -> Result<Length, Error> {
    within("a row width", row_width.inches(), 1.0, 120.0, " in").map(|_| row_width)
}

pub(crate) fn valid_density(
    what: &'static str,
    density: PlantDensity,
    least_per_acre: f64,
) -> Result<PlantDensity, Error> {
    within(what, density.per_acre(), least_per_acre, 1e9, " per acre").map(|_| density)
}

fn valid_plants(plants: f64) -> Result<f64, Error> {
    within("a number of plants", plants, 0.0, 1e6, "")
}
