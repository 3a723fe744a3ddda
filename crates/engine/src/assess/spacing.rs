//! How evenly plants stand within the row, by the latest day with readings of a tape.

use ligule_agronomy::harvest::Grain;
use ligule_agronomy::spacing::{gaps_from_positions, plant_spacing, spacing_losses, spacing_summary};
use ligule_agronomy::statistics::{mean, sample_sd};
use ligule_observation::record::Record;
use ligule_units::{Length, PlantDensity};

use super::{
    model::{Planting, Spacing, SpacingLoss},
    reader::{Reader, last_usable_day, of_kind},
    sources,
};
use crate::phrases::{Noun, Phrase};

const KIND: &str = "plant-spacing";

/// Gaps below which a planter is not judged by them. Common practice, no source.
const FEW_GAPS: usize = 50;

/// The yield of an even stand of corn at which a loss told in per cent becomes bushels, bu/ac. Common practice, no source.
pub(crate) const EVEN_STAND_YIELD: f64 = 200.0;

pub(super) fn spacing(records: &[&Record], planting: Option<&Planting>, reader: &mut Reader<'_>) -> Option<Spacing> {
    last_usable_day(&of_kind(records, KIND), |of_day| of_one_day(of_day, planting, reader))
}

/// Pools the gaps of the places of one day.
fn of_one_day(records: &[&Record], planting: Option<&Planting>, reader: &mut Reader<'_>) -> Option<Spacing> {
    let mut gaps: Vec<f64> = Vec::new();
    let (mut judged, mut doubles, mut skips) = (0, 0.0, 0.0);
    let mut intended_in = None;
    let mut rests_on = Vec::new();
    for record in records {
        if !reader.are_settled(record, &["positions", "row_width", "intended"]) {
            continue;
        }
        let here = match gaps_from_positions(&reader.lengths(record, "positions")) {
            Ok(gaps) => gaps,
            Err(error) => {
                let why = reader.reading().say(Phrase::ValueUnusable, &[("error", &error)]);
                reader.set_aside(record, "positions", why);
                continue;
            }
        };
        rests_on.push(record.key.clone());
        let intended = reader.length(record, "intended").or_else(|| as_planted(record, planting, reader));
        if let Some((intended, found)) = intended.and_then(|i| Some((i, spacing_summary(&here, i).ok()?))) {
            judged += found.gaps;
            doubles += found.multiples * found.gaps as f64;
            skips += found.misses * found.gaps as f64;
            intended_in = Some(intended.inches());
        }
        gaps.extend(here.iter().map(|gap| gap.inches()));
    }
    let mean_in = mean(&gaps).ok()?;
    let sd = sample_sd(&gaps).ok();
    let losses: Vec<SpacingLoss> = sd
        .into_iter()
        .flat_map(|sd| spacing_losses(Length::from_inches(sd), EVEN_STAND_YIELD))
        .filter_map(|(study, loss)| Some(SpacingLoss { study: study.word().to_owned(), bushels_per_acre: loss.ok()? }))
        .collect();
    let reading = reader.reading();
    let mut cautions = Vec::new();
    let mut cited = vec![sources::gap_classes()];
    if intended_in.is_none() {
        cautions.push(reading.word(Phrase::NoIntended).to_owned());
    }
    if gaps.len() < FEW_GAPS {
        cautions.push(reading.say(Phrase::FewGaps, &[("gaps", &reading.counted(gaps.len(), Noun::Gap))]));
    }
    if !losses.is_empty() {
        let even = reading.yield_per_acre(Grain::Corn, EVEN_STAND_YIELD);
        cautions.push(reading.say(Phrase::StudiesDisagree, &[("yield", &even)]));
        cited.extend(sources::of_table("spacing-loss"));
    }
    let percent = |found: f64| (judged > 0).then(|| found / judged as f64 * 100.0);
    Some(Spacing {
        day: records.first()?.day,
        places: rests_on.len(),
        gaps: gaps.len(),
        mean_in,
        standard_deviation_in: sd,
        intended_in,
        doubles_percent: percent(doubles),
        skips_percent: percent(skips),
        losses,
        cautions,
        rests_on,
        sources: cited,
    })
}

/// Returns the spacing that the planting's rate makes in this row.
fn as_planted(record: &Record, planting: Option<&Planting>, reader: &mut Reader<'_>) -> Option<Length> {
    let planting = planting?;
    let row = reader.length(record, "row_width").or_else(|| planting.row_width_in.map(Length::from_inches))?;
    plant_spacing(row, PlantDensity::from_per_acre(planting.seeds_per_acre?)).ok()
}
