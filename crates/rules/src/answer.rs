//! Checks what a rule answered and turns it into findings that people read.

use ligule_advice::{
    Citation, Finding, Reason, Severity, Window, WindowState,
    columns::{Observations, date_of},
};

use crate::{
    Pack, RuleError,
    contract::{self, Explanation, Findings, NO_DAY},
};

/// Returns the groups that have findings, in order.
pub(crate) fn groups(found: &Findings) -> Vec<usize> {
    let mut groups: Vec<usize> = found.group.iter().map(|&g| g as usize).collect();
    groups.dedup();
    groups
}

/// Refuses an answer whose columns do not fit each other or the batch.
pub(crate) fn check(pack: &Pack, found: &Findings, obs: &Observations, codes: &[String]) -> Result<(), RuleError> {
    let bad = |problem: String| Err(RuleError::BadAnswer { pack: pack.name(), problem });
    let n = found.group.len();
    let lengths = [
        ("code", found.code.len(), n),
        ("severity", found.severity.len(), n),
        ("window", found.window.len(), n),
        ("opens", found.opens.len(), n),
        ("closes", found.closes.len(), n),
        ("next-check-days", found.next_check_days.len(), n),
        ("reason-offset", found.reason_offset.len(), n + 1),
        ("observed-valid", found.observed_valid.len(), found.observed.len()),
        ("limit", found.limit.len(), found.observed.len()),
        ("limit-valid", found.limit_valid.len(), found.observed.len()),
        ("evidence-offset", found.evidence_offset.len(), found.observed.len() + 1),
    ];
    if let Some((column, got, expected)) = lengths.into_iter().find(|(_, got, expected)| got != expected) {
        return bad(format!("the column `{column}` should have {expected} entries and has {got}"));
    }
    for (column, offsets, end) in [
        ("reason-offset", &found.reason_offset, found.observed.len()),
        ("evidence-offset", &found.evidence_offset, found.evidence_row.len()),
    ] {
        if offsets.first() != Some(&0) || offsets.last() != Some(&(end as u32)) || !offsets.is_sorted() {
            return bad(format!("the column `{column}` should grow from 0 to {end}"));
        }
    }
    if !found.group.is_sorted() {
        return bad("its findings should come in the order of the fields".to_owned());
    }
    for i in 0..n {
        let group = found.group[i] as usize;
        let Some(rows) = obs.columns().group_offset.get(group..group + 2) else {
            return bad(format!("finding {i} speaks of field {group}, and there are {}", obs.features().len()));
        };
        if usize::from(found.code[i]) >= codes.len() {
            return bad(format!("finding {i} bears code {}, and there are {}", found.code[i], codes.len()));
        }
        let (opens, closes) = (found.opens[i], found.closes[i]);
        if [opens, closes].iter().any(|&day| day != NO_DAY && date_of(day).is_none()) {
            return bad(format!("the window of finding {i} has a day that is in no calendar"));
        }
        if opens != NO_DAY && closes != NO_DAY && closes < opens {
            return bad(format!("the window of finding {i} closes before it opens"));
        }
        for reason in found.reason_offset[i] as usize..found.reason_offset[i + 1] as usize {
            for (what, value, valid) in [
                ("observed", found.observed[reason], found.observed_valid[reason]),
                ("limit", found.limit[reason], found.limit_valid[reason]),
            ] {
                if valid != 0 && !value.is_finite() {
                    return bad(format!(
                        "finding {i}: `{what}` is {value}, which is not a number that can be compared"
                    ));
                }
            }
            let evidence = found.evidence_offset[reason] as usize..found.evidence_offset[reason + 1] as usize;
            if let Some(row) = found.evidence_row[evidence].iter().find(|&&row| row < rows[0] || row >= rows[1]) {
                return bad(format!(
                    "finding {i} rests on row {row}, which is not one of its field's rows {} to {}",
                    rows[0], rows[1]
                ));
            }
        }
    }
    Ok(())
}

/// Turns the findings of one group and their words into findings that people read.
pub(crate) fn translate(
    pack: &Pack,
    codes: &[String],
    found: &Findings,
    group: usize,
    words: Vec<Explanation>,
    obs: &Observations,
) -> Result<Vec<Finding>, RuleError> {
    let bad = |problem: String| RuleError::BadAnswer { pack: pack.name(), problem };
    let indices: Vec<usize> = (0..found.group.len()).filter(|&i| found.group[i] as usize == group).collect();
    if indices.len() != words.len() {
        return Err(bad(format!("it has {} findings and words for {}", indices.len(), words.len())));
    }
    indices.into_iter().zip(words).map(|(i, words)| finding(pack, codes, found, i, words, obs)).collect()
}

fn finding(
    pack: &Pack,
    codes: &[String],
    found: &Findings,
    i: usize,
    words: Explanation,
    obs: &Observations,
) -> Result<Finding, RuleError> {
    let bad = |problem: String| RuleError::BadAnswer { pack: pack.name(), problem };
    let reasons = found.reason_offset[i] as usize..found.reason_offset[i + 1] as usize;
    if reasons.len() != words.reasons.len() {
        return Err(bad(format!("finding {i} has {} reasons and words for {}", reasons.len(), words.reasons.len())));
    }
    if words.headline.trim().is_empty() {
        return Err(bad(format!("finding {i} has no headline")));
    }
    let mut because = Vec::new();
    let mut disputed = Vec::new();
    for (reason, text) in reasons.zip(words.reasons) {
        let evidence = found.evidence_offset[reason] as usize..found.evidence_offset[reason + 1] as usize;
        let mut keys = Vec::new();
        for &row in &found.evidence_row[evidence] {
            let row = row as usize;
            let key =
                obs.key(row).ok_or_else(|| bad(format!("finding {i} rests on row {row}, which has no observation")))?;
            if !keys.contains(key) {
                keys.push(key.clone());
            }
            if obs.columns().conflicted[row] != 0 {
                let measure = obs.measure(row).map_or("", |m| m.name.as_str());
                let dispute = (key.clone(), measure.to_owned());
                if !disputed.contains(&dispute) {
                    disputed.push(dispute);
                }
            }
        }
        because.push(Reason {
            text: text.text,
            observed: (found.observed_valid[reason] != 0).then_some(found.observed[reason]),
            limit: (found.limit_valid[reason] != 0).then_some(found.limit[reason]),
            unit: text.unit,
            observations: keys,
        });
    }
    let mut headline = words.headline;
    if !disputed.is_empty() {
        headline += " This rests on a value in conflict: settle it first.";
    }
    because.extend(disputed.into_iter().map(|(key, measure)| Reason {
        text: format!(
            "People recorded different values of {measure} in observation {key}, and nobody has settled which holds."
        ),
        observed: None,
        limit: None,
        unit: String::new(),
        observations: vec![key],
    }));
    Ok(Finding {
        pack: pack.name(),
        code: codes[usize::from(found.code[i])].clone(),
        severity: severity(found.severity[i]),
        headline,
        because,
        window: window(found, i),
        citations: citations(pack, i, &words.citations)?,
        cautions: cautions(pack, &words.cautions)?,
        next_check_days: Some(found.next_check_days[i]).filter(|&days| days > 0),
    })
}

fn citations(pack: &Pack, i: usize, ids: &[String]) -> Result<Vec<Citation>, RuleError> {
    let bad = |problem: String| RuleError::BadAnswer { pack: pack.name(), problem };
    if ids.is_empty() {
        return Err(bad(format!("finding {i} names no source")));
    }
    ids.iter()
        .map(|id| {
            let known = &pack.manifest().citations;
            let c = known.iter().find(|c| c.id == *id);
            let c =
                c.ok_or_else(|| bad(format!("finding {i} names the source `{id}`, which pack.toml does not hold")))?;
            Ok(Citation { text: c.text.clone(), year: c.year, basis: c.basis.clone() })
        })
        .collect()
}

/// Returns the cautions that are always shown, then those that the rule names, each once.
fn cautions(pack: &Pack, ids: &[String]) -> Result<Vec<String>, RuleError> {
    let known = &pack.manifest().cautions;
    if let Some(id) = ids.iter().find(|id| !known.iter().any(|c| c.id == **id)) {
        return Err(RuleError::BadAnswer {
            pack: pack.name(),
            problem: format!("it names the caution `{id}`, which pack.toml does not hold"),
        });
    }
    let always = known.iter().filter(|c| c.always);
    let named = known.iter().filter(|c| !c.always && ids.contains(&c.id));
    Ok(always.chain(named).map(|c| c.text.clone()).collect())
}

fn severity(severity: contract::Severity) -> Severity {
    match severity {
        contract::Severity::Info => Severity::Info,
        contract::Severity::Watch => Severity::Watch,
        contract::Severity::Act => Severity::Act,
        contract::Severity::Stop => Severity::Stop,
    }
}

fn window(found: &Findings, i: usize) -> Option<Window> {
    let state = match found.window[i] {
        contract::WindowState::None => return None,
        contract::WindowState::NotYet => WindowState::NotYet,
        contract::WindowState::Open => WindowState::Open,
        contract::WindowState::Closing => WindowState::Closing,
        contract::WindowState::Closed => WindowState::Closed,
        contract::WindowState::Unknown => WindowState::Unknown,
    };
    let day = |day: i32| if day == NO_DAY { None } else { date_of(day) };
    Some(Window { state, opens: day(found.opens[i]), closes: day(found.closes[i]) })
}
