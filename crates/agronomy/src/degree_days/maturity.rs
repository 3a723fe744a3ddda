//! Degree days to silk and black layer: by relative maturity, and after a late planting.

use jiff::civil::{Date, date};
use ligule_units::DegreeDays;

use crate::catalogue::Origin;
use crate::degree_days::course::days_between;
use crate::error::{Error, within};

/// Fewer °F days from planting to black layer for each day after 1 May.
pub(super) const FEWER_TO_BLACK_LAYER: f64 = 6.8;
/// Fewer °F days from planting to silk for each day after 1 May.
pub(super) const FEWER_TO_SILK: f64 = 1.6;
/// The latest planting for which either holds, days after 1 May.
const LATEST: f64 = 45.0;

/// One publication's degree days from planting to a stage, for a span of relative maturities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaturityFigure {
    /// The relative maturities at which it is printed, days, with °F days each; between them it is linear.
    points: &'static [(f64, f64, f64)],
    /// Where it holds, and what is not said.
    pub holds: &'static str,
    /// Whether the drop for late planting may be tried on it: not on figures of a region where it does not hold.
    pub takes_drop: bool,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// What one publication gives for one hybrid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageNeed {
    /// The lower end.
    pub low: DegreeDays,
    /// The upper end; equal to `low` where one number is printed.
    pub high: DegreeDays,
    /// The publication.
    pub figure: &'static MaturityFigure,
}

/// Degree days from planting to black layer by relative maturity, as published. They differ; a hybrid's own rating is
/// better.
pub const BLACK_LAYER_FIGURES: [MaturityFigure; 2] = [
    MaturityFigure {
        points: &[
            (80.0, 1895.0, 1895.0),
            (90.0, 2145.0, 2145.0),
            (100.0, 2390.0, 2390.0),
            (110.0, 2640.0, 2640.0),
            (120.0, 2890.0, 2890.0),
        ],
        holds: "whether from planting or from emergence is not stated; its caption names R1, its values fit R6",
        takes_drop: true,
        origin: Origin::Practice,
        source: "a table of the seed trade, source not traceable",
    },
    MaturityFigure {
        points: &[(95.0, 2400.0, 2600.0), (105.0, 2400.0, 2600.0)],
        holds: "counted from 15 May in Wisconsin; one range for 95 to 105 days",
        takes_drop: false,
        origin: Origin::Page,
        source: "J. G. Lauer, Corn development, University of Wisconsin, degree days by stage",
    },
];

/// Degree days from planting to silk by relative maturity, recalled.
pub const SILK_FIGURES: [MaturityFigure; 1] = [MaturityFigure {
    points: &[(100.0, 1250.0, 1250.0), (110.0, 1350.0, 1400.0)],
    holds: "roughly 50 to 53 % of the degree days to black layer",
    takes_drop: true,
    origin: Origin::Memory,
    source: "recalled, no publication at hand",
}];

/// Degree days from planting to tassel (VT), which comes shortly before silk, by relative maturity, as published.
pub const TASSEL_FIGURES: [MaturityFigure; 1] = [MaturityFigure {
    points: &[(95.0, 1200.0, 1200.0), (105.0, 1200.0, 1200.0)],
    holds: "tassel (VT), shortly before silk; counted from 15 May in Wisconsin",
    takes_drop: false,
    origin: Origin::Page,
    source: "J. G. Lauer, Corn development, University of Wisconsin, degree days by stage",
}];

impl MaturityFigure {
    /// Returns the printed points: relative maturity in days, lower and upper °F days.
    pub const fn points(&self) -> &'static [(f64, f64, f64)] {
        self.points
    }

    fn at(&'static self, maturity: f64) -> Option<StageNeed> {
        let pair = self.points.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&maturity))?;
        let (below, above) = (pair[0], pair[1]);
        let share = (maturity - below.0) / (above.0 - below.0);
        let between = |low: f64, high: f64| DegreeDays::from_fahrenheit(low + share * (high - low));
        Some(StageNeed { low: between(below.1, above.1), high: between(below.2, above.2), figure: self })
    }
}

/// Returns what each publication that covers a relative maturity gives from planting to black layer.
///
/// *Units:* days of relative maturity, which no standard defines. *Holds:* 80 to 120 days. *Errors:*
/// [`Error::OutOfRange`] for no maturity at all; [`Error::OutsideTable`] beyond the tables. *Source:*
/// [`BLACK_LAYER_FIGURES`].
///
/// Halfway between the printed 2,390 at 100 and 2,640 at 110 days:
/// ```
/// let found = ligule_agronomy::degree_days::black_layer_needs(105.0)?;
/// assert!((found[0].low.fahrenheit() - 2515.0).abs() < 1e-9 && found.len() == 2);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn black_layer_needs(maturity: f64) -> Result<Vec<StageNeed>, Error> {
    look_up(&BLACK_LAYER_FIGURES, "degree days to black layer", "80 to 120", maturity)
}

/// Returns what each source that covers a relative maturity gives from planting to silk.
///
/// *Units:* days of relative maturity. *Holds:* 100 to 110 days; what is from memory says so in its `origin`. *Errors:*
/// as [`black_layer_needs`]. *Source:* [`SILK_FIGURES`].
///
/// ```
/// let found = ligule_agronomy::degree_days::silk_needs(110.0)?;
/// assert!((found[0].high.fahrenheit() - 1400.0).abs() < 1e-9 && found.len() == 1);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn silk_needs(maturity: f64) -> Result<Vec<StageNeed>, Error> {
    look_up(&SILK_FIGURES, "degree days to silk", "100 to 110", maturity)
}

/// Returns what each source that covers a relative maturity gives from planting to tassel.
///
/// *Units:* days of relative maturity. *Holds:* 95 to 105 days, Wisconsin. *Errors:* as [`black_layer_needs`].
/// *Source:* [`TASSEL_FIGURES`].
///
/// ```
/// let found = ligule_agronomy::degree_days::tassel_needs(100.0)?;
/// assert!((found[0].low.fahrenheit() - 1200.0).abs() < 1e-9 && found.len() == 1);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn tassel_needs(maturity: f64) -> Result<Vec<StageNeed>, Error> {
    look_up(&TASSEL_FIGURES, "degree days to tassel", "95 to 105", maturity)
}

fn look_up(
    figures: &'static [MaturityFigure],
    table: &'static str,
    covers: &str,
    maturity: f64,
) -> Result<Vec<StageNeed>, Error> {
    within("a relative maturity", maturity, 50.0, 150.0, " days")?;
    let found: Vec<_> = figures.iter().filter_map(|figure| figure.at(maturity)).collect();
    if found.is_empty() {
        let (what, covers, came) = ("relative maturity", format!("{covers} days"), format!("{maturity} days"));
        return Err(Error::OutsideTable { table, what, covers, came });
    }
    Ok(found)
}

/// Returns how many days a planting is after 1 May; 0 on 1 May and before.
///
/// ```
/// use jiff::civil::date;
/// assert_eq!(ligule_agronomy::degree_days::days_after_1_may(date(2026, 5, 31)), 30);
/// assert_eq!(ligule_agronomy::degree_days::days_after_1_may(date(2026, 4, 20)), 0);
/// ```
pub fn days_after_1_may(planted: Date) -> u32 {
    u32::try_from(days_between(date(planted.year(), 5, 1), planted)).unwrap_or(0)
}

/// Returns the degree days from planting to black layer of a hybrid that is planted after 1 May: 6.8 °F days fewer
/// for each day.
///
/// *Units:* °F or °C days of the corn model; days after 1 May. *Holds:* 0 to 45 days; ratings of 1500 to 4000 °F days;
/// Indiana and Ohio, where three hybrids were planted late April to mid June; not outside the eastern and central
/// Corn Belt, and not for plantings before 1 May. *Errors:* [`Error::OutOfRange`]. *Source:* R. L. Nielsen et al.
/// (2002), Agronomy Journal 94:549-558, as applied in R. L. Nielsen, Hybrid maturity decisions for delayed planting,
/// Purdue University.
///
/// A hybrid of 2,700 planted on 31 May:
/// ```
/// use ligule_units::DegreeDays;
/// let rated = DegreeDays::from_fahrenheit(2700.0);
/// let needed = ligule_agronomy::degree_days::delayed_planting_maturity(rated, 30)?;
/// assert!((needed.fahrenheit() - 2496.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn delayed_planting_maturity(rated: DegreeDays, days_after_1_may: u32) -> Result<DegreeDays, Error> {
    let rated = within("rated degree days to black layer", rated.fahrenheit(), 1500.0, 4000.0, " °F·d")?;
    let days = within("days after 1 May", days_after_1_may.into(), 0.0, LATEST, "")?;
    Ok(DegreeDays::from_fahrenheit(rated - FEWER_TO_BLACK_LAYER * days))
}

/// Returns the degree days from planting to silk of a hybrid that is planted after 1 May: about 1.6 °F days fewer for
/// each day.
///
/// *Units:* as [`delayed_planting_maturity`]. *Holds:* 0 to 45 days; ratings of 800 to 2000 °F days; the same trials.
/// *Errors:* [`Error::OutOfRange`]. *Source:* R. L. Nielsen et al. (2002), Agronomy Journal 94:549-558, as quoted in a
/// bulletin of the seed trade.
///
/// 1,350 rated, planted on 31 May: 1,350 − 1.6 × 30.
/// ```
/// use ligule_units::DegreeDays;
/// let needed = ligule_agronomy::degree_days::delayed_planting_silk(DegreeDays::from_fahrenheit(1350.0), 30)?;
/// assert!((needed.fahrenheit() - 1302.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn delayed_planting_silk(rated: DegreeDays, days_after_1_may: u32) -> Result<DegreeDays, Error> {
    let rated = within("rated degree days to silk", rated.fahrenheit(), 800.0, 2000.0, " °F·d")?;
    let days = within("days after 1 May", days_after_1_may.into(), 0.0, LATEST, "")?;
    Ok(DegreeDays::from_fahrenheit(rated - FEWER_TO_SILK * days))
}
