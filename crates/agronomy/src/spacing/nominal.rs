//! Spacing at a density, and the limits by which gaps are classed.

use ligule_units::{Length, PlantDensity};

use crate::error::Error;
use crate::stand::{valid_density, valid_row_width};

/// Returns the spacing of plants in the row at which a density is reached.
///
/// *Units:* row width and spacing are lengths. *Holds:* rows of 1 to 120 in, more than 0 plants.
/// *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic: 6,272,640 square inches in an acre.
///
/// 32,000 plants an acre in 30-inch rows:
/// ```
/// use ligule_units::{Length, PlantDensity};
/// let spacing = ligule_agronomy::spacing::plant_spacing(Length::from_inches(30.0), PlantDensity::from_per_acre(32_000.0))?;
/// assert!((spacing.inches() - 6.534).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn plant_spacing(row_width: Length, density: PlantDensity) -> Result<Length, Error> {
    let row_width = valid_row_width(row_width)?;
    let density = valid_density("a density", density, 1.0)?;
    Ok(Length::from_metres(1.0 / (density.per_square_metre() * row_width.metres())))
}

/// Returns the density that a spacing of plants in the row makes.
///
/// *Units:* row width and spacing are lengths. *Holds:* rows of 1 to 120 in, spacings of 0.1 in to 100 ft.
/// *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic: 6,272,640 square inches in an acre.
///
/// 7.0 in apart in 30-inch rows (computed by hand: 6,272,640 / 210):
/// ```
/// use ligule_units::Length;
/// let density = ligule_agronomy::spacing::density_at_spacing(Length::from_inches(30.0), Length::from_inches(7.0))?;
/// assert!((density.per_acre() - 29_869.7).abs() < 0.05);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn density_at_spacing(row_width: Length, spacing: Length) -> Result<PlantDensity, Error> {
    let row_width = valid_row_width(row_width)?;
    crate::error::within("a spacing", spacing.inches(), 0.1, 1200.0, " in")?;
    Ok(PlantDensity::of(1.0, row_width * spacing))
}

/// Where a gap between two plants stops being a double, a single, one skip, two skips.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GapLimits {
    /// A gap up to this length is a double.
    pub double: Length,
    /// A gap over this length, and up to `two_skips`, is one skip.
    pub one_skip: Length,
    /// A gap over this length, and up to `more_skips`, is two skips.
    pub two_skips: Length,
    /// A gap over this length is three skips or more.
    pub more_skips: Length,
}

/// Returns the limits by which gaps are classed: 0.5, 1.5, 2.5 and 3.5 times the nominal spacing.
///
/// *Holds:* nominal spacings of 0.1 in to 100 ft. *Errors:* [`Error::OutOfRange`].
/// *Source:* Iowa State University Extension, Plant uniformity measurements, after S. D. Kachman and J. A. Smith
/// (1995), Alternative measures of accuracy in plant spacing for planters using single seed metering, Transactions
/// of the ASAE 38:379-387.
///
/// At a nominal 6.534 in:
/// ```
/// use ligule_units::Length;
/// let limits = ligule_agronomy::spacing::gap_limits(Length::from_inches(6.534))?;
/// assert!((limits.double.inches() - 3.267).abs() < 1e-9);
/// assert!((limits.one_skip.inches() - 9.801).abs() < 1e-9);
/// assert!((limits.two_skips.inches() - 16.335).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn gap_limits(nominal: Length) -> Result<GapLimits, Error> {
    crate::error::within("a nominal spacing", nominal.inches(), 0.1, 1200.0, " in")?;
    Ok(GapLimits {
        double: nominal * 0.5,
        one_skip: nominal * 1.5,
        two_skips: nominal * 2.5,
        more_skips: nominal * 3.5,
    })
}
