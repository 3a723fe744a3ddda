//! The tables of stand counts as people look at them.

use ligule_units::Length;

use super::{USUAL_SHARE, WHEEL_PLANTS, counts_needed, hoop_density, row_length};
use crate::catalogue::{Cell, Origin, Table};

/// Row widths of planters and drills, in inches. Common practice, no source.
const USUAL_ROWS: [f64; 9] = [7.5, 10.0, 15.0, 20.0, 22.0, 28.0, 30.0, 36.0, 38.0];

/// Inside diameters of hoops, in inches. Common practice, no source.
const USUAL_HOOPS: [f64; 12] = [18.0, 21.0, 24.0, 27.0, 28.0, 28.25, 30.0, 32.0, 33.0, 34.0, 36.0, 38.0];

/// Coefficients of variation, in percent, for which the number of counts is shown.
const USUAL_CVS: [f64; 9] = [5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0];

/// How the stand beside the seed dropped is called: from this percentage up. Common practice, no source.
pub(super) const STAND_CLASSES: [(f64, &str); 5] = [
    (95.0, "excellent"),
    (90.0, "good"),
    (85.0, "acceptable: look for a cause"),
    (75.0, "low: investigate and map"),
    (0.0, "very low: compare with replanting"),
];

pub(crate) fn tables() -> Vec<Table> {
    vec![rows(), hoops(), counts(), places(), classes(), expected()]
}

fn rows() -> Table {
    let rows = Table::new(
        "row-length",
        "Row that covers a thousandth of an acre, by row width",
        "Any row width from 1 to 120 in can be worked: `ligule calc row-length`.",
        ["row width, in", "length, ft", "length, m"],
    );
    let source = "University of Wisconsin, Discovery Farms (2010), Taking a stand count; 43,560 sq ft in an acre";
    USUAL_ROWS.into_iter().fold(rows, |table, width| {
        let length = row_length(Length::from_inches(width), USUAL_SHARE).expect("usual row widths are in range");
        let metres = length.metres();
        table.row([width.into(), length.feet().into(), metres.into()], Origin::Derived, source)
    })
}

fn hoops() -> Table {
    let table = Table::new(
        "hoop-factors",
        "Plants per area for each plant in a thrown hoop, by its inside diameter",
        "Exact; factors printed elsewhere are up to 0.05 % higher from a rounded area.",
        ["inside diameter, in", "plants per acre", "plants per hectare"],
    );
    USUAL_HOOPS.into_iter().fold(table, |table, diameter| {
        let one = hoop_density(1.0, Length::from_inches(diameter)).expect("usual hoops are in range");
        let cells = [diameter.into(), one.per_acre().into(), one.per_hectare().into()];
        table.row(cells, Origin::Derived, "area of a circle; 43,560 sq ft in an acre")
    })
}

fn counts() -> Table {
    let table = Table::new(
        "counts-needed",
        "Stand counts for an interval of ± a share of the mean, by the variation of the counts",
        "Counts at random places. Counts of an ordinary stand vary by 8 to 15 %, of a patchy one by more than 20 % (from \
         memory, to be verified).",
        ["CV, %", "95 %, ± 3 %", "95 %, ± 5 %", "95 %, ± 10 %", "90 %, ± 5 %", "90 %, ± 10 %"],
    );
    let aims = [(0.95, 0.03), (0.95, 0.05), (0.95, 0.10), (0.90, 0.05), (0.90, 0.10)];
    USUAL_CVS.into_iter().fold(table, |table, cv| {
        let needed = aims.map(|(level, aim)| counts_needed(cv / 100.0, aim, level).expect("within reach") as f64);
        let cells: Vec<Cell> = std::iter::once(cv).chain(needed).map(Cell::from).collect();
        table.row(cells, Origin::Derived, "solved from the t interval, NIST/SEMATECH (2012), section 7.2.2.2")
    })
}

fn places() -> Table {
    let page = Origin::Page;
    let carolina = "North Carolina State University, Evaluating crop stand";
    let tennessee = "University of Tennessee (2011), Checking corn populations; Purdue Corn and Soybean Field Guide";
    Table::new(
        "places-to-count",
        "How many places to count, as published",
        "Sources differ. Choose each place blind; leave out no poor part; count a doubtful plant as one half.",
        ["where", "places"],
    )
    .row(["1 to 15 acres".into(), "3".into()], page, carolina)
    .row(["16 to 30 acres".into(), "5".into()], page, carolina)
    .row(["31 to 50 acres".into(), "7".into()], page, carolina)
    .row(["any field, at random".into(), "5 or more".into()], page, tennessee)
    .row(
        ["after damage".into(), "one for each 2 to 3 acres".into()],
        page,
        "Ohio State University, Ohio Agronomy Guide",
    )
    .row(
        ["fairly uniform, by measuring wheel".into(), format!("{WHEEL_PLANTS} plants for each 5 to 10 acres").into()],
        page,
        "University of Illinois Extension, Corn Stand Count",
    )
    .row(
        ["before replanting".into(), "3 or more, ideally a hundredth of an acre each".into()],
        page,
        "University of Missouri, Guide to corn replant decisions",
    )
}

fn classes() -> Table {
    let table = Table::new(
        "stand-classes",
        "What is said of a stand, by its share of the seed dropped",
        "Names only; whether to replant is a sum of its own.",
        ["from, % of seed dropped", "said"],
    );
    STAND_CLASSES.iter().fold(table, |table, (from, said)| {
        table.row([(*from).into(), (*said).into()], Origin::Practice, "common practice, no source")
    })
}

/// What one publication expects of the seed of a crop.
pub(super) struct Expected {
    /// The crop.
    pub(super) crop: &'static str,
    /// Where and how: `in rows`.
    pub(super) under: &'static str,
    /// From and to, per cent of the seed dropped.
    pub(super) per_cent: (f64, f64),
    pub(super) origin: Origin,
    pub(super) source: &'static str,
}

pub(super) const EXPECTED_EMERGENCE: [Expected; 4] = [
    Expected {
        crop: "corn",
        under: "as survival of viable seed",
        per_cent: (85.0, 95.0),
        origin: Origin::Page,
        source: "Ohio State University Extension, Corn seeding rates versus final stands",
    },
    Expected {
        crop: "corn",
        under: "as usual",
        per_cent: (90.0, 95.0),
        origin: Origin::Page,
        source: "Ohio State University, Ohio Agronomy Guide, Making replant decisions",
    },
    Expected {
        crop: "soybean",
        under: "in rows",
        per_cent: (80.0, 90.0),
        origin: Origin::Memory,
        source: "from memory, to be verified",
    },
    Expected {
        crop: "soybean",
        under: "drilled, or in crusted soil",
        per_cent: (70.0, 80.0),
        origin: Origin::Memory,
        source: "from memory, to be verified",
    },
];

fn expected() -> Table {
    let table = Table::new(
        "expected-emergence",
        "Plants expected of the seed dropped, as published",
        "",
        ["crop", "conditions", "from, % of seed", "to, % of seed"],
    );
    EXPECTED_EMERGENCE.iter().fold(table, |table, expected| {
        let (from, to) = expected.per_cent;
        table.row(
            [expected.crop.into(), expected.under.into(), from.into(), to.into()],
            expected.origin,
            expected.source,
        )
    })
}
