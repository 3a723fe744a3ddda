//! Plain types exchanged with rule packs and shown to people.
//!
//! A rule pack turns columns of observations into [`Finding`]s. Nothing in here decides anything; the label is the
//! law, local codes and licensed practice decide.

pub mod columns;

pub use ligule_observation::ids::{Feature, ObservationKey};
use serde::{Deserialize, Serialize};

/// How urgent a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// For information.
    Info,
    /// Look again soon.
    Watch,
    /// Something may have to be done.
    Act,
    /// Something must not be done.
    Stop,
}

impl Severity {
    /// Returns the words by which people read it, on paper and on the screen alike.
    pub fn words(self) -> &'static str {
        match self {
            Self::Info => "For information",
            Self::Watch => "Watch",
            Self::Act => "Act",
            Self::Stop => "Do not",
        }
    }
}

/// Where a time window stands on the day of the evaluation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WindowState {
    /// Not yet open.
    NotYet,
    /// Open.
    Open,
    /// Open, and closing soon.
    Closing,
    /// Closed.
    Closed,
    /// Cannot be told from what was recorded.
    Unknown,
}

impl WindowState {
    /// Returns the words that go on after "the window is", on paper and on the screen alike.
    pub fn words(self) -> &'static str {
        match self {
            Self::NotYet => "not yet open",
            Self::Open => "open",
            Self::Closing => "open and closes soon",
            Self::Closed => "closed",
            Self::Unknown => "not known from what was recorded",
        }
    }
}

/// One finding of one rule pack on one feature, as people read it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// The pack and its version: `corn-herbicide-windows 0.1.0`.
    pub pack: String,
    /// The rule's code within the pack.
    pub code: String,
    /// How urgent.
    pub severity: Severity,
    /// One sentence.
    pub headline: String,
    /// What it rests on.
    pub because: Vec<Reason>,
    /// The window it speaks of, if any.
    pub window: Option<Window>,
    /// Where the numbers come from. Never empty.
    pub citations: Vec<Citation>,
    /// What must be shown beside it. Never empty where a pesticide is concerned.
    pub cautions: Vec<String>,
    /// Days after which to look again.
    pub next_check_days: Option<u16>,
}

/// One reason: what was observed, against which limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reason {
    /// A sentence.
    pub text: String,
    /// What was observed, in `unit`.
    pub observed: Option<f64>,
    /// The threshold or limit, in `unit`.
    pub limit: Option<f64>,
    /// The unit, as people read it.
    pub unit: String,
    /// The observations it rests on.
    pub observations: Vec<ObservationKey>,
}

/// A time window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Window {
    /// Where it stands.
    pub state: WindowState,
    /// First day, where one can be told.
    pub opens: Option<jiff::civil::Date>,
    /// Last day, where one can be told.
    pub closes: Option<jiff::civil::Date>,
}

/// A source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Citation {
    /// Publication and table or page, as one would look it up.
    pub text: String,
    /// Year of publication, 0 where it is not known.
    pub year: i32,
    /// How sure the number is: `page` (read on the page), `memory`, `practice`, `derived`.
    pub basis: String,
}
