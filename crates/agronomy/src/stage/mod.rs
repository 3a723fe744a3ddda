//! Growth stages: of a plant, of a field, from other counts of leaves, and as BBCH codes.

mod bbch;
mod corn;
mod counts;
mod field;
mod soybean;
mod tables;
mod worksheets;

pub use bbch::{BbchRange, bbch, soybean_bbch};
pub use corn::CornStage;
pub use counts::{CollarRange, LeafCount, SplitStalk, collars_from, stage_by_split_stalk};
pub use field::{FieldStage, field_stage, soybean_field_stage};
pub use soybean::SoybeanStage;

pub(crate) use field::{COLLARS, LAST_COLLAR};
pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;
