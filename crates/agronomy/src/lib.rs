//! Published formulas of corn and soybean scouting: stands, stages, degree days, seed depth, and their uncertainty.
//!
//! Everything here is pure: numbers in, numbers out, no clock, no files. Each formula names its source, the range in
//! which it holds and the errors it gives; each has a published worked value as a doc test, and
//! `tests/published/` holds the crate to further tables, one file for each publication.
//!
//! - [`stand`]: plants per area from row counts, hoops and a measuring wheel; the interval around a mean.
//! - [`spacing`]: plant spacing within the row: doubles, skips, evenness, and what unevenness costs.
//! - [`evenness`]: plants that lag behind their field, and what they cost.
//! - [`stage`]: leaf-collar stages, the stage of a field, BBCH codes, each with the range it may mean.
//! - [`degree_days`]: daily degree days, their sum with missing days, emergence, leaf stage, maturity, the date of a stage.
//! - [`spraying`]: wet bulb, Delta T, wind windows, the signs of an inversion.
//! - [`depth`]: seed depth from dug plants.
//! - [`statistics`]: means, shares, lines and differences, each with its interval; planter units compared.
//! - [`damage`]: hail, frost, flood: yield loss by stage, and whether plants live.
//! - [`replant`]: yield by planting date and stand, the budget of replanting, and what must be asked first.
//! - [`harvest`]: yield components, moisture shrink, test weight, plot yields, barren and lodged plants.
//! - [`roots`]: rootworm injury, root angle, sidewall compaction, rootless corn.
//! - [`soil`]: moisture by feel, structure, rupture resistance, residue cover.
//! - [`thresholds`]: injury levels, action thresholds, sequential plans; published thresholds held against counts.
//! - [`weeds`]: yield loss, critical period, height limits. [`nitrogen`]: the nitrate test before sidedressing.
//! - [`cautions`]: what is said beside every answer that bears on a treatment.
//! - [`catalogue`]: every table with its sources, and every formula as a worksheet, by name.
//!
//! Quantities are the distinct types of `ligule-units`; shares and levels are numbers from 0 to 1. A number that is
//! out of range, infinite or not a number gives an [`Error`], never a panic.

#[macro_use]
mod words;
mod error;

pub mod catalogue;
pub mod cautions;
pub mod damage;
pub mod degree_days;
pub mod depth;
pub mod evenness;
pub mod harvest;
pub mod nitrogen;
pub mod replant;
pub mod roots;
pub mod soil;
pub mod spacing;
pub mod spraying;
pub mod stage;
pub mod stand;
pub mod statistics;
pub mod thresholds;
pub mod weeds;

// The types that this interface is spoken in, for those who stand on it.
pub use ligule_units as units;

pub use error::Error;
