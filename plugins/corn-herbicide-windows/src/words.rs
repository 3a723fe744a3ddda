//! What a person reads.

use ligule_rule_sdk::{Explanation, ReasonText};

use crate::{
    limits::{Limit, Limits, Mark, Placement, Upper},
    plants::Plants,
    verdict::{Check, State, Verdict, What},
};

pub(crate) fn verdicts(
    limits: &Limits,
    state: State,
    mix: Option<&str>,
    verdicts: &[Verdict],
    plants: &Plants,
    placement: Placement,
) -> Explanation {
    let names = match mix {
        Some(mix) => mix.to_owned(),
        None => verdicts.iter().map(|v| v.ingredient.as_str()).collect::<Vec<_>>().join("; "),
    };
    let how = match placement {
        Placement::Broadcast => "broadcast over corn",
        Placement::Directed => "directed below the whorl",
    };
    let headline = match state {
        State::Past => {
            format!("Past a published limit, {how}: {names}. Of stage and height the one reached first governs.")
        }
        State::TooEarly => format!("Corn is still too short, {how}: {names}."),
        State::NoTolerance => format!("The hybrid is not recorded as tolerant: {names}."),
        State::Unknown => {
            format!("Unknown, read the label: {names} ({how}). A limit, a fresh stage or a fresh height is missing.")
        }
        State::Closing => format!("No conflict found, and the window is closing, {how}: {names}. Read the label."),
        State::Open => format!("No conflict found in the reference data, {how}: {names}. Read the label."),
    };
    let mut reasons = Vec::new();
    let mut citations: Vec<String> = Vec::new();
    let mut cautions: Vec<String> = vec!["weather".to_owned()];
    for verdict in verdicts {
        for check in verdict.deciding(state) {
            reasons.push(reason(limits, verdict, check, plants, placement));
            if check.what != What::NothingOnFile {
                add(&mut citations, limits.rows[check.row].citations.iter().map(String::as_str));
            }
        }
        add(&mut cautions, limits.cautions(&verdict.ingredient));
    }
    add(&mut citations, ["illinois-1653", "iowa-2008", "practice"]);
    Explanation { headline, reasons, citations, cautions }
}

fn add<'a>(to: &mut Vec<String>, ids: impl IntoIterator<Item = &'a str>) {
    for id in ids {
        if !to.iter().any(|known| known == id) {
            to.push(id.to_owned());
        }
    }
}

fn reason(limits: &Limits, verdict: &Verdict, check: &Check, plants: &Plants, placement: Placement) -> ReasonText {
    if check.what == What::NothingOnFile {
        let how = if placement == Placement::Directed { "directed" } else { "broadcast" };
        return ReasonText { text: format!("{}: no {how} limit is on file.", verdict.ingredient), unit: String::new() };
    }
    let row = &limits.rows[check.row];
    let who = match &row.partner {
        Some(partner) => format!("{} (HRAC {}) with {partner}", row.ingredient, row.group),
        None => format!("{} (HRAC {})", row.ingredient, row.group),
    };
    let (text, unit) = match check.what {
        What::Stage => {
            (upper_text(row.stage, check, plants.stage.as_ref().map(|s| stage_name(s.most)), "stage"), "collars")
        }
        What::Height => {
            (upper_text(row.height, check, plants.height.as_ref().map(|s| format!("{} in", s.most)), "height"), "in")
        }
        What::FirstHeight => (first_text(row, check, plants), "in"),
        _ => (tolerance_text(row, plants), ""),
    };
    let note = row.note.as_ref().map_or(String::new(), |note| format!(" ({note})"));
    ReasonText { text: format!("{who}: {text}{note}."), unit: unit.to_owned() }
}

fn upper_text(limit: Upper, check: &Check, now: Option<String>, what: &str) -> String {
    let (limit, before, mark) = match limit {
        Upper::Unknown => return format!("no sound limit of {what} is on file; read the label"),
        Upper::NoLimit => return format!("labels name no limit of {what}, says the source"),
        Upper::Known { limit, before, mark } => (limit, before, mark),
    };
    let limit = if what == "stage" { stage_name(limit) } else { format!("{limit} in") };
    let rule = if before { format!("before {limit}") } else { format!("to {limit}") };
    let sure = if mark == Mark::Memory { ", from memory" } else { "" };
    match (now, check.days_old) {
        (None, _) => format!("limit {rule}{sure}; no {what} is recorded"),
        (Some(now), Some(days)) => format!("limit {rule}{sure}; {now} was recorded {days} days ago, look again"),
        (Some(now), None) => format!("{what} {now}, limit {rule}{sure}"),
    }
}

fn first_text(row: &Limit, check: &Check, plants: &Plants) -> String {
    let first = row.first_in.unwrap_or_default();
    match (&plants.height, check.days_old) {
        (None, _) => format!("from {first} in; no height is recorded"),
        (Some(h), Some(days)) => format!("from {first} in; {} in was recorded {days} days ago, look again", h.least),
        (Some(h), None) => format!("height {} in, from {first} in", h.least),
    }
}

fn tolerance_text(row: &Limit, plants: &Plants) -> String {
    let needed = row.tolerance.as_deref().unwrap_or_default();
    match &plants.tolerance {
        None => format!("needs a hybrid tolerant to {needed}; what this one tolerates is not recorded"),
        Some(has) => format!("needs a hybrid tolerant to {needed}; recorded: {}", has.join(" + ")),
    }
}

fn stage_name(number: f64) -> String {
    match number as i64 {
        0 => "VE".to_owned(),
        100 => "VT".to_owned(),
        n @ 101.. => format!("R{}", n - 100),
        n => format!("V{n}"),
    }
}

pub(crate) fn no_rule(region: &str) -> Explanation {
    Explanation {
        headline: format!(
            "No regional rule for herbicide timing covers this field: the numbers are for the United States, not for {region}."
        ),
        reasons: Vec::new(),
        citations: vec!["illinois-1653".to_owned()],
        cautions: Vec::new(),
    }
}
