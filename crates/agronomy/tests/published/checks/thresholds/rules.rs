//! Published thresholds held against counts.

use ligule_agronomy::thresholds::{
    Assessment, CUTWORM_SCOUTING, CropStage, Reading, Recorded, Threshold, Verdict, cutworm_stage, published,
};
use ligule_units::Length;

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

pub(super) fn answer(row: &Row) -> Option<Answer> {
    let interval = || assess(row).interval.expect("a share of plants");
    Some(match row.check.as_str() {
        "verdict" => verdict(assess(row).verdict),
        "measure alone" => verdict(assess(row).measured.expect("recorded")),
        "threshold value" => Number(assess(row).value.expect("recorded")),
        "threshold interval, low" => Number(interval().0),
        "threshold interval, high" => Number(interval().1),
        "near the threshold" => Text((if assess(row).near { "yes" } else { "no" }).to_owned()),
        "cutworm stage" => Text(cutworm_stage(row.fahrenheit_days("sum")).expect("in the table").what.to_owned()),
        "scout for cutting" => Text((if row.number("sum") >= CUTWORM_SCOUTING { "yes" } else { "no" }).to_owned()),
        _ => return None,
    })
}

fn verdict(verdict: Verdict) -> Answer {
    let words = match verdict {
        Verdict::NotEnoughRecorded => "not enough recorded",
        Verdict::OutsideItsWindow => "outside its window",
        Verdict::Below => "below",
        Verdict::InTheBand => "in the band",
        Verdict::AtOrAbove => "at or above",
    };
    Text(words.to_owned())
}

fn rule(row: &Row) -> &'static Threshold {
    let mut rules = published(row.text("pest"), row.text("region")).filter(|rule| rule.name == row.text("which"));
    rules.next().unwrap_or_else(|| panic!("`{}`: no threshold of that name", row.name))
}

fn assess(row: &Row) -> Assessment {
    let rule = rule(row);
    let mut recorded = Recorded::default();
    if row.has("stage") {
        recorded = recorded.at(CropStage::read(rule.crop, row.text("stage")).expect("a stage"));
    }
    if row.has("larva_in") {
        recorded = recorded.larvae_of(row.inches("larva_in"));
    }
    if row.has("larva_cm") {
        recorded = recorded.larvae_of(Length::from_centimetres(row.number("larva_cm")));
    }
    for text in row.list("recorded") {
        let (name, value) = text.as_str().and_then(|text| text.split_once('=')).expect("a measure and its value");
        let mut asked = std::iter::once(rule.measure).chain(rule.also.iter().map(|condition| condition.measure));
        let measure = asked.find(|measure| measure.name == name).unwrap_or_else(|| panic!("`{}`: {name}?", row.name));
        recorded = recorded.with(measure, Reading::read(value).expect("a reading"));
    }
    rule.evaluate(&recorded).unwrap_or_else(|error| panic!("`{}`: {error}", row.name))
}
