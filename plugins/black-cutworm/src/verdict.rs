//! One threshold against one count.

use ligule_rule_sdk::{Evidence, wilson_interval};

use crate::{count::Count, stage::Stage, thresholds::Threshold};

/// Days after which a count says little; common practice, no source.
const MOST_DAYS: i32 = 7;

/// What comes of a threshold and a count. Limits are per cent of plants.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Verdict {
    /// The share cut reaches the limit.
    Reached { limit: f64, stage_known: bool },
    /// It does not; `near` where the 95 % interval reaches the limit.
    Below { limit: f64, near: bool },
    /// The share reaches the limit, but too few larvae are alive.
    TooFewLarvae { limit: f64 },
    /// The larvae are larger than the threshold speaks of.
    TooLarge { limit: f64 },
    /// Something that decides was not recorded.
    CannotTell { why: Missing },
    /// The stage is past the last one at which the threshold holds.
    Outside { last: i16 },
}

/// What is missing for an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Missing {
    /// Cut plants were not counted at every site.
    Cut,
    /// Live larvae were not counted at every site.
    Larvae,
    /// The larvae's length decides, and was not measured or lies where the source gives no number.
    Length,
    /// The count is too old.
    Fresh { days: i32 },
}

/// The reasons that a finding gives, in their order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Reason {
    Cut,
    Fed,
    Live,
    Length,
    Stage,
}

enum Size {
    /// The source does not part larvae by size, or they are small.
    Small,
    Large,
    Unclear,
}

pub(crate) fn judge(t: &Threshold, count: &Count, stage: Option<&Stage>, as_of: i32) -> Verdict {
    if let (Some(last), Some(stage)) = (t.last_stage, stage)
        && stage.number > last
    {
        return Verdict::Outside { last };
    }
    let days = as_of - count.day;
    if days > MOST_DAYS {
        return Verdict::CannotTell { why: Missing::Fresh { days } };
    }
    let stage_known = stage.is_some() || t.last_stage.is_none();
    let size = size(t, count);
    let too_large = t.large.is_none() && matches!(size, Size::Large);
    if let (Some(fed), Some(fed_last), Some(affected)) = (t.fed, t.fed_last, count.affected)
        && stage.is_none_or(|s| (1..=fed_last).contains(&s.number))
        && reaches(affected, count.examined, fed)
    {
        return match size {
            _ if too_large => Verdict::TooLarge { limit: fed },
            Size::Unclear => Verdict::CannotTell { why: Missing::Length },
            _ => Verdict::Reached { limit: fed, stage_known },
        };
    }
    let Some(cut) = count.cut else { return Verdict::CannotTell { why: Missing::Cut } };
    if t.live.is_some() && count.larvae == Some(0.0) && reaches(cut, count.examined, t.low) {
        // Nothing alive, nothing to measure.
        return Verdict::TooFewLarvae { limit: t.low };
    }
    let limit = match (size, t.large) {
        (Size::Small, _) => t.low,
        (Size::Large, Some(large)) => large,
        (Size::Large, None) => {
            return if reaches(cut, count.examined, t.low) {
                Verdict::TooLarge { limit: t.low }
            } else {
                below(cut, count.examined, t.low)
            };
        }
        (Size::Unclear, large) => {
            let (least, most) = (t.low.min(large.unwrap_or(t.low)), large.map(|l| l.max(t.low)));
            match most {
                _ if !reaches(cut, count.examined, least) => least,
                Some(most) if reaches(cut, count.examined, most) => most,
                _ => return Verdict::CannotTell { why: Missing::Length },
            }
        }
    };
    if !reaches(cut, count.examined, limit) {
        return below(cut, count.examined, limit);
    }
    match (t.live, count.larvae) {
        (Some(_), None) => Verdict::CannotTell { why: Missing::Larvae },
        // A limit of 0 asks for larvae that are still there, however few.
        (Some(live), Some(larvae)) if larvae <= 0.0 || !reaches(larvae, count.examined, live) => {
            Verdict::TooFewLarvae { limit }
        }
        _ => Verdict::Reached { limit, stage_known },
    }
}

fn below(cut: f64, examined: f64, limit: f64) -> Verdict {
    let near = wilson_interval(cut, examined).is_some_and(|i| i.high * 100.0 >= limit);
    Verdict::Below { limit, near }
}

/// Compares counts, so that no rounding of a share decides.
fn reaches(hits: f64, looked_at: f64, per_cent: f64) -> bool {
    hits * 100.0 >= per_cent * looked_at
}

/// Larvae between the two lengths of a source, or on both sides, are unclear; so are those that nobody measured.
fn size(t: &Threshold, count: &Count) -> Size {
    if t.small_to.is_none() && t.large_from.is_none() {
        return Size::Small;
    }
    match count.length {
        Some((_, longest)) if t.small_to.is_some_and(|to| longest <= to) => Size::Small,
        Some((shortest, _)) if shortest >= t.large_from.or(t.small_to).unwrap_or(f64::INFINITY) => Size::Large,
        _ => Size::Unclear,
    }
}

impl Reason {
    /// Returns the reasons that a threshold and a count give.
    pub(crate) fn all(t: &Threshold, count: &Count, stage: Option<&Stage>) -> Vec<Self> {
        let mut all = vec![Self::Cut];
        if t.fed.is_some() {
            all.push(Self::Fed);
        }
        if t.live.is_some() {
            all.push(Self::Live);
        }
        if t.small_to.is_some() && count.length.is_some() {
            all.push(Self::Length);
        }
        if t.last_stage.is_some() || stage.is_some() {
            all.push(Self::Stage);
        }
        all
    }

    /// Returns the numbers of a reason.
    pub(crate) fn evidence(self, t: &Threshold, verdict: &Verdict, count: &Count, stage: Option<&Stage>) -> Evidence {
        let per_hundred = |n: Option<f64>| n.map(|n| 100.0 * n / count.examined);
        let (observed, limit) = match self {
            Self::Cut => (per_hundred(count.cut), Some(verdict.cut_limit(t))),
            Self::Fed => (per_hundred(count.affected), t.fed),
            Self::Live => (per_hundred(count.larvae), t.live),
            Self::Length => (count.length.map(|(_, longest)| longest), t.small_to),
            Self::Stage => (stage.map(|s| s.number.into()), t.last_stage.map(f64::from)),
        };
        let rows = match self {
            Self::Stage => stage.map(|s| s.rows.clone()).unwrap_or_default(),
            _ => count.rows.clone(),
        };
        Evidence { observed, limit, rows }
    }
}

impl Verdict {
    /// Returns the limit for cut plants that was applied, or the lowest one where none was.
    fn cut_limit(&self, t: &Threshold) -> f64 {
        match self {
            Self::Reached { limit, .. } | Self::TooLarge { limit } if Some(*limit) == t.fed => t.low,
            Self::Reached { limit, .. }
            | Self::Below { limit, .. }
            | Self::TooFewLarvae { limit }
            | Self::TooLarge { limit } => *limit,
            Self::CannotTell { .. } | Self::Outside { .. } => t.low,
        }
    }
}
