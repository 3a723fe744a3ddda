//! Weather for spraying: humidity, wet bulb, Delta T, wind, and the signs of an inversion.
//!
//! Numbers here are published reference numbers. None of them permits anything: the label is the law.

mod delta_t;
mod humidity;
mod inversion;
mod signs;
mod tables;
mod temperature;
mod wet_bulb;
mod wind;
mod worksheets;

pub use delta_t::{DeltaTClass, delta_t, delta_t_class};
pub use humidity::{relative_humidity, saturation_vapour_pressure};
pub use inversion::{InversionRisk, Sky, inversion_signs};
pub use signs::{Moment, Severity, Sign, not_measured, signs};
pub use temperature::{TEMPERATURE_LIMITS, TemperatureLimit};
pub use wet_bulb::wet_bulb;
pub use wind::{WIND_LIMITS, WindLimit, WindPlace};

pub(crate) use tables::tables;
pub(crate) use worksheets::WORKSHEETS;
