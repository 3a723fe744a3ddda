//! Planting: the latest one that lies before the day of the assessment.

use jiff::civil::Date;
use ligule_observation::record::Record;

use super::{
    model::Planting,
    reader::{Reader, of_kind},
};

const KIND: &str = "planting";

pub(super) fn planting(records: &[&Record], as_of: Date, reader: &mut Reader<'_>) -> Option<Planting> {
    let mut latest: Option<(Date, &Record)> = None;
    for record in of_kind(records, KIND) {
        let Some(day) = reader.text(record, "day").and_then(|d| d.parse::<Date>().ok()) else { continue };
        if day <= as_of && latest.is_none_or(|(before, _)| before <= day) {
            latest = Some((day, record));
        }
    }
    let (day, record) = latest?;
    Some(Planting {
        day,
        days_ago: (as_of - day).get_days(),
        seeds_per_acre: reader.density(record, "seeding_rate").map(|d| d.per_acre()),
        row_width_in: reader.inches(record, "row_width"),
        target_depth_in: reader.inches(record, "set_depth"),
        rests_on: vec![record.key.clone()],
    })
}

/// Returns the crop: as the latest planting says, or as the records do.
pub(super) fn crop(records: &[&Record], reader: &mut Reader<'_>) -> String {
    let planted = of_kind(records, KIND).into_iter().rev().find_map(|r| reader.text(r, "crop"));
    planted.or_else(|| records.iter().rev().map(|r| r.crop.as_str()).find(|c| !c.is_empty())).unwrap_or("").to_owned()
}
