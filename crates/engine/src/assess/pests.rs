//! Insects, diseases and weeds: as found on the last day each was looked for.

use std::collections::BTreeMap;

use ligule_agronomy::statistics::wilson_interval;
use ligule_observation::record::Record;

use super::{
    model::{Share, Weed},
    reader::{Reader, of_kind},
    sources,
};

const LEVEL: f64 = 0.95;

pub(super) fn pests(records: &[&Record], reader: &mut Reader<'_>) -> Vec<Share> {
    by_organism(of_kind(records, "pest-count"), "organism", reader)
        .into_iter()
        .filter_map(|(organism, records)| {
            let last = records.last()?;
            let (day, label) = (last.day, reader.label(last, "organism", &organism));
            let (mut examined, mut affected, mut cut) = (0, 0, None);
            let mut rests_on = Vec::new();
            for record in records.iter().filter(|r| r.day == day) {
                // Damaged and examined belong together; the cut ones are among the damaged.
                if !reader.are_settled(record, &["plants_examined", "plants_affected", "plants_cut"]) {
                    continue;
                }
                rests_on.push(record.key.clone());
                let cut_here = reader.count(record, "plants_cut");
                let Some(looked_at) = reader.count(record, "plants_examined") else { continue };
                let damaged = reader.count(record, "plants_affected").or(cut_here);
                let Some(damaged) = damaged.filter(|d| *d <= looked_at) else {
                    let why = format!(
                        "Expected at most {looked_at} damaged plants of {looked_at} examined; the count is left out."
                    );
                    reader.set_aside(record, "plants_affected", why);
                    continue;
                };
                examined += looked_at;
                affected += damaged;
                if let Some(here) = cut_here {
                    cut = Some(cut.unwrap_or(0) + here);
                }
            }
            Some(Share {
                organism,
                label,
                day,
                examined,
                affected,
                cut,
                percent: (examined > 0).then(|| f64::from(affected) / f64::from(examined) * 100.0),
                interval_95: percent_interval(affected, examined),
                rests_on,
                sources: vec![sources::wilson()],
            })
        })
        .collect()
}

pub(super) fn weeds(records: &[&Record], reader: &mut Reader<'_>) -> Vec<Weed> {
    by_organism(of_kind(records, "weed-count"), "weed", reader)
        .into_iter()
        .filter_map(|(organism, records)| {
            let last = records.last()?;
            let (day, label) = (last.day, reader.label(last, "weed", &organism));
            let (mut spots, mut spots_with_it) = (0, 0);
            let (mut densities, mut tallest) = (Vec::new(), None::<f64>);
            let mut rests_on = Vec::new();
            for record in records.iter().filter(|r| r.day == day) {
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
            let mean = (!densities.is_empty()).then(|| densities.iter().sum::<f64>() / densities.len() as f64);
            Some(Weed {
                organism,
                label,
                day,
                spots,
                spots_with_it,
                interval_95: percent_interval(spots_with_it, spots),
                per_square_foot: mean,
                tallest_in: tallest,
                rests_on,
                sources: vec![sources::wilson()],
            })
        })
        .collect()
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
