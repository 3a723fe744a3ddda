//! Everything that can be looked up or worked by name: the built-in tables, and the formulas as worksheets.
//!
//! A family of formulas keeps its constants where its formulas are; [`tables`] shows them with their sources, and
//! [`worksheets`] lets a person work a formula step by step. Both are views: no number lives here.

mod table;
mod worksheet;

pub use table::{Cell, Origin, Row, Table};
pub(crate) use worksheet::with_marks;
pub use worksheet::{Answer, Given, Input, Need, Outcome, Takes, Value, Worksheet};

/// Returns a number as it was typed: without what a conversion left behind its sixth decimal.
pub(crate) fn plain(number: f64) -> f64 {
    if number.abs() < 1e9 { (number * 1e6).round() / 1e6 } else { number }
}

/// Returns every built-in table, by name.
pub fn tables() -> Vec<Table> {
    let families = [
        crate::cautions::tables(),
        crate::damage::tables(),
        crate::degree_days::tables(),
        crate::depth::tables(),
        crate::evenness::tables(),
        crate::harvest::tables(),
        crate::nitrogen::tables(),
        crate::replant::tables(),
        crate::roots::tables(),
        crate::soil::tables(),
        crate::spraying::tables(),
        crate::spacing::tables(),
        crate::stage::tables(),
        crate::stand::tables(),
        crate::statistics::tables(),
        crate::thresholds::tables(),
        crate::weeds::tables(),
    ];
    let mut all: Vec<_> = families.into_iter().flatten().collect();
    all.sort_by_key(|table| table.name);
    all
}

/// Returns every worksheet, by name.
pub fn worksheets() -> Vec<&'static Worksheet> {
    let families = [
        crate::damage::WORKSHEETS,
        crate::degree_days::WORKSHEETS,
        crate::depth::WORKSHEETS,
        crate::evenness::WORKSHEETS,
        crate::harvest::WORKSHEETS,
        crate::nitrogen::WORKSHEETS,
        crate::replant::WORKSHEETS,
        crate::roots::WORKSHEETS,
        crate::soil::WORKSHEETS,
        crate::spraying::WORKSHEETS,
        crate::spacing::WORKSHEETS,
        crate::stage::WORKSHEETS,
        crate::stand::WORKSHEETS,
        crate::statistics::WORKSHEETS,
        crate::thresholds::WORKSHEETS,
        crate::weeds::WORKSHEETS,
    ];
    let mut all: Vec<_> = families.into_iter().flatten().collect();
    all.sort_by_key(|worksheet| worksheet.name);
    all
}
