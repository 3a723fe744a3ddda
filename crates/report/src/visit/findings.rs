//! Findings of rule packs, the most urgent first.

use ligule_engine::assess::{Finding, Reason, WindowState};

use crate::{figures, sources::Sources, text};

pub(crate) struct Advice {
    pub(crate) mark: String,
    pub(crate) urgency: &'static str,
    pub(crate) headline: String,
    pub(crate) window: String,
    pub(crate) next: String,
    pub(crate) cautions: Vec<String>,
    pub(crate) because: Vec<Because>,
    pub(crate) rule: String,
    pub(crate) cites: Vec<usize>,
}

pub(crate) struct Because {
    pub(crate) text: String,
    pub(crate) numbers: String,
    pub(crate) keys: String,
}

pub(crate) fn all(findings: &[Finding], sources: &mut Sources) -> Vec<Advice> {
    let mut order: Vec<&Finding> = findings.iter().collect();
    order.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    order
        .into_iter()
        .map(|finding| Advice {
            mark: figures::mark(finding.severity),
            urgency: figures::urgency(finding.severity),
            headline: finding.headline.clone(),
            window: finding.window.as_ref().map_or(String::new(), window),
            next: finding.next_check_days.map_or(String::new(), |days| {
                format!("Look again within {}.", text::counted(days.into(), "day", "days"))
            }),
            cautions: finding.cautions.clone(),
            because: finding.because.iter().map(because).collect(),
            rule: format!("{}, {}", finding.pack, finding.code),
            cites: sources.cite(&finding.citations),
        })
        .collect()
}

fn window(window: &ligule_engine::assess::Window) -> String {
    let state = match window.state {
        WindowState::NotYet => "The window is not open yet",
        WindowState::Open => "The window is open",
        WindowState::Closing => "The window is open and closes soon",
        WindowState::Closed => "The window is closed",
        WindowState::Unknown => "Whether the window is open cannot be told from what was recorded",
    };
    match (window.opens, window.closes) {
        (Some(opens), Some(closes)) => format!("{state}: {} to {}.", text::day(opens), text::day(closes)),
        (Some(opens), None) => format!("{state}: from {} on.", text::day(opens)),
        (None, Some(closes)) => format!("{state}: until {}.", text::day(closes)),
        (None, None) => format!("{state}."),
    }
}

fn because(reason: &Reason) -> Because {
    let unit = if reason.unit.is_empty() { String::new() } else { format!(" {}", reason.unit) };
    let number = |n: f64| if n.fract() == 0.0 { text::whole(n) } else { format!("{n:.2}") };
    let numbers = match (reason.observed, reason.limit) {
        (Some(seen), Some(limit)) => format!("seen {}{unit}, limit {}{unit}", number(seen), number(limit)),
        (Some(seen), None) => format!("seen {}{unit}", number(seen)),
        (None, Some(limit)) => format!("limit {}{unit}", number(limit)),
        (None, None) => String::new(),
    };
    Because { text: reason.text.clone(), numbers, keys: reason.observations.join(", ") }
}
