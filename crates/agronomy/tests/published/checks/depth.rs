//! Seed depth.

use ligule_agronomy::depth;

use crate::row::Answer::{self, Number};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    Some(match row.check.as_str() {
        "seed depth, in" => Number(depth::seed_depth(row.inches("seed_to_crown_in")).expect("a valid length").inches()),
        _ => return None,
    })
}
