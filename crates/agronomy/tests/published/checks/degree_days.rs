//! Degree days, and what is foretold by them.

use ligule_agronomy::degree_days::{
    LeafPrediction, LeafRate, Method, Model, Seedbed, Texture, accumulate, delayed_planting_maturity, emergence_need,
    predict_leaf_stage,
};
use ligule_units::{DegreeDays, Temperature};

use crate::row::Answer::{self, Number, Text};
use crate::row::{Row, as_f64};

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    Some(match row.check.as_str() {
        "degree days, F" => Number(sum(row, Temperature::from_fahrenheit).fahrenheit()),
        "degree days, C" => Number(sum(row, Temperature::from_celsius).celsius()),
        "degree days, C to F" => Number(sum(row, Temperature::from_celsius).fahrenheit()),
        "degree days from tenths of C, F" => {
            let tenths = |name| Temperature::from_celsius(row.number(name) / 10.0);
            Number(Model::corn().day(tenths("tmax"), tenths("tmin")).expect("a valid day").fahrenheit())
        }
        "leaf stage" => Text(match leaf(row) {
            LeafPrediction::NotEmerged { .. } => "not emerged".to_owned(),
            LeafPrediction::Emerged { stage, .. } => stage.to_string(),
        }),
        "leaf collars" => match leaf(row) {
            LeafPrediction::NotEmerged { .. } => Text("not emerged".to_owned()),
            LeafPrediction::Emerged { collars, .. } => Number(collars),
        },
        "maturity after delay" => {
            let days = u32::try_from(row.whole("days")).expect("fits");
            Number(delayed_planting_maturity(row.fahrenheit_days("rated"), days).expect("valid").fahrenheit())
        }
        "emergence midpoint" => {
            let texture = match row.text("texture") {
                "fine" => Texture::Fine,
                "medium" => Texture::Medium,
                "coarse" => Texture::Coarse,
                other => panic!("unknown texture `{other}`"),
            };
            let (depth, dry, residue) = (row.inches("depth_in"), row.yes("dry"), row.number("residue"));
            let seedbed = Seedbed { depth, texture, dry, residue };
            Number(emergence_need(&seedbed).expect("a valid seedbed").midpoint().fahrenheit())
        }
        _ => return None,
    })
}

fn sum(row: &Row, scale: fn(f64) -> Temperature) -> DegreeDays {
    let method: Method = row.text("method").parse().expect("a method");
    let upper = row.has("upper").then(|| scale(row.number("upper")));
    let model = Model::new(method, scale(row.number("base")), upper).expect("valid thresholds");
    let days = row.list("days").iter().map(|day| {
        let day = day.as_array().expect("maximum and minimum");
        (Some(scale(as_f64(&day[0]))), Some(scale(as_f64(&day[1]))))
    });
    accumulate(days, &model).expect("valid days").sum
}

fn leaf(row: &Row) -> LeafPrediction {
    let rate = match row.text("rate") {
        "purdue" => LeafRate::Purdue,
        "iowa" => LeafRate::Iowa,
        other => panic!("unknown rate `{other}`"),
    };
    predict_leaf_stage(row.fahrenheit_days("since_planting"), row.fahrenheit_days("emergence"), rate, 20)
        .expect("valid sums")
}
