//! The tables of harvest as people look at them.

use super::components::KERNEL_FACTORS;
use super::grain::Grain;
use super::moisture::shrink_a_point;
use super::plot::kilograms_per_hectare;
use super::test_weight::{GRADES, test_weight_metric};
use crate::catalogue::{Origin, Table};

const KARKI: &str = "D. Karki (2020), Corn grain moisture discount, South Dakota State University";

pub(crate) fn tables() -> Vec<Table> {
    vec![kernel_factors(), bushels(), shrink(), handling(), storage(), grades(), ears()]
}

fn kernel_factors() -> Table {
    let table = Table::new(
        "kernel-factor",
        "Thousand kernels of corn in a bushel",
        "Contested: none fits every year, so show the range. Measured kernels ran 25 to 36 g per 100, 100,000 to \
         70,000 a bushel (G. Roth, 2014, Penn State University).",
        ["thousand kernels a bushel", "for"],
    );
    KERNEL_FACTORS.iter().fold(table, |table, factor| {
        table.row([factor.thousand.into(), factor.says.into()], factor.origin, factor.source)
    })
}

fn bushels() -> Table {
    let table = Table::new(
        "bushel",
        "The standard bushel",
        "A bushel is a weight: what is sold is weighed, whatever its test weight.",
        ["grain", "weight, lb", "moisture, %", "dry matter, lb", "1 bu/ac, kg/ha"],
    );
    Grain::ALL.iter().fold(table, |table, grain| {
        let dry = grain.bushel() * (1.0 - grain.standard_moisture());
        let metric = kilograms_per_hectare(*grain, 1.0).expect("one bushel is in range");
        let moisture = grain.standard_moisture() * 100.0;
        let source = match grain {
            Grain::Corn => KARKI,
            Grain::Soybean => "T. Dorn (2009), Harvest soybeans at 13 % moisture, University of Nebraska",
        };
        table.row(
            [grain.word().into(), grain.bushel().into(), moisture.into(), dry.into(), metric.into()],
            Origin::Page,
            source,
        )
    })
}

fn shrink() -> Table {
    const FINAL: [f64; 8] = [15.5, 15.0, 14.0, 13.0, 12.0, 11.0, 10.0, 9.0];
    let table = Table::new(
        "moisture-shrink",
        "Weight that each point of moisture removed takes, % of the wet weight",
        "100 / (100 − final moisture). Buyers who take 1.2 to 1.5 at 15.5 % pay themselves for more than water.",
        ["final moisture, %", "shrink, % a point"],
    );
    FINAL.iter().fold(table, |table, percent| {
        let factor = shrink_a_point(percent / 100.0).expect("final moistures are in range");
        table.row([(*percent).into(), factor.into()], Origin::Derived, KARKI)
    })
}

fn handling() -> Table {
    Table::new(
        "handling-loss",
        "Dry matter lost in drying and handling, % of the first weight",
        "Beside the water; varies with how hard grain is dried and moved.",
        ["what", "least, %", "most, %"],
    )
    .row(["measured".into(), 0.22.into(), 1.71.into()], Origin::Page, KARKI)
    .row(["called reasonable".into(), 0.0.into(), 1.0.into()], Origin::Page, KARKI)
    .row(["taken in buyers' tables".into(), 0.5.into(), 0.5.into()], Origin::Page, KARKI)
    .row(["buyers' flat shrink, % a point, water included".into(), 1.2.into(), 1.5.into()], Origin::Page, KARKI)
}

fn storage() -> Table {
    let source = "B. McKenzie, Purdue University, quoted by D. Karki, South Dakota State University";
    Table::new(
        "storage-moisture",
        "Moisture at which shelled corn keeps",
        "Sound grain that is cooled; broken or mouldy grain must be drier.",
        ["time in store", "moisture at most, %"],
    )
    .row(["up to 6 months".into(), 15.5.into()], Origin::Page, source)
    .row(["up to 12 months".into(), 14.0.into()], Origin::Page, source)
    .row(["longer".into(), 13.0.into()], Origin::Page, source)
}

fn grades() -> Table {
    let table = Table::new(
        "test-weight",
        "Least test weight of the US grades of corn",
        "Density, not yield. Other factors of a grade may put the grain lower.",
        ["grade", "at least, lb/bu", "at least, kg/hL"],
    );
    GRADES.iter().fold(table, |table, (grade, pounds, origin, source)| {
        let metric = test_weight_metric(*pounds).expect("grades are in range");
        table.row([(*grade).into(), (*pounds).into(), metric.into()], *origin, source)
    })
}

fn ears() -> Table {
    let source = "a press page quoting USDA-NASS counts of Illinois, its address withheld";
    Table::new(
        "plants-with-ears",
        "Corn plants that bore an ear, % of plants: late counts in Illinois",
        "Barren plants are the rest.",
        ["year", "with an ear, %"],
    )
    .row(["2008 to 2011".into(), 97.3.into()], Origin::Page, source)
    .row(["2012, drought".into(), 81.5.into()], Origin::Page, source)
}
