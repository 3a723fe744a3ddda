//! The contract's types on the host's side, and the conversions to and from our own.

use ligule_advice::columns::Observations;

use crate::SeasonContext;

/// Generated from `schemas/wit/1.0/rules.wit`, which documents every item.
mod generated {
    wasmtime::component::bindgen!({
        path: "../../schemas/wit/1.0",
        world: "rule-pack",
        additional_derives: [PartialEq, Clone],
    });
}

pub(crate) use generated::{
    RulePack, RulePackPre,
    exports::ligule::rules::rule::{CellTable, Explanation, Findings, Metadata, RuleError as GuestError},
    ligule::rules::{
        log,
        types::{self, Season, Severity, WindowState},
    },
};

/// The version of the contract that this host offers.
pub(crate) const API: (u32, u32) = (1, 0);

/// The least s32 stands for a day that cannot be told.
pub(crate) const NO_DAY: i32 = i32::MIN;

pub(crate) fn season(context: &SeasonContext) -> Season {
    Season {
        year: context.year,
        region: context.region.clone(),
        crop: context.crop.clone(),
        as_of: ligule_advice::columns::day_number(context.as_of),
        settings: context
            .settings
            .iter()
            .map(|(key, value)| types::Setting { key: key.clone(), value: value.clone() })
            .collect(),
    }
}

pub(crate) fn observations(obs: &Observations) -> types::Observations {
    let c = obs.columns();
    types::Observations {
        group_offset: c.group_offset.clone(),
        measures: c.measures.iter().map(|m| types::Measure { name: m.name.clone(), unit: m.unit.clone() }).collect(),
        texts: c.texts.clone(),
        observation: c.observation.clone(),
        measure: c.measure.clone(),
        day: c.day.clone(),
        value: c.value.clone(),
        value_valid: c.value_valid.clone(),
        text: c.text.clone(),
        text_valid: c.text_valid.clone(),
        stage: c.stage.clone(),
        stage_valid: c.stage_valid.clone(),
        conflicted: c.conflicted.clone(),
        derived: c
            .derived
            .iter()
            .map(|d| types::DerivedColumn {
                name: d.name.clone(),
                unit: d.unit.clone(),
                value: d.values.iter().map(|v| v.unwrap_or_default()).collect(),
                valid: d.values.iter().map(|v| v.is_some().into()).collect(),
            })
            .collect(),
    }
}
