//! Atrazine of one field in one calendar year.

use crate::catalogue::{Origin, Table};
use crate::error::{Error, within};

/// Atrazine in a calendar year, all applications and premixes together, lb ai/ac.
/// *Source:* Cornell University, Field Crops, Atrazine application rates.
pub const ATRAZINE_YEAR: f64 = 2.5;

/// Atrazine in one application after emergence, none having gone before, lb ai/ac.
/// *Source:* Cornell University, Field Crops, Atrazine application rates.
pub const ATRAZINE_POST: f64 = 2.0;

/// Atrazine on highly erodible land with less than 30 % of the surface under residue, lb ai/ac.
/// *Source:* Cornell University, Field Crops, Atrazine application rates.
pub const ATRAZINE_ERODIBLE: f64 = 1.6;

const SOURCE: &str = "Cornell University, Field Crops, Atrazine application rates";

/// One application.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtrazineApplication {
    /// Active ingredient, lb/ac; of a premix only the atrazine.
    pub rate: f64,
    /// Whether the corn had emerged.
    pub post: bool,
}

/// The year against the limits of the source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtrazineYear {
    /// All applications together, lb ai/ac.
    pub total: f64,
    /// Whether the total is over [`ATRAZINE_YEAR`].
    pub over_year: bool,
    /// Whether an application after emergence is over [`ATRAZINE_POST`].
    pub over_post: bool,
    /// Whether, on erodible land with little residue, what went on before emergence is over [`ATRAZINE_ERODIBLE`].
    pub over_erodible: bool,
}

impl AtrazineYear {
    /// Returns whether any limit is passed.
    ///
    /// 1.6 lb before emergence and 1.0 after are 2.6 in the year, over 2.5:
    /// ```
    /// use ligule_agronomy::weeds::{AtrazineApplication, atrazine_year};
    /// let after = |rate| AtrazineApplication { rate, post: true };
    /// let before = AtrazineApplication { rate: 1.6, post: false };
    /// assert!(atrazine_year(&[before, after(1.0)], false)?.over());
    /// assert!(!atrazine_year(&[before, after(0.9)], false)?.over());
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub const fn over(&self) -> bool {
        self.over_year || self.over_post || self.over_erodible
    }
}

/// Returns the atrazine of a calendar year and which limits it passes.
///
/// *Units:* lb ai/ac. *Holds:* field corn in the United States under the rates of the source; states and counties may
/// set lower ones, and a label may. *Errors:* [`Error::TooFew`] without applications, [`Error::OutOfRange`] outside 0 to
/// 100 lb/ac.
/// *Source:* Cornell University, Field Crops, Atrazine application rates.
///
/// 1.6 before emergence and 1.0 after it make 2.6, over 2.5:
/// ```
/// use ligule_agronomy::weeds::{AtrazineApplication, atrazine_year};
/// let applications = [(1.6, false), (1.0, true)].map(|(rate, post)| AtrazineApplication { rate, post });
/// let year = atrazine_year(&applications, false)?;
/// assert!((year.total - 2.6).abs() < 1e-12 && year.over_year && !year.over_post);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn atrazine_year(applications: &[AtrazineApplication], erodible: bool) -> Result<AtrazineYear, Error> {
    if applications.is_empty() {
        return Err(Error::TooFew { what: "applications", needed: 1, came: 0 });
    }
    for application in applications {
        within("a rate of atrazine", application.rate, 0.0, 100.0, " lb/ac")?;
    }
    let sum = |post: &dyn Fn(bool) -> bool| applications.iter().filter(|a| post(a.post)).map(|a| a.rate).sum::<f64>();
    // 1.6 + 0.9 is 2.5, whatever binary fractions make of it.
    let over = |rate: f64, limit: f64| rate > limit + 1e-9;
    let total = sum(&|_| true);
    Ok(AtrazineYear {
        total,
        over_year: over(total, ATRAZINE_YEAR),
        over_post: applications.iter().any(|a| a.post && over(a.rate, ATRAZINE_POST)),
        over_erodible: erodible && over(sum(&|post| !post), ATRAZINE_ERODIBLE),
    })
}

pub(crate) fn tables() -> Vec<Table> {
    let table = Table::new(
        "atrazine-limits",
        "Atrazine in corn: limits of a calendar year",
        "Every premix counts. States, counties and labels may set lower limits; the label is the law.",
        ["limit", "lb ai/ac"],
    );
    vec![
        table
            .row(["calendar year, all applications".into(), ATRAZINE_YEAR.into()], Origin::Page, SOURCE)
            .row(["one application after emergence, none before".into(), ATRAZINE_POST.into()], Origin::Page, SOURCE)
            .row(
                [
                    "before emergence, highly erodible land under less than 30 % residue".into(),
                    ATRAZINE_ERODIBLE.into(),
                ],
                Origin::Page,
                SOURCE,
            ),
    ]
}
