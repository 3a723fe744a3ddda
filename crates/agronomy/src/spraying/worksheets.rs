//! Spraying weather, worked step by step.

use ligule_units::{Temperature, TemperatureDifference};

use crate::catalogue::{Answer, Given, Input, Takes, Worksheet};
use crate::cautions;
use crate::error::Error;
use crate::spraying::{
    Moment, Sky, WIND_LIMITS, WindPlace, delta_t, delta_t_class, not_measured, relative_humidity,
    saturation_vapour_pressure, signs, wet_bulb,
};

pub(crate) const WORKSHEETS: &[Worksheet] = &[DELTA_T, RELATIVE_HUMIDITY, SPRAY_WEATHER, WIND];

const STULL: &str = "R. Stull (2011), Journal of Applied Meteorology and Climatology 50:2267-2269; R. G. Allen et al. (1998), FAO \
                     Irrigation and Drainage Paper 56; North Dakota State University, Crop & Pest Report, 23 May 2019";
const AIR: Input = Input::required("air", Takes::Quantity("[degF]"), "Air temperature");
const HUMIDITY: Input = Input::optional("humidity", Takes::Quantity("%"), "Relative humidity");
const DEW: Input = Input::optional("dew-point", Takes::Quantity("[degF]"), "Dew point, where humidity is not at hand");
const LOOKED: Takes = Takes::Word(&["yes", "no"]);

/// Returns relative humidity as given, or from the dew point.
fn humidity(given: &Given, air: Option<Temperature>) -> Result<Option<f64>, Error> {
    match (given.maybe("humidity"), given.maybe("dew-point"), air) {
        (Some(percent), _, _) => Ok(Some(percent / 100.0)),
        (None, Some(dew), Some(air)) => relative_humidity(air, Temperature::from_fahrenheit(dew)).map(Some),
        _ => Ok(None),
    }
}

const DELTA_T: Worksheet = Worksheet {
    name: "delta-t",
    title: "Wet bulb and Delta T, with the class for spraying",
    inputs: &[AIR, HUMIDITY, DEW],
    source: STULL,
    example: "--air 20C --humidity 50",
    work: |given| {
        let air = given.fahrenheit("air");
        let missing = Error::Missing { input: HUMIDITY.name, help: "or `dew-point`: one of the two" };
        let share = humidity(given, Some(air))?.ok_or(missing)?;
        let wet = wet_bulb(air, share)?;
        let difference = delta_t(air, share)?;
        let answer = Answer::default()
            .step(format!("wet bulb of {:.1} °C and {:.0} %: {:.2} °C", air.celsius(), share * 100.0, wet.celsius()))
            .step(format!("{:.2} − {:.2} = {:.2} °C", air.celsius(), wet.celsius(), difference.celsius()))
            .number("Delta T", difference.celsius(), 2, "°C")
            .words("class", delta_t_class(difference)?.word())
            .number("wet bulb", wet.celsius(), 2, "°C")
            .number("Delta T in Fahrenheit degrees", difference.fahrenheit(), 2, "°F")
            .remark("The wet bulb is an equation for sea level with errors of −1 to +0.65 °C; at 1,000 m Delta T is a little larger.")
            .remark("In air above 35 °C the wet bulb was up to 1.3 °C over a psychrometric calculation by another library: the true Delta T may be larger.")
            .remark("Classes are Australian practice, no part of the training of applicators in the United States; exactly 8 falls into two.");
        Ok(cautions::add(answer))
    },
};

const RELATIVE_HUMIDITY: Worksheet = Worksheet {
    name: "relative-humidity",
    title: "Relative humidity from air temperature and dew point",
    inputs: &[AIR, Input::required("dew-point", Takes::Quantity("[degF]"), "Dew point")],
    source: "R. G. Allen et al. (1998), Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, equations 10, 11 and 14",
    example: "--air 25C --dew-point 15C",
    work: |given| {
        let (air, dew) = (given.fahrenheit("air"), given.fahrenheit("dew-point"));
        let share = relative_humidity(air, dew)?;
        let (vapour, saturated) = (saturation_vapour_pressure(dew)?, saturation_vapour_pressure(air)?);
        Ok(Answer::default()
            .step(format!("{vapour:.3} kPa at the dew point / {saturated:.3} kPa of air that is full = {share:.3}"))
            .number("relative humidity", share * 100.0, 1, "%"))
    },
};

const SPRAY_WEATHER: Worksheet = Worksheet {
    name: "spray-weather",
    title: "What in the weather speaks against spraying, by published numbers",
    inputs: &[
        Input::optional("air", Takes::Quantity("[degF]"), "Air temperature"),
        HUMIDITY,
        DEW,
        Input::optional("night", Takes::Quantity("[degF]"), "Lowest temperature of the night"),
        Input::optional("wind", Takes::Quantity("[mi_i]/h"), "Wind"),
        Input::optional("clear", LOOKED, "Clear sky"),
        Input::optional("to-sunset", Takes::Quantity("min"), "Minutes until sunset, negative after it"),
        Input::optional("since-sunrise", Takes::Quantity("min"), "Minutes since sunrise, negative before it"),
        Input::optional("smoke-hangs", LOOKED, "Smoke or dust hangs flat"),
        Input::optional(
            "warmer-above",
            Takes::Number("°F"),
            "How much warmer it is at 8 to 10 ft than near the ground",
        ),
    ],
    source: "Pesticide Environmental Stewardship, Evaluate the weather conditions; Australian training notes on surface temperature inversions; North \
             Dakota State University, Crop & Pest Report, 23 May 2019; E. Prostko (2021), University of Georgia; R. Stull (2011); \
             wind ceilings partly recalled, clock hours common practice",
    example: "--wind 2mph --clear yes --to-sunset 30",
    work: |given| {
        let yes = |name| given.maybe_text(name).map(|word| word == "yes");
        let fahrenheit = |name| given.maybe(name).map(Temperature::from_fahrenheit);
        let air = fahrenheit("air");
        let moment = Moment {
            air,
            humidity: humidity(given, air)?,
            night: fahrenheit("night"),
            sky: Sky {
                clear: yes("clear"),
                wind: given.maybe("wind"),
                minutes_to_sunset: given.maybe("to-sunset"),
                minutes_since_sunrise: given.maybe("since-sunrise"),
                smoke_hangs: yes("smoke-hangs"),
                warmer_above: given.maybe("warmer-above").map(TemperatureDifference::from_fahrenheit),
            },
        };
        let found = signs(&moment)?;
        let mut answer = Answer::default();
        for sign in &found {
            answer = answer.step(format!("{}: {} [{}]", sign.severity.word(), sign.what, sign.source));
        }
        let missing = not_measured(&moment).join(", ");
        if !missing.is_empty() {
            answer = answer.step(format!("not measured: {missing}"));
        }
        answer = if let Some(gravest) = found.first() {
            answer.words("signs", format!("{}: {}", gravest.severity.word(), gravest.what))
        } else if !missing.is_empty() {
            // What nobody looked at may hold the conflict.
            answer.words("signs", format!("unknown: not measured: {missing}"))
        } else {
            answer.step("no published number is passed").words("signs", "no conflict found with the published numbers")
        };
        answer = answer.remark("Rain-fast hours, direction and what lies downwind are not asked here: see the label.");
        Ok(cautions::add(answer))
    },
};

const WIND: Worksheet = Worksheet {
    name: "spray-wind",
    title: "A wind beside the published windows for spraying",
    inputs: &[Input::required("wind", Takes::Quantity("[mi_i]/h"), "Wind at the height of the boom")],
    source: "Pesticide Environmental Stewardship, Evaluate the weather conditions; South Dakota State University Extension (2025); \
             label ceilings recalled, to be verified",
    example: "--wind 9mph",
    work: |given| {
        let wind = given.number("wind");
        let (mut answer, mut outside) = (Answer::default(), 0);
        for limit in &WIND_LIMITS {
            let place = match limit.place(wind)? {
                WindPlace::Below => "below",
                WindPlace::Inside => "inside",
                WindPlace::Above => "above",
            };
            outside += usize::from(place != "inside");
            let least = limit.least.map_or_else(|| "up".to_owned(), |least| format!("{least:.0}"));
            answer = answer.step(format!(
                "{}: {wind:.1} mph is {place} {least} to {:.0} mph ({}; {})",
                limit.of,
                limit.most,
                limit.source,
                limit.origin.words()
            ));
        }
        let answer = answer.number("windows that it is outside of", outside as f64, 0, "");
        Ok(cautions::add(answer.remark("The windows differ; the label's own comes before all of them.")))
    },
};
