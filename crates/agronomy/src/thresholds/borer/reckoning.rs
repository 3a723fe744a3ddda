//! From borers counted to money lost and money saved.

use crate::error::{Error, within};
use crate::thresholds::economic::{valid_control, valid_cost, valid_price, valid_yield};

/// What the formula needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BorerCount {
    /// Larvae, or egg masses, counted on one plant (the mean over all plants looked at).
    pub counted: f64,
    /// Borers that come of one counted: the share of larvae that survive, or borers from one egg mass.
    pub survival: f64,
    /// The share of the yield lost to one borer in each plant.
    pub loss: f64,
    /// The number of borers beyond which each costs another share, and that share.
    pub beyond: Option<(f64, f64)>,
    /// The number of borers beyond which no further loss is reckoned.
    pub cap: Option<f64>,
    /// Expected yield, bu/ac.
    pub yield_per_acre: f64,
    /// Price, $/bu.
    pub price: f64,
    /// The share of the loss that the treatment prevents.
    pub control: f64,
    /// Cost of the treatment, $/ac.
    pub cost: f64,
}

/// What comes of it, unrounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BorerReckoning {
    /// Borers in each plant.
    pub borers: f64,
    /// The share of the yield lost, 0 to 1.
    pub loss: f64,
    /// Yield lost, bu/ac.
    pub bushels: f64,
    /// Worth of the yield lost, $/ac.
    pub dollars: f64,
    /// Worth of the loss that the treatment prevents, $/ac.
    pub preventable: f64,
    /// Worth prevented less the cost, $/ac: negative where the treatment costs more than it saves.
    pub net: f64,
    /// The economic injury level in borers that survive in each plant; `None` where no number of them pays.
    pub injury_level: Option<f64>,
    /// The economic injury level in larvae or egg masses counted on each plant.
    pub injury_level_counted: Option<f64>,
}

/// Returns what borers cost, what a treatment would save, and the economic injury level.
///
/// *Units:* see [`BorerCount`]. *Holds:* counts of 0 to 1,000 a plant, survival of 0.001 to 100, losses of 0.001 to 1
/// for each borer; the share lost ends at 1. *Errors:* [`Error::OutOfRange`]. *Source:* Pennsylvania State University,
/// Field crop IPM, Table 14; J. Tollefson (2008), Iowa State University; forms in [`super::BORER_FORMS`].
///
/// The example of Table 14, which rounds between its lines (14.18, 10.21 and a loss of 4.79 $/ac):
/// ```
/// use ligule_agronomy::thresholds::{BorerCount, borer_reckoning};
/// let count = BorerCount {
///     counted: 3.0, survival: 0.2, loss: 0.059, beyond: None, cap: None,
///     yield_per_acre: 135.0, price: 3.0, control: 0.72, cost: 15.0,
/// };
/// let reckoning = borer_reckoning(&count)?;
/// assert!((reckoning.dollars - 14.337).abs() < 1e-9 && (reckoning.preventable - 10.32).abs() < 0.005);
/// assert!((reckoning.net + 4.68).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn borer_reckoning(count: &BorerCount) -> Result<BorerReckoning, Error> {
    let counted = within("a count on each plant", count.counted, 0.0, 1_000.0, "")?;
    let survival = within("borers from one counted", count.survival, 0.001, 100.0, "")?;
    let curve = Curve::of(count)?;
    let (worth, control) =
        (valid_yield(count.yield_per_acre)? * valid_price(count.price)?, valid_control(count.control)?);
    let cost = valid_cost(count.cost)?;
    let borers = counted * survival;
    let loss = curve.loss(borers);
    let dollars = loss * worth;
    let injury_level = curve.borers(cost / (control * worth));
    Ok(BorerReckoning {
        borers,
        loss,
        bushels: loss * count.yield_per_acre,
        dollars,
        preventable: dollars * control,
        net: dollars * control - cost,
        injury_level,
        injury_level_counted: injury_level.map(|level| level / survival),
    })
}

/// The share lost as a function of the borers in each plant: two straight pieces and an end.
struct Curve {
    first: f64,
    knee: f64,
    later: f64,
    cap: f64,
}

impl Curve {
    fn of(count: &BorerCount) -> Result<Self, Error> {
        let share = |value| within("a loss to one borer", value, 0.001, 1.0, "");
        let (knee, later) = count.beyond.unwrap_or((f64::INFINITY, count.loss));
        if knee.is_finite() {
            within("a number of borers", knee, 0.0, 1_000.0, "")?;
        }
        let cap = count.cap.map(|cap| within("a number of borers", cap, 0.0, 1_000.0, "")).transpose()?;
        Ok(Self { first: share(count.loss)?, knee, later: share(later)?, cap: cap.unwrap_or(f64::INFINITY) })
    }

    fn loss(&self, borers: f64) -> f64 {
        let borers = borers.min(self.cap);
        (self.first * borers.min(self.knee) + self.later * (borers - self.knee).max(0.0)).min(1.0)
    }

    /// Returns the borers that cost this share; `None` if no number does.
    fn borers(&self, loss: f64) -> Option<f64> {
        let before = self.first * self.knee;
        let borers = if loss <= before { loss / self.first } else { self.knee + (loss - before) / self.later };
        (loss <= 1.0 && borers <= self.cap).then_some(borers)
    }
}
