//! Keeping a stand against replanting it, in dollars per acre, every line shown.

use super::answer::{Answers, Asked, ask};
use super::situation::Situation;
use crate::catalogue::with_marks;
use crate::error::Error;

/// One line of the budget.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it is.
    pub what: &'static str,
    /// What it adds to the net of replanting, dollars per acre; negative what it takes away.
    pub dollars: f64,
    /// The numbers that it comes from.
    pub working: String,
}

/// What replanting gains or loses against keeping.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// Yield of the stand kept, as a share of full yield.
    pub kept_share: f64,
    /// Yield of the replanted stand, as a share of full yield.
    pub replanted_share: f64,
    /// Yield of the stand kept, bu/ac.
    pub kept_yield: f64,
    /// Yield of the replanted stand, bu/ac.
    pub replanted_yield: f64,
    /// Every line; their sum is the net.
    pub lines: Vec<Line>,
    /// What replanting brings more than keeping, dollars per acre.
    pub net: f64,
    /// What must be asked beside the money, each with what is known of it. All five, always.
    pub asked: [Asked; 5],
}

/// Returns the partial budget of replanting: every line, the net, and what must be asked beside the money.
///
/// Only what differs between keeping and replanting is in it. A net above 0 says that the sum favours replanting before
/// risk; it does not say that replanting is open: the insurer, the labels and the calendar decide that.
///
/// *Units:* bu/ac, dollars. *Holds:* corn, replanted 1 to 120 days after planting, both stands in tables with one
/// scale. *Errors:* [`Error::OutOfRange`]; [`Error::OutsideTable`]; [`Error::UnknownWord`] for two tables that cannot
/// be compared. *Source:* arithmetic (a partial budget); yields from the table chosen.
///
/// 180 bu/ac, 10,000 plants of 25 April against 30,000 of 20 May in Illinois, money invented (computed by hand):
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::replant::{Answers, Costs, Planting, Situation, YieldMatrix, budget};
/// use ligule_units::PlantDensity;
/// let planting = |month, day, plants| {
///     Planting::uniform(YieldMatrix::Illinois, date(2026, month, day), PlantDensity::from_per_acre(plants))
/// };
/// let budget = budget(
///     &Situation {
///         full_yield: 180.0,
///         price: 4.50,
///         harvest_cost: 0.0,
///         kept: planting(4, 25, 10_000.0),
///         replanted: planting(5, 20, 30_000.0),
///         costs: Costs { seed: 100.0, seed_credit: 50.0, removal: 12.0, planting: 20.0, ..Costs::default() },
///         drying_points: 4.0,
///         drying_cost: 0.05,
///     },
///     &Answers::default(),
/// )?;
/// assert!((budget.kept_yield - 122.40).abs() < 1e-9 && (budget.replanted_yield - 163.80).abs() < 1e-9);
/// assert!((budget.net - 71.54).abs() < 1e-9);
/// assert_eq!(budget.asked.len(), 5);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn budget(situation: &Situation, answers: &Answers) -> Result<Budget, Error> {
    let s = situation.checked()?;
    let (kept_share, replanted_share) = (s.kept.share()?, s.replanted.share()?);
    let (kept_yield, replanted_yield) = (s.full_yield * kept_share, s.full_yield * replanted_share);
    let gross = |what, sign: f64, bushels: f64| Line {
        what,
        dollars: sign * bushels * s.price,
        working: format!("{bushels:.2} bu/ac × ${}", with_marks(s.price, 2)),
    };
    let more = replanted_yield - kept_yield;
    let dried = s.drying_points * s.drying_cost * replanted_yield;
    let mut lines = vec![
        gross("gross of the replanted stand", 1.0, replanted_yield),
        gross("gross of the stand kept", -1.0, kept_yield),
        Line {
            what: "harvest and haul of the difference",
            dollars: -more * s.harvest_cost,
            working: format!("{more:.2} bu/ac × ${}", with_marks(s.harvest_cost, 2)),
        },
    ];
    lines.extend(s.costs.lines().map(|(what, dollars)| Line {
        what,
        dollars: -dollars,
        working: if dollars == 0.0 { "nothing given".to_owned() } else { "as given".to_owned() },
    }));
    lines.push(Line {
        what: "extra drying",
        dollars: -dried,
        working: format!("{} points × {replanted_yield:.2} bu/ac × ${}", s.drying_points, s.drying_cost),
    });
    // Minus nothing is nothing: no line shows as `-0`.
    lines.iter_mut().for_each(|line| line.dollars += 0.0);
    let net = lines.iter().map(|line| line.dollars).sum();
    let asked = ask(answers, s.replanted.planted);
    Ok(Budget { kept_share, replanted_share, kept_yield, replanted_yield, lines, net, asked })
}

/// Returns the net alone.
pub(super) fn net(situation: &Situation) -> Result<f64, Error> {
    budget(situation, &Answers::default()).map(|budget| budget.net)
}
