//! Cautions that several findings share stand once, at the head; the others stay with their finding.

use ligule_engine::assess::Finding;

/// Cautions that the same findings share.
#[derive(Debug, PartialEq)]
pub(crate) struct Shared {
    /// Whom they are for: `For every finding`, `For findings 2 and 4`.
    pub(crate) whom: String,
    pub(crate) texts: Vec<String>,
}

/// What a finding has to show of its cautions.
#[derive(Debug, PartialEq, Default)]
pub(crate) struct Own {
    /// The cautions that no other finding has.
    pub(crate) texts: Vec<String>,
    /// Which of those at the head hold here: `what it says for every finding`; empty where none does.
    pub(crate) above: String,
}

/// Parts the cautions of findings, in the order of the page, into those that are shared and those of one finding.
///
/// Every text comes out exactly once.
pub(crate) fn part(findings: &[&Finding]) -> (Vec<Shared>, Vec<Own>) {
    let mut texts: Vec<&String> = Vec::new();
    for text in findings.iter().flat_map(|finding| &finding.cautions) {
        if !texts.contains(&text) {
            texts.push(text);
        }
    }
    let mut groups: Vec<(Vec<usize>, Vec<String>)> = Vec::new();
    let mut own: Vec<Own> = findings.iter().map(|_| Own::default()).collect();
    for text in texts {
        let of: Vec<usize> = (0..findings.len()).filter(|i| findings[*i].cautions.contains(text)).collect();
        if let [only] = of[..] {
            own[only].texts.push(text.clone());
        } else if let Some((_, together)) = groups.iter_mut().find(|(whose, _)| *whose == of) {
            together.push(text.clone());
        } else {
            groups.push((of, vec![text.clone()]));
        }
    }
    // What holds for most is read first; among equals the order of the page stays.
    groups.sort_by_key(|(of, _)| std::cmp::Reverse(of.len()));
    for (i, own) in own.iter_mut().enumerate() {
        let for_every = groups.iter().any(|(of, _)| of.len() == findings.len());
        let names_it = groups.iter().any(|(of, _)| of.len() < findings.len() && of.contains(&i));
        own.above = match (for_every, names_it) {
            (true, true) => format!("what it says for every finding, and what names finding {}", i + 1),
            (true, false) => "what it says for every finding".to_owned(),
            (false, true) => format!("what names finding {}", i + 1),
            (false, false) => String::new(),
        };
    }
    let shared = groups.into_iter().map(|(of, texts)| Shared { whom: whom(&of, findings.len()), texts });
    (shared.collect(), own)
}

fn whom(of: &[usize], all: usize) -> String {
    if of.len() == all {
        return "For every finding".to_owned();
    }
    let numbers: Vec<String> = of.iter().map(|i| (i + 1).to_string()).collect();
    format!("For findings {}", listed(&numbers))
}

/// `a`, `a and b`, `a, b and c`.
fn listed(texts: &[String]) -> String {
    match texts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
