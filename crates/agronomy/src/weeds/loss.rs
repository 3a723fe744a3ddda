//! Yield loss as a function of weeds.

use crate::error::{Error, within};

/// A rectangular hyperbola: yield loss by the density of weeds.
///
/// YL = I D / (1 + I D / A). The parameters come from one place and year; there is no set that holds for a region
/// (J. L. Lindquist et al., 1996, Weed Science 44, velvetleaf in five places; D. W. Fischer et al., 2004, Weed Science
/// 52, lambsquarters in seven).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hyperbola {
    per_plant: f64,
    most: f64,
}

/// One weed among several.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Species {
    /// Yield loss to the first plants of it, per cent for each plant in the unit of density.
    pub per_plant: f64,
    /// Its density, plants per metre of row or per square metre: the unit in which `per_plant` was found.
    pub density: f64,
}

fn valid_density(density: f64) -> Result<f64, Error> {
    within("a density of weeds", density, 0.0, 100_000.0, "")
}

fn valid_per_plant(per_plant: f64) -> Result<f64, Error> {
    within("a loss to the first plants", per_plant, 1e-6, 10_000.0, " %")
}

fn valid_most(most: f64) -> Result<f64, Error> {
    within("a greatest loss", most, 0.01, 100.0, " %")
}

impl Hyperbola {
    /// Returns the curve with the loss to the first plants, I, and the loss that no density passes, A.
    ///
    /// *Units:* I in per cent for each plant per metre of row, or per square metre: say which; A in per cent. *Holds:*
    /// I of 10⁻⁶ to 10,000, A of 0.01 to 100. *Errors:* [`Error::OutOfRange`]. *Source:* R. Cousens (1985), A simple
    /// model relating yield loss to weed density, Annals of Applied Biology 107:239-252 (from memory, to be verified).
    pub fn new(per_plant: f64, most: f64) -> Result<Self, Error> {
        Ok(Self { per_plant: valid_per_plant(per_plant)?, most: valid_most(most)? })
    }

    /// Returns the curve through one observed loss, given A.
    ///
    /// *Units:* density as above, per cent. *Holds:* losses above 0 and below A; one point tells little of the rest of
    /// the curve. *Errors:* [`Error::OutOfRange`]. *Source:* follows from the formula.
    ///
    /// Velvetleaf, 18 % at 2 plants a foot of row, 6.56 a metre (University of Wisconsin, Variations in corn yield losses
    /// due to weed competition), A = 100 (computed by hand):
    /// ```
    /// let curve = ligule_agronomy::weeds::Hyperbola::through(6.56, 18.0, 100.0)?;
    /// assert!((curve.per_plant() - 3.35).abs() < 0.005);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn through(density: f64, loss: f64, most: f64) -> Result<Self, Error> {
        let density = within("a density of weeds", density, 1e-3, 100_000.0, "")?;
        let most = valid_most(most)?;
        let loss = within("an observed loss", loss, 1e-3, most * 0.999, " %")?;
        Self::new(loss / (density * (1.0 - loss / most)), most)
    }

    /// Returns I, per cent for each plant.
    pub const fn per_plant(&self) -> f64 {
        self.per_plant
    }

    /// Returns A, per cent.
    pub const fn most(&self) -> f64 {
        self.most
    }

    /// Returns the yield loss at a density, per cent, from 0 to A.
    ///
    /// *Holds:* densities of 0 to 100,000. *Errors:* [`Error::OutOfRange`]. *Source:* as [`Hyperbola::new`].
    ///
    /// I = 3.35, A = 100, 2 a metre (computed by hand):
    /// ```
    /// let curve = ligule_agronomy::weeds::Hyperbola::new(3.35, 100.0)?;
    /// assert!((curve.loss(2.0)? - 6.28).abs() < 0.005);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn loss(&self, density: f64) -> Result<f64, Error> {
        Ok(saturate(self.per_plant * valid_density(density)?, self.most))
    }

    /// Returns the density at which the loss reaches a level; `None` if no density does.
    ///
    /// With the loss that pays for a treatment this is the threshold of one year, without regard to seed that is shed.
    ///
    /// *Holds:* losses of 0 to 100 %. *Errors:* [`Error::OutOfRange`]. *Source:* the formula, turned round.
    ///
    /// ```
    /// let curve = ligule_agronomy::weeds::Hyperbola::new(3.35, 100.0)?;
    /// assert!((curve.density(6.28)?.expect("reached") - 2.0).abs() < 0.005);
    /// assert_eq!(ligule_agronomy::weeds::Hyperbola::new(3.35, 20.0)?.density(20.0)?, None);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn density(&self, loss: f64) -> Result<Option<f64>, Error> {
        let loss = within("a loss", loss, 0.0, 100.0, " %")?;
        Ok((loss < self.most).then(|| loss / (self.per_plant * (1.0 - loss / self.most))))
    }

    /// Returns the yield loss to several weeds that share one greatest loss, per cent.
    ///
    /// S = Σ I D; YL = S / (1 + S / A).
    ///
    /// *Units:* one unit of density for all. *Holds:* as [`Hyperbola::new`]. *Errors:* [`Error::TooFew`] without weeds,
    /// [`Error::OutOfRange`]. *Source:* the form of S. M. Swinton et al. (1994), Estimation of crop yield loss due to
    /// interference by multiple weed species, Weed Science 42:103-109, with all weeds emerged together.
    ///
    /// Two velvetleaf and ten giant foxtail a metre (computed by hand: S = 23.6):
    /// ```
    /// use ligule_agronomy::weeds::{Hyperbola, Species};
    /// let weeds = [(3.35, 2.0), (1.69, 10.0)].map(|(per_plant, density)| Species { per_plant, density });
    /// assert!((Hyperbola::loss_to_several(&weeds, 100.0)? - 19.09).abs() < 0.005);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn loss_to_several(weeds: &[Species], most: f64) -> Result<f64, Error> {
        if weeds.is_empty() {
            return Err(Error::TooFew { what: "weeds", needed: 1, came: 0 });
        }
        let mut sum = 0.0;
        for weed in weeds {
            sum += valid_per_plant(weed.per_plant)? * valid_density(weed.density)?;
        }
        Ok(saturate(sum, valid_most(most)?))
    }
}

fn saturate(straight: f64, most: f64) -> f64 {
    // Not past the greatest loss, not even by the rounding of the last division.
    (straight / (1.0 + straight / most)).min(most)
}

/// Returns the yield loss to weeds that emerged some days after the crop, or before it: b D / (e^(c T) + b D / a).
///
/// *Units:* `density` D and `per_plant` b as in [`Hyperbola`]; `decline` c per day; `days` T from the emergence of the
/// crop to that of the weed, negative when the weed came first; `most` a in per cent; per cent out, from 0 to a.
/// *Holds:* c of 0 to 1, T of −60 to 120 days. *Errors:* [`Error::OutOfRange`]. *Source:* R. Cousens et al. (1987), The
/// use of biologically realistic equations to describe the effects of weed density and relative time of emergence on
/// crop yield, Weed Science 35:720-725 (equation from memory, to be verified).
///
/// b = 4, D = 5, c = 0.1, a = 80, emerged together (computed by hand):
/// ```
/// assert_eq!(ligule_agronomy::weeds::loss_with_emergence(4.0, 80.0, 0.1, 5.0, 0.0)?, 16.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn loss_with_emergence(per_plant: f64, most: f64, decline: f64, density: f64, days: f64) -> Result<f64, Error> {
    let (per_plant, most) = (valid_per_plant(per_plant)?, valid_most(most)?);
    let decline = within("a decline with the day of emergence", decline, 0.0, 1.0, " per day")?;
    let days = within("days from the crop's emergence to the weed's", days, -60.0, 120.0, " days")?;
    let straight = per_plant * valid_density(density)?;
    Ok((straight / ((decline * days).exp() + straight / most)).min(most))
}

/// Returns the yield loss by the weeds' share of the leaf area: q L / (1 + (q / m − 1) L).
///
/// *Units:* `share` L of the weeds in all leaf area, `damage` q (1 where weed and crop compete alike), `most` m, the
/// greatest loss; all are numbers, a share out. *Holds:* L of 0 to 1, q of 0.01 to 100, m of 0.01 to 1. *Errors:*
/// [`Error::OutOfRange`]. *Source:* M. J. Kropff and C. J. T. Spitters (1991), A simple model of crop loss by weed
/// competition from early observations on relative leaf area of the weeds, Weed Research 31:97-105 (equation from
/// memory, to be verified).
///
/// With q = 2 and m = 1, a quarter of the leaf area: 0.5 / 1.25 (computed by hand).
/// ```
/// assert!((ligule_agronomy::weeds::loss_by_leaf_area(0.25, 2.0, 1.0)? - 0.4).abs() < 1e-12);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn loss_by_leaf_area(share: f64, damage: f64, most: f64) -> Result<f64, Error> {
    let share = within("a share of the leaf area", share, 0.0, 1.0, "")?;
    let damage = within("a damage coefficient", damage, 0.01, 100.0, "")?;
    let most = within("a greatest loss", most, 0.01, 1.0, "")?;
    Ok((damage * share / (1.0 + (damage / most - 1.0) * share)).min(most))
}
