//! Relative humidity from the dew point.

use ligule_units::Temperature;

use crate::error::{Error, within};

/// Returns the saturation vapour pressure over water, in kPa.
///
/// *Units:* kPa out. *Holds:* −40 to 60 °C; over water, not over ice. *Errors:* [`Error::OutOfRange`]. *Source:* R. G.
/// Allen et al. (1998), Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, equation 11.
///
/// Example 3 of that paper: 24.5 °C.
/// ```
/// use ligule_units::Temperature;
/// let pressure = ligule_agronomy::spraying::saturation_vapour_pressure(Temperature::from_celsius(24.5))?;
/// assert!((pressure - 3.075).abs() < 0.001);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn saturation_vapour_pressure(temperature: Temperature) -> Result<f64, Error> {
    let t = within("an air temperature", temperature.celsius(), -40.0, 60.0, " °C")?;
    Ok(0.6108 * (17.27 * t / (t + 237.3)).exp())
}

/// Returns relative humidity, 0 to 1, from air temperature and dew point.
///
/// *Holds:* as [`saturation_vapour_pressure`], the dew point not above the air. *Errors:* [`Error::OutOfRange`].
/// *Source:* R. G. Allen et al. (1998), FAO Irrigation and Drainage Paper 56, equations 10, 11 and 14.
///
/// From its table 2.3: 1.705 kPa at 15 °C over 3.168 kPa at 25 °C.
/// ```
/// use ligule_units::Temperature;
/// let (air, dew) = (Temperature::from_celsius(25.0), Temperature::from_celsius(15.0));
/// let share = ligule_agronomy::spraying::relative_humidity(air, dew)?;
/// assert!((share - 1.705 / 3.168).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn relative_humidity(air: Temperature, dew_point: Temperature) -> Result<f64, Error> {
    let saturated = saturation_vapour_pressure(air)?;
    let dew = within("a dew point not above the air", dew_point.celsius(), -40.0, air.celsius(), " °C")?;
    Ok((saturation_vapour_pressure(Temperature::from_celsius(dew))? / saturated).min(1.0))
}
