//! The stage of a field, from the collars of its plants.

use crate::error::{Error, within};
use crate::stage::{CornStage, SoybeanStage};

/// The most collars that a plant of a field is taken to have: Corn Belt hybrids commonly bear 18 to 21 leaves, and more
/// than 24 is taken for a slip of the pen. Common practice, no source.
pub(crate) const LAST_COLLAR: u8 = 24;

/// What [`LAST_COLLAR`] bounds.
pub(crate) const COLLARS: &str =
    "a number of leaf collars (hybrids commonly bear 18 to 21 leaves; over 24 is taken for a slip, common practice)";

/// The stage of a field, and how even it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldStage {
    /// The highest stage that half of the plants or more are at or past.
    pub stage: CornStage,
    /// How many plants were staged.
    pub plants: usize,
    /// The share of plants at or past `stage`.
    pub share_at_or_past: f64,
    /// The stage of the least developed plant.
    pub least: CornStage,
    /// The stage of the most developed plant.
    pub greatest: CornStage,
    /// The share of plants one collar or more behind `stage`.
    pub share_one_behind: f64,
    /// The share of plants two collars or more behind `stage`.
    pub share_two_behind: f64,
}

/// Returns the stage of a field: the highest that at least half of its plants are at or past.
///
/// That stage is the median plant (the more developed of the two in the middle of an even number), and the spread
/// is counted from it.
///
/// *Units:* `collars` has one entry for each plant, its number of visible leaf collars, 0 for an emerged plant
/// without one; plants not emerged are left out. *Holds:* 0 to 24 collars; 10 to 20 consecutive plants are usual
/// (common practice, no source). *Errors:* [`Error::TooFew`] without plants, [`Error::OutOfRange`].
/// *Source:* P. Thomison, Identifying vegetative growth stages in corn, Ohio State University AGF-127; the spread is
/// common practice.
///
/// Ten plants, of which five are at V4 or past it (computed by hand):
/// ```
/// let field = ligule_agronomy::stage::field_stage(&[2, 3, 3, 3, 3, 4, 4, 4, 4, 5])?;
/// assert_eq!(field.stage.to_string(), "V4");
/// assert_eq!((field.share_at_or_past, field.share_one_behind, field.share_two_behind), (0.5, 0.5, 0.1));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn field_stage(collars: &[u8]) -> Result<FieldStage, Error> {
    let mut sorted = Vec::with_capacity(collars.len());
    for &n in collars {
        within(COLLARS, n.into(), 0.0, LAST_COLLAR.into(), "")?;
        sorted.push(n);
    }
    sorted.sort_unstable();
    let (Some(&least), Some(&greatest)) = (sorted.first(), sorted.last()) else {
        return Err(Error::TooFew { what: "plants", needed: 1, came: 0 });
    };
    let median = sorted[sorted.len() / 2];
    let share = |of: &dyn Fn(u8) -> bool| sorted.iter().filter(|n| of(**n)).count() as f64 / sorted.len() as f64;
    Ok(FieldStage {
        stage: CornStage::leaf(median)?,
        plants: sorted.len(),
        share_at_or_past: share(&|n| n >= median),
        least: CornStage::leaf(least)?,
        greatest: CornStage::leaf(greatest)?,
        share_one_behind: share(&|n| n < median),
        share_two_behind: share(&|n| n + 1 < median),
    })
}

/// Returns the stage of a soybean field: the highest that at least half of its plants are at or past.
///
/// *Units:* one stage for each plant, all of them V (with VE and VC) or all of them R. *Holds:* every stage. *Errors:*
/// [`Error::TooFew`] without plants; [`Error::UnknownStage`] where V and R stages are mixed. *Source:* W. R. Fehr and C. E.
/// Caviness (1977), Stages of soybean development, Iowa State University Special Report 80.
///
/// ```
/// let stages = ["V2", "V3", "V3", "VC"].map(|stage| stage.parse().expect("a stage"));
/// assert_eq!(ligule_agronomy::stage::soybean_field_stage(&stages)?.to_string(), "V3");
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn soybean_field_stage(stages: &[SoybeanStage]) -> Result<SoybeanStage, Error> {
    let Some(first) = stages.first() else {
        return Err(Error::TooFew { what: "plants", needed: 1, came: 0 });
    };
    if let Some(other) = stages.iter().find(|stage| stage.partial_cmp(&first).is_none()) {
        let expected = "V stages of all plants, or R stages of all plants";
        return Err(Error::UnknownStage { crop: "soybean", expected, came: format!("{first} beside {other}") });
    }
    let mut sorted = stages.to_vec();
    sorted.sort_by(|a, b| a.partial_cmp(b).expect("stages of one scale have an order"));
    Ok(sorted[sorted.len() / 2])
}
