//! Roots dug and looked at: rootworm injury, the angle of the nodal roots, sidewall compaction, rootless corn.

mod growth;
mod node_injury;
mod rootless;
mod tables;
mod worksheets;

pub use growth::{RootAngle, Sidewall, root_angle, sidewall};
pub use node_injury::{
    NodeInjury, NodeLossStudy, WELL_PROTECTED, from_old_scale, injury_loss, node_injury, to_old_scale,
};
pub use rootless::{RootlessSigns, rootless_signs};

pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;
