//! Harvest: yield before and after it, moisture, test weight, and what stands in the field at the end.
//!
//! - [`component_yield`]: ears, kernel rows, kernels; the [`KERNEL_FACTORS`] differ, so the answer is shown as a range.
//! - [`water_shrink`], [`dried_weight`], [`standard_bushels`]: to 15.5 % (corn) or 13 % (soybean).
//! - [`plot_yield`]: a hand-harvested plot. [`kilograms_per_hectare`]: metric.
//! - [`test_weight_metric`], [`test_weight_grade`]: density, which is not yield.
//! - [`late_count`]: harvest stand, barren and lodged plants.
//!
//! A bushel is a weight here: 56 lb of corn, 60 lb of soybean, at standard moisture, whatever its test weight.

mod components;
mod grain;
mod late;
mod moisture;
mod plot;
mod tables;
mod test_weight;
mod worksheets;

pub use components::{
    KERNEL_FACTORS, KernelFactor, USUAL_KERNEL_FACTOR, component_yield, component_yield_range, kernel_factor,
};
pub use grain::Grain;
pub use late::{LateCount, LatePlants, Share, late_count, stand_kept};
pub use moisture::{USUAL_HANDLING_LOSS, dried_weight, pencil_shrink, shrink_a_point, standard_bushels, water_shrink};
pub use plot::{kilograms_per_hectare, plot_yield};
pub use test_weight::{test_weight_grade, test_weight_metric};

pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;
