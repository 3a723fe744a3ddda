//! Which code a word means: people write without accents, in the plural, and the short name of several.

use std::collections::BTreeSet;

use crate::codelist::Code;
use crate::kind::Choice;

/// What a text means among the codes of a choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meaning<'a> {
    /// This code.
    One(&'a str),
    /// One of these, and only the person knows which; in the order of the list.
    Several(Vec<&'a str>),
    /// None of them.
    None,
}

/// One code with all that it is called.
pub(crate) struct Named<'a> {
    code: &'a str,
    /// Its labels in every language, and its scientific name.
    names: Vec<&'a str>,
    /// Other words for it.
    also: Vec<&'a str>,
}

impl<'a> From<&'a Code> for Named<'a> {
    fn from(code: &'a Code) -> Self {
        Self {
            code: &code.code,
            names: code.label.values().chain(&code.scientific).map(String::as_str).collect(),
            also: code.also.iter().map(String::as_str).collect(),
        }
    }
}

impl<'a> From<&'a Choice> for Named<'a> {
    fn from(choice: &'a Choice) -> Self {
        let labels = || choice.label.values().map(String::as_str);
        // What stands before a colon is enough where it means one: `dry` of `dry: 15.5 % in corn`.
        let brief = labels().filter_map(|label| Some(label.split_once(':')?.0));
        Self { code: &choice.code, names: labels().collect(), also: brief.collect() }
    }
}

impl<'a> Named<'a> {
    fn all(&self) -> impl Iterator<Item = &'a str> + '_ {
        [self.code].into_iter().chain(self.names.iter().copied()).chain(self.also.iter().copied())
    }
}

/// Returns what a text means: a code or a name in any case, with or without accents, one or many of it. Another word for a code
/// means that one only where no other is called so, too: `cutworm` may be each that has it in its name.
pub(crate) fn meaning<'a>(codes: &[Named<'a>], text: &str) -> Meaning<'a> {
    if let Some(code) = codes.iter().find(|one| plain(one.code) == plain(text)) {
        return Meaning::One(code.code);
    }
    let wanted = words(text);
    if wanted.is_empty() {
        return Meaning::None;
    }
    let those = |fits: &dyn Fn(&Named<'a>) -> bool| -> Vec<&'a str> {
        codes.iter().filter(|one| fits(one)).map(|one| one.code).collect()
    };
    let told = |found: Vec<&'a str>| match found.as_slice() {
        [one] => Some(Meaning::One(one)),
        [] => None,
        _ => Some(Meaning::Several(found)),
    };
    let by_name = those(&|one| one.names.iter().any(|name| words(name) == wanted));
    let within = |one: &Named<'a>| one.all().any(|name| words(name).windows(wanted.len()).any(|part| part == wanted));
    let by_word = || match those(&|one| one.also.iter().any(|word| words(word) == wanted)) {
        some if some.is_empty() => some,
        _ => those(&within),
    };
    if let Some(meaning) = told(by_name).or_else(|| told(by_word())) {
        return meaning;
    }
    // A part of a name is no name: even where one has it, a person says so.
    let part = |one: &Named<'a>| one.all().any(|name| fitting(&words(name), &wanted) == wanted.len());
    match those(&part) {
        some if some.is_empty() || text.trim().chars().count() < LEAST_PART => Meaning::None,
        some => Meaning::Several(some),
    }
}

/// Fewer letters than these are a part of too many names.
const LEAST_PART: usize = 3;

/// Returns the codes in the order of how near their names are to a text, each with how near, 0 to 1, and one more for each word
/// that a name has in common with it, and for the whole text within it.
pub(crate) fn nearest<'a>(codes: &[Named<'a>], text: &str) -> Vec<(&'a str, f64)> {
    let wanted = words(text);
    let near = |name: &str| {
        let (name_plain, text_plain) = (plain(name), plain(text));
        let alike = strsim::jaro_winkler(&name_plain, &text_plain);
        let within = text_plain.chars().count() >= LEAST_PART && name_plain.contains(&text_plain);
        alike + if within { 1.0 } else { 0.0 } + fitting(&words(name), &wanted) as f64
    };
    let mut all: Vec<(&str, f64)> =
        codes.iter().map(|one| (one.code, one.all().map(near).fold(0.0, f64::max))).collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    all
}

/// Counts the words with which a word of a name begins.
fn fitting(name: &[String], wanted: &[String]) -> usize {
    let begun: BTreeSet<&String> = wanted.iter().filter(|word| name.iter().any(|of| of.starts_with(*word))).collect();
    if begun.len() == wanted.iter().collect::<BTreeSet<_>>().len() { wanted.len() } else { begun.len() }
}

/// Returns a text in lower case without accents, its words a blank apart.
fn plain(text: &str) -> String {
    let bare = |c: char| match c {
        'á' | 'à' | 'â' => 'a',
        'é' | 'è' | 'ê' => 'e',
        'í' => 'i',
        'ó' | 'ô' => 'o',
        'ú' | 'ü' => 'u',
        'ñ' => 'n',
        '-' | '_' => ' ',
        other => other,
    };
    let text: String = text.to_lowercase().chars().map(bare).collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns the words of a text, each without what tells one from many in English and Spanish: `cutworms`, `trozadores`.
fn words(text: &str) -> Vec<String> {
    let single = |word: &str| {
        if word.chars().count() <= 3 || word.ends_with("ss") || !word.chars().all(char::is_alphabetic) {
            return word.to_owned();
        }
        let word = word.strip_suffix('s').unwrap_or(word);
        let word = word.strip_suffix('e').unwrap_or(word);
        // `fly`, `flies`
        word.strip_suffix('y').map_or_else(|| word.to_owned(), |stem| format!("{stem}i"))
    };
    plain(text).split(' ').filter(|word| !word.is_empty()).map(single).collect()
}
