//! The stage of the field: half of the plants have reached it.

use ligule_rule_sdk::Field;

pub(crate) const COLLARS: &str = "leaf-stage/collars";
pub(crate) const STAGE: &str = "leaf-stage/stage";

/// Days after which a stage says little; common practice, no source.
const MOST_DAYS: i32 = 7;

/// The stage of the field, by leaf collars.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stage {
    /// The stage that half of the plants have reached, or the one recorded for the field.
    pub(crate) number: i16,
    /// The stage of the most advanced tenth, where plants were counted one by one.
    pub(crate) most: Option<i16>,
    pub(crate) day: i32,
    pub(crate) rows: Vec<u32>,
}

impl Stage {
    /// Returns the stage recorded last, unless it is too old. Plants counted one by one go before one stage.
    pub(crate) fn latest(field: &Field<'_>, as_of: i32) -> Option<Self> {
        let (collars, stages) = (field.results(COLLARS), field.results(STAGE));
        let day = collars.iter().chain(&stages).map(|r| r.day).max()?;
        if as_of - day > MOST_DAYS {
            return None;
        }
        let mut plants: Vec<(f64, u32)> =
            collars.iter().filter(|r| r.day == day).filter_map(|r| Some((r.value?, r.row))).collect();
        if plants.is_empty() {
            let last = stages.iter().rev().find(|r| r.day == day && r.stage.is_some())?;
            return Some(Self { number: last.stage?, most: None, day, rows: vec![last.row] });
        }
        plants.sort_by(|a, b| a.0.total_cmp(&b.0));
        // The greatest stage that at least half of the plants have reached.
        let number = plants[plants.len() / 2].0;
        let most = plants[plants.len() - plants.len().div_ceil(10)].0;
        Some(Self {
            number: number as i16,
            most: Some(most as i16),
            day,
            rows: plants.into_iter().map(|(_, row)| row).collect(),
        })
    }

    /// Says the stage and which plants it speaks of.
    pub(crate) fn words(&self) -> String {
        match self.most {
            Some(most) => {
                let half = Self::name(self.number);
                format!("Half of the plants at {half} (most advanced tenth at {})", Self::name(most))
            }
            None => format!("Stage {}, recorded as one for the field", Self::name(self.number)),
        }
    }

    pub(crate) fn name(number: i16) -> String {
        match number {
            0 => "VE".to_owned(),
            100 => "VT".to_owned(),
            r @ 101.. => format!("R{}", r - 100),
            n => format!("V{n}"),
        }
    }
}
