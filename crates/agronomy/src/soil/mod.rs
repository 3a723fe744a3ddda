//! Soil looked at and felt: moisture, structure, rupture resistance, residue.

mod feel;
mod moisture;
mod residue;
mod rupture;
mod structure;
mod tables;
mod water;
mod worksheets;

pub use feel::{Feel, TextureClass, texture_class};
pub use moisture::{Layer, ProfileWater, available, deficit, deficit_of, depletion, profile_water};
pub use residue::{CONSERVATION_TILLAGE, ResidueClass, ResidueCover, residue_class, residue_cover};
pub use rupture::{Moisture, Rupture, rupture_resistance};
pub use structure::{Grade, Shape, SizeClass, SizeSystem, size_class};
pub use water::WaterPerDepth;

pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;
