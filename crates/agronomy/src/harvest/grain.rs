//! What a bushel of a grain is.

/// A grain, with its standard bushel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Grain {
    /// 56 lb at 15.5 % moisture.
    Corn,
    /// 60 lb at 13 % moisture.
    Soybean,
}

words!(Grain, "grain", { Corn => "corn", Soybean => "soybean" });

impl Grain {
    /// Returns the pounds of a standard bushel.
    ///
    /// *Source:* D. Karki (2020), Corn grain moisture discount, South Dakota State University (corn); T. Dorn (2009),
    /// Harvest soybeans at 13 % moisture, University of Nebraska (soybean).
    pub const fn bushel(self) -> f64 {
        match self {
            Self::Corn => 56.0,
            Self::Soybean => 60.0,
        }
    }

    /// Returns the moisture of a standard bushel, as a share of the wet weight. *Source:* that of [`Grain::bushel`].
    pub const fn standard_moisture(self) -> f64 {
        match self {
            Self::Corn => 0.155,
            Self::Soybean => 0.13,
        }
    }
}
