//! Rootless or floppy corn: how many of the known signs of risk a field has.

use jiff::civil::Date;
use ligule_units::{Length, Temperature};

use crate::depth::is_too_shallow;
use crate::error::{Error, within};

/// The day of May from which on planting is late. "Late May", read as the last third of the month.
const LATE_MAY: i8 = 21;
/// The maximum of a day of extreme heat, °F. "Upper 90s", read as 96 and more.
const HOT_FAHRENHEIT: f64 = 96.0;
/// How many such days in a row. "Multiple, consecutive", read as two.
const HOT_DAYS: usize = 2;

/// Which of the four signs of risk a field has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RootlessSigns {
    /// Planted in late May or later.
    pub late: bool,
    /// Seed shallower than 1¼ in.
    pub shallow: bool,
    /// The surface soil is dry.
    pub dry: bool,
    /// Two days in a row or more with a maximum of 96 °F or more.
    pub hot: bool,
}

impl RootlessSigns {
    /// Returns how many of the four signs there are.
    ///
    /// ```
    /// let signs = ligule_agronomy::roots::RootlessSigns { late: true, shallow: false, dry: true, hot: false };
    /// assert_eq!(signs.count(), 2);
    /// ```
    pub fn count(self) -> usize {
        [self.late, self.shallow, self.dry, self.hot].into_iter().filter(|sign| *sign).count()
    }
}

/// Returns which signs of risk for rootless corn a field has.
///
/// Nodal roots start about ¾ in below the surface from V1 to V2 on; in dry hot soil their tips die before they reach
/// moisture.
///
/// *Units:* the day of planting, the seed's depth, the maxima of consecutive days since V1. *Holds:* 0 to 8 in of
/// depth; maxima of −60 to 140 °F; the northern half of the Corn Belt, for the date. *Errors:* [`Error::OutOfRange`].
/// *Source:* R. L. Nielsen (2022), Rootless or floppy corn syndrome, Purdue University; the limits of "late May",
/// "upper 90s" and "multiple days" are our reading.
///
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::roots::rootless_signs;
/// use ligule_units::{Length, Temperature};
/// let maxima = [88.0, 97.0, 98.0, 90.0].map(Temperature::from_fahrenheit);
/// let signs = rootless_signs(date(2026, 5, 30), Length::from_inches(1.0), true, &maxima)?;
/// assert_eq!(signs.count(), 4);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn rootless_signs(
    planted: Date,
    seed_depth: Length,
    dry_surface: bool,
    maxima: &[Temperature],
) -> Result<RootlessSigns, Error> {
    within("a seed depth", seed_depth.inches(), 0.0, 8.0, " in")?;
    let (mut run, mut longest) = (0, 0);
    for maximum in maxima {
        let fahrenheit = within("a maximum", maximum.fahrenheit(), -60.0, 140.0, " °F")?;
        run = if fahrenheit >= HOT_FAHRENHEIT - 1e-9 { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    Ok(RootlessSigns {
        late: (planted.month(), planted.day()) >= (5, LATE_MAY),
        shallow: is_too_shallow(seed_depth),
        dry: dry_surface,
        hot: longest >= HOT_DAYS,
    })
}
