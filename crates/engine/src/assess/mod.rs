//! What the records of one field and season say on a day.
//!
//! [`assess`] is pure: records, kinds, weather and a day in, a [`FieldAssessment`] out. Every number names the
//! observations it rests on and where its formula comes from. Voided observations are in no number; a measure whose
//! concurrent values differ is left out and listed, until a person decides.

mod damage;
mod degree_days;
mod depth;
mod disease;
mod estimate;
mod harvest;
mod height;
mod last;
pub mod model;
mod pests;
mod planting;
mod reader;
mod sources;
mod spacing;
mod stage;
mod stand;

#[cfg(test)]
mod tests;

use jiff::civil::Date;
use ligule_observation::{kinds::KindSet, record::Record};

use crate::phrases::Phrase;
use crate::reading::Reading;
use crate::weather::WeatherDay;
use reader::Reader;

pub use degree_days::{Accumulated, degree_days_fahrenheit};
pub use estimate::grain;
pub use ligule_advice::{Citation, Finding, Reason, Severity, Window, WindowState};
pub use model::*;
pub use planting::season_crop;
pub(crate) use spacing::EVEN_STAND_YIELD;

/// The weather of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationDays {
    /// The station's code.
    pub station: String,
    /// Its days, in order.
    pub days: Vec<WeatherDay>,
}

/// Returns what the records of one field and season say on a day.
///
/// `records` are of one feature and season, in any order; those of a later day than `as_of` are left out, but a
/// planting is judged by the day on which it was done. `usual_crop` is the crop where no planting tells one, see
/// [`season_crop`]. `weather` is that of the station that stands for the field; without it there are no degree days.
pub fn assess(
    records: &[Record],
    kinds: &KindSet,
    usual_crop: &str,
    weather: Option<&StationDays>,
    as_of: Date,
) -> FieldAssessment {
    assess_for(&Reading::default(), records, kinds, usual_crop, weather, as_of)
}

/// The same as [`assess`], with texts in the reader's units and labels in the reader's language.
pub fn assess_for(
    reading: &Reading,
    records: &[Record],
    kinds: &KindSet,
    usual_crop: &str,
    weather: Option<&StationDays>,
    as_of: Date,
) -> FieldAssessment {
    let mut in_time: Vec<&Record> = records.iter().filter(|r| r.day <= as_of).collect();
    in_time.sort_by(|a, b| (a.at, &a.key).cmp(&(b.at, &b.key)));
    let voided = in_time.iter().filter(|r| r.void.is_some()).count();
    in_time.retain(|r| r.void.is_none());

    let mut reader = Reader::new(kinds, reading);
    let mut lacking = Vec::new();
    let planting = planting::planting(records, as_of, &mut reader);
    let since_planting: Vec<&Record> =
        in_time.iter().filter(|r| planting.as_ref().is_none_or(|p| r.day >= p.day)).copied().collect();
    let stand = stand::stand(&since_planting, planting.as_ref(), &mut reader);
    let crop = season_crop(records, usual_crop, as_of);
    let stage = stage::stage(&since_planting, &crop, &mut reader);
    let seed_depth = depth::seed_depth(&since_planting, planting.as_ref(), &mut reader);
    let degree_days = degree_days::since_planting(planting.as_ref(), &crop, weather, as_of, reading, &mut lacking);

    let mut lack = |phrase| lacking.push(reading.word(phrase).to_owned());
    if planting.is_none() {
        lack(Phrase::NoPlanting);
    } else if planting.as_ref().is_some_and(|p| p.seeds_per_acre.is_none()) {
        lack(Phrase::NoSeedingRate);
    }
    if stand.is_none() {
        lack(Phrase::NoStandCount);
    }
    if stage.is_none() {
        lack(Phrase::NoStage);
    }
    let known = damage::Known { crop: &crop, planting: planting.as_ref(), stand: stand.as_ref() };
    let damages = damage::damages(&since_planting, known, &mut reader);
    let harvest = harvest::harvest(&since_planting, &crop, stand.as_ref(), &mut reader);
    let yield_estimate = estimate::estimate(&since_planting, &crop, &mut reader);
    FieldAssessment {
        feature: records.first().map_or(String::new(), |r| r.feature.to_string()),
        season: records.first().map_or(as_of.year().into(), |r| r.season),
        spacing: spacing::spacing(&since_planting, planting.as_ref(), &mut reader),
        crop,
        as_of,
        planting,
        stand,
        stage,
        height: height::height(&since_planting, &mut reader),
        seed_depth,
        degree_days,
        damages,
        diseases: disease::diseases(&since_planting, &mut reader),
        yield_estimate,
        harvest,
        pests: pests::pests(&since_planting, &mut reader),
        weeds: pests::weeds(&since_planting, &mut reader),
        soil: last::check(&in_time, "soil-check", &mut reader),
        roots: last::check(&since_planting, "root-check", &mut reader),
        notes: last::notes(&in_time, &mut reader),
        reentry: None,
        set_aside: reader.into_set_aside(),
        voided,
        lacking,
    }
}
