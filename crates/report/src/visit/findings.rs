//! Findings of rule packs, the most urgent first.

use ligule_engine::assess::{Finding, Severity};

use super::{
    cautions::{self, Own, Shared},
    reasons::{self, Group, Rest},
};
use crate::{figures, sources::Sources, text};

/// What the rules say, ready to be set.
pub(crate) struct Advices {
    /// Cautions of several findings.
    pub(crate) shared: Vec<Shared>,
    pub(crate) findings: Vec<Advice>,
}

/// How many findings there are of one urgency.
pub(crate) struct Tally {
    pub(crate) mark: String,
    pub(crate) words: String,
}

pub(crate) struct Advice {
    pub(crate) number: usize,
    pub(crate) mark: String,
    pub(crate) urgency: &'static str,
    pub(crate) headline: String,
    pub(crate) window: String,
    pub(crate) next: String,
    pub(crate) cautions: Own,
    pub(crate) because: Vec<Group>,
    pub(crate) rests_on: Vec<Rest>,
    pub(crate) rule: String,
    pub(crate) cites: Vec<usize>,
}

pub(crate) fn all(findings: &[Finding], sources: &mut Sources) -> Advices {
    let mut order: Vec<&Finding> = findings.iter().collect();
    order.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let (shared, own) = cautions::part(&order);
    let findings = order.into_iter().zip(own).enumerate().map(|(i, (finding, cautions))| {
        let (because, rests_on) = reasons::group(&finding.because);
        Advice {
            number: i + 1,
            mark: figures::mark(finding.severity),
            urgency: finding.severity.words(),
            headline: finding.headline.clone(),
            window: finding.window.as_ref().map_or(String::new(), window),
            next: finding
                .next_check_days
                .map_or(String::new(), |days| format!("Look again within {}.", text::counted(days, "day", "days"))),
            cautions,
            because,
            rests_on,
            rule: format!("{}, {}", finding.pack, finding.code),
            cites: sources.cite(&finding.citations),
        }
    });
    Advices { shared, findings: findings.collect() }
}

/// Counts findings by urgency, the most urgent first.
pub(crate) fn tally(findings: &[Finding]) -> Vec<Tally> {
    [Severity::Stop, Severity::Act, Severity::Watch, Severity::Info]
        .into_iter()
        .filter_map(|severity| match findings.iter().filter(|finding| finding.severity == severity).count() {
            0 => None,
            n => Some(Tally { mark: figures::mark(severity), words: format!("{n} × {}", severity.words()) }),
        })
        .collect()
}

fn window(window: &ligule_engine::assess::Window) -> String {
    let state = format!("The window is {}", window.state.words());
    match (window.opens, window.closes) {
        (Some(opens), Some(closes)) => format!("{state}: {} to {}.", text::day(opens), text::day(closes)),
        (Some(opens), None) => format!("{state}: from {} on.", text::day(opens)),
        (None, Some(closes)) => format!("{state}: until {}.", text::day(closes)),
        (None, None) => format!("{state}."),
    }
}
