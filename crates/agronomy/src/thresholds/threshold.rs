//! A published threshold as data: where, what, how much, when, and who says so.

use std::fmt;

use ligule_units::Length;

use crate::catalogue::Origin;
use crate::stage::{CornStage, SoybeanStage};
use crate::thresholds::measure::Measure;

/// The crop a threshold is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Crop {
    /// Corn.
    Corn,
    /// Soybean.
    Soybean,
}

/// A stage of either crop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CropStage {
    /// Of corn.
    Corn(CornStage),
    /// Of soybean. A V stage means that no flower is open: once one is, the R stage is what is recorded.
    Soybean(SoybeanStage),
}

impl CropStage {
    /// Returns the crop.
    pub const fn crop(self) -> Crop {
        match self {
            Self::Corn(_) => Crop::Corn,
            Self::Soybean(_) => Crop::Soybean,
        }
    }

    /// Reads a stage of a crop.
    ///
    /// *Errors:* [`crate::Error::UnknownStage`].
    pub fn read(crop: Crop, text: &str) -> Result<Self, crate::Error> {
        Ok(match crop {
            Crop::Corn => Self::Corn(text.parse()?),
            Crop::Soybean => Self::Soybean(text.parse()?),
        })
    }

    /// Returns its place in the season.
    fn place(self) -> (u8, u8) {
        match self {
            Self::Corn(stage) => (0, stage.collars().unwrap_or(31 + stage.reproductive_number().unwrap_or(0))),
            Self::Soybean(SoybeanStage::Emergence) => (0, 0),
            Self::Soybean(SoybeanStage::Cotyledon) => (0, 1),
            Self::Soybean(SoybeanStage::Node(nodes)) => (0, nodes.saturating_add(1)),
            Self::Soybean(SoybeanStage::Reproductive(number)) => (1, number),
        }
    }
}

impl fmt::Display for CropStage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Corn(stage) => stage.fmt(f),
            Self::Soybean(stage) => stage.fmt(f),
        }
    }
}

/// How a measure is compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// This much or more.
    AtLeast(f64),
    /// More than this.
    Above(f64),
    /// This much or less.
    AtMost(f64),
    /// Less than this.
    Under(f64),
    /// The source prints two numbers: below the first, between them, or from the second on.
    Band(f64, f64),
    /// Must be so.
    Yes,
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AtLeast(limit) => write!(f, "{limit} or more"),
            Self::Above(limit) => write!(f, "more than {limit}"),
            Self::AtMost(limit) => write!(f, "{limit} or less"),
            Self::Under(limit) => write!(f, "less than {limit}"),
            Self::Band(low, high) => write!(f, "{low} to {high}"),
            Self::Yes => f.write_str("yes"),
        }
    }
}

/// The larvae a threshold is for, by their length in inches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Larvae {
    /// The source does not part them by size.
    Any,
    /// This long or shorter.
    UpTo(f64),
    /// Shorter than this.
    Under(f64),
    /// This long or longer.
    From(f64),
    /// Longer than this.
    Over(f64),
}

impl Larvae {
    /// Returns whether larvae of that length are meant.
    pub fn include(self, length: Length) -> bool {
        // A length that came through another unit may be off by a rounding error.
        let (length, slack) = (length.inches(), 1e-9);
        match self {
            Self::Any => true,
            Self::UpTo(limit) => length <= limit + slack,
            Self::Under(limit) => length < limit - slack,
            Self::From(limit) => length >= limit - slack,
            Self::Over(limit) => length > limit + slack,
        }
    }
}

impl fmt::Display for Larvae {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Any => Ok(()),
            Self::UpTo(limit) => write!(f, "to {limit:.3} in"),
            Self::Under(limit) => write!(f, "under {limit:.3} in"),
            Self::From(limit) => write!(f, "{limit:.3} in or more"),
            Self::Over(limit) => write!(f, "over {limit:.3} in"),
        }
    }
}

/// What must hold beside the measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condition {
    /// What is looked at.
    pub measure: Measure,
    /// How it is compared.
    pub limit: Limit,
    /// Whether it says when the threshold holds, rather than what reaches it.
    pub timing: bool,
}

/// A published threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// The pest, by its word: `black-cutworm`.
    pub pest: &'static str,
    /// The crop.
    pub crop: Crop,
    /// Where it was published for: codes of ISO 3166-2.
    pub regions: &'static [&'static str],
    /// What tells it from the others of its region: `2008 revision, small larvae`.
    pub name: &'static str,
    /// What is compared.
    pub measure: Measure,
    /// With what.
    pub limit: Limit,
    /// The first and last stage at which it holds, as text; empty where the source names none.
    pub stages: (&'static str, &'static str),
    /// The larvae it is for.
    pub larvae: Larvae,
    /// What must hold beside it.
    pub also: &'static [Condition],
    /// What the reader must know; empty where there is nothing.
    pub note: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Author, year, title.
    pub source: &'static str,
}

/// Returns a condition on what is found.
pub(crate) const fn also(measure: Measure, limit: Limit) -> Condition {
    Condition { measure, limit, timing: false }
}

/// Returns a condition on when.
pub(crate) const fn when(measure: Measure, limit: Limit) -> Condition {
    Condition { measure, limit, timing: true }
}

impl Threshold {
    /// Returns a threshold for corn that holds at every stage.
    pub(crate) const fn corn(pest: &'static str, regions: &'static [&'static str], source: &'static str) -> Self {
        Self {
            pest,
            crop: Crop::Corn,
            regions,
            name: "",
            measure: super::measure::PLANTS_FED,
            limit: Limit::Yes,
            stages: ("", ""),
            larvae: Larvae::Any,
            also: &[],
            note: "",
            origin: Origin::Page,
            source,
        }
    }

    /// Returns a threshold for soybean that holds at every stage.
    pub(crate) const fn soybean(pest: &'static str, regions: &'static [&'static str], source: &'static str) -> Self {
        Self { crop: Crop::Soybean, ..Self::corn(pest, regions, source) }
    }

    pub(crate) const fn named(self, name: &'static str) -> Self {
        Self { name, ..self }
    }

    pub(crate) const fn of(self, measure: Measure, limit: Limit) -> Self {
        Self { measure, limit, ..self }
    }

    pub(crate) const fn stages(self, from: &'static str, to: &'static str) -> Self {
        Self { stages: (from, to), ..self }
    }

    pub(crate) const fn larvae(self, larvae: Larvae) -> Self {
        Self { larvae, ..self }
    }

    pub(crate) const fn with(self, also: &'static [Condition]) -> Self {
        Self { also, ..self }
    }

    pub(crate) const fn note(self, note: &'static str) -> Self {
        Self { note, ..self }
    }

    pub(crate) const fn origin(self, origin: Origin) -> Self {
        Self { origin, ..self }
    }

    /// Returns whether the threshold holds at a stage of its crop.
    pub fn holds_at(&self, stage: CropStage) -> bool {
        let read = |text| CropStage::read(self.crop, text).expect("a test reads every stage of the table").place();
        let (from, to) = self.stages;
        (from.is_empty() || read(from) <= stage.place()) && (to.is_empty() || stage.place() <= read(to))
    }

    /// Returns the stages at which it holds, as people read them; empty where the source names none.
    pub fn stages_in_words(&self) -> String {
        match self.stages {
            ("", "") => String::new(),
            ("", to) => format!("to {to}"),
            (from, "") => format!("from {from}"),
            (from, to) if from == to => from.to_owned(),
            (from, to) => format!("{from} to {to}"),
        }
    }
}
