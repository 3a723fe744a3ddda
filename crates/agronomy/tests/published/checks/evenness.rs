//! Evenness of emergence.

use ligule_agronomy::evenness::{LatePattern, late_loss, leaf_lag_loss};

use crate::row::Answer::{self, Number};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let lag = || {
        let study = row.text("study").parse().expect("a study");
        leaf_lag_loss(study, row.number("share"), row.number("leaves")).expect("inside")
    };
    Some(match row.check.as_str() {
        "emergence pattern, %" => {
            let pattern: LatePattern = row.text("pattern").parse().expect("a pattern");
            Number(pattern.share_of_uniform() * 100.0)
        }
        "late loss, %" => {
            let table = row.text("table").parse().expect("a table");
            Number(late_loss(table, row.number("share"), row.number("days")).expect("inside") * 100.0)
        }
        "leaf lag loss, %" => Number(if row.text("end") == "low" { lag().0 } else { lag().1 } * 100.0),
        "leaf lag left, %" => Number((1.0 - lag().0) * 100.0),
        _ => return None,
    })
}
