//! Hail and frost.

use ligule_agronomy::damage::{
    AdjusterOffset, Crop, Event, HailChart, HailStage, NodeStudy, combined_loss, early_stand_loss, flood_limits,
    frost_reached, growing_point, hail_rows, late_stand_loss, leaf_loss, leaf_loss_range, soybean_node_loss,
    soybean_regrows, wait_range,
};
use ligule_units::Temperature;

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let fahrenheit = |name| Temperature::from_fahrenheit(row.number(name));
    Some(match row.check.as_str() {
        "hail leaf loss, %" => Number(leaf(row, row.number("lost")) * 100.0),
        // The columns printed beside each other, from 20 to 100 % of the leaf area.
        "hail row from 20 %" => {
            let losses = (2..=10).map(|tenth| format!("{:.0}", leaf(row, f64::from(tenth) * 10.0) * 100.0));
            Text(losses.collect::<Vec<_>>().join(" "))
        }
        "hail leaf loss over collar stage, %" => {
            let stages =
                hail_rows(row.text("stage").parse().expect("a stage"), AdjusterOffset::Two).expect("in the chart");
            let (low, high) = leaf_loss_range(stages, row.number("lost") / 100.0).expect("in the chart");
            Text(format!("{:.0} to {:.0}", low * 100.0, high * 100.0))
        }
        "adjuster stage" => {
            let offset: AdjusterOffset = row.text("offset").parse().expect("an offset");
            Text(hail_rows(row.text("stage").parse().expect("a stage"), offset).expect("in the chart").0.to_string())
        }
        "hail loss combined, %" => {
            let direct = row.number("direct") / 100.0;
            let leaf = if row.has("leaf") { row.number("leaf") / 100.0 } else { leaf(row, row.number("lost")) };
            Number(combined_loss(direct, leaf).expect("shares") * 100.0)
        }
        "hail stand and leaf loss, %" => {
            let stage: HailStage = row.text("stage").parse().expect("a stage");
            let stand = late_stand_loss(stage, row.per_acre("before"), row.per_acre("after")).expect("after 10-leaf");
            let leaf = row.number("leaf") / 100.0;
            Number(combined_loss(stand, leaf).expect("shares") * 100.0)
        }
        "stand loss by potential, %" => {
            let stage: HailStage = row.text("stage").parse().expect("a stage");
            let (before, after) = (row.number("before") / 100.0, row.number("after") / 100.0);
            Number(early_stand_loss(stage, before, after).expect("up to 10-leaf") * 100.0)
        }
        "growing point" => Text(growing_point(row.text("stage").parse().expect("a stage")).word().to_owned()),
        "days to wait hold" => {
            let (crop, event): (Crop, Event) =
                (row.text("crop").parse().expect("a crop"), row.text("event").parse().expect("an event"));
            let (least, most) = wait_range(crop, event);
            let held = row.numbers("days").iter().all(|days| (f64::from(least)..=f64::from(most)).contains(days));
            Text(if held { "within" } else { "outside" }.to_owned())
        }
        "flood outlooks" => {
            let crop: Crop = row.text("crop").parse().expect("a crop");
            let collars = u8::try_from(row.whole("collars")).expect("collars");
            let limits = flood_limits(crop, collars, fahrenheit("fahrenheit")).expect("in range");
            let mut words: Vec<_> = limits.iter().map(|limit| limit.outlook(row.number("days")).word()).collect();
            words.dedup();
            Text(words.join(", "))
        }
        "frost limits reached" => {
            let crop: Crop = row.text("crop").parse().expect("a crop");
            let reached = frost_reached(crop, fahrenheit("fahrenheit"), row.number("hours")).expect("in range");
            Number(reached.len() as f64)
        }
        "soybean node loss, %" => {
            let study: NodeStudy = row.text("study").parse().expect("a study");
            let stage = row.text("stage").parse().expect("a stage");
            Number(soybean_node_loss(study, stage, row.number("nodes") / 100.0).expect("in the table") * 100.0)
        }
        "soybean regrows" => {
            let grows = soybean_regrows(row.yes("cut_below_cotyledons"), row.yes("green_tissue"));
            Text(if grows { "yes" } else { "no" }.to_owned())
        }
        _ => return None,
    })
}

fn leaf(row: &Row, percent: f64) -> f64 {
    let chart: HailChart =
        if row.has("chart") { row.text("chart").parse().expect("a chart") } else { HailChart::National };
    leaf_loss(chart, row.text("stage").parse().expect("a stage"), percent / 100.0).expect("in the chart")
}
