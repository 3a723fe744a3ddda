//! What uneven spacing costs, by every study: they do not agree.

use ligule_units::{Length, PlantDensity};

use crate::catalogue::{Origin, Table};
use crate::error::{Error, within};

/// Whose finding is taken for the yield that uneven spacing costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SpacingStudy {
    /// 2.5 bu/ac for each inch of standard deviation above 2. *Source:* R. L. Nielsen (1991), Purdue University, quoted in
    /// University of Wisconsin (2000), Corn stand uniformity in Wisconsin.
    Purdue1991,
    /// 2.2 bu/ac for each inch above 2, one place in one year. *Source:* R. L. Nielsen (2004), Effect of plant spacing
    /// variability on corn grain yield, Purdue University.
    Purdue2004,
    /// 4 bu/ac for each inch above 2. *Source:* G. Carlson, T. Doerge, D. Clay, Estimating corn yield losses from unevenly
    /// spaced planting, Site-Specific Management Guideline 37.
    Guideline,
    /// 3.4 bu/ac for each inch, four fields of 2001, a study of the seed trade; taken above 2 in as the others are.
    Industry2001,
    /// None found, 6.7 to 16.2 cm. *Source:* W. Liu, M. Tollenaar, G. Stewart, W. Deen (2004), Within-row plant spacing
    /// variability does not affect corn yield, Agronomy Journal 96:275-280.
    Ontario2004,
    /// None up to 12 cm, then 1.06 % for each centimetre. *Source:* J. G. Lauer, M. Rankin (2004), Corn response to within
    /// row plant spacing variation, Agronomy Journal 96:1464-1468.
    Wisconsin2004,
}

words!(SpacingStudy, "study", {
    Purdue1991 => "purdue-1991",
    Purdue2004 => "purdue-2004",
    Guideline => "guideline-37",
    Industry2001 => "industry-2001",
    Ontario2004 => "ontario-2004",
    Wisconsin2004 => "wisconsin-2004",
});

/// Inches of standard deviation that no planter is held to beat.
const UNAVOIDABLE_INCHES: f64 = 2.0;
/// The widest that the survey behind the rates found, inches. *Source:* R. L. Nielsen (2004): 354 fields.
const WIDEST_INCHES: f64 = 10.0;
/// What Ontario looked at, cm.
const ONTARIO_CM: (f64, f64) = (6.7, 16.2);
/// From where Wisconsin found losses, cm; the loss for each more; the greatest that was found, %.
const WISCONSIN: (f64, f64, f64) = (12.0, 1.06, 18.0);

enum Effect {
    /// Bushels per acre for each inch above [`UNAVOIDABLE_INCHES`].
    Bushels(f64),
    /// Share of yield, by centimetres.
    Wisconsin,
    /// None within [`ONTARIO_CM`].
    Ontario,
}

impl SpacingStudy {
    const fn effect(self) -> Effect {
        match self {
            Self::Purdue1991 => Effect::Bushels(2.5),
            Self::Purdue2004 => Effect::Bushels(2.2),
            Self::Guideline => Effect::Bushels(4.0),
            Self::Industry2001 => Effect::Bushels(3.4),
            Self::Ontario2004 => Effect::Ontario,
            Self::Wisconsin2004 => Effect::Wisconsin,
        }
    }

    const fn source(self) -> &'static str {
        match self {
            Self::Purdue1991 => {
                "R. L. Nielsen (1991), Purdue University, quoted in University of Wisconsin (2000), Corn stand uniformity in \
                 Wisconsin"
            }
            Self::Purdue2004 => {
                "R. L. Nielsen (2004), Effect of plant spacing variability on corn grain yield, Purdue University: one place, \
                 one year"
            }
            Self::Guideline => {
                "G. Carlson, T. Doerge, D. Clay, Estimating corn yield losses from unevenly spaced planting, Site-Specific \
                 Management Guideline 37"
            }
            Self::Industry2001 => "a study of the seed trade, four fields, 2001",
            Self::Ontario2004 => {
                "W. Liu, M. Tollenaar, G. Stewart, W. Deen (2004), Agronomy Journal 96:275-280, two sites, two years"
            }
            Self::Wisconsin2004 => "J. G. Lauer, M. Rankin (2004), Agronomy Journal 96:1464-1468, 24 environments",
        }
    }
}

/// Returns the yield that uneven spacing costs by one study, in bushels per acre.
///
/// *Units:* the standard deviation of gaps is a length; yield of an even stand and loss in bu/ac. *Holds:* corn;
/// standard deviations of 0 to 10 in for the rates (the survey of 354 fields behind them), 6.7 to 16.2 cm for Ontario, up
/// to 28.98 cm for Wisconsin, where the greatest loss found, 18 %, is reached (reckoned); yields of 0 to 500 bu/ac, which
/// bear on Wisconsin alone. *Errors:* [`Error::OutsideTable`]; [`Error::OutOfRange`]. *Source:* that of [`SpacingStudy`].
///
/// SD 2.221 in at 2.5 bu an inch (computed by hand): 0.55 bu/ac; SD 13 cm at 1.06 % a cm of 200 bu: 2.12 bu/ac.
/// ```
/// use ligule_agronomy::spacing::{SpacingStudy, spacing_loss};
/// use ligule_units::Length;
/// let loss = spacing_loss(SpacingStudy::Purdue1991, Length::from_inches(2.221), 200.0)?;
/// assert!((loss - 0.55).abs() < 0.005);
/// let loss = spacing_loss(SpacingStudy::Wisconsin2004, Length::from_metres(0.13), 200.0)?;
/// assert!((loss - 2.12).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn spacing_loss(study: SpacingStudy, sd: Length, yield_bushels: f64) -> Result<f64, Error> {
    within("a standard deviation of gaps", sd.inches(), 0.0, 1200.0, " in")?;
    let bushels = within("a yield", yield_bushels, 0.0, 500.0, " bu/ac")?;
    let (inches, cm) = (sd.inches(), sd.metres() * 100.0);
    let inside = |from: f64, to: f64, came: f64, unit: &str| {
        // A hair more, so that an end given in one unit survives its way through another.
        if (from - 1e-9..=to + 1e-9).contains(&came) {
            return Ok(());
        }
        Err(Error::OutsideTable {
            table: study.word(),
            what: "standard deviations",
            covers: format!("{from} to {to:.2} {unit}"),
            came: format!("{came:.2} {unit}"),
        })
    };
    match study.effect() {
        Effect::Bushels(rate) => {
            inside(0.0, WIDEST_INCHES, inches, "in")?;
            Ok((inches - UNAVOIDABLE_INCHES).max(0.0) * rate)
        }
        Effect::Ontario => inside(ONTARIO_CM.0, ONTARIO_CM.1, cm, "cm").map(|()| 0.0),
        Effect::Wisconsin => {
            let (from, a_cm, most) = WISCONSIN;
            inside(0.0, from + most / a_cm, cm, "cm")?;
            Ok((cm - from).max(0.0) * a_cm / 100.0 * bushels)
        }
    }
}

/// Returns the yield that uneven spacing costs by every study, in bushels per acre.
///
/// *Units*, *holds*, *errors* and *source:* those of [`spacing_loss`]. The range over those that answer is what is known.
///
/// ```
/// use ligule_units::Length;
/// let losses = ligule_agronomy::spacing::spacing_losses(Length::from_inches(4.0), 200.0);
/// let known: Vec<f64> = losses.into_iter().filter_map(|(_, loss)| loss.ok()).collect();
/// assert_eq!(known.len(), 6);
/// assert!(known.iter().copied().fold(f64::MAX, f64::min) == 0.0);
/// assert!((known.iter().copied().fold(0.0, f64::max) - 8.0).abs() < 1e-9);
/// ```
pub fn spacing_losses(sd: Length, yield_bushels: f64) -> Vec<(SpacingStudy, Result<f64, Error>)> {
    SpacingStudy::ALL.iter().map(|study| (*study, spacing_loss(*study, sd, yield_bushels))).collect()
}

/// Stands of the study of doubles and skips; what the neighbours of a skip make up; what the two plants of a double yield
/// beside one that stands alone. *Source:* [`NAFZIGER`].
const STANDS: (f64, f64) = (18_000.0, 30_000.0);
const COMPENSATION: (f64, f64) = (0.47, 0.19);
const PAIR: (f64, f64) = (1.81, 1.67);
const NAFZIGER: &str = "E. D. Nafziger (1996), Effects of missing and two-plant hills on corn grain yield, Journal of Production \
                        Agriculture 9:238-240";

fn by_stand(stand: PlantDensity, ends: (f64, f64)) -> Result<f64, Error> {
    let per_acre = stand.per_acre();
    if !(STANDS.0 - 1e-6..=STANDS.1 + 1e-6).contains(&per_acre) {
        return Err(Error::OutsideTable {
            table: "doubles and skips",
            what: "stands",
            covers: "18,000 to 30,000 plants per acre".to_owned(),
            came: format!("{per_acre:.0}"),
        });
    }
    let part = ((per_acre - STANDS.0) / (STANDS.1 - STANDS.0)).clamp(0.0, 1.0);
    Ok(ends.0 + (ends.1 - ends.0) * part)
}

/// Returns how much of a missing plant's yield the two plants beside the skip make up, as a share.
///
/// *Units:* a density in, a share out. *Holds:* 18,000 to 30,000 plants per acre; between the two published ends it is
/// interpolated, which is ours. *Errors:* [`Error::OutsideTable`]. *Source:* E. D. Nafziger (1996), Effects of missing and
/// two-plant hills on corn grain yield, Journal of Production Agriculture 9:238-240.
///
/// ```
/// use ligule_units::PlantDensity;
/// let share = ligule_agronomy::spacing::skip_compensation(PlantDensity::from_per_acre(30_000.0))?;
/// assert!((share - 0.19).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn skip_compensation(stand: PlantDensity) -> Result<f64, Error> {
    by_stand(stand, COMPENSATION)
}

/// Returns what the two plants of a double yield together, as a multiple of one plant alone.
///
/// *Units:* a density in, a multiple out. *Holds* and *errors:* as [`skip_compensation`]. The plants beside a double
/// yielded 2 to 12 % less, which is not in it. *Source:* E. D. Nafziger (1996), Effects of missing and two-plant hills on
/// corn grain yield, Journal of Production Agriculture 9:238-240.
///
/// ```
/// use ligule_units::PlantDensity;
/// let pair = ligule_agronomy::spacing::pair_yield(PlantDensity::from_per_acre(18_000.0))?;
/// assert!((pair - 1.81).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn pair_yield(stand: PlantDensity) -> Result<f64, Error> {
    by_stand(stand, PAIR)
}

pub(crate) fn tables() -> Vec<Table> {
    vec![studies(), doubles(), limits()]
}

fn studies() -> Table {
    let table = Table::new(
        "spacing-loss",
        "Yield that uneven spacing of corn costs, by the standard deviation (SD) of gaps",
        "Contested: the studies are listed, none averaged. Skips and doubles act in opposite directions, so that SD alone \
         foretells little.",
        ["study", "loss"],
    );
    SpacingStudy::ALL.iter().fold(table, |table, study| {
        let (from, a_cm, most) = WISCONSIN;
        let loss = match study.effect() {
            Effect::Bushels(rate) => format!("{rate} bu/ac for each inch of SD above {UNAVOIDABLE_INCHES}"),
            Effect::Ontario => format!("none found, SD {} to {} cm", ONTARIO_CM.0, ONTARIO_CM.1),
            Effect::Wisconsin => format!("none up to SD {from} cm, then {a_cm} % for each cm, at most {most} %"),
        };
        table.row([study.word().into(), loss.into()], Origin::Page, study.source())
    })
}

fn doubles() -> Table {
    let row = |ends: (f64, f64)| (ends.0.into(), ends.1.into());
    let (pair_low, pair_high) = row(PAIR);
    let (made_low, made_high) = row(COMPENSATION);
    Table::new(
        "doubles-and-skips",
        "What doubles yield and the neighbours of skips make up, corn",
        "Between the two stands it is interpolated, outside them there is no answer. Plants beside a double yielded 2 to 12 % \
         less.",
        ["what", "at 18,000 plants/ac", "at 30,000 plants/ac"],
    )
    .row(["yield of a double's two plants, as plants alone".into(), pair_low, pair_high], Origin::Page, NAFZIGER)
    .row(["share of a missing plant that its neighbours make up".into(), made_low, made_high], Origin::Page, NAFZIGER)
}

fn limits() -> Table {
    let kachman = "S. D. Kachman and J. A. Smith (1995), Transactions of the ASAE 38:379-387, as printed by Iowa State University";
    let dakota = "L. Novak, J. Ransom (2018), Agricultural Sciences 9(10), North Dakota State University";
    let memory = "from memory, to be verified";
    Table::new("gap-classes", "How gaps between plants are classed", "", ["class", "limit"])
        .row(["double".into(), "up to 0.5 of the spacing aimed at".into()], Origin::Page, kachman)
        .row(["single".into(), "over 0.5, up to 1.5".into()], Origin::Page, kachman)
        .row(["one skip".into(), "over 1.5, up to 2.5".into()], Origin::Page, kachman)
        .row(["two skips".into(), "over 2.5, up to 3.5".into()], Origin::Page, kachman)
        .row(["three skips or more".into(), "over 3.5".into()], Origin::Page, kachman)
        .row(["double, fixed limit".into(), "under 2 in".into()], Origin::Page, dakota)
        .row(["gap, fixed limit".into(), "over 12 in".into()], Origin::Page, dakota)
        .row(["precision that is good".into(), "under 15 %".into()], Origin::Memory, memory)
        .row(["precision, practical upper limit".into(), "29 %".into()], Origin::Memory, memory)
}
