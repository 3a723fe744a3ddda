//! What each check asks of the library: one file for each part of it.

use super::row::{Answer, Row};

mod damage;
mod degree_days;
mod depth;
mod evenness;
mod harvest;
mod replant;
mod soil;
mod spacing;
mod spraying;
mod stage;
mod stand;
mod statistics;
mod thresholds;

type Check = fn(&Row) -> Option<Answer>;

/// Every part of the library, and the checks that hold it.
pub(crate) const PARTS: [(&str, Check); 13] = [
    ("stand", stand::answer),
    ("evenness of emergence", evenness::answer),
    ("evenness of spacing", spacing::answer),
    ("growth stage", stage::answer),
    ("degree days", degree_days::answer),
    ("depth", depth::answer),
    ("replant", replant::answer),
    ("hail and frost", damage::answer),
    ("roots and soil", soil::answer),
    ("thresholds", thresholds::answer),
    ("spraying weather", spraying::answer),
    ("harvest", harvest::answer),
    ("statistics", statistics::answer),
];

/// Returns the part that has the row's check, and what the library answers.
pub(crate) fn answer(row: &Row) -> (&'static str, Answer) {
    let mut answers = PARTS.iter().filter_map(|(part, check)| check(row).map(|answer| (*part, answer)));
    let first = answers.next().unwrap_or_else(|| panic!("`{}` asks for an unknown check `{}`", row.name, row.check));
    assert!(answers.next().is_none(), "two parts have a check `{}`", row.check);
    first
}
