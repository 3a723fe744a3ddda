//! Degree days since planting, and the stage they let one expect.

use jiff::civil::Date;
use ligule_agronomy::degree_days::{
    EMERGENCE_FIGURES, LeafPrediction, LeafRate, Model, accumulate, predict_leaf_stage, usual_emergence,
};
use ligule_units::{DegreeDays as Sum, Temperature};

use super::{
    StationDays,
    model::{DegreeDays, ExpectedStage, Planting, StageMark},
    sources,
};
use crate::phrases::{Noun, Phrase};
use crate::reading::Reading;
use crate::weather::WeatherDay;

/// Leaves of a hybrid where its own number is not known. Common practice, no source.
const LEAVES: u8 = 20;

/// Stages that are marked, by their number of collars.
const MARKED_EVERY: u8 = 2;

/// A sum of degree days by the corn method 86/50.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accumulated {
    /// The sum, °F · day.
    pub total: f64,
    /// Days in the sum.
    pub days: usize,
    /// Days without both temperatures; they add nothing.
    pub missing: usize,
}

/// Returns the degree days of some days by the corn method: both temperatures brought between 50 and 86 °F, averaged,
/// less 50.
///
/// *Units:* °F · day. A day without both temperatures is counted as missing and never filled. *Source:*
/// R. L. Nielsen, Heat Unit Concepts Related to Corn Development, Purdue University.
pub fn degree_days_fahrenheit(days: &[WeatherDay]) -> Accumulated {
    let (mut sum, mut counted, mut missing) = (Sum::zero(), 0, 0);
    for day in days {
        match of_day(day) {
            Some(more) => {
                sum = sum + more;
                counted += 1;
            }
            None => missing += 1,
        }
    }
    Accumulated { total: sum.fahrenheit(), days: counted, missing }
}

/// Returns the degree days of one day; `None` where a temperature is missing, or the two cannot both be true.
fn of_day(day: &WeatherDay) -> Option<Sum> {
    let (high, low) = day.extremes_celsius()?;
    let pair = (Some(Temperature::from_celsius(high)), Some(Temperature::from_celsius(low)));
    accumulate([pair], &Model::corn()).ok().map(|a| a.sum)
}

pub(super) fn since_planting(
    planting: Option<&Planting>,
    crop: &str,
    weather: Option<&StationDays>,
    as_of: Date,
    reading: &Reading,
    lacking: &mut Vec<String>,
) -> Option<DegreeDays> {
    let planting = planting?;
    if crop != "corn" {
        lacking.push(reading.word(Phrase::DegreeDaysCornOnly).to_owned());
        return None;
    }
    let Some(weather) = weather else {
        lacking.push(reading.word(Phrase::NoStation).to_owned());
        return None;
    };
    let StationDays { station, days: weather } = weather;
    let from = planting.day.tomorrow().ok()?;
    let counts = |day: Date| from <= day && day < as_of;
    let mut course = Vec::new();
    let mut sum = Sum::zero();
    let mut sums = Vec::new();
    for day in weather.iter().filter(|d| counts(d.day)) {
        if let Some(more) = of_day(day) {
            sum = sum + more;
            course.push((day.day, sum.fahrenheit()));
            sums.push((day.day, sum));
        }
    }
    let span = usize::try_from((as_of - from).get_days()).unwrap_or(0);
    let Some((to, _)) = course.last().copied() else {
        if span > 0 {
            lacking
                .push(reading.say(Phrase::StationLacksDays, &[("station", station), ("from", &from), ("to", &as_of)]));
        }
        return None;
    };
    let missing_days = span.saturating_sub(course.len());
    let accumulation = ligule_agronomy::degree_days::Accumulation { sum, days: course.len(), missing: missing_days };

    let mut cautions = Vec::new();
    let mut cited = vec![sources::degree_days(), sources::counting_from_planting()];
    let (mut expected, mut marks) = (Vec::new(), Vec::new());
    if !accumulation.supports_forecast() {
        let days = reading.counted(span, Noun::Day);
        cautions.push(reading.say(Phrase::TooManyMissing, &[("missing", &missing_days), ("days", &days)]));
        cited.push(sources::missing_days());
    } else {
        expected =
            [LeafRate::Purdue, LeafRate::Iowa].into_iter().filter_map(|rate| expect(sum, rate, reading)).collect();
        marks = stage_marks(&sums);
        cited.extend([sources::leaf_rate_purdue(), sources::leaf_rate_iowa(), sources::leaf_number()]);
        let figures = EMERGENCE_FIGURES.iter().flat_map(|figure| [figure.low, figure.high]);
        let (low, high) = figures.fold((f64::MAX, f64::MIN), |(low, high), sum| (low.min(sum), high.max(sum)));
        let [usual, low, high] = [usual_emergence().fahrenheit(), low, high]
            .map(|sum| format!("{:.0}", reading.converted(sum, "5.K.d/9").0));
        let unit = reading.converted(0.0, "5.K.d/9").1;
        cautions.push(
            reading
                .say(Phrase::EmergenceDiffers, &[("usual", &usual), ("unit", &unit), ("low", &low), ("high", &high)]),
        );
    }
    if weather.iter().any(|d| counts(d.day) && d.observed_before_noon == Some(true)) {
        cautions.push(reading.word(Phrase::MorningStation).to_owned());
    }
    Some(DegreeDays {
        station: station.clone(),
        method: method(&Model::corn()),
        from,
        to,
        total_f: sum.fahrenheit(),
        days: course.len(),
        missing_days,
        course,
        marks,
        expected,
        cautions,
        rests_on: planting.rests_on.clone(),
        sources: cited,
    })
}

/// Returns a model as the trade says it: `86/50 °F modified average`.
fn method(model: &Model) -> String {
    let degrees = |t: Temperature| (t.fahrenheit() * 10.0).round() / 10.0;
    let upper = model.upper().map_or(String::new(), |upper| format!("{}/", degrees(upper)));
    format!("{upper}{} °F {}", degrees(model.base()), model.method().to_string().replace('-', " "))
}

fn expect(sum: Sum, rate: LeafRate, reading: &Reading) -> Option<ExpectedStage> {
    let name = reading.word(match rate {
        LeafRate::Purdue => Phrase::RatePurdue,
        LeafRate::Iowa => Phrase::RateIowa,
    });
    let same = |text: &str| (text.to_owned(), (text.to_owned(), text.to_owned()));
    let (stage, band) = match predict_leaf_stage(sum, usual_emergence(), rate, LEAVES).ok()? {
        LeafPrediction::NotEmerged { .. } => same(reading.word(Phrase::NotEmerged)),
        LeafPrediction::Emerged { stage, low, high, .. } => (stage.to_string(), (low.to_string(), high.to_string())),
        LeafPrediction::PastLastLeaf { .. } => same(reading.word(Phrase::TasselOrLater)),
    };
    Some(ExpectedStage { rate: name.to_owned(), stage, band })
}

/// Returns the first day of emergence and of every second stage, by the first of the rates.
fn stage_marks(sums: &[(Date, Sum)]) -> Vec<StageMark> {
    let mut marks: Vec<StageMark> = Vec::new();
    let mut next = 0;
    for (day, sum) in sums {
        let Ok(LeafPrediction::Emerged { stage, .. }) =
            predict_leaf_stage(*sum, usual_emergence(), LeafRate::Purdue, LEAVES)
        else {
            continue;
        };
        let collars = stage.collars().unwrap_or(LEAVES);
        if collars >= next && next <= LEAVES {
            marks.push(StageMark { stage: stage.to_string(), day: *day, degree_days_f: sum.fahrenheit() });
            next = collars - collars % MARKED_EVERY + MARKED_EVERY;
        }
    }
    marks
}
