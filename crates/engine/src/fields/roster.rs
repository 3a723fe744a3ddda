//! The crew's growers, planters and soils.

use std::collections::BTreeMap;

pub use ligule_observation::field::roster::{Kept, Sort};
use ligule_observation::kind::Kind;
use ligule_observation::record::{Measured, Value};

use super::fixed;
use crate::error::{EngineError, Result, known};
use crate::{Engine, now};

/// What is to be kept of a grower, planter or soil, as typed; what is not given stays.
#[derive(Debug, Clone, Default)]
pub struct Keep {
    /// What people call it.
    pub name: String,
    /// Row units of a planter.
    pub row_units: Option<u32>,
    /// Row width of a planter, with unit.
    pub row: Option<String>,
    /// The symbol of a soil's map unit in the soil survey.
    pub map_unit: Option<String>,
    /// A soil's texture class, by its code.
    pub texture: Option<String>,
}

/// The twelve texture classes of the USDA system, and their codes.
///
/// *Source:* Soil Science Division Staff (2017), Soil Survey Manual, USDA Handbook 18, chapter 3, texture classes; from
/// memory.
pub const TEXTURES: [&str; 12] = [
    "sand",
    "loamy-sand",
    "sandy-loam",
    "loam",
    "silt-loam",
    "silt",
    "sandy-clay-loam",
    "clay-loam",
    "silty-clay-loam",
    "sandy-clay",
    "silty-clay",
    "clay",
];

impl Engine {
    /// Adds a grower, planter or soil, or corrects what is known of it.
    pub fn keep(&mut self, sort: Sort, new: &Keep) -> Result<Kept> {
        let name = new.name.trim();
        if name.is_empty() || name.len() > 120 || name.contains(':') || name.chars().any(char::is_control) {
            return Err(EngineError::user(
                format!("expected a name of at most 120 bytes without a colon, got `{}`", new.name),
                format!("name the {} as people call it", sort.word()),
            ));
        }
        let mut facts = BTreeMap::new();
        if let Some(units) = new.row_units {
            facts.insert("row_units".to_owned(), Value::Int(units.into()));
        }
        if let Some(mil) = fixed("row width", new.row.as_deref(), &self.reading, "[in_i]", "[in_i]", 3, 4_000..=80_000)?
        {
            facts.insert("row_width_mil".to_owned(), Value::Int(mil));
        }
        if let Some(symbol) = &new.map_unit {
            facts.insert("map_unit".to_owned(), Value::Text(symbol.trim().to_owned()));
        }
        if let Some(texture) = &new.texture {
            if !TEXTURES.contains(&texture.as_str()) {
                return Err(EngineError::user(
                    format!("there is no texture class `{texture}`"),
                    known("texture classes", texture, TEXTURES),
                ));
            }
            facts.insert("texture".to_owned(), Value::Text(texture.clone()));
        }
        let kept = Kept { sort, name: name.to_owned(), facts, retired: false };
        self.journal.keep(&kept, &self.journal.identity().person, now())?;
        self.kept(sort, name)
    }

    /// Takes a grower, planter or soil out of the lists.
    pub fn retire_kept(&mut self, sort: Sort, name: &str) -> Result<()> {
        let kept = Kept { retired: true, facts: BTreeMap::new(), ..self.kept(sort, name)? };
        Ok(self.journal.keep(&kept, &self.journal.identity().person, now())?)
    }

    /// Returns the growers, planters or soils by name, retired ones only where asked for.
    pub fn roster(&self, sort: Sort, retired: bool) -> Result<Vec<Kept>> {
        Ok(self.journal.roster()?.into_iter().filter(|kept| kept.sort == sort && (retired || !kept.retired)).collect())
    }

    /// Returns what a planter that is named in an entry tells of it: its row units and row width, where the kind has them.
    pub(crate) fn told_by_planter(&self, kind: &Kind, given: &[(String, String)]) -> BTreeMap<String, Measured> {
        let mut told = BTreeMap::new();
        let Some(measure) = kind.measure("planter") else { return told };
        let Some((_, name)) = given.iter().find(|(name, _)| *name == measure.name || *name == measure.flag()) else {
            return told;
        };
        // A name that the crew has not kept is a text like any other.
        let Ok(planter) = self.kept(Sort::Planter, name.trim()) else { return told };
        for (fact, measure, scale) in [("row_units", "row_units", 0), ("row_width_mil", "row_width", 3)] {
            if let (Some(n), Some(_)) = (planter.int(fact), kind.measure(measure).filter(|m| m.scale == scale)) {
                told.insert(measure.to_owned(), Measured { value: Value::Int(n), entered: None });
            }
        }
        told
    }

    /// Returns one of them, or names the nearest.
    pub(crate) fn kept(&self, sort: Sort, name: &str) -> Result<Kept> {
        let all = self.roster(sort, true)?;
        let names: Vec<String> = all.iter().map(|kept| kept.name.clone()).collect();
        all.into_iter().find(|kept| kept.name == name).ok_or_else(|| {
            let hint = if names.is_empty() {
                format!("there are none yet; add one with `ligule {} add`", sort.word())
            } else {
                known(&format!("{}s", sort.word()), name, names)
            };
            EngineError::user(format!("there is no {} `{name}`", sort.word()), hint)
        })
    }
}
