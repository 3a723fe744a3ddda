//! Weather for spraying.

use ligule_agronomy::spraying::{
    InversionRisk, Moment, Sky, WIND_LIMITS, WindPlace, delta_t, delta_t_class, inversion_signs, relative_humidity,
    saturation_vapour_pressure, signs, wet_bulb,
};
use ligule_units::{Temperature, TemperatureDifference};

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let celsius = |name| Temperature::from_celsius(row.number(name));
    Some(match row.check.as_str() {
        "saturation vapour pressure, kPa" => Number(saturation_vapour_pressure(celsius("air")).expect("in range")),
        "relative humidity from dew point, %" => {
            Number(relative_humidity(celsius("air"), celsius("dew")).expect("in range") * 100.0)
        }
        "wet bulb, C" => Number(wet_bulb(celsius("air"), row.number("rh") / 100.0).expect("in range").celsius()),
        "Delta T, C" => Number(delta_t(celsius("air"), row.number("rh") / 100.0).expect("in range").celsius()),
        "Delta T class" => {
            let difference = delta_t(celsius("air"), row.number("rh") / 100.0).expect("in range");
            Text(delta_t_class(difference).expect("in range").word().to_owned())
        }
        "class of a Delta T, C" => {
            let difference = TemperatureDifference::from_celsius(row.number("delta_t"));
            Text(delta_t_class(difference).expect("in range").word().to_owned())
        }
        "wind window" => {
            let limit = WIND_LIMITS.iter().find(|limit| limit.of == row.text("of")).expect("a window");
            Text(
                match limit.place(row.number("wind_mph")).expect("in range") {
                    WindPlace::Below => "below",
                    WindPlace::Inside => "inside",
                    WindPlace::Above => "above",
                }
                .to_owned(),
            )
        }
        "inversion" => Text(
            match inversion_signs(&sky(row)).expect("in range") {
                InversionRisk::Expected(_) => "expected",
                InversionRisk::Possible(_) => "possible",
                InversionRisk::Unknown => "unknown",
                InversionRisk::NoSignSeen => "no sign seen",
            }
            .to_owned(),
        ),
        "gravest sign" => {
            let found = signs(&Moment { sky: sky(row), ..Moment::default() }).expect("in range");
            Text(found.first().map_or("none", |sign| sign.severity.word()).to_owned())
        }
        _ => return None,
    })
}

fn sky(row: &Row) -> Sky {
    let number = |name| row.has(name).then(|| row.number(name));
    let yes = |name| row.has(name).then(|| row.yes(name));
    Sky {
        clear: yes("clear"),
        wind: number("wind_mph"),
        minutes_to_sunset: number("to_sunset"),
        minutes_since_sunrise: number("since_sunrise"),
        smoke_hangs: yes("smoke_hangs"),
        warmer_above: None,
    }
}
