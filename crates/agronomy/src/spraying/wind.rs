//! Wind windows as published.

use crate::catalogue::Origin;
use crate::error::{Error, within};

/// Fastest wind that is taken for one, mph.
pub(super) const FASTEST: f64 = 250.0;

/// A window of wind speed from one source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindLimit {
    /// What it is said of.
    pub of: &'static str,
    /// The least wind, mph; `None` where the source names none.
    pub least: Option<f64>,
    /// The most wind, mph.
    pub most: f64,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// Where a wind lies to a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WindPlace {
    /// Below it: direction shifts, an inversion is likely.
    Below,
    /// Inside it, ends included.
    Inside,
    /// Above it.
    Above,
}

/// The windows as published. They differ; the label's own comes before all of them.
pub const WIND_LIMITS: [WindLimit; 5] = [
    WindLimit {
        of: "spraying",
        least: Some(3.0),
        most: 8.0,
        origin: Origin::Page,
        source: "Pesticide Environmental Stewardship, Evaluate the weather conditions",
    },
    WindLimit {
        of: "spraying, common advice",
        least: None,
        most: 10.0,
        origin: Origin::Memory,
        source: "recalled, no publication at hand",
    },
    WindLimit {
        of: "spraying, ceiling on many labels",
        least: None,
        most: 15.0,
        origin: Origin::Memory,
        source: "recalled of labels; the label at hand decides",
    },
    WindLimit {
        of: "dicamba in corn",
        least: Some(5.0),
        most: 10.0,
        origin: Origin::Page,
        source: "South Dakota State University Extension (2025), dicamba applied in crops other than soybean",
    },
    WindLimit {
        of: "dicamba, labels",
        least: Some(3.0),
        most: 10.0,
        origin: Origin::Memory,
        source: "recalled of labels; the label at hand decides",
    },
];

impl WindLimit {
    /// Returns where a wind lies to this window.
    ///
    /// *Units:* miles per hour. *Holds:* 0 to 250. *Errors:* [`Error::OutOfRange`]. *Source:* the window's own.
    ///
    /// 2 mph is below the window of 3 to 8 mph:
    /// ```
    /// use ligule_agronomy::spraying::{WIND_LIMITS, WindPlace};
    /// assert_eq!(WIND_LIMITS[0].place(2.0)?, WindPlace::Below);
    /// assert_eq!(WIND_LIMITS[0].place(9.0)?, WindPlace::Above);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn place(&self, miles_per_hour: f64) -> Result<WindPlace, Error> {
        let wind = within("a wind", miles_per_hour, 0.0, FASTEST, " mph")?;
        Ok(if self.least.is_some_and(|least| wind < least) {
            WindPlace::Below
        } else if wind > self.most {
            WindPlace::Above
        } else {
            WindPlace::Inside
        })
    }
}
