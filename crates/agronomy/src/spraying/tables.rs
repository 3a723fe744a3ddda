//! The numbers of spraying weather, as they are looked up by name.

use crate::catalogue::{Cell, Origin, Table};
use crate::spraying::delta_t::{GOOD, HIGH, LOW};
use crate::spraying::inversion::{AFTER_SUNRISE, BEFORE_SUNSET, CALM};
use crate::spraying::wet_bulb::{DRIEST_AT_FREEZING, DRIEST_PER_DEGREE};
use crate::spraying::{DeltaTClass, TEMPERATURE_LIMITS, WIND_LIMITS};

const DELTA_T: &str = "North Dakota State University, Crop & Pest Report, 23 May 2019, Delta T: a new (old) tool for pesticide \
                       application decision making; T. Wolf, What is Delta T and why is it important for spraying?";
const LABEL: &str = "Published reference numbers. The label is the law; local codes and licensed practice decide.";

pub(crate) fn tables() -> Vec<Table> {
    vec![delta_t(), wind(), temperature(), inversion(), wet_bulb_range()]
}

fn delta_t() -> Table {
    let table = Table::new(
        "delta-t-classes",
        "Classes of Delta T for spraying",
        "Australian practice; no part of the training of applicators in the United States. The sources put exactly 8 into two \
         classes. The label is the law.",
        ["class", "from, °C", "to, °C"],
    );
    [
        (DeltaTClass::Low, None, Some(LOW)),
        (DeltaTClass::Good, Some(LOW), Some(GOOD)),
        (DeltaTClass::Caution, Some(GOOD), Some(HIGH)),
        (DeltaTClass::Avoid, Some(HIGH), None),
    ]
    .into_iter()
    .fold(table, |table, (class, from, to)| {
        table.row([class.word().into(), from.into(), to.into()], Origin::Page, DELTA_T)
    })
}

fn wind() -> Table {
    let table = Table::new("spray-wind", "Windows of wind for spraying", LABEL, ["of", "least, mph", "most, mph"]);
    WIND_LIMITS.iter().fold(table, |table, limit| {
        table.row([limit.of.into(), limit.least.into(), limit.most.into()], limit.origin, limit.source)
    })
}

fn temperature() -> Table {
    let columns = ["beyond it", "limit, °F", "beyond is", "of", "severity"];
    let table = Table::new("spray-temperature", "Limits of air temperature for spraying", LABEL, columns);
    TEMPERATURE_LIMITS.iter().fold(table, |table, limit| {
        let cells = [
            limit.of.into(),
            limit.fahrenheit.into(),
            if limit.warmer { "warmer" } else { "colder" }.into(),
            if limit.night { "the night's lowest" } else { "the air now" }.into(),
            limit.severity.word().into(),
        ];
        table.row(cells, limit.origin, limit.source)
    })
}

fn inversion() -> Table {
    let table = Table::new(
        "inversion-signs",
        "Signs of a surface temperature inversion",
        "Smoke or dust that hangs flat, or air that is warmer at 8 to 10 ft than near the ground, is enough; or a clear sky, calm \
         and the time together. An inversion can be there under wind aloft.",
        ["sign", "limit"],
    );
    table
        .row(
            ["wind below, mph".into(), CALM.into()],
            Origin::Page,
            "Pesticide Environmental Stewardship, Evaluate the weather conditions",
        )
        .row(["from so long before sunset, min".into(), BEFORE_SUNSET.into()], Origin::Practice, "common practice")
        .row(["to so long after sunrise, min".into(), AFTER_SUNRISE.into()], Origin::Practice, "common practice")
}

fn wet_bulb_range() -> Table {
    let paper = "R. Stull (2011), Journal of Applied Meteorology and Climatology 50:2267-2269";
    let line = "reckoned from the psychrometric equation: on the drier side the error grows beyond +0.65 °C";
    Table::new("wet-bulb-range", "Where the wet-bulb equation holds", "Sea-level pressure.", ["of", "from", "to"])
        .row(["air, °C".into(), (-20.0).into(), 50.0.into()], Origin::Page, paper)
        .row(["relative humidity, %".into(), 5.0.into(), 99.0.into()], Origin::Page, paper)
        .row(["error, °C".into(), (-1.0).into(), 0.65.into()], Origin::Page, paper)
        .row(["driest at 0 °C, %".into(), DRIEST_AT_FREEZING.into(), Cell::Blank], Origin::Derived, line)
        .row(["more humid for each °C colder, %".into(), DRIEST_PER_DEGREE.into(), Cell::Blank], Origin::Derived, line)
}
