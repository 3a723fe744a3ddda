//! Degree days, worked step by step.

mod crop;
mod day;
mod forecast;

use crate::catalogue::Worksheet;

pub(crate) const WORKSHEETS: &[Worksheet] =
    &[day::DAY, crop::EMERGENCE, crop::LEAF, crop::MATURITY, crop::DELAY, forecast::FORECAST];
