//! Hail, frost and flood: yield loss by stage, and whether plants live.
//!
//! - The hail chart ([`leaf_loss`]) counts leaves as adjusters do, not collars: [`AdjusterOffset`] turns one into the
//!   other, and sources differ by a leaf, so the caller chooses.
//! - Stand loss and direct loss come first, leaf loss acts on what is left: [`combined_loss`].
//! - Survival limits of frost and flood differ between publications; every version is listed, none is averaged.
//!
//! These are agronomic estimates, not an insurance settlement; an insurer's adjuster sees the field before anything is
//! done to it.

mod chart;
mod flood;
mod frost;
mod growing_point;
mod late_chart;
mod offset;
mod soybean;
mod stage;
mod stand;
mod tables;
mod wait;
mod worksheets;

pub use chart::{HailChart, leaf_loss, leaf_loss_range};
pub use flood::{FloodLimit, Outlook, flood_limits};
pub use frost::{FrostLimit, frost_limits, frost_reached};
pub use growing_point::{GrowingPoint, growing_point};
pub use offset::{AdjusterOffset, hail_rows};
pub use soybean::{NodeStudy, soybean_node_loss, soybean_regrows};
pub use stage::HailStage;
pub use stand::{TableLoss, combined_loss, early_stand_loss, early_stand_losses, late_stand_loss};
pub use wait::{Event, Wait, days_to_wait, wait_range};

use flood::flood_sources;
pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;

/// The crop that was hit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Crop {
    /// Corn: the growing point stays below the surface until about V5 or V6.
    Corn,
    /// Soybean: the growing point is above the surface from emergence on.
    Soybean,
}

words!(Crop, "crop", { Corn => "corn", Soybean => "soybean" });

/// Returns the value at `x` on the line through `knots`, which rise in x; `x` lies within them.
fn on_the_line(knots: &[(f64, f64)], x: f64) -> f64 {
    let after = knots.iter().position(|knot| knot.0 >= x).unwrap_or(knots.len() - 1).max(1);
    let ((x0, y0), (x1, y1)) = (knots[after - 1], knots[after]);
    let share = ((x - x0) / (x1 - x0)).clamp(0.0, 1.0);
    y0 + (y1 - y0) * share
}
