//! Kinds of observation, declared once as data in `schemas/kinds/<kind>.toml`.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// A text per language, by ISO 639-1 code; `en` is always there.
pub type Labels = BTreeMap<String, String>;

/// One kind of observation, as its file declares it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Kind {
    /// The kind's name, in kebab case: `stand-count`. A pack's own kind is prefixed with the pack's name and a dot.
    pub kind: String,
    /// Grows by one whenever a measure is added; measures are never removed or changed.
    pub version: u32,
    /// The name people read, per language.
    pub label: Labels,
    /// What it is for, one sentence, per language.
    pub about: Labels,
    /// How the sample is taken, per language.
    pub protocol: Labels,
    /// What the observation is about within the field: `stand`, `plant`, `soil`, `pest`, `weed`, `field`, `weather`.
    pub feature: String,
    /// Crops it is asked for; empty means all.
    #[serde(default)]
    pub crops: Vec<String>,
    /// First and last growth stage at which it is asked for (leaf-collar scale); empty means any time.
    #[serde(default)]
    pub stages: Vec<String>,
    /// Alternatives: an observation has every measure of at least one of them. Empty where the required ones will do.
    #[serde(default)]
    pub needs: Vec<Vec<String>>,
    /// Whether one observation often tells several of these alternatives, so that a visit asks for all of them: what a
    /// laboratory found, rather than two ways to lay out a sample.
    #[serde(default)]
    pub together: bool,
    /// What one would type behind kind and field: `--row 30in --length 17ft5in --plants 31`.
    #[serde(default)]
    pub example: String,
    /// What its measures must be to each other.
    #[serde(default, rename = "relation")]
    pub relations: Vec<Relation>,
    /// Its measures, in the order in which they are entered and become columns.
    #[serde(rename = "measure")]
    pub measures: Vec<Measure>,
}

/// One measure of a kind: an observed property and how its result is entered and kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Measure {
    /// The measure's name in snake case; the key in documents and the column in the archive (with the unit appended there).
    pub name: String,
    /// The flag on the command line, without dashes, where it is shorter than the name: `row`.
    #[serde(default)]
    pub flag: Option<String>,
    /// The name people read, per language.
    pub label: Labels,
    /// What it means, one sentence, per language.
    #[serde(default)]
    pub about: Labels,
    /// What its result is.
    #[serde(rename = "type")]
    pub result: ResultType,
    /// The UCUM code of the unit in which the result is kept; `1` for counts and shares. Numbers only.
    #[serde(default)]
    pub unit: Option<String>,
    /// Decimal digits kept: the integer in the document is the result × 10^scale in `unit`. Numbers only.
    #[serde(default)]
    pub scale: u8,
    /// Least and greatest result, inclusive, in `unit`. Numbers only.
    #[serde(default)]
    pub range: Option<[f64; 2]>,
    /// The suffix of the archive's column that tells the unit: `in`, `ft`, `c`. Empty for counts, texts and choices.
    #[serde(default)]
    pub suffix: String,
    /// Whether an observation without it is refused.
    #[serde(default)]
    pub required: bool,
    /// What may be chosen. Choices only; empty when `codelist` names a list.
    #[serde(default)]
    pub choices: Vec<Choice>,
    /// The code list in `schemas/codelists/` from which it is chosen.
    #[serde(default)]
    pub codelist: Option<String>,
    /// Whether no number of the list may be less than the one before it, as readings along a tape are. Lists only.
    #[serde(default)]
    pub ascending: bool,
}

/// What measures of one observation must be to each other, where it has them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(
    untagged,
    deny_unknown_fields,
    expecting = "expected a relation as `least` and `most` (two measures), or `measure` and `excludes` (a list), or `paired` (a list of two or more), or `alike` (a list of two or more), or `only` (a list), `where` (a measure that is chosen) and `is` (a list of its codes)"
)]
pub enum Relation {
    /// The result of `least` must not exceed that of `most`; both are numbers in one unit.
    AtMost {
        /// The measure whose result is the smaller one.
        least: String,
        /// The measure whose result is the greater one.
        most: String,
    },
    /// An observation with one measure has none of others.
    Excludes {
        /// The one.
        measure: String,
        /// The others.
        excludes: Vec<String>,
    },
    /// Lists that belong together item by item: as many numbers in each, and none without the others.
    Paired {
        /// Two or more list measures.
        paired: Vec<String>,
    },
    /// Lists that tell of the same things, item by item: as many numbers in each that is there.
    Alike {
        /// Two or more list measures.
        alike: Vec<String>,
    },
    /// Measures that an observation has only where another one was chosen so, as a soil sample has no nutrients of a leaf.
    OnlyWhere {
        /// The measures that are held to it.
        only: Vec<String>,
        /// The measure that is chosen.
        #[serde(rename = "where")]
        chosen: String,
        /// The codes with which it has them.
        is: Vec<String>,
    },
}

/// What the result of a measure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ResultType {
    /// A number with a unit, kept as an integer at the declared scale.
    Quantity,
    /// A whole number of things.
    Count,
    /// One of a closed list of codes, kept as the code.
    Choice,
    /// A growth stage (`V4`, `R1`), kept as entered, upper case.
    Stage,
    /// A calendar day, kept as `YYYY-MM-DD`.
    Day,
    /// Numbers in one `Str`, separated by blanks; each is checked like a quantity. The archive gives it a child table.
    List,
    /// Free text.
    Text,
}

/// One entry of a closed list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Choice {
    /// What is kept.
    pub code: String,
    /// What people read, per language.
    pub label: Labels,
}

impl Kind {
    /// Returns the measure of that name or flag.
    pub fn measure(&self, name: &str) -> Option<&Measure> {
        self.measures.iter().find(|m| m.name == name || m.flag.as_deref() == Some(name))
    }

    /// Returns the table in the archive that holds this kind: the name in snake case.
    pub fn table(&self) -> String {
        self.kind.replace(['-', '.'], "_")
    }
}

impl Relation {
    /// Returns the measures that it is about.
    pub fn measures(&self) -> Vec<&str> {
        match self {
            Self::AtMost { least, most } => vec![least, most],
            Self::Excludes { measure, excludes } => {
                std::iter::once(measure).chain(excludes).map(String::as_str).collect()
            }
            Self::Paired { paired: lists } | Self::Alike { alike: lists } => lists.iter().map(String::as_str).collect(),
            Self::OnlyWhere { only, chosen, .. } => std::iter::once(chosen).chain(only).map(String::as_str).collect(),
        }
    }

    /// Returns sets of measures of which an observation must have one whole to break it: whoever looks for those that do
    /// need not look at the others.
    pub fn broken_with(&self) -> Vec<Vec<&str>> {
        match self {
            Self::AtMost { least, most } => vec![vec![least, most]],
            Self::Excludes { measure, excludes } => {
                excludes.iter().map(|other| vec![measure.as_str(), other]).collect()
            }
            Self::Alike { alike } => {
                let others = |at: usize| alike[at + 1..].iter().map(move |other| vec![alike[at].as_str(), other]);
                (0..alike.len()).flat_map(others).collect()
            }
            Self::Paired { paired: any } | Self::OnlyWhere { only: any, .. } => {
                any.iter().map(|one| vec![one.as_str()]).collect()
            }
        }
    }
}

impl Measure {
    /// Returns the archive's column: the name, and the unit's suffix where there is one.
    pub fn column(&self) -> String {
        if self.suffix.is_empty() { self.name.clone() } else { format!("{}_{}", self.name, self.suffix) }
    }

    /// Returns the flag on the command line, without dashes, in kebab case.
    pub fn flag(&self) -> String {
        self.flag.clone().unwrap_or_else(|| self.name.replace('_', "-"))
    }
}
