//! What plants that lag by leaves cost.

use crate::error::{Error, within};

/// Whose finding is taken for the yield that plants cost which lag by leaves. They do not agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LeafLagStudy {
    /// One plant in six, two leaves: 4 %; four leaves: 8 %. *Source:* W. Liu, M. Tollenaar, G. Stewart, W. Deen (2004),
    /// Response of corn grain yield to spatial and temporal variability in emergence, Crop Science 44:847-854.
    Ontario,
    /// Every other plant, one leaf: 6 %; two leaves: 17 %. *Source:* University of Minnesota, quoted in the farm press.
    Minnesota,
    /// Half of the plants, two leaves: 5 to 10 %. *Source:* L. Abendroth, R. Elmore (2009), Assessing corn stands for
    /// replanting, Iowa State University.
    Iowa,
}

words!(LeafLagStudy, "study", { Ontario => "ontario", Minnesota => "minnesota", Iowa => "iowa" });

/// The loss at a lag in leaves, from the least to the most, %.
type Knot = (f64, f64, f64);

impl LeafLagStudy {
    /// The share of plants that lagged, and the losses by leaves.
    pub(super) const fn found(self) -> (f64, &'static [Knot], &'static str) {
        match self {
            Self::Ontario => (
                1.0 / 6.0,
                &[(0.0, 0.0, 0.0), (2.0, 4.0, 4.0), (4.0, 8.0, 8.0)],
                "W. Liu, M. Tollenaar, G. Stewart, W. Deen (2004), Crop Science 44:847-854",
            ),
            Self::Minnesota => (
                0.5,
                &[(0.0, 0.0, 0.0), (1.0, 6.0, 6.0), (2.0, 17.0, 17.0)],
                "University of Minnesota, every other plant late, quoted in the farm press",
            ),
            Self::Iowa => (
                0.5,
                &[(0.0, 0.0, 0.0), (2.0, 5.0, 10.0)],
                "L. Abendroth, R. Elmore (14 May 2009), Assessing corn stands for replanting, Iowa State University",
            ),
        }
    }
}

/// Returns whether a study printed a loss for exactly this share and lag; elsewhere [`leaf_lag_loss`] draws a line.
///
/// A share of a sixth counts to the third decimal.
pub(super) fn is_printed(study: LeafLagStudy, share_late: f64, leaves: f64) -> bool {
    let (share, knots, _) = study.found();
    (share - share_late).abs() < 5e-4 && knots.iter().any(|knot| knot.0 > 0.0 && (knot.0 - leaves).abs() < 1e-9)
}

/// Returns the share of yield that plants cost which lag by leaves: the least and the most by one study.
///
/// Between the published points, and from them to no lag and to no late plant, it is interpolated, which is ours
/// (derived): no study printed more than its points.
///
/// *Units:* shares; leaves. *Holds:* corn, plants late within the row; up to the share and the leaves of the study.
/// *Errors:* [`Error::OutsideTable`]; [`Error::OutOfRange`]. *Source:* that of [`LeafLagStudy`].
///
/// ```
/// use ligule_agronomy::evenness::{LeafLagStudy, leaf_lag_loss};
/// let (low, high) = leaf_lag_loss(LeafLagStudy::Iowa, 0.5, 2.0)?;
/// assert!((low - 0.05).abs() < 1e-9 && (high - 0.10).abs() < 1e-9);
/// let (low, _) = leaf_lag_loss(LeafLagStudy::Minnesota, 0.5, 2.0)?;
/// assert!((low - 0.17).abs() < 1e-9);
/// assert!(leaf_lag_loss(LeafLagStudy::Ontario, 0.5, 2.0).is_err());
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn leaf_lag_loss(study: LeafLagStudy, share_late: f64, leaves: f64) -> Result<(f64, f64), Error> {
    let share = within("a share of plants", share_late, 0.0, 1.0, "")?.max(0.0);
    let leaves = within("a lag in leaves", leaves, 0.0, 30.0, "")?.max(0.0);
    let (most_share, knots, _) = study.found();
    let outside = |what, covers: String, came: String| Error::OutsideTable { table: study.word(), what, covers, came };
    if share > most_share + 1e-9 {
        let covers = format!("0 to {:.1} %", most_share * 100.0);
        return Err(outside("shares of late plants", covers, format!("{:.1} %", share * 100.0)));
    }
    let part = (share / most_share).min(1.0);
    for pair in knots.windows(2) {
        let ((from, low, high), (to, next_low, next_high)) = (pair[0], pair[1]);
        if leaves <= to {
            let along = (leaves - from) / (to - from);
            let at = |here: f64, next: f64| (here + (next - here) * along) * part / 100.0;
            return Ok((at(low, next_low), at(high, next_high)));
        }
    }
    let most = knots.last().map_or(0.0, |knot| knot.0);
    Err(outside("lags", format!("0 to {most} leaves"), format!("{leaves}")))
}
