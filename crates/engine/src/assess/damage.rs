//! What hail or frost left, by the latest look at the latest of each.
//!
//! Hail on corn has published charts, so that its loss of yield is told; frost has none, and the trials of hail on soybean
//! count nodes, which nobody records here.

use jiff::civil::Date;
use ligule_agronomy::damage::{
    AdjusterOffset, Crop, Event, HailStage, combined_loss, early_stand_losses, hail_rows, late_stand_loss,
    leaf_loss_range, wait_range,
};
use ligule_agronomy::stage::CornStage;
use ligule_agronomy::statistics::mean;
use ligule_observation::record::Record;
use ligule_units::PlantDensity;

use super::{
    model::{Damage, Planting, Share, Stand},
    pests::{add, share},
    reader::{Reader, of_kind},
    sources,
};
use crate::phrases::{Noun, Phrase};

const EVENTS: [(&str, Event); 2] = [("hail-damage", Event::Hail), ("frost-damage", Event::Frost)];
const LOST: &str = "plants_lost";

/// What is known of the field beside the damage.
#[derive(Clone, Copy)]
pub(super) struct Known<'a> {
    pub(super) crop: &'a str,
    pub(super) planting: Option<&'a Planting>,
    pub(super) stand: Option<&'a Stand>,
}

pub(super) fn damages(records: &[&Record], known: Known<'_>, reader: &mut Reader<'_>) -> Vec<Damage> {
    EVENTS.iter().filter_map(|(kind, event)| damage(kind, *event, records, known, reader)).collect()
}

/// What was seen, all places of one look together.
#[derive(Default)]
struct Seen {
    lost: Option<(u32, u32)>,
    defoliation: Vec<f64>,
    stage: Option<String>,
    adjuster_leaves: Option<u32>,
    growing_points: Vec<String>,
    rests_on: Vec<String>,
}

fn damage(kind: &str, event: Event, records: &[&Record], known: Known<'_>, reader: &mut Reader<'_>) -> Option<Damage> {
    let records = of_kind(records, kind);
    let last = records.iter().max_by_key(|record| (record.day, record.at)).copied()?;
    let day_of = |record: &Record| record.text("event").and_then(|day| day.parse::<Date>().ok());
    let happened = day_of(last);
    let of_event: Vec<&Record> =
        records.into_iter().filter(|record| record.day == last.day && day_of(record) == happened).collect();
    let seen = seen(&of_event, reader);
    if seen.rests_on.is_empty() {
        return None;
    }
    let mut cautions = Vec::new();
    let reading = reader.reading();
    let crop = if known.crop == "soybean" { Crop::Soybean } else { Crop::Corn };
    let mut cited = vec![sources::wilson()];
    if let Some(happened) = happened {
        let days = (last.day - happened).get_days();
        let (least, most) = wait_range(crop, event);
        if days < i32::from(most) {
            let days = reading.counted(days, Noun::Day);
            cautions.push(reading.say(Phrase::TooSoon, &[("days", &days), ("least", &least), ("most", &most)]));
            cited.extend(sources::waits(crop, event));
        }
    }
    let losses = match (event, crop) {
        (Event::Hail, Crop::Corn) => Losses::of(&seen, happened.unwrap_or(last.day), known, reader, &mut cautions),
        (Event::Hail, Crop::Soybean) => {
            cautions.push(reading.word(Phrase::NoLossForSoybean).to_owned());
            Losses::default()
        }
        _ => {
            cautions.push(reading.word(Phrase::NoLossForFrost).to_owned());
            Losses::default()
        }
    };
    if losses.whole.is_some() {
        cautions.push(reading.word(Phrase::NotASettlement).to_owned());
        cited.extend(losses.sources());
    }
    let percent = |ends: Option<(f64, f64)>| ends.map(|(low, high)| (low * 100.0, high * 100.0));
    let ends = |values: &[f64]| {
        let first = *values.first()?;
        Some(values.iter().fold((first, first), |(low, high), x| (low.min(*x), high.max(*x))))
    };
    let mut points = seen.growing_points.clone();
    points.sort();
    points.dedup();
    Some(Damage {
        event: event.word().to_owned(),
        happened,
        day: last.day,
        lost: plants_lost(&seen, kind, reader),
        leaf_lost_percent: mean(&seen.defoliation).ok(),
        leaf_lost_range_percent: ends(&seen.defoliation),
        places: seen.rests_on.len(),
        stage: seen.stage.clone(),
        growing_points: points.iter().map(|code| reader.label(last, "growing_point", code)).collect(),
        loss_from_plants_percent: percent(losses.plants),
        loss_from_leaf_percent: percent(losses.leaf),
        yield_loss_percent: percent(losses.whole),
        cautions,
        rests_on: seen.rests_on,
        sources: cited,
    })
}

fn seen(records: &[&Record], reader: &mut Reader<'_>) -> Seen {
    let mut seen = Seen::default();
    for record in records {
        if !reader.are_settled(record, &["plants_examined", LOST, "defoliation", "stage"]) {
            continue;
        }
        if let Some(examined) = reader.count(record, "plants_examined") {
            add(&mut seen.lost, reader.count(record, LOST).filter(|lost| *lost <= examined), examined);
        }
        seen.defoliation.extend(reader.number(record, "defoliation"));
        seen.stage = reader.text(record, "stage").map(str::to_owned).or(seen.stage);
        seen.adjuster_leaves = reader.count(record, "adjuster_leaves").or(seen.adjuster_leaves);
        seen.growing_points.extend(reader.text(record, "growing_point").map(str::to_owned));
        seen.rests_on.push(record.key.clone());
    }
    seen
}

fn plants_lost(seen: &Seen, kind: &str, reader: &Reader<'_>) -> Option<Share> {
    share(seen.lost, kind, LOST, reader)
}

/// Shares of yield, from the least to the greatest that the charts say.
#[derive(Default)]
struct Losses {
    plants: Option<(f64, f64)>,
    leaf: Option<(f64, f64)>,
    whole: Option<(f64, f64)>,
}

impl Losses {
    /// Reads the charts; what they do not say is told in `cautions`.
    fn of(seen: &Seen, happened: Date, known: Known<'_>, reader: &Reader<'_>, cautions: &mut Vec<String>) -> Self {
        let reading = reader.reading();
        let (first, last) = match rows(seen) {
            Some(Ok(rows)) => rows,
            Some(Err(error)) => {
                cautions.push(reading.say(Phrase::LossOutside, &[("error", &error)]));
                return Self::default();
            }
            None => {
                cautions.push(reading.word(Phrase::NoDamageStage).to_owned());
                return Self::default();
            }
        };
        let mut losses = Self::default();
        if let Ok(defoliation) = mean(&seen.defoliation) {
            match leaf_loss_range((first, last), defoliation / 100.0) {
                Ok(ends) => losses.leaf = Some(ends),
                Err(error) => cautions.push(reading.say(Phrase::LossOutside, &[("error", &error)])),
            }
        }
        if let Some((lost, examined)) = seen.lost {
            let left = 1.0 - f64::from(lost) / f64::from(examined);
            losses.plants =
                [first, last].into_iter().map(|stage| plant_loss(stage, left, happened, known)).reduce(wider).flatten();
            if losses.plants.is_none() {
                cautions.push(reading.word(Phrase::NoStandBefore).to_owned());
            }
        }
        // Plants first, then leaf on what is left of them. A part that was seen but has no loss leaves no whole.
        let none = Some((0.0, 0.0));
        let plants = if seen.lost.is_some() { losses.plants } else { none };
        let leaf = if seen.defoliation.is_empty() { none } else { losses.leaf };
        losses.whole = plants.zip(leaf).and_then(|(plants, leaf)| {
            Some((combined_loss(plants.0, leaf.0).ok()?, combined_loss(plants.1, leaf.1).ok()?))
        });
        losses
    }

    fn sources(&self) -> Vec<ligule_advice::Citation> {
        let mut cited = sources::of_table("hail-stage-offset");
        if self.leaf.is_some() {
            cited.extend(sources::of_table("hail-leaf-loss"));
        }
        if self.plants.is_some() {
            cited.extend(sources::of_table("hail-stand-loss"));
        }
        cited
    }
}

/// Returns the rows of the charts that the stage may mean: the adjuster's leaves where they were counted, else what both
/// published offsets make of the collars.
fn rows(seen: &Seen) -> Option<Result<(HailStage, HailStage), ligule_agronomy::Error>> {
    if let Some(leaves) = seen.adjuster_leaves.and_then(|n| u8::try_from(n).ok()) {
        return Some(Ok((HailStage::Leaf(leaves), HailStage::Leaf(leaves))));
    }
    let stage: CornStage = match seen.stage.as_ref()?.parse() {
        Ok(stage) => stage,
        Err(error) => return Some(Err(error)),
    };
    let ends = [AdjusterOffset::One, AdjusterOffset::Two].map(|offset| hail_rows(stage, offset));
    Some(match ends {
        [Ok(one), Ok(two)] => Ok((one.0.min(two.0), one.1.max(two.1))),
        [Ok(only), Err(_)] | [Err(_), Ok(only)] => Ok(only),
        [Err(error), Err(_)] => Err(error),
    })
}

/// Returns what lost plants cost at a stage, over all tables that say it; `left` is the share of plants that is left.
fn plant_loss(stage: HailStage, left: f64, happened: Date, known: Known<'_>) -> Option<(f64, f64)> {
    // Late in the season only the ratio of the stands counts.
    let any = PlantDensity::from_per_acre(10_000.0);
    if let Ok(loss) = late_stand_loss(stage, any, any * left) {
        return Some((loss, loss));
    }
    let (stand, planting) = (known.stand?, known.planting?);
    let counted = PlantDensity::from_per_acre(stand.plants_per_acre);
    let before = if stand.days.1 < happened { counted } else { (left > 0.0).then(|| counted * (1.0 / left))? };
    let losses = early_stand_losses(stage, planting.day, before, before * left).ok()?;
    losses.into_iter().filter_map(|(_, loss)| loss.ok()).map(|loss| Some((loss, loss))).reduce(wider).flatten()
}

/// Returns the range that holds both; where one is not known, nothing is.
fn wider(a: Option<(f64, f64)>, b: Option<(f64, f64)>) -> Option<(f64, f64)> {
    a.zip(b).map(|(a, b)| (a.0.min(b.0), a.1.max(b.1)))
}
