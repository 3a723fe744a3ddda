//! Where replanting and keeping come out alike.

use jiff::civil::Date;
use ligule_units::PlantDensity;

use super::budget::net;
use super::season::{day_of_season, month_day};
use super::situation::Situation;
use crate::error::Error;

/// Where the sum turns, if it does within the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BreakEven<T> {
    /// It turns here.
    At(T),
    /// Replanting brings more everywhere in the table.
    ReplantThroughout,
    /// Keeping brings more everywhere in the table.
    KeepThroughout,
}

/// Returns the stand at which keeping brings as much as replanting: below it the sum favours replanting.
///
/// The surface is linear between the stands of the table, so the answer is exact. A table that falls again toward its
/// thickest stands is read from its thin end up to the first crossing.
///
/// *Units:* plants per area. *Holds* and *errors:* as [`budget`](super::budget); [`BreakEven`] says when the sum does
/// not turn within the table, and nothing is said beyond its edge. *Source:* arithmetic on the table chosen.
///
/// Iowa State University Extension (23 May 2006), Replant decisions: 180 bu/ac at $2, $50/ac to replant, 90 % in the
/// end of May; a stand that loses 24 % breaks even. In the table of 2001 that is 76.1 %, between 16,000 (74 %) and
/// 20,000 (81 %):
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::replant::{BreakEven, Costs, Planting, Situation, YieldMatrix, break_even_stand};
/// use ligule_units::PlantDensity;
/// let planting = |month, day, plants| {
///     Planting::uniform(YieldMatrix::Iowa2001, date(2006, month, day), PlantDensity::from_per_acre(plants))
/// };
/// let situation = Situation {
///     full_yield: 180.0,
///     price: 2.0,
///     harvest_cost: 0.0,
///     kept: planting(4, 25, 16_000.0),
///     replanted: planting(5, 28, 30_000.0),
///     costs: Costs { seed: 30.0, removal: 10.0, planting: 10.0, ..Costs::default() },
///     drying_points: 0.0,
///     drying_cost: 0.0,
/// };
/// let BreakEven::At(stand) = break_even_stand(&situation)? else { panic!("inside the table") };
/// // 16,000 + (90 − 13.889 − 74) / (81 − 74) × 4,000
/// assert!((stand.per_acre() - 17_206.3).abs() < 0.1);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn break_even_stand(situation: &Situation) -> Result<BreakEven<PlantDensity>, Error> {
    let with = |per_acre: f64| {
        let mut varied = *situation;
        varied.kept.stand = PlantDensity::from_per_acre(per_acre);
        net(&varied)
    };
    let mut before: Option<(f64, f64)> = None;
    let mut last_error = None;
    for (stand, _) in situation.kept.matrix.stand_knots() {
        match with(stand) {
            Ok(here) if here < 0.0 => {
                return Ok(before.map_or(BreakEven::KeepThroughout, |(thinner, there)| {
                    let share = there / (there - here);
                    BreakEven::At(PlantDensity::from_per_acre(thinner + (stand - thinner) * share))
                }));
            }
            Ok(here) => before = Some((stand, here)),
            Err(error) => last_error = Some(error),
        }
    }
    match (before, last_error) {
        (Some(_), _) => Ok(BreakEven::ReplantThroughout),
        (None, error) => Err(error.expect("a table has stands")),
    }
}

/// Returns the last day on which replanting brings at least as much as keeping.
///
/// Every day of the table after the first planting is tried; how wet the crop comes off and what the inputs cost is
/// held.
///
/// *Units:* a day of the year of replanting. *Holds* and *errors:* as [`budget`](super::budget);
/// [`BreakEven::ReplantThroughout`] where it brings more even on the table's last day, after which nothing is said.
/// *Source:* arithmetic on the table chosen.
///
/// 10,000 plants of 25 April in Illinois at 180 bu/ac and $4.50, $82/ac and 4 points of drying at $0.05 (computed by
/// hand: replanting must reach (550.80 + 82) / (180 × 4.30) = 81.76 %; 30,000 plants have 87 % on 25 May and 81 % on
/// 30 May, so 29 May is the last day):
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::replant::{BreakEven, Costs, Planting, Situation, YieldMatrix, break_even_date};
/// use ligule_units::PlantDensity;
/// let planting = |month, day, plants| {
///     Planting::uniform(YieldMatrix::Illinois, date(2026, month, day), PlantDensity::from_per_acre(plants))
/// };
/// let situation = Situation {
///     full_yield: 180.0,
///     price: 4.50,
///     harvest_cost: 0.0,
///     kept: planting(4, 25, 10_000.0),
///     replanted: planting(5, 20, 30_000.0),
///     costs: Costs { seed: 100.0, seed_credit: 50.0, removal: 12.0, planting: 20.0, ..Costs::default() },
///     drying_points: 4.0,
///     drying_cost: 0.05,
/// };
/// assert_eq!(break_even_date(&situation)?, BreakEven::At(date(2026, 5, 29)));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn break_even_date(situation: &Situation) -> Result<BreakEven<Date>, Error> {
    // Whatever is wrong beside the date is told before any other day is tried.
    net(situation)?;
    let (_, last) = situation.replanted.matrix.days();
    let mut day = situation.kept.planted;
    let (mut last_paying, mut last_tried) = (None, None);
    while let Ok(next) = day.tomorrow() {
        day = next;
        if day.year() != situation.kept.planted.year() || day_of_season(month_day(day)) > day_of_season(last) {
            break;
        }
        let mut varied = *situation;
        varied.replanted.planted = day;
        // Days without an answer are outside the table, as are cells that are not printed.
        if let Ok(net) = net(&varied) {
            last_tried = Some(day);
            if net >= 0.0 {
                last_paying = Some(day);
            }
        }
    }
    Ok(match (last_paying, last_tried) {
        (None, _) => BreakEven::KeepThroughout,
        (paying, tried) if paying == tried => BreakEven::ReplantThroughout,
        (Some(day), _) => BreakEven::At(day),
    })
}
