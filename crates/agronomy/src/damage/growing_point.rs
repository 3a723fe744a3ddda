//! Where the growing point of corn is.

use crate::catalogue::Origin;
use crate::stage::CornStage;

/// Where the growing point is; below the surface it is out of reach of hail and mostly of frost, but not of flood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GrowingPoint {
    /// Below the surface.
    Below,
    /// At the surface, a little below or above: sources differ.
    AtSurface,
    /// Above the surface.
    Above,
}

words!(GrowingPoint, "position", { Below => "below the surface", AtSurface => "at the surface", Above => "above the \
                      surface" });

/// Rows of the table of positions: stages, position, in what height, origin, source.
pub(super) const POSITIONS: [(&str, GrowingPoint, &str, Origin, &str); 3] = [
    (
        "VE to V4",
        GrowingPoint::Below,
        "",
        Origin::Page,
        "R. L. Nielsen (2013), quoted on frosted corn; Ohio State University, Ohio Agronomy Guide, Making replant \
         decisions",
    ),
    (
        "V5 to V6",
        GrowingPoint::AtSurface,
        "V5 by one source, V6 by the other",
        Origin::Page,
        "R. L. Nielsen (2013), quoted on frosted corn: V5; Iowa State University, quoted in University of Delaware, \
         Weekly Crop Update, hail damage of 9 June: about V6",
    ),
    (
        "V7 and later",
        GrowingPoint::Above,
        "1 to 2 in at V7",
        Origin::Page,
        "J. Coulter, S. Naeve, Extension educators advise assessing hail-damaged corn, beans, University of Minnesota",
    ),
];

/// Returns where the growing point of corn is at a collar stage.
///
/// *Holds:* every [`CornStage`]; a plant set shallow or deep differs by a leaf. *Source:* R. L. Nielsen (2013), quoted
/// on frosted corn: below ground until about V5; Ohio State University, Ohio Agronomy Guide, and Iowa State University:
/// about V6; J. Coulter and S. Naeve, University of Minnesota: 1 to 2 in above the surface at V7.
///
/// ```
/// use ligule_agronomy::damage::{GrowingPoint, growing_point};
/// assert_eq!(growing_point("V3".parse()?), GrowingPoint::Below);
/// assert_eq!(growing_point("V6".parse()?), GrowingPoint::AtSurface);
/// assert_eq!(growing_point("V7".parse()?), GrowingPoint::Above);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn growing_point(stage: CornStage) -> GrowingPoint {
    match stage.collars() {
        Some(0..=4) => GrowingPoint::Below,
        Some(5..=6) => GrowingPoint::AtSurface,
        _ => GrowingPoint::Above,
    }
}
