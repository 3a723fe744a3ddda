//! What a person reads.

use ligule_rule_sdk::{Explanation, ReasonText};

use crate::{
    limits::{Limit, Limits, Lower, Mark, Placement, Upper},
    plants::{Plants, Spread},
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
    // Of a mix, the partners that decide.
    let whose = match mix {
        Some(mix) if verdicts.len() > 1 => {
            let deciding = verdicts.iter().filter(|v| v.state == state).map(|v| v.ingredient.as_str());
            format!("{} in the mix {mix}", deciding.collect::<Vec<_>>().join(" and "))
        }
        _ => names.clone(),
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
        State::PastMemory => {
            format!("Limits from memory only, one of them not kept, {how}: {whose}. Unknown, read the label.")
        }
        State::Memory => {
            format!("Limits from memory only, which are no evidence, {how}: {whose}. Unknown, read the label.")
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
            let now = plants.stage.as_ref().map(|s| now_text(s, s.most, "most advanced", "stage", stage_name));
            (upper_text(row.stage, check, now, "stage"), "collars")
        }
        What::Height => {
            let now = plants.height.as_ref().map(|s| now_text(s, s.most, "most advanced", "height", inches));
            (upper_text(row.height, check, now, "height"), "in")
        }
        What::FirstHeight => (first_text(row, check, plants), "in"),
        _ => (tolerance_text(row, plants), ""),
    };
    // The note speaks of the limits of the row, not of what the hybrid must tolerate.
    let note = row.note.as_ref().filter(|_| check.what != What::Tolerance);
    let note = note.map_or(String::new(), |note| format!(" ({note})"));
    ReasonText { text: format!("{who}: {text}{note}."), unit: unit.to_owned() }
}

fn upper_text(limit: Upper, check: &Check, now: Option<String>, what: &str) -> String {
    let (limit, before, mark) = match limit {
        Upper::Unknown => return format!("no sound limit of {what} is on file; read the label"),
        Upper::NoLimit => return format!("labels name no limit of {what}, says the source"),
        Upper::Known { limit, before, mark } => (limit, before, mark),
    };
    let limit = if what == "stage" { stage_name(limit) } else { inches(limit) };
    let rule = if before { format!("before {limit}") } else { format!("to {limit}") };
    let sure = if mark == Mark::Memory { ", from memory" } else { "" };
    match (now, check.days_old) {
        (None, _) => format!("limit {rule}{sure}; no {what} is recorded"),
        (Some(now), Some(days)) => format!("limit {rule}{sure}; {now} was recorded {days} days ago, look again"),
        (Some(now), None) => format!("{now}, limit {rule}{sure}"),
    }
}

fn first_text(row: &Limit, check: &Check, plants: &Plants) -> String {
    let Some(Lower::Known { limit: first, mark }) = row.first else {
        return "no sound least height is on file; read the label".to_owned();
    };
    let sure = if mark == Mark::Memory { ", from memory" } else { "" };
    let now = plants.height.as_ref().map(|h| now_text(h, h.least, "least advanced", "height", inches));
    match (now, check.days_old) {
        (None, _) => format!("from {first} in{sure}; no height is recorded"),
        (Some(now), Some(days)) => format!("from {first} in{sure}; {now} was recorded {days} days ago, look again"),
        (Some(now), None) => format!("{now}, from {first} in{sure}"),
    }
}

/// Says a stage or a height and which plants it speaks of.
fn now_text(spread: &Spread, of_tenth: f64, tenth: &str, what: &str, name: fn(f64) -> String) -> String {
    if spread.plants == 1 {
        format!("{what} {}", name(of_tenth))
    } else {
        format!("{tenth} tenth at {} (half of the plants at {})", name(of_tenth), name(spread.half))
    }
}

fn inches(height: f64) -> String {
    format!("{height} in")
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
            "No regional rule for herbicide timing covers {region}: the limits on file are of the United States and counted in collars; labels in Canada count leaf-over. Read the label."
        ),
        reasons: Vec::new(),
        citations: vec!["illinois-1653".to_owned()],
        cautions: Vec::new(),
    }
}
