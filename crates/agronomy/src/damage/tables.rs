//! The tables of damage as people look at them.

use super::chart::{ChartRow, HailChart};
use super::flood::LIMITS as FLOOD_LIMITS;
use super::frost::LIMITS as FROST_LIMITS;
use super::growing_point::POSITIONS;
use super::soybean::{NODES, POINTS};
use super::wait::WAITS;
use crate::catalogue::{Cell, Origin, Table};

pub(crate) fn tables() -> Vec<Table> {
    vec![national(), minnesota(), offsets(), stand_rules(), positions(), waits(), frost(), flood(), nodes(), points()]
}

fn stage_of(row: &ChartRow) -> Cell {
    let (first, last) = row.stages;
    if first == last { first.to_string().into() } else { format!("{first} to {last}").into() }
}

fn chart(mut table: Table, chart: HailChart) -> Table {
    for row in chart.rows() {
        let cells = std::iter::once(stage_of(row)).chain(row.loss.iter().map(|loss| Cell::from(*loss)));
        table = table.row(cells.collect::<Vec<_>>(), row.origin, row.source);
    }
    table
}

fn national() -> Table {
    let table = Table::new(
        "hail-leaf-loss",
        "Yield loss of corn, %, by adjuster stage and leaf area lost: the national chart",
        "Stages count leaves as hail adjusters do, one or two more than collars (see hail-stage-offset). Green \
         shredded leaf is not lost. No row below 7-leaf: the chart takes the loss as small. An estimate, not an \
         insurance settlement.",
        std::iter::once("stage".to_owned()).chain((1..=10).map(|tenth| format!("{} % lost", tenth * 10))),
    );
    let early = |stage: &'static str, loss: &'static str| {
        let mut cells: Vec<Cell> = vec![stage.into()];
        cells.resize(10, Cell::Blank);
        cells.push(loss.into());
        cells
    };
    let table = table
        .row(
            early("before V5 (collars)", "under 10"),
            Origin::Page,
            "Indiana certified crop advisers (2019), When hail damages corn determines outcome: nearly all leaf tissue",
        )
        .row(
            early("V2 to V5 (collars)", "8 to 48"),
            Origin::Memory,
            "a few trials of complete defoliation, from memory, to be verified",
        );
    chart(table, HailChart::National)
}

fn minnesota() -> Table {
    let table = Table::new(
        "hail-leaf-loss-minnesota",
        "Yield loss of corn, %, by late stage and leaf area lost: the Minnesota version",
        "For a crop that is at these stages at the usual time of year; differs from hail-leaf-loss by up to 2 points.",
        ["stage", "25 % lost", "50 % lost", "75 % lost", "100 % lost"],
    );
    chart(table, HailChart::Minnesota)
}

fn offsets() -> Table {
    let rows: [(&str, &str, &str, Origin, &str); 5] = [
        (
            "V6",
            "7-leaf",
            "1",
            Origin::Page,
            "Iowa State University, quoted in University of Delaware, Weekly Crop Update, hail damage of 9 June",
        ),
        ("V6", "8-leaf", "2", Origin::Page, "C. Lee (2007), Corn hail damage, University of Kentucky"),
        (
            "V5",
            "6- to 7-leaf",
            "1 to 2",
            Origin::Page,
            "University of Nebraska (2014), Assessing hail damage to corn, soybeans",
        ),
        (
            "any",
            "",
            "1 to 2",
            Origin::Page,
            "P. Thomison, Identifying vegetative growth stages in corn, Ohio State University AGF-127",
        ),
        ("below V5; V5 to V12", "", "1; 2", Origin::Practice, "common practice, no source; built on the rows above"),
    ];
    let table = Table::new(
        "hail-stage-offset",
        "Leaves by the hail adjuster's count, against leaf collars",
        "Contested: choose the offset, or count as the adjuster does (uppermost leaf 40 to 50 % exposed with its tip \
         below the horizontal). From about 14-leaf on published offsets are not consistent.",
        ["collar stage", "adjuster stage", "leaves more than collars"],
    );
    rows.into_iter().fold(table, |table, (collars, leaves, more, origin, source)| {
        let leaves = if leaves.is_empty() { Cell::Blank } else { leaves.into() };
        table.row([collars.into(), leaves, more.into()], origin, source)
    })
}

fn stand_rules() -> Table {
    let lauer = "J. Lauer (1994), Assessing hail damage in corn, Wisconsin Crop Manager 1(15):111";
    let elmore = "R. Elmore (2009), Corn hail loss chart, Iowa State University";
    let nebraska = "University of Nebraska, EC126, Evaluating hail damage to corn";
    Table::new(
        "hail-stand-loss",
        "Yield loss of corn from lost plants, by adjuster stage, and how losses join",
        "The adjusters' own stand chart for stages up to 10-leaf could not be read.",
        ["case", "loss"],
    )
    .row(
        ["up to 10-leaf".into(), "1 − potential of the stand left / potential of the stand before".into()],
        Origin::Practice,
        "common practice, no source; both potentials from one matrix of planting date and stand",
    )
    .row(["after 10-leaf".into(), "one for one: 80 % of the stand, 80 % of the yield".into()], Origin::Page, lauer)
    .row(
        ["late season, broken below the ear".into(), "one for one: 10 % of the plants, 10 %".into()],
        Origin::Page,
        elmore,
    )
    .row(["direct loss, then leaf loss".into(), "direct + (1 − direct) × leaf".into()], Origin::Page, nebraska)
}

fn positions() -> Table {
    let table = Table::new(
        "growing-point",
        "Where the growing point of corn is, by collar stage",
        "The growing point of soybean is above the surface from emergence on; a plant cut below the cotyledons dies.",
        ["stage", "growing point", "height"],
    );
    POSITIONS.iter().fold(table, |table, (stages, position, height, origin, source)| {
        let height = if height.is_empty() { Cell::Blank } else { (*height).into() };
        table.row([(*stages).into(), position.word().into(), height], *origin, source)
    })
}

fn waits() -> Table {
    let table = Table::new(
        "days-to-wait",
        "Days to wait before judging whether plants live",
        "Longer when it is cool. Plants alive: split stems white to cream and firm; dead: brown, watery, soft.",
        ["crop", "event", "least, d", "most, d", "note"],
    );
    WAITS.iter().fold(table, |table, wait| {
        let (least, most) = (f64::from(wait.days.0), f64::from(wait.days.1));
        let cells = [wait.crop.word().into(), wait.event.word().into(), least.into(), most.into(), wait.note.into()];
        table.row(cells, wait.origin, wait.source)
    })
}

fn frost() -> Table {
    let table = Table::new(
        "frost-limits",
        "Cold at which emerged corn and soybean are harmed",
        "Contested: versions are listed, none averaged. `A few hours` is read as 2, `several hours` as 3. Air in \
         hollows, over residue and over dry loose soil is colder than at the station.",
        ["crop", "at or below, °F", "for at least, h", "what is harmed"],
    );
    FROST_LIMITS.iter().fold(table, |table, limit| {
        let cells = [limit.crop.word().into(), limit.fahrenheit.into(), limit.hours.into(), limit.harm.into()];
        table.row(cells, limit.origin, limit.source)
    })
}

fn flood() -> Table {
    let table = Table::new(
        "flood-limits",
        "Days that corn and soybean live under water",
        "Contested: versions are listed, none averaged. Corn of 6 to 30 in that lived lost 5 to 32 % of yield \
         (University of Nebraska, 2018, Flooding and ponding in corn).",
        ["crop", "collars from", "to", "from, °F", "to, °F", "surely, d", "at most, d", "note"],
    );
    FLOOD_LIMITS.iter().fold(table, |table, limit| {
        let cells = [
            limit.crop.word().into(),
            f64::from(limit.collars.0).into(),
            f64::from(limit.collars.1).into(),
            limit.fahrenheit.0.into(),
            limit.fahrenheit.1.into(),
            limit.days.0.into(),
            limit.days.1.into(),
            limit.note.into(),
        ];
        table.row(cells, limit.origin, limit.source)
    })
}

fn nodes() -> Table {
    const COLUMNS: [f64; 5] = [20.0, 40.0, 60.0, 80.0, 100.0];
    let table = Table::new(
        "soybean-node-loss",
        "Yield loss of soybean, %, by stage and main-stem nodes cut off",
        "Contested: at V2 all nodes lost cost 19 % in one study and 45 % in the other. Full stands.",
        ["stage", "study"]
            .into_iter()
            .map(str::to_owned)
            .chain(COLUMNS.iter().map(|share| format!("{share} % of nodes"))),
    );
    NODES.iter().fold(table, |table, row| {
        let stages = row.stages.iter().map(ToString::to_string).collect::<Vec<_>>().join(" to ");
        let mut cells: Vec<Cell> = vec![stages.into(), row.study.word().into()];
        cells
            .extend(COLUMNS.iter().map(|share| Cell::from(row.loss.iter().find(|knot| knot.0 == *share).map(|k| k.1))));
        table.row(cells, row.origin, row.source)
    })
}

fn points() -> Table {
    let table = Table::new(
        "soybean-hail-loss",
        "Published yield losses of soybean from hail, by what was lost",
        "Single statements, not a grid: nothing can be read between them.",
        ["stage and what was lost", "loss of yield"],
    );
    POINTS
        .iter()
        .fold(table, |table, (lost, loss, origin, source)| table.row([(*lost).into(), (*loss).into()], *origin, source))
}
