//! Degree days: of a day, of a season with gaps, and what they foretell.
//!
//! Different methods give different numbers on the same day, so a sum means nothing without its [`Model`].

mod accumulate;
mod column;
mod course;
mod emergence;
mod forecast;
mod insects;
mod leaf;
mod maturity;
mod model;
mod sine;
mod stages;
mod tables;
mod worksheets;

pub use accumulate::{Accumulation, FORECAST_MISSING_LIMIT, accumulate};
pub use column::accumulate_columns;
pub use course::{Course, Reached, StationDay};
pub use emergence::{
    EMERGENCE_FIGURES, EmergenceFigure, EmergenceNeed, SOYBEAN_EMERGENCE, Seedbed, Texture, emergence_need,
    usual_emergence,
};
pub use forecast::{Ahead, FORECAST_HORIZON, LEAST_YEARS, StageForecast, YearAhead, forecast_stage};
pub use insects::{INSECT_FORMS, InsectForm};
pub use leaf::{LeafPrediction, LeafRate, predict_leaf_stage};
pub use maturity::{
    BLACK_LAYER_FIGURES, MaturityFigure, SILK_FIGURES, StageNeed, TASSEL_FIGURES, black_layer_needs, days_after_1_may,
    delayed_planting_maturity, delayed_planting_silk, silk_needs, tassel_needs,
};
pub use model::{Method, Model};
pub use stages::{SeasonLength, stage_course};

pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;
