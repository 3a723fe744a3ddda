//! One ingredient, alone or in a mix, against what is known of the plants.

use ligule_rule_sdk::Evidence;

use crate::{
    limits::{Limits, Lower, Mark, Placement, Upper},
    plants::{Plants, Spread},
};

/// Days for which a recorded stage or height may stand for today; common practice, no source.
const MOST_DAYS: i32 = 3;
/// A window is closing within so many inches of its end; common practice, no source.
const CLOSING_IN: f64 = 4.0;
/// A window is closing within so many collars of its end; common practice, no source.
const CLOSING_COLLARS: f64 = 1.0;
/// Stages from here on are not counted in collars.
const TASSEL: f64 = 100.0;

/// Where an ingredient stands; a later one outranks an earlier one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum State {
    /// No conflict was found.
    Open,
    /// No conflict was found, and a limit is near.
    Closing,
    /// It cannot be told: a limit that is kept is from memory, which is no evidence.
    Memory,
    /// It cannot be told: a limit, a stage or a height is missing.
    Unknown,
    /// It cannot be told, and a limit from memory is not kept.
    PastMemory,
    /// The plants are too small.
    TooEarly,
    /// The hybrid does not tolerate it.
    NoTolerance,
    /// A limit is passed.
    Past,
}

/// What was compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum What {
    Stage,
    Height,
    FirstHeight,
    Tolerance,
    /// The table holds nothing for this ingredient and placement.
    NothingOnFile,
}

/// One comparison.
#[derive(Debug, Clone)]
pub(crate) struct Check {
    /// Row of the table; meaningless for [`What::NothingOnFile`].
    pub(crate) row: usize,
    pub(crate) what: What,
    pub(crate) state: State,
    pub(crate) limit: Option<f64>,
    /// Days since the plants were looked at, where that is too long ago.
    pub(crate) days_old: Option<i32>,
}

/// Where one ingredient stands, and every comparison made.
#[derive(Debug, Clone)]
pub(crate) struct Verdict {
    pub(crate) ingredient: String,
    pub(crate) state: State,
    pub(crate) checks: Vec<Check>,
}

impl Limits {
    /// Compares an ingredient; every row for it alone counts, and every row for it with a partner of the mix.
    pub(crate) fn verdict(
        &self,
        ingredient: &str,
        mix: &[String],
        placement: Placement,
        plants: &Plants,
        as_of: i32,
    ) -> Verdict {
        let mut checks = Vec::new();
        for (row, limit) in self.rows.iter().enumerate() {
            let counts = limit.ingredient == ingredient
                && limit.placement == placement
                && limit.partner.as_ref().is_none_or(|partner| mix.contains(partner));
            if !counts {
                continue;
            }
            let check = |what, (state, limit, days_old)| Check { row, what, state, limit, days_old };
            if let Some(needed) = &limit.tolerance {
                let state = match &plants.tolerance {
                    None => State::Unknown,
                    Some(has) if has.contains(needed) => State::Open,
                    Some(_) => State::NoTolerance,
                };
                checks.push(check(What::Tolerance, (state, None, None)));
            }
            let stage = upper(limit.stage, plants.stage.as_ref(), as_of, CLOSING_COLLARS, 1.0);
            checks.push(check(What::Stage, stage));
            if let Some(first) = limit.first {
                checks.push(check(What::FirstHeight, lower(first, plants.height.as_ref(), as_of)));
            }
            checks.push(check(What::Height, upper(limit.height, plants.height.as_ref(), as_of, CLOSING_IN, 0.0)));
        }
        if checks.is_empty() {
            checks.push(Check {
                row: 0,
                what: What::NothingOnFile,
                state: State::Unknown,
                limit: None,
                days_old: None,
            });
        }
        let state = checks.iter().map(|c| c.state).max().unwrap_or(State::Unknown);
        Verdict { ingredient: ingredient.to_owned(), state, checks }
    }
}

impl Verdict {
    /// Returns the comparisons that decide a state; for an open window all of them.
    pub(crate) fn deciding(&self, state: State) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(move |c| c.state == state || state <= State::Closing && c.limit.is_some())
    }
}

impl Check {
    pub(crate) fn evidence(&self, plants: &Plants) -> Evidence {
        let (spread, least) = match self.what {
            What::Stage => (&plants.stage, false),
            What::Height => (&plants.height, false),
            What::FirstHeight => (&plants.height, true),
            What::Tolerance => {
                return Evidence { observed: None, limit: None, rows: plants.tolerance_rows.clone() };
            }
            What::NothingOnFile => return Evidence::default(),
        };
        let observed = spread.as_ref().map(|s| if least { s.least } else { s.most });
        let rows = spread.as_ref().map(|s| s.rows.clone()).unwrap_or_default();
        Evidence { observed, limit: self.limit, rows }
    }
}

type Outcome = (State, Option<f64>, Option<i32>);

fn upper(limit: Upper, plants: Option<&Spread>, as_of: i32, closing: f64, step: f64) -> Outcome {
    let (limit, before, mark) = match limit {
        Upper::Unknown => return (State::Unknown, None, None),
        Upper::NoLimit => return (State::Open, None, None),
        Upper::Known { limit, before, mark } => (limit, before, mark),
    };
    let Some(plants) = plants else { return (State::Unknown, Some(limit), None) };
    // Plants do not shrink: a limit that was passed stays passed.
    if plants.most > limit || before && plants.most >= limit {
        let state = if mark == Mark::Memory { State::PastMemory } else { State::Past };
        return (state, Some(limit), None);
    }
    let days = as_of - plants.day;
    if days > MOST_DAYS {
        return (State::Unknown, Some(limit), Some(days));
    }
    let last = if before { limit - step } else { limit };
    let near = limit < TASSEL && last - plants.most <= closing;
    let state = match mark {
        Mark::Memory => State::Memory,
        Mark::Page if near => State::Closing,
        Mark::Page => State::Open,
    };
    (state, Some(limit), None)
}

fn lower(first: Lower, plants: Option<&Spread>, as_of: i32) -> Outcome {
    let (first, mark) = match first {
        Lower::Unknown => return (State::Unknown, None, None),
        Lower::Known { limit, mark } => (limit, mark),
    };
    let Some(plants) = plants else { return (State::Unknown, Some(first), None) };
    let days = as_of - plants.day;
    let state = match (plants.least >= first, mark) {
        (true, Mark::Page) => State::Open,
        (true, Mark::Memory) => State::Memory,
        (false, _) if days > MOST_DAYS => return (State::Unknown, Some(first), Some(days)),
        (false, Mark::Page) => State::TooEarly,
        (false, Mark::Memory) => State::PastMemory,
    };
    (state, Some(first), None)
}
