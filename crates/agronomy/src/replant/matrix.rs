//! Yield potential by planting date and stand, read from a published table.

use jiff::civil::Date;
use ligule_units::PlantDensity;

use super::printed::{self, Grid};
use super::season::{MonthDay, day_name, day_of_season, month_day};
use crate::catalogue::with_marks;
use crate::error::Error;

/// Which published table of yield by planting date and stand is read. They differ, so the caller chooses the region.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum YieldMatrix {
    /// Illinois and Indiana, 10 April to 9 June, 10,000 to 36,000 plants; from 25 May on extrapolated by its authors.
    /// *Source:* E. D. Nafziger (1994), Journal of Production Agriculture 7:59-62, as table 1 of R. L. Nielsen (2006,
    /// 2012), Purdue Pest & Crop newsletter.
    Illinois,
    /// Iowa, 20 April to 28 June, 12,000 to 32,000 plants; may flatter late planting. *Source:* Iowa State University
    /// Extension (2001), Corn planting guide, PM 1885.
    Iowa2001,
    /// Iowa, 20 April to 15 June, 20,000 to 35,000 plants; thin stands partly reckoned from the ratio of their row.
    /// *Source:* Iowa State University Extension (3 May 2010), Stand evaluations.
    Iowa2010,
    /// Southern Wisconsin (relative maturity 95 to 115 days), full-season hybrid, 20 April to 20 June, 26,000 to 36,000
    /// plants. *Source:* J. Lauer (2003), Evaluation of corn stands, Wisconsin Crop Manager 10(7):56-57.
    WisconsinFull,
    /// The same with a shorter-season hybrid, as a share of the full-season yield.
    WisconsinShort,
}

words!(YieldMatrix, "table", {
    Illinois => "illinois",
    Iowa2001 => "iowa-2001",
    Iowa2010 => "iowa-2010",
    WisconsinFull => "wisconsin-full",
    WisconsinShort => "wisconsin-short",
});

impl YieldMatrix {
    pub(super) const fn grid(self) -> &'static Grid {
        match self {
            Self::Illinois => &printed::ILLINOIS,
            Self::Iowa2001 => &printed::IOWA_2001,
            Self::Iowa2010 => &printed::IOWA_2010,
            Self::WisconsinFull => &printed::WISCONSIN_FULL,
            Self::WisconsinShort => &printed::WISCONSIN_SHORT,
        }
    }

    /// Returns author, year and title.
    pub const fn source(self) -> &'static str {
        match self {
            Self::Illinois => {
                "E. D. Nafziger (1994), Journal of Production Agriculture 7:59-62, as table 1 of R. L. Nielsen \
                 (2006, 2012), Purdue Pest & Crop newsletter"
            }
            Self::Iowa2001 => {
                "Iowa State University Extension (2001), Corn planting guide, PM 1885, as printed on 24 May 2004"
            }
            Self::Iowa2010 => {
                "Iowa State University Extension (3 May 2010), Stand evaluations, East-Central and Southeast Iowa crop \
                 information"
            }
            Self::WisconsinFull | Self::WisconsinShort => {
                "J. Lauer (2003), Evaluation of corn stands, Wisconsin Crop Manager 10(7):56-57, tables behind \
                 bulletin A3353"
            }
        }
    }

    /// Returns where the table holds, and what is doubtful in it.
    pub const fn holds(self) -> &'static str {
        match self {
            Self::Illinois => {
                "Uniform stands at more than about 125 bu/ac (below about 100 bu/ac no response above 24,000 \
                 plants). From 25 May on extrapolated by its authors. Hybrids of about 1990: today's bear thicker \
                 stands (from memory, to be verified)."
            }
            Self::Iowa2001 => {
                "Uniform stands. A value holds through its printed dates. Drops 13 points from 24,000 to 20,000 \
                 plants, far steeper than other tables, and may flatter late planting (University of Nebraska, \
                 2009). Replaced in Iowa by the table of 2010."
            }
            Self::Iowa2010 => {
                "Uniform stands. A value holds through its printed dates; a day that ends one range and begins the next \
                 is read in the earlier. Reckoned from the ratio of their row, not read on the page: 20,000 plants \
                 after 5 May, 25,000 after 25 May. Lower stands could not be read."
            }
            Self::WisconsinFull => "Southern Wisconsin, full-season hybrid. Stands below 26,000 could not be read.",
            Self::WisconsinShort => {
                "Southern Wisconsin, shorter-season hybrid; from about 20 May on it yields more than the \
                 full-season one. Stands below 26,000 could not be read."
            }
        }
    }

    /// Returns the least yield of a full stand for which the table was made, bu/ac; `None` where none is printed.
    ///
    /// *Source:* that of the table; for Illinois, R. L. Nielsen (2006): uniform stands at more than about 125 bu/ac, and
    /// below about 100 no response above 24,000 plants.
    ///
    /// ```
    /// use ligule_agronomy::replant::YieldMatrix;
    /// assert_eq!(YieldMatrix::Illinois.least_yield(), Some(125.0));
    /// ```
    pub const fn least_yield(self) -> Option<f64> {
        match self {
            Self::Illinois => Some(125.0),
            Self::Iowa2001 | Self::Iowa2010 | Self::WisconsinFull | Self::WisconsinShort => None,
        }
    }

    /// Returns whether the percentages of both tables are shares of the same full yield.
    pub fn compares_with(self, other: Self) -> bool {
        let wisconsin = |one| matches!(one, Self::WisconsinFull | Self::WisconsinShort);
        self == other || wisconsin(self) && wisconsin(other)
    }

    /// The first and the last day of the table.
    pub(super) fn days(self) -> (MonthDay, MonthDay) {
        let rows = self.grid().rows;
        (rows[0].first, rows[rows.len() - 1].last)
    }

    /// The least and the greatest stand of the table, plants per acre.
    pub(super) fn stands(self) -> (f64, f64) {
        let stands = self.grid().stands;
        (stands[0].0 * 1000.0, stands[stands.len() - 1].1 * 1000.0)
    }

    /// The stands at which the surface bends, plants per acre, and the column that is read there.
    pub(super) fn stand_knots(self) -> Vec<(f64, usize)> {
        knots(self.grid().stands.iter().map(|(least, most)| (least * 1000.0, most * 1000.0)))
    }

    fn day_knots(self) -> Vec<(f64, usize)> {
        let grid = self.grid();
        knots(grid.rows.iter().map(|row| (day_of_season(row.first), day_of_season(row.last))))
    }
}

/// The ends of every range, each with the index of its range; a range of one point is one knot.
fn knots(ranges: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, usize)> {
    let mut knots = Vec::new();
    for (index, (first, last)) in ranges.enumerate() {
        knots.push((first, index));
        if last > first {
            knots.push((last, index));
        }
    }
    knots
}

/// Returns the two indices between which `x` lies, and the weight of the second; nothing outside the knots.
fn place(knots: &[(f64, usize)], x: f64) -> Option<(usize, usize, f64)> {
    let ((first, _), (last, _)) = (knots.first()?, knots.last()?);
    // What a conversion leaves behind the ninth digit is no step over the edge.
    let slack = 1e-9 * last.abs().max(1.0);
    if !(first - slack..=last + slack).contains(&x) {
        return None;
    }
    let after = knots.iter().position(|knot| knot.0 >= x).unwrap_or(knots.len() - 1).max(1);
    let ((low, before), (high, next)) = (knots[after - 1], knots[after]);
    Some((before, next, ((x - low) / (high - low)).clamp(0.0, 1.0)))
}

/// Returns the yield of a planting date and a stand, as a share of the full yield of its table.
///
/// A value holds on every day of its printed range, and a day that two ranges share is read in the earlier. Between
/// printed dates and stands the surface is bilinear; outside it nothing is read. The stand is uniform: gaps and
/// late plants come off afterwards ([`uneven_stand`](super::uneven_stand)).
///
/// *Units:* a date, of which the month and the day count; living plants per area at or near their final stand; a share
/// out. *Holds:* see [`YieldMatrix::holds`]. *Errors:* [`Error::OutsideTable`] beyond the printed dates and stands,
/// or where a cell is not printed. *Source:* [`YieldMatrix::source`].
///
/// Planted on 27 April, 21,000 plants: 93.0 % on 25 April, 93.5 % on 30 April, two fifths of the way (computed by
/// hand from the table):
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::replant::{YieldMatrix, yield_potential};
/// use ligule_units::PlantDensity;
/// let stand = PlantDensity::from_per_acre(21_000.0);
/// let share = yield_potential(YieldMatrix::Illinois, date(2026, 4, 27), stand)?;
/// assert!((share - 0.932).abs() < 1e-9);
/// assert!(yield_potential(YieldMatrix::Illinois, date(2026, 6, 10), stand).is_err());
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn yield_potential(matrix: YieldMatrix, planted: Date, stand: PlantDensity) -> Result<f64, Error> {
    let (grid, per_acre) = (matrix.grid(), stand.per_acre());
    let (earlier, later, day_weight) =
        place(&matrix.day_knots(), day_of_season(month_day(planted))).ok_or_else(|| {
            let (first, last) = matrix.days();
            outside(matrix, "planting dates", format!("{} to {}", day_name(first), day_name(last)), planted, stand)
        })?;
    let (thinner, thicker, stand_weight) = place(&matrix.stand_knots(), per_acre).ok_or_else(|| {
        let (least, most) = matrix.stands();
        let covers = format!("{} to {} plants per acre", with_marks(least, 0), with_marks(most, 0));
        outside(matrix, "stands", covers, planted, stand)
    })?;
    let along = |row: usize| between(grid.rows[row].percent[thinner], grid.rows[row].percent[thicker], stand_weight);
    let percent = between(along(earlier), along(later), day_weight);
    if percent.is_nan() {
        return Err(outside(matrix, "cells", "those that are printed".to_owned(), planted, stand));
    }
    Ok(percent / 100.0)
}

/// The value at a share of the way; never outside the two, as a weighted sum can be by its rounding. A blank (NaN) counts
/// only where the way leads to it.
fn between(from: f64, to: f64, share: f64) -> f64 {
    match share {
        0.0 => from,
        1.0 => to,
        _ if from.is_nan() || to.is_nan() => f64::NAN,
        _ => (from + share * (to - from)).clamp(from.min(to), from.max(to)),
    }
}

/// Returns what every table says of a planting date and a stand: the same, or why it says nothing.
///
/// *Units*, *holds* and *errors:* as [`yield_potential`]. *Source:* each table's.
///
/// 20,000 plants of 1 May, contested from 81 to 92 % (read from the tables):
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::replant::yield_potentials;
/// use ligule_units::PlantDensity;
/// let all = yield_potentials(date(2026, 5, 1), PlantDensity::from_per_acre(20_000.0));
/// let said: Vec<_> = all.iter().filter_map(|(_, share)| share.as_ref().ok()).collect();
/// assert_eq!(said.len(), 3);
/// assert!(said.iter().all(|share| (0.81..=0.92).contains(*share)));
/// ```
pub fn yield_potentials(planted: Date, stand: PlantDensity) -> Vec<(YieldMatrix, Result<f64, Error>)> {
    YieldMatrix::ALL.iter().map(|matrix| (*matrix, yield_potential(*matrix, planted, stand))).collect()
}

/// Refuses a yield level for which the table was not made.
pub(super) fn made_for(matrix: YieldMatrix, full_yield: f64) -> Result<(), Error> {
    match matrix.least_yield() {
        Some(least) if full_yield < least * (1.0 - 1e-9) => Err(Error::OutsideTable {
            table: name(matrix),
            what: "yields of a full stand",
            covers: format!("above about {least:.0} bu/ac"),
            came: format!("{} bu/ac", with_marks(full_yield, 0)),
        }),
        _ => Ok(()),
    }
}

const fn name(matrix: YieldMatrix) -> &'static str {
    match matrix {
        YieldMatrix::Illinois => "the Illinois table of yield by date and stand",
        YieldMatrix::Iowa2001 => "the Iowa table of 2001 of yield by date and stand",
        YieldMatrix::Iowa2010 => "the Iowa table of 2010 of yield by date and stand",
        YieldMatrix::WisconsinFull => "the Wisconsin table of yield by date and stand, full-season hybrid",
        YieldMatrix::WisconsinShort => "the Wisconsin table of yield by date and stand, short-season hybrid",
    }
}

fn outside(matrix: YieldMatrix, what: &'static str, covers: String, planted: Date, stand: PlantDensity) -> Error {
    let came = match what {
        "planting dates" => day_name(month_day(planted)),
        "stands" => with_marks(stand.per_acre(), 0),
        _ => format!("{} with {} plants per acre", day_name(month_day(planted)), with_marks(stand.per_acre(), 0)),
    };
    Error::OutsideTable { table: name(matrix), what, covers, came }
}
