//! The wet-bulb temperature.

use ligule_units::Temperature;

use crate::error::{Error, within};

/// The driest air at 0 °C for which the equation holds, %; reckoned, see [`wet_bulb`].
pub(super) const DRIEST_AT_FREEZING: f64 = 13.0;
/// How much drier it may be for each °C warmer, %.
pub(super) const DRIEST_PER_DEGREE: f64 = 1.45;

/// Returns the wet-bulb temperature at sea-level pressure from air temperature and relative humidity.
///
/// *Units:* `humidity` from 0 to 1. *Holds:* relative humidity of 5 to 99 %, air of −20 to 50 °C, but not air that is
/// cold and dry at once. For that the paper draws no line in words; here relative humidity is to be at least 13 − 1.45
/// × T % (T in °C), reckoned from the psychrometric equation: on the drier side the error grows beyond +0.65 °C. Errors
/// by the paper −1 to +0.65 °C, mean absolute error under 0.3 °C; against the psychrometric equation up to +1.3 °C near
/// 50 °C. Higher up the wet bulb is a little lower. *Errors:* [`Error::OutOfRange`], [`Error::OutsideTable`] for cold
/// and dry air. *Source:* R. Stull (2011), Wet-bulb temperature from relative humidity and air temperature, Journal of
/// Applied Meteorology and Climatology 50:2267-2269, equation 1.
///
/// The worked value of the paper: 20 °C and 50 % give 13.7 °C.
/// ```
/// use ligule_units::Temperature;
/// let wet = ligule_agronomy::spraying::wet_bulb(Temperature::from_celsius(20.0), 0.5)?;
/// assert!((wet.celsius() - 13.7).abs() < 0.05);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn wet_bulb(air: Temperature, humidity: f64) -> Result<Temperature, Error> {
    let t = within("an air temperature", air.celsius(), -20.0, 50.0, " °C")?;
    let rh = 100.0 * within("a relative humidity", humidity, 0.05, 0.99, "")?;
    let driest = DRIEST_AT_FREEZING - DRIEST_PER_DEGREE * t;
    // The line itself is in, whatever the conversions left behind.
    if rh < driest - 1e-9 {
        return Err(Error::OutsideTable {
            table: "the wet-bulb equation",
            what: "relative humidity",
            covers: format!("from {driest:.0} % up at {t:.1} °C"),
            came: format!("{rh:.0} %"),
        });
    }
    let wet = t * (0.151_977 * (rh + 8.313_659).sqrt()).atan() + (t + rh).atan() - (rh - 1.676_331).atan()
        + 0.003_918_38 * rh.powf(1.5) * (0.023_101 * rh).atan()
        - 4.686_035;
    Ok(Temperature::from_celsius(wet))
}
