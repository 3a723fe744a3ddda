//! Water held in soil, by depth.

use ligule_units::Length;

/// Inches in a foot: inches of water a foot of soil.
const INCHES_A_FOOT: f64 = 12.0;

/// Water that a depth of soil holds or lacks: a depth of water for each depth of soil.
///
/// ```
/// use ligule_agronomy::soil::WaterPerDepth;
/// use ligule_units::Length;
/// let water = WaterPerDepth::from_inches_per_foot(1.2);
/// assert!((water.millimetres_per_metre() - 100.0).abs() < 1e-9);
/// assert!((water.over(Length::from_feet(2.0)).inches() - 2.4).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct WaterPerDepth(f64);

impl WaterPerDepth {
    /// Makes it of inches of water a foot of soil.
    pub fn from_inches_per_foot(inches: f64) -> Self {
        Self(inches / INCHES_A_FOOT)
    }

    /// Makes it of millimetres of water a metre of soil.
    pub fn from_millimetres_per_metre(millimetres: f64) -> Self {
        Self(millimetres / 1000.0)
    }

    /// Returns it in inches of water a foot of soil.
    pub fn inches_per_foot(self) -> f64 {
        self.0 * INCHES_A_FOOT
    }

    /// Returns it in millimetres of water a metre of soil.
    pub fn millimetres_per_metre(self) -> f64 {
        self.0 * 1000.0
    }

    /// Returns the depth of water over that much soil.
    pub fn over(self, soil: Length) -> Length {
        soil * self.0
    }

    /// Returns the share of it.
    pub(super) fn times(self, share: f64) -> Self {
        Self(self.0 * share)
    }
}
