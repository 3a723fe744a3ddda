//! Degree days to the stages of corn, by groups of hybrids.

use ligule_units::DegreeDays;

/// How long a hybrid takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SeasonLength {
    /// Short.
    Short,
    /// Medium.
    Medium,
    /// Long.
    Long,
}

words!(SeasonLength, "season", { Short => "short", Medium => "medium", Long => "long" });

/// The publication of [`HIGH_PLAINS`].
pub(super) const HIGH_PLAINS_SOURCE: &str =
    "High Plains Regional Climate Center, University of Nebraska, corn coefficients with growing degree days by stage";

/// °F days to each stage for short, medium and long hybrids. Leaves here are leaves, not collars.
pub(super) const HIGH_PLAINS: [(&str, [f64; 3]); 13] = [
    ("4 leaves", [240.0; 3]),
    ("6 leaves", [360.0; 3]),
    ("8 leaves", [480.0; 3]),
    ("10 leaves", [600.0; 3]),
    ("12 leaves", [720.0; 3]),
    ("14 leaves", [840.0; 3]),
    ("16 leaves", [960.0; 3]),
    ("silk", [1144.0, 1200.0, 1273.0]),
    ("blister", [1327.0, 1440.0, 1585.0]),
    ("dough", [1511.0, 1680.0, 1897.0]),
    ("begin dent", [1695.0, 1920.0, 2210.0]),
    ("full dent", [1878.0, 2160.0, 2522.0]),
    ("black layer", [2062.0, 2400.0, 2835.0]),
];

/// The publication of [`WISCONSIN`].
pub(super) const WISCONSIN_SOURCE: &str =
    "J. G. Lauer, Corn development, University of Wisconsin, degree days by stage";

/// °F days from 15 May to each stage of a hybrid of 95 to 105 days, lower and upper.
pub(super) const WISCONSIN: [(&str, f64, f64); 7] = [
    ("V8", 600.0, 600.0),
    ("V13", 900.0, 900.0),
    ("VT", 1200.0, 1200.0),
    ("R3", 1550.0, 1550.0),
    ("R4", 1900.0, 1900.0),
    ("R5", 2200.0, 2200.0),
    ("R6", 2400.0, 2600.0),
];

/// Returns the degree days to each stage of corn for a group of hybrids, in order.
///
/// *Units:* °F or °C days of the corn model. *Holds:* the High Plains; leaves are leaves, not collars, counted from
/// emergence at 60 °F days each. *Source:* High Plains Regional Climate Center, corn coefficients.
///
/// ```
/// use ligule_agronomy::degree_days::{SeasonLength, stage_course};
/// let stages = stage_course(SeasonLength::Medium);
/// assert!(stages.iter().any(|(stage, sum)| *stage == "silk" && (sum.fahrenheit() - 1200.0).abs() < 1e-9));
/// ```
pub fn stage_course(season: SeasonLength) -> Vec<(&'static str, DegreeDays)> {
    let column = match season {
        SeasonLength::Short => 0,
        SeasonLength::Medium => 1,
        SeasonLength::Long => 2,
    };
    HIGH_PLAINS.iter().map(|(stage, sums)| (*stage, DegreeDays::from_fahrenheit(sums[column]))).collect()
}
