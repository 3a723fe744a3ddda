//! The height of the crop, by the latest day on which it was measured.

use ligule_agronomy::statistics::{mean, sample_sd};
use ligule_observation::record::Record;

use super::{
    model::Height,
    reader::{Reader, last_usable_day, of_kind},
    sources,
};

const KIND: &str = "plant-height";

pub(super) fn height(records: &[&Record], reader: &mut Reader<'_>) -> Option<Height> {
    last_usable_day(&of_kind(records, KIND), |of_day| of_one_day(of_day, reader))
}

/// Pools the plants of one day; a height given as one number counts as one plant.
fn of_one_day(records: &[&Record], reader: &mut Reader<'_>) -> Option<Height> {
    let mut inches: Vec<f64> = Vec::new();
    let mut rests_on = Vec::new();
    for record in records {
        let before = inches.len();
        let plants = reader.lengths(record, "heights");
        inches.extend(plants.iter().map(|height| height.inches()));
        inches.extend(reader.inches(record, "height"));
        if inches.len() > before {
            rests_on.push(record.key.clone());
        }
    }
    Some(Height {
        day: records.first()?.day,
        plants: inches.len(),
        mean_in: mean(&inches).ok()?,
        standard_deviation_in: sample_sd(&inches).ok(),
        range_in: inches.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), h| (low.min(*h), high.max(*h))),
        rests_on,
        sources: vec![sources::mean_of_plants()],
    })
}
