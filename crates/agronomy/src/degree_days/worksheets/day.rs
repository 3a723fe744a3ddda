//! Degree days of days, by any method.

use jiff::ToSpan;
use ligule_units::{Temperature, Unit, parse};

use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::degree_days::{Course, Method, Model, StationDay};
use crate::error::{Error, within};

pub(super) const DAY: Worksheet = Worksheet {
    name: "degree-days",
    title: "Degree days of one day or several, by any method",
    inputs: &[
        Input::required("max", Takes::Text, "Each day's maximum in °F or with its unit, `-` if it is missing").many(),
        Input::required("min", Takes::Text, "Each day's minimum, in the same order").many(),
        Input::optional("from", Takes::Day, "The first day, so that missing days are named by their dates"),
        Input::usual("method", Takes::Word(Method::WORDS), "modified-average", "Method"),
        Input::usual("base", Takes::Quantity("[degF]"), "50 °F", "Base"),
        Input::optional(
            "upper",
            Takes::Quantity("[degF]"),
            "Upper threshold; left out, 86 °F for the modified average from 50 °F, none for the others",
        ),
    ],
    source: "R. L. Nielsen, Heat unit concepts related to corn development, Purdue University; G. S. McMaster and W. W. Wilhelm \
             (1997), Agricultural and Forest Meteorology 87:291-300; University of Minnesota, Seedcorn maggot degree-day model; \
             G. L. Baskerville and P. Emin (1969), Ecology 50:514-517; J. C. Allen (1976), Environmental Entomology 5:388-396; F. \
             G. Zalom et al. (1983), University of California leaflet 21373",
    example: "--max '90 72 63' --min '65 46 42'",
    work: |given| {
        let high = given.texts("max").iter().map(|text| temperature("max", text)).collect::<Result<Vec<_>, _>>()?;
        let low = given.texts("min").iter().map(|text| temperature("min", text)).collect::<Result<Vec<_>, _>>()?;
        within("as many minima as maxima", low.len() as f64, high.len() as f64, high.len() as f64, "")?;
        if high.is_empty() {
            return Err(Error::Missing { input: "max", help: "Each day's maximum" });
        }
        let method: Method = given.text("method").parse()?;
        let base = given.fahrenheit("base");
        let corn = Model::corn();
        let is_corn = method == corn.method() && (base.fahrenheit() - corn.base().fahrenheit()).abs() < 1e-9;
        let upper = given.maybe("upper").map(Temperature::from_fahrenheit).or(corn.upper().filter(|_| is_corn));
        let model = Model::new(method, base, upper)?;
        let mut answer = Answer::default();
        // Any first day does for the sum; only dates that were given are shown.
        let from = given.day("from");
        let start = from.unwrap_or(jiff::civil::date(2001, 1, 1));
        let mut days = Vec::new();
        let mut missing = Vec::new();
        for (index, (maximum, minimum)) in high.into_iter().zip(low).enumerate() {
            let date = start.saturating_add((index as i64).days());
            let name = from.map_or_else(|| format!("day {}", index + 1), |_| date.to_string());
            if let (Some(maximum), Some(minimum)) = (maximum, minimum) {
                let day = model.day(maximum, minimum)?;
                let worked = line(&model, maximum.fahrenheit(), minimum.fahrenheit(), day.fahrenheit());
                answer = answer.step(if from.is_some() { format!("{name}: {worked}") } else { worked });
            } else {
                answer = answer.step(format!("{name}: missing"));
                missing.push(name);
            }
            days.push(StationDay { date, maximum, minimum });
        }
        let end = start.saturating_add((days.len() as i64 - 1).days());
        let found = Course::new(days, start, end, &model)?.accumulation();
        let sum = found.sum;
        answer = answer.number("degree days", sum.fahrenheit(), 1, "°F·d").number(
            "degree days in Celsius",
            sum.celsius(),
            1,
            "°C·d",
        );
        if !missing.is_empty() {
            answer = answer.number("days missing", found.missing as f64, 0, "").remark(format!(
                "Missing: {}. A missing day adds nothing to the sum, so the field has had this much or more.",
                missing.join(", ")
            ));
        }
        answer = answer.remark(format!("A sum means nothing without its model: {model}."));
        Ok(if method == Method::SingleSine {
            answer.remark("The area under the sine curve is exact; that the day follows such a curve is an assumption.")
        } else {
            answer
        })
    },
};

/// Returns a day's temperature, `None` for one that is missing.
fn temperature(input: &'static str, text: &str) -> Result<Option<Temperature>, Error> {
    if text == "-" {
        return Ok(None);
    }
    let unit = Unit::by_ucum("[degF]").expect("degrees Fahrenheit are in the table of units");
    let read = parse(text, unit).and_then(|quantity| quantity.to(unit));
    let read = read.map_err(|reason| Error::Quantity { input, reason })?;
    Ok(Some(Temperature::from_fahrenheit(read.to_f64())))
}

/// Returns one day's working.
fn line(model: &Model, high: f64, low: f64, day: f64) -> String {
    let base = model.base().fahrenheit();
    let upper = model.upper().map_or(f64::INFINITY, Temperature::fahrenheit);
    let clip = |t: f64| t.clamp(base, upper);
    // What a threshold changed stands beside what was measured.
    let used = |measured: f64, clipped: f64| {
        if measured > clipped {
            format!("{clipped:.1} (capped, was {measured:.1})")
        } else if measured < clipped {
            format!("{clipped:.1} (raised, was {measured:.1})")
        } else {
            format!("{measured:.1}")
        }
    };
    match model.method() {
        Method::ModifiedAverage => {
            format!("({} + {}) / 2 − {base:.1} = {day:.2}", used(high, clip(high)), used(low, clip(low)))
        }
        Method::SimpleAverage => format!("({high:.1} + {low:.1}) / 2 − {base:.1}, not below 0 = {day:.2}"),
        Method::ClippedAverage => {
            let mean = f64::midpoint(high, low);
            format!("({high:.1} + {low:.1}) / 2 = {mean:.2}; {} − {base:.1} = {day:.2}", used(mean, clip(mean)))
        }
        Method::CappedMaximum => {
            format!("({} + {low:.1}) / 2 − {base:.1}, not below 0 = {day:.2}", used(high, high.min(upper)))
        }
        Method::SingleSine => {
            let (mean, amplitude) = (f64::midpoint(high, low), (high - low) / 2.0);
            format!("sine of mean {mean:.2}, amplitude {amplitude:.2}: area between the thresholds = {day:.2}")
        }
    }
}
