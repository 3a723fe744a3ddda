//! What was last recorded of the field's plants.

use ligule_rule_sdk::{Field, Row};

pub(crate) const COLLARS: &str = "leaf-stage/collars";
pub(crate) const STAGE: &str = "leaf-stage/stage";
pub(crate) const HEIGHT: &str = "plant-height/height";
pub(crate) const HEIGHTS: &str = "plant-height/heights";
pub(crate) const TOLERANCE: &str = "planting/tolerance";

/// Stage, height and tolerance of a field.
#[derive(Debug, Clone, Default)]
pub(crate) struct Plants {
    pub(crate) stage: Option<Spread>,
    pub(crate) height: Option<Spread>,
    /// Active ingredients that the hybrid tolerates; `None` where nobody recorded it.
    pub(crate) tolerance: Option<Vec<String>>,
    pub(crate) tolerance_rows: Vec<u32>,
}

/// The least and the most advanced tenth of the plants on the latest day.
#[derive(Debug, Clone)]
pub(crate) struct Spread {
    /// How many numbers there are: plants looked at one by one, or one for the field.
    pub(crate) plants: usize,
    pub(crate) least: f64,
    /// What half of the plants have reached.
    pub(crate) half: f64,
    pub(crate) most: f64,
    pub(crate) day: i32,
    pub(crate) rows: Vec<u32>,
}

impl Plants {
    pub(crate) fn latest(field: &Field<'_>) -> Self {
        let tolerance = field.latest(TOLERANCE);
        let known = tolerance.last().and_then(|r| r.text).filter(|t| *t != "unknown");
        Self {
            stage: spread(field.results(COLLARS), field.results(STAGE), |r| r.value.or(r.stage.map(f64::from))),
            height: spread(field.results(HEIGHTS), field.results(HEIGHT), |r| r.value),
            tolerance: known.map(|t| t.split('+').map(|i| i.trim().to_owned()).collect()),
            tolerance_rows: tolerance.iter().map(|r| r.row).collect(),
        }
    }

    pub(crate) fn nothing_recorded(&self) -> bool {
        self.stage.is_none() && self.height.is_none()
    }
}

/// Takes all results of the latest day, plant by plant or one for the field.
fn spread(plants: Vec<Row<'_>>, field: Vec<Row<'_>>, number: impl Fn(&Row<'_>) -> Option<f64>) -> Option<Spread> {
    let all: Vec<Row<'_>> = plants.into_iter().chain(field).collect();
    let day = all.iter().filter(|r| number(r).is_some()).map(|r| r.day).max()?;
    let mut numbers: Vec<(f64, u32)> =
        all.iter().filter(|r| r.day == day).filter_map(|r| Some((number(r)?, r.row))).collect();
    numbers.sort_by(|a, b| a.0.total_cmp(&b.0));
    let tenth = numbers.len().div_ceil(10);
    let mut rows: Vec<u32> = numbers.iter().map(|(_, row)| *row).collect();
    rows.sort_unstable();
    Some(Spread {
        plants: numbers.len(),
        least: numbers[tenth - 1].0,
        half: numbers[numbers.len() / 2].0,
        most: numbers[numbers.len() - tenth].0,
        day,
        rows,
    })
}
