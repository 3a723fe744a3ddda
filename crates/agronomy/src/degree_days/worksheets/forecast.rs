//! The date of a stage, from how fast past years went on.

use jiff::ToSpan;
use jiff::civil::{Date, date};
use ligule_units::Temperature;

use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::degree_days::course::days_between;
use crate::degree_days::{Course, LEAST_YEARS, Method, Model, StageForecast, StationDay, forecast_stage};
use crate::error::{Error, within};

pub(super) const FORECAST: Worksheet = Worksheet {
    name: "stage-date",
    title: "Date on which a sum of degree days is reached, at the pace of past years",
    inputs: &[
        Input::required("target", Takes::Quantity("5.K.d/9"), "Degree days from planting to the stage, °F days"),
        Input::required("so-far", Takes::Quantity("5.K.d/9"), "Degree days from planting to the last day, °F days"),
        Input::required("planted", Takes::Day, "Planting date"),
        Input::required("last-day", Takes::Day, "Last day of the sum so far"),
        Input::required(
            "pace",
            Takes::Quantity("5.K.d/9"),
            "Mean degree days a day of each past year in the time ahead, °F days; at least five years",
        )
        .many(),
    ],
    source: "the station's own past years; limits are common practice, no source",
    example: "--target 1250 --so-far 850 --planted 2026-05-01 --last-day 2026-06-25 --pace '21 23.5 20 24 22.5 19'",
    work: |given| {
        let day = |name| given.day(name).expect("required inputs are checked before a worksheet works");
        let (planted, last): (Date, Date) = (day("planted"), day("last-day"));
        let target = given.fahrenheit_days("target");
        let so_far = within("degree days so far", given.number("so-far"), 0.0, 10_000.0, " °F·d")?;
        let days = within("days since planting", days_between(planted, last) as f64 + 1.0, 1.0, 200.0, "")?;
        let paces = given.numbers("pace");
        within("past years", paces.len() as f64, LEAST_YEARS as f64, 100.0, "")?;
        for pace in paces {
            within("degree days a day", *pace, 0.0, 36.0, " °F·d")?;
        }
        let model = Model::new(Method::SimpleAverage, Temperature::from_fahrenheit(50.0), None)?;
        let steady = |date: Date, pace: f64| {
            let steady = Some(Temperature::from_fahrenheit(50.0 + pace));
            StationDay { date, maximum: steady, minimum: steady }
        };
        let season = planted.series(1.day()).take(days as usize).map(|day| steady(day, so_far / days));
        let season = Course::new(season, planted, last, &model)?;
        let first = planted.year().saturating_sub(paces.len() as i16);
        let start = date(first.max(1), 1, 1);
        let end = date(planted.year(), 1, 1).saturating_sub(1.day());
        let past = start.series(1.day()).take_while(|day| *day <= end);
        let past =
            past.map(|day| steady(day, paces[usize::from((day.year() - start.year()).unsigned_abs()) % paces.len()]));
        let past = Course::new(past, start, end, &model)?;
        let left = target.fahrenheit() - so_far;
        let answer = Answer::default().step(format!("{:.0} − {so_far:.0} = {left:.0} °F·d to go", target.fahrenheit()));
        let ahead = match forecast_stage(&season, &past, target)? {
            StageForecast::Reached { .. } => return Ok(answer.words("date", format!("reached by {last}"))),
            StageForecast::Ahead(ahead) => ahead,
        };
        let mean = paces.iter().sum::<f64>() / paces.len() as f64;
        let words = |date: Option<Date>| date.map_or_else(|| "not within 200 days".to_owned(), |date| date.to_string());
        let spread = |low, high| -> Result<String, Error> {
            Ok(format!("{} to {}", words(ahead.quantile(low)?), words(ahead.quantile(high)?)))
        };
        Ok(answer
            .step(format!("{left:.0} / {mean:.2} a day, the mean of {} years", paces.len()))
            .words("date by the mean of the years", words(ahead.by_normals))
            .words("earliest to latest of the years", spread(0.0, 1.0)?)
            .words("middle eight of ten years", spread(0.1, 0.9)?)
            .number("years", ahead.years.len() as f64, 0, "")
            .remark("The spread is that of the weather alone; what the stage needs is a range too.")
            .remark("With few years the ends are single years. Compare with the date of killing frost."))
    },
};
