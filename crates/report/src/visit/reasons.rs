//! What a finding rests on, grouped by what the reasons speak of.

use ligule_engine::assess::Reason;

use crate::text;

/// The longest beginning of a reason that is taken for the name of what it speaks of, in characters.
const LONGEST_SUBJECT: usize = 40;

/// Reasons about one thing, an active ingredient or cut plants, or about several of which the same is said.
#[derive(Debug, PartialEq)]
pub(crate) struct Group {
    /// The things; none where the reason names none.
    pub(crate) subjects: Vec<String>,
    pub(crate) parts: Vec<Part>,
}

#[derive(Debug, PartialEq)]
pub(crate) struct Part {
    /// What the reason says, and what was seen against which limit.
    pub(crate) text: String,
    /// Letters of the observations; empty where all reasons rest on the same.
    pub(crate) letters: String,
}

/// An observation, named once a finding.
#[derive(Debug, PartialEq)]
pub(crate) struct Rest {
    pub(crate) letter: String,
    pub(crate) key: String,
}

/// Groups reasons by their subject, and lists the observations that they rest on, each once.
pub(crate) fn group(reasons: &[Reason]) -> (Vec<Group>, Vec<Rest>) {
    let mut keys: Vec<&str> = Vec::new();
    for key in reasons.iter().flat_map(|reason| &reason.observations) {
        if !keys.contains(&key.as_str()) {
            keys.push(key);
        }
    }
    let alike = reasons.iter().all(|reason| keys.iter().all(|key| reason.observations.iter().any(|k| k == key)));
    let lettered = !alike && keys.len() > 1;
    let mut groups: Vec<Group> = Vec::new();
    for reason in reasons {
        let (subject, rest) = split(&reason.text);
        let letters: Vec<String> = match lettered {
            true => (0..keys.len()).filter(|i| reason.observations.iter().any(|k| k == keys[*i])).map(letter).collect(),
            false => Vec::new(),
        };
        let part = Part { text: with_numbers(rest, reason), letters: letters.join(", ") };
        match groups.iter_mut().find(|group| !subject.is_empty() && group.subjects == [subject]) {
            Some(group) => group.parts.push(part),
            None => {
                let subjects = if subject.is_empty() { Vec::new() } else { vec![subject.to_owned()] };
                groups.push(Group { subjects, parts: vec![part] });
            }
        }
    }
    let groups = together(groups);
    let rests = keys
        .iter()
        .enumerate()
        .map(|(i, key)| Rest { letter: if lettered { letter(i) } else { String::new() }, key: (*key).to_owned() });
    (groups, rests.collect())
}

/// Puts things of which the same is said into one group, where the first of them stood.
fn together(groups: Vec<Group>) -> Vec<Group> {
    let mut out: Vec<Group> = Vec::new();
    for group in groups {
        match out
            .iter_mut()
            .find(|known| !group.subjects.is_empty() && !known.subjects.is_empty() && known.parts == group.parts)
        {
            Some(known) => known.subjects.extend(group.subjects),
            None => out.push(group),
        }
    }
    out
}

/// Parts `atrazine (HRAC 5): no limit is on file` into what it speaks of and what it says.
fn split(text: &str) -> (&str, &str) {
    match text.split_once(": ") {
        Some((subject, rest)) if subject.chars().count() <= LONGEST_SUBJECT && !subject.contains(['.', ';']) => {
            (subject, rest)
        }
        _ => ("", text),
    }
}

/// `a` to `z`, then `aa`.
fn letter(index: usize) -> String {
    let last = char::from(b'a' + (index % 26) as u8);
    if index < 26 { last.to_string() } else { format!("{}{last}", letter(index / 26 - 1)) }
}

/// Returns the text, with what was seen and the limit where the text does not say them.
fn with_numbers(text: &str, reason: &Reason) -> String {
    let numbers = numbers(reason);
    match (numbers.is_empty(), text.strip_suffix('.')) {
        (true, _) => text.to_owned(),
        (false, Some(text)) => format!("{text} ({numbers})."),
        (false, None) => format!("{text} ({numbers})"),
    }
}

/// Returns what was seen and the limit, without what the text says already.
fn numbers(reason: &Reason) -> String {
    let (text, unit) = (reason.text.as_str(), reason.unit.as_str());
    // Where both are the same, the text has to say it twice.
    let times = if reason.observed == reason.limit { 2 } else { 1 };
    let unsaid = |name: &str, value: Option<f64>| {
        value.filter(|value| said(text, *value, unit) < times).map(|value| format!("{name} {}", quantity(value, unit)))
    };
    let parts: Vec<String> =
        [unsaid("seen", reason.observed), unsaid("limit", reason.limit)].into_iter().flatten().collect();
    parts.join(", ")
}

/// The unit in which stages are told as numbers.
const COLLARS: &str = "collars";

/// Returns a number with its unit; tassel and the stages after it, which have numbers from 100 on, by their names.
fn quantity(value: f64, unit: &str) -> String {
    match (unit, stage(value)) {
        (COLLARS, Some(stage)) if value >= 100.0 => stage,
        (COLLARS, _) if value == 1.0 => "1 collar".to_owned(),
        ("", _) => number(value),
        _ => format!("{} {unit}", number(value)),
    }
}

/// Returns the stage of a number: 0 = VE, n = Vn, 100 = VT, 101 to 106 = R1 to R6.
fn stage(value: f64) -> Option<String> {
    let whole = (value.fract() == 0.0 && (0.0..=106.0).contains(&value)).then_some(value as u8)?;
    Some(match whole {
        0 => "VE".to_owned(),
        100 => "VT".to_owned(),
        101.. => format!("R{}", whole - 100),
        _ => format!("V{whole}"),
    })
}

/// Two decimals at most, or three where the third makes it exact, as in eighths of an inch.
fn number(value: f64) -> String {
    let thousandths = value * 1000.0;
    let exact = thousandths.fract() == 0.0 && (thousandths / 10.0).fract() != 0.0;
    if exact { format!("{value:.3}") } else { text::trim(value) }
}

/// Counts how often a text holds the quantity as a word of its own, with its unit.
fn said(text: &str, value: f64, unit: &str) -> usize {
    let wanted = match stage(value) {
        Some(stage) if unit == COLLARS => stage,
        _ if unit.is_empty() => return 0,
        _ => quantity(value, unit),
    };
    let stands_alone = |at: usize| {
        let before = text[..at].chars().next_back();
        let after = text[at + wanted.len()..].chars().next();
        !before.is_some_and(|c| c.is_alphanumeric() || ".,-−".contains(c)) && !after.is_some_and(char::is_alphanumeric)
    };
    text.match_indices(&wanted).filter(|(at, _)| stands_alone(*at)).count()
}
