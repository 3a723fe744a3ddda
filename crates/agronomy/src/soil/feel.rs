//! Texture classes and the feel of soil in the hand.

use super::water::WaterPerDepth;
use crate::catalogue::Origin;
use crate::error::Error;

pub(super) const NRCS: &str =
    "USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and appearance";

/// Texture in four classes, as the feel-and-appearance guide divides it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TextureClass {
    /// Fine sand, loamy fine sand.
    Coarse,
    /// Sandy loam, fine sandy loam.
    ModeratelyCoarse,
    /// Sandy clay loam, loam, silt loam.
    Medium,
    /// Clay, clay loam, silty clay loam.
    Fine,
}

words!(TextureClass, "texture", {
    Coarse => "coarse",
    ModeratelyCoarse => "moderately-coarse",
    Medium => "medium",
    Fine => "fine",
});

impl TextureClass {
    /// Returns the water that soil of this class holds between wilting and capacity, least and most.
    ///
    /// *Source:* USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and appearance.
    ///
    /// ```
    /// use ligule_agronomy::soil::TextureClass;
    /// let (least, most) = TextureClass::Medium.capacity();
    /// assert!((least.inches_per_foot() - 1.5).abs() < 1e-12 && (most.inches_per_foot() - 2.1).abs() < 1e-12);
    /// ```
    pub fn capacity(self) -> (WaterPerDepth, WaterPerDepth) {
        let (least, most) = match self {
            Self::Coarse => (0.6, 1.2),
            Self::ModeratelyCoarse => (1.3, 1.7),
            Self::Medium => (1.5, 2.1),
            Self::Fine => (1.6, 2.4),
        };
        (WaterPerDepth::from_inches_per_foot(least), WaterPerDepth::from_inches_per_foot(most))
    }

    /// Textures of the class, as the guide names them.
    pub(super) const fn textures(self) -> &'static [&'static str] {
        match self {
            Self::Coarse => &["fine sand", "loamy fine sand", "loamy sand"],
            Self::ModeratelyCoarse => &["sandy loam", "fine sandy loam"],
            Self::Medium => &["sandy clay loam", "loam", "silt loam"],
            Self::Fine => &["clay", "clay loam", "silty clay loam"],
        }
    }
}

/// Returns the class of a texture by its name.
///
/// *Holds:* the textures that the guides name. *Errors:* [`Error::OutsideTable`] for others, such as silty clay, sandy
/// clay and silt. *Source:* USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and
/// appearance; loamy sand: University of Minnesota Extension, Estimating soil moisture by feel and appearance method.
///
/// ```
/// use ligule_agronomy::soil::{TextureClass, texture_class};
/// assert_eq!(texture_class("silt loam")?, TextureClass::Medium);
/// assert!(texture_class("silty clay").is_err());
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn texture_class(texture: &str) -> Result<TextureClass, Error> {
    let plain = texture.trim().to_ascii_lowercase().replace('-', " ");
    let found = TextureClass::ALL.iter().find(|class| class.textures().contains(&plain.as_str()));
    found.copied().ok_or_else(|| Error::OutsideTable {
        table: "the feel-and-appearance guide",
        what: "textures",
        covers: TextureClass::ALL.iter().flat_map(|class| class.textures()).copied().collect::<Vec<_>>().join(", "),
        came: texture.to_owned(),
    })
}

/// How soil feels when a handful is squeezed to a ball and a ribbon: the share of its available water that it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Feel {
    /// 0 to 25 %: dry.
    Dry,
    /// 25 to 50 %: slightly moist.
    SlightlyMoist,
    /// 50 to 75 %: moist.
    Moist,
    /// 75 to 100 %: wet.
    Wet,
    /// 100 %: at field capacity; a wet outline stays on the hand.
    AtCapacity,
}

words!(Feel, "feel", {
    Dry => "dry",
    SlightlyMoist => "slightly-moist",
    Moist => "moist",
    Wet => "wet",
    AtCapacity => "at-capacity",
});

impl Feel {
    /// Returns the share of the available water that is there, least and most.
    ///
    /// *Source:* USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and appearance.
    ///
    /// ```
    /// assert_eq!(ligule_agronomy::soil::Feel::Moist.share(), (0.5, 0.75));
    /// ```
    pub const fn share(self) -> (f64, f64) {
        match self {
            Self::Dry => (0.0, 0.25),
            Self::SlightlyMoist => (0.25, 0.5),
            Self::Moist => (0.5, 0.75),
            Self::Wet => (0.75, 1.0),
            Self::AtCapacity => (1.0, 1.0),
        }
    }
}

/// A cell of the guide: what is felt, and inches of water a foot that are lacking, from and to.
pub(super) struct FeelCell {
    pub(super) texture: TextureClass,
    pub(super) feel: Feel,
    pub(super) signs: &'static str,
    pub(super) deficit: (f64, f64),
    pub(super) origin: Origin,
    pub(super) source: &'static str,
}

const WYOMING_MEDIUM: &str = "USDA Natural Resources Conservation Service, Wyoming, Appearance of sandy clay loam, \
                              loam, and silt loam soils";
const WYOMING_FINE: &str = "USDA Natural Resources Conservation Service, Wyoming, Appearance of clay, clay loam, and \
                            silty clay loam soils";
/// Cells that were recalled, and agree with (1 − share) × capacity, as every printed cell does.
const RECKONED: &str = "reckoned from the capacity of the class, as every printed cell of the guide can be; the \
                        wording from memory, to be verified";
const PARTLY: &str = "USDA Natural Resources Conservation Service (1998), Estimating soil moisture by feel and \
                      appearance; the lower end reckoned from the capacity of the class";

pub(super) const CELLS: [FeelCell; 20] = {
    use Feel::{AtCapacity, Dry, Moist, SlightlyMoist, Wet};
    use Origin::{Derived, Page};
    use TextureClass::{Coarse, Fine, Medium, ModeratelyCoarse};
    [
        cell(Coarse, Dry, "loose grains stay single", (0.5, 1.2), Page, NRCS),
        cell(Coarse, SlightlyMoist, "very weak ball with finger marks", (0.3, 0.9), Page, NRCS),
        cell(Coarse, Moist, "weak ball, moderate stain, no ribbon", (0.2, 0.6), Page, NRCS),
        cell(Coarse, Wet, "weak ball, heavy stain", (0.0, 0.3), Derived, RECKONED),
        cell(Coarse, AtCapacity, "wet outline on the hand", (0.0, 0.0), Page, NRCS),
        cell(ModeratelyCoarse, Dry, "very weak ball that breaks at once", (1.0, 1.7), Page, NRCS),
        cell(ModeratelyCoarse, SlightlyMoist, "weak darker ball, no stain", (0.7, 1.3), Page, NRCS),
        cell(ModeratelyCoarse, Moist, "ball with finger marks, very light stain", (0.3, 0.9), Page, PARTLY),
        cell(ModeratelyCoarse, Wet, "soft ball, stain, weak ribbon", (0.0, 0.4), Derived, RECKONED),
        cell(ModeratelyCoarse, AtCapacity, "wet outline on the hand", (0.0, 0.0), Page, NRCS),
        cell(Medium, Dry, "clods crumble, no stain", (1.1, 2.1), Page, WYOMING_MEDIUM),
        cell(Medium, SlightlyMoist, "weak rough ball, no stain", (0.8, 1.6), Page, WYOMING_MEDIUM),
        cell(Medium, Moist, "ball, very light stain, weak ribbon", (0.4, 1.1), Page, WYOMING_MEDIUM),
        cell(
            Medium,
            Wet,
            "ball with clear finger marks, light to heavy stain, ribbons",
            (0.0, 0.5),
            Page,
            WYOMING_MEDIUM,
        ),
        cell(Medium, AtCapacity, "soft ball, free water shows briefly when shaken", (0.0, 0.0), Page, WYOMING_MEDIUM),
        cell(Fine, Dry, "clods hard to crumble", (1.2, 2.4), Page, WYOMING_FINE),
        cell(Fine, SlightlyMoist, "weak ball, clods flatten, no stain", (0.8, 1.8), Page, WYOMING_FINE),
        cell(Fine, Moist, "smooth ball with finger marks, light stain, ribbons", (0.4, 1.2), Page, WYOMING_FINE),
        cell(Fine, Wet, "ball, uneven medium to heavy stain, ribbons easily", (0.0, 0.6), Page, WYOMING_FINE),
        cell(Fine, AtCapacity, "soft slick ball, free water shows when shaken", (0.0, 0.0), Page, WYOMING_FINE),
    ]
};

const fn cell(
    texture: TextureClass,
    feel: Feel,
    signs: &'static str,
    deficit: (f64, f64),
    origin: Origin,
    source: &'static str,
) -> FeelCell {
    FeelCell { texture, feel, signs, deficit, origin, source }
}
