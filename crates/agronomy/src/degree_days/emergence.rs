//! Degree days from planting to emergence.

use ligule_units::{DegreeDays, Length};

use crate::error::{Error, within};

/// One publication's degree days from planting to emergence of corn, modified average 86/50 °F.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmergenceFigure {
    /// The publication.
    pub source: &'static str,
    /// The lower figure, °F days.
    pub low: f64,
    /// The upper figure, °F days; equal to `low` where one number is printed.
    pub high: f64,
}

/// What publications give for planting to emergence of corn. They differ; none is right everywhere.
pub const EMERGENCE_FIGURES: [EmergenceFigure; 5] = [
    EmergenceFigure {
        source: "R. L. Nielsen (2019), Predict leaf stage development in corn using thermal time, Purdue University",
        low: 100.0,
        high: 120.0,
    },
    EmergenceFigure {
        source: "Iowa State University, quoted by University of Nebraska (2015), Growing degree units and corn emergence",
        low: 90.0,
        high: 120.0,
    },
    EmergenceFigure {
        source: "J. Lauer (2003), Time for corn emergence, Wisconsin Crop Manager 10(8):63-64",
        low: 125.0,
        high: 125.0,
    },
    EmergenceFigure {
        source: "Ohio State University, Ohio Agronomy Guide, Making replant decisions",
        low: 100.0,
        high: 150.0,
    },
    EmergenceFigure {
        source: "R. L. Nielsen (2022), Hybrid maturity decisions for delayed planting, Purdue University",
        low: 115.0,
        high: 115.0,
    },
];

/// What publications give for planting to emergence of soybean, °F days: source, half of the plants, 90 % of them.
pub const SOYBEAN_EMERGENCE: [(&str, f64, f64); 2] = [
    ("University of Wisconsin, quoted by Michigan State University Extension, Assessing soybean stands", 130.0, 155.0),
    ("Purdue University, quoted by Michigan State University Extension, Assessing soybean stands", 141.0, 200.0),
];

/// Returns the degree days to emergence that are taken where nothing better is known: 115 °F days.
///
/// *Source:* R. L. Nielsen (2022), Hybrid maturity decisions for delayed planting, Purdue University.
///
/// ```
/// assert!((ligule_agronomy::degree_days::usual_emergence().fahrenheit() - 115.0).abs() < 1e-9);
/// ```
pub fn usual_emergence() -> DegreeDays {
    DegreeDays::from_fahrenheit(115.0)
}

/// How fine the soil is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Texture {
    /// Clays and clay loams.
    Fine,
    /// Loams: no adjustment.
    Medium,
    /// Sands and sandy loams.
    Coarse,
}

words!(Texture, "texture", { Fine => "fine", Medium => "medium", Coarse => "coarse" });

/// The seedbed, as far as it moves emergence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seedbed {
    /// Seed depth.
    pub depth: Length,
    /// Soil texture.
    pub texture: Texture,
    /// Whether the seed zone is drier than ideal.
    pub dry: bool,
    /// The share of the surface under residue, 0 to 1.
    pub residue: f64,
}

/// Degree days from planting to emergence, as a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmergenceNeed {
    /// The lower end.
    pub low: DegreeDays,
    /// The upper end.
    pub high: DegreeDays,
}

impl EmergenceNeed {
    /// Returns the middle of the range. Taking the middle is common practice; the source prints ranges.
    pub fn midpoint(&self) -> DegreeDays {
        DegreeDays::from_celsius(f64::midpoint(self.low.celsius(), self.high.celsius()))
    }
}

/// Returns the degree days from planting to emergence of corn in a seedbed, as a range.
///
/// 125 °F days, plus 15 for each inch deeper than 2 in; plus 30 to 60 on fine soil, less 30 to 60 on coarse; plus 30
/// if the seed zone is dry; plus 30 to 60 if residue covers more than 75 %.
///
/// *Units:* see [`Seedbed`]; °F days of the corn model on air temperature out. *Holds:* depths of 0.5 to 5 in; the
/// upper Midwest. *Errors:* [`Error::OutOfRange`]. *Source:* J. Lauer (2003), Time for corn emergence, Wisconsin Crop
/// Manager 10(8):63-64.
///
/// 3 in deep under residue: 125 + 15 + 30 to 60.
/// ```
/// use ligule_agronomy::degree_days::{emergence_need, Seedbed, Texture};
/// use ligule_units::Length;
/// let seedbed = Seedbed { depth: Length::from_inches(3.0), texture: Texture::Medium, dry: false, residue: 0.80 };
/// let need = emergence_need(&seedbed)?;
/// assert!((need.low.fahrenheit() - 170.0).abs() < 1e-9 && (need.high.fahrenheit() - 200.0).abs() < 1e-9);
/// assert!((need.midpoint().fahrenheit() - 185.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn emergence_need(seedbed: &Seedbed) -> Result<EmergenceNeed, Error> {
    let depth = within("a seed depth", seedbed.depth.inches(), 0.5, 5.0, " in")?;
    let residue = within("a share under residue", seedbed.residue, 0.0, 1.0, "")?;
    let (mut low, mut high) = (125.0, 125.0);
    let mut add = |least: f64, most: f64| {
        low += least;
        high += most;
    };
    let deeper = 15.0 * (depth - 2.0).max(0.0);
    add(deeper, deeper);
    match seedbed.texture {
        Texture::Fine => add(30.0, 60.0),
        Texture::Medium => {}
        Texture::Coarse => add(-60.0, -30.0),
    }
    if seedbed.dry {
        add(30.0, 30.0);
    }
    if residue > 0.75 {
        add(30.0, 60.0);
    }
    Ok(EmergenceNeed { low: DegreeDays::from_fahrenheit(low), high: DegreeDays::from_fahrenheit(high) })
}
