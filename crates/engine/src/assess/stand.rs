//! The stand: plants per acre of each count, their mean and its interval.

use jiff::civil::Date;
use ligule_agronomy::stand::{counts_needed, hoop_density, plants_per_area, share_of_seeding_rate, stand_estimate};
use ligule_observation::record::Record;
use ligule_units::{Length, PlantDensity};

use super::{
    model::{Planting, Stand, StandCount},
    reader::{Reader, of_kind},
    sources,
};
use crate::phrases::Phrase;

const KIND: &str = "stand-count";

/// Measures that make one count: if one of them waits for a decision the whole count does.
const MEASURES: [&str; 6] = ["plants", "row_width", "length", "hoop_diameter", "rows", "thousandths"];

/// Days up to the last count over which counts are taken for one occasion; the stand changes little meanwhile.
/// Common practice, no source.
const OCCASION_DAYS: i32 = 3;

/// Level of the interval.
const LEVEL: f64 = 0.95;

/// Per cent of variation above which a stand is called patchy. From memory, to be verified.
const PATCHY_PERCENT: f64 = 20.0;

/// Plants for each seed dropped above which a count is doubted: planters drop a little more or less than they are set
/// to (common practice, no source).
const MOST_OF_SEEDS: f64 = 1.1;

pub(super) fn stand(records: &[&Record], planting: Option<&Planting>, reader: &mut Reader<'_>) -> Option<Stand> {
    let mut counts: Vec<(StandCount, PlantDensity)> =
        of_kind(records, KIND).into_iter().filter_map(|r| count(r, planting, reader)).collect();
    let last: Date = counts.iter().map(|(c, _)| c.day).max()?;
    let earlier = counts.iter().filter(|(c, _)| (last - c.day).get_days() > OCCASION_DAYS).count();
    counts.retain(|(c, _)| (last - c.day).get_days() <= OCCASION_DAYS);
    let (counts, densities): (Vec<StandCount>, Vec<PlantDensity>) = counts.into_iter().unzip();
    let first = counts.iter().map(|c| c.day).min()?;
    let estimate = stand_estimate(&densities, LEVEL).ok()?;

    let more = |share: f64| {
        let needed = counts_needed(estimate.cv?, share, LEVEL).ok()?;
        u32::try_from(needed.saturating_sub(counts.len())).ok()
    };
    let variation_percent = estimate.cv.map(|cv| cv * 100.0);
    let reading = reader.reading();
    let mut cautions = Vec::new();
    if counts.len() == 1 {
        cautions.push(reading.word(Phrase::OneCount).to_owned());
    } else if !estimate.is_reliable() {
        cautions.push(reading.say(Phrase::FewCounts, &[("n", &counts.len())]));
    }
    if variation_percent.is_some_and(|v| v > PATCHY_PERCENT) {
        cautions.push(reading.say(Phrase::Patchy, &[("percent", &PATCHY_PERCENT)]));
    }
    if earlier > 0 {
        cautions.push(reading.say(Phrase::EarlierCounts, &[("days", &OCCASION_DAYS), ("n", &earlier)]));
    }
    let seeds = planting.and_then(|p| Some((p, PlantDensity::from_per_acre(p.seeds_per_acre?))));
    if let Some((_, dropped)) = seeds {
        let many: Vec<&str> = counts
            .iter()
            .filter(|count| count.plants_per_acre > MOST_OF_SEEDS * dropped.per_acre())
            .map(|count| count.observation.as_str())
            .collect();
        if !many.is_empty() {
            cautions.push(reading.say(Phrase::MorePlantsThanSeeds, &[("observations", &many.join(", "))]));
        }
    }
    let share = seeds.and_then(|(_, seeds)| share_of_seeding_rate(estimate.mean, seeds).ok());
    let mut rests_on: Vec<String> = counts.iter().map(|c| c.observation.clone()).collect();
    if let Some((planting, _)) = seeds {
        rests_on.extend(planting.rests_on.iter().cloned());
    }
    let mut cited = vec![sources::plants_per_area(), sources::t_interval()];
    if !estimate.is_reliable() {
        cited.push(sources::few_counts());
    }
    Some(Stand {
        days: (first, last),
        plants_per_acre: estimate.mean.per_acre(),
        interval_95: estimate.interval.map(|(low, high)| (low.per_acre(), high.per_acre())),
        standard_deviation: estimate.sd.map(|sd| sd.per_acre()),
        variation_percent,
        more_counts_for_5_percent: more(0.05),
        more_counts_for_10_percent: more(0.10),
        share_of_seeds_percent: share.map(|s| s * 100.0),
        cautions,
        rests_on,
        sources: cited,
        counts,
    })
}

/// Returns one count; a count that cannot be used is listed with its reason.
fn count(record: &Record, planting: Option<&Planting>, reader: &mut Reader<'_>) -> Option<(StandCount, PlantDensity)> {
    if !reader.are_settled(record, &MEASURES) {
        return None;
    }
    let plants = reader.number(record, "plants")?;
    let reading = reader.reading();
    let (density, sample) = if let Some(hoop) = reader.length(record, "hoop_diameter") {
        let diameter = told(reader, hoop, "[in_i]");
        (hoop_density(plants, hoop), reading.say(Phrase::SampleHoop, &[("diameter", &diameter)]))
    } else if let Some(thousandths) = reader.number(record, "thousandths").filter(|share| *share > 0.0) {
        (Ok(PlantDensity::from_per_acre(plants * 1000.0 / thousandths)), reading.thousandths_of_an_acre(thousandths))
    } else {
        let Some(length) = reader.length(record, "length") else {
            reader.set_aside(record, "length", reading.word(Phrase::NoArea));
            return None;
        };
        let own = reader.length(record, "row_width");
        let planted = planting.and_then(|p| p.row_width_in).map(Length::from_inches);
        let Some(width) = own.or(planted) else {
            reader.set_aside(record, "row_width", reading.word(Phrase::NoRowWidth));
            return None;
        };
        let rows = reader.count(record, "rows").unwrap_or(1).max(1);
        let (across, along) = (told(reader, width, "[in_i]"), told(reader, length, "[ft_i]"));
        let mut sample = match rows {
            1 => reading.say(Phrase::SampleRows, &[("width", &across), ("length", &along)]),
            _ => reading.say(Phrase::SampleOfRows, &[("width", &across), ("length", &along), ("rows", &rows)]),
        };
        if own.is_none() {
            sample = reading.say(Phrase::SamplePlanting, &[("sample", &sample)]);
        }
        (plants_per_area(plants, width, length * f64::from(rows)), sample)
    };
    match density {
        Ok(density) => {
            let (observation, plants_per_acre) = (record.key.clone(), density.per_acre());
            Some((StandCount { observation, day: record.day, plants, sample, plants_per_acre }, density))
        }
        Err(error) => {
            reader.set_aside(record, "plants", reading.say(Phrase::CountUnusable, &[("error", &error)]));
            None
        }
    }
}

/// A length in the unit that is read where `unit` is kept, at most two decimals.
fn told(reader: &Reader<'_>, length: Length, unit: &str) -> String {
    let kept = if unit == "[ft_i]" { length.feet() } else { length.inches() };
    let (value, symbol) = reader.reading().converted(kept, unit);
    format!("{} {symbol}", short(value))
}

/// At most two decimals.
fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
