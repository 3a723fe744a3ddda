//! Stand counts: how long a row to count, plants per area, and how sure the mean is.

use ligule_units::{Area, Length, PlantDensity};

use crate::catalogue::{Answer, Input, Origin, Table, Takes, Worksheet};
use crate::error::{Error, within};
use crate::statistics;

/// The usual share of an acre, or of a hectare, that one count covers.
pub const USUAL_SHARE: f64 = 0.001;

/// Plants counted while walking with a measuring wheel. *Source:* University of Illinois Extension, Corn Stand Count.
pub const WHEEL_PLANTS: f64 = 150.0;

/// Counts below which an interval is flagged as unreliable. Common practice, no source.
pub const FEW_COUNTS: usize = 4;

/// The most counts that [`counts_needed`] considers.
const MOST_COUNTS: usize = 10_000;

/// Returns the length of one row that covers a share of an acre.
///
/// *Units:* lengths; the share is a number from 0.00001 to 1, for a thousandth of an acre 0.001 ([`USUAL_SHARE`]).
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
/// *Units:* plants, usually [`WHEEL_PLANTS`]; lengths. *Holds* and *errors:* as [`plants_per_area`].
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

/// The mean of several stand counts, and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandEstimate {
    /// How many counts there were.
    pub counts: usize,
    /// Their mean.
    pub mean: PlantDensity,
    /// Their standard deviation (n − 1); from two counts on.
    pub sd: Option<PlantDensity>,
    /// Standard deviation over mean, as a share; from two counts on, unless the mean is zero.
    pub cv: Option<f64>,
    /// Half the width of the t interval; from two counts on.
    pub half_width: Option<PlantDensity>,
    /// The t interval around the mean, its lower end not below zero; from two counts on.
    pub interval: Option<(PlantDensity, PlantDensity)>,
    /// The level of the interval.
    pub level: f64,
}

impl StandEstimate {
    /// Returns whether there are enough counts to lean on the interval: [`FEW_COUNTS`] or more.
    pub fn is_reliable(&self) -> bool {
        self.counts >= FEW_COUNTS
    }
}

/// Returns the mean of stand counts with its t interval.
///
/// Compare the whole interval, not the mean, with a threshold; and do not pool a patchy field, but estimate each of
/// its zones.
///
/// *Units:* densities in and out; the level is a number from 0.5 to 0.999, usually 0.95. *Holds:* counts over the
/// same length of row, at random places; below [`FEW_COUNTS`] the interval is unreliable. *Errors:*
/// [`Error::TooFew`] without counts; [`Error::OutOfRange`]. *Source:* NIST/SEMATECH (2012), e-Handbook of
/// Statistical Methods, section 7.2.2.1.
///
/// Eight counts of a thousandth of an acre (computed by hand: 29,000 ± 2.365 × 2,000 / √8):
/// ```
/// use ligule_units::PlantDensity;
/// let counts = [30.0, 28.0, 31.0, 27.0, 29.0, 26.0, 32.0, 29.0].map(|n| PlantDensity::from_per_acre(n * 1000.0));
/// let estimate = ligule_agronomy::stand::stand_estimate(&counts, 0.95)?;
/// assert!((estimate.mean.per_acre() - 29_000.0).abs() < 1e-6);
/// let (low, high) = estimate.interval.expect("eight counts");
/// assert_eq!((low.per_acre().round(), high.per_acre().round()), (27_328.0, 30_672.0));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn stand_estimate(counts: &[PlantDensity], level: f64) -> Result<StandEstimate, Error> {
    if counts.is_empty() {
        return Err(Error::TooFew { what: "stand counts", needed: 1, came: 0 });
    }
    within("a level", level, 0.5, 0.999, "")?;
    let mut per_acre = Vec::with_capacity(counts.len());
    for &count in counts {
        per_acre.push(valid_density("a stand count", count, 0.0)?.per_acre());
    }
    let mean = statistics::mean(&per_acre)?;
    let mut estimate = StandEstimate {
        counts: counts.len(),
        mean: PlantDensity::from_per_acre(mean),
        sd: None,
        cv: None,
        half_width: None,
        interval: None,
        level,
    };
    if counts.len() > 1 {
        let sd = statistics::sample_sd(&per_acre)?;
        let half_width = statistics::t_half_width(&per_acre, level)?;
        estimate.sd = Some(PlantDensity::from_per_acre(sd));
        estimate.cv = (mean > 0.0).then(|| sd / mean);
        estimate.half_width = Some(PlantDensity::from_per_acre(half_width));
        estimate.interval = Some((
            PlantDensity::from_per_acre((mean - half_width).max(0.0)),
            PlantDensity::from_per_acre(mean + half_width),
        ));
    }
    Ok(estimate)
}

/// Returns how many counts are needed for an interval of ± a share of the mean.
///
/// It is the least n from 2 up for which t × cv / √n is at most the share, with t of n − 1 degrees of freedom.
///
/// *Units:* all three are shares: a coefficient of variation of 10 % is 0.10, ± 5 % is 0.05. *Holds:* cv 0 to 10,
/// half-width 0.001 to 1, level 0.5 to 0.999. *Errors:* [`Error::OutOfRange`]; [`Error::OutOfReach`] over 10,000
/// counts. *Source:* solved from the t interval, NIST/SEMATECH (2012), e-Handbook of Statistical Methods,
/// section 7.2.2.2.
///
/// CV 10 %, ± 5 %, 95 % (computed by hand, stepping n):
/// ```
/// assert_eq!(ligule_agronomy::stand::counts_needed(0.10, 0.05, 0.95)?, 18);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn counts_needed(cv: f64, relative_half_width: f64, level: f64) -> Result<usize, Error> {
    let cv = within("a coefficient of variation", cv, 0.0, 10.0, "")?;
    let aim = within("a relative half-width", relative_half_width, 0.001, 1.0, "")?;
    // z is below every t, so no smaller n can do; from there the steps are few.
    let at_least = (statistics::z_two_sided(level)? * cv / aim).powi(2).floor();
    if at_least > MOST_COUNTS as f64 {
        return Err(Error::OutOfReach { limit: MOST_COUNTS });
    }
    for n in (at_least as usize).max(2)..=MOST_COUNTS {
        if statistics::t_two_sided(level, n - 1)? * cv / (n as f64).sqrt() <= aim {
            return Ok(n);
        }
    }
    Err(Error::OutOfReach { limit: MOST_COUNTS })
}

/// Returns the stand as a share of the seeds dropped.
///
/// *Units:* densities in, a share out; it passes 1 where the planter dropped more than its setting. *Holds:* stands
/// of 0 or more, rates of 1 per acre or more. *Errors:* [`Error::OutOfRange`]. *Source:* definition.
///
/// ```
/// use ligule_units::PlantDensity;
/// let (stand, rate) = (PlantDensity::from_per_acre(28_800.0), PlantDensity::from_per_acre(32_000.0));
/// assert!((ligule_agronomy::stand::share_of_seeding_rate(stand, rate)? - 0.90).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn share_of_seeding_rate(stand: PlantDensity, seeding_rate: PlantDensity) -> Result<f64, Error> {
    Ok(valid_density("a stand", stand, 0.0)? / valid_density("a seeding rate", seeding_rate, 1.0)?)
}

/// Returns the seeding rate that reaches a stand, given the germination of the seed and its expected survival.
///
/// *Units:* densities; germination and survival are shares from 0.01 to 1. *Holds:* survival of viable corn seed is
/// 0.85 to 0.95 and germination on the tag commonly 0.95 or more. *Errors:* [`Error::OutOfRange`]. *Source:* Ohio
/// State University Extension, Corn seeding rates versus final stands.
///
/// 32,000 plants an acre, both shares 0.95:
/// ```
/// use ligule_units::PlantDensity;
/// let rate = ligule_agronomy::stand::seeding_rate_for(PlantDensity::from_per_acre(32_000.0), 0.95, 0.95)?;
/// assert_eq!(rate.per_acre().round(), 35_457.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn seeding_rate_for(target: PlantDensity, germination: f64, survival: f64) -> Result<PlantDensity, Error> {
    let target = valid_density("a target stand", target, 0.0)?;
    let germination = within("germination", germination, 0.01, 1.0, "")?;
    let survival = within("survival", survival, 0.01, 1.0, "")?;
    Ok(target * (1.0 / (germination * survival)))
}

pub(crate) fn valid_row_width(row_width: Length) -> Result<Length, Error> {
    within("a row width", row_width.inches(), 1.0, 120.0, " in").map(|_| row_width)
}

pub(crate) fn valid_density(
    what: &'static str,
    density: PlantDensity,
    least_per_acre: f64,
) -> Result<PlantDensity, Error> {
    within(what, density.per_acre(), least_per_acre, 1e9, " per acre").map(|_| density)
}

fn valid_plants(plants: f64) -> Result<f64, Error> {
    within("a number of plants", plants, 0.0, 1e6, "")
}

/// Row widths of planters and drills, in inches. Common practice, no source.
const USUAL_ROWS: [f64; 9] = [7.5, 10.0, 15.0, 20.0, 22.0, 28.0, 30.0, 36.0, 38.0];

pub(crate) fn tables() -> Vec<Table> {
    let rows = Table::new(
        "row-length",
        "Row that covers a thousandth of an acre, by row width",
        "Any row width from 1 to 120 in can be worked: `ligule calc row-length`.",
        ["row width, in", "length, ft", "length, m"],
    );
    let source = "University of Wisconsin, Discovery Farms (2010), Taking a stand count; 43,560 sq ft in an acre";
    vec![USUAL_ROWS.into_iter().fold(rows, |table, width| {
        let length = row_length(Length::from_inches(width), USUAL_SHARE).expect("usual row widths are in range");
        let metres = length.metres();
        table.row([width.into(), length.feet().into(), metres.into()], Origin::Derived, source)
    })]
}

pub(crate) const WORKSHEETS: &[Worksheet] = &[Worksheet {
    name: "row-length",
    title: "Length of row that covers a share of an acre",
    inputs: &[
        Input::required("row", Takes::Quantity("[in_i]"), "Distance between rows"),
        Input::usual("share", Takes::Quantity("1"), "1/1000", "Share of an acre that one count covers"),
    ],
    source: "43,560 square feet in an acre; printed by University of Wisconsin, Discovery Farms (2010), Taking a stand count",
    example: "--row 30in",
    work: |given| {
        let (row, share) = (given.inches("row"), given.number("share"));
        let length = row_length(row, share)?;
        Ok(Answer::default()
            .step(format!("{share} ac × 43,560 sq ft/ac = {:.3} sq ft", share * 43_560.0))
            .step(format!("÷ ({} in / 12) = {:.3} ft", row.inches(), length.feet()))
            .number("length of row", length.feet(), 2, "ft")
            .number("length of row, metric", length.metres(), 2, "m"))
    },
}];
