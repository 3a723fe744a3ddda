//! Soybean stands: by the published thresholds, every version beside the others.

use jiff::civil::Date;
use ligule_units::PlantDensity;

use super::season::{day_name, day_of_season, month_day};
use super::soybean_evidence::{BY_DATE, EVIDENCE, RULES};
use crate::error::{Error, within};

/// What one publication says should be done with a stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoybeanDecision {
    /// What it says.
    pub says: &'static str,
    /// Author, year, title.
    pub source: &'static str,
}

/// Returns what each publication says should be done with a soybean stand; they contradict each other.
///
/// *Units:* living plants per area. *Holds:* uniform stands, vegetative stages, up to about 20 June; gaps over 2 ft
/// count as lost. Filling in is contested: Wisconsin gained by it, Iowa (1999) discouraged it. *Errors:*
/// [`Error::OutOfRange`]. *Source:* S. Conley (2019); A. P. Gaspar, S. P. Conley, J. M. Gaska (2015), University of
/// Wisconsin; Iowa State University (1999), Soybean replant issues; farm press on Iowa and Minnesota studies.
///
/// At 45,000 plants Wisconsin fills in, and Iowa (1999) does not:
/// ```
/// use ligule_agronomy::replant::soybean_decisions;
/// use ligule_units::PlantDensity;
/// let all = soybean_decisions(PlantDensity::from_per_acre(45_000.0))?;
/// assert!(all.iter().any(|one| one.says.contains("do not tear it up")));
/// assert!(all.iter().any(|one| one.says.contains("filling in is not recommended")));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn soybean_decisions(stand: PlantDensity) -> Result<Vec<SoybeanDecision>, Error> {
    let plants = valid_stand(stand)?;
    let ours = RULES.iter().filter(|rule| (rule.stand.0..rule.stand.1).contains(&plants));
    Ok(ours.map(|rule| SoybeanDecision { says: rule.says, source: rule.source }).collect())
}

/// What one publication says a soybean stand yields.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoybeanStandYield {
    /// The stand it speaks of, from and to.
    pub stand: (PlantDensity, PlantDensity),
    /// The yield, as a share of the greatest, from and to.
    pub share: (f64, f64),
    /// What must be known of it.
    pub note: &'static str,
    /// Author, year, title.
    pub source: &'static str,
}

/// Returns the published yields that hem in a uniform soybean stand: the nearest at or below it, the nearest at or
/// above.
///
/// The statements are single points of several studies and make no curve: what lies between two of them is not
/// reckoned. Within the range that a statement itself names, only it is returned.
///
/// *Units:* living plants per area; shares. *Holds:* uniform stands from 39,000 to 200,000 plants per acre. *Errors:*
/// [`Error::OutOfRange`]; [`Error::OutsideTable`]. *Source:* that of each statement.
///
/// 60,000 plants: more than at 50,000 (90 % in Illinois), no more than at 70,000 (90 to 95 %):
/// ```
/// use ligule_agronomy::replant::soybean_stand_yields;
/// use ligule_units::PlantDensity;
/// let all = soybean_stand_yields(PlantDensity::from_per_acre(60_000.0))?;
/// let (least, most) = all.iter().fold((1.0_f64, 0.0_f64), |(least, most), one| {
///     (least.min(one.share.0), most.max(one.share.1))
/// });
/// assert!((least - 0.90).abs() < 1e-12 && (most - 0.95).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn soybean_stand_yields(stand: PlantDensity) -> Result<Vec<SoybeanStandYield>, Error> {
    let plants = valid_stand(stand)?;
    let statements = || EVIDENCE.iter().filter(|one| one.uniform);
    let within_own = |one: &&super::soybean_evidence::Evidence| (one.stand.0..=one.stand.1).contains(&plants);
    let ends = statements()
        .fold((f64::INFINITY, 0.0_f64), |(least, most), one| (least.min(one.stand.0), most.max(one.stand.1)));
    if !(ends.0..=ends.1).contains(&plants) {
        return Err(Error::OutsideTable {
            table: "the published yields of soybean stands",
            what: "stands",
            covers: format!("{:.0} to {:.0} plants per acre", ends.0, ends.1),
            came: format!("{plants:.0}"),
        });
    }
    let mut ours: Vec<_> = statements().filter(within_own).collect();
    if ours.is_empty() {
        let below = statements().map(|one| one.stand.1).filter(|most| *most < plants).fold(0.0, f64::max);
        let above = statements().map(|one| one.stand.0).filter(|least| *least > plants).fold(f64::INFINITY, f64::min);
        ours = statements().filter(|one| one.stand.1 == below || one.stand.0 == above).collect();
    }
    let per_acre = PlantDensity::from_per_acre;
    Ok(ours
        .into_iter()
        .map(|one| SoybeanStandYield {
            stand: (per_acre(one.stand.0), per_acre(one.stand.1)),
            share: (one.percent.0 / 100.0, one.percent.1 / 100.0),
            note: one.note,
            source: one.source,
        })
        .collect())
}

/// Returns the yield of soybean by its planting date, as a share of the greatest.
///
/// *Units:* a date, of which the month and the day count; a share. *Holds:* Pennsylvania, 10 May to 20 June, a
/// straight line between two printed days. *Errors:* [`Error::OutsideTable`]. *Source:* Penn State Extension (2012,
/// 2016), Soybean replanting decisions.
///
/// Half way between 20 May (98 %) and 30 May (95 %), computed by hand:
/// ```
/// use jiff::civil::date;
/// let share = ligule_agronomy::replant::soybean_date_yield(date(2028, 5, 25))?;
/// assert!((share - 0.965).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn soybean_date_yield(planted: Date) -> Result<f64, Error> {
    let day = day_of_season(month_day(planted));
    let (first, last) = (BY_DATE[0].0, BY_DATE[BY_DATE.len() - 1].0);
    if !(day_of_season(first)..=day_of_season(last)).contains(&day) {
        return Err(Error::OutsideTable {
            table: "soybean yield by planting date",
            what: "planting dates",
            covers: format!("{} to {}", day_name(first), day_name(last)),
            came: day_name(month_day(planted)),
        });
    }
    let pair = BY_DATE.windows(2).find(|pair| day <= day_of_season(pair[1].0)).expect("the last day is no earlier");
    let (earlier, later) = (day_of_season(pair[0].0), day_of_season(pair[1].0));
    let share = (day - earlier) / (later - earlier);
    Ok((pair[0].1 + (pair[1].1 - pair[0].1) * share) / 100.0)
}

fn valid_stand(stand: PlantDensity) -> Result<f64, Error> {
    within("a soybean stand", stand.per_acre(), 0.0, 1e6, " per acre")
}
