//! Herbicide timing in corn: leaf collars and height against published limits.
//!
//! The rule in one sentence: of stage and height the limit reached first governs, of a mix the most restrictive
//! partner; a conflict that is found outranks what is unknown, and what is unknown outranks "no conflict found", which
//! never means that a spray is lawful. A limit from memory is no evidence: kept or not, it leaves unknown what it limits.

mod limits;
mod plants;
mod verdict;
mod words;

use ligule_rule_sdk::{
    Description, Evidence, Explanation, Field, Found, Rule, RuleError, Season, Severity, Tables, WindowState,
    planting::{self, OtherCrop},
    setting,
};

use limits::{Limits, Placement};
use plants::Plants;
use verdict::{State, Verdict};

/// The codes, in the order of their numbers.
const CODES: &[&str] = &[
    "past-limit",
    "too-early",
    "no-tolerance",
    "unknown",
    "no-conflict",
    "no-regional-rule",
    "memory-only",
    "other-crop",
];

struct Windows {
    limits: Limits,
}

/// What a finding is about.
enum Subject {
    /// Ingredients that stand alike, or the partners of a mix.
    Verdicts {
        state: State,
        mix: Option<String>,
        verdicts: Vec<Verdict>,
        plants: Plants,
        placement: Placement,
    },
    /// The pack knows no numbers for the region.
    NoRule,
    OtherCrop(OtherCrop),
}

impl Rule for Windows {
    type Subject = Subject;

    fn describe() -> Description {
        Description {
            id: "corn-herbicide-windows",
            version: env!("CARGO_PKG_VERSION"),
            codes: CODES,
            needs: &[
                plants::COLLARS,
                plants::STAGE,
                plants::HEIGHT,
                plants::HEIGHTS,
                plants::TOLERANCE,
                planting::CROP,
                planting::DAY,
            ],
        }
    }

    fn load(tables: &Tables) -> Result<Self, RuleError> {
        Ok(Self { limits: Limits::read(tables)? })
    }

    fn evaluate(&self, season: &Season, field: &Field<'_>) -> Result<Vec<Found<Subject>>, RuleError> {
        if season.crop != "corn" {
            return Err(RuleError::Unsupported(format!(
                "this pack is for corn, the season's crop is `{}`",
                season.crop
            )));
        }
        let placement = match setting(season, "placement") {
            None | Some("broadcast") => Placement::Broadcast,
            Some("directed") => Placement::Directed,
            Some(other) => {
                return Err(RuleError::Unsupported(format!(
                    "placement should be `broadcast` or `directed`, got `{other}`"
                )));
            }
        };
        let mix = setting(season, "mix").map(|mix| self.limits.mix(mix)).transpose()?;
        if let Some(other) = planting::other_crop(field, "corn", season.as_of) {
            return Ok(vec![aside(7, vec![other.evidence()], Subject::OtherCrop(other))]);
        }
        let plants = Plants::latest(field);
        if plants.nothing_recorded() && mix.is_none() {
            return Ok(Vec::new());
        }
        if !(season.region == "US" || season.region.starts_with("US-")) {
            return Ok(vec![aside(5, Vec::new(), Subject::NoRule)]);
        }
        if let Some(mix) = mix {
            let verdicts: Vec<Verdict> =
                mix.iter().map(|i| self.limits.verdict(i, &mix, placement, &plants, season.as_of)).collect();
            let state = verdicts.iter().map(|v| v.state).max().unwrap_or(State::Unknown);
            return Ok(vec![finding(state, Some(mix.join(" + ")), verdicts, plants, placement)]);
        }
        let mut alone: Vec<Verdict> = self
            .limits
            .ingredients()
            .iter()
            .filter(|i| self.limits.has_rows(i, placement))
            .map(|i| self.limits.verdict(i, std::slice::from_ref(i), placement, &plants, season.as_of))
            .collect();
        let mut out = Vec::new();
        for state in [
            State::Past,
            State::TooEarly,
            State::NoTolerance,
            State::PastMemory,
            State::Closing,
            State::Open,
            State::Memory,
            State::Unknown,
        ] {
            let (alike, rest) = alone.into_iter().partition(|v| v.state == state);
            alone = rest;
            let alike: Vec<Verdict> = alike;
            if !alike.is_empty() {
                out.push(finding(state, None, alike, plants.clone(), placement));
            }
        }
        Ok(out)
    }

    fn explain(&self, season: &Season, _: &Field<'_>, found: &Found<Subject>) -> Explanation {
        match &found.subject {
            Subject::Verdicts { state, mix, verdicts, plants, placement } => {
                words::verdicts(&self.limits, *state, mix.as_deref(), verdicts, plants, *placement)
            }
            Subject::NoRule => words::no_rule(&season.region),
            Subject::OtherCrop(other) => other.explanation("practice"),
        }
    }
}

/// A finding that says why nothing was judged.
fn aside(code: u16, reasons: Vec<Evidence>, subject: Subject) -> Found<Subject> {
    Found {
        code,
        severity: Severity::Info,
        window: WindowState::None,
        opens: None,
        closes: None,
        next_check_days: 0,
        reasons,
        subject,
    }
}

fn finding(
    state: State,
    mix: Option<String>,
    verdicts: Vec<Verdict>,
    plants: Plants,
    placement: Placement,
) -> Found<Subject> {
    let (code, severity, window, next_check_days) = match state {
        State::Past => (0, Severity::Stop, WindowState::Closed, 0),
        State::TooEarly => (1, Severity::Stop, WindowState::NotYet, 2),
        State::NoTolerance => (2, Severity::Stop, WindowState::Closed, 0),
        State::Unknown => (3, Severity::Info, WindowState::Unknown, 0),
        State::PastMemory => (6, Severity::Watch, WindowState::Unknown, 0),
        State::Memory => (6, Severity::Info, WindowState::Unknown, 0),
        State::Closing => (4, Severity::Watch, WindowState::Closing, 2),
        State::Open => (4, Severity::Info, WindowState::Open, 3),
    };
    let reasons: Vec<Evidence> =
        verdicts.iter().flat_map(|v| v.deciding(state)).map(|check| check.evidence(&plants)).collect();
    Found {
        code,
        severity,
        window,
        opens: None,
        closes: None,
        next_check_days,
        reasons,
        subject: Subject::Verdicts { state, mix, verdicts, plants, placement },
    }
}

ligule_rule_sdk::export_rule!(Windows);
