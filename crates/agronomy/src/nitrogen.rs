//! The nitrate test before sidedressing corn, and what two states make of it.

use ligule_units::Length;

use crate::catalogue::{Answer, Input, Origin, Table, Takes, Worksheet};
use crate::error::{Error, within};

/// The season before an Iowa test, which sets the critical level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum IowaSpring {
    /// Rain near normal.
    Normal,
    /// More than 20 % above normal since 1 April.
    Wet,
    /// The same, on a field with manure.
    WetAndManured,
}

words!(IowaSpring, "spring", { Normal => "normal", Wet => "wet", WetAndManured => "wet-and-manured" });

impl IowaSpring {
    /// Returns the nitrate at or above which no nitrogen is advised, ppm nitrate-N in the top foot.
    ///
    /// *Source:* normal: Iowa State University CROP 3140 (2017), 25 ppm; wet: 21 ppm and wet with manure: 15 ppm,
    /// Iowa State University Extension, June 2004 (CROP 3140 prints 20 to 22 for a wet spring).
    pub const fn critical(self) -> f64 {
        match self {
            Self::Normal => 25.0,
            Self::Wet => 21.0,
            Self::WetAndManured => 15.0,
        }
    }
}

/// Nitrogen for each ppm that a test lies below the critical level, lb/ac. *Source:* Iowa State University (2004).
pub const IOWA_FACTOR: f64 = 8.0;

const IOWA: &str = "Iowa State University Extension, CROP 3140 (2017); B. Lang (21 June 2004), late-spring nitrate test, \
    as the press prints it";

fn valid_nitrate(ppm: f64) -> Result<f64, Error> {
    within("a soil nitrate test", ppm, 0.0, 500.0, " ppm")
}

/// Returns the nitrogen to sidedress after Iowa's late-spring test: (critical − test) × 8, none at or above critical.
///
/// *Units:* ppm nitrate-N in the top 12 in; lb N/ac out. *Holds:* corn 6 to 12 in tall, Iowa; tests of 0 to 500 ppm.
/// *Errors:* [`Error::OutOfRange`]. *Source:* Iowa State University Extension, see [`IowaSpring::critical`].
///
/// The example of 2004, a wet spring: (21 − 10) × 8.
/// ```
/// use ligule_agronomy::nitrogen::{IowaSpring, iowa_sidedress};
/// assert_eq!(iowa_sidedress(10.0, IowaSpring::Wet)?, 88.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn iowa_sidedress(ppm: f64, spring: IowaSpring) -> Result<f64, Error> {
    Ok((spring.critical() - valid_nitrate(ppm)?).max(0.0) * IOWA_FACTOR)
}

/// A class of Ohio's table: the last whole ppm of it, and what is taken off the rate, lb N/ac.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OhioClass {
    /// The first whole ppm.
    pub from: u16,
    /// The last whole ppm; `None` for the class that has no end.
    pub to: Option<u16>,
    /// What is taken off the rate, lb N/ac; `None` where no nitrogen is advised.
    pub less: Option<f64>,
}

/// Ohio's adjustment of the economic optimum rate. *Source:* Ohio State University Extension, Pre-sidedress nitrogen
/// test to adjust N rates.
pub const OHIO: [OhioClass; 5] = [
    OhioClass { from: 0, to: Some(10), less: Some(0.0) },
    OhioClass { from: 11, to: Some(15), less: Some(30.0) },
    OhioClass { from: 16, to: Some(20), less: Some(45.0) },
    OhioClass { from: 21, to: Some(25), less: Some(90.0) },
    OhioClass { from: 26, to: None, less: None },
];

const OHIO_SOURCE: &str = "Ohio State University Extension, Pre-sidedress nitrogen test to adjust N rates";

/// Returns the nitrogen to sidedress after Ohio's table: the rate less the class's amount, none over 25 ppm.
///
/// The classes are of whole ppm, so the test is a whole number here: the source leaves open what 15.5 is.
///
/// *Units:* ppm nitrate-N in the top 12 in, the economic optimum rate in lb N/ac; lb N/ac out, never below 0. *Holds:*
/// Ohio; rates of 0 to 500 lb/ac. *Errors:* [`Error::OutOfRange`]. *Source:* see [`OHIO`].
///
/// 156 lb/ac at 19 ppm: 45 less.
/// ```
/// assert_eq!(ligule_agronomy::nitrogen::ohio_sidedress(156.0, 19)?, 111.0);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn ohio_sidedress(rate: f64, ppm: u16) -> Result<f64, Error> {
    let rate = within("a rate of nitrogen", rate, 0.0, 500.0, " lb/ac")?;
    valid_nitrate(ppm.into())?;
    let class = OHIO.iter().find(|class| class.to.is_none_or(|last| ppm <= last)).expect("the last class has no end");
    Ok(class.less.map_or(0.0, |less| (rate - less).max(0.0)))
}

/// Soil of an acre, a foot deep, million pounds. Arithmetic behind the printed factor of 3.6.
const MILLION_POUNDS_A_FOOT: f64 = 3.6;

/// Returns the nitrate nitrogen in a depth of soil, from a test in ppm.
///
/// *Units:* ppm, the depth sampled; lb N/ac out. *Holds:* soil of 3.6 million lb an acre-foot (others take 4: 20 ppm is
/// 80 lb, not 72); 1 to 48 in. *Errors:* [`Error::OutOfRange`]. *Source:* 25 ppm in 12 in is about 90 lb/ac, as advisers
/// print it; University of Illinois takes 4.
///
/// ```
/// use ligule_units::Length;
/// let nitrogen = ligule_agronomy::nitrogen::nitrate_in_soil(25.0, Length::from_inches(12.0))?;
/// assert!((nitrogen - 90.0).abs() < 1e-9);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn nitrate_in_soil(ppm: f64, depth: Length) -> Result<f64, Error> {
    let depth = within("a sampled depth", depth.inches(), 1.0, 48.0, " in")?;
    Ok(valid_nitrate(ppm)? * MILLION_POUNDS_A_FOOT * depth / 12.0)
}

pub(crate) fn tables() -> Vec<Table> {
    let iowa = Table::new(
        "nitrate-iowa",
        "Iowa late-spring nitrate test: critical levels, top foot",
        "Corn 6 to 12 in tall. Below the level 8 lb N/ac for each ppm. A wet spring is printed as 20 to 22 ppm too; in wet \
         2001 none was advised over 10 ppm.",
        ["spring", "critical, ppm nitrate-N"],
    );
    let iowa = IowaSpring::ALL
        .iter()
        .fold(iowa, |table, spring| table.row([spring.word().into(), spring.critical().into()], Origin::Page, IOWA));
    let ohio = Table::new(
        "nitrate-ohio",
        "Ohio nitrate test before sidedressing: what is taken off the economic optimum rate",
        "Classes of whole ppm. At exactly 25 ppm Iowa advises none and Ohio 90 less.",
        ["from, ppm", "to, ppm", "less, lb N/ac"],
    );
    let ohio = OHIO.iter().fold(ohio, |table, class| {
        let less = class.less.map_or_else(|| "all: none advised".into(), Into::into);
        table.row([f64::from(class.from).into(), class.to.map(f64::from).into(), less], Origin::Page, OHIO_SOURCE)
    });
    vec![iowa, ohio]
}

pub(crate) const WORKSHEETS: &[Worksheet] = &[
    Worksheet {
        name: "nitrate-iowa",
        title: "Nitrogen to sidedress after Iowa's late-spring nitrate test",
        inputs: &[
            Input::required("test", Takes::Quantity("mg/kg"), "Nitrate nitrogen in the top foot of soil"),
            Input::usual("spring", Takes::Word(IowaSpring::WORDS), "normal", "Rain since 1 April, and manure"),
        ],
        source: IOWA,
        example: "--test 10 --spring wet",
        work: |given| {
            let (ppm, spring) = (given.number("test"), given.text("spring").parse::<IowaSpring>()?);
            let nitrogen = iowa_sidedress(ppm, spring)?;
            let critical = spring.critical();
            Ok(Answer::default()
                .step(format!("({critical} ppm − {ppm} ppm) × {IOWA_FACTOR} lb/ac for each ppm = {nitrogen:.1} lb/ac"))
                .number("nitrogen to sidedress", nitrogen, 0, "lb/ac")
                .remark("Corn 6 to 12 in tall, cores of 0 to 12 in. At or above the critical level none is advised.")
                .remark(
                    "A wet spring is printed as 20 to 22 ppm as well; 21 is taken. Local rules on nitrogen come first.",
                ))
        },
    },
    Worksheet {
        name: "nitrate-ohio",
        title: "Nitrogen to sidedress after Ohio's nitrate test",
        inputs: &[
            Input::required("rate", Takes::Number("lb/ac"), "Economic optimum rate of nitrogen"),
            Input::required("test", Takes::Quantity("mg/kg"), "Nitrate nitrogen in the top foot of soil, whole ppm"),
        ],
        source: OHIO_SOURCE,
        example: "--rate 156 --test 19",
        work: |given| {
            let (rate, test) = (given.number("rate"), valid_nitrate(given.number("test"))?);
            if (test - test.round()).abs() > 1e-9 {
                return Err(Error::OutsideTable {
                    table: "Ohio's nitrate test",
                    what: "tests",
                    covers: "of whole ppm".to_owned(),
                    came: format!("{test} ppm"),
                });
            }
            // In range above, and whole.
            let nitrogen = ohio_sidedress(rate, test.round() as u16)?;
            Ok(Answer::default()
                .step(format!("{rate} lb/ac, less what the class of {test:.0} ppm takes off = {nitrogen:.1} lb/ac"))
                .number("nitrogen to sidedress", nitrogen, 0, "lb/ac")
                .remark("Over 25 ppm none is advised. Local rules on nitrogen come first."))
        },
    },
];
