//! Delta T: how far the wet bulb is below the air.

use ligule_units::{Temperature, TemperatureDifference};

use crate::error::{Error, within};
use crate::spraying::wet_bulb;

/// Up to here drops last long, °C.
pub(super) const LOW: f64 = 2.0;
/// Up to here the range is called good, °C.
pub(super) const GOOD: f64 = 8.0;
/// Up to here caution is advised, beyond it drops dry too fast, °C.
pub(super) const HIGH: f64 = 10.0;

/// The published classes of Delta T.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DeltaTClass {
    /// Below 2 °C: drops last and drift far; an inversion or dew is likely.
    Low,
    /// 2 to 8 °C.
    Good,
    /// Above 8, to 10 °C.
    Caution,
    /// Above 10 °C: drops dry too fast.
    Avoid,
}

words!(DeltaTClass, "class", {
    Low => "caution: low", Good => "within 2 to 8 °C", Caution => "caution: high", Avoid => "avoid",
});

/// Returns Delta T: the air temperature less the wet bulb.
///
/// *Units:* `humidity` from 0 to 1; a difference out: × 1.8 for °F, never + 32. *Holds:* and *Errors:* as [`wet_bulb`].
/// *Source:* North Dakota State University, Crop & Pest Report, 23 May 2019, Delta T: a new (old) tool for pesticide
/// application decision making; the wet bulb by Stull (2011).
///
/// 20 °C and 50 %: 20 − 13.70.
/// ```
/// use ligule_units::Temperature;
/// let difference = ligule_agronomy::spraying::delta_t(Temperature::from_celsius(20.0), 0.5)?;
/// assert!((difference.celsius() - 6.30).abs() < 0.01);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn delta_t(air: Temperature, humidity: f64) -> Result<TemperatureDifference, Error> {
    let difference = air - wet_bulb(air, humidity)?;
    // Near saturation the fitted equation can pass the air by its own error; a wet bulb is never warmer than the air.
    Ok(if difference.celsius() < 0.0 { TemperatureDifference::from_celsius(0.0) } else { difference })
}

/// Returns the class of a Delta T.
///
/// *Holds:* 0 to 45 °C. The sources put exactly 8 into two classes; here it is within 2 to 8, and 10 is not beyond 10.
/// Australian practice, no part of the training of applicators in the United States. *Errors:* [`Error::OutOfRange`].
/// *Source:* North Dakota State University, Crop & Pest Report, 23 May 2019; T. Wolf, What is Delta T and why is it
/// important for spraying?
///
/// ```
/// use ligule_agronomy::spraying::{DeltaTClass, delta_t_class};
/// use ligule_units::TemperatureDifference;
/// assert_eq!(delta_t_class(TemperatureDifference::from_celsius(15.7))?, DeltaTClass::Avoid);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn delta_t_class(difference: TemperatureDifference) -> Result<DeltaTClass, Error> {
    let celsius = within("a Delta T", difference.celsius(), 0.0, 45.0, " °C")?;
    Ok(if celsius < LOW {
        DeltaTClass::Low
    } else if celsius <= GOOD {
        DeltaTClass::Good
    } else if celsius <= HIGH {
        DeltaTClass::Caution
    } else {
        DeltaTClass::Avoid
    })
}
