//! Planting: the latest one up to the day of the assessment, by the day on which it was done.
//!
//! When a planting was written down plays no part, unless two were done on one day. Everything that is told of a
//! planting, the crop too, comes from one and the same record.

use jiff::civil::Date;
use ligule_observation::record::{Record, Value};

use super::{model::Planting, reader::Reader};
use crate::phrases::{Noun, Phrase};

const KIND: &str = "planting";

/// Returns the crop of a season on a day: that of the planting which counts then, else the usual one of the field.
///
/// `records` are of one feature and season, in any order. Of several plantings the latest by its `day` counts, of
/// those of one day the one recorded last; void ones never do.
pub fn season_crop(records: &[Record], usual: &str, as_of: Date) -> String {
    let planted = plantings(records, as_of).last().and_then(|(_, record)| settled(record, "crop"));
    planted.unwrap_or(usual).to_owned()
}

pub(super) fn planting(records: &[Record], as_of: Date, reader: &mut Reader<'_>) -> Option<Planting> {
    for record in records.iter().filter(|r| r.kind == KIND && r.void.is_none()) {
        reader.is_open(record, "day");
    }
    let plantings = plantings(records, as_of);
    let (day, record) = *plantings.last()?;
    reader.is_open(record, "crop");
    let mut cautions = Vec::new();
    cautions.extend(several(&plantings, reader));
    if record.day > as_of {
        cautions.push(reader.reading().say(Phrase::PlantingLater, &[("day", &record.day)]));
    }
    Some(Planting {
        day,
        days_ago: (as_of - day).get_days(),
        seeds_per_acre: reader.density(record, "seeding_rate").map(|d| d.per_acre()),
        row_width_in: reader.inches(record, "row_width"),
        target_depth_in: reader.inches(record, "set_depth"),
        relative_maturity: reader.number(record, "relative_maturity"),
        cautions,
        rests_on: vec![record.key.clone()],
    })
}

/// Returns the plantings up to a day in the order in which they were done, those of one day as they were recorded.
fn plantings(records: &[Record], as_of: Date) -> Vec<(Date, &Record)> {
    let mut plantings: Vec<(Date, &Record)> = records
        .iter()
        .filter(|r| r.kind == KIND && r.void.is_none())
        .filter_map(|r| Some((settled(r, "day")?.parse().ok()?, r)))
        .filter(|(day, _)| *day <= as_of)
        .collect();
    plantings.sort_by(|(a, x), (b, y)| (a, x.at, &x.key).cmp(&(b, y.at, &y.key)));
    plantings
}

/// Returns a text that does not wait for a decision.
fn settled<'r>(record: &'r Record, measure: &str) -> Option<&'r str> {
    record.text(measure).filter(|_| !record.conflicts.iter().any(|m| m == measure))
}

/// Tells of plantings that say different things: the records do not tell a second planting from a correction.
fn several(plantings: &[(Date, &Record)], reader: &mut Reader<'_>) -> Option<String> {
    let mut different: Vec<(Date, &Record)> = Vec::new();
    for (day, record) in plantings {
        if !different.iter().any(|(_, other)| values(other).eq(values(record))) {
            different.push((*day, record));
        }
    }
    if different.len() < 2 {
        return None;
    }
    let reading = reader.reading();
    let told: Vec<String> = different
        .iter()
        .map(|(day, record)| {
            let crop = match settled(record, "crop") {
                Some(code) if reading.language == "en" => code.to_owned(),
                Some(code) => reader.label(record, "crop", code),
                None => reading.word(Phrase::CropNotSettled).to_owned(),
            };
            let rate = reader.density(record, "seeding_rate");
            let rate = rate.map(|rate| format!(", {}", reading.per_acre(Noun::Seed, rate.per_acre())));
            reading.say(Phrase::PlantingOn, &[("crop", &crop), ("day", day)]) + &rate.unwrap_or_default()
        })
        .collect();
    Some(reading.say(Phrase::PlantingsDiffer, &[("n", &different.len()), ("plantings", &told.join("; "))]))
}

fn values(record: &Record) -> impl Iterator<Item = (&String, &Value)> {
    record.values.iter().map(|(measure, measured)| (measure, &measured.value))
}
