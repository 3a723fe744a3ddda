//! Diseases: incidence and severity as found on the last day with records of each that can be used.

use ligule_agronomy::statistics::mean;
use ligule_observation::record::Record;

use super::{
    model::Disease,
    pests::{add, by_organism, share},
    reader::{Reader, last_usable_day, of_kind},
    sources,
};

const KIND: &str = "disease";
const AFFECTED: &str = "plants_affected";

pub(super) fn diseases(records: &[&Record], reader: &mut Reader<'_>) -> Vec<Disease> {
    by_organism(of_kind(records, KIND), "organism", reader)
        .into_iter()
        .filter_map(|(organism, records)| last_usable_day(&records, |of_day| of_one_day(&organism, of_day, reader)))
        .collect()
}

/// Pools the places of one day.
fn of_one_day(organism: &str, records: &[&Record], reader: &mut Reader<'_>) -> Option<Disease> {
    let mut affected = None;
    let mut severities = Vec::new();
    let mut leaves: Vec<String> = Vec::new();
    let mut rests_on = Vec::new();
    for record in records {
        if !reader.are_settled(record, &["plants_examined", AFFECTED, "severity", "leaf_position"]) {
            continue;
        }
        let (examined, found) = (reader.count(record, "plants_examined"), reader.count(record, AFFECTED));
        if let Some(examined) = examined {
            add(&mut affected, found, examined);
        }
        severities.extend(reader.number(record, "severity"));
        leaves.extend(reader.text(record, "leaf_position").map(str::to_owned));
        rests_on.push(record.key.clone());
    }
    let last = records.last().filter(|_| !rests_on.is_empty())?;
    // The choices are declared from the lowest leaf to the highest.
    let places = &reader.kinds().get(KIND)?.measure("leaf_position")?.choices;
    let highest = places.iter().rev().find(|place| leaves.contains(&place.code));
    Some(Disease {
        organism: organism.to_owned(),
        label: reader.label(last, "organism", organism),
        day: last.day,
        affected: share(affected, KIND, AFFECTED, reader),
        severity_percent: mean(&severities).ok(),
        highest_leaf: highest.map(|place| reader.label(last, "leaf_position", &place.code)),
        rests_on,
        sources: vec![sources::wilson()],
    })
}
