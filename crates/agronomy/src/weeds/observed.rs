//! Losses that were seen, to hold a curve against.

use crate::catalogue::{Origin, Table};

/// A loss of corn yield that was observed at a density of a weed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// The weed: `velvetleaf`.
    pub weed: &'static str,
    /// Its density, plants per metre of row.
    pub density: f64,
    /// Yield loss, per cent.
    pub loss: f64,
    /// When it emerged.
    pub emerged: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// 2 plants per foot of row, in plants per metre.
const TWO_A_FOOT: f64 = 2.0 / 0.3048;

const WISCONSIN: &str = "University of Wisconsin, Variations in corn yield losses due to weed competition, after T. H. \
    Beckett et al. (1988), Weed Science 36:764-769, and J. L. Lindquist et al. (1996); 2 plants a foot of row";
const MASSINGA: &str = "R. A. Massinga et al. (2001), Interference of Palmer amaranth in corn, Weed Science 49:202-208";

const fn seen(weed: &'static str, density: f64, loss: f64, source: &'static str) -> Observation {
    Observation { weed, density, loss, emerged: "with the corn", origin: Origin::Page, source }
}

/// What was observed. One point is no curve: the I that follows from it holds there and nowhere else.
pub const OBSERVED: [Observation; 6] = [
    seen("giant-foxtail", TWO_A_FOOT, 10.0, WISCONSIN),
    seen("common-lambsquarters", TWO_A_FOOT, 11.0, WISCONSIN),
    seen("velvetleaf", TWO_A_FOOT, 18.0, WISCONSIN),
    seen("common-cocklebur", TWO_A_FOOT, 22.0, WISCONSIN),
    seen("palmer-amaranth", 0.5, 11.0, MASSINGA),
    seen("palmer-amaranth", 8.0, 91.0, MASSINGA),
];

/// The weeds of [`OBSERVED`].
pub(crate) const WEEDS: &[&str] =
    &["giant-foxtail", "common-lambsquarters", "velvetleaf", "common-cocklebur", "palmer-amaranth"];

/// Returns what was observed of a weed, by density.
///
/// ```
/// assert_eq!(ligule_agronomy::weeds::observations_of("palmer-amaranth").count(), 2);
/// ```
pub fn observations_of(weed: &str) -> impl Iterator<Item = &'static Observation> {
    OBSERVED.iter().filter(move |observation| observation.weed == weed)
}

pub(crate) fn tables() -> Vec<Table> {
    let table = Table::new(
        "weed-losses",
        "Yield losses of corn that were observed, by weed and density",
        "Losses change with place and year: lambsquarters in seven places cost 0 to 100 %, with a threshold of one year \
         from 0.32 to 4.17 plants a metre of row (D. W. Fischer et al., 2004, Weed Science 52). Show a range.",
        ["weed", "plants per m of row", "loss, %", "emerged"],
    );
    vec![OBSERVED.iter().fold(table, |table, seen| {
        let cells = [seen.weed.into(), seen.density.into(), seen.loss.into(), seen.emerged.into()];
        table.row(cells, seen.origin, seen.source)
    })]
}
