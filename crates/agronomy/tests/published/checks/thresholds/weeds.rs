//! Weeds and nitrogen.

use ligule_agronomy::nitrogen::{IowaSpring, iowa_sidedress, nitrate_in_soil, ohio_sidedress};
use ligule_agronomy::weeds::{
    AtrazineApplication, AtrazineYear, Hyperbola, Species, Within, atrazine_year, days_until_height, loss_by_leaf_area,
    loss_with_emergence, nebraska_period,
};

use crate::row::Answer::{self, Number, Text};
use crate::row::{Row, as_f64};

pub(super) fn answer(row: &Row) -> Option<Answer> {
    let curve = || Hyperbola::new(row.number("per_plant"), row.number("most")).expect("a valid curve");
    Some(match row.check.as_str() {
        "weed loss, %" => Number(curve().loss(row.number("density")).expect("a valid density")),
        "weed density" => Number(curve().density(row.number("loss")).expect("valid").expect("reached")),
        "weed slope" => {
            let curve = Hyperbola::through(row.number("density"), row.number("loss"), row.number("most"));
            Number(curve.expect("a valid point").per_plant())
        }
        "weed losses, %" => {
            let (losses, densities) = (row.numbers("per_plant"), row.numbers("density"));
            let weeds = losses.into_iter().zip(densities).map(|(per_plant, density)| Species { per_plant, density });
            let weeds: Vec<_> = weeds.collect();
            Number(Hyperbola::loss_to_several(&weeds, row.number("most")).expect("valid weeds"))
        }
        "weed loss by emergence, %" => {
            let [b, a, c, d, t] = ["per_plant", "most", "decline", "density", "days"].map(|name| row.number(name));
            Number(loss_with_emergence(b, a, c, d, t).expect("valid"))
        }
        "weed loss by leaf area, %" => {
            let loss = loss_by_leaf_area(row.number("share"), row.number("damage"), row.number("most"));
            Number(100.0 * loss.expect("valid"))
        }
        "days until height" => {
            let days = days_until_height(row.inches("height_in"), row.inches("limit_in"), row.inches("growth_in"));
            Number(days.expect("valid heights"))
        }
        "critical period" => {
            let period = nebraska_period(row.number("nitrogen")).expect("in the table");
            let word = match period.judge(row.text("stage").parse().expect("a stage")) {
                Within::Before => "before",
                Within::Inside => "inside",
                Within::After => "after",
                Within::Between => "between",
            };
            Text(word.to_owned())
        }
        "atrazine total" => Number(atrazine(row).total),
        "atrazine over" => Text((if atrazine(row).over() { "yes" } else { "no" }).to_owned()),
        "nitrogen, Iowa" => {
            let spring: IowaSpring = row.text("spring").parse().expect("a spring");
            Number(iowa_sidedress(row.number("ppm"), spring).expect("a valid test"))
        }
        "nitrogen, Ohio" => {
            let ppm = u16::try_from(row.whole("ppm")).expect("fits");
            Number(ohio_sidedress(row.number("rate"), ppm).expect("a valid test"))
        }
        "nitrate in soil" => Number(nitrate_in_soil(row.number("ppm"), row.inches("depth_in")).expect("valid")),
        _ => return None,
    })
}

fn atrazine(row: &Row) -> AtrazineYear {
    let of = |name: &str, post| {
        let rates = if row.has(name) { row.list(name) } else { &[] };
        rates.iter().map(move |rate| AtrazineApplication { rate: as_f64(rate), post }).collect::<Vec<_>>()
    };
    let applications = [of("pre", false), of("post", true)].concat();
    atrazine_year(&applications, row.has("erodible") && row.yes("erodible")).expect("valid rates")
}
