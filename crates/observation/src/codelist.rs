//! Closed lists of codes that measures choose from: `schemas/codelists/<list>.toml`.

use serde::{Deserialize, Serialize};

use crate::codename::{Meaning, Named, meaning};
use crate::kind::Labels;

/// A list of codes with its source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct CodeList {
    /// The list's name, in kebab case.
    pub list: String,
    /// What it lists, per language.
    pub about: Labels,
    /// Where the codes come from.
    pub source: String,
    /// The day on which the list was drawn up, `YYYY-MM-DD`.
    pub date: String,
    /// The codes.
    #[serde(rename = "code")]
    pub codes: Vec<Code>,
}

/// One code.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Code {
    /// What is kept.
    pub code: String,
    /// What people read, per language.
    pub label: Labels,
    /// Other words by which people enter it, lower case.
    #[serde(default)]
    pub also: Vec<String>,
    /// Scientific name, where the code is an organism.
    #[serde(default)]
    pub scientific: Option<String>,
    /// Group by mode of action (HRAC, IRAC or FRAC number), where the code is an active ingredient.
    #[serde(default)]
    pub group: Option<String>,
    /// How sure the code itself is: `read` in a source, `memory` (to be checked against the list's owner before it is
    /// exchanged with others), `own` (made by this project for want of one).
    pub certainty: Certainty,
}

/// How sure a code is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Certainty {
    /// Read in the source named.
    Read,
    /// From memory; not yet checked against the list's owner.
    Memory,
    /// Made by this project.
    Own,
}

impl CodeList {
    /// Returns the code that a text means: the code itself, a label in any language, another word for it; see
    /// [`Meaning`].
    pub fn find(&self, text: &str) -> Option<&Code> {
        let named: Vec<Named<'_>> = self.codes.iter().map(Named::from).collect();
        match meaning(&named, text) {
            Meaning::One(code) => self.codes.iter().find(|known| known.code == code),
            Meaning::Several(_) | Meaning::None => None,
        }
    }
}
