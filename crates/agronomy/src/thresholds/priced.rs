//! Thresholds that move with the price of corn: stalk borer and spider mites.

use crate::catalogue::{Origin, Table};
use crate::error::{Error, within};
use crate::stage::CornStage;
use crate::thresholds::economic::{valid_cost, valid_price, valid_yield};

/// Infested plants, per cent, at V1 to V7 with corn at [`STALK_BORER_PRICE`].
///
/// *Source:* [`STALK_BORER_SOURCE`].
pub const STALK_BORER: [f64; 7] = [10.0, 12.0, 15.0, 16.0, 17.0, 34.0, 100.0];

/// The price of corn that [`STALK_BORER`] was reckoned with, $/bu.
pub const STALK_BORER_PRICE: f64 = 2.0;

/// Where [`STALK_BORER`] comes from.
pub const STALK_BORER_SOURCE: &str = "Iowa State University Extension, Integrated Crop Management (28 May 2001), 2001 \
    stalk borer migration is upcoming: economic thresholds at $2 per bushel";

/// Returns the share of plants with a live stalk borer in the whorl at which a treatment of the rows beside grass is
/// published to pay, in per cent, with corn at another price.
///
/// The price divides the threshold at 2 $/bu; it ends at 100 %. The scaling follows from the injury level and is no
/// published table.
///
/// *Units:* $/bu in, per cent of plants out. *Holds:* V1 to V7 in Iowa, with the cost and yield of the source; prices
/// of 0.01 to 1,000 $/bu. At V7 only 2 $/bu or less, because the printed 100 may itself be an end. *Errors:*
/// [`Error::OutsideTable`], [`Error::OutOfRange`]. *Source:* [`STALK_BORER_SOURCE`].
///
/// V3, printed 15 % at 2 $/bu; half at 4 $/bu (computed by hand):
/// ```
/// use ligule_agronomy::thresholds::stalk_borer_threshold;
/// assert_eq!(stalk_borer_threshold("V3".parse()?, 2.0)?, 15.0);
/// assert_eq!(stalk_borer_threshold("V3".parse()?, 4.0)?, 7.5);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn stalk_borer_threshold(stage: CornStage, price: f64) -> Result<f64, Error> {
    let price = valid_price(price)?;
    let outside = |what, covers: &str, came: String| Error::OutsideTable {
        table: "the threshold for stalk borer",
        what,
        covers: covers.to_owned(),
        came,
    };
    let row = stage.collars().and_then(|collars| usize::from(collars).checked_sub(1));
    let at_two = row.and_then(|row| STALK_BORER.get(row));
    let at_two = *at_two.ok_or_else(|| outside("stages", "V1 to V7", stage.to_string()))?;
    if at_two >= 100.0 && price > STALK_BORER_PRICE {
        return Err(outside("V7", "to $2.00/bu", format!("${price:.2}/bu")));
    }
    Ok((at_two * STALK_BORER_PRICE / price).min(100.0))
}

/// Per cent of green leaves with mites, times the worth of the crop, for each dollar of cost.
///
/// *Source:* [`MITE_SOURCE`].
pub const MITE_LEAVES: f64 = 600.0;

/// Per cent of leaf area damaged, times the worth of the crop, for each dollar of cost.
///
/// *Source:* [`MITE_SOURCE`].
pub const MITE_AREA: f64 = 312.0;

/// Where [`MITE_LEAVES`] and [`MITE_AREA`] come from.
pub const MITE_SOURCE: &str = "University of Nebraska-Lincoln, CropWatch (25 July 2013), Managing spider mites in corn \
    and soybean: thresholds and treatments, from research in Texas";

/// The two economic injury levels of spider mites in corn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MiteLevels {
    /// Green leaves with live mites, per cent of all green leaves: asked first.
    pub leaves: f64,
    /// Leaf area damaged, per cent: asked where the first is reached.
    pub area: f64,
}

/// Returns the economic injury levels of Banks grass mite and twospotted spider mite in corn.
///
/// *Units:* $/ac, $/bu, bu/ac in; per cent out, over 100 where no infestation pays for the treatment. *Holds:* before
/// dent (Iowa) or hard dough (Nebraska). *Errors:* [`Error::OutOfRange`]. *Source:* [`MITE_SOURCE`].
///
/// 25 $/ac, 4.50 $/bu, 200 bu/ac (computed by hand):
/// ```
/// let levels = ligule_agronomy::thresholds::mite_levels(25.0, 4.5, 200.0)?;
/// assert!((levels.leaves - 16.67).abs() < 0.005 && (levels.area - 8.67).abs() < 0.005);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn mite_levels(cost: f64, price: f64, yield_per_acre: f64) -> Result<MiteLevels, Error> {
    let share = valid_cost(cost)? / (valid_price(price)? * valid_yield(yield_per_acre)?);
    Ok(MiteLevels { leaves: share * MITE_LEAVES, area: share * MITE_AREA })
}

/// Bean leaf beetles on a seedling that a treatment of 10 $/ac is published to pay for, and the price of soybean.
struct BeetleFigure {
    stage: &'static str,
    beetles: f64,
    cost: f64,
    price: Option<f64>,
    source: &'static str,
}

const BEETLES: [BeetleFigure; 4] = [
    BeetleFigure {
        stage: "VC",
        beetles: 4.0,
        cost: 10.0,
        price: None,
        source: "Iowa State University Extension, Integrated Crop Management, bean leaf beetle in seedling soybean: 4.0 a \
                 plant, printed as 30.4 a foot of row",
    },
    BeetleFigure {
        stage: "VC",
        beetles: 4.0,
        cost: 10.0,
        price: Some(5.0),
        source: "M. Catangui, South Dakota State University Extension, at 40 bu/ac, as the press reports it",
    },
    BeetleFigure {
        stage: "V1",
        beetles: 5.2,
        cost: 10.0,
        price: Some(6.0),
        source: "Iowa State University, as University of Illinois Extension, The Bulletin (26 May 2006), article 529 \
                 reports it",
    },
    BeetleFigure {
        stage: "V1",
        beetles: 6.08,
        cost: 11.0,
        price: Some(7.5),
        source: "T. E. Hunt, L. G. Higley, J. F. Witkowski (1995), Agronomy Journal 87:183-188, as University of \
                 Illinois Extension, The Bulletin (25 May 2012), article 1645 reports it",
    },
];

/// Returns a published threshold at another cost and another price: it rises with the cost and falls with the price.
///
/// *Units:* the threshold in any unit; costs and prices each in one unit. *Holds:* thresholds that are economic injury
/// levels, all else equal. *Errors:* [`Error::OutOfRange`]. *Source:* follows from the economic injury level, see
/// [`super::economic_injury_level`]; not a published table.
///
/// Bean leaf beetle, printed as 40 a foot of row at 10 $/ac and as 16 at 4 $/ac (M. Catangui, South Dakota State
/// University Extension):
/// ```
/// let at_four = ligule_agronomy::thresholds::rescaled(40.0, (10.0, 4.0), (5.0, 5.0))?;
/// assert!((at_four - 16.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn rescaled(threshold: f64, cost: (f64, f64), price: (f64, f64)) -> Result<f64, Error> {
    let threshold = within("a threshold", threshold, 0.0, 1e9, "")?;
    let old_cost = within("a cost of treatment", cost.0, 0.01, 10_000.0, " $/ac")?;
    Ok(threshold * valid_cost(cost.1)? / old_cost * valid_price(price.0)? / valid_price(price.1)?)
}

/// Returns beetles for each foot of row from beetles for each plant.
///
/// *Units:* plants for each foot of row. *Holds:* 0.1 to 60 plants a foot. *Errors:* [`Error::OutOfRange`].
/// *Source:* definition.
///
/// 4.0 a plant on 7.6 plants a foot, printed as 30.4 (Iowa State University Extension):
/// ```
/// assert!((ligule_agronomy::thresholds::per_foot_of_row(4.0, 7.6)? - 30.4).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn per_foot_of_row(per_plant: f64, plants_per_foot: f64) -> Result<f64, Error> {
    let plants = within("a stand", plants_per_foot, 0.1, 60.0, " plants a foot")?;
    Ok(within("a count on each plant", per_plant, 0.0, 1e6, "")? * plants)
}

pub(crate) fn tables() -> Vec<Table> {
    let stalk = Table::new(
        "stalk-borer-threshold",
        "Stalk borer in corn: plants with a live larva in the whorl, per cent, with corn at $2.00/bu",
        "Iowa. The price divides the threshold (derived, no published table); at V7 no price over $2.00. Only the first \
         four rows beside grass; a larva in the stalk is out of reach.",
        ["leaf stage", "plants infested, %"],
    );
    let stalk = STALK_BORER.iter().zip(1..).fold(stalk, |table, (&threshold, leaves)| {
        table.row([format!("V{leaves}").into(), threshold.into()], Origin::Page, STALK_BORER_SOURCE)
    });
    let mites = Table::new(
        "spider-mite-factors",
        "Spider mites in corn: the injury level is the cost times this factor over the worth of the crop",
        "Before dent (Iowa) or hard dough (Nebraska). First the leaves, then the area.",
        ["measure", "factor, %"],
    )
    .row(["green leaves with mites".into(), MITE_LEAVES.into()], Origin::Page, MITE_SOURCE)
    .row(["leaf area damaged".into(), MITE_AREA.into()], Origin::Page, MITE_SOURCE);
    let beetles = Table::new(
        "bean-leaf-beetle-levels",
        "Bean leaf beetle in seedling soybean: economic injury levels as they are printed",
        "Without regard to bean pod mottle virus, which the beetles carry; where it spreads they do not hold. Studies \
         differ in yield and loss, so rows cannot be reckoned into each other.",
        ["stage", "beetles a plant", "cost, $/ac", "price, $/bu"],
    );
    let beetles = BEETLES.iter().fold(beetles, |table, row| {
        table.row([row.stage.into(), row.beetles.into(), row.cost.into(), row.price.into()], Origin::Page, row.source)
    });
    vec![stalk, mites, beetles]
}
