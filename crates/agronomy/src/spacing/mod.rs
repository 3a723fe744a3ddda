//! Plant spacing within the row: the spacing aimed at, how even it is, and what unevenness costs.

mod effect;
mod gaps;
mod nominal;
mod worksheets;

pub use effect::{SpacingStudy, pair_yield, skip_compensation, spacing_loss, spacing_losses};
pub use gaps::{SpacingSummary, gaps_from_positions, spacing_summary};
pub use nominal::{GapLimits, density_at_spacing, gap_limits, plant_spacing};

pub(crate) use effect::tables;
pub(crate) use worksheets::WORKSHEETS;
