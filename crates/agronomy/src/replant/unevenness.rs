//! What gaps and late plants take off the yield of a uniform stand.

use crate::catalogue::Origin;
use crate::error::{Error, within};

/// The gaps that are left in a stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GapPattern {
    /// None that count.
    None,
    /// Several small gaps, about 1 to 3 ft.
    Small,
    /// Numerous gaps of 4 to 6 ft.
    Large,
}

words!(GapPattern, "gaps", { None => "none", Small => "small", Large => "large" });

/// Published penalties for gaps, %: pattern, length of the gaps, least, most.
pub(super) const GAPS: [(GapPattern, &str, f64, f64, Origin, &str); 4] = [
    (GapPattern::Small, "1 to 3 ft", 2.0, 2.0, Origin::Page, IOWA_2004),
    (GapPattern::Small, "1½ to 3 ft, several", 2.0, 2.0, Origin::Page, BENSON),
    (GapPattern::Large, "4 to 6 ft, numerous", 4.0, 6.0, Origin::Page, IOWA_2004),
    (GapPattern::Large, "4 to 6 ft, numerous", 5.0, 6.0, Origin::Page, BENSON),
];

const IOWA_2004: &str = "Iowa State University Extension (24 May 2004), Corn replant decisions";
const BENSON: &str = "G. Benson (1996), 1996 corn replant decisions, Iowa State University, after older University of \
                      Illinois studies";

/// Returns the least and the greatest published share of yield that gaps cost, beside what the thinner stand costs.
///
/// *Units:* shares. *Holds:* corn, gaps within rows that are left after emergence. *Errors:* none. *Source:* G.
/// Benson (1996), 1996 corn replant decisions, Iowa State University; Iowa State University Extension (2004), Corn
/// replant decisions.
///
/// ```
/// use ligule_agronomy::replant::{GapPattern, gap_loss};
/// assert_eq!(gap_loss(GapPattern::Small), (0.02, 0.02));
/// assert_eq!(gap_loss(GapPattern::Large), (0.04, 0.06));
/// assert_eq!(gap_loss(GapPattern::None), (0.0, 0.0));
/// ```
pub fn gap_loss(pattern: GapPattern) -> (f64, f64) {
    let ours = GAPS.iter().filter(|gap| gap.0 == pattern);
    let ends = ours.fold(None, |ends: Option<(f64, f64)>, gap| {
        Some(ends.map_or((gap.2, gap.3), |(least, most)| (least.min(gap.2), most.max(gap.3))))
    });
    let (least, most) = ends.unwrap_or((0.0, 0.0));
    (least / 100.0, most / 100.0)
}

/// Returns the yield of a stand that is not uniform: its potential less each loss, one after the other.
///
/// *Units:* shares; the losses in any order: gaps, late plants, lost leaves, trouble expected of a replanted stand.
/// *Holds:* potentials 0 to 1.5, losses 0 to 1. *Errors:* [`Error::OutOfRange`]. *Source:* that losses
/// multiply is common practice, no source.
///
/// 88 % less 5 % for many gaps (computed by hand): 83.6 %:
/// ```
/// let share = ligule_agronomy::replant::uneven_stand(0.88, &[0.05])?;
/// assert!((share - 0.836).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn uneven_stand(potential: f64, losses: &[f64]) -> Result<f64, Error> {
    let mut share = within("a yield potential", potential, 0.0, 1.5, "")?;
    for loss in losses {
        share *= 1.0 - within("a share of yield lost", *loss, 0.0, 1.0, "")?.clamp(0.0, 1.0);
    }
    Ok(share)
}
