//! Degree days: of a day, of a season with gaps, and what they foretell.
//!
//! Different methods give different numbers on the same day, so a sum means nothing without its [`Model`].

mod accumulate;
mod emergence;
mod leaf;
mod maturity;
mod model;

pub use accumulate::{Accumulation, FORECAST_MISSING_LIMIT, accumulate};
pub use emergence::{
    EMERGENCE_FIGURES, EmergenceFigure, EmergenceNeed, Seedbed, Texture, emergence_need, usual_emergence,
};
pub use leaf::{LeafPrediction, LeafRate, predict_leaf_stage};
pub use maturity::delayed_planting_maturity;
pub use model::{Method, Model};
