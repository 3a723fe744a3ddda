//! Seed depth.

use ligule_agronomy::depth;
use ligule_units::Length;

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    Some(match row.check.as_str() {
        "seed depth, in" => Number(depth::seed_depth(row.inches("seed_to_crown_in")).expect("a valid length").inches()),
        "depth warns" => {
            let depths: Vec<_> = row.numbers("depths").into_iter().map(Length::from_inches).collect();
            let summary = depth::depth_summary(&depths, row.inches("set")).expect("valid depths");
            let warnings = depth::depth_warnings(&summary, row.inches("set")).expect("valid depths");
            let told = warnings.iter().any(|warning| format!("{warning:?}") == row.text("of"));
            Text(if told { "yes" } else { "no" }.to_owned())
        }
        _ => return None,
    })
}
