//! Loss from lost plants and lost kernels, and how it joins with leaf loss.

use jiff::civil::Date;
use ligule_units::PlantDensity;

use super::stage::HailStage;
use crate::error::{Error, within};
use crate::replant::{YieldMatrix, yield_potentials};
use crate::stand::valid_density;

/// The last stage at which survivors still make up for lost neighbours. *Source:* J. Lauer (1994), Assessing hail
/// damage in corn, Wisconsin Crop Manager 1(15):111.
const LAST_THAT_MAKES_UP: HailStage = HailStage::Leaf(10);

/// Returns the share of yield that lost plants cost after the 10th leaf: one for one.
///
/// Late in the season plants broken below the ear count as lost.
///
/// *Units:* densities; a share out. *Holds:* adjuster stages after 10-leaf; earlier, survivors make up for part and
/// [`early_stand_loss`] holds. *Errors:* [`Error::OutsideTable`] up to 10-leaf; [`Error::OutOfRange`] for a stand
/// before of less than 1 an acre, or more plants after than before. *Source:* J. Lauer (1994), Assessing hail damage in
/// corn, Wisconsin Crop Manager 1(15):111; R. Elmore (2009), Corn hail loss chart, Iowa State University.
///
/// Of 30,000 plants 24,000 are left at 12-leaf: 80 % of the stand, 80 % of the yield:
/// ```
/// use ligule_agronomy::damage::{HailStage, late_stand_loss};
/// use ligule_units::PlantDensity;
/// let [before, after] = [30_000.0, 24_000.0].map(PlantDensity::from_per_acre);
/// assert!((late_stand_loss(HailStage::Leaf(12), before, after)? - 0.20).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn late_stand_loss(stage: HailStage, before: PlantDensity, after: PlantDensity) -> Result<f64, Error> {
    if stage <= LAST_THAT_MAKES_UP {
        return Err(Error::OutsideTable {
            table: "stand loss one for one",
            what: "adjuster stages",
            covers: format!("those after {LAST_THAT_MAKES_UP}; up to it compare the yield potentials of both stands"),
            came: stage.to_string(),
        });
    }
    let before = valid_density("a stand before the damage", before, 1.0)?.per_acre();
    let after = within("a stand after the damage", after.per_acre(), 0.0, before, " per acre")?;
    Ok((1.0 - after / before).clamp(0.0, 1.0))
}

/// Returns the share of yield that lost plants cost up to the 10th leaf, from the yield potentials of both stands.
///
/// The potentials are those of one matrix of planting date and stand, both at the date of the first planting. The stand
/// chart of the hail adjusters itself could not be read, so this stands in its place (common practice, no source). A
/// thinner stand that the matrix favours is no loss.
///
/// *Units:* potentials are shares of the greatest yield; a share out. *Holds:* adjuster stages up to 10-leaf.
/// *Errors:* [`Error::OutsideTable`] after 10-leaf; [`Error::OutOfRange`] for potentials outside 0.01 to 1.5 and 0 to
/// 1.5. *Source:* arithmetic; the bound of stages from J. Lauer (1994), Assessing hail damage in corn, Wisconsin Crop
/// Manager 1(15):111.
///
/// From a potential of 100 % to one of 88 % (computed by hand):
/// ```
/// use ligule_agronomy::damage::{HailStage, early_stand_loss};
/// assert!((early_stand_loss(HailStage::Leaf(8), 1.00, 0.88)? - 0.12).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn early_stand_loss(stage: HailStage, potential_before: f64, potential_after: f64) -> Result<f64, Error> {
    if stage > LAST_THAT_MAKES_UP {
        return Err(Error::OutsideTable {
            table: "stand loss by yield potential",
            what: "adjuster stages",
            covers: format!("those up to {LAST_THAT_MAKES_UP}; after it stand and yield are lost one for one"),
            came: stage.to_string(),
        });
    }
    let before = within("the yield potential before", potential_before, 0.01, 1.5, "")?;
    let after = within("the yield potential after", potential_after, 0.0, 1.5, "")?;
    Ok((1.0 - after / before).clamp(0.0, 1.0))
}

/// What one table says of lost plants: a share of yield, or why it says nothing.
pub type TableLoss = (YieldMatrix, Result<f64, Error>);

/// Returns the share of yield that lost plants cost up to the 10th leaf, by every table of planting date and stand.
///
/// The tables differ, so the answer is one for each, or why it says nothing.
///
/// *Units:* the day of the first planting; densities; shares out. *Holds:* adjuster stages up to 10-leaf; dates and
/// stands of the tables. *Errors:* [`Error::OutsideTable`] after 10-leaf, or where no table has both stands;
/// [`Error::OutOfRange`] for more plants after than before.
/// *Source:* [`early_stand_loss`] on [`yield_potentials`].
///
/// Planted on 25 April, 30,000 plants thinned to 18,000, of which the Illinois table says 100 and 88 %:
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::damage::{HailStage, early_stand_losses};
/// use ligule_agronomy::replant::YieldMatrix;
/// use ligule_units::PlantDensity;
/// let [before, after] = [30_000.0, 18_000.0].map(PlantDensity::from_per_acre);
/// let losses = early_stand_losses(HailStage::Leaf(8), date(2026, 4, 25), before, after)?;
/// let illinois = losses.iter().find(|(table, _)| *table == YieldMatrix::Illinois).expect("it has both stands");
/// assert!((illinois.1.clone()? - 0.12).abs() < 1e-9);
/// assert!(losses.iter().any(|(_, loss)| loss.is_err()), "Wisconsin has no stand of 18,000");
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn early_stand_losses(
    stage: HailStage,
    planted: Date,
    before: PlantDensity,
    after: PlantDensity,
) -> Result<Vec<TableLoss>, Error> {
    let per_acre = valid_density("a stand before the damage", before, 1.0)?.per_acre();
    within("a stand after the damage", after.per_acre(), 0.0, per_acre, " per acre")?;
    let mut losses = Vec::new();
    for ((table, before), (_, after)) in
        yield_potentials(planted, before).into_iter().zip(yield_potentials(planted, after))
    {
        losses.push((
            table,
            match (before, after) {
                (Ok(before), Ok(after)) => Ok(early_stand_loss(stage, before, after)?),
                (Err(outside), _) | (_, Err(outside)) => Err(outside),
            },
        ));
    }
    match losses.iter().find_map(|(_, loss)| loss.clone().err()) {
        Some(outside) if losses.iter().all(|(_, loss)| loss.is_err()) => Err(outside),
        _ => Ok(losses),
    }
}

/// Returns the whole loss: plants or kernels lost directly, then leaf loss on what is left.
///
/// *Units:* shares. *Holds:* both 0 to 1. *Errors:* [`Error::OutOfRange`]. *Source:* University of Nebraska, EC126,
/// Evaluating hail damage to corn, example.
///
/// A tenth of the kernels bruised, and leaf loss that costs 35 %: 10 + 0.9 × 35 = 41.5 %:
/// ```
/// let total = ligule_agronomy::damage::combined_loss(0.10, 0.35)?;
/// assert!((total - 0.415).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn combined_loss(direct: f64, leaf: f64) -> Result<f64, Error> {
    let direct = within("a direct loss", direct, 0.0, 1.0, "")?;
    let leaf = within("a leaf loss", leaf, 0.0, 1.0, "")?;
    Ok((direct + (1.0 - direct) * leaf).clamp(0.0, 1.0))
}
