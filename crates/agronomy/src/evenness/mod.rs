//! Evenness of emergence: how many plants lag, and what that costs.

mod lag;
mod leaves;
mod response;
mod worksheets;

pub use lag::{EmergenceEvenness, days_behind, emergence_evenness};
pub use leaves::{LeafLagStudy, leaf_lag_loss};
pub use response::{LatePattern, LateTable, late_loss};

pub(crate) use worksheets::{WORKSHEETS, tables};
