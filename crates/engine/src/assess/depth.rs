//! Seed depth from dug plants.

use ligule_agronomy::{
    depth::{depth_summary, is_too_shallow, seed_depth as from_crown},
    statistics,
};
use ligule_observation::record::Record;
use ligule_units::Length;

use super::{
    model::{Planting, SeedDepth},
    reader::{Reader, of_kind},
    sources,
};
use crate::phrases::{Noun, Phrase};

const KIND: &str = "seed-depth";

/// The depth that [`is_too_shallow`] asks for, inches.
const LEAST_DEPTH: f64 = 1.25;

pub(super) fn seed_depth(
    records: &[&Record],
    planting: Option<&Planting>,
    reader: &mut Reader<'_>,
) -> Option<SeedDepth> {
    let records = of_kind(records, KIND);
    let mut depths: Vec<Length> = Vec::new();
    let mut rests_on = Vec::new();
    let mut target = None;
    let mut crowns = false;
    for record in records {
        let before = depths.len();
        depths.extend(reader.lengths(record, "seed_to_surface"));
        let crown = reader.lengths(record, "seed_to_crown");
        // Where a plant has both lengths, the one that was measured to the surface is its depth.
        for mesocotyl in crown.into_iter().filter(|_| !record.values.contains_key("seed_to_surface")) {
            match from_crown(mesocotyl) {
                Ok(depth) => {
                    depths.push(depth);
                    crowns = true;
                }
                Err(error) => {
                    let why = reader.reading().say(Phrase::ValueUnusable, &[("error", &error)]);
                    reader.set_aside(record, "seed_to_crown", why);
                }
            }
        }
        if depths.len() > before {
            rests_on.push(record.key.clone());
            target = reader.length(record, "set_depth").or(target);
        }
    }
    let target = target.or_else(|| planting.and_then(|p| p.target_depth_in).map(Length::from_inches));
    let inches: Vec<f64> = depths.iter().map(|d| d.inches()).collect();
    let mean = statistics::mean(&inches).ok()?;
    let summary = target.and_then(|t| depth_summary(&depths, t).ok());
    let shallow = depths.iter().filter(|d| is_too_shallow(**d)).count();
    let mut cautions = Vec::new();
    let mut cited = vec![sources::shallow_seed()];
    if crowns {
        cited.push(sources::crown_depth());
    }
    if summary.is_some() {
        cited.push(sources::depth_limits());
    }
    if shallow > 0 {
        let reading = reader.reading();
        let seeds = reading.counted(depths.len(), Noun::Seed);
        let limit = reading.inches(LEAST_DEPTH, Some(2));
        let mut caution = reading.say(Phrase::ShallowSeeds, &[("n", &shallow), ("seeds", &seeds), ("limit", &limit)]);
        if crowns {
            caution.push(' ');
            caution.push_str(reading.word(Phrase::CrownOverstates));
        }
        cautions.push(caution);
    }
    Some(SeedDepth {
        seeds: depths.len(),
        mean_in: mean,
        standard_deviation_in: statistics::sample_sd(&inches).ok(),
        range_in: inches.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), d| (low.min(*d), high.max(*d))),
        target_in: summary.and(target).map(|t| t.inches()),
        beyond_quarter_inch_percent: summary.map(|s| s.share_off_quarter_inch * 100.0),
        beyond_half_inch_percent: summary.map(|s| s.share_off_half_inch * 100.0),
        cautions,
        rests_on,
        sources: cited,
    })
}
