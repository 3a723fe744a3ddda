//! Residue cover by line transect.

use crate::error::{Error, within};
use crate::statistics;

/// The share of cover after planting from which on tillage is called conservation tillage. *Source:* University of
/// Missouri G1570 (1993), Estimating residue by line transect.
pub const CONSERVATION_TILLAGE: f64 = 0.30;

/// The level of the intervals given.
const LEVEL: f64 = 0.95;

/// Residue cover in classes. Common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ResidueClass {
    /// Under 15 %.
    Under15,
    /// 15 to 30 %.
    Under30,
    /// 30 to 50 %.
    Under50,
    /// 50 to 75 %.
    UpTo75,
    /// Over 75 %.
    Over75,
}

words!(ResidueClass, "class", {
    Under15 => "under 15 %",
    Under30 => "15 to 30 %",
    Under50 => "30 to 50 %",
    UpTo75 => "50 to 75 %",
    Over75 => "over 75 %",
});

/// Returns the class of a residue cover.
///
/// *Units:* a share. *Holds:* 0 to 1; a cover exactly on a limit belongs to the class that begins there, except 75 %,
/// which is not over 75 %. *Errors:* [`Error::OutOfRange`]. *Source:* common practice, no source.
///
/// ```
/// use ligule_agronomy::soil::residue_class;
/// let words = [0.10, 0.30, 0.75, 0.80].map(|cover| residue_class(cover).unwrap().word());
/// assert_eq!(words, ["under 15 %", "30 to 50 %", "50 to 75 %", "over 75 %"]);
/// ```
pub fn residue_class(cover: f64) -> Result<ResidueClass, Error> {
    let cover = within("a residue cover", cover, 0.0, 1.0, "")?;
    Ok(match cover {
        c if c < 0.15 => ResidueClass::Under15,
        c if c < 0.30 => ResidueClass::Under30,
        c if c < 0.50 => ResidueClass::Under50,
        c if c <= 0.75 => ResidueClass::UpTo75,
        _ => ResidueClass::Over75,
    })
}

/// The residue cover of several transects.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResidueCover {
    /// How many transects there were.
    pub transects: usize,
    /// The mean cover, a share.
    pub mean: f64,
    /// The 95 % t interval of the mean, within 0 and 1; from two transects on.
    pub interval: Option<(f64, f64)>,
    /// The class of the mean.
    pub class: ResidueClass,
    /// Whether the mean reaches 30 %.
    pub conservation: bool,
}

/// Returns the residue cover from the marks that lay over residue on each transect.
///
/// A line with 100 marks, at 45° to the rows; look straight down at the same edge of each mark; count pieces that would
/// stop a raindrop. Readers of a tape tend to count too much: on 60 transects by 10 points (Journal of Soil and Water
/// Conservation 76(5):403, 2021).
///
/// *Units:* `hits` of each transect, out of `marks`; shares out. *Holds:* 1 to 10,000 marks; 3 to 5 transects a field,
/// away from headlands. *Errors:* [`Error::TooFew`] without transects or marks; [`Error::MoreFoundThanLookedAt`];
/// [`Error::OutOfRange`]. *Source:* University of Missouri G1570 (1993), Estimating residue by line transect; Kansas
/// State University, Estimating crop residue cover; the interval NIST/SEMATECH (2012), e-Handbook of Statistical
/// Methods, section 7.2.2.1.
///
/// 44 of 100 marks:
/// ```
/// let cover = ligule_agronomy::soil::residue_cover(&[44], 100)?;
/// assert_eq!((cover.mean, cover.conservation), (0.44, true));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn residue_cover(hits: &[u32], marks: u32) -> Result<ResidueCover, Error> {
    if hits.is_empty() {
        return Err(Error::TooFew { what: "transects", needed: 1, came: 0 });
    }
    if marks == 0 {
        return Err(Error::TooFew { what: "marks on the line", needed: 1, came: 0 });
    }
    within("marks on the line", marks.into(), 1.0, 10_000.0, "")?;
    if let Some(found) = hits.iter().find(|found| **found > marks) {
        return Err(Error::MoreFoundThanLookedAt { found: (*found).into(), trials: marks.into() });
    }
    let shares: Vec<f64> = hits.iter().map(|found| f64::from(*found) / f64::from(marks)).collect();
    let mean = statistics::mean(&shares)?;
    let half_width = statistics::t_half_width(&shares, LEVEL).ok();
    Ok(ResidueCover {
        transects: shares.len(),
        mean,
        interval: half_width.map(|half| ((mean - half).max(0.0), (mean + half).min(1.0))),
        class: residue_class(mean)?,
        // A mean of exactly 30 % must not miss it by a rounding of binary.
        conservation: mean >= CONSERVATION_TILLAGE - 1e-12,
    })
}
