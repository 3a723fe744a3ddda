//! Water that soil holds and lacks, from its feel.

use ligule_units::Length;

use super::feel::{CELLS, Feel, TextureClass};
use super::water::WaterPerDepth;
use crate::error::{Error, within};

/// Returns the water that soil lacks to capacity, least and most, from texture class and feel.
///
/// *Units:* a depth of water for each depth of soil. *Holds:* every class and feel; with practice to about 5 % of the
/// available water. *Source:* USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and
/// appearance; two cells reckoned from the capacity of the class, as the printed cells can be.
///
/// ```
/// use ligule_agronomy::soil::{Feel, TextureClass, deficit};
/// let (least, most) = deficit(TextureClass::Medium, Feel::SlightlyMoist);
/// assert!((least.inches_per_foot() - 0.8).abs() < 1e-12 && (most.inches_per_foot() - 1.6).abs() < 1e-12);
/// ```
pub fn deficit(texture: TextureClass, feel: Feel) -> (WaterPerDepth, WaterPerDepth) {
    let cell = CELLS.iter().find(|cell| cell.texture == texture && cell.feel == feel);
    let (least, most) = cell.expect("the table has a cell for every class and feel").deficit;
    (WaterPerDepth::from_inches_per_foot(least), WaterPerDepth::from_inches_per_foot(most))
}

/// Returns the available water that soil holds, least and most, from texture class and feel.
///
/// *Units:* a depth of water for each depth of soil. *Holds:* every class and feel. *Source:* share of the feel times
/// capacity of the class, both USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and
/// appearance.
///
/// Moist loam: 0.50 × 1.5 to 0.75 × 2.1 in/ft (computed by hand):
/// ```
/// use ligule_agronomy::soil::{Feel, TextureClass, available};
/// let (least, most) = available(TextureClass::Medium, Feel::Moist);
/// assert!((least.inches_per_foot() - 0.75).abs() < 1e-12 && (most.inches_per_foot() - 1.575).abs() < 1e-12);
/// ```
pub fn available(texture: TextureClass, feel: Feel) -> (WaterPerDepth, WaterPerDepth) {
    let (capacity, share) = (texture.capacity(), feel.share());
    (capacity.0.times(share.0), capacity.1.times(share.1))
}

/// Returns the water that soil of a known capacity lacks, from the share of its available water that is there.
///
/// *Units:* a depth of water for each depth of soil; a share. *Holds:* capacities of 0.1 to 6 in/ft, shares of 0 to 1.
/// *Errors:* [`Error::OutOfRange`]. *Source:* definition; it gives every cell of USDA Natural Resources Conservation
/// Service (1998) within its rounding.
///
/// A quarter of the water left in clay of 2.4 in/ft, printed as 1.8:
/// ```
/// use ligule_agronomy::soil::{WaterPerDepth, deficit_of};
/// let lacking = deficit_of(WaterPerDepth::from_inches_per_foot(2.4), 0.25)?;
/// assert!((lacking.inches_per_foot() - 1.8).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn deficit_of(capacity: WaterPerDepth, share_available: f64) -> Result<WaterPerDepth, Error> {
    let share = within("a share of the available water", share_available, 0.0, 1.0, "")?.clamp(0.0, 1.0);
    Ok(valid_capacity(capacity)?.times(1.0 - share))
}

/// Returns how much of the available water is used up, as a share.
///
/// *Units:* both for the same depth of soil. *Holds:* capacities of 0.1 to 6 in/ft, a deficit up to the capacity.
/// *Errors:* [`Error::OutOfRange`]. *Source:* USDA Natural Resources Conservation Service, Montana, Estimating soil
/// moisture by feel and appearance, example.
///
/// Sandy loam that holds 1.4 in and lacks 1.0 in, printed as 70 %:
/// ```
/// use ligule_agronomy::soil::{WaterPerDepth, depletion};
/// let [capacity, lacking] = [1.4, 1.0].map(WaterPerDepth::from_inches_per_foot);
/// assert!((depletion(capacity, lacking)? - 0.714).abs() < 0.0005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn depletion(capacity: WaterPerDepth, lacking: WaterPerDepth) -> Result<f64, Error> {
    let capacity = valid_capacity(capacity)?.inches_per_foot();
    let lacking = within("a deficit", lacking.inches_per_foot(), 0.0, capacity, " in/ft")?;
    Ok((lacking / capacity).clamp(0.0, 1.0))
}

/// A layer of soil that was felt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// How thick it is.
    pub thickness: Length,
    /// Its texture class.
    pub texture: TextureClass,
    /// How it felt.
    pub feel: Feel,
}

/// The water of several layers together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfileWater {
    /// How thick the layers are together.
    pub depth: Length,
    /// The available water they hold, least and most.
    pub available: (Length, Length),
    /// The water they lack to capacity, least and most.
    pub deficit: (Length, Length),
}

/// Returns the water that the layers of a profile hold and lack together.
///
/// *Units:* depths of water. *Holds:* layers of 0.1 in to 10 ft. *Errors:* [`Error::TooFew`] without layers;
/// [`Error::OutOfRange`]. *Source:* sum of [`available`] and [`deficit`] over the layers.
///
/// A foot of moist loam over a foot of slightly moist clay loam: 0.4 + 0.8 to 1.1 + 1.8 in are lacking:
/// ```
/// use ligule_agronomy::soil::{Feel, Layer, TextureClass, profile_water};
/// use ligule_units::Length;
/// let foot = Length::from_feet(1.0);
/// let water = profile_water(&[
///     Layer { thickness: foot, texture: TextureClass::Medium, feel: Feel::Moist },
///     Layer { thickness: foot, texture: TextureClass::Fine, feel: Feel::SlightlyMoist },
/// ])?;
/// assert!((water.deficit.0.inches() - 1.2).abs() < 1e-9 && (water.deficit.1.inches() - 2.9).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn profile_water(layers: &[Layer]) -> Result<ProfileWater, Error> {
    if layers.is_empty() {
        return Err(Error::TooFew { what: "layers", needed: 1, came: 0 });
    }
    let nothing = Length::from_inches(0.0);
    let mut sum = ProfileWater { depth: nothing, available: (nothing, nothing), deficit: (nothing, nothing) };
    for Layer { thickness, texture, feel } in layers.iter().copied() {
        within("a layer", thickness.inches(), 0.1, 120.0, " in")?;
        let add = |ends: (Length, Length), more: (WaterPerDepth, WaterPerDepth)| {
            (ends.0 + more.0.over(thickness), ends.1 + more.1.over(thickness))
        };
        sum.depth = sum.depth + thickness;
        sum.available = add(sum.available, available(texture, feel));
        sum.deficit = add(sum.deficit, deficit(texture, feel));
    }
    Ok(sum)
}

fn valid_capacity(capacity: WaterPerDepth) -> Result<WaterPerDepth, Error> {
    within("an available water capacity", capacity.inches_per_foot(), 0.1, 6.0, " in/ft").map(|_| capacity)
}
