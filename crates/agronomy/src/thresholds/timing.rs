//! Degree days at which pests hatch, move and feed.

use ligule_units::DegreeDays;

use crate::catalogue::{Cell, Origin, Table};
use crate::error::{Error, within};

/// What a pest does from one sum of degree days to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// The pest, by its word.
    pub pest: &'static str,
    /// Where it was published for.
    pub region: &'static str,
    /// What goes on.
    pub what: &'static str,
    /// The sum at which it begins, Fahrenheit degree days.
    pub from: f64,
    /// The last whole degree day of it; `None` where the source gives a single sum.
    pub to: Option<f64>,
    /// Base, upper limit, form of the day's sum, and the day or event from which it is counted.
    pub counted: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// The sum from which people scout for cut plants, Fahrenheit degree days since an intense capture of black cutworm.
///
/// *Source:* University of Illinois Extension (2012), The Bulletin, article 1631, after J. Kaster and W. B. Showers
/// (1984), Environmental Entomology 13:384-389; Iowa, Indiana and Minnesota use 300 too.
pub const CUTWORM_SCOUTING: f64 = 300.0;

const CUTWORM: &str = "black-cutworm";
const SINCE_CAPTURE: &str = "base 50 °F, simple average, from an intense capture of moths";
const MISSOURI: &str = "University of Missouri IPM, black cutworm forecast";
const CLIPPED: &str = "38 to 75 °F, average clipped, from 1 March";
const STALK: &str = "base 41 °F, simple average, from 1 January";
const STALK_IOWA: &str = "Iowa State University Extension (1996, 2007) and University of Nebraska-Lincoln, CropWatch: \
    stalk borer migration";
const STALK_DAKOTA: &str =
    "South Dakota State University Extension (29 May 2025), Common stalk borer activity estimate";
const MAGGOT: &str = "South Dakota State University Extension (3 June 2021), Seedcorn maggot degree day activity \
    estimates, after R. C. Funderburk et al. (1984)";
const MAGGOT_COUNT: &str = "39 to 84 °F, maximum capped, air, from 1 January";

const fn event(pest: &'static str, region: &'static str, what: &'static str, sums: (f64, Option<f64>)) -> Event {
    let (from, to) = sums;
    Event { pest, region, what, from, to, counted: "", origin: Origin::Page, source: "" }
}

impl Event {
    const fn counted(self, counted: &'static str, source: &'static str) -> Self {
        Self { counted, source, ..self }
    }

    const fn memory(self) -> Self {
        Self { origin: Origin::Memory, ..self }
    }
}

/// Every event, by pest. Where sources differ all are kept.
pub const EVENTS: [Event; 25] = [
    event(CUTWORM, "US-MO", "eggs", (0.0, Some(90.0))).counted(SINCE_CAPTURE, MISSOURI),
    event(CUTWORM, "US-MO", "instars 1 to 3: leaf feeding", (91.0, Some(311.0))).counted(SINCE_CAPTURE, MISSOURI),
    event(CUTWORM, "US-MO", "instar 4: cutting starts", (312.0, Some(364.0))).counted(SINCE_CAPTURE, MISSOURI),
    event(CUTWORM, "US-MO", "instar 5: cutting", (365.0, Some(430.0))).counted(SINCE_CAPTURE, MISSOURI),
    event(CUTWORM, "US-MO", "instar 6: cutting slows", (431.0, Some(640.0))).counted(SINCE_CAPTURE, MISSOURI),
    event(CUTWORM, "US-MO", "pupae and moths: cutting is over", (641.0, Some(989.0))).counted(SINCE_CAPTURE, MISSOURI),
    event(CUTWORM, "US-MN", "egg hatch", (90.0, None))
        .counted(SINCE_CAPTURE, "University of Minnesota Extension (2016), black cutworm"),
    event("western-bean-cutworm", "US-NE", "25 % of the moths have flown: scout for eggs", (2_577.0, None)).counted(
        CLIPPED,
        "University of Nebraska-Lincoln, CropWatch (2021), Degree days prediction for western bean cutworm flight",
    ),
    event("western-bean-cutworm", "US-NE", "50 % of the moths have flown", (2_704.0, None))
        .counted(CLIPPED, "A. A. Hanson et al. (2015), Journal of Economic Entomology 108")
        .memory(),
    event("western-bean-cutworm", "US-NE", "75 % of the moths have flown", (2_836.0, None))
        .counted(CLIPPED, "A. A. Hanson et al. (2015), Journal of Economic Entomology 108")
        .memory(),
    event("stalk-borer", "US-IA, US-NE", "eggs hatch", (575.0, Some(750.0))).counted(STALK, STALK_IOWA),
    event("stalk-borer", "US-IA, US-NE", "scout", (1_300.0, Some(1_400.0))).counted(STALK, STALK_IOWA),
    event("stalk-borer", "US-IA, US-NE", "10 % of the larvae have left the grass", (1_400.0, None))
        .counted(STALK, STALK_IOWA),
    event("stalk-borer", "US-IA, US-NE", "larvae move: the time of a treatment, if one is justified", (1_400.0, Some(1_700.0)))
        .counted(STALK, STALK_IOWA),
    event("stalk-borer", "US-IA, US-NE", "50 % of the larvae have left the grass", (1_700.0, None))
        .counted(STALK, STALK_IOWA),
    event("stalk-borer", "US-SD", "10 % of the larvae move", (1_300.0, None)).counted(STALK, STALK_DAKOTA),
    event("stalk-borer", "US-SD", "50 % of the larvae move", (1_400.0, None)).counted(STALK, STALK_DAKOTA),
    event("seedcorn-maggot", "US-SD", "peak of flies that overwintered", (360.0, None)).counted(MAGGOT_COUNT, MAGGOT),
    event("seedcorn-maggot", "US-SD", "peak of the second generation of flies", (1_080.0, None))
        .counted(MAGGOT_COUNT, MAGGOT),
    event("seedcorn-maggot", "US-SD", "peak of the third generation of flies", (1_800.0, None))
        .counted(MAGGOT_COUNT, MAGGOT),
    event("corn-rootworm", "US-IA", "half of the eggs have hatched", (684.0, Some(767.0))).counted(
        "base 52 °F, soil at 4 in, from 1 January",
        "Iowa State University Extension (June 2016), Corn rootworm egg hatch peaking around Iowa",
    ),
    event("bean-leaf-beetle", "US-IA", "adults of the first generation peak", (1_212.0, None)).counted(
        "base 46 °F, from the emergence of the soybean",
        "Iowa State University Extension (16 July 2001, 2 July 2007), Integrated Crop Management, bean leaf beetle",
    ),
    event("black-cutworm", "US-IL", "scout for cut plants", (CUTWORM_SCOUTING, None)).counted(
        SINCE_CAPTURE,
        "University of Illinois Extension (2012), The Bulletin, article 1631, after J. Kaster and W. B. Showers (1984), \
         Environmental Entomology 13:384-389",
    ),
    event("black-cutworm", "US-IA, US-IN", "scout for cut plants", (CUTWORM_SCOUTING, None))
        .counted(SINCE_CAPTURE, "Iowa State University and Purdue University (2015, 2022) Extension, black cutworm"),
    event("black-cutworm", "US-MN", "cutting begins", (CUTWORM_SCOUTING, None))
        .counted(SINCE_CAPTURE, "University of Minnesota Extension (2016), black cutworm: just after 300"),
];

/// Returns the stage of black cutworm at a sum of degree days since an intense capture of moths.
///
/// The printed limits are whole degree days; a stage lasts until the next begins.
///
/// *Holds:* 0 to 989 °F degree days, base 50 °F, simple average; Missouri. *Errors:* [`Error::OutsideTable`] beyond
/// 989, [`Error::OutOfRange`] below 0. *Source:* University of Missouri IPM, black cutworm forecast.
///
/// ```
/// use ligule_units::DegreeDays;
/// let stage = ligule_agronomy::thresholds::cutworm_stage(DegreeDays::from_fahrenheit(312.0))?;
/// assert_eq!(stage.what, "instar 4: cutting starts");
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn cutworm_stage(sum: DegreeDays) -> Result<&'static Event, Error> {
    let sum = within("a sum of degree days", sum.fahrenheit(), 0.0, 1e6, " °F days")?;
    let mut stages = EVENTS.iter().filter(|event| event.pest == CUTWORM && event.region == "US-MO");
    let last = stages.clone().filter_map(|event| event.to).fold(0.0, f64::max);
    // A sum that came through Celsius is off by a rounding error.
    if sum > last + 1e-6 {
        return Err(Error::OutsideTable {
            table: "the stages of black cutworm",
            what: "degree days",
            covers: format!("0 to {last}"),
            came: format!("{sum:.0}"),
        });
    }
    let begun = stages.rfind(|event| event.from <= sum + 1e-6);
    Ok(begun.expect("the first stage begins at 0"))
}

pub(crate) fn tables() -> Vec<Table> {
    let table = Table::new(
        "pest-degree-days",
        "Degree days at which pests hatch, move and feed",
        "A sum means nothing without its base, its form and the day from which it is counted. The stalk borer's sums are \
         contested.",
        ["pest", "region", "what", "from, °F days", "to, °F days", "counted"],
    );
    vec![EVENTS.iter().fold(table, |table, event| {
        let cells: [Cell; 6] = [
            event.pest.into(),
            event.region.into(),
            event.what.into(),
            event.from.into(),
            event.to.into(),
            event.counted.into(),
        ];
        table.row(cells, event.origin, event.source)
    })]
}
