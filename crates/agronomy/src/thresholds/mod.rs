//! Economic injury levels, action thresholds, and when a count may stop.
//!
//! - [`economic_injury_level`] and the thresholds that follow from it; [`borer_reckoning`] with the published forms
//!   for European corn borer; [`stalk_borer_threshold`] and [`mite_levels`], which move with the price.
//! - [`WaldPlan`], [`aphid_plan`], [`stink_bug_plan`]: sequential sampling.
//! - [`published`]: thresholds as data, with region, stages, size of larvae and source; [`Threshold::evaluate`] holds
//!   any of them against what was [`Recorded`]. It says where the count lies, never what to do: the cautions of
//!   [`crate::cautions`] belong beside every such answer.
//! - [`EVENTS`]: degree days at which pests hatch and move.

mod borer;
mod economic;
mod evaluate;
mod growth;
pub mod measure;
mod plans;
mod priced;
mod published;
mod threshold;
mod timing;
mod wald;
mod worksheets;

pub use borer::{BORER_FORMS, BorerCount, BorerForm, BorerReckoning, Figure, borer_reckoning};
pub(crate) use economic::valid_control;
pub use economic::{
    Economics, USUAL_FRACTIONS, break_even_loss, economic_injury_level, fractional_threshold, gain_threshold,
    lead_time_threshold,
};
pub use evaluate::{Assessment, Reading, Recorded, Verdict};
pub use growth::{Visit, doubling_time, growth_rate, insect_days};
pub use measure::{Kind, Measure};
pub use plans::{
    APHID_PLAN, APHID_TALLY, AphidRow, STINK_BUG_PLAN, STINK_BUG_PLANTS, StinkBugRow, aphid_plan, stink_bug_plan,
};
pub use priced::{
    MITE_AREA, MITE_LEAVES, MITE_SOURCE, MiteLevels, STALK_BORER, STALK_BORER_PRICE, STALK_BORER_SOURCE, mite_levels,
    per_foot_of_row, rescaled, stalk_borer_threshold,
};
pub use published::{all_published, published, regions_of};
pub use threshold::{Condition, Crop, CropStage, Larvae, Limit, Threshold};
pub use timing::{CUTWORM_SCOUTING, EVENTS, Event, cutworm_stage};
pub use wald::{Limits, Stop, WaldPlan};

pub(crate) use worksheets::WORKSHEETS;

pub(crate) fn tables() -> Vec<crate::catalogue::Table> {
    [borer::tables(), plans::tables(), priced::tables(), published::tables(), timing::tables()].concat()
}
