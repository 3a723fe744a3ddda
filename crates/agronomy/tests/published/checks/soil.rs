//! Roots and soil.

use jiff::civil::Date;
use ligule_agronomy::roots::{
    NodeLossStudy, from_old_scale, injury_loss, node_injury, rootless_signs, sidewall, to_old_scale,
};
use ligule_agronomy::soil::{
    Feel, Layer, Moisture, Shape, SizeSystem, TextureClass, WaterPerDepth, deficit, deficit_of, depletion,
    profile_water, residue_class, residue_cover, rupture_resistance, size_class, texture_class,
};
use ligule_units::{Length, Temperature};

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let range = |(low, high): (f64, f64)| Text(format!("{low} to {high}"));
    let class = || -> TextureClass { row.text("class").parse().expect("a class") };
    let per_foot = |name| WaterPerDepth::from_inches_per_foot(row.number(name));
    let within = |(low, high): (WaterPerDepth, WaterPerDepth), water: WaterPerDepth| {
        Text(
            if water < low {
                "below"
            } else if water > high {
                "above"
            } else {
                "within"
            }
            .to_owned(),
        )
    };
    Some(match row.check.as_str() {
        "root injury loss, %" => {
            let study: NodeLossStudy = row.text("study").parse().expect("a study");
            Number(injury_loss(row.number("nodes"), study).expect("a rating") * 100.0)
        }
        "mean node injury" => Number(node_injury(&row.numbers("ratings")).expect("ratings").mean),
        "old root scale" => range(to_old_scale(row.number("nodes")).expect("a rating")),
        "node injury of old rating" => range(from_old_scale(row.number("rating")).expect("a rating")),
        "sidewall score" => {
            let sign = sidewall(row.yes("smeared"), row.number("turned") / 100.0).expect("a share");
            Number(sign.score().into())
        }
        "rootless signs" => {
            let planted: Date = row.text("planted").parse().expect("a day");
            let maxima: Vec<_> = row.numbers("maxima").into_iter().map(Temperature::from_fahrenheit).collect();
            let depth = row.inches("depth_in");
            Number(rootless_signs(planted, depth, row.yes("dry"), &maxima).expect("valid").count() as f64)
        }
        "deficit from capacity, in/ft" => {
            Number(deficit_of(per_foot("capacity"), row.number("available") / 100.0).expect("valid").inches_per_foot())
        }
        "deficit by feel, mm/m" => {
            let (low, high) = deficit(class(), row.text("feel").parse().expect("a feel"));
            let end = if row.text("end") == "least" { low } else { high };
            Number(end.millimetres_per_metre())
        }
        "water used up, %" => Number(depletion(per_foot("capacity"), per_foot("deficit")).expect("valid") * 100.0),
        "capacity of class, in/ft" => {
            let (least, most) = class().capacity();
            Number(if row.text("end") == "least" { least } else { most }.inches_per_foot())
        }
        "capacity of class, mm/m" => {
            let (least, most) = class().capacity();
            Number(if row.text("end") == "least" { least } else { most }.millimetres_per_metre())
        }
        "capacity against class" => within(class().capacity(), per_foot("capacity")),
        "texture class" => Text(texture_class(row.text("texture")).expect("in the guide").word().to_owned()),
        "profile deficit, in" => {
            let feel: Feel = row.text("feel").parse().expect("a feel");
            let layer = Layer { thickness: row.inches("depth_in"), texture: class(), feel };
            let (least, most) = profile_water(&[layer]).expect("a layer").deficit;
            let end: Length = if row.text("end") == "least" { least } else { most };
            Number(end.inches())
        }
        "structure size" => {
            let system: SizeSystem = row.text("system").parse().expect("a system");
            let shape: Shape = row.text("type").parse().expect("a type");
            Text(size_class(system, shape, row.number("mm")).expect("a class").word().to_owned())
        }
        "rupture resistance" => {
            let moisture: Moisture = row.text("moisture").parse().expect("a moisture");
            Text(rupture_resistance(row.number("newtons")).expect("a class").name(moisture).to_owned())
        }
        "residue cover, %" => Number(cover(row).mean * 100.0),
        "conservation tillage" => Text(if cover(row).conservation { "yes" } else { "no" }.to_owned()),
        "residue class" => Text(residue_class(row.number("cover") / 100.0).expect("a share").word().to_owned()),
        _ => return None,
    })
}

fn cover(row: &Row) -> ligule_agronomy::soil::ResidueCover {
    let hits: Vec<u32> = row.numbers("hits").iter().map(|n| *n as u32).collect();
    residue_cover(&hits, u32::try_from(row.whole("marks")).expect("fits")).expect("valid transects")
}
