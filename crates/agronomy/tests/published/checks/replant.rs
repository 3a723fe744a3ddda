//! Replanting.

use jiff::civil::Date;
use ligule_agronomy::replant::{
    Answers, BreakEven, Budget, Costs, Planting, Situation, YieldMatrix, break_even_date, break_even_stand, budget,
    soybean_date_yield, soybean_decisions, soybean_stand_yields, uneven_stand, yield_potential,
};

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    Some(match row.check.as_str() {
        "yield potential, %" => Number(potential(row) * 100.0),
        "stand yield, bu" => Number(potential(row) * row.number("full_yield")),
        "keep or replant by yield" => {
            let replanted = yield_potential(table(row), day(row, "replant"), row.per_acre("replant_per_acre"));
            let keep = potential(row) > replanted.expect("inside the table");
            Text(if keep { "keep" } else { "replant" }.to_owned())
        }
        "uneven stand, %" => {
            let losses: Vec<_> = row.numbers("losses").iter().map(|percent| percent / 100.0).collect();
            Number(uneven_stand(row.number("potential") / 100.0, &losses).expect("valid") * 100.0)
        }
        "replant budget" => Number(line(&sum(row), row.text("line"))),
        "replant decision" => Text(if sum(row).net > 0.0 { "replant" } else { "keep" }.to_owned()),
        "break-even stand" => match break_even_stand(&situation(row)).expect("inside the table") {
            BreakEven::At(stand) => Number(stand.per_acre()),
            other => Text(format!("{other:?}")),
        },
        "break-even loss of a stand, %" => match break_even_stand(&situation(row)).expect("inside the table") {
            BreakEven::At(stand) => {
                let kept = yield_potential(table(row), day(row, "planted"), stand).expect("inside the table");
                Number((1.0 - kept) * 100.0)
            }
            other => Text(format!("{other:?}")),
        },
        "last paying day" => Text(match break_even_date(&situation(row)).expect("inside the table") {
            BreakEven::At(day) => day.to_string(),
            other => format!("{other:?}"),
        }),
        "soybean by date, %" => Number(soybean_date_yield(day(row, "planted")).expect("inside the table") * 100.0),
        "soybean stand, least %" => Number(stand_ends(row).0 * 100.0),
        "soybean stand, most %" => Number(stand_ends(row).1 * 100.0),
        "soybean says" => {
            let said = soybean_decisions(row.per_acre("per_acre")).expect("a valid stand");
            let found = said.iter().any(|one| one.says.contains(row.text("words")));
            Text(if found { "said" } else { "not said" }.to_owned())
        }
        _ => return None,
    })
}

fn table(row: &Row) -> YieldMatrix {
    row.text("table").parse().expect("a table")
}

fn day(row: &Row, name: &str) -> Date {
    row.text(name).parse().expect("a date")
}

fn potential(row: &Row) -> f64 {
    yield_potential(table(row), day(row, "planted"), row.per_acre("per_acre")).expect("inside the table")
}

fn given(row: &Row, name: &str) -> f64 {
    if row.has(name) { row.number(name) } else { 0.0 }
}

fn situation(row: &Row) -> Situation {
    let kept = Planting {
        gaps: given(row, "gaps") / 100.0,
        ..Planting::uniform(table(row), day(row, "planted"), row.per_acre("per_acre"))
    };
    Situation {
        full_yield: row.number("full_yield"),
        price: row.number("price"),
        harvest_cost: given(row, "harvest"),
        kept,
        replanted: Planting::uniform(table(row), day(row, "replant"), row.per_acre("replant_per_acre")),
        costs: Costs {
            seed: given(row, "seed"),
            seed_credit: given(row, "seed_credit"),
            removal: given(row, "removal"),
            planting: given(row, "planting"),
            insurance: given(row, "insurance"),
            ..Costs::default()
        },
        drying_points: given(row, "drying_points"),
        drying_cost: given(row, "drying_cost"),
    }
}

fn sum(row: &Row) -> Budget {
    budget(&situation(row), &Answers::default()).expect("a valid situation")
}

fn line(budget: &Budget, name: &str) -> f64 {
    match name {
        "net" => budget.net,
        "kept, bu" => budget.kept_yield,
        "replanted, bu" => budget.replanted_yield,
        "kept, %" => budget.kept_share * 100.0,
        "gain, bu" => budget.replanted_yield - budget.kept_yield,
        "gross gain" => budget.lines.iter().filter(|l| l.what.starts_with("gross")).map(|l| l.dollars).sum(),
        // The sign of a cost is turned: the sources print costs as positive numbers.
        "costs" => -budget.lines.iter().filter(|l| !l.what.starts_with("gross")).map(|l| l.dollars).sum::<f64>(),
        _ => {
            let found = budget.lines.iter().find(|one| one.what == name);
            found.unwrap_or_else(|| panic!("no line `{name}`")).dollars
        }
    }
}

fn stand_ends(row: &Row) -> (f64, f64) {
    let all = soybean_stand_yields(row.per_acre("per_acre")).expect("inside the statements");
    all.iter().fold((f64::INFINITY, 0.0), |(least, most), one| (least.min(one.share.0), f64::max(most, one.share.1)))
}
