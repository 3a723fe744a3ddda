//! What weeds cost corn, and when they must be gone.
//!
//! - [`Hyperbola`]: yield loss by the density of one weed or several, [`loss_with_emergence`] by density and time of
//!   emergence, [`loss_by_leaf_area`] by leaf area. The parameters change with place and year: [`OBSERVED`] shows what
//!   was seen, so that a curve can be held against it.
//! - [`nebraska_period`]: the critical weed-free period by nitrogen rate; [`REMOVAL`]: what other places found.
//! - [`days_until_height`]: days until a weed passes a height limit.
//! - [`atrazine_year`]: the atrazine of a calendar year against its limits.

mod atrazine;
mod height;
mod loss;
mod observed;
mod period;
mod worksheets;

pub use atrazine::{ATRAZINE_ERODIBLE, ATRAZINE_POST, ATRAZINE_YEAR, AtrazineApplication, AtrazineYear, atrazine_year};
pub use height::{GROWTH, GrowthRate, days_until_height};
pub use loss::{Hyperbola, Species, loss_by_leaf_area, loss_with_emergence};
pub use observed::{OBSERVED, Observation, observations_of};
pub use period::{NEBRASKA, PeriodRow, REMOVAL, Removal, WeedFreePeriod, Within, nebraska_period};

pub(crate) use worksheets::WORKSHEETS;

pub(crate) fn tables() -> Vec<crate::catalogue::Table> {
    [atrazine::tables(), height::tables(), observed::tables(), period::tables()].concat()
}
