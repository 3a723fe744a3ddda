//! Growth stages: of a plant, of a field, and as BBCH codes.

mod bbch;
mod corn;
mod field;
mod soybean;

pub use bbch::{BbchRange, bbch, soybean_bbch};
pub use corn::CornStage;
pub use field::{FieldStage, field_stage};
pub use soybean::SoybeanStage;
