//! What the answer hangs on most: each input moved over a stated range, the others held.

use jiff::ToSpan;
use ligule_units::PlantDensity;

use super::budget::net;
use super::matrix::YieldMatrix;
use super::season::{MonthDay, day_name, day_of_season, month_day};
use super::situation::Situation;
use super::unevenness::{GapPattern, gap_loss};
use crate::catalogue::with_marks;
use crate::error::{Error, within};

/// One end of an input's range, and the net there.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// The input at this end, as people read it.
    pub at: String,
    /// What replanting brings more than keeping, dollars per acre.
    pub net: f64,
}

/// How far the net moves when one input moves over its range.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// The input.
    pub input: &'static str,
    /// The range over which it was moved: `± 20 %`.
    pub range: &'static str,
    /// Both ends, the lesser input first; for the choice of table the lesser net first.
    pub ends: [End; 2],
    /// The distance between the two nets, dollars per acre.
    pub swing: f64,
    /// Whether the sum would favour the other side at one end.
    pub turns: bool,
    /// Whether the range was cut at the edge of the table.
    pub cut: bool,
}

/// Returns how far each input moves the net, the strongest first.
///
/// The ranges: the stand kept by its half-width, or by 10 % without one; the new stand by 10 %; its date by 5 days;
/// price and every cost by 20 %; the yield of a perfect crop by 20 %; gaps over every published penalty (none to 6
/// %); late plants, lost leaves and the allowance by 5 points; drying by 3 points; the insurance payment down to
/// none; and each table that can be read. An input of nothing that stays nothing is left out.
///
/// *Units:* `half_width` is half the width of the interval of the stand kept. *Holds* and *errors:* as
/// [`budget`](super::budget); [`Error::OutOfRange`] for a half-width that is no density. Ends beyond a table are cut
/// to its edge. *Source:* price by 20 % and the stand by its interval are practice, no source, as are the other
/// ranges; gaps as [`gap_loss`]; arithmetic on the table chosen.
///
/// With the stand known to ± 1,000 plants the price matters more (computed by hand: ± 20 % of 41.40 bu × $4.50 is ±
/// 37.26):
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::replant::{Costs, Planting, Situation, YieldMatrix, sensitivities};
/// use ligule_units::PlantDensity;
/// let planting = |month, day, plants| {
///     Planting::uniform(YieldMatrix::Illinois, date(2026, month, day), PlantDensity::from_per_acre(plants))
/// };
/// let situation = Situation {
///     full_yield: 180.0,
///     price: 4.50,
///     harvest_cost: 0.0,
///     kept: planting(4, 25, 12_000.0),
///     replanted: planting(5, 20, 30_000.0),
///     costs: Costs::default(),
///     drying_points: 0.0,
///     drying_cost: 0.0,
/// };
/// let ranked = sensitivities(&situation, Some(PlantDensity::from_per_acre(1_000.0)))?;
/// let price = ranked.iter().find(|one| one.input == "price").expect("varied");
/// // 2 × 0.2 × 180 × (0.91 − 0.74) × 4.50
/// assert!((price.swing - 55.08).abs() < 1e-9);
/// assert!(ranked.windows(2).all(|pair| pair[0].swing >= pair[1].swing));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn sensitivities(situation: &Situation, half_width: Option<PlantDensity>) -> Result<Vec<Sensitivity>, Error> {
    let base = net(situation)?;
    let half_width = match half_width {
        Some(width) => Some(within("half the width of an interval", width.per_acre(), 0.0, 1e6, " per acre")?),
        None => None,
    };
    let mut ranked = stands(situation, base, half_width);
    ranked.extend(date(situation, base));
    ranked.extend(money(situation, base));
    ranked.extend(losses(situation, base));
    ranked.extend(tables(situation, base));
    ranked.retain(|one| one.swing > 0.0);
    ranked.sort_by(|a, b| b.swing.total_cmp(&a.swing));
    Ok(ranked)
}

/// A varied situation, and the input there as people read it.
type Varied = (Situation, String);

fn of(
    input: &'static str,
    range: &'static str,
    base: f64,
    cut: bool,
    low: Varied,
    high: Varied,
) -> Option<Sensitivity> {
    let end = |(situation, at): Varied| net(&situation).ok().map(|net| End { at, net });
    let ends = [end(low)?, end(high)?];
    let swing = (ends[1].net - ends[0].net).abs();
    let turns = ends.iter().any(|end| (end.net > 0.0) != (base > 0.0));
    Some(Sensitivity { input, range, ends, swing, turns, cut })
}

fn stands(s: &Situation, base: f64, half_width: Option<f64>) -> Vec<Sensitivity> {
    let plants = |per_acre: f64| format!("{} plants/ac", with_marks(per_acre, 0));
    let vary = |matrix: YieldMatrix, stand: PlantDensity, by: f64, put: &dyn Fn(&mut Situation, PlantDensity)| {
        let (least, most) = matrix.stands();
        let wanted = [stand.per_acre() - by, stand.per_acre() + by];
        let mut cut = false;
        let ends = wanted.map(|per_acre| {
            let inside = per_acre.clamp(least, most);
            cut |= (inside - per_acre).abs() > 1e-6;
            let mut varied = *s;
            put(&mut varied, PlantDensity::from_per_acre(inside));
            (varied, plants(inside))
        });
        (ends, cut)
    };
    let tenth = |stand: PlantDensity| stand.per_acre() * 0.1;
    let kept_by = half_width.unwrap_or_else(|| tenth(s.kept.stand));
    let ([low, high], cut) = vary(s.kept.matrix, s.kept.stand, kept_by, &|v, stand| v.kept.stand = stand);
    let range = if half_width.is_some() { "± half the width of its interval" } else { "± 10 %" };
    let kept = of("stand kept", range, base, cut, low, high);
    let by = tenth(s.replanted.stand);
    let ([low, high], cut) = vary(s.replanted.matrix, s.replanted.stand, by, &|v, stand| v.replanted.stand = stand);
    let new = of("replanted stand", "± 10 %", base, cut, low, high);
    kept.into_iter().chain(new).collect()
}

fn date(s: &Situation, base: f64) -> Option<Sensitivity> {
    let (first, last) = s.replanted.matrix.days();
    let day = s.replanted.planted;
    let inside = |day: jiff::civil::Date| {
        let at = |edge: MonthDay| day_of_season(edge);
        let of_day = day_of_season(month_day(day));
        day > s.kept.planted && at(first) <= of_day && of_day <= at(last)
    };
    let moved = |days: i32| {
        // Toward the day itself until it lies in the table, where the day itself does.
        (0..=5).rev().find_map(|step| {
            let moved = day.checked_add((step * days).days()).ok().filter(|moved| inside(*moved))?;
            let mut varied = *s;
            varied.replanted.planted = moved;
            Some(((varied, day_name(month_day(moved))), step < 5))
        })
    };
    let ((low, cut_early), (high, cut_late)) = (moved(-1)?, moved(1)?);
    of("replant date", "± 5 days", base, cut_early || cut_late, low, high)
}

fn money(s: &Situation, base: f64) -> Vec<Sensitivity> {
    type Place = fn(&mut Situation) -> &mut f64;
    const DOLLARS: [(&str, Place); 11] = [
        ("price", |s| &mut s.price),
        ("harvest and haul", |s| &mut s.harvest_cost),
        ("seed", |s| &mut s.costs.seed),
        ("seed credit", |s| &mut s.costs.seed_credit),
        ("tillage or burn-down", |s| &mut s.costs.removal),
        ("herbicide", |s| &mut s.costs.herbicide),
        ("insecticide", |s| &mut s.costs.insecticide),
        ("fertilizer", |s| &mut s.costs.fertilizer),
        ("planting", |s| &mut s.costs.planting),
        ("interest", |s| &mut s.costs.interest),
        ("cost of drying", |s| &mut s.drying_cost),
    ];
    let vary = |input, range, place: Place, low: &dyn Fn(f64) -> f64, high: &dyn Fn(f64) -> f64, unit: &str| {
        let at = |change: &dyn Fn(f64) -> f64| {
            let mut varied = *s;
            let value = place(&mut varied);
            *value = change(*value);
            let text = format!("{}{unit}", with_marks(*value, 2));
            (varied, text)
        };
        of(input, range, base, false, at(low), at(high))
    };
    let mut all: Vec<_> = DOLLARS
        .iter()
        .filter_map(|(input, place)| vary(input, "± 20 %", *place, &|x| x * 0.8, &|x| x * 1.2, " $"))
        .collect();
    all.extend(full_yield(s, base));
    let points: Place = |s| &mut s.drying_points;
    all.extend(vary("points of drying", "± 3 points", points, &|x| (x - 3.0).max(0.0), &|x| (x + 3.0).min(40.0), ""));
    let insurance: Place = |s| &mut s.costs.insurance;
    all.extend(vary("insurance payment", "none to what is given", insurance, &|_| 0.0, &|x| x, " $"));
    all
}

/// The yield level, down to the least for which the tables were made.
fn full_yield(s: &Situation, base: f64) -> Option<Sensitivity> {
    let least =
        [s.kept.matrix, s.replanted.matrix].into_iter().filter_map(YieldMatrix::least_yield).fold(1.0, f64::max);
    let wanted = [s.full_yield * 0.8, s.full_yield * 1.2];
    let inside = wanted.map(|bushels| bushels.clamp(least, 600.0));
    let at = |full_yield: f64| (Situation { full_yield, ..*s }, format!("{} bu/ac", with_marks(full_yield, 2)));
    let [low, high] = inside.map(at);
    of("yield of a perfect crop", "± 20 %", base, inside != wanted, low, high)
}

fn losses(s: &Situation, base: f64) -> Vec<Sensitivity> {
    type Place = fn(&mut Situation) -> &mut f64;
    const POINTS: [(&str, Place); 3] = [
        ("loss to late plants", |s| &mut s.kept.unevenness),
        ("loss to lost leaves", |s| &mut s.kept.leaves),
        ("allowance for replanting", |s| &mut s.replanted.allowance),
    ];
    let vary = |input, range, place: Place, low: &dyn Fn(f64) -> f64, high: &dyn Fn(f64) -> f64| {
        let at = |change: &dyn Fn(f64) -> f64| {
            let mut varied = *s;
            let value = place(&mut varied);
            *value = change(*value);
            let text = format!("{:.1} %", *value * 100.0);
            (varied, text)
        };
        of(input, range, base, false, at(low), at(high))
    };
    let most = gap_loss(GapPattern::Large).1;
    let gaps: Place = |s| &mut s.kept.gaps;
    let mut all: Vec<_> =
        vary("loss to gaps", "every published penalty, 0 to 6 %", gaps, &|_| 0.0, &|_| most).into_iter().collect();
    all.extend(POINTS.iter().filter_map(|(input, place)| {
        vary(input, "± 5 points", *place, &|x| (x - 0.05).max(0.0), &|x| (x + 0.05).min(1.0))
    }));
    all
}

/// The choice of table, over every one in which both plantings can be read.
fn tables(s: &Situation, base: f64) -> Option<Sensitivity> {
    let nets = YieldMatrix::ALL.iter().filter_map(|matrix| {
        let mut varied = *s;
        (varied.kept.matrix, varied.replanted.matrix) = (*matrix, *matrix);
        net(&varied).ok().map(|net| End { at: matrix.word().to_owned(), net })
    });
    let chosen = End { at: s.kept.matrix.word().to_owned(), net: base };
    let mut nets: Vec<_> = nets.chain([chosen]).collect();
    nets.sort_by(|a, b| a.net.total_cmp(&b.net));
    let (low, high) = (nets.first()?.clone(), nets.last()?.clone());
    let turns = (low.net > 0.0) != (high.net > 0.0);
    let swing = high.net - low.net;
    Some(Sensitivity {
        input: "published table",
        range: "every one that has both plantings",
        ends: [low, high],
        swing,
        turns,
        cut: false,
    })
}
