//! Insects, diseases and weeds: as found on the last day with records of each that can be used.

use std::collections::BTreeMap;

use ligule_agronomy::statistics::wilson_interval;
use ligule_observation::record::Record;

use super::{
    model::{Share, Weed},
    reader::{Reader, of_kind},
    sources,
};

const LEVEL: f64 = 0.95;

/// Returns the share of plants affected by each organism; one without a usable count of plants is left out.
pub(super) fn pests(records: &[&Record], reader: &mut Reader<'_>) -> Vec<Share> {
    by_organism(of_kind(records, "pest-count"), "organism", reader)
        .into_iter()
        .filter_map(|(organism, records)| {
            if let Some(trap) = records.iter().rfind(|r| r.int("trap_moths").is_some()) {
                reader.set_aside(trap, "trap_moths", "The moths of a trap are no share of plants.");
            }
            last_usable_day(&records, |of_day| share(&organism, of_day, reader))
        })
        .collect()
}

/// Pools the counts of one day.
fn share(organism: &str, records: &[&Record], reader: &mut Reader<'_>) -> Option<Share> {
    let (mut examined, mut affected, mut cut) = (0, 0, None);
    let mut rests_on = Vec::new();
    for record in records {
        let Some(count) = plants(record, reader) else { continue };
        rests_on.push(record.key.clone());
        examined += count.examined;
        affected += count.affected;
        if let Some(here) = count.cut {
            cut = Some(cut.unwrap_or(0) + here);
        }
    }
    let last = records.last().filter(|_| examined > 0)?;
    Some(Share {
        organism: organism.to_owned(),
        label: reader.label(last, "organism", organism),
        day: last.day,
        examined,
        affected,
        cut,
        percent: Some(f64::from(affected) / f64::from(examined) * 100.0),
        interval_95: percent_interval(affected, examined),
        rests_on,
        sources: vec![sources::wilson()],
    })
}

/// Plants of one place.
struct Plants {
    examined: u32,
    affected: u32,
    cut: Option<u32>,
}

/// Returns a count of plants; one that cannot be used is listed with its reason.
fn plants(record: &Record, reader: &mut Reader<'_>) -> Option<Plants> {
    // Damaged and examined belong together; the cut ones are among the damaged.
    if !reader.are_settled(record, &["plants_examined", "plants_affected", "plants_cut"]) {
        return None;
    }
    let examined = reader.count(record, "plants_examined")?;
    let (damaged, cut) = (reader.count(record, "plants_affected"), reader.count(record, "plants_cut"));
    let most = [("plants_affected", "damaged", damaged), ("plants_cut", "cut", cut)];
    if let Some((measure, what, _)) = most.into_iter().find(|(_, _, n)| n.is_some_and(|n| n > examined)) {
        let why = format!("Expected at most {examined} {what} plants of {examined} examined; the count is left out.");
        reader.set_aside(record, measure, why);
        return None;
    }
    if let (Some(damaged), Some(cut)) = (damaged, cut)
        && cut > damaged
    {
        let why = format!("Expected at most {damaged} cut plants, as many as damaged ones; the count is left out.");
        reader.set_aside(record, "plants_cut", why);
        return None;
    }
    let Some(affected) = damaged.or(cut) else {
        let why = "Neither damaged nor cut plants were counted, so there is no share of the plants examined.";
        reader.set_aside(record, "plants_examined", why);
        return None;
    };
    Some(Plants { examined, affected, cut })
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

/// Asks the days of a group for an answer, the latest first, and returns the first one.
fn last_usable_day<T>(records: &[&Record], answer: impl FnMut(&[&Record]) -> Option<T>) -> Option<T> {
    records.chunk_by(|a, b| a.day == b.day).rev().find_map(answer)
}

/// By definition.
const SQUARE_FEET_PER_ACRE: f64 = 43_560.0;

/// Groups records by their organism, each group in order of time.
fn by_organism<'r>(
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
