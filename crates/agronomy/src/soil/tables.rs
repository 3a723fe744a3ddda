//! The tables of soil as people look at them.

use super::feel::{CELLS, NRCS, TextureClass};
use super::residue::{CONSERVATION_TILLAGE, ResidueClass};
use super::rupture::{BLOW, Moisture, Rupture};
use super::structure::{Grade, Shape, SizeSystem, limits};
use crate::catalogue::{Cell, Origin, Table};

pub(crate) fn tables() -> Vec<Table> {
    vec![capacities(), feel(), grades(), sizes(), rupture(), residue()]
}

fn capacities() -> Table {
    let table = Table::new(
        "available-water-capacity",
        "Available water capacity by texture class",
        "Ranges of the class: a soil survey's number for the soil at hand is better.",
        ["class", "textures", "least, in/ft", "most, in/ft", "least, mm/m", "most, mm/m"],
    );
    TextureClass::ALL.iter().fold(table, |table, class| {
        let (least, most) = class.capacity();
        let cells = [
            class.word().into(),
            class.textures().join(", ").into(),
            least.inches_per_foot().into(),
            most.inches_per_foot().into(),
            least.millimetres_per_metre().into(),
            most.millimetres_per_metre().into(),
        ];
        table.row(cells, Origin::Page, NRCS)
    })
}

fn feel() -> Table {
    let table = Table::new(
        "soil-moisture-feel",
        "Soil moisture by feel: what a squeezed handful shows, water there, water lacking",
        "Squeeze a handful to a ball, then push out a ribbon. With practice good to about 5 % of the available water. \
         Free water when squeezed or bounced is above capacity. Fit to till: soil at working depth crumbles when \
         pressed and does not ball (D. Martens, 2014, University of Minnesota Extension).",
        ["class", "feel", "available, %", "what is felt", "lacking from, in/ft", "to, in/ft", "from, mm/m", "to, mm/m"],
    );
    CELLS.iter().fold(table, |table, cell| {
        let (low, high) = cell.feel.share();
        let share = if low == high { "100".to_owned() } else { format!("{} to {}", low * 100.0, high * 100.0) };
        let (least, most) = super::moisture::deficit(cell.texture, cell.feel);
        let cells = [
            cell.texture.word().into(),
            cell.feel.word().into(),
            share.into(),
            cell.signs.into(),
            cell.deficit.0.into(),
            cell.deficit.1.into(),
            least.millimetres_per_metre().into(),
            most.millimetres_per_metre().into(),
        ];
        table.row(cells, cell.origin, cell.source)
    })
}

fn grades() -> Table {
    let table = Table::new(
        "soil-structure-grade",
        "Grade of soil structure",
        "Names as the public field book has them.",
        ["code", "grade", "what is seen"],
    );
    Grade::ALL.iter().fold(table, |table, grade| {
        table.row(
            [f64::from(grade.code()).into(), grade.word().into(), grade.signs().into()],
            Origin::Memory,
            "P. J. Schoeneberger et al. (2012), Field book for describing and sampling soils, version 3.0, from \
             memory, to be verified",
        )
    })
}

fn sizes() -> Table {
    let mut table = Table::new(
        "soil-structure-size",
        "Size classes of soil structure by type, mm",
        "Thickness of plates, diameter of others; platy says thin and thick for fine and coarse. Contested: the \
         Canadian list joins the two finest classes. A unit exactly on a limit belongs to the larger class.",
        ["system", "type", "very fine", "fine", "medium", "coarse", "very coarse", "extremely coarse"],
    );
    for system in SizeSystem::ALL {
        for shape in Shape::ALL {
            let (ends, classes) = limits(*system, *shape);
            if classes.is_empty() {
                continue;
            }
            let mut cells: Vec<Cell> = vec![system.word().into(), shape.word().into()];
            cells.extend(super::structure::SizeClass::ALL.iter().map(|class| {
                classes.iter().position(|one| one == class).map_or(Cell::Blank, |place| range(ends, place))
            }));
            let (origin, source) = match (system, shape) {
                (SizeSystem::Canadian, _) => (
                    Origin::Page,
                    "Agriculture and Agri-Food Canada, Canadian Soil Information Service, glossary, table 3",
                ),
                (SizeSystem::FieldBook, Shape::Lenticular | Shape::Wedge) => (
                    Origin::Memory,
                    "P. J. Schoeneberger et al. (2012), Field book for describing and sampling soils, version 3.0, \
                     from memory, to be verified",
                ),
                (SizeSystem::FieldBook, _) => (
                    Origin::Page,
                    "University of California, Santa Cruz, Teaching organic farming and gardening, unit 2.1, table 5; \
                     extremely coarse from P. J. Schoeneberger et al. (2012), from memory, to be verified",
                ),
            };
            table = table.row(cells, origin, source);
        }
    }
    table
}

/// Returns the range of the class at that place: `< 5`, `5 to 10`, `≥ 50`.
fn range(ends: &[f64], place: usize) -> Cell {
    match (place.checked_sub(1).and_then(|below| ends.get(below)), ends.get(place)) {
        (None, Some(to)) => format!("< {to}").into(),
        (Some(from), Some(to)) => format!("{from} to {to}").into(),
        (Some(from), None) => format!("≥ {from}").into(),
        (None, None) => Cell::Blank,
    }
}

fn rupture() -> Table {
    let table = Table::new(
        "rupture-resistance",
        "Rupture resistance of a block of about 25 to 30 mm",
        "By the least force that breaks it. 8, 20, 40 and 80 N are also in the abstract of a published calibration \
         tool.",
        ["moist", "dry", "force from", "force to"],
    );
    Rupture::ALL.iter().fold(table, |table, class| {
        let next = Rupture::ALL.iter().find(|other| *other > class && other.least_newtons().is_some());
        let to = next.and_then(|other| other.least_newtons()).unwrap_or(BLOW);
        let (from, to): (Cell, Cell) = match (class, class.least_newtons()) {
            (_, Some(from)) => (format!("{from} N").into(), format!("{to} N").into()),
            (Rupture::Seven, None) => (format!("{BLOW} N").into(), "a blow of 3 J".into()),
            (Rupture::Eight, None) => ("a blow of 3 J".into(), Cell::Blank),
            (_, None) => ("no block".into(), Cell::Blank),
        };
        table.row(
            [class.name(Moisture::Moist).into(), class.name(Moisture::Dry).into(), from, to],
            Origin::Memory,
            "P. J. Schoeneberger et al. (2012), Field book for describing and sampling soils, version 3.0, from \
             memory, to be verified",
        )
    })
}

fn residue() -> Table {
    let table = Table::new(
        "residue-cover",
        "Residue cover: classes, and the rules of the line transect",
        "Readers of a tape tend to count too much.",
        ["what", "value"],
    );
    let missouri = "University of Missouri G1570 (1993), Estimating residue by line transect";
    let table = ResidueClass::ALL.iter().fold(table, |table, class| {
        table.row(["class".into(), class.word().into()], Origin::Practice, "common practice, no source")
    });
    table
        .row(
            [
                "conservation tillage, after planting".into(),
                format!("{:.0} % or more", CONSERVATION_TILLAGE * 100.0).into(),
            ],
            Origin::Page,
            missouri,
        )
        .row(["marks on the line, at 45° to the rows".into(), "100".into()], Origin::Page, missouri)
        .row(
            ["transects a field, off the headlands".into(), "3 or more".into()],
            Origin::Page,
            "University of Nebraska, Estimating percent residue cover using the line-transect method",
        )
        .row(
            ["transects a field, other version".into(), "5".into()],
            Origin::Page,
            "Kansas State University, Estimating crop residue cover",
        )
        .row(
            ["smallest piece that counts".into(), "1/8 in".into()],
            Origin::Page,
            "Kansas State University, Estimating crop residue cover",
        )
        .row(
            ["smallest piece that counts, other version".into(), "3/32 in".into()],
            Origin::Memory,
            "USDA Natural Resources Conservation Service, from memory, to be verified",
        )
        .row(
            ["tape readings above a grid of points, mean of 60 transects".into(), "10.3 points".into()],
            Origin::Page,
            "Journal of Soil and Water Conservation 76(5):403 (2021), abstract",
        )
}
