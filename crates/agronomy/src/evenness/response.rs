//! What plants that come up days later cost: the planted patterns, and tables of share late × delay.

use crate::error::{Error, within};

/// The shares of late plants that were planted.
const SHARES: [f64; 4] = [0.0, 0.25, 0.5, 0.75];
/// The delays, days: none, the middle planting (10 to 12 days), the late one (21 to 27 days).
pub(super) const DELAYS: [f64; 3] = [0.0, 11.0, 24.0];

/// A pattern of early (E), middle (M) and late (L) plants within the row, as it was planted.
///
/// *Source:* E. D. Nafziger, P. R. Carter, E. E. Graham (1991), Response of corn to uneven emergence, Crop Science
/// 31:811-815; means of seven environments in Illinois and Wisconsin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LatePattern {
    /// All early.
    AllEarly,
    /// Three early, one middle.
    QuarterMiddle,
    /// Early and middle in turn.
    HalfMiddle,
    /// Three early, three middle.
    HalfMiddleBlocks,
    /// One early, three middle.
    MostMiddle,
    /// All middle.
    AllMiddle,
    /// Three early, one late.
    QuarterLate,
    /// Early and late in turn.
    HalfLate,
    /// Three early, three late.
    HalfLateBlocks,
    /// One early, three late.
    MostLate,
    /// All late.
    AllLate,
}

words!(LatePattern, "pattern", {
    AllEarly => "all-E", QuarterMiddle => "3E:1M", HalfMiddle => "1E:1M", HalfMiddleBlocks => "3E:3M",
    MostMiddle => "1E:3M", AllMiddle => "all-M", QuarterLate => "3E:1L", HalfLate => "1E:1L",
    HalfLateBlocks => "3E:3L", MostLate => "1E:3L", AllLate => "all-L",
});

impl LatePattern {
    /// Returns the yield that was harvested, Mg/ha.
    pub const fn tonnes_per_hectare(self) -> f64 {
        match self {
            Self::AllEarly => 11.8,
            Self::QuarterMiddle => 11.0,
            Self::HalfMiddle => 10.7,
            Self::HalfMiddleBlocks | Self::MostMiddle => 10.9,
            Self::AllMiddle => 11.1,
            Self::QuarterLate => 10.5,
            Self::HalfLate => 9.2,
            Self::HalfLateBlocks => 9.4,
            Self::MostLate => 9.1,
            Self::AllLate => 10.4,
        }
    }

    /// Returns the share of late plants, and how late they were planted, days.
    pub const fn late(self) -> (f64, f64) {
        match self {
            Self::AllEarly => (0.0, 0.0),
            Self::QuarterMiddle => (0.25, DELAYS[1]),
            Self::HalfMiddle | Self::HalfMiddleBlocks => (0.5, DELAYS[1]),
            Self::MostMiddle => (0.75, DELAYS[1]),
            Self::AllMiddle => (1.0, DELAYS[1]),
            Self::QuarterLate => (0.25, DELAYS[2]),
            Self::HalfLate | Self::HalfLateBlocks => (0.5, DELAYS[2]),
            Self::MostLate => (0.75, DELAYS[2]),
            Self::AllLate => (1.0, DELAYS[2]),
        }
    }

    /// Returns the yield as a share of that of a uniform early stand.
    ///
    /// Early and late in turn (computed by hand): 9.2 / 11.8.
    /// ```
    /// let share = ligule_agronomy::evenness::LatePattern::HalfLate.share_of_uniform();
    /// assert!((share - 0.780).abs() < 0.0005);
    /// ```
    pub const fn share_of_uniform(self) -> f64 {
        self.tonnes_per_hectare() / Self::AllEarly.tonnes_per_hectare()
    }
}

/// Which reading of the planted patterns a loss is looked up in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LateTable {
    /// Where half of the plants are late, early and late in turn.
    InTurn,
    /// Where half of the plants are late, three and three.
    Blocks,
    /// The mean of both, losses rounded to half a percent; reckoned.
    Smoothed,
}

words!(LateTable, "table", { InTurn => "in-turn", Blocks => "blocks", Smoothed => "smoothed" });

impl LateTable {
    /// Losses at a delay by share of late plants, %.
    pub(super) fn losses(self, delay: usize) -> [f64; 4] {
        use LatePattern as P;
        if delay == 0 {
            return [0.0; 4];
        }
        let lost = |pattern: LatePattern| (1.0 - pattern.share_of_uniform()) * 100.0;
        let middle = delay == 1;
        let half = match (self, middle) {
            (Self::Smoothed, true) => return [0.0, 7.0, 8.5, 8.0],
            (Self::Smoothed, false) => return [0.0, 11.0, 21.0, 23.0],
            (Self::InTurn, true) => P::HalfMiddle,
            (Self::InTurn, false) => P::HalfLate,
            (Self::Blocks, true) => P::HalfMiddleBlocks,
            (Self::Blocks, false) => P::HalfLateBlocks,
        };
        let (quarter, most) = if middle { (P::QuarterMiddle, P::MostMiddle) } else { (P::QuarterLate, P::MostLate) };
        [0.0, lost(quarter), lost(half), lost(most)]
    }
}

/// Returns the share of yield that late plants cost, beside a uniform early stand.
///
/// Late plants never cut yield below that of the same stand without them, so they are no reason to remove anything.
///
/// *Units:* share of plants, days late; a share of yield. *Holds:* corn, plants late within the row; shares 0 to 0.75,
/// delays 0 to 24 days; interpolated between the patterns. Where most plants are late, the stand is a late one instead.
/// *Errors:* [`Error::OutsideTable`]; [`Error::OutOfRange`]. *Source:* E. D. Nafziger, P. R. Carter, E. E. Graham (1991),
/// Response of corn to uneven emergence, Crop Science 31:811-815.
///
/// Half of the plants 24 days late: 22.0 % in turn, 21 % in the smoothed table.
/// ```
/// use ligule_agronomy::evenness::{LateTable, late_loss};
/// assert!((late_loss(LateTable::InTurn, 0.5, 24.0)? - 0.220).abs() < 0.0005);
/// assert!((late_loss(LateTable::Smoothed, 0.5, 24.0)? - 0.21).abs() < 1e-9);
/// assert!(late_loss(LateTable::Smoothed, 0.8, 24.0).is_err());
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn late_loss(table: LateTable, share_late: f64, days_late: f64) -> Result<f64, Error> {
    let share = within("a share of plants", share_late, 0.0, 1.0, "")?.max(0.0);
    let days = within("a delay", days_late, 0.0, 365.0, " days")?.max(0.0);
    let outside = |what, covers: &str, came: String| Error::OutsideTable {
        table: "late plants",
        what,
        covers: covers.to_owned(),
        came,
    };
    let Some((row, along_days)) = place(&DELAYS, days) else {
        return Err(outside("delays", "0 to 24 days", format!("{days}")));
    };
    let Some((column, along_shares)) = place(&SHARES, share) else {
        return Err(outside("shares of late plants", "0 to 75 %", format!("{:.1} %", share * 100.0)));
    };
    let at = |delay: usize| {
        let losses = table.losses(delay);
        losses[column] + (losses[column + 1] - losses[column]) * along_shares
    };
    Ok((at(row) + (at(row + 1) - at(row)) * along_days) / 100.0)
}

/// Returns the knot at or below a number and how far it is to the next; `None` outside.
fn place(knots: &[f64], number: f64) -> Option<(usize, f64)> {
    let index = knots.windows(2).position(|pair| pair[0] <= number && number <= pair[1])?;
    Some((index, (number - knots[index]) / (knots[index + 1] - knots[index])))
}
