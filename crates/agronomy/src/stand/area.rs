//! Plants per area from a row, a wheel, a hoop.

use ligule_units::{Area, Length, PlantDensity};

use super::{valid_plants, valid_row_width};
use crate::error::{Error, within};

/// Returns the length of one row that covers a share of an acre.
///
/// *Units:* lengths; the share is a number from 0.00001 to 1, for a thousandth of an acre 0.001 ([`USUAL_SHARE`](crate::stand::USUAL_SHARE)).
/// *Holds:* any row width from 1 to 120 in; for twin rows give the distance between the centres of two pairs and
/// count both rows. *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic: 43,560 square feet in an acre; printed as
/// a table by University of Wisconsin, Discovery Farms (2010), Taking a stand count.
///
/// 30-inch rows, printed as 17 ft 5 in:
/// ```
/// use ligule_units::Length;
/// let length = ligule_agronomy::stand::row_length(Length::from_inches(30.0), 0.001)?;
/// assert!((length.feet() - 17.424).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn row_length(row_width: Length, share_of_acre: f64) -> Result<Length, Error> {
    let share = within("a share of an acre", share_of_acre, 1e-5, 1.0, "")?;
    Ok(Area::from_acres(share) / valid_row_width(row_width)?)
}

/// Returns the length of one row that covers a share of a hectare.
///
/// *Units:* lengths; the share is a number from 0.00001 to 1. *Holds:* row widths of 1 to 120 in (0.0254 to 3.048 m).
/// *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic: 10,000 square metres in a hectare.
///
/// 75-centimetre rows (10 / 0.75):
/// ```
/// use ligule_units::Length;
/// let length = ligule_agronomy::stand::row_length_of_hectare(Length::from_metres(0.75), 0.001)?;
/// assert!((length.metres() - 13.33).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn row_length_of_hectare(row_width: Length, share_of_hectare: f64) -> Result<Length, Error> {
    let share = within("a share of a hectare", share_of_hectare, 1e-5, 1.0, "")?;
    Ok(Area::from_hectares(share) / valid_row_width(row_width)?)
}

/// Returns the density that plants counted in a length of row make.
///
/// *Units:* plants may be halves (a doubtful plant counts as one half: J. Lauer, 2003, Evaluation of corn stands,
/// Wisconsin Crop Manager 10(7)). *Holds:* 0 to 1,000,000 plants; rows of 1 to 120 in; 0.1 ft to 10 miles of row.
/// *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic: 43,560 square feet in an acre.
///
/// 29 plants in 23.76 ft of a 22-inch row:
/// ```
/// use ligule_units::Length;
/// let stand = ligule_agronomy::stand::plants_per_area(29.0, Length::from_inches(22.0), Length::from_feet(23.76))?;
/// assert_eq!(stand.per_acre().round(), 29_000.0);
/// assert!((stand.per_hectare() - 71_660.0).abs() <= 1.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn plants_per_area(plants: f64, row_width: Length, length: Length) -> Result<PlantDensity, Error> {
    let plants = valid_plants(plants)?;
    within("a length of row", length.feet(), 0.1, 52_800.0, " ft")?;
    Ok(PlantDensity::of(plants, valid_row_width(row_width)? * length))
}

/// Returns the density by the measuring-wheel method: the distance walked along a row while counting plants.
///
/// *Units:* plants, usually [`WHEEL_PLANTS`](crate::stand::WHEEL_PLANTS); lengths. *Holds* and *errors:* as [`plants_per_area`].
/// *Source:* University of Illinois Extension, Corn Stand Count.
///
/// 150 plants of a 30-inch row in 87.12 ft:
/// ```
/// use ligule_agronomy::stand::{wheel_density, WHEEL_PLANTS};
/// use ligule_units::Length;
/// let stand = wheel_density(WHEEL_PLANTS, Length::from_inches(30.0), Length::from_feet(87.12))?;
/// assert!((stand.per_acre() - 30_000.0).abs() < 1e-6);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn wheel_density(plants: f64, row_width: Length, walked: Length) -> Result<PlantDensity, Error> {
    plants_per_area(plants, row_width, walked)
}

/// Returns the density that plants inside a thrown hoop make; mainly for soybean and drilled stands.
///
/// *Units:* the inside diameter is a length. *Holds:* 0 to 1,000,000 plants; diameters of 4 to 120 in.
/// *Errors:* [`Error::OutOfRange`]. *Source:* area of a circle. The factors printed in the Purdue Corn and Soybean
/// Field Guide are 0.04 to 0.05 % higher, from a rounded area.
///
/// 18 plants in a 30-inch hoop, where the printed factor 8,878 gives 159,804:
/// ```
/// use ligule_units::Length;
/// let stand = ligule_agronomy::stand::hoop_density(18.0, Length::from_inches(30.0))?;
/// assert!((stand.per_acre() - 159_731.0).abs() <= 1.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn hoop_density(plants: f64, inside_diameter: Length) -> Result<PlantDensity, Error> {
    let plants = valid_plants(plants)?;
    within("a hoop's inside diameter", inside_diameter.inches(), 4.0, 120.0, " in")?;
    let radius = inside_diameter.metres() / 2.0;
    Ok(PlantDensity::of(plants, Area::from_square_metres(std::f64::consts::PI * radius * radius)))
}

/// Returns the density that plants counted on a share of an acre make: the count over the share.
///
/// *Units:* plants may be halves; the share is a number from 0.00001 to 1. *Holds:* corn and soybean, 0 to 1,000,000 plants.
/// *Errors:* [`Error::OutOfRange`]. *Source:* arithmetic.
///
/// 98 soybean plants on a thousandth of an acre (34 ft 10 in of 15-inch rows), printed as 98,000:
/// ```
/// let stand = ligule_agronomy::stand::density_on_share(98.0, 0.001)?;
/// assert!((stand.per_acre() - 98_000.0).abs() < 1e-6);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn density_on_share(plants: f64, share_of_acre: f64) -> Result<PlantDensity, Error> {
    let share = within("a share of an acre", share_of_acre, 1e-5, 1.0, "")?;
    Ok(PlantDensity::of(valid_plants(plants)?, Area::from_acres(share)))
}
