//! How even the plants of a row stand.

use ligule_units::Length;

use super::gap_limits;
use crate::error::{Error, within};
use crate::statistics;

/// Gaps of a row, against the spacing aimed at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpacingSummary {
    /// How many gaps were measured.
    pub gaps: usize,
    /// Their mean.
    pub mean: Length,
    /// Their standard deviation (n − 1); from two gaps on.
    pub sd: Option<Length>,
    /// Standard deviation over mean, as a share; from two gaps on.
    pub cv: Option<f64>,
    /// The share of gaps up to half the spacing aimed at: doubles (multiples index).
    pub multiples: f64,
    /// The share of gaps over 1½ times the spacing aimed at: skips (miss index).
    pub misses: f64,
    /// The share of gaps that are neither (quality of feed index).
    pub quality_of_feed: f64,
    /// Standard deviation over mean of the gaps that are neither, as a share (precision); from two of them on.
    pub precision: Option<f64>,
}

/// Returns the gaps between plants from their places along a tape, in order.
///
/// *Units:* lengths from the start of the tape. *Holds:* two plants or more, places of 0 to 10,000 ft. *Errors:*
/// [`Error::TooFew`]; [`Error::OutOfRange`] where a place lies before the one above it in the list.
///
/// ```
/// use ligule_units::Length;
/// let gaps = ligule_agronomy::spacing::gaps_from_positions(&[0.0, 6.0, 13.0, 18.0].map(Length::from_inches))?;
/// assert!(gaps.iter().zip([6.0, 7.0, 5.0]).all(|(gap, inches)| (gap.inches() - inches).abs() < 1e-9));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn gaps_from_positions(positions: &[Length]) -> Result<Vec<Length>, Error> {
    if positions.len() < 2 {
        return Err(Error::TooFew { what: "plants along the tape", needed: 2, came: positions.len() });
    }
    let mut gaps = Vec::with_capacity(positions.len() - 1);
    let mut last: Option<f64> = None;
    for place in positions {
        let least = last.unwrap_or(0.0);
        let inches = within("a place along the tape, after the one before", place.inches(), least, 120_000.0, " in")?;
        if let Some(last) = last {
            gaps.push(Length::from_inches((inches - last).max(0.0)));
        }
        last = Some(inches);
    }
    Ok(gaps)
}

/// Returns how even the gaps of a row are: mean, spread, doubles, skips, quality of feed.
///
/// *Units:* lengths. *Holds:* gaps of 0 to 100 ft; 50 gaps or more are usual (common practice, no source); a few large
/// gaps dominate mean and standard deviation, so look at doubles and skips too. *Errors:* [`Error::TooFew`] without gaps;
/// [`Error::OutOfRange`]. *Source:* Iowa State University, Plant uniformity measurements, after S. D. Kachman and J. A.
/// Smith (1995), Transactions of the ASAE 38:379-387; precision also ISO 7256-1:1984.
///
/// Seven gaps at 6.53 in (computed by hand): one double, two skips.
/// ```
/// use ligule_units::Length;
/// let gaps = [6.5, 6.6, 3.0, 6.4, 13.0, 6.7, 17.0].map(Length::from_inches);
/// let found = ligule_agronomy::spacing::spacing_summary(&gaps, Length::from_inches(6.53))?;
/// assert!((found.multiples - 1.0 / 7.0).abs() < 1e-12 && (found.misses - 2.0 / 7.0).abs() < 1e-12);
/// assert!((found.quality_of_feed - 0.571).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn spacing_summary(gaps: &[Length], nominal: Length) -> Result<SpacingSummary, Error> {
    if gaps.is_empty() {
        return Err(Error::TooFew { what: "gaps", needed: 1, came: 0 });
    }
    let limits = gap_limits(nominal)?;
    let mut inches = Vec::with_capacity(gaps.len());
    for gap in gaps {
        inches.push(within("a gap", gap.inches(), 0.0, 1200.0, " in")?);
    }
    let (double, skip) = (limits.double.inches(), limits.one_skip.inches());
    let share = |of: &dyn Fn(f64) -> bool| inches.iter().filter(|gap| of(**gap)).count() as f64 / inches.len() as f64;
    let singles: Vec<f64> = inches.iter().copied().filter(|gap| *gap > double && *gap <= skip).collect();
    let (mean, sd) = (statistics::mean(&inches)?, statistics::sample_sd(&inches).ok());
    let variation = |sd: f64, mean: f64| (mean > 0.0).then(|| sd / mean);
    let precision = match (statistics::sample_sd(&singles), statistics::mean(&singles)) {
        (Ok(sd), Ok(mean)) => variation(sd, mean),
        _ => None,
    };
    Ok(SpacingSummary {
        gaps: gaps.len(),
        mean: Length::from_inches(mean),
        sd: sd.map(Length::from_inches),
        cv: sd.and_then(|sd| variation(sd, mean)),
        multiples: share(&|gap| gap <= double),
        misses: share(&|gap| gap > skip),
        quality_of_feed: singles.len() as f64 / inches.len() as f64,
        precision,
    })
}
