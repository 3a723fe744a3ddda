//! The form of degree days that belongs to each insect's published sums.

use ligule_units::Temperature;

use crate::catalogue::Origin;
use crate::degree_days::{Method, Model};
use crate::error::Error;

/// A form of degree days, and the insect whose sums are counted by it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InsectForm {
    /// The insect.
    pub insect: &'static str,
    /// The method.
    pub method: Method,
    /// The base, °F.
    pub base: f64,
    /// The upper threshold, °F.
    pub upper: Option<f64>,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// The forms in use. The same day differs from one to another: a sum belongs to its form.
pub const INSECT_FORMS: [InsectForm; 5] = [
    InsectForm {
        insect: "black cutworm",
        method: Method::SimpleAverage,
        base: 50.0,
        upper: None,
        origin: Origin::Page,
        source: "University of Missouri IPM, black cutworm forecast",
    },
    InsectForm {
        insect: "stalk borer, simple",
        method: Method::SimpleAverage,
        base: 41.0,
        upper: None,
        origin: Origin::Page,
        source: "Iowa State University Extension, stalk borer migration",
    },
    InsectForm {
        insect: "stalk borer, raised to base",
        method: Method::ModifiedAverage,
        base: 41.0,
        upper: None,
        origin: Origin::Page,
        source: "Iowa State University Extension, Stalk borer: both temperatures raised to the base first",
    },
    InsectForm {
        insect: "western bean cutworm",
        method: Method::ClippedAverage,
        base: 38.0,
        upper: Some(75.0),
        origin: Origin::Page,
        source: "University of Nebraska (2021), Degree days: prediction of western bean cutworm flight",
    },
    InsectForm {
        insect: "seedcorn maggot",
        method: Method::CappedMaximum,
        base: 39.0,
        upper: Some(84.2),
        origin: Origin::Page,
        source: "University of Minnesota, Seedcorn maggot degree-day model",
    },
];

impl InsectForm {
    /// Returns the form as a model.
    ///
    /// Western bean cutworm on a day of 95 and 72 °F: the mean of 83.5 is cut to 75, less 38.
    /// ```
    /// use ligule_units::Temperature;
    /// let form = ligule_agronomy::degree_days::INSECT_FORMS[3];
    /// let day = form.model()?.day(Temperature::from_fahrenheit(95.0), Temperature::from_fahrenheit(72.0))?;
    /// assert!((day.fahrenheit() - 37.0).abs() < 1e-9);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn model(&self) -> Result<Model, Error> {
        Model::new(self.method, Temperature::from_fahrenheit(self.base), self.upper.map(Temperature::from_fahrenheit))
    }
}
