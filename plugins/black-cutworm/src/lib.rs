//! Black cutworm in young corn: cut plants against the region's own threshold.
//!
//! The rule in one sentence: among the plants counted on the latest day, the share cut (or, in Ontario, fed upon)
//! reaches the threshold that the state or province published for larvae of that size, at a leaf stage at which
//! cutting still harms.

mod count;
mod stage;
mod thresholds;
mod verdict;
mod words;

use ligule_rule_sdk::{
    Description, Evidence, Explanation, Field, Found, Rule, RuleError, Season, Severity, Tables, WindowState,
    planting::{self, OtherCrop},
};

use count::{Count, Impossible};
use stage::Stage;
use thresholds::{Instar, Threshold};
use verdict::{Verdict, judge};

/// Degree days (F, base 50) since intense capture from which fields are scouted.
const SCOUT_FROM: f64 = 300.0;

/// The codes, in the order of their numbers.
pub(crate) const CODES: &[&str] = &[
    "at-threshold",
    "below-threshold",
    "cannot-tell",
    "outside-window",
    "no-regional-rule",
    "scout-now",
    "too-early-to-scout",
    "impossible-count",
    "other-crop",
];

pub(crate) struct BlackCutworm {
    pub(crate) thresholds: Vec<Threshold>,
    pub(crate) instars: Vec<Instar>,
}

/// What a finding is about.
pub(crate) enum Subject {
    Threshold {
        index: usize,
        verdict: Verdict,
        count: Count,
        stage: Option<Stage>,
    },
    /// The latest count has more plants cut or damaged than were examined.
    Impossible {
        sites: Vec<Impossible>,
    },
    /// Somebody looked for the insect where no threshold is on file.
    NoRule,
    DegreeDays {
        sum: f64,
    },
    OtherCrop(OtherCrop),
}

impl Rule for BlackCutworm {
    type Subject = Subject;

    fn describe() -> Description {
        Description {
            id: "black-cutworm",
            version: env!("CARGO_PKG_VERSION"),
            codes: CODES,
            needs: &[
                stage::COLLARS,
                stage::STAGE,
                count::ORGANISM,
                count::EXAMINED,
                count::AFFECTED,
                count::CUT,
                count::LARVAE,
                count::LENGTH,
                planting::CROP,
                planting::DAY,
            ],
        }
    }

    fn load(tables: &Tables) -> Result<Self, RuleError> {
        Ok(Self { thresholds: thresholds::read(tables)?, instars: thresholds::read_instars(tables)? })
    }

    fn evaluate(&self, season: &Season, field: &Field<'_>) -> Result<Vec<Found<Subject>>, RuleError> {
        if season.crop != "corn" {
            return Err(RuleError::Unsupported(format!(
                "this pack is for corn, the season's crop is `{}`",
                season.crop
            )));
        }
        if let Some(other) = planting::other_crop(field, "corn", season.as_of) {
            let reasons = vec![other.evidence()];
            return Ok(vec![found(
                "other-crop",
                Severity::Info,
                WindowState::None,
                reasons,
                Subject::OtherCrop(other),
            )]);
        }
        if !self.thresholds.iter().any(|t| t.region == season.region) {
            let rows = count::looked_for(field);
            if rows.is_empty() {
                return Ok(Vec::new());
            }
            let reasons = vec![Evidence { observed: None, limit: None, rows }];
            return Ok(vec![found("no-regional-rule", Severity::Info, WindowState::None, reasons, Subject::NoRule)]);
        }
        let stage = Stage::latest(field, season.as_of);
        let mut out = Vec::new();
        match Count::latest(field) {
            Some(Ok(count)) => {
                let here = self.thresholds.iter().enumerate().filter(|(_, t)| t.region == season.region);
                out.extend(here.map(|(i, t)| threshold_finding(i, t, &count, stage.as_ref(), season.as_of)));
            }
            Some(Err(sites)) => out.push(impossible_finding(sites)),
            None => {}
        }
        if let Some(sum) = field.derived("cutworm-degree-days-f") {
            let last = self.thresholds.iter().filter(|t| t.region == season.region).filter_map(|t| t.last_stage).max();
            let over = stage.as_ref().zip(last).is_some_and(|(s, last)| s.number > last);
            if !over {
                out.push(scouting_finding(sum));
            }
        }
        Ok(out)
    }

    fn explain(&self, season: &Season, _: &Field<'_>, found: &Found<Subject>) -> Explanation {
        words::explain(self, season, found)
    }
}

fn threshold_finding(
    index: usize,
    threshold: &Threshold,
    count: &Count,
    stage: Option<&Stage>,
    as_of: i32,
) -> Found<Subject> {
    let verdict = judge(threshold, count, stage, as_of);
    let (code, severity, window) = match &verdict {
        Verdict::Reached { stage_known: true, .. } => ("at-threshold", Severity::Act, WindowState::Open),
        Verdict::Reached { stage_known: false, .. } => ("at-threshold", Severity::Act, WindowState::Unknown),
        Verdict::Below { near: true, .. } => ("below-threshold", Severity::Watch, WindowState::Open),
        Verdict::Below { near: false, .. } | Verdict::TooFewLarvae { .. } | Verdict::TooLarge { .. } => {
            ("below-threshold", Severity::Info, WindowState::Open)
        }
        Verdict::CannotTell { .. } => ("cannot-tell", Severity::Watch, WindowState::Unknown),
        Verdict::Outside { .. } => ("outside-window", Severity::Info, WindowState::Closed),
    };
    let reasons = verdict::Reason::all(threshold, count, stage)
        .into_iter()
        .map(|reason| reason.evidence(threshold, &verdict, count, stage))
        .collect();
    let mut found = found(
        code,
        severity,
        window,
        reasons,
        Subject::Threshold { index, verdict, count: count.clone(), stage: stage.cloned() },
    );
    found.next_check_days = if matches!(severity, Severity::Watch | Severity::Act) { 2 } else { 0 };
    found
}

fn impossible_finding(sites: Vec<Impossible>) -> Found<Subject> {
    let reasons = sites
        .iter()
        .map(|site| Evidence { observed: Some(site.hits), limit: Some(site.examined), rows: site.rows.clone() })
        .collect();
    found("impossible-count", Severity::Watch, WindowState::Unknown, reasons, Subject::Impossible { sites })
}

fn scouting_finding(sum: f64) -> Found<Subject> {
    let reason = Evidence { observed: Some(sum), limit: Some(SCOUT_FROM), rows: Vec::new() };
    let subject = Subject::DegreeDays { sum };
    if sum >= SCOUT_FROM {
        found("scout-now", Severity::Watch, WindowState::Open, vec![reason], subject)
    } else {
        found("too-early-to-scout", Severity::Info, WindowState::NotYet, vec![reason], subject)
    }
}

fn found(
    code: &str,
    severity: Severity,
    window: WindowState,
    reasons: Vec<Evidence>,
    subject: Subject,
) -> Found<Subject> {
    let code = CODES.iter().position(|c| *c == code).expect("every code used is in the list") as u16;
    Found { code, severity, window, opens: None, closes: None, next_check_days: 0, reasons, subject }
}

ligule_rule_sdk::export_rule!(BlackCutworm);
