//! Growth stages and their codes.

use ligule_agronomy::stage::{bbch, soybean_bbch};

use crate::row::Answer::{self, Text};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    Some(match row.check.as_str() {
        "bbch" => Text(bbch(row.text("stage").parse().expect("a stage")).to_string()),
        "soybean bbch" => Text(soybean_bbch(row.text("stage").parse().expect("a stage")).to_string()),
        _ => return None,
    })
}
