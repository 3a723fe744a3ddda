//! Several means compared: one-way analysis of variance, and which group differs.

use crate::error::{Error, within};
use crate::statistics::distribution::{f_p_value, t_above, t_tails};
use crate::statistics::mean::squares_around;
use crate::statistics::{Estimate, all_alike, mean, valid_level};

/// The most groups that are compared: wider than any planter.
pub const MOST_GROUPS: usize = 1000;

/// One group, such as the plants behind one planter unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// How many values it has.
    pub values: usize,
    /// Their mean.
    pub mean: f64,
}

/// A one-way analysis of variance.
#[derive(Debug, Clone, PartialEq)]
pub struct Anova {
    /// The groups, in the order in which they came.
    pub groups: Vec<Group>,
    /// The sum of squares between the groups.
    pub between: f64,
    /// The sum of squares within the groups.
    pub within: f64,
    /// Groups less one, and values less groups.
    pub degrees_of_freedom: (usize, usize),
    /// The mean square between over the mean square within.
    pub f: f64,
    /// How often chance alone gives an F as large.
    pub p: f64,
    /// The standard deviation within the groups, pooled.
    pub pooled_sd: f64,
}

/// A difference of means, adjusted for how many are looked at together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// The difference; all intervals of one family hold together at the level asked for.
    pub difference: Estimate,
    /// How often chance alone gives one so far from zero among all those compared.
    pub p: f64,
}

/// Two groups compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The places of the two groups, counted from 0; the first is before the second.
    pub places: (usize, usize),
    /// The first less the second.
    pub compared: Comparison,
}

/// Returns the one-way analysis of variance of groups: do the means of the planter units differ at all?
///
/// *Units:* any, the same for all groups. *Holds:* 2 to 1,000 groups, each with a value, one with more; values
/// independent, near normal, spread alike in every group. *Errors:* [`Error::TooFew`], also where no group has any
/// spread; [`Error::OutOfRange`]. *Source:* NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.4.3.
///
/// The example of that section, three groups of five: F = 9.59 with 2 and 12 degrees of freedom.
/// ```
/// let groups = [[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5], [8.0, 10.5, 8.1, 6.9, 9.3]];
/// let found = ligule_agronomy::statistics::anova(&groups)?;
/// assert!((found.f - 9.59).abs() < 0.005 && found.degrees_of_freedom == (2, 12));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn anova<G: AsRef<[f64]>>(groups: &[G]) -> Result<Anova, Error> {
    let count = groups.len();
    if count < 2 {
        return Err(Error::TooFew { what: "groups", needed: 2, came: count });
    }
    within("a number of groups", count as f64, 2.0, MOST_GROUPS as f64, "")?;
    let mut means = Vec::with_capacity(count);
    let (mut all, mut squares_within) = (0, 0.0);
    for group in groups {
        let group = group.as_ref();
        let mean = mean(group)?;
        squares_within += squares_around(mean, group);
        all += group.len();
        means.push(Group { values: group.len(), mean });
    }
    if all <= count {
        return Err(Error::TooFew { what: "values in all groups together", needed: count + 1, came: all });
    }
    // Near the first mean, so that groups which lie close together lose no digits.
    let near = means[0].mean;
    let grand = near + means.iter().map(|g| g.values as f64 * (g.mean - near)).sum::<f64>() / all as f64;
    let between: f64 = means.iter().map(|g| g.values as f64 * (g.mean - grand).powi(2)).sum();
    let degrees_of_freedom = (count - 1, all - count);
    let (above, below) = (degrees_of_freedom.0 as f64, degrees_of_freedom.1 as f64);
    let f = between / above / (squares_within / below);
    // Also where the squares are too small for a float to hold.
    if squares_within < f64::MIN_POSITIVE || f > 1e300 {
        return Err(all_alike("different values within a group"));
    }
    let pooled_sd = (squares_within / below).sqrt();
    let p = f_p_value(f, above, below)?;
    Ok(Anova { groups: means, between, within: squares_within, degrees_of_freedom, f, p, pooled_sd })
}

impl Anova {
    /// Compares each group with the mean of all others, in the order of the groups: which planter unit differs?
    ///
    /// Each of the others counts alike, however many values it has. Intervals and p are adjusted after Bonferroni for
    /// as many comparisons as there are groups, which is on the safe side.
    ///
    /// *Holds:* level 0.5 to 0.999. *Errors:* [`Error::OutOfRange`]. *Source:* contrasts with the pooled standard
    /// deviation, NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.4.7.3 (Bonferroni's method).
    ///
    /// The example of [`anova`]; its means are 5.34, 7.72 and 8.56, so the first differs by 5.34 − 8.14:
    /// ```
    /// let groups = [[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5], [8.0, 10.5, 8.1, 6.9, 9.3]];
    /// let first = ligule_agronomy::statistics::anova(&groups)?.against_the_others(0.95)?[0];
    /// assert!((first.difference.value - -2.80).abs() < 1e-12);
    /// // Variance 17.452 / 12 × (1/5 + (1/5 + 1/5) / 2²) = 1.45433 × 0.3.
    /// assert!((first.difference.standard_error - (1.45433_f64 * 0.3).sqrt()).abs() < 1e-5);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn against_the_others(&self, level: f64) -> Result<Vec<Comparison>, Error> {
        let (family, others) = (self.groups.len() as f64, (self.groups.len() - 1) as f64);
        let near = self.groups[0].mean;
        let sum: f64 = self.groups.iter().map(|g| g.mean - near).sum();
        let inverse: f64 = self.groups.iter().map(|g| 1.0 / g.values as f64).sum();
        let compare = self.comparer(level, family)?;
        let one = |group: &Group| {
            let (mean, own) = (group.mean - near, 1.0 / group.values as f64);
            compare(mean - (sum - mean) / others, own + (inverse - own).max(0.0) / (others * others))
        };
        Ok(self.groups.iter().map(one).collect())
    }

    /// Compares every two groups, in the order (0, 1), (0, 2), … (1, 2), …
    ///
    /// Intervals and p are adjusted after Bonferroni for as many comparisons as there are pairs; with many groups that
    /// asks for large differences.
    ///
    /// *Holds* and *errors:* as [`Anova::against_the_others`]. *Source:* NIST/SEMATECH (2012), e-Handbook of Statistical
    /// Methods, section 7.4.7.3 (Bonferroni's method).
    ///
    /// The example of [`anova`]: 5.34 − 7.72.
    /// ```
    /// let groups = [[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5], [8.0, 10.5, 8.1, 6.9, 9.3]];
    /// let first = ligule_agronomy::statistics::anova(&groups)?.pairs(0.95)?[0];
    /// assert!(first.places == (0, 1) && (first.compared.difference.value - -2.38).abs() < 1e-12);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn pairs(&self, level: f64) -> Result<Vec<Pair>, Error> {
        let count = self.groups.len();
        let compare = self.comparer(level, (count * (count - 1) / 2) as f64)?;
        let two = |i: usize, j: usize| {
            let (a, b) = (self.groups[i], self.groups[j]);
            let variance = 1.0 / a.values as f64 + 1.0 / b.values as f64;
            Pair { places: (i, j), compared: compare(a.mean - b.mean, variance) }
        };
        Ok((0..count).flat_map(|i| (i + 1..count).map(move |j| (i, j))).map(|(i, j)| two(i, j)).collect())
    }

    /// Returns what makes a comparison of a difference and of its variance in units of the pooled one.
    fn comparer(&self, level: f64, family: f64) -> Result<impl Fn(f64, f64) -> Comparison, Error> {
        let level = valid_level(level)?;
        let (freedom, pooled_sd) = (self.degrees_of_freedom.1 as f64, self.pooled_sd);
        let t = t_above((1.0 - level) / 2.0 / family, freedom);
        Ok(move |difference: f64, variance: f64| {
            let difference = Estimate::new(difference, pooled_sd * variance.sqrt(), t);
            let p = t_tails(difference.value / difference.standard_error, freedom);
            Comparison { difference, p: (p * family).min(1.0) }
        })
    }
}
