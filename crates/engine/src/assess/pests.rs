//! Insects and weeds: as found on the last day with records of each that can be used.

use std::collections::BTreeMap;

use ligule_agronomy::statistics::wilson_interval;
use ligule_observation::record::Record;

use super::{
    model::{Pest, Share, Weed},
    reader::{Reader, last_usable_day, of_kind},
    sources,
};
use crate::phrases::Phrase;

const LEVEL: f64 = 0.95;

const PESTS: &str = "pest-count";
const DAMAGED: &str = "plants_affected";
const CUT: &str = "plants_cut";

/// Returns the plants damaged and cut by each organism; one without a usable count of plants is left out.
pub(super) fn pests(records: &[&Record], reader: &mut Reader<'_>) -> Vec<Pest> {
    by_organism(of_kind(records, PESTS), "organism", reader)
        .into_iter()
        .filter_map(|(organism, records)| {
            if let Some(trap) = records.iter().rfind(|r| r.int("trap_moths").is_some()) {
                reader.set_aside(trap, "trap_moths", reader.reading().word(Phrase::MothsNoShare));
            }
            last_usable_day(&records, |of_day| pest(&organism, of_day, reader))
        })
        .collect()
}

/// Pools the counts of one day.
fn pest(organism: &str, records: &[&Record], reader: &mut Reader<'_>) -> Option<Pest> {
    let (mut damaged, mut cut) = (None, None);
    let mut rests_on = Vec::new();
    for record in records {
        let Some(here) = plants(record, reader) else { continue };
        rests_on.push(record.key.clone());
        add(&mut damaged, here.damaged, here.examined);
        add(&mut cut, here.cut, here.examined);
    }
    let last = records.last().filter(|_| !rests_on.is_empty())?;
    Some(Pest {
        organism: organism.to_owned(),
        label: reader.label(last, "organism", organism),
        day: last.day,
        damaged: share(damaged, PESTS, DAMAGED, reader),
        cut: share(cut, PESTS, CUT, reader),
        rests_on,
        sources: vec![sources::wilson()],
    })
}

/// Adds the plants of one place to those found and examined before; a place where they were not counted adds nothing.
pub(super) fn add(pooled: &mut Option<(u32, u32)>, found: Option<u32>, examined: u32) {
    if let Some(found) = found {
        let (all, of) = pooled.unwrap_or_default();
        *pooled = Some((all + found, of + examined));
    }
}

/// Returns a share in the words of its measure.
pub(super) fn share(pooled: Option<(u32, u32)>, kind: &str, measure: &str, reader: &Reader<'_>) -> Option<Share> {
    let (plants, examined) = pooled?;
    let declared = reader.kinds().get(kind)?.measure(measure)?;
    let label = reader.reading().label(&declared.label, &declared.name).to_owned();
    Some(Share {
        word: if reader.reading().language == "en" { declared.flag() } else { label.to_lowercase() },
        label,
        plants,
        examined,
        percent: f64::from(plants) / f64::from(examined) * 100.0,
        interval_95: percent_interval(plants, examined),
    })
}

/// Plants of one place.
struct Plants {
    examined: u32,
    damaged: Option<u32>,
    cut: Option<u32>,
}

/// Returns a count of plants; one that cannot be used is listed with its reason.
fn plants(record: &Record, reader: &mut Reader<'_>) -> Option<Plants> {
    // Damaged and examined belong together; the cut ones are among the damaged.
    if !reader.are_settled(record, &["plants_examined", DAMAGED, CUT]) {
        return None;
    }
    let examined = reader.count(record, "plants_examined")?;
    let (damaged, cut) = (reader.count(record, DAMAGED), reader.count(record, CUT));
    if damaged.is_none() && cut.is_none() {
        reader.set_aside(record, "plants_examined", reader.reading().word(Phrase::NothingCounted));
        return None;
    }
    Some(Plants { examined, damaged, cut })
}

/// Returns each weed as last seen.
pub(super) fn weeds(records: &[&Record], reader: &mut Reader<'_>) -> Vec<Weed> {
    by_organism(of_kind(records, "weed-count"), "weed", reader)
        .into_iter()
        .filter_map(|(weed, records)| last_usable_day(&records, |of_day| spots(&weed, of_day, reader)))
        .collect()
}

/// Pools the spots of one day.
fn spots(weed: &str, records: &[&Record], reader: &mut Reader<'_>) -> Option<Weed> {
    let (mut spots, mut spots_with_it) = (0, 0);
    let (mut densities, mut tallest) = (Vec::new(), None::<f64>);
    let mut rests_on = Vec::new();
    for record in records {
        if !reader.are_settled(record, &["density", "height", "tallest"]) {
            continue;
        }
        rests_on.push(record.key.clone());
        let density = reader.density(record, "density").map(|d| d.per_acre() / SQUARE_FEET_PER_ACRE);
        spots += 1;
        spots_with_it += u32::from(density != Some(0.0));
        densities.extend(density);
        for measure in ["height", "tallest"] {
            let height = reader.inches(record, measure);
            tallest = tallest.into_iter().chain(height).reduce(f64::max);
        }
    }
    let last = records.last().filter(|_| spots > 0)?;
    Some(Weed {
        organism: weed.to_owned(),
        label: reader.label(last, "weed", weed),
        day: last.day,
        spots,
        spots_with_it,
        interval_95: percent_interval(spots_with_it, spots),
        per_square_foot: (!densities.is_empty()).then(|| densities.iter().sum::<f64>() / densities.len() as f64),
        tallest_in: tallest,
        rests_on,
        sources: vec![sources::wilson()],
    })
}

/// By definition.
const SQUARE_FEET_PER_ACRE: f64 = 43_560.0;

/// Groups records by their organism, each group in order of time.
pub(super) fn by_organism<'r>(
    records: Vec<&'r Record>,
    measure: &str,
    reader: &mut Reader<'_>,
) -> BTreeMap<String, Vec<&'r Record>> {
    let mut groups: BTreeMap<String, Vec<&Record>> = BTreeMap::new();
    for record in records {
        if let Some(organism) = reader.text(record, measure) {
            groups.entry(organism.to_owned()).or_default().push(record);
        }
    }
    groups.values_mut().for_each(|group| group.sort_by_key(|r| r.day));
    groups
}

fn percent_interval(found: u32, trials: u32) -> Option<(f64, f64)> {
    let (low, high) = wilson_interval(found.into(), trials.into(), LEVEL).ok()?;
    Some((low * 100.0, high * 100.0))
}
