//! Injury levels, borer forms, prices.

use ligule_agronomy::thresholds::{
    BORER_FORMS, BorerCount, BorerReckoning, Economics, Figure, Visit, borer_reckoning, break_even_loss, doubling_time,
    economic_injury_level, growth_rate, insect_days, lead_time_threshold, mite_levels, per_foot_of_row, rescaled,
    stalk_borer_threshold,
};

use crate::row::Answer::{self, Number};
use crate::row::Row;

pub(super) fn answer(row: &Row) -> Option<Answer> {
    let mites = || mite_levels(row.number("cost"), row.number("price"), row.number("yield")).expect("valid sums");
    let rate = || growth_rate(row.number("earlier"), row.number("later"), row.number("days")).expect("valid counts");
    Some(Number(match row.check.as_str() {
        "injury level" => {
            let [cost, price, loss, control] = ["cost", "price", "loss", "control"].map(|name| row.number(name));
            economic_injury_level(&Economics { cost, price, loss, control }).expect("valid sums")
        }
        "break-even loss, %" => {
            100.0 * break_even_loss(row.number("cost"), row.number("price"), row.number("yield")).expect("valid sums")
        }
        "borer" => borer(row, &reckon(row)),
        "growth rate" => rate(),
        "doubling time, days" => doubling_time(rate()).expect("it grows"),
        "lead threshold" => lead_time_threshold(row.number("level"), rate(), row.number("lead")).expect("valid"),
        "insect days" => {
            let (days, counts) = (row.numbers("days"), row.numbers("counts"));
            let visits: Vec<_> = days.into_iter().zip(counts).map(|(day, count)| Visit { day, count }).collect();
            insect_days(&visits).expect("valid visits")
        }
        "mite leaves, %" => mites().leaves,
        "mite area, %" => mites().area,
        "stalk borer threshold, %" => {
            stalk_borer_threshold(row.text("stage").parse().expect("a stage"), row.number("price"))
                .expect("in the table")
        }
        "rescaled threshold" => {
            let cost = (row.number("old_cost"), row.number("new_cost"));
            rescaled(row.number("threshold"), cost, (row.number("old_price"), row.number("new_price"))).expect("valid")
        }
        "per foot of row" => per_foot_of_row(row.number("per_plant"), row.number("plants")).expect("valid"),
        _ => return None,
    }))
}

fn reckon(row: &Row) -> BorerReckoning {
    let form = BORER_FORMS.iter().find(|form| form.name == row.text("form")).expect("a form of that name");
    let figure = |case: &str, figures: &[Figure]| {
        let wanted = row.has(case).then(|| row.text(case));
        figures
            .iter()
            .find(|figure| wanted.is_none_or(|wanted| wanted == figure.case))
            .expect("a case of the form")
            .value
    };
    borer_reckoning(&BorerCount {
        counted: row.number("counted"),
        survival: figure("larvae", form.survival),
        loss: figure("stage", form.loss),
        beyond: form.beyond,
        cap: form.cap,
        yield_per_acre: row.number("yield"),
        price: row.number("price"),
        control: figure("placement", form.control),
        cost: row.number("cost"),
    })
    .expect("valid counts")
}

fn borer(row: &Row, sum: &BorerReckoning) -> f64 {
    match row.text("what") {
        "borers" => sum.borers,
        "loss" => sum.loss,
        "bushels" => sum.bushels,
        "dollars" => sum.dollars,
        "preventable" => sum.preventable,
        "net" => sum.net,
        "level" => sum.injury_level.expect("some number pays"),
        "level counted" => sum.injury_level_counted.expect("some number pays"),
        other => panic!("`{}` asks for an unknown `{other}`", row.name),
    }
}
