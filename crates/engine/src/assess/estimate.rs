//! What the field may yield, from the parts of yield counted on the latest day.

use ligule_agronomy::harvest::{
    Grain, USUAL_KERNEL_FACTOR, component_yield, component_yield_range, kilograms_per_hectare,
};
use ligule_agronomy::statistics::{USUAL_LEVEL, mean, t_half_width};
use ligule_observation::record::Record;

use super::{
    model::YieldEstimate,
    reader::{Reader, last_usable_day, of_kind},
    sources,
};
use crate::phrases::Phrase;

const KIND: &str = "yield-estimate";

/// Measures that make one estimate: if one of them waits for a decision the whole estimate does.
const MEASURES: [&str; 9] = [
    "ears",
    "kernel_rows",
    "kernels_per_row",
    "kernels_per_bushel",
    "plants",
    "pods_per_plant",
    "seeds_per_pod",
    "estimate",
    "estimate_mass",
];

/// How far such an estimate is often off, bu/ac. From memory, to be verified.
const OFTEN_OFF: f64 = 20.0;

pub(super) fn estimate(records: &[&Record], crop: &str, reader: &mut Reader<'_>) -> Option<YieldEstimate> {
    last_usable_day(&of_kind(records, KIND), |of_day| of_one_day(of_day, crop, reader))
}

/// One place.
struct Place {
    bushels: f64,
    /// Over the published kernel factors, where none was recorded.
    factors: Option<(f64, f64)>,
    /// Whether somebody reckoned it and the parts were not kept.
    told: bool,
}

fn of_one_day(records: &[&Record], crop: &str, reader: &mut Reader<'_>) -> Option<YieldEstimate> {
    let mut places: Vec<Place> = Vec::new();
    let mut rests_on = Vec::new();
    for record in records {
        if let Some(place) = place(record, grain(crop), reader) {
            places.push(place);
            rests_on.push(record.key.clone());
        }
    }
    let bushels: Vec<f64> = places.iter().map(|place| place.bushels).collect();
    let mean_bushels = mean(&bushels).ok()?;
    let half = t_half_width(&bushels, USUAL_LEVEL).ok();
    let factors: Vec<(f64, f64)> = places.iter().filter_map(|place| place.factors).collect();
    let all_by_factor = factors.len() == places.len();
    let ends = |pick: fn(&(f64, f64)) -> f64| mean(&factors.iter().map(pick).collect::<Vec<_>>()).ok();
    let told = places.iter().filter(|place| place.told).count();
    let grain = grain(crop);
    let reading = reader.reading();
    let off = reading.yield_per_acre(grain, OFTEN_OFF);
    let mut cautions = vec![reading.say(Phrase::EstimateOff, &[("bushels", &off)])];
    let mut cited = Vec::new();
    if told < places.len() {
        cited.push(if grain == Grain::Corn { sources::yield_components() } else { sources::soybean_components() });
    }
    if !factors.is_empty() {
        let factor = reading.thousands(USUAL_KERNEL_FACTOR * 1000.0);
        cautions.push(reading.say(Phrase::UsualFactor, &[("factor", &factor)]));
        cited.extend(sources::of_table("kernel-factor"));
    }
    if told > 0 {
        cautions.push(reading.say(Phrase::EstimateToldOnly, &[("n", &told)]));
    }
    if half.is_some() {
        cited.push(sources::t_interval());
    }
    Some(YieldEstimate {
        day: records.first()?.day,
        places: places.len(),
        bushels_per_acre: mean_bushels,
        interval_95: half.map(|half| ((mean_bushels - half).max(0.0), mean_bushels + half)),
        by_kernel_factors: ends(|ends| ends.0).zip(ends(|ends| ends.1)).filter(|_| all_by_factor),
        cautions,
        rests_on,
        sources: cited,
    })
}

/// Returns what one place makes; one that makes nothing is listed with its reason.
fn place(record: &Record, grain: Grain, reader: &mut Reader<'_>) -> Option<Place> {
    if !reader.are_settled(record, &MEASURES) {
        return None;
    }
    let (rows, kernels) = (reader.list(record, "kernel_rows"), reader.list(record, "kernels_per_row"));
    let a_bushel = reader.number(record, "kernels_per_bushel");
    let worked =
        if let Some(ears) = reader.number(record, "ears").filter(|_| !rows.is_empty() && rows.len() == kernels.len()) {
            // The mean of the ears' kernels, not the product of two means: long ears need not have many rows.
            let products: Vec<f64> = rows.iter().zip(&kernels).map(|(rows, kernels)| rows * kernels).collect();
            let (rows, an_ear) = (mean(&rows).ok()?, mean(&products).ok()?);
            let a_row = if rows > 0.0 { an_ear / rows } else { 0.0 };
            let factor = a_bushel.map_or(USUAL_KERNEL_FACTOR, |kernels| kernels / 1000.0);
            component_yield(ears, rows, a_row, factor).map(|bushels| Place {
                bushels,
                factors: component_yield_range(ears, rows, a_row).ok().filter(|_| a_bushel.is_none()),
                told: false,
            })
        } else if let (Some(plants), Some(seeds), Ok(pods)) = (
            reader.number(record, "plants"),
            reader.number(record, "seeds_per_pod"),
            mean(&reader.list(record, "pods_per_plant")),
        ) {
            let Some(a_bushel) = a_bushel.filter(|seeds| *seeds > 0.0) else {
                let why = reader.reading().word(Phrase::SeedsInBushelLacking);
                reader.set_aside(record, "kernels_per_bushel", why);
                return None;
            };
            // A thousandth of an acre was counted.
            Ok(Place { bushels: plants * 1000.0 * pods * seeds / a_bushel, factors: None, told: false })
        } else {
            let bushels = match reader.number(record, "estimate_mass") {
                Some(kilograms) => kilograms / kilograms_per_hectare(grain, 1.0).ok()?,
                None => reader.number(record, "estimate")?,
            };
            Ok(Place { bushels, factors: None, told: true })
        };
    match worked {
        Ok(place) => Some(place),
        Err(error) => {
            let why = reader.reading().say(Phrase::ValueUnusable, &[("error", &error)]);
            reader.set_aside(record, "ears", why);
            None
        }
    }
}

/// Returns the grain of a crop; corn where the crop is not known.
pub fn grain(crop: &str) -> Grain {
    if crop == "soybean" { Grain::Soybean } else { Grain::Corn }
}
