//! What a field's counts say of a published threshold.

use ligule_units::Length;

use crate::catalogue::Answer;
use crate::error::{Error, within};
use crate::statistics::{USUAL_LEVEL, wilson_interval};
use crate::thresholds::measure::{Kind, Measure};
use crate::thresholds::threshold::{Condition, CropStage, Larvae, Limit, Threshold};

/// One measure as it was recorded.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// Found among those looked at.
    Found {
        /// How many were found.
        found: u64,
        /// How many were looked at.
        of: u64,
    },
    /// Found among those looked at, visit by visit.
    Visits(Vec<(u64, u64)>),
    /// A number in the measure's unit; per cent for a share, which then has no interval.
    Amount(f64),
    /// Yes or no.
    Fact(bool),
}

impl Reading {
    /// Reads `7/250`, `2/100+2/100+1/100`, `2.8`, `yes` or `no`.
    pub fn read(text: &str) -> Option<Self> {
        let pair = |text: &str| {
            let (found, of) = text.split_once('/')?;
            Some((found.trim().parse().ok()?, of.trim().parse().ok()?))
        };
        match text.trim() {
            "yes" => Some(Self::Fact(true)),
            "no" => Some(Self::Fact(false)),
            text if text.contains('+') => text.split('+').map(pair).collect::<Option<_>>().map(Self::Visits),
            text if text.contains('/') => pair(text).map(|(found, of)| Self::Found { found, of }),
            text => text.parse().ok().map(Self::Amount),
        }
    }
}

/// What was recorded in a field on a day.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Recorded {
    stage: Option<CropStage>,
    larva: Option<Length>,
    readings: Vec<(&'static str, Reading)>,
}

impl Recorded {
    /// Adds the growth stage.
    #[must_use]
    pub fn at(mut self, stage: CropStage) -> Self {
        self.stage = Some(stage);
        self
    }

    /// Adds the length of the larvae.
    #[must_use]
    pub fn larvae_of(mut self, length: Length) -> Self {
        self.larva = Some(length);
        self
    }

    /// Adds a measure; a second reading of one measure takes the place of the first.
    #[must_use]
    pub fn with(mut self, measure: Measure, reading: Reading) -> Self {
        self.readings.retain(|(name, _)| *name != measure.name);
        self.readings.push((measure.name, reading));
        self
    }

    /// Returns what was recorded of a measure.
    pub fn reading(&self, measure: Measure) -> Option<&Reading> {
        self.readings.iter().find(|(name, _)| *name == measure.name).map(|(_, reading)| reading)
    }
}

/// What a threshold says of a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Not all is recorded that the threshold asks for.
    NotEnoughRecorded,
    /// The threshold is not made for this stage, this size of larvae, or this time.
    OutsideItsWindow,
    /// Below the threshold.
    Below,
    /// Between the two numbers that the source prints.
    InTheBand,
    /// At or above the threshold.
    AtOrAbove,
}

impl Verdict {
    /// Returns what the reader is told.
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotEnoughRecorded => "not enough recorded",
            Self::OutsideItsWindow => "outside its window",
            Self::Below => "below the published threshold",
            Self::InTheBand => "in the band of the published threshold",
            Self::AtOrAbove => "at or above the published threshold",
        }
    }
}

/// A threshold held against a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// What it says.
    pub verdict: Verdict,
    /// The measure compared alone, whatever the window and the other conditions; `None` if it was not recorded.
    pub measured: Option<Verdict>,
    /// The measure, in its unit.
    pub value: Option<f64>,
    /// The Wilson interval of a share, per cent, at [`USUAL_LEVEL`]; too narrow where plants beside each other were
    /// looked at.
    pub interval: Option<(f64, f64)>,
    /// Whether that interval holds the number that decides, so that another sample could turn the verdict.
    pub near: bool,
    /// What was compared with what, what is missing, what lies outside.
    pub reasons: Vec<String>,
}

/// What a measure came to.
struct Measured {
    value: f64,
    interval: Option<(f64, f64)>,
}

impl Threshold {
    /// Holds the threshold against what was recorded.
    ///
    /// The window, the size of the larvae and the other conditions are looked at first; a measure below the threshold
    /// is below it whatever else is missing. It never says what to do.
    ///
    /// *Units:* those of each measure; per cent for shares. *Holds:* where the threshold was published, see
    /// [`Threshold::regions`]. *Errors:* [`Error::Thresholds`] for a stage of another crop or a reading that does not
    /// fit the measure; [`Error::MoreFoundThanLookedAt`], [`Error::TooFew`], [`Error::OutOfRange`].
    ///
    /// Iowa, 7 of 250 plants cut by larvae of 5/8 in at V3: inside the band of 2 to 3 %, whose interval holds 2 %.
    /// ```
    /// use ligule_agronomy::thresholds::{CropStage, Reading, Recorded, Verdict, measure, published};
    /// use ligule_units::Length;
    /// let recorded = Recorded::default()
    ///     .at(CropStage::Corn("V3".parse()?))
    ///     .larvae_of(Length::from_inches(0.625))
    ///     .with(measure::PLANTS_CUT, Reading::Found { found: 7, of: 250 });
    /// let classic = published("black-cutworm", "US-IA").next().expect("listed");
    /// let assessment = classic.evaluate(&recorded)?;
    /// assert_eq!((classic.name, assessment.verdict), ("classic, small larvae", Verdict::InTheBand));
    /// assert!(assessment.near);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn evaluate(&self, recorded: &Recorded) -> Result<Assessment, Error> {
        let mut reasons = Vec::new();
        let (mut outside, mut missing, mut short) = (false, false, false);
        if self.stages != ("", "") {
            match recorded.stage {
                None => {
                    missing = true;
                    reasons.push(format!("no growth stage recorded; it holds {}", self.stages_in_words()));
                }
                Some(stage) if stage.crop() != self.crop => {
                    let expected = "a stage of the crop that the threshold is for";
                    return Err(Error::Thresholds { expected, came: format!("{stage} of the other crop") });
                }
                Some(stage) if !self.holds_at(stage) => {
                    outside = true;
                    reasons.push(format!("stage {stage}: it holds {}", self.stages_in_words()));
                }
                Some(_) => {}
            }
        }
        match recorded.larva {
            _ if self.larvae == Larvae::Any => {}
            None => {
                missing = true;
                reasons.push(format!("no length of larvae recorded; it holds for larvae {}", self.larvae));
            }
            Some(length) => {
                let length = Length::from_inches(within("a length of larvae", length.inches(), 0.0, 10.0, " in")?);
                if !self.larvae.include(length) {
                    outside = true;
                    reasons.push(format!("larvae of {:.3} in: it holds for larvae {}", length.inches(), self.larvae));
                }
            }
        }
        for Condition { measure, limit, timing } in self.also {
            match recorded.reading(*measure).map(|reading| value_of(*measure, reading)).transpose()? {
                None => {
                    missing = true;
                    reasons.push(format!(
                        "{} not recorded; {} is asked for",
                        measure.text,
                        with_unit(*limit, *measure)
                    ));
                }
                Some(found) if level(found.value, *limit) == Verdict::Below => {
                    *(if *timing { &mut outside } else { &mut short }) = true;
                    let value = shown(found.value, *measure);
                    reasons.push(format!("{}: {value}; {} is asked for", measure.text, with_unit(*limit, *measure)));
                }
                Some(_) => {}
            }
        }
        let found = recorded.reading(self.measure).map(|reading| value_of(self.measure, reading)).transpose()?;
        let measured = found.as_ref().map(|found| level(found.value, self.limit));
        let asked = with_unit(self.limit, self.measure);
        reasons.insert(
            0,
            match &found {
                Some(found) => {
                    format!("{}: {}; threshold {asked}", self.measure.text, shown(found.value, self.measure))
                }
                None => format!("{} not recorded; threshold {asked}", self.measure.text),
            },
        );
        let verdict = if outside {
            Verdict::OutsideItsWindow
        } else if short || measured == Some(Verdict::Below) {
            Verdict::Below
        } else if missing {
            Verdict::NotEnoughRecorded
        } else {
            measured.unwrap_or(Verdict::NotEnoughRecorded)
        };
        let interval = found.as_ref().and_then(|found| found.interval);
        let near = interval.is_some_and(|(low, high)| level(low, self.limit) != level(high, self.limit));
        Ok(Assessment { verdict, measured, value: found.map(|found| found.value), interval, near, reasons })
    }
}

/// Shares are whole numbers of plants over whole numbers: what lies on a limit but for rounding lies on it.
const ON_THE_LIMIT: f64 = 1e-9;

fn level(value: f64, limit: Limit) -> Verdict {
    let reached = |yes| if yes { Verdict::AtOrAbove } else { Verdict::Below };
    match limit {
        Limit::AtLeast(limit) => reached(value >= limit - ON_THE_LIMIT),
        Limit::Above(limit) => reached(value > limit + ON_THE_LIMIT),
        Limit::AtMost(limit) => reached(value <= limit + ON_THE_LIMIT),
        Limit::Under(limit) => reached(value < limit - ON_THE_LIMIT),
        Limit::Band(low, _) if value < low - ON_THE_LIMIT => Verdict::Below,
        Limit::Band(_, high) if value < high - ON_THE_LIMIT => Verdict::InTheBand,
        Limit::Band(..) => Verdict::AtOrAbove,
        Limit::Yes => reached(value > 0.0),
    }
}

fn value_of(measure: Measure, reading: &Reading) -> Result<Measured, Error> {
    let per_cent = |found: u64, of: u64| {
        let (low, high) = wilson_interval(found, of, USUAL_LEVEL)?;
        Ok::<_, Error>((100.0 * found as f64 / of as f64, (100.0 * low, 100.0 * high)))
    };
    match (measure.kind, reading) {
        (Kind::Share, Reading::Found { found, of }) => {
            let (value, interval) = per_cent(*found, *of)?;
            Ok(Measured { value, interval: Some(interval) })
        }
        (Kind::CumulativeShare, Reading::Found { found, of }) => {
            Ok(Measured { value: per_cent(*found, *of)?.0, interval: None })
        }
        (Kind::CumulativeShare, Reading::Visits(visits)) => {
            let shares: Vec<f64> =
                visits.iter().map(|(found, of)| Ok(per_cent(*found, *of)?.0)).collect::<Result<_, Error>>()?;
            Ok(Measured { value: shares.iter().sum(), interval: None })
        }
        (Kind::Share | Kind::CumulativeShare | Kind::Amount, Reading::Amount(value)) => {
            let most = if measure.kind == Kind::Share { 100.0 } else { 1e9 };
            Ok(Measured { value: within("a recorded measure", *value, 0.0, most, "")?, interval: None })
        }
        (Kind::Fact, Reading::Fact(yes)) => Ok(Measured { value: f64::from(u8::from(*yes)), interval: None }),
        (kind, reading) => {
            let expected = match kind {
                Kind::Share => "found of looked at (`7/250`) or per cent (`2.8`)",
                Kind::CumulativeShare => "visits (`2/100+1/100`) or per cent added (`3`)",
                Kind::Amount => "a number",
                Kind::Fact => "yes or no",
            };
            Err(Error::Thresholds { expected, came: format!("{reading:?} for `{}`", measure.name) })
        }
    }
}

fn shown(value: f64, measure: Measure) -> String {
    match (measure.kind, measure.unit) {
        (Kind::Fact, _) => (if value > 0.0 { "yes" } else { "no" }).to_owned(),
        (_, "") => format!("{}", (value * 1e4).round() / 1e4),
        (_, unit) => format!("{} {unit}", (value * 1e4).round() / 1e4),
    }
}

/// Shows a limit with its unit, a level that was reckoned to four decimals.
fn with_unit(limit: Limit, measure: Measure) -> String {
    let shown = |limit: f64| shown(limit, measure);
    match limit {
        Limit::AtLeast(limit) => format!("{} or more", shown(limit)),
        Limit::Above(limit) => format!("more than {}", shown(limit)),
        Limit::AtMost(limit) => format!("{} or less", shown(limit)),
        Limit::Under(limit) => format!("less than {}", shown(limit)),
        Limit::Band(low, high) => format!("{low} to {}", shown(high)),
        Limit::Yes => "yes".to_owned(),
    }
}

/// Shows an assessment as part of an answer.
pub(crate) fn show(answer: Answer, name: &'static str, assessment: &Assessment) -> Answer {
    let mut answer = assessment.reasons.iter().fold(answer, |answer, reason| answer.step(reason.as_str()));
    let mut words = assessment.verdict.words().to_owned();
    if assessment.verdict == Verdict::OutsideItsWindow
        && let Some(measured) = assessment.measured
    {
        words = format!("{words}; the measure alone is {}", measured.words());
    }
    if let Some((low, high)) = assessment.interval {
        answer = answer.step(format!("95 % interval (Wilson) {low:.2} to {high:.2} %"));
    }
    answer = answer.words(name, words);
    if assessment.near && assessment.verdict >= Verdict::Below {
        answer = answer.remark(format!(
            "{name}: near the threshold: the 95 % interval reaches across it, so another sample could turn the answer. \
             Look again in 2 to 3 days."
        ));
    }
    answer
}
