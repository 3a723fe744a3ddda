//! What a person reads.

use ligule_rule_sdk::{Explanation, Found, ReasonText, Season, wilson_interval};

use crate::{
    BlackCutworm, SCOUT_FROM, Subject,
    count::{Count, Impossible},
    stage::Stage,
    thresholds::Threshold,
    verdict::{Missing, Reason, Verdict},
};

/// Shown where something may have to be sprayed.
const SPRAY_CAUTIONS: &[&str] = &["applicator", "re-entry", "gear", "pollinators", "resistance", "harvest"];

pub(crate) fn explain(rule: &BlackCutworm, season: &Season, found: &Found<Subject>) -> Explanation {
    match &found.subject {
        Subject::Threshold { index, verdict, count, stage } => {
            threshold(&rule.thresholds[*index], verdict, count, stage.as_ref())
        }
        Subject::Impossible { sites } => impossible(sites),
        Subject::NoRule => no_rule(rule, season),
        Subject::DegreeDays { sum } => degree_days(rule, *sum),
        Subject::OtherCrop(other) => other.explanation("practice"),
    }
}

fn threshold(t: &Threshold, verdict: &Verdict, count: &Count, stage: Option<&Stage>) -> Explanation {
    let name = match &t.variant {
        Some(variant) => format!("{} ({variant})", t.region),
        None => t.region.clone(),
    };
    let headline = match verdict {
        Verdict::Reached { limit, stage_known } => {
            let reached = if Some(*limit) == t.fed {
                format!("leaf feeding at or above {limit} %")
            } else {
                cut_against_band(t, count, *limit)
            };
            let stage =
                if *stage_known { "" } else { " No fresh leaf stage: the threshold holds to the stage below only." };
            format!("Black cutworm, {name}: {reached}. Treatment may pay, label and adviser decide.{stage}")
        }
        Verdict::Below { limit, near: true } => {
            format!(
                "Black cutworm, {name}: below {limit} %, no action by this threshold, but near it: look again in 2 to 3 days."
            )
        }
        Verdict::Below { limit, near: false } => {
            format!("Black cutworm, {name}: below {limit} %, no action by this threshold.")
        }
        Verdict::TooFewLarvae { limit } => {
            format!(
                "Black cutworm, {name}: {limit} % cut is reached, but too few live larvae are left: no action by this threshold."
            )
        }
        Verdict::TooLarge { .. } => {
            format!(
                "Black cutworm, {name}: the larvae are larger than this threshold speaks of; insecticide works poorly on them."
            )
        }
        Verdict::CannotTell { why } => format!("Black cutworm, {name}: cannot tell. {}", missing(*why)),
        Verdict::Outside { last } => {
            format!(
                "Black cutworm, {name}: past {}, outside this threshold's window; no action by it.",
                Stage::name(*last)
            )
        }
    };
    let reasons = Reason::all(t, count, stage).into_iter().map(|reason| reason_text(reason, t, count, stage));
    let cautions = match verdict {
        Verdict::Reached { .. } | Verdict::CannotTell { .. } | Verdict::Below { near: true, .. } => SPRAY_CAUTIONS,
        _ => &[],
    };
    let mut citations = vec![t.citation.clone()];
    if matches!(verdict, Verdict::Below { near: true, .. } | Verdict::CannotTell { why: Missing::Fresh { .. } }) {
        citations.push("practice".to_owned());
    }
    Explanation { headline, reasons: reasons.collect(), citations, cautions: owned(cautions) }
}

/// Says where the share cut lies; where the source gives a band for a limit, its low end decides.
fn cut_against_band(t: &Threshold, count: &Count, limit: f64) -> String {
    let cut = count.cut.unwrap_or_default();
    let share = share(cut, count.examined);
    if limit != t.low || t.high <= t.low {
        format!("plants cut {share}, at or above {limit} %")
    } else if cut * 100.0 <= t.high * count.examined {
        format!("plants cut {share}, inside the band of {} to {} %; its low end is used", t.low, t.high)
    } else {
        format!("plants cut {share}, above the band of {} to {} %", t.low, t.high)
    }
}

/// Prints a share with its 95 % interval. A second decimal stands where one would round.
fn share(hits: f64, examined: f64) -> String {
    let per_cent = 100.0 * hits / examined;
    let decimals = if (per_cent * 10.0 - (per_cent * 10.0).round()).abs() < 1e-9 { 1 } else { 2 };
    let interval = wilson_interval(hits, examined)
        .map_or(String::new(), |i| format!(" (95 % interval {:.2} to {:.2} %)", i.low * 100.0, i.high * 100.0));
    format!("{per_cent:.decimals$} %{interval}")
}

fn impossible(sites: &[Impossible]) -> Explanation {
    let reasons = sites.iter().map(|site| ReasonText {
        text: format!("{} plants {} of {} examined: more than there were.", site.hits, site.what, site.examined),
        unit: "plants".to_owned(),
    });
    Explanation {
        headline: "Black cutworm: the latest count is impossible and was not judged; correct it, or count again."
            .to_owned(),
        reasons: reasons.collect(),
        citations: owned(&["practice"]),
        cautions: owned(&["re-entry"]),
    }
}

fn missing(why: Missing) -> String {
    match why {
        Missing::Cut => "Count cut plants at every site.".to_owned(),
        Missing::Larvae => "Count live larvae at every site: this threshold asks for them.".to_owned(),
        Missing::Length => {
            "Measure the larvae: their length decides, and none that this source gives a number for is recorded."
                .to_owned()
        }
        Missing::Fresh { days } => format!("The count is {days} days old: count again."),
    }
}

fn reason_text(reason: Reason, t: &Threshold, count: &Count, stage: Option<&Stage>) -> ReasonText {
    let s = |one| if one { "" } else { "s" };
    let plants =
        format!("{} plant{} at {} site{}", count.examined, s(count.examined == 1.0), count.sites, s(count.sites == 1));
    let share = |hits: f64| format!("{hits} of {plants}: {}", share(hits, count.examined));
    let second_hand = if t.second_hand { "; the number was read at second hand" } else { "" };
    let (text, unit) = match reason {
        Reason::Cut => {
            let cut = count.cut.map_or_else(|| format!("of {plants} the cut ones were not counted everywhere"), share);
            (format!("Cut: {cut}{second_hand}."), "%")
        }
        Reason::Fed => {
            let fed =
                count.affected.map_or_else(|| format!("of {plants} those fed upon were not counted everywhere"), share);
            (format!("Leaf feeding: {fed}."), "%")
        }
        Reason::Live => {
            let live = count.larvae.map_or_else(|| "not counted everywhere".to_owned(), |n| format!("{n} on {plants}"));
            (format!("Live larvae: {live}."), "in 100 plants")
        }
        Reason::Length => {
            let (shortest, longest) = count.length.unwrap_or_default();
            let length =
                if shortest == longest { format!("{longest} in") } else { format!("{shortest} to {longest} in") };
            let large = t.large_from.map_or(String::new(), |from| format!("; large from {from} in"));
            let small = t.small_to.map_or(String::new(), |to| format!("; small to {to} in"));
            (format!("Larva length: {length}{small}{large}."), "in")
        }
        Reason::Stage => {
            let now = stage.map_or_else(|| "No fresh leaf stage is recorded".to_owned(), Stage::words);
            let last = t.last_stage.map_or_else(
                || "the source names no last stage".to_owned(),
                |l| format!("the threshold holds to {}", Stage::name(l)),
            );
            (format!("{now}; {last}."), "collars")
        }
    };
    ReasonText { text, unit: unit.to_owned() }
}

fn no_rule(rule: &BlackCutworm, season: &Season) -> Explanation {
    let mut known: Vec<&str> = rule.thresholds.iter().map(|t| t.region.as_str()).collect();
    known.dedup();
    let mut citations: Vec<String> = rule.thresholds.iter().map(|t| t.citation.clone()).collect();
    citations.dedup();
    Explanation {
        headline: format!(
            "No regional rule covers {}; for black cutworm there are thresholds of {} only, and none is lent.",
            season.region,
            known.join(", ")
        ),
        reasons: vec![ReasonText {
            text: "Black cutworm was recorded here and was not judged.".to_owned(),
            unit: String::new(),
        }],
        citations,
        cautions: Vec::new(),
    }
}

fn degree_days(rule: &BlackCutworm, sum: f64) -> Explanation {
    let instar = rule.instars.iter().find(|i| sum >= i.from && sum < i.to + 1.0);
    let doing = instar.map_or(String::new(), |i| format!(" ({})", i.what));
    let headline = if sum >= SCOUT_FROM {
        format!("Scout for black cutworm now: {sum:.0} degree days since the intense moth capture{doing}.")
    } else {
        format!("Black cutworm does not cut yet: {sum:.0} degree days since the intense moth capture{doing}.")
    };
    let text = format!(
        "{sum:.1} degree days (F, base 50, simple average) since intense capture; cutting is expected from {SCOUT_FROM:.0}."
    );
    Explanation {
        headline,
        reasons: vec![ReasonText { text, unit: "degree days F".to_owned() }],
        citations: owned(&["trigger-300", "missouri"]),
        cautions: if sum >= SCOUT_FROM { owned(&["re-entry"]) } else { Vec::new() },
    }
}

fn owned(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|t| (*t).to_owned()).collect()
}
