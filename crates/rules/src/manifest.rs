//! `pack.toml`: what a pack says of itself.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::Deserialize;

/// The manifest of a pack.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Manifest {
    /// The pack's id, kebab case.
    pub id: String,
    /// The pack's version.
    pub version: String,
    /// The version of the contract it is built for: `1.0`.
    pub api: String,
    /// The name people read.
    pub title: String,
    /// What it answers, one or two sentences.
    pub about: String,
    /// Where it holds: ISO 3166-2 codes, `US-IA`, or a whole country, `US`. Empty: everywhere.
    #[serde(default)]
    pub regions: Vec<String>,
    /// The crops it is for. Empty: all.
    #[serde(default)]
    pub crops: Vec<String>,
    /// First day on which its numbers hold.
    pub valid_from: Date,
    /// The day by which somebody has to look at its sources again.
    pub review_by: Date,
    /// Limits below those of the host.
    #[serde(default)]
    pub limits: PackLimits,
    /// The measures it reads.
    #[serde(default, rename = "need")]
    pub needs: Vec<Need>,
    /// Numbers per field that the host may derive for it.
    #[serde(default, rename = "derived")]
    pub derived: Vec<DerivedNeed>,
    /// What may be asked of it.
    #[serde(default, rename = "setting")]
    pub settings: Vec<SettingInfo>,
    /// Its sources.
    #[serde(default, rename = "citation")]
    pub citations: Vec<CitationInfo>,
    /// What must be shown.
    #[serde(default, rename = "caution")]
    pub cautions: Vec<CautionInfo>,
}

/// Limits that a pack sets itself; they lower the host's, never raise them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct PackLimits {
    /// Linear memory, MiB.
    pub memory_mib: Option<usize>,
    /// Time for one question, ms.
    pub deadline_ms: Option<u64>,
}

/// A measure that the pack reads.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Need {
    /// Kind and measure: `plant-height/height`.
    pub measure: String,
    /// UCUM code of the unit it expects; empty for texts and stages.
    #[serde(default)]
    pub unit: String,
    /// What it is, for golden cases.
    #[serde(default)]
    pub result: NeedResult,
}

/// What the result of a needed measure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NeedResult {
    /// A number.
    #[default]
    Number,
    /// A code, choice or text.
    Text,
    /// A growth stage.
    Stage,
}

/// A number per field that the host may derive.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DerivedNeed {
    /// Its name.
    pub name: String,
    /// UCUM code of its unit.
    pub unit: String,
    /// How it is computed, in words.
    pub about: String,
}

/// A setting that a question may carry.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettingInfo {
    /// Its key, kebab case.
    pub key: String,
    /// What it does, one sentence.
    pub about: String,
}

/// A source of the pack's numbers.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CitationInfo {
    /// Its id within the pack.
    pub id: String,
    /// Publication and table or page, as one would look it up.
    pub text: String,
    /// Year of publication, 0 where it is not known.
    pub year: i32,
    /// How sure the numbers are: `page`, `second-hand`, `memory`, `practice`, `derived`.
    pub basis: String,
}

/// A caution.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CautionInfo {
    /// Its id within the pack.
    pub id: String,
    /// What is shown.
    pub text: String,
    /// Whether the host shows it beside every finding, whatever the rule says.
    #[serde(default)]
    pub always: bool,
}

/// Whether a pack speaks about a region, a crop and a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Coverage {
    /// It does.
    Covered,
    /// It does, but its sources were due for review on that day.
    ReviewDue(Date),
    /// Its numbers hold from that day only.
    NotYetValid(Date),
    /// It knows other regions.
    OtherRegion,
    /// It is for other crops.
    OtherCrop,
}

impl Manifest {
    /// Reads a manifest. The error says what was expected, with line and column.
    pub fn parse(text: &str) -> Result<Self, String> {
        let manifest: Self = toml::from_str(text).map_err(|e| e.to_string().trim_end().to_owned())?;
        manifest.check()?;
        Ok(manifest)
    }

    fn check(&self) -> Result<(), String> {
        let kebab =
            |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
        if !kebab(&self.id) {
            return Err(format!("`id` should be lower-case words with dashes between, got `{}`", self.id));
        }
        if self.version.split('.').count() != 3 || self.version.split('.').any(|n| n.parse::<u32>().is_err()) {
            return Err(format!("`version` should be three numbers such as `1.2.0`, got `{}`", self.version));
        }
        if api_version(&self.api).is_none() {
            return Err(format!("`api` should be two numbers such as `1.0`, got `{}`", self.api));
        }
        if self.citations.is_empty() {
            return Err("there is no [[citation]]; a pack whose numbers have no source is not used".to_owned());
        }
        for (what, ids) in [
            ("citation", self.citations.iter().map(|c| c.id.as_str()).collect::<Vec<_>>()),
            ("caution", self.cautions.iter().map(|c| c.id.as_str()).collect()),
            ("setting", self.settings.iter().map(|s| s.key.as_str()).collect()),
            ("need", self.needs.iter().map(|n| n.measure.as_str()).collect()),
        ] {
            let mut seen = BTreeSet::new();
            if let Some(twice) = ids.iter().find(|id| !seen.insert(**id)) {
                return Err(format!("there are two [[{what}]] entries `{twice}`; each needs its own name"));
            }
        }
        let bases = ["page", "second-hand", "memory", "practice", "derived"];
        if let Some(c) = self.citations.iter().find(|c| !bases.contains(&c.basis.as_str()) || c.text.trim().is_empty())
        {
            return Err(format!("citation `{}` needs a text and a basis of {bases:?}, got `{}`", c.id, c.basis));
        }
        if self.review_by < self.valid_from {
            return Err(format!("`review-by` ({}) is before `valid-from` ({})", self.review_by, self.valid_from));
        }
        Ok(())
    }

    /// Tells whether the pack speaks about a region, a crop and a day.
    pub fn covers(&self, region: &str, crop: &str, day: Date) -> Coverage {
        let inside =
            |r: &String| r == region || region.strip_prefix(r.as_str()).is_some_and(|rest| rest.starts_with('-'));
        if !self.crops.is_empty() && !self.crops.iter().any(|c| c == crop) {
            Coverage::OtherCrop
        } else if !self.regions.is_empty() && !self.regions.iter().any(inside) {
            Coverage::OtherRegion
        } else if day < self.valid_from {
            Coverage::NotYetValid(self.valid_from)
        } else if day > self.review_by {
            Coverage::ReviewDue(self.review_by)
        } else {
            Coverage::Covered
        }
    }
}

/// Reads `1.0` (or `1.0.0`) as major and minor.
pub(crate) fn api_version(text: &str) -> Option<(u32, u32)> {
    let mut parts = text.split('.').map(str::parse);
    let version = (parts.next()?.ok()?, parts.next()?.ok()?);
    parts.all(|p| p.is_ok()).then_some(version)
}
