//! Published sequential plans: soybean aphid, and stink bugs in corn.

use crate::catalogue::{Cell, Origin, Table};
use crate::error::{Error, within};
use crate::stage::CornStage;
use crate::thresholds::Stop;

/// A row of the plan for soybean aphid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AphidRow {
    /// Plants looked at so far.
    pub plants: u64,
    /// Stop as safe at this many positive plants or fewer.
    pub safe_at_most: u64,
    /// Stop as at or above the line at this many positive plants or more.
    pub damaging_at_least: u64,
    /// How it came to us.
    pub origin: Origin,
}

/// Aphids from which a plant counts as positive; counting stops there.
pub const APHID_TALLY: u32 = 40;

/// The plan for soybean aphid: 11 plants, then 5 at a time. A result above the line must be confirmed 3 to 4 days later.
///
/// *Source:* E. W. Hodgson et al., University of Minnesota, binomial sequential plan for soybean aphid (2004), as
/// University of Minnesota Extension, Northwest Research and Outreach Center, Cropping Issues (July 2006) and Iowa
/// Soybean Association print it; the row of 11 plants and the end at 31 read on the page, rows 16 to 31 from memory,
/// to be verified (all lie on the lines 0.8 n − 2.8 and 0.8 n + 2.2).
pub const APHID_PLAN: [AphidRow; 5] = {
    const fn row(plants: u64, safe_at_most: u64, damaging_at_least: u64, origin: Origin) -> AphidRow {
        AphidRow { plants, safe_at_most, damaging_at_least, origin }
    }
    [
        row(11, 6, 11, Origin::Page),
        row(16, 10, 15, Origin::Memory),
        row(21, 14, 19, Origin::Memory),
        row(26, 18, 23, Origin::Memory),
        row(31, 22, 27, Origin::Memory),
    ]
};

pub(crate) const APHID_SOURCE: &str = "E. W. Hodgson et al. (2004), University of Minnesota, binomial sequential plan \
    for soybean aphid, as University of Minnesota Extension, Cropping Issues (July 2006) prints it";

/// Returns what the plan for soybean aphid says of `positive` plants (40 aphids or more) among `plants`.
///
/// *Holds:* after 11, 16, 21, 26 or 31 plants; reliability of 75 %; R1 to R5 (sources end it at pod set or at pod
/// fill). *Errors:* [`Error::OutsideTable`] for another number of plants, [`Error::MoreFoundThanLookedAt`]. *Source:*
/// see [`APHID_PLAN`].
///
/// ```
/// use ligule_agronomy::thresholds::{Stop, aphid_plan};
/// let after_eleven = [6, 7, 10, 11].map(|positive| aphid_plan(positive, 11).unwrap());
/// assert_eq!(after_eleven, [Stop::Below, Stop::More, Stop::More, Stop::Above]);
/// ```
pub fn aphid_plan(positive: u64, plants: u64) -> Result<Stop, Error> {
    if positive > plants {
        return Err(Error::MoreFoundThanLookedAt { found: positive, trials: plants });
    }
    let row = APHID_PLAN.iter().find(|row| row.plants == plants).ok_or_else(|| Error::OutsideTable {
        table: "the plan for soybean aphid",
        what: "a number of plants",
        covers: "11, 16, 21, 26, 31".to_owned(),
        came: plants.to_string(),
    })?;
    let last = APHID_PLAN.last().is_some_and(|last| last.plants == plants);
    Ok(if positive >= row.damaging_at_least {
        Stop::Above
    } else if positive <= row.safe_at_most {
        Stop::Below
    } else if last {
        Stop::Revisit
    } else {
        Stop::More
    })
}

/// A row of the plan for stink bugs in corn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StinkBugRow {
    /// The first stage, as text.
    pub from: &'static str,
    /// The last stage, as text.
    pub to: &'static str,
    /// Where on the plant to look.
    pub place: &'static str,
    /// No treatment at this many bugs or fewer on 100 plants.
    pub safe_at_most: u64,
    /// At or above the line from this many bugs on, however few plants they came from.
    pub damaging_at_least: u64,
}

/// Plants of the frame of the plan for stink bugs.
pub const STINK_BUG_PLANTS: u64 = 100;

/// The plan for stink bugs in corn: bugs counted on up to 100 plants.
///
/// *Source:* North Carolina State University Extension, Stink bug threshold. The page heads the last row R1 to R4; its
/// author later shortened the time of protection to R2.
pub const STINK_BUG_PLAN: [StinkBugRow; 3] = {
    const fn row(stages: (&'static str, &'static str), place: &'static str, safe: u64, damaging: u64) -> StinkBugRow {
        StinkBugRow { from: stages.0, to: stages.1, place, safe_at_most: safe, damaging_at_least: damaging }
    }
    [
        row(("V1", "V6"), "stalk base below the lowest green leaf", 6, 13),
        row(("V14", "VT"), "one leaf above to one leaf below the primary ear", 9, 18),
        row(("R1", "R4"), "one leaf above to two leaves below the ear", 35, 52),
    ]
};

pub(crate) const STINK_BUG_SOURCE: &str =
    "North Carolina State University Extension, Stink bug threshold, entomology.ces.ncsu.edu/stink-bug-threshold";

/// Returns what the plan for stink bugs in corn says of a running count.
///
/// *Units:* `bugs` found on `plants` plants so far. *Holds:* V1 to V6, V14 to VT, R1 to R4, North Carolina, at most 100
/// plants. *Errors:* [`Error::OutsideTable`] at other stages, [`Error::OutOfRange`]. *Source:* see [`STINK_BUG_PLAN`].
///
/// At V4, 8 bugs after 100 plants are in between; 13 decide at any point:
/// ```
/// use ligule_agronomy::thresholds::{Stop, stink_bug_plan};
/// let v4 = "V4".parse()?;
/// assert_eq!(stink_bug_plan(v4, 8, 100)?, Stop::More);
/// assert_eq!(stink_bug_plan(v4, 13, 40)?, Stop::Above);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn stink_bug_plan(stage: CornStage, bugs: u64, plants: u64) -> Result<Stop, Error> {
    within("a number of plants", plants as f64, 1.0, STINK_BUG_PLANTS as f64, "")?;
    let stages = |text: &str| text.parse::<CornStage>().expect("a test reads every stage of the plan");
    let row = STINK_BUG_PLAN.iter().find(|row| stages(row.from) <= stage && stage <= stages(row.to));
    let row = row.ok_or_else(|| Error::OutsideTable {
        table: "the plan for stink bugs",
        what: "stages",
        covers: STINK_BUG_PLAN.map(|row| format!("{} to {}", row.from, row.to)).join(", "),
        came: stage.to_string(),
    })?;
    Ok(if bugs >= row.damaging_at_least {
        Stop::Above
    } else if plants == STINK_BUG_PLANTS && bugs <= row.safe_at_most {
        Stop::Below
    } else {
        Stop::More
    })
}

pub(crate) fn tables() -> Vec<Table> {
    let aphids = Table::new(
        "aphid-plan",
        "Sequential plan for soybean aphid: positive plants (40 aphids or more) among those looked at",
        "A result above the line is confirmed by a second visit 3 to 4 days later; R1 to R5.",
        ["plants", "stop, below: at most", "stop, above: at least"],
    );
    let aphids = APHID_PLAN.iter().fold(aphids, |table, row| {
        let cells: [Cell; 3] = [row.plants, row.safe_at_most, row.damaging_at_least].map(|n| (n as f64).into());
        table.row(cells, row.origin, APHID_SOURCE)
    });
    let bugs = Table::new(
        "stink-bug-plan",
        "Sequential plan for stink bugs in corn: bugs on up to 100 plants",
        "North Carolina. The author of the page later shortened the last row to R2.",
        ["from", "to", "where to look", "none at most", "line from"],
    );
    let bugs = STINK_BUG_PLAN.iter().fold(bugs, |table, row| {
        let (safe, damaging) = (row.safe_at_most as f64, row.damaging_at_least as f64);
        let cells = [row.from.into(), row.to.into(), row.place.into(), safe.into(), damaging.into()];
        table.row(cells, Origin::Page, STINK_BUG_SOURCE)
    });
    vec![aphids, bugs]
}
