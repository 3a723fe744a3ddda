//! What an observation amounts to, told as it is recorded: the sum that a person would make in the head.

use ligule_agronomy::spacing::{gaps_from_positions, spacing_losses, spacing_summary};
use ligule_agronomy::statistics::{USUAL_LEVEL, mean, sample_sd, wilson_interval};
use ligule_journal::Filter;
use ligule_observation::ids::Feature;
use ligule_observation::record::Value;
use ligule_units::Length;

use crate::Engine;
use crate::assess::{self, FieldAssessment, Share};
use crate::error::Result;
use crate::number::counted;
use crate::reading::Reading;
use crate::recording::Read;
use crate::reentry::APPLICATION;

/// The yield of an even stand of corn at which a loss told in per cent becomes bushels; common practice, no source.
const YIELD: f64 = 200.0;

impl Engine {
    /// Says what an observation that was just recorded amounts to, and what those so far do; nothing where no formula says.
    pub(crate) fn amounts(&self, one: &Read, key: &str) -> Result<Option<String>> {
        let reading = &self.reading;
        Ok(match one.kind.as_str() {
            APPLICATION => {
                let told = self.reentry_on(&one.field, None)?;
                told.map(|told| told.lines(&reading.language).join("\n  "))
            }
            "stand-count" => stand(&self.assessed_for(one)?, key, reading),
            "seed-depth" => depth(&self.assessed_for(one)?, reading),
            "leaf-stage" => stage(&self.assessed_for(one)?),
            "pest-count" => pest(&self.assessed_for(one)?, one),
            "disease" => affected(one),
            "plant-spacing" => spacing(&self.assessed_for(one)?, one, reading),
            "plant-height" => heights(one, reading),
            _ => None,
        })
    }

    /// Says how many more samples of a kind make its mean sure, where that can be told.
    pub(crate) fn samples_wanting(&self, one: &Read) -> Result<Option<String>> {
        if one.kind != "stand-count" {
            return Ok(None);
        }
        let stand = self.assessed_for(one)?.stand;
        let spanish = self.reading.language == "es";
        let Some(stand) = stand else { return Ok(None) };
        let (Some(ten), Some(five)) = (stand.more_counts_for_10_percent, stand.more_counts_for_5_percent) else {
            let text = if spanish {
                "con otro conteo se sabrá cuántos hacen falta"
            } else {
                "another count will tell how many more are needed"
            };
            return Ok((stand.counts.len() == 1).then(|| text.to_owned()));
        };
        let told = |more: u32, share: u32| match (more, spanish) {
            (0, false) => format!("± {share} % is reached"),
            (0, true) => format!("± {share} % está alcanzado"),
            (_, false) => format!("{} to ± {share} %", counted(more as usize, "more count", "more counts")),
            (1, true) => format!("falta 1 conteo para ± {share} %"),
            (_, true) => format!("faltan {more} conteos para ± {share} %"),
        };
        Ok(Some(format!("{}, {}", told(ten, 10), told(five, 5))))
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

/// `31 plants in 30 in rows, 17.42 ft ≈ 31,013 plants/ac; mean of 2 so far …`
fn stand(assessed: &FieldAssessment, key: &str, reading: &Reading) -> Option<String> {
    let stand = assessed.stand.as_ref()?;
    let count = stand.counts.iter().find(|count| count.observation == key)?;
    let plants = if count.plants == 1.0 { "plant" } else { "plants" };
    let density = reading.per_acre("plants", count.plants_per_acre);
    let mut text = format!("{} {plants} in {} ≈ {density}", count.plants, count.sample);
    if let (Some((low, high)), true) = (stand.interval_95, stand.counts.len() > 1) {
        text.push_str(&format!(
            "; mean of {} so far {} (95 % interval {} to {})",
            stand.counts.len(),
            reading.bare_per_acre(stand.plants_per_acre),
            reading.bare_per_acre(low),
            reading.bare_per_acre(high)
        ));
    }
    Some(text)
}

fn depth(assessed: &FieldAssessment, reading: &Reading) -> Option<String> {
    let depth = assessed.seed_depth.as_ref()?;
    let mut text = format!(
        "{} so far, mean depth {}, {} to {}",
        counted(depth.seeds, "seed", "seeds"),
        reading.inches(depth.mean_in, Some(2)),
        reading.inches(depth.range_in.0, Some(2)),
        reading.inches(depth.range_in.1, Some(2))
    );
    if let (Some(target), Some(quarter), Some(half)) =
        (depth.target_in, depth.beyond_quarter_inch_percent, depth.beyond_half_inch_percent)
    {
        text.push_str(&format!(
            "; {quarter:.0} % more than {} off {}, {half:.0} % more than {}",
            reading.inches(0.25, Some(2)),
            reading.inches(target, Some(2)),
            reading.inches(0.5, Some(2))
        ));
    }
    Some(text)
}

fn stage(assessed: &FieldAssessment) -> Option<String> {
    let stage = assessed.stage.as_ref()?;
    let plants: u32 = stage.plants.iter().map(|(_, n)| n).sum();
    if plants == 0 {
        return Some(format!("field at {}", stage.field_stage));
    }
    let (least, most) = &stage.spread;
    Some(format!(
        "field at {} by {}, {least} to {most}",
        stage.field_stage,
        counted(plants as usize, "plant", "plants")
    ))
}

/// The shares of the day, all places of it together.
fn pest(assessed: &FieldAssessment, one: &Read) -> Option<String> {
    let organism = text(one, "organism")?;
    let pest = assessed.pests.iter().find(|pest| pest.organism == organism && pest.day == one.moment.day)?;
    let told = |share: &Share| {
        let interval =
            share.interval_95.map_or(String::new(), |(low, high)| format!(" (95 % interval {low:.1} to {high:.1} %)"));
        format!("{} of {} {}, {:.1} %{interval}", share.plants, share.examined, share.word, share.percent)
    };
    let shares: Vec<String> = [&pest.damaged, &pest.cut].into_iter().flatten().map(told).collect();
    (!shares.is_empty()).then(|| format!("{} so far: {}", pest.label, shares.join("; ")))
}

fn affected(one: &Read) -> Option<String> {
    let (found, of) = (whole(one, "plants_affected")?, whole(one, "plants_examined")?);
    let (low, high) = wilson_interval(found, of, USUAL_LEVEL).ok()?;
    let percent = found as f64 / of as f64 * 100.0;
    Some(format!(
        "{found} of {of} affected, {percent:.1} % (95 % interval {:.1} to {:.1} %)",
        low * 100.0,
        high * 100.0
    ))
}

/// Evenness within the row, and what that costs by the studies, which do not agree.
fn spacing(assessed: &FieldAssessment, one: &Read, reading: &Reading) -> Option<String> {
    let positions: Vec<Length> = list(one, "positions")?.into_iter().map(Length::from_inches).collect();
    let gaps = gaps_from_positions(&positions).ok()?;
    let inches: Vec<f64> = gaps.iter().map(|gap| gap.inches()).collect();
    let mean = mean(&inches).ok()?;
    let mut text = format!("{}, mean {}", counted(gaps.len(), "gap", "gaps"), reading.inches(mean, Some(2)));
    if let Ok(sd) = sample_sd(&inches) {
        text.push_str(&format!(", SD {}", reading.inches(sd, Some(2))));
    }
    let planting = assessed.planting.as_ref();
    let sown = planting.and_then(|planting| {
        // Square inches of an acre, by definition, over seeds and row width.
        Some(6_272_640.0 / planting.seeds_per_acre? / planting.row_width_in?)
    });
    let intended = thousandths(one, "intended").or(sown);
    if let Some(found) = intended.and_then(|intended| spacing_summary(&gaps, Length::from_inches(intended)).ok()) {
        text.push_str(&format!(", {:.0} % doubles, {:.0} % skips", found.multiples * 100.0, found.misses * 100.0));
    }
    if let Ok(sd) = sample_sd(&inches) {
        let losses: Vec<f64> =
            spacing_losses(Length::from_inches(sd), YIELD).into_iter().filter_map(|(_, loss)| loss.ok()).collect();
        let (low, high) = losses.iter().fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(*x), high.max(*x)));
        if !losses.is_empty() {
            text.push_str(&format!(
                "; the studies find a loss of {low:.1} to {high:.1} bu/ac at {YIELD} bu/ac (they do not agree: `ligule table \
                 spacing-loss`)"
            ));
        }
    }
    Some(text)
}

fn heights(one: &Read, reading: &Reading) -> Option<String> {
    let heights = list(one, "heights")?;
    let mean = mean(&heights).ok()?;
    let plants = counted(heights.len(), "plant", "plants");
    Some(format!("{plants}, mean {}", reading.inches(mean, Some(1))))
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
