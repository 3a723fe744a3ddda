//! The Minnesota version of the hail chart for late stages.

use super::chart::ChartRow;
use super::stage::HailStage;
use crate::catalogue::Origin;

const SOURCE: &str = "D. Martens (2014), Weather weighs heavy on crops, University of Minnesota Extension";

/// Columns are 25, 50, 75 and 100 % of the leaf area. For a crop at these stages at the usual time of year.
pub(super) const MINNESOTA: [ChartRow; 4] = [
    row(HailStage::Silked, &[8.0, 28.0, 57.0, 95.0]),
    row(HailStage::Milk, &[5.0, 18.0, 37.0, 59.0]),
    row(HailStage::SoftDough, &[2.0, 12.0, 26.0, 41.0]),
    row(HailStage::Dent, &[0.0, 7.0, 16.0, 24.0]),
];

const fn row(stage: HailStage, loss: &'static [f64]) -> ChartRow {
    ChartRow { stages: (stage, stage), loss, origin: Origin::Page, source: SOURCE }
}
