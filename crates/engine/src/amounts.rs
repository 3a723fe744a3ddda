//! What an observation amounts to, told as it is recorded: the sum that a person would make in the head.

use std::sync::Arc;

use ligule_agronomy::depth::CROWN_DEPTH_INCHES;
use ligule_agronomy::harvest::{Grain, USUAL_KERNEL_FACTOR};
use ligule_agronomy::spacing::{gaps_from_positions, spacing_losses, spacing_summary};
use ligule_agronomy::statistics::{USUAL_LEVEL, mean, sample_sd, wilson_interval};
use ligule_journal::Filter;
use ligule_observation::field::merge::United;
use ligule_observation::ids::Feature;
use ligule_observation::kind::Kind;
use ligule_observation::record::Value;
use ligule_units::Length;

use crate::Engine;
use crate::assess::{self, EVEN_STAND_YIELD, FieldAssessment, Share};
use crate::error::Result;
use crate::moment::Moment;
use crate::phrases::{Noun, Phrase};
use crate::reading::Reading;
use crate::recording::Read;
use crate::reentry::APPLICATION;

/// The kind of what came off the field.
const HARVEST: &str = "harvest";

impl Engine {
    /// Says what an observation that was just recorded amounts to, and what those so far do; nothing where no formula says.
    ///
    /// `last` says that no other of its kind was recorded behind it in the same go: only then those so far are told.
    pub(crate) fn amounts(&self, one: &Read, key: &str, last: bool) -> Result<Option<String>> {
        let reading = &self.reading;
        let so_far = [APPLICATION, "seed-depth", "leaf-stage", "pest-count"];
        if !last && so_far.contains(&one.kind.as_str()) {
            return Ok(None);
        }
        Ok(match one.kind.as_str() {
            APPLICATION => {
                let told = self.reentry_on(&one.field, None)?;
                told.map(|told| told.lines(reading).join("\n  "))
            }
            "stand-count" => stand(&self.assessed_for(one)?, key, last, reading),
            "seed-depth" => depth(&self.assessed_for(one)?, one, reading),
            "leaf-stage" => stage(&self.assessed_for(one)?, reading),
            "pest-count" => pest(&self.assessed_for(one)?, one, self.kind(&one.kind)?, reading),
            "disease" => affected(one, reading),
            "plant-spacing" => spacing(&self.assessed_for(one)?, one, reading),
            "plant-height" => heights(one, reading),
            "yield-estimate" => estimate(&self.alone(one, key)?, &self.assessed_for(one)?, one, last, reading),
            HARVEST => harvest(&self.alone(one, key)?, reading),
            _ => None,
        })
    }

    /// Says how many more samples of a kind make its mean sure, where that can be told.
    pub(crate) fn samples_wanting(&self, one: &Read) -> Result<Option<String>> {
        if one.kind != "stand-count" {
            return Ok(None);
        }
        let stand = self.assessed_for(one)?.stand;
        let Some(stand) = stand else { return Ok(None) };
        let reading = &self.reading;
        let (Some(ten), Some(five)) = (stand.more_counts_for_10_percent, stand.more_counts_for_5_percent) else {
            let text = reading.word(Phrase::AnotherCountTells);
            return Ok((stand.counts.len() == 1).then(|| text.to_owned()));
        };
        let told = |more: u32, share: u32| match more {
            0 => reading.say(Phrase::ShareReached, &[("share", &share)]),
            _ => {
                let counts = reading.counted(more, Noun::MoreCount);
                reading.say(Phrase::MoreToShare, &[("counts", &counts), ("share", &share)])
            }
        };
        Ok(Some(format!("{}, {}", told(ten, 10), told(five, 5))))
    }

    /// Says what an observation amounts to as it stands after a correction; nothing where no formula says.
    pub(crate) fn amounts_now(&self, key: &str) -> Result<Option<String>> {
        let record = self.record_there(key)?;
        let Feature::Field(id) = &record.feature else { return Ok(None) };
        let fields = self.journal.all_fields()?;
        let united = United::of(&fields);
        let Some(field) = fields.iter().find(|field| field.id == united.home(id)) else { return Ok(None) };
        // What keeps people out is told beside every correction.
        if record.kind == APPLICATION {
            return Ok(None);
        }
        let one = Read {
            field: Arc::new(field.clone()),
            kind: record.kind.clone(),
            version: 0,
            moment: Moment { at: record.at, day: record.day, offset_minutes: record.offset_minutes, again: None },
            by: record.by.clone(),
            place: record.place,
            values: record.values,
            understood: String::new(),
            notes: Vec::new(),
        };
        self.amounts(&one, key, true)
    }

    /// Works out what an observation says by itself: of one place or part, of which the field may have several.
    fn alone(&self, one: &Read, key: &str) -> Result<FieldAssessment> {
        let record = self.record_there(key)?;
        let crop = if record.crop.is_empty() { one.field.crop.clone() } else { record.crop.clone() };
        Ok(assess::assess_for(&self.reading, &[record], &self.kinds, &crop, None, one.moment.day))
    }

    /// Works out what the field's records say on the day of an observation.
    fn assessed_for(&self, one: &Read) -> Result<FieldAssessment> {
        let filter = Filter {
            feature: Some(Feature::Field(one.field.id.clone())),
            season: Some(one.moment.day.year().into()),
            ..Filter::default()
        };
        let records = self.journal.records(&filter)?;
        Ok(assess::assess_for(&self.reading, &records, &self.kinds, &one.field.crop, None, one.moment.day))
    }
}

/// `31 plants in 17.42 ft at 30 in ≈ 31,013 plants/ac; mean of 4 so far 30,513 ± 2,942 (95 % interval)`
fn stand(assessed: &FieldAssessment, key: &str, last: bool, reading: &Reading) -> Option<String> {
    let stand = assessed.stand.as_ref()?;
    let count = stand.counts.iter().find(|count| count.observation == key)?;
    let plants = format!("{} {}", count.plants, reading.noun(Noun::Plant, count.plants == 1.0));
    let density = reading.per_acre(Noun::Plant, count.plants_per_acre);
    let mut text =
        reading.say(Phrase::PlantsIn, &[("plants", &plants), ("sample", &count.sample), ("density", &density)]);
    if let (Some((_, high)), true) = (stand.interval_95, last && stand.counts.len() > 1) {
        let mean = reading.bare_per_acre(stand.plants_per_acre);
        // The interval is the mean and as much to either side, cut off at nothing.
        let half = reading.bare_per_acre(high - stand.plants_per_acre);
        text.push_str("; ");
        text.push_str(&reading.say(Phrase::MeanSoFar, &[("n", &stand.counts.len()), ("mean", &mean), ("half", &half)]));
    }
    Some(text)
}

fn depth(assessed: &FieldAssessment, one: &Read, reading: &Reading) -> Option<String> {
    let depth = assessed.seed_depth.as_ref()?;
    let inches = |inches: f64| reading.inches(inches, Some(2));
    let mut text = reading.say(
        Phrase::DepthSoFar,
        &[
            ("seeds", &reading.counted(depth.seeds, Noun::Seed)),
            ("mean", &inches(depth.mean_in)),
            ("low", &inches(depth.range_in.0)),
            ("high", &inches(depth.range_in.1)),
        ],
    );
    if let (Some(target), Some(quarter), Some(half)) =
        (depth.target_in, depth.beyond_quarter_inch_percent, depth.beyond_half_inch_percent)
    {
        text.push_str("; ");
        text.push_str(&reading.say(
            Phrase::DepthOff,
            &[
                ("quarter", &format!("{quarter:.0}")),
                ("small", &inches(0.25)),
                ("target", &inches(target)),
                ("half", &format!("{half:.0}")),
                ("large", &inches(0.5)),
            ],
        ));
    }
    let lengths = ["seed_to_crown", "seed_to_surface"].map(|measure| one.values.contains_key(measure));
    match lengths {
        [true, false] => {
            text.push_str("; ");
            text.push_str(&reading.say(Phrase::CrownAdded, &[("added", &inches(CROWN_DEPTH_INCHES))]));
        }
        [true, true] => {
            text.push_str("; ");
            text.push_str(reading.word(Phrase::SurfaceCounts));
        }
        _ => {}
    }
    Some(text)
}

fn stage(assessed: &FieldAssessment, reading: &Reading) -> Option<String> {
    let stage = assessed.stage.as_ref()?;
    let plants: u32 = stage.plants.iter().map(|(_, n)| n).sum();
    if plants == 0 {
        return Some(reading.say(Phrase::FieldAt, &[("stage", &stage.field_stage)]));
    }
    let (least, most) = &stage.spread;
    let plants = reading.counted(plants, Noun::Plant);
    let told = reading.say(
        Phrase::FieldAtBy,
        &[("stage", &stage.field_stage), ("plants", &plants), ("least", least), ("most", most)],
    );
    let aside = assessed.set_aside.iter().filter(|aside| aside.measure == "stage").map(|aside| aside.why.clone());
    Some([told].into_iter().chain(aside).collect::<Vec<_>>().join("; "))
}

/// What the observation found on a plant or in a trap, and the shares of the day, all places of it together.
fn pest(assessed: &FieldAssessment, one: &Read, kind: &Kind, reading: &Reading) -> Option<String> {
    let told: Vec<String> = found(one, reading, kind).into_iter().chain(shares(assessed, one, reading)).collect();
    (!told.is_empty()).then(|| told.join("; "))
}

/// Individuals to the plant, the night and the trap, where there were any.
fn found(one: &Read, reading: &Reading, kind: &Kind) -> Vec<String> {
    let told = |(name, of, phrase): (&str, &str, Phrase)| {
        let (found, of) = (whole(one, name)?, whole(one, of)?);
        let mean = found as f64 / of as f64;
        let mean = if mean < 1.0 { format!("{mean:.2}") } else { format!("{mean:.1}") };
        let measure = kind.measure(name)?;
        let what = reading.measure(Some(measure), &measure.flag()).to_owned();
        (found > 0).then(|| reading.say(phrase, &[("what", &what), ("found", &found), ("mean", &mean)]))
    };
    [
        ("larvae", "plants_examined", Phrase::FoundOnPlants),
        ("egg_masses", "plants_examined", Phrase::FoundOnPlants),
        ("adults", "plants_examined", Phrase::FoundOnPlants),
        ("counted", "plants_examined", Phrase::FoundOnPlants),
        ("trap_moths", "trap_nights", Phrase::FoundInNights),
        ("caught", "traps", Phrase::FoundInTraps),
    ]
    .into_iter()
    .filter_map(told)
    .collect()
}

/// The shares of plants of the day, where the observation adds to them.
fn shares(assessed: &FieldAssessment, one: &Read, reading: &Reading) -> Option<String> {
    if !["plants_affected", "plants_cut"].iter().any(|measure| one.values.contains_key(*measure)) {
        return None;
    }
    let organism = text(one, "organism")?;
    let pest = assessed.pests.iter().find(|pest| pest.organism == organism && pest.day == one.moment.day)?;
    let told = |share: &Share| {
        let percent = format!("{:.1}", share.percent);
        let found = reading.say(
            Phrase::ShareFound,
            &[("what", &share.word), ("found", &share.plants), ("examined", &share.examined), ("percent", &percent)],
        );
        found + &interval(share.interval_95, reading)
    };
    let shares: Vec<String> = [&pest.damaged, &pest.cut].into_iter().flatten().map(told).collect();
    let shares = shares.join("; ");
    (!shares.is_empty()).then(|| reading.say(Phrase::PestSoFar, &[("name", &pest.label), ("shares", &shares)]))
}

fn affected(one: &Read, reading: &Reading) -> Option<String> {
    let (found, of) = (whole(one, "plants_affected")?, whole(one, "plants_examined")?);
    let (low, high) = wilson_interval(found, of, USUAL_LEVEL).ok()?;
    let percent = format!("{:.1}", found as f64 / of as f64 * 100.0);
    let told = reading.say(Phrase::Affected, &[("found", &found), ("examined", &of), ("percent", &percent)]);
    Some(told + &interval(Some((low * 100.0, high * 100.0)), reading))
}

/// The interval of a share in per cent, with a blank before it; nothing where there is none.
fn interval(ends: Option<(f64, f64)>, reading: &Reading) -> String {
    ends.map_or(String::new(), |(low, high)| {
        let (low, high) = (format!("{low:.1}"), format!("{high:.1}"));
        format!(" {}", reading.say(Phrase::ShareInterval, &[("low", &low), ("high", &high)]))
    })
}

/// Evenness within the row, and what that costs by the studies, which do not agree.
fn spacing(assessed: &FieldAssessment, one: &Read, reading: &Reading) -> Option<String> {
    let positions: Vec<Length> = list(one, "positions")?.into_iter().map(Length::from_inches).collect();
    let gaps = gaps_from_positions(&positions).ok()?;
    let inches: Vec<f64> = gaps.iter().map(|gap| gap.inches()).collect();
    let mean = mean(&inches).ok()?;
    let gaps_told = reading.counted(gaps.len(), Noun::Gap);
    let mut text = reading.say(Phrase::MeanOf, &[("what", &gaps_told), ("mean", &reading.inches(mean, Some(2)))]);
    if let Ok(sd) = sample_sd(&inches) {
        text.push_str(", ");
        text.push_str(&reading.say(Phrase::StandardDeviation, &[("sd", &reading.inches(sd, Some(2)))]));
    }
    let planting = assessed.planting.as_ref();
    let sown = planting.and_then(|planting| {
        // Square inches of an acre, by definition, over seeds and row width.
        Some(6_272_640.0 / planting.seeds_per_acre? / planting.row_width_in?)
    });
    let intended = thousandths(one, "intended").or(sown);
    if let Some(found) = intended.and_then(|intended| spacing_summary(&gaps, Length::from_inches(intended)).ok()) {
        let percent = |share: f64| format!("{:.0}", share * 100.0);
        let (doubles, skips) = (percent(found.multiples), percent(found.misses));
        text.push_str(", ");
        text.push_str(&reading.say(Phrase::DoublesAndSkips, &[("doubles", &doubles), ("skips", &skips)]));
    }
    if let Ok(sd) = sample_sd(&inches) {
        let losses: Vec<f64> = spacing_losses(Length::from_inches(sd), EVEN_STAND_YIELD)
            .into_iter()
            .filter_map(|(_, loss)| loss.ok())
            .collect();
        let (low, high) = losses.iter().fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(*x), high.max(*x)));
        if !losses.is_empty() {
            let bushels = |bushels: f64| reading.yield_per_acre(Grain::Corn, bushels);
            text.push_str("; ");
            text.push_str(&reading.say(
                Phrase::StudiesFindLoss,
                &[("low", &bushels(low)), ("high", &bushels(high)), ("yield", &bushels(EVEN_STAND_YIELD))],
            ));
        }
    }
    Some(text)
}

/// `30 ears × 512.4 kernels ÷ 90 ≈ 170.8 bu/ac`, by the parts that were counted; why it makes no yield where it makes none.
fn estimate(
    alone: &FieldAssessment,
    assessed: &FieldAssessment,
    one: &Read,
    last: bool,
    reading: &Reading,
) -> Option<String> {
    let grain = assess::grain(&alone.crop);
    let told = |bushels: f64| reading.yield_per_acre(grain, bushels);
    let Some(here) = &alone.yield_estimate else { return set_aside(alone) };
    let bushels = told(here.bushels_per_acre);
    let kernels = whole(one, "kernels_per_bushel").map_or(USUAL_KERNEL_FACTOR * 1000.0, |kernels| kernels as f64);
    let kernels = reading.thousands(kernels);
    let mut text = if let (Some(ears), Some(rows), Some(along)) =
        (whole(one, "ears"), list(one, "kernel_rows"), list(one, "kernels_per_row"))
    {
        let products: Vec<f64> = rows.iter().zip(&along).map(|(rows, along)| rows * along).collect();
        let an_ear = format!("{:.1}", mean(&products).ok()?);
        let with: [(&str, &dyn std::fmt::Display); 4] =
            [("ears", &ears), ("an_ear", &an_ear), ("kernels", &kernels), ("yield", &bushels)];
        reading.say(Phrase::EstimateOfEars, &with)
    } else if let (Some(plants), Some(pods), Some(seeds)) =
        (whole(one, "plants"), list(one, "pods_per_plant"), whole(one, "seeds_per_pod"))
    {
        let (pods, seeds) = (format!("{:.1}", mean(&pods).ok()?), seeds as f64 / 10.0);
        let with: [(&str, &dyn std::fmt::Display); 5] =
            [("plants", &plants), ("pods", &pods), ("seeds", &seeds), ("kernels", &kernels), ("yield", &bushels)];
        reading.say(Phrase::EstimateOfPods, &with)
    } else {
        String::new()
    };
    if let Some((low, high)) = here.by_kernel_factors {
        text.push_str("; ");
        text.push_str(&reading.say(Phrase::EstimateByKernels, &[("low", &told(low)), ("high", &told(high))]));
    }
    if let (Some(all), true) = (&assessed.yield_estimate, last)
        && let Some((_, high)) = all.interval_95
    {
        let (mean, half) = (told(all.bushels_per_acre), told(high - all.bushels_per_acre));
        text.push_str(if text.is_empty() { "" } else { "; " });
        text.push_str(&reading.say(Phrase::MeanSoFar, &[("n", &all.places), ("mean", &mean), ("half", &half)]));
    }
    (!text.is_empty()).then_some(text)
}

/// The yield at standard moisture, or as it was told; why it cannot be told where it cannot.
fn harvest(alone: &FieldAssessment, reading: &Reading) -> Option<String> {
    let here = alone.harvest.as_ref()?;
    let Some(bushels) = here.bushels_per_acre else { return set_aside(alone) };
    let told = reading.yield_per_acre(assess::grain(&alone.crop), bushels);
    let phrase = if here.as_told { Phrase::AsTold } else { Phrase::AtStandard };
    let mut text = format!("≈ {}", reading.say(phrase, &[("yield", &told)]));
    for caution in &here.cautions {
        text.push_str(". ");
        text.push_str(caution);
    }
    Some(text)
}

/// Why the values of an observation are in no number.
fn set_aside(alone: &FieldAssessment) -> Option<String> {
    let why: Vec<&str> = alone.set_aside.iter().map(|aside| aside.why.as_str()).collect();
    (!why.is_empty()).then(|| why.join(" "))
}

fn heights(one: &Read, reading: &Reading) -> Option<String> {
    let heights = list(one, "heights")?;
    let mean = mean(&heights).ok()?;
    let plants = reading.counted(heights.len(), Noun::Plant);
    Some(reading.say(Phrase::MeanOf, &[("what", &plants), ("mean", &reading.inches(mean, Some(1)))]))
}

fn text<'a>(one: &'a Read, measure: &str) -> Option<&'a str> {
    match &one.values.get(measure)?.value {
        Value::Text(text) => Some(text),
        Value::Int(_) => None,
    }
}

/// A whole number of things.
fn whole(one: &Read, measure: &str) -> Option<u64> {
    match one.values.get(measure)?.value {
        Value::Int(n) => u64::try_from(n).ok(),
        Value::Text(_) => None,
    }
}

/// A length that is kept in thousandths of an inch, inches.
fn thousandths(one: &Read, measure: &str) -> Option<f64> {
    Some(whole(one, measure)? as f64 / 1000.0)
}

fn list(one: &Read, measure: &str) -> Option<Vec<f64>> {
    text(one, measure)?.split_whitespace().map(|word| word.parse().ok()).collect()
}
