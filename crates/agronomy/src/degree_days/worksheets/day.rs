//! Degree days of days, by any method.

use ligule_units::Temperature;

use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::degree_days::{Method, Model, accumulate};
use crate::error::within;

pub(super) const DAY: Worksheet = Worksheet {
    name: "degree-days",
    title: "Degree days of one day or several, by any method",
    inputs: &[
        Input::required("max", Takes::Quantity("[degF]"), "Each day's maximum").many(),
        Input::required("min", Takes::Quantity("[degF]"), "Each day's minimum, in the same order").many(),
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
        let (high, low) = (given.numbers("max"), given.numbers("min"));
        within("as many minima as maxima", low.len() as f64, high.len() as f64, high.len() as f64, "")?;
        let method: Method = given.text("method").parse()?;
        let base = given.fahrenheit("base");
        let corn = Model::corn();
        let is_corn = method == corn.method() && (base.fahrenheit() - corn.base().fahrenheit()).abs() < 1e-9;
        let upper = given.maybe("upper").map(Temperature::from_fahrenheit).or(corn.upper().filter(|_| is_corn));
        let model = Model::new(method, base, upper)?;
        let mut answer = Answer::default();
        let mut days = Vec::new();
        for (high, low) in high.iter().zip(low) {
            let (maximum, minimum) = (Temperature::from_fahrenheit(*high), Temperature::from_fahrenheit(*low));
            let day = model.day(maximum, minimum)?;
            answer = answer.step(line(&model, *high, *low, day.fahrenheit()));
            days.push((Some(maximum), Some(minimum)));
        }
        let sum = accumulate(days, &model)?.sum;
        answer = answer
            .number("degree days", sum.fahrenheit(), 1, "°F·d")
            .number("degree days in Celsius", sum.celsius(), 1, "°C·d")
            .remark(format!("A sum means nothing without its model: {model}."));
        Ok(if method == Method::SingleSine {
            answer.remark("The area under the sine curve is exact; that the day follows such a curve is an assumption.")
        } else {
            answer
        })
    },
};

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
