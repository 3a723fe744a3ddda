//! What the decision to replant rests on: two plantings, prices, costs.

use jiff::civil::Date;
use ligule_units::PlantDensity;

use super::matrix::{YieldMatrix, made_for, yield_potential};
use super::unevenness::uneven_stand;
use crate::error::{Error, within};

/// A stand that is kept, or one that is to be planted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planting {
    /// The table in which its yield is read.
    pub matrix: YieldMatrix,
    /// When it was, or would be, planted.
    pub planted: Date,
    /// Living plants; doubtful ones count half (J. Lauer, 2003, Evaluation of corn stands).
    pub stand: PlantDensity,
    /// Share of yield that gaps cost.
    pub gaps: f64,
    /// Share of yield that plants left behind cost.
    pub unevenness: f64,
    /// Share of yield that lost leaves cost, from about V7 on.
    pub leaves: f64,
    /// Share taken off a replanted stand for the troubles of replanting: about 0.10 in University of Nebraska (2009),
    /// Evaluating corn stands.
    pub allowance: f64,
}

impl Planting {
    /// Returns a uniform stand, from which nothing is taken off.
    pub const fn uniform(matrix: YieldMatrix, planted: Date, stand: PlantDensity) -> Self {
        Self { matrix, planted, stand, gaps: 0.0, unevenness: 0.0, leaves: 0.0, allowance: 0.0 }
    }

    /// The losses, in the order in which they are taken off.
    pub(super) const fn losses(&self) -> [f64; 4] {
        [self.gaps, self.unevenness, self.leaves, self.allowance]
    }

    /// Returns its yield as a share of full yield: that of the table, less what is taken off.
    ///
    /// *Units:* a share. *Errors:* those of [`yield_potential`] and [`uneven_stand`].
    ///
    /// 18,000 plants of 25 April with many gaps: 88 % of the Illinois table, less 5 % (computed by hand):
    /// ```
    /// use jiff::civil::date;
    /// use ligule_agronomy::replant::{Planting, YieldMatrix};
    /// use ligule_units::PlantDensity;
    /// let stand = PlantDensity::from_per_acre(18_000.0);
    /// let kept = Planting { gaps: 0.05, ..Planting::uniform(YieldMatrix::Illinois, date(2026, 4, 25), stand) };
    /// assert!((kept.share()? - 0.836).abs() < 1e-9);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn share(&self) -> Result<f64, Error> {
        uneven_stand(yield_potential(self.matrix, self.planted, self.stand)?, &self.losses())
    }
}

/// What replanting costs, dollars per acre, and what is got back.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Costs {
    /// Seed.
    pub seed: f64,
    /// What the seed dealer gives back for replanting.
    pub seed_credit: f64,
    /// Getting rid of the old stand: tillage or a herbicide.
    pub removal: f64,
    /// Herbicide that the new stand needs beside that.
    pub herbicide: f64,
    /// Insecticide.
    pub insecticide: f64,
    /// Starter fertilizer and nitrogen that must be given again.
    pub fertilizer: f64,
    /// The planting itself.
    pub planting: f64,
    /// Interest on what is spent.
    pub interest: f64,
    /// What the insurer pays for replanting.
    pub insurance: f64,
}

impl Costs {
    /// Every cost: what it is, and dollars per acre; what is got back is negative.
    pub(super) const fn lines(&self) -> [(&'static str, f64); 9] {
        [
            ("seed", self.seed),
            ("seed credit", -self.seed_credit),
            ("tillage or burn-down of the old stand", self.removal),
            ("herbicide", self.herbicide),
            ("insecticide", self.insecticide),
            ("fertilizer", self.fertilizer),
            ("planting", self.planting),
            ("interest", self.interest),
            ("insurance payment", -self.insurance),
        ]
    }
}

/// Everything that the money rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Situation {
    /// What a perfect crop would yield here, bu/ac.
    pub full_yield: f64,
    /// What a bushel brings, dollars.
    pub price: f64,
    /// What it costs to harvest and haul a bushel, dollars.
    pub harvest_cost: f64,
    /// The stand there is.
    pub kept: Planting,
    /// The stand that would be planted.
    pub replanted: Planting,
    /// What replanting costs.
    pub costs: Costs,
    /// How many points of moisture wetter the replanted crop comes off.
    pub drying_points: f64,
    /// What it costs to dry a bushel by a point, dollars.
    pub drying_cost: f64,
}

impl Situation {
    /// Returns it if every number is in range and both plantings can be compared.
    pub(super) fn checked(&self) -> Result<&Self, Error> {
        within("the yield of a perfect crop", self.full_yield, 1.0, 600.0, " bu/ac")?;
        made_for(self.kept.matrix, self.full_yield)?;
        made_for(self.replanted.matrix, self.full_yield)?;
        within("a price", self.price, 0.0, 1000.0, " $/bu")?;
        within("a cost of harvest and haul", self.harvest_cost, 0.0, 1000.0, " $/bu")?;
        within("extra points of moisture", self.drying_points, 0.0, 40.0, "")?;
        within("a cost of drying", self.drying_cost, 0.0, 100.0, " $ a point and bushel")?;
        for (what, dollars) in self.costs.lines() {
            within(what, dollars.abs(), 0.0, 10_000.0, " $/ac")?;
            // Credits carry their sign here: a negative one is as wrong as a negative cost.
            let credit = matches!(what, "seed credit" | "insurance payment");
            within(what, if credit { -dollars } else { dollars }, 0.0, 10_000.0, " $/ac")?;
        }
        if !self.kept.matrix.compares_with(self.replanted.matrix) {
            return Err(Error::UnknownWord {
                input: "the table of the replanted stand",
                expected: format!("{}, as for the stand kept", self.kept.matrix.word()),
                came: self.replanted.matrix.word().to_owned(),
            });
        }
        let days = self.kept.planted.until(self.replanted.planted).map_or(f64::NAN, |span| f64::from(span.get_days()));
        within("days from planting to replanting", days, 1.0, 120.0, "")?;
        Ok(self)
    }
}
