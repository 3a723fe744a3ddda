use std::io;

use ligule_engine::{Keep, Result, Sort};
use serde_json::json;

use crate::args::Global;
use crate::field_args::{Grower, Planter, RosterList, RosterName, Soil};
use crate::listing::Listing;

/// Adds, lists and retires growers.
pub(crate) fn growers(global: &Global, args: &Grower) -> Result<()> {
    match args {
        Grower::Add(add) => keep(global, Sort::Grower, &Keep { name: add.name.clone(), ..Keep::default() }),
        Grower::List(args) => list(global, Sort::Grower, args),
        Grower::Retire(args) => retire(global, Sort::Grower, args),
    }
}

/// Adds, lists and retires planters.
pub(crate) fn planters(global: &Global, args: &Planter) -> Result<()> {
    match args {
        Planter::Add(add) => keep(
            global,
            Sort::Planter,
            &Keep { name: add.name.clone(), row_units: add.row_units, row: add.row.clone(), ..Keep::default() },
        ),
        Planter::List(args) => list(global, Sort::Planter, args),
        Planter::Retire(args) => retire(global, Sort::Planter, args),
    }
}

/// Adds, lists and retires soils.
pub(crate) fn soils(global: &Global, args: &Soil) -> Result<()> {
    match args {
        Soil::Add(add) => keep(
            global,
            Sort::Soil,
            &Keep {
                name: add.name.clone(),
                map_unit: add.map_unit.clone(),
                texture: add.texture.clone(),
                ..Keep::default()
            },
        ),
        Soil::List(args) => list(global, Sort::Soil, args),
        Soil::Retire(args) => retire(global, Sort::Soil, args),
    }
}

fn keep(global: &Global, sort: Sort, new: &Keep) -> Result<()> {
    let kept = crate::open(global)?.keep(sort, new)?;
    say!("recorded {} {}", sort.word(), kept.name);
    Ok(())
}

fn list(global: &Global, sort: Sort, args: &RosterList) -> Result<()> {
    let engine = crate::open(global)?;
    let columns: &[&str] = match sort {
        Sort::Grower => &[],
        Sort::Planter => &["row_units", "row_width_in"],
        Sort::Soil => &["map_unit", "texture"],
    };
    let mut names = vec![sort.word()];
    names.extend(columns);
    names.push("retired");
    let mut listing = Listing::new(names);
    for kept in engine.roster(sort, args.retired)? {
        let mut row = vec![json!(kept.name)];
        row.extend(columns.iter().map(|column| match *column {
            "row_units" => json!(kept.int(column)),
            "row_width_in" => json!(kept.int("row_width_mil").map(|mil| mil as f64 / 1000.0)),
            text => json!(kept.text(text)),
        }));
        row.push(json!(kept.retired));
        listing.row(row);
    }
    let empty = format!("no {}s yet; add one with `ligule {} add`", sort.word(), sort.word());
    Ok(listing.write(global.format, &empty, &mut io::stdout().lock())?)
}

fn retire(global: &Global, sort: Sort, args: &RosterName) -> Result<()> {
    crate::open(global)?.retire_kept(sort, &args.name)?;
    say!("retired {} {}", sort.word(), args.name);
    Ok(())
}
