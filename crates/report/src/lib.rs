//! The page a grower is handed after a visit.
//!
//! [`visit_report`] turns a [`VisitReport`] into one HTML page that needs nothing beside it: styles and plots are
//! inside. It prints on A4 and Letter, and reads without colour: every mark has its own shape and its own word. What was
//! found comes before what the rules say. Cautions are shown in full, those of several findings once and before the
//! first of them. Nothing is computed here: numbers come from the assessment and from rule packs, each with the
//! observations it rests on and its source.

mod error;
mod figures;
mod plot;
mod sources;
mod text;
mod visit;

#[cfg(test)]
mod tests;

/// What stands in the head of every report, so that one is told from other pages.
pub const MARK: &str = r#"<meta name="generator" content="Ligule">"#;

pub use error::ReportError;
pub use visit::{Candidate, FieldFacts, LANGUAGES, OpenConflict, VisitReport, visit_report};
