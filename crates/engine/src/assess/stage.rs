//! The growth stage of the field, by the latest day on which one was recorded.

use std::collections::BTreeMap;

use ligule_advice::Citation;
use ligule_agronomy::stage::{BbchRange, CornStage, SoybeanStage, bbch, field_stage, soybean_bbch};
use ligule_observation::record::Record;

use super::{
    model::Stage,
    reader::{Reader, of_kind},
    sources,
};
use crate::phrases::{Noun, Phrase};

const KIND: &str = "leaf-stage";

/// Plants below which a field's stage is flagged. Common practice, no source.
const FEW_PLANTS: usize = 10;

pub(super) fn stage(records: &[&Record], crop: &str, reader: &mut Reader<'_>) -> Option<Stage> {
    let records = of_kind(records, KIND);
    // The latest day with something that can be used.
    let mut days: Vec<_> = records.iter().map(|r| r.day).collect();
    days.sort_unstable();
    days.dedup();
    days.into_iter().rev().find_map(|day| {
        let of_day: Vec<&Record> = records.iter().filter(|r| r.day == day).copied().collect();
        let counted = plant_by_plant(&of_day, crop, reader);
        if let Some(counted) = &counted {
            // Nobody should think that a stage given for the whole field holds.
            for record in &of_day {
                let Some(text) = reader.text(record, "stage") else { continue };
                let why = reader
                    .reading()
                    .say(Phrase::PlantsCountBefore, &[("stage", &text), ("field", &counted.field_stage)]);
                reader.set_aside(record, "stage", why);
            }
        }
        counted.or_else(|| as_one_stage(&of_day, crop, reader))
    })
}

/// Returns the stage from plants counted one by one, over all places of the day.
fn plant_by_plant(records: &[&Record], crop: &str, reader: &mut Reader<'_>) -> Option<Stage> {
    let mut collars: Vec<u8> = Vec::new();
    let mut rests_on = Vec::new();
    let mut split = false;
    for record in records {
        let before = collars.len();
        for number in reader.list(record, "collars") {
            if number.fract() == 0.0 && (0.0..=30.0).contains(&number) {
                collars.push(number as u8);
            } else {
                let why = reader.reading().say(Phrase::CollarsExpected, &[("n", &number)]);
                reader.set_aside(record, "collars", why);
            }
        }
        if collars.len() > before {
            rests_on.push(record.key.clone());
            split |= reader.text(record, "method") == Some("split-stalk");
        }
    }
    let field = field_stage(&collars).ok()?;
    let mut by_collars: BTreeMap<u8, u32> = BTreeMap::new();
    collars.iter().for_each(|n| *by_collars.entry(*n).or_default() += 1);
    let reading = reader.reading();
    let mut cautions = Vec::new();
    if field.plants < FEW_PLANTS {
        let plants = reading.counted(field.plants, Noun::Plant);
        cautions.push(reading.say(Phrase::FewPlantsForStage, &[("plants", &plants)]));
    }
    if split {
        cautions.push(reading.word(Phrase::SplitStalk).to_owned());
    }
    Some(Stage {
        day: records.first()?.day,
        field_stage: field.stage.to_string(),
        spread: (field.least.to_string(), field.greatest.to_string()),
        plants: by_collars.into_iter().map(|(n, plants)| (name(n), plants)).collect(),
        bbch: codes(&field.stage.to_string(), crop).map(|b| (b.low, b.high)),
        behind_percent: Some(field.share_two_behind * 100.0),
        cautions,
        rests_on,
        sources: definitions(crop, true),
    })
}

/// Returns the stage from stages given for the field as a whole; where several were given, the least and the greatest
/// are the spread and the one in the middle is the stage.
fn as_one_stage(records: &[&Record], crop: &str, reader: &mut Reader<'_>) -> Option<Stage> {
    let mut stages: Vec<(CornOrSoybean, String)> = Vec::new();
    let mut rests_on = Vec::new();
    for record in records {
        let Some(text) = reader.text(record, "stage") else { continue };
        match CornOrSoybean::read(text, crop) {
            Some(stage) => {
                stages.push((stage, text.to_owned()));
                rests_on.push(record.key.clone());
            }
            None => reader.set_aside(record, "stage", reader.reading().say(Phrase::StageExpected, &[("text", &text)])),
        }
    }
    stages.sort_by_key(|(stage, _)| stage.order());
    let middle = stages.get(stages.len() / 2)?.1.clone();
    let (first, last) = (stages.first()?.1.clone(), stages.last()?.1.clone());
    Some(Stage {
        day: records.first()?.day,
        bbch: codes(&middle, crop).map(|b| (b.low, b.high)),
        field_stage: middle,
        spread: (first, last),
        plants: Vec::new(),
        behind_percent: None,
        cautions: vec![reader.reading().word(Phrase::StageAsOne).to_owned()],
        rests_on,
        sources: definitions(crop, false),
    })
}

/// A stage of either crop, so that stages of one field can be put in order.
enum CornOrSoybean {
    Corn(CornStage),
    Soybean(SoybeanStage),
}

impl CornOrSoybean {
    fn read(text: &str, crop: &str) -> Option<Self> {
        if crop == "soybean" { text.parse().ok().map(Self::Soybean) } else { text.parse().ok().map(Self::Corn) }
    }

    /// Vegetative before reproductive, then by number.
    fn order(&self) -> (u8, u8) {
        match self {
            Self::Corn(stage) => match (stage.collars(), stage.reproductive_number()) {
                (Some(n), _) => (0, n),
                (None, None) => (1, 0),
                (None, Some(n)) => (2, n),
            },
            Self::Soybean(SoybeanStage::Emergence) => (0, 0),
            Self::Soybean(SoybeanStage::Cotyledon) => (0, 1),
            Self::Soybean(SoybeanStage::Node(n)) => (0, n.saturating_add(1)),
            Self::Soybean(SoybeanStage::Reproductive(n)) => (2, *n),
        }
    }
}

fn name(collars: u8) -> String {
    if collars == 0 { "VE".to_owned() } else { format!("V{collars}") }
}

fn codes(stage: &str, crop: &str) -> Option<BbchRange> {
    match CornOrSoybean::read(stage, crop)? {
        CornOrSoybean::Corn(stage) => Some(bbch(stage)),
        CornOrSoybean::Soybean(stage) => Some(soybean_bbch(stage)),
    }
}

fn definitions(crop: &str, counted: bool) -> Vec<Citation> {
    let mut cited = if crop == "soybean" {
        vec![sources::soybean_stages(), sources::bbch_soybean()]
    } else {
        vec![sources::leaf_collars(), sources::bbch_maize()]
    };
    if counted {
        cited.extend([sources::field_stage(), sources::behind_the_median()]);
    }
    cited
}
