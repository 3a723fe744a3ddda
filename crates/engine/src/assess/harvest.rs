//! What came off the field, in bushels at the grain's standard moisture.

use jiff::civil::Date;
use ligule_agronomy::harvest::{Grain, kilograms_per_hectare, stand_kept, standard_bushels};
use ligule_observation::record::Record;
use ligule_units::PlantDensity;

use super::{
    estimate::grain,
    model::{Harvest, Stand},
    reader::{Reader, of_kind},
    sources,
};
use crate::phrases::Phrase;

const KIND: &str = "harvest";

/// One part that was weighed apart, or the whole field.
struct Part {
    /// Acres, where they were told.
    acres: Option<f64>,
    /// Bushels an acre at standard moisture.
    bushels: Option<f64>,
    moisture: Option<f64>,
    test_weight: Option<f64>,
    population: Option<f64>,
    barren: Option<f64>,
    lodged: Option<f64>,
}

pub(super) fn harvest(
    records: &[&Record],
    crop: &str,
    stand: Option<&Stand>,
    reader: &mut Reader<'_>,
) -> Option<Harvest> {
    let records = of_kind(records, KIND);
    let grain = grain(crop);
    let mut parts = Vec::new();
    let mut rests_on = Vec::new();
    let mut days = Vec::new();
    let (mut unknown_basis, mut turned) = (false, false);
    for record in records {
        let per_acre = bushels(record, grain, reader, &mut unknown_basis, &mut turned);
        parts.push(Part {
            acres: reader.number(record, "area").filter(|acres| *acres > 0.0),
            bushels: per_acre,
            moisture: reader.number(record, "moisture"),
            test_weight: reader.number(record, "test_weight"),
            population: reader.density(record, "population").map(|density| density.per_acre()),
            barren: reader.number(record, "barren"),
            lodged: reader.number(record, "lodged"),
        });
        days.extend(reader.text(record, "day").and_then(|day| day.parse::<Date>().ok()));
        rests_on.push(record.key.clone());
    }
    let (first, last) = (days.iter().min().copied()?, days.iter().max().copied()?);
    let weighted = parts.iter().all(|part| part.acres.is_some());
    let mean = |pick: fn(&Part) -> Option<f64>| {
        let told: Vec<(f64, f64)> = parts
            .iter()
            .filter_map(|part| Some((part.acres.filter(|_| weighted).unwrap_or(1.0), pick(part)?)))
            .collect();
        let weight: f64 = told.iter().map(|(weight, _)| weight).sum();
        (!told.is_empty()).then(|| told.iter().map(|(weight, value)| weight * value).sum::<f64>() / weight)
    };
    let reading = reader.reading();
    let mut cautions = Vec::new();
    if unknown_basis {
        cautions.push(reading.word(Phrase::BasisUnknown).to_owned());
    }
    if parts.len() > 1 && !weighted {
        cautions.push(reading.word(Phrase::PartsWithoutArea).to_owned());
    }
    let population = mean(|part| part.population);
    let kept = stand.zip(population).and_then(|(stand, late)| {
        let [early, late] = [stand.plants_per_acre, late].map(PlantDensity::from_per_acre);
        stand_kept(early, late).ok()
    });
    let mut cited = vec![sources::mean_of_parts()];
    if turned {
        cited.extend(sources::of_table("bushel"));
        cited.extend(sources::of_table("moisture-shrink"));
    }
    Some(Harvest {
        days: (first, last),
        parts: parts.len(),
        bushels_per_acre: mean(|part| part.bushels),
        as_told: unknown_basis,
        moisture_percent: mean(|part| part.moisture),
        test_weight_lb_per_bu: mean(|part| part.test_weight),
        plants_per_acre: population,
        stand_kept_percent: kept.map(|share| share * 100.0),
        barren_percent: mean(|part| part.barren),
        lodged_percent: mean(|part| part.lodged),
        cautions,
        rests_on,
        sources: cited,
    })
}

/// Returns the yield of a part in bushels at standard moisture; as told where its basis is not known.
fn bushels(
    record: &Record,
    grain: Grain,
    reader: &mut Reader<'_>,
    unknown_basis: &mut bool,
    turned: &mut bool,
) -> Option<f64> {
    if !reader.are_settled(record, &["yield", "yield_mass", "basis", "moisture"]) {
        return None;
    }
    let told = match reader.number(record, "yield_mass") {
        Some(kilograms) => kilograms / kilograms_per_hectare(grain, 1.0).ok()?,
        None => reader.number(record, "yield")?,
    };
    match reader.text(record, "basis") {
        Some("wet") => {
            let Some(moisture) = reader.number(record, "moisture") else {
                let why = reader.reading().word(Phrase::WetWithoutMoisture);
                reader.set_aside(record, "moisture", why);
                return None;
            };
            *turned = true;
            standard_bushels(grain, told * grain.bushel(), moisture / 100.0, 0.0).ok()
        }
        Some(_) => Some(told),
        None => {
            *unknown_basis = true;
            Some(told)
        }
    }
}
