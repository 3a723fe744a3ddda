//! Intervals, tests and regression.

use ligule_agronomy::statistics;

use crate::row::Answer::{self, Number};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let wilson = || statistics::wilson_interval(row.whole("found"), row.whole("trials"), 0.95).expect("valid counts");
    Some(match row.check.as_str() {
        "t" => {
            let freedom = usize::try_from(row.whole("df")).expect("fits");
            Number(statistics::t_two_sided(row.number("level"), freedom).expect("a valid level"))
        }
        "wilson low, %" => Number(wilson().0 * 100.0),
        "wilson high, %" => Number(wilson().1 * 100.0),
        _ => return None,
    })
}
