//! The formulas of damage as worksheets.

mod hail;
mod survival;

use crate::catalogue::Worksheet;

pub(crate) const WORKSHEETS: &[Worksheet] = &[
    hail::LEAF_LOSS,
    hail::LOSS,
    hail::SOYBEAN_NODES,
    survival::GROWING_POINT,
    survival::DAYS_TO_WAIT,
    survival::FROST,
    survival::FLOOD,
];

/// What every worksheet of hail says.
const NO_SETTLEMENT: &str = "An agronomic estimate, not an insurance settlement; ask the insurer before anything is \
                             done to the stand.";
