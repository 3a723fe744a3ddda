//! Degree days, and what is foretold by them.

use ligule_agronomy::degree_days::{
    LeafPrediction, LeafRate, Method, Model, Seedbed, Texture, accumulate, black_layer_needs, days_after_1_may,
    delayed_planting_maturity, delayed_planting_silk, emergence_need, predict_leaf_stage, silk_needs, stage_course,
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
            LeafPrediction::PastLastLeaf { .. } => "past the last leaf".to_owned(),
            LeafPrediction::Emerged { stage, .. } => stage.to_string(),
        }),
        "leaf collars" => match leaf(row) {
            LeafPrediction::NotEmerged { .. } => Text("not emerged".to_owned()),
            LeafPrediction::PastLastLeaf { .. } => Text("past the last leaf".to_owned()),
            LeafPrediction::Emerged { collars, .. } => Number(collars),
        },
        "maturity after delay" => {
            let days = u32::try_from(row.whole("days")).expect("fits");
            Number(delayed_planting_maturity(row.fahrenheit_days("rated"), days).expect("valid").fahrenheit())
        }
        "silk after delay" => {
            let days = u32::try_from(row.whole("days")).expect("fits");
            Number(delayed_planting_silk(row.fahrenheit_days("rated"), days).expect("valid").fahrenheit())
        }
        "days after 1 May" => Number(days_after_1_may(row.text("planted").parse().expect("a day")).into()),
        "black layer by maturity, first source" => {
            Number(black_layer_needs(row.number("maturity")).expect("in the table")[0].low.fahrenheit())
        }
        "silk share of black layer, %" => {
            let maturity = row.number("maturity");
            let silk = silk_needs(maturity).expect("in the table")[0].low.fahrenheit();
            Number(100.0 * silk / black_layer_needs(maturity).expect("in the table")[0].low.fahrenheit())
        }
        "degree days a stage" => {
            let stages = stage_course(row.text("season").parse().expect("a season"));
            let sum = |name: &str| {
                let stage = stages.iter().find(|(stage, _)| *stage == row.text(name)).expect("a stage");
                stage.1.fahrenheit()
            };
            Number(sum("to") - sum("from"))
        }
        "degree days to collars" => {
            let collars = row.number("collars");
            // What the formula needs for so many collars, found by asking it.
            let reached = |sum: f64| {
                let since = DegreeDays::from_fahrenheit(sum);
                let found = predict_leaf_stage(since, row.fahrenheit_days("emergence"), LeafRate::Purdue, 20);
                matches!(found, Ok(LeafPrediction::Emerged { collars: found, .. }) if found + 1e-9 >= collars)
            };
            Number((1..3000).map(f64::from).find(|sum| reached(*sum)).expect("reached"))
        }
        "emergence midpoint" => {
            let texture: Texture = row.text("texture").parse().expect("a texture");
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
    let rate: LeafRate = row.text("rate").parse().expect("a rate");
    predict_leaf_stage(row.fahrenheit_days("since_planting"), row.fahrenheit_days("emergence"), rate, 20)
        .expect("valid sums")
}
