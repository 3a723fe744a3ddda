//! One field of a batch.

use std::ops::Range;

use crate::bindings::ligule::rules::types::Observations;

/// One field in one season: its rows of the batch, by day.
#[derive(Clone)]
pub struct Field<'a> {
    obs: &'a Observations,
    index: u32,
    rows: Range<usize>,
}

/// One result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row<'a> {
    /// Its row in the batch, for evidence.
    pub row: u32,
    /// Days since 1970-01-01.
    pub day: i32,
    /// Rows of one observation share it.
    pub observation: u32,
    /// The number, where it is one.
    pub value: Option<f64>,
    /// The text, where it is one.
    pub text: Option<&'a str>,
    /// The growth stage, where it is one: 0 = VE, n = Vn, 100 = VT, 101 to 106 = R1 to R6.
    pub stage: Option<i16>,
    /// Whether people recorded different values at once and nobody has settled which holds.
    pub conflicted: bool,
}

impl<'a> Field<'a> {
    /// Returns the fields of a batch.
    pub fn all(obs: &'a Observations) -> impl Iterator<Item = Field<'a>> {
        let bounds = obs.group_offset.windows(2).zip(0..);
        bounds.map(|(b, index)| Field { obs, index, rows: b[0] as usize..b[1] as usize })
    }

    /// Returns the field's number in the batch.
    pub fn index(&self) -> u32 {
        self.index
    }

    /// Returns the results of a measure, oldest first.
    pub fn results(&self, measure: &str) -> Vec<Row<'a>> {
        let Some(key) = self.obs.measures.iter().position(|m| m.name == measure) else { return Vec::new() };
        let rows = self.rows.clone().filter(|&row| self.obs.measure[row] as usize == key);
        rows.map(|row| self.row(row)).collect()
    }

    /// Returns the results of a measure in the last observation that has it; several where it is a list.
    pub fn latest(&self, measure: &str) -> Vec<Row<'a>> {
        let mut results = self.results(measure);
        if let Some(last) = results.last().map(|r| r.observation) {
            results.retain(|r| r.observation == last);
        }
        results
    }

    /// Returns the first result of a measure in a given observation.
    pub fn of(&self, observation: u32, measure: &str) -> Option<Row<'a>> {
        self.results(measure).into_iter().find(|r| r.observation == observation)
    }

    /// Returns a number that the host derived for this field.
    pub fn derived(&self, name: &str) -> Option<f64> {
        let column = self.obs.derived.iter().find(|d| d.name == name)?;
        let i = self.index as usize;
        (*column.valid.get(i)? != 0).then(|| column.value.get(i).copied()).flatten()
    }

    fn row(&self, row: usize) -> Row<'a> {
        let o = self.obs;
        Row {
            row: row as u32,
            day: o.day[row],
            observation: o.observation[row],
            value: (o.value_valid[row] != 0).then(|| o.value[row]),
            text: (o.text_valid[row] != 0).then(|| o.texts[o.text[row] as usize].as_str()),
            stage: (o.stage_valid[row] != 0).then(|| o.stage[row]),
            conflicted: o.conflicted[row] != 0,
        }
    }
}
