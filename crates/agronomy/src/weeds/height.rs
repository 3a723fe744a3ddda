//! Days until a weed is too tall.

use ligule_units::Length;

use crate::catalogue::{Origin, Table};
use crate::error::{Error, within};

/// How fast a weed grows in good conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrowthRate {
    /// The weed.
    pub weed: &'static str,
    /// The slower figure, inches a day.
    pub slow: f64,
    /// The faster figure, inches a day.
    pub fast: f64,
    /// How it is known.
    pub origin: Origin,
    /// Where it comes from.
    pub source: &'static str,
}

/// Read on a page of the trade that names no study.
const UNTRACED: &str = "a page of the trade, source not traceable";

/// What is printed about growth.
pub const GROWTH: [GrowthRate; 3] = [
    GrowthRate { weed: "waterhemp", slow: 1.0, fast: 1.25, origin: Origin::Practice, source: UNTRACED },
    GrowthRate { weed: "palmer-amaranth", slow: 2.0, fast: 3.0, origin: Origin::Practice, source: UNTRACED },
    GrowthRate {
        weed: "weeds of corn",
        slow: 1.0,
        fast: 1.0,
        origin: Origin::Page,
        source: "University of Minnesota Extension, as the press reports it: may grow 1 in a day",
    },
];

/// Returns the days until a weed reaches a height; 0 if it has.
///
/// *Units:* heights, growth as a length each day; days out. *Holds:* heights of 0 to 200 in, growth of 0.01 to 10 in a
/// day. *Errors:* [`Error::OutOfRange`]. *Source:* definition.
///
/// 2 in tall, limit 4 in, 1.25 in a day (computed by hand):
/// ```
/// use ligule_units::Length;
/// let [height, limit, growth] = [2.0, 4.0, 1.25].map(Length::from_inches);
/// assert!((ligule_agronomy::weeds::days_until_height(height, limit, growth)? - 1.6).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn days_until_height(height: Length, limit: Length, growth_per_day: Length) -> Result<f64, Error> {
    let tall = |what, length: Length| within(what, length.inches(), 0.0, 200.0, " in");
    let left = tall("a height limit", limit)? - tall("a height of weeds", height)?;
    Ok(left.max(0.0) / within("growth in a day", growth_per_day.inches(), 0.01, 10.0, " in")?)
}

pub(crate) fn tables() -> Vec<Table> {
    let table = Table::new(
        "weed-growth",
        "How fast weeds of corn grow in good conditions",
        "Cool or dry days slow them; measure twice to know the field's own rate.",
        ["weed", "slower, in/day", "faster, in/day"],
    );
    vec![GROWTH.iter().fold(table, |table, row| {
        table.row([row.weed.into(), row.slow.into(), row.fast.into()], row.origin, row.source)
    })]
}
