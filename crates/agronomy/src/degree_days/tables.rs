//! The constants of degree days, as they are looked up by name.

use crate::catalogue::{Cell, Origin, Table};
use crate::degree_days::maturity::{FEWER_TO_BLACK_LAYER, FEWER_TO_SILK};
use crate::degree_days::stages::{HIGH_PLAINS, HIGH_PLAINS_SOURCE, WISCONSIN, WISCONSIN_SOURCE};
use crate::degree_days::{
    BLACK_LAYER_FIGURES, EMERGENCE_FIGURES, FORECAST_HORIZON, FORECAST_MISSING_LIMIT, INSECT_FORMS, LEAST_YEARS,
    LeafRate, MaturityFigure, SILK_FIGURES, SOYBEAN_EMERGENCE, TASSEL_FIGURES,
};

const PRACTICE: &str = "common practice of advisers, no source";
const DELAY: &str = "R. L. Nielsen et al. (2002), Agronomy Journal 94:549-558";

pub(crate) fn tables() -> Vec<Table> {
    vec![insects(), emergence(), leaves(), maturity(), high_plains(), wisconsin(), delay(), limits()]
}

fn insects() -> Table {
    let table = Table::new(
        "degree-day-forms",
        "Forms of degree days by insect",
        "The forms give different numbers on the same day: a published sum belongs to its form.",
        ["insect", "method", "base, °F", "upper, °F"],
    );
    INSECT_FORMS.iter().fold(table, |table, form| {
        let cells = [form.insect.into(), form.method.to_string().into(), form.base.into(), form.upper.into()];
        table.row(cells, form.origin, form.source)
    })
}

fn emergence() -> Table {
    let table = Table::new(
        "emergence-degree-days",
        "Degree days from planting to emergence",
        "Corn: modified average 86/50 on air temperature; the sources differ. Soybean: shares of plants that are up.",
        ["crop", "to", "from, °F·d", "to, °F·d"],
    );
    let table = EMERGENCE_FIGURES.iter().fold(table, |table, figure| {
        let cells = ["corn".into(), "emergence".into(), figure.low.into(), figure.high.into()];
        table.row(cells, Origin::Page, figure.source)
    });
    SOYBEAN_EMERGENCE.iter().fold(table, |table, (source, half, most)| {
        let cells = |to: &'static str, sum: f64| -> [Cell; 4] { ["soybean".into(), to.into(), sum.into(), sum.into()] };
        let table = table.row(cells("half the plants", *half), Origin::Page, source);
        table.row(cells("90 % of the plants", *most), Origin::Page, source)
    })
}

fn leaves() -> Table {
    let table = Table::new(
        "leaf-degree-days",
        "Degree days for a leaf collar of corn",
        "Central Corn Belt, no severe stress; the sources differ.",
        ["source's rate", "to V10, °F·d", "after V10, °F·d"],
    );
    [LeafRate::Purdue, LeafRate::Iowa].into_iter().fold(table, |table, rate| {
        let (early, late) = rate.per_collar();
        table.row([rate.word().into(), early.into(), late.into()], Origin::Page, rate.source())
    })
}

fn maturity() -> Table {
    let table = Table::new(
        "maturity-degree-days",
        "Degree days from planting to tassel, silk and black layer by relative maturity",
        "No standard defines relative maturity. Prefer the hybrid's own rating; Indiana hybrids mostly take 2,500 to \
         2,800 °F days to black layer.",
        ["stage", "relative maturity, days", "from, °F·d", "to, °F·d", "holds"],
    );
    let rows = |table: Table, stage: &'static str, figures: &'static [MaturityFigure]| {
        figures.iter().fold(table, |table, figure| {
            figure.points().iter().fold(table, |table, (maturity, low, high)| {
                let cells: [Cell; 5] =
                    [stage.into(), (*maturity).into(), (*low).into(), (*high).into(), figure.holds.into()];
                table.row(cells, figure.origin, figure.source)
            })
        })
    };
    let table = rows(rows(table, "tassel", &TASSEL_FIGURES), "silk", &SILK_FIGURES);
    rows(table, "black layer", &BLACK_LAYER_FIGURES)
}

fn high_plains() -> Table {
    let table = Table::new(
        "stage-degree-days",
        "Degree days to the stages of corn by length of season",
        "Leaves are leaves, not collars, counted from emergence.",
        ["stage", "short, °F·d", "medium, °F·d", "long, °F·d"],
    );
    HIGH_PLAINS.iter().fold(table, |table, (stage, sums)| {
        table.row([(*stage).into(), sums[0].into(), sums[1].into(), sums[2].into()], Origin::Page, HIGH_PLAINS_SOURCE)
    })
}

fn wisconsin() -> Table {
    let table = Table::new(
        "stage-degree-days-wisconsin",
        "Degree days from 15 May to the stages of corn of 95 to 105 days",
        "Wisconsin; works best in seasons that are typical.",
        ["stage", "from, °F·d", "to, °F·d"],
    );
    WISCONSIN.iter().fold(table, |table, (stage, low, high)| {
        table.row([(*stage).into(), (*low).into(), (*high).into()], Origin::Page, WISCONSIN_SOURCE)
    })
}

fn delay() -> Table {
    Table::new(
        "delayed-planting-degree-days",
        "How many degree days fewer corn takes for each day of planting after 1 May",
        "Indiana and Ohio, three hybrids, late April to mid June; up to 45 days; not for plantings before 1 May.",
        ["to", "fewer a day, °F·d"],
    )
    .row(["black layer".into(), FEWER_TO_BLACK_LAYER.into()], Origin::Page, DELAY)
    .row(
        ["silk".into(), FEWER_TO_SILK.into()],
        Origin::Page,
        "R. L. Nielsen et al. (2002), Agronomy Journal 94:549-558, as quoted in a bulletin of the seed trade",
    )
}

fn limits() -> Table {
    Table::new("forecast-limits", "When the date of a stage is foretold", "", ["limit", "number"])
        .row(["most days missing, share".into(), FORECAST_MISSING_LIMIT.into()], Origin::Practice, PRACTICE)
        .row(["fewest past years".into(), (LEAST_YEARS as f64).into()], Origin::Practice, PRACTICE)
        .row(["horizon, days after the start".into(), (FORECAST_HORIZON as f64).into()], Origin::Practice, PRACTICE)
}
