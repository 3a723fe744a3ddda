//! When corn must be free of weeds.

use crate::catalogue::{Cell, Origin, Table};
use crate::error::{Error, within};
use crate::stage::CornStage;

/// The period at one rate of nitrogen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeriodRow {
    /// Nitrogen, lb/ac.
    pub nitrogen: f64,
    /// First and last stage, leaf collars.
    pub collars: (u8, u8),
    /// First and last day after emergence.
    pub days: (f64, f64),
}

/// The critical period for 5 % loss in dryland corn of Nebraska, by nitrogen rate.
///
/// *Source:* University of Nebraska-Lincoln, CropWatch, Critical period for weed control in corn; velvetleaf, waterhemp
/// and green foxtail, 80 to 120 plants a square yard.
pub const NEBRASKA: [PeriodRow; 4] = [
    PeriodRow { nitrogen: 0.0, collars: (1, 11), days: (8.0, 45.0) },
    PeriodRow { nitrogen: 55.0, collars: (3, 10), days: (10.0, 42.0) },
    PeriodRow { nitrogen: 110.0, collars: (4, 9), days: (15.0, 39.0) },
    PeriodRow { nitrogen: 210.0, collars: (6, 9), days: (20.0, 39.0) },
];

const NEBRASKA_SOURCE: &str =
    "University of Nebraska-Lincoln, CropWatch, Critical period for weed control in corn, cropwatch.unl.edu";

/// A critical period; between two rates of the table its ends are ranges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeedFreePeriod {
    /// The stages between which it begins.
    pub begins: (CornStage, CornStage),
    /// The stages between which it ends.
    pub ends: (CornStage, CornStage),
    /// The days after emergence between which it begins.
    pub first_day: (f64, f64),
    /// The days after emergence between which it ends.
    pub last_day: (f64, f64),
}

/// Where a stage lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Within {
    /// Before the period.
    Before,
    /// In the period: weeds now cost yield.
    Inside,
    /// After the period.
    After,
    /// The table leaves it open: the stage lies between the ends of two of its rates.
    Between,
}

impl Within {
    /// Returns what the reader is told.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Before => "before the critical period",
            Self::Inside => "inside the critical period",
            Self::After => "after the critical period",
            Self::Between => "between the ends that the table gives for the rates on either side",
        }
    }
}

impl WeedFreePeriod {
    /// Returns where a stage lies.
    ///
    /// *Source:* as [`nebraska_period`].
    ///
    /// 110 lb/ac: V4 to V9.
    /// ```
    /// use ligule_agronomy::weeds::{Within, nebraska_period};
    /// let period = nebraska_period(110.0)?;
    /// assert_eq!(period.judge("V3".parse()?), Within::Before);
    /// assert_eq!(period.judge("V4".parse()?), Within::Inside);
    /// assert_eq!(period.judge("V10".parse()?), Within::After);
    /// // Between the rates of 55 and 110 it begins at V3 or V4.
    /// assert_eq!(nebraska_period(80.0)?.judge("V3".parse()?), Within::Between);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn judge(&self, stage: CornStage) -> Within {
        if stage < self.begins.0 {
            Within::Before
        } else if stage > self.ends.1 {
            Within::After
        } else if stage >= self.begins.1 && stage <= self.ends.0 {
            Within::Inside
        } else {
            Within::Between
        }
    }
}

/// Returns the critical weed-free period of corn in Nebraska for 5 % loss.
///
/// Between two rates of the table each end lies between theirs; stages are not interpolated.
///
/// *Units:* nitrogen in lb/ac. *Holds:* 0 to 210 lb/ac, dryland, dense weeds (see [`NEBRASKA`]). *Errors:*
/// [`Error::OutsideTable`] over 210, [`Error::OutOfRange`] below 0. *Source:* see [`NEBRASKA`].
///
/// 110 lb/ac: V4 to V9.
/// ```
/// use ligule_agronomy::weeds::{Within, nebraska_period};
/// assert_eq!(nebraska_period(110.0)?.judge("V5".parse()?), Within::Inside);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn nebraska_period(nitrogen: f64) -> Result<WeedFreePeriod, Error> {
    let nitrogen = within("a rate of nitrogen", nitrogen, 0.0, 1_000.0, " lb/ac")?;
    // A rate that came through kilograms is off by a rounding error.
    let near = |row: &PeriodRow| (row.nitrogen - nitrogen).abs() < 1e-6;
    let below = NEBRASKA.iter().rev().find(|row| row.nitrogen <= nitrogen || near(row));
    let above = NEBRASKA.iter().find(|row| row.nitrogen >= nitrogen || near(row));
    let (Some(below), Some(above)) = (below, above) else {
        return Err(Error::OutsideTable {
            table: "the critical periods of Nebraska",
            what: "nitrogen rates",
            covers: "0 to 210 lb/ac".to_owned(),
            came: format!("{nitrogen} lb/ac"),
        });
    };
    let stage = |collars| CornStage::leaf(collars).expect("the table's stages exist");
    let order = |a: u8, b: u8| (stage(a.min(b)), stage(a.max(b)));
    Ok(WeedFreePeriod {
        begins: order(below.collars.0, above.collars.0),
        ends: order(below.collars.1, above.collars.1),
        first_day: (below.days.0.min(above.days.0), below.days.0.max(above.days.0)),
        last_day: (below.days.1.min(above.days.1), below.days.1.max(above.days.1)),
    })
}

/// What a place found about the time by which weeds must be gone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Removal {
    /// The place and the case.
    pub place: &'static str,
    /// What it found.
    pub found: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

const SOLTANI: &str = "N. Soltani et al. (2022), Impact of delayed postemergence herbicide application on corn yield, \
    Weed Technology 36(2)";

/// What other places found. The weeds' height at removal is contested; most of it follows from their density.
pub const REMOVAL: [Removal; 8] = [
    Removal {
        place: "Ontario",
        found: "third to eighth leaf, counted by leaves that arch over, which run 1 to 2 ahead of collars",
        origin: Origin::Page,
        source: "C. Swanton, University of Guelph, Timing of weed control, gocorn.net (2006)",
    },
    Removal {
        place: "Ontario 2017-2019, dense weeds, 5 % loss",
        found: "weeds 7 cm (2.8 in), V3, 11 days after emergence, 385 crop heat units",
        origin: Origin::Page,
        source: SOLTANI,
    },
    Removal {
        place: "Ontario 2017-2019, few weeds, 5 % loss",
        found: "weeds 11 cm, V7, 27 days after emergence, 821 crop heat units",
        origin: Origin::Page,
        source: SOLTANI,
    },
    Removal {
        place: "35 places in several states",
        found: "mean loss 2 % with weeds of 2.5 in, about 4 % with 5 in; from none at 7.5 in to 13 % at 2.5 in",
        origin: Origin::Page,
        source: "S. A. Gower et al. (2003), as the press reports it",
    },
    Removal {
        place: "Minnesota",
        found: "weeds of 4 in, near V4; then about 3 bu/ac a day",
        origin: Origin::Page,
        source: "University of Minnesota Extension, as the press reports it",
    },
    Removal {
        place: "Illinois",
        found: "weeds of less than about 2 in",
        origin: Origin::Page,
        source: "University of Illinois Extension, The Bulletin, article 1502",
    },
    Removal {
        place: "Delaware",
        found: "weeds of 3 to 4 in",
        origin: Origin::Page,
        source: "University of Delaware, Weekly Crop Update, article 11937",
    },
    Removal {
        place: "all of these together",
        found: "2 in where weeds are dense, 4 in where they are few",
        origin: Origin::Practice,
        source: "a reading of the rows above",
    },
];

pub(crate) fn tables() -> Vec<Table> {
    let periods = Table::new(
        "critical-period",
        "Critical weed-free period of corn by nitrogen rate, for 5 % loss",
        "Dryland Nebraska; velvetleaf, waterhemp, green foxtail, 80 to 120 plants a square yard.",
        ["nitrogen, lb/ac", "from", "to", "from, days after emergence", "to, days"],
    );
    let periods = NEBRASKA.iter().fold(periods, |table, row| {
        let ((from, to), (first, last)) = (row.collars, row.days);
        let stages: [Cell; 2] = [format!("V{from}").into(), format!("V{to}").into()];
        let [from, to] = stages;
        table.row([row.nitrogen.into(), from, to, first.into(), last.into()], Origin::Page, NEBRASKA_SOURCE)
    });
    let removal = Table::new(
        "weed-removal",
        "By when weeds must be gone from corn, as places found it",
        "Contested: 2 in, 3 to 4 in and 4 in; density explains most of it.",
        ["place", "found"],
    );
    let removal = REMOVAL
        .iter()
        .fold(removal, |table, row| table.row([row.place.into(), row.found.into()], row.origin, row.source));
    vec![periods, removal]
}
