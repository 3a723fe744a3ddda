//! Yield loss from lost leaves: the national hail chart.

use super::late_chart;
use super::on_the_line;
use super::stage::HailStage;
use crate::catalogue::Origin;
use crate::error::{Error, within};

/// Which publication of the chart is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HailChart {
    /// 7-leaf to nearly mature, in tenths of the leaf area. *Source:* National Crop Insurance Association (1984), as
    /// printed by J. V. Vorst (1990), Assessing hail damage to corn, National Corn Handbook NCH-1.
    National,
    /// Silking, milk, dough and dent, in quarters of the leaf area. *Source:* D. Martens (2014), Weather weighs heavy
    /// on crops, University of Minnesota Extension.
    Minnesota,
}

words!(HailChart, "chart", { National => "national", Minnesota => "minnesota" });

/// A row of a chart: the stages it is for, and the loss at each defoliation, %.
pub(super) struct ChartRow {
    pub(super) stages: (HailStage, HailStage),
    pub(super) loss: &'static [f64],
    pub(super) origin: Origin,
    pub(super) source: &'static str,
}

impl ChartRow {
    const fn one(stage: HailStage, loss: &'static [f64], origin: Origin, source: &'static str) -> Self {
        Self { stages: (stage, stage), loss, origin, source }
    }
}

const KENTUCKY: &str = "C. Lee (2007), Corn hail damage, University of Kentucky, after National Crop Insurance \
                        Association (1984) and Vorst (1986)";
const GEORGIA: &str = "National crop insurance rows printed by University of Georgia Extension (2015), Hail damage on \
                       corn; the 10 % column is from memory, to be verified, and may be off by 1";
const REPRINT: &str = "National Crop Insurance Association chart as reprinted in the trade after J. V. Vorst (1990), \
                       Assessing hail damage to corn, National Corn Handbook NCH-1";
const RECALLED: &str = "National Crop Insurance Association chart, row from memory, to be verified";

/// The national chart; columns are 10 to 100 % of the leaf area, by tens.
pub(super) const NATIONAL: [ChartRow; 26] = {
    use HailStage::{
        Blister, Dent, EarlyDent, EarlyMilk, LateDent, LateMilk, Leaf, Milk, NearlyMature, PreBlister, Silked,
        SilksBrown, SoftDough, Tassel,
    };
    use Origin::{Memory, Page};
    [
        ChartRow::one(Leaf(7), &[0.0, 0.0, 0.0, 1.0, 2.0, 4.0, 5.0, 6.0, 8.0, 9.0], Page, KENTUCKY),
        ChartRow::one(Leaf(8), &[0.0, 0.0, 0.0, 1.0, 3.0, 5.0, 6.0, 7.0, 9.0, 11.0], Page, KENTUCKY),
        ChartRow::one(Leaf(9), &[0.0, 0.0, 1.0, 2.0, 4.0, 6.0, 7.0, 9.0, 11.0, 13.0], Page, KENTUCKY),
        ChartRow::one(Leaf(10), &[0.0, 0.0, 2.0, 4.0, 6.0, 8.0, 9.0, 11.0, 14.0, 16.0], Page, KENTUCKY),
        ChartRow::one(Leaf(11), &[0.0, 1.0, 2.0, 5.0, 7.0, 9.0, 11.0, 14.0, 18.0, 22.0], Page, KENTUCKY),
        ChartRow::one(Leaf(12), &[0.0, 1.0, 3.0, 5.0, 9.0, 11.0, 15.0, 18.0, 23.0, 28.0], Page, KENTUCKY),
        ChartRow::one(Leaf(13), &[0.0, 1.0, 3.0, 6.0, 10.0, 13.0, 17.0, 22.0, 28.0, 34.0], Page, KENTUCKY),
        ChartRow::one(Leaf(14), &[1.0, 2.0, 4.0, 8.0, 13.0, 17.0, 22.0, 28.0, 36.0, 44.0], Page, GEORGIA),
        ChartRow::one(Leaf(15), &[1.0, 2.0, 5.0, 9.0, 15.0, 20.0, 26.0, 34.0, 42.0, 51.0], Page, REPRINT),
        ChartRow::one(Leaf(16), &[1.0, 3.0, 6.0, 11.0, 18.0, 23.0, 31.0, 40.0, 49.0, 61.0], Page, GEORGIA),
        ChartRow::one(Leaf(17), &[2.0, 4.0, 7.0, 13.0, 21.0, 28.0, 37.0, 48.0, 59.0, 72.0], Page, REPRINT),
        ChartRow::one(Leaf(18), &[2.0, 5.0, 9.0, 15.0, 24.0, 33.0, 44.0, 56.0, 69.0, 84.0], Page, GEORGIA),
        ChartRow {
            stages: (Leaf(19), Leaf(21)),
            loss: &[3.0, 6.0, 11.0, 18.0, 27.0, 38.0, 51.0, 64.0, 79.0, 96.0],
            origin: Page,
            source: REPRINT,
        },
        ChartRow::one(Tassel, &[3.0, 7.0, 13.0, 21.0, 31.0, 42.0, 55.0, 68.0, 83.0, 100.0], Page, REPRINT),
        ChartRow::one(Silked, &[3.0, 7.0, 12.0, 20.0, 29.0, 39.0, 51.0, 65.0, 80.0, 97.0], Page, REPRINT),
        ChartRow::one(SilksBrown, &[2.0, 6.0, 11.0, 18.0, 27.0, 36.0, 47.0, 60.0, 74.0, 90.0], Page, REPRINT),
        ChartRow::one(PreBlister, &[2.0, 5.0, 10.0, 16.0, 24.0, 32.0, 43.0, 54.0, 66.0, 81.0], Memory, RECALLED),
        ChartRow::one(Blister, &[2.0, 5.0, 10.0, 16.0, 22.0, 30.0, 39.0, 50.0, 60.0, 73.0], Page, REPRINT),
        ChartRow::one(EarlyMilk, &[2.0, 4.0, 8.0, 14.0, 20.0, 28.0, 36.0, 45.0, 55.0, 66.0], Memory, RECALLED),
        ChartRow::one(Milk, &[1.0, 3.0, 7.0, 12.0, 18.0, 24.0, 32.0, 41.0, 49.0, 59.0], Page, REPRINT),
        ChartRow::one(LateMilk, &[1.0, 3.0, 6.0, 10.0, 15.0, 21.0, 28.0, 35.0, 42.0, 50.0], Memory, RECALLED),
        ChartRow::one(SoftDough, &[1.0, 2.0, 4.0, 8.0, 12.0, 17.0, 23.0, 29.0, 35.0, 41.0], Page, REPRINT),
        ChartRow::one(EarlyDent, &[0.0, 1.0, 2.0, 5.0, 9.0, 13.0, 18.0, 23.0, 27.0, 32.0], Memory, RECALLED),
        ChartRow::one(Dent, &[0.0, 0.0, 2.0, 4.0, 7.0, 10.0, 14.0, 17.0, 20.0, 23.0], Memory, RECALLED),
        ChartRow::one(LateDent, &[0.0, 0.0, 1.0, 3.0, 5.0, 7.0, 9.0, 11.0, 13.0, 15.0], Memory, RECALLED),
        ChartRow::one(NearlyMature, &[0.0, 0.0, 0.0, 0.0, 1.0, 3.0, 5.0, 6.0, 7.0, 8.0], Memory, RECALLED),
    ]
};

impl HailChart {
    pub(super) const fn rows(self) -> &'static [ChartRow] {
        match self {
            Self::National => &NATIONAL,
            Self::Minnesota => &late_chart::MINNESOTA,
        }
    }

    const fn covers(self) -> &'static str {
        match self {
            Self::National => {
                "7-leaf to nearly-mature (below 7-leaf the loss is taken as small: under 10 % before V5 by Indiana \
                 crop advisers, yet 8 to 48 % at V2 to V5 in a few trials, from memory, to be verified)"
            }
            Self::Minnesota => "silked, milk, soft-dough and dent",
        }
    }
}

/// Returns the share of yield that lost leaves cost.
///
/// Green leaf that is only shredded counts as leaf, not as loss (C. Lee, 2007). The loss between two columns is read on
/// a straight line, and no leaf lost is no loss; nothing is read between two stages.
///
/// *Units:* `defoliation` is the share of leaf area lost, 0 to 1; a share of yield out. *Holds:* the stages of the
/// chart, which count leaves as adjusters do ([`HailStage`]). *Errors:* [`Error::OutOfRange`]; [`Error::OutsideTable`]
/// for a stage that the chart does not have. *Source:* that of [`HailChart`].
///
/// At 13-leaf half of the leaves cost 10 % (University of Nebraska, EC126, table III), at blister 22 % (R. Elmore,
/// 2009, Corn hail loss chart, Iowa State University):
/// ```
/// use ligule_agronomy::damage::{HailChart, HailStage, leaf_loss};
/// assert!((leaf_loss(HailChart::National, HailStage::Leaf(13), 0.5)? - 0.10).abs() < 1e-12);
/// assert!((leaf_loss(HailChart::National, HailStage::Blister, 0.5)? - 0.22).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn leaf_loss(chart: HailChart, stage: HailStage, defoliation: f64) -> Result<f64, Error> {
    let defoliation = within("a share of leaf area lost", defoliation, 0.0, 1.0, "")?;
    let row = chart.rows().iter().find(|row| row.stages.0 <= stage && stage <= row.stages.1);
    let row = row.ok_or_else(|| Error::OutsideTable {
        table: "the hail chart",
        what: "stages",
        covers: chart.covers().to_owned(),
        came: stage.to_string(),
    })?;
    Ok(row_loss(row, defoliation))
}

/// Returns the least and the greatest loss over both charts and over every stage between two.
///
/// *Units:* as [`leaf_loss`]. *Holds:* where at least one chart has one of the stages. *Errors:* as [`leaf_loss`].
/// *Source:* both of [`HailChart`].
///
/// Silked, all leaves lost: 97 % nationally, 95 % in the Minnesota version:
/// ```
/// use ligule_agronomy::damage::{HailStage, leaf_loss_range};
/// let (low, high) = leaf_loss_range((HailStage::Silked, HailStage::Silked), 1.0)?;
/// assert!((low - 0.95).abs() < 1e-12 && (high - 0.97).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn leaf_loss_range(stages: (HailStage, HailStage), defoliation: f64) -> Result<(f64, f64), Error> {
    let defoliation = within("a share of leaf area lost", defoliation, 0.0, 1.0, "")?;
    let rows = HailChart::ALL.iter().flat_map(|chart| chart.rows());
    let ours = rows.filter(|row| row.stages.0 <= stages.1 && stages.0 <= row.stages.1);
    let ends = ours.map(|row| row_loss(row, defoliation)).fold(None, |ends: Option<(f64, f64)>, loss| {
        Some(ends.map_or((loss, loss), |(low, high)| (low.min(loss), high.max(loss))))
    });
    ends.ok_or_else(|| Error::OutsideTable {
        table: "the hail chart",
        what: "stages",
        covers: HailChart::National.covers().to_owned(),
        came: if stages.0 == stages.1 { stages.0.to_string() } else { format!("{} to {}", stages.0, stages.1) },
    })
}

/// Reads a row, whose columns are evenly spaced up to all leaves lost.
fn row_loss(row: &ChartRow, defoliation: f64) -> f64 {
    let columns = row.loss.len() as f64;
    let mut knots = vec![(0.0, 0.0)];
    knots.extend(row.loss.iter().enumerate().map(|(index, loss)| ((index + 1) as f64 / columns, loss / 100.0)));
    on_the_line(&knots, defoliation)
}
