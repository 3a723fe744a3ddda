//! Spacing within the row.

use ligule_agronomy::spacing;

use crate::row::Answer::{self, Number};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let gap = || spacing::plant_spacing(row.inches("row_in"), row.per_acre("per_acre")).expect("a valid row");
    Some(match row.check.as_str() {
        "spacing, in" => Number(gap().inches()),
        "gap limit, in" => {
            let limits = spacing::gap_limits(gap()).expect("a valid spacing");
            Number(match row.text("limit") {
                "double" => limits.double.inches(),
                "one skip" => limits.one_skip.inches(),
                "two skips" => limits.two_skips.inches(),
                other => panic!("unknown limit `{other}`"),
            })
        }
        _ => return None,
    })
}
