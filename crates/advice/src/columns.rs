//! Observations as the columns that rule packs read.
//!
//! [`Observations`] holds one row a result, sorted by group, day and observation, in the layout of
//! `schemas/wit/1.0/rules.wit`. A group is one feature in one season. The keys of the observations stay on this side,
//! so that a finding can be led back to what a person wrote down.
//!
//! Voided observations are left out and counted. A result whose concurrent values differ is kept and marked: whoever
//! shows a finding that rests on it says so.

use std::{
    collections::{BTreeMap, BTreeSet, HashMap},
    sync::Arc,
};

use jiff::civil::Date;
use ligule_observation::{
    ids::{Feature, ObservationKey},
    kind::{Kind, ResultType},
    record::{Record, Value},
};

/// The days of Arrow's date32: since 1970-01-01.
pub fn day_number(day: Date) -> i32 {
    (day - Date::constant(1970, 1, 1)).get_days()
}

/// Returns the date of a day number, where there is one.
pub fn date_of(day: i32) -> Option<Date> {
    Date::constant(1970, 1, 1).checked_add(jiff::Span::new().try_days(day).ok()?).ok()
}

/// Returns the number of a growth stage by leaf collars: 0 = VE, n = Vn, 100 = VT, 101 to 106 = R1 to R6.
///
/// ```
/// # use ligule_advice::columns::stage_number;
/// assert_eq!(stage_number("v7"), Some(7));
/// assert_eq!(stage_number("VE"), Some(0));
/// assert_eq!(stage_number("R3"), Some(103));
/// assert_eq!(stage_number("seven"), None);
/// ```
pub fn stage_number(text: &str) -> Option<i16> {
    let text = text.trim().to_ascii_uppercase();
    match text.as_str() {
        "VE" => return Some(0),
        "VT" => return Some(100),
        _ => {}
    }
    let (letter, number) = text.split_at_checked(1)?;
    let number: i16 = number.parse().ok()?;
    match (letter, number) {
        ("V", 1..=30) => Some(number),
        ("R", 1..=6) => Some(100 + number),
        _ => None,
    }
}

/// One result, before it becomes a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The group: index into the features.
    pub group: u32,
    /// The day in the feature's own time zone.
    pub day: Date,
    /// The observation it belongs to.
    pub observation: ObservationKey,
    /// Kind and measure: `plant-height/height`.
    pub measure: String,
    /// UCUM code of the unit of a number; empty otherwise.
    pub unit: String,
    /// The result.
    pub cell: Cell,
    /// Whether concurrent values differ and wait for a person.
    pub conflicted: bool,
}

/// What a row holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// A finite number in the measure's unit.
    Number(f64),
    /// A code, day or text.
    Text(String),
    /// A growth stage as entered; its number is read by [`stage_number`].
    Stage(String),
    /// The result is not known, though the observation has a place for it.
    Missing,
}

/// An entry of the dictionary of measures.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct MeasureName {
    /// Kind and measure: `plant-height/height`.
    pub name: String,
    /// UCUM code of the unit; empty for texts and stages.
    pub unit: String,
}

/// The columns, as `schemas/wit/1.0/rules.wit` describes them. Validity is one byte a row, 1 where there is a result.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Columns {
    /// Where each group begins, and the number of rows: groups + 1 entries.
    pub group_offset: Vec<u32>,
    /// The measures that occur.
    pub measures: Vec<MeasureName>,
    /// The texts that occur.
    pub texts: Vec<String>,
    /// Index into the keys of the observations.
    pub observation: Vec<u32>,
    /// Index into `measures`.
    pub measure: Vec<u32>,
    /// Days since 1970-01-01.
    pub day: Vec<i32>,
    /// Numbers, in the measure's unit.
    pub value: Vec<f64>,
    /// Validity of `value`.
    pub value_valid: Vec<u8>,
    /// Index into `texts`.
    pub text: Vec<u32>,
    /// Validity of `text`.
    pub text_valid: Vec<u8>,
    /// Growth stages, see [`stage_number`].
    pub stage: Vec<i16>,
    /// Validity of `stage`.
    pub stage_valid: Vec<u8>,
    /// 1 where concurrent values differ and wait for a person.
    pub conflicted: Vec<u8>,
    /// Numbers derived by the host, one a group.
    pub derived: Vec<Derived>,
}

/// A number per group that the host derived, such as degree days.
#[derive(Debug, Clone, PartialEq)]
pub struct Derived {
    /// The name that the pack's manifest declares.
    pub name: String,
    /// UCUM code of the unit.
    pub unit: String,
    /// One value a group, finite where it is there.
    pub values: Vec<Option<f64>>,
}

/// What did not become a row, so that nothing is left out in silence.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LeftOut {
    /// Observations that were voided.
    pub voided: Vec<ObservationKey>,
    /// Kinds and measures that this device does not know.
    pub unknown: BTreeSet<String>,
}

/// Why columns cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ColumnsError {
    /// A derived column does not have one value a group.
    #[error("the derived column `{name}` should have {expected} values, one for each field; it has {got}")]
    DerivedLength {
        /// The column.
        name: String,
        /// The number of groups.
        expected: usize,
        /// The number of values.
        got: usize,
    },
    /// A number that is not one.
    #[error("`{measure}` of observation {observation} is {value}; a number that can be compared is needed")]
    NotFinite {
        /// Kind and measure, or the derived column.
        measure: String,
        /// The observation, or the feature.
        observation: String,
        /// What came.
        value: f64,
    },
    /// A row of a group that does not exist.
    #[error("observation {observation} belongs to group {group}, but there are {groups} groups")]
    NoSuchGroup {
        /// The observation.
        observation: ObservationKey,
        /// The group.
        group: u32,
        /// The number of groups.
        groups: usize,
    },
}

/// Observations of one or many features, as columns, with the keys that lead back to the records.
#[derive(Debug, Clone, PartialEq)]
pub struct Observations {
    features: Vec<(Feature, i32)>,
    /// Shared by every selection.
    keys: Arc<Vec<ObservationKey>>,
    columns: Columns,
    left_out: LeftOut,
}

impl Observations {
    /// Makes columns of records. Groups come in the order of feature and season, whatever the order of the records.
    ///
    /// A list result has a row an element. Kinds and measures that are not among `kinds` are left out and named in
    /// [`Observations::left_out`].
    pub fn from_records(records: &[Record], kinds: &[Kind]) -> Result<Self, ColumnsError> {
        let kinds: HashMap<&str, &Kind> = kinds.iter().map(|k| (k.kind.as_str(), k)).collect();
        let groups: BTreeMap<(&Feature, i32), u32> =
            records.iter().map(|r| (&r.feature, r.season)).collect::<BTreeSet<_>>().into_iter().zip(0..).collect();
        let mut left_out = LeftOut::default();
        let mut rows = Vec::new();
        for record in records {
            if record.void.is_some() {
                left_out.voided.push(record.key.clone());
                continue;
            }
            let Some(kind) = kinds.get(record.kind.as_str()) else {
                left_out.unknown.insert(record.kind.clone());
                continue;
            };
            for (name, measured) in &record.values {
                let Some(measure) = kind.measures.iter().find(|m| m.name == *name) else {
                    left_out.unknown.insert(format!("{}/{name}", record.kind));
                    continue;
                };
                let row = |cell| Row {
                    group: groups[&(&record.feature, record.season)],
                    day: record.day,
                    observation: record.key.clone(),
                    measure: format!("{}/{name}", record.kind),
                    unit: measure.unit.clone().unwrap_or_default(),
                    cell,
                    conflicted: record.conflicts.contains(name),
                };
                match (&measured.value, measure.result) {
                    (Value::Int(_), _) => rows.push(row(record.number(measure).map_or(Cell::Missing, Cell::Number))),
                    (Value::Text(text), ResultType::Stage) => rows.push(row(Cell::Stage(text.clone()))),
                    (Value::Text(text), ResultType::List) => {
                        rows.extend(text.split_whitespace().map(|element| row(list_cell(element))));
                    }
                    (Value::Text(text), _) => rows.push(row(Cell::Text(text.clone()))),
                }
            }
        }
        let features = groups.keys().map(|(feature, season)| ((*feature).clone(), *season)).collect();
        let mut out = Self::from_rows(features, rows)?;
        out.left_out = left_out;
        Ok(out)
    }

    /// Makes columns of rows in any order; `features` names the groups.
    pub fn from_rows(features: Vec<(Feature, i32)>, mut rows: Vec<Row>) -> Result<Self, ColumnsError> {
        // Stable, so that the elements of a list keep their order.
        rows.sort_by(|a, b| {
            (a.group, a.day, &a.observation, &a.measure).cmp(&(b.group, b.day, &b.observation, &b.measure))
        });
        let mut columns = Columns { group_offset: vec![0; features.len() + 1], ..Columns::default() };
        let (mut keys, mut measures, mut texts) = (Dictionary::default(), Dictionary::default(), Dictionary::default());
        for row in rows {
            let Some(count) = columns.group_offset.get_mut(row.group as usize + 1) else {
                return Err(ColumnsError::NoSuchGroup {
                    observation: row.observation,
                    group: row.group,
                    groups: features.len(),
                });
            };
            *count += 1;
            let (mut value, mut text, mut stage) = (None, None, None);
            match &row.cell {
                Cell::Number(number) if !number.is_finite() => {
                    return Err(ColumnsError::NotFinite {
                        measure: row.measure,
                        observation: row.observation,
                        value: *number,
                    });
                }
                Cell::Number(number) => value = Some(*number),
                Cell::Text(entered) => text = Some(texts.index(entered.clone())),
                Cell::Stage(entered) => {
                    stage = stage_number(entered);
                    text = Some(texts.index(entered.clone()));
                }
                Cell::Missing => {}
            }
            columns.observation.push(keys.index(row.observation));
            columns.measure.push(measures.index(MeasureName { name: row.measure, unit: row.unit }));
            columns.day.push(day_number(row.day));
            columns.value.push(value.unwrap_or_default());
            columns.value_valid.push(value.is_some().into());
            columns.text.push(text.unwrap_or_default());
            columns.text_valid.push(text.is_some().into());
            columns.stage.push(stage.unwrap_or_default());
            columns.stage_valid.push(stage.is_some().into());
            columns.conflicted.push(row.conflicted.into());
        }
        for i in 1..columns.group_offset.len() {
            columns.group_offset[i] += columns.group_offset[i - 1];
        }
        columns.measures = measures.entries;
        columns.texts = texts.entries;
        Ok(Self { features, keys: Arc::new(keys.entries), columns, left_out: LeftOut::default() })
    }

    /// Adds a derived number, one value a group in the order of [`Observations::features`].
    pub fn with_derived(mut self, derived: Derived) -> Result<Self, ColumnsError> {
        if derived.values.len() != self.features.len() {
            return Err(ColumnsError::DerivedLength {
                name: derived.name,
                expected: self.features.len(),
                got: derived.values.len(),
            });
        }
        let bad =
            derived.values.iter().zip(&self.features).find_map(|(v, f)| v.filter(|v| !v.is_finite()).zip(Some(f)));
        if let Some((value, (feature, _))) = bad {
            return Err(ColumnsError::NotFinite { measure: derived.name, observation: feature.to_string(), value });
        }
        self.columns.derived.push(derived);
        Ok(self)
    }

    /// Returns the groups: feature and season.
    pub fn features(&self) -> &[(Feature, i32)] {
        &self.features
    }

    /// Returns the columns.
    pub fn columns(&self) -> &Columns {
        &self.columns
    }

    /// Returns what did not become a row.
    pub fn left_out(&self) -> &LeftOut {
        &self.left_out
    }

    /// Returns the number of rows.
    pub fn rows(&self) -> usize {
        self.columns.observation.len()
    }

    /// Returns the observation that a row belongs to.
    pub fn key(&self, row: usize) -> Option<&ObservationKey> {
        self.keys.get(*self.columns.observation.get(row)? as usize)
    }

    /// Returns kind and measure of a row.
    pub fn measure(&self, row: usize) -> Option<&MeasureName> {
        self.columns.measures.get(*self.columns.measure.get(row)? as usize)
    }

    /// Returns the groups given, in the order given, with the rows of `last` and before.
    ///
    /// # Panics
    ///
    /// Where a group is not one of [`Observations::features`].
    pub fn select(&self, groups: &[usize], last: Option<Date>) -> Self {
        let last = last.map_or(i32::MAX, day_number);
        let c = &self.columns;
        let mut group_offset = vec![0];
        let mut rows = Vec::new();
        for &group in groups {
            let range = c.group_offset[group] as usize..c.group_offset[group + 1] as usize;
            rows.extend(range.filter(|&row| c.day[row] <= last));
            group_offset.push(rows.len() as u32);
        }
        fn pick<T: Copy>(from: &[T], rows: &[usize]) -> Vec<T> {
            rows.iter().map(|&row| from[row]).collect()
        }
        Self {
            features: groups.iter().map(|&g| self.features[g].clone()).collect(),
            keys: self.keys.clone(),
            left_out: self.left_out.clone(),
            columns: Columns {
                group_offset,
                measures: c.measures.clone(),
                texts: c.texts.clone(),
                observation: pick(&c.observation, &rows),
                measure: pick(&c.measure, &rows),
                day: pick(&c.day, &rows),
                value: pick(&c.value, &rows),
                value_valid: pick(&c.value_valid, &rows),
                text: pick(&c.text, &rows),
                text_valid: pick(&c.text_valid, &rows),
                stage: pick(&c.stage, &rows),
                stage_valid: pick(&c.stage_valid, &rows),
                conflicted: pick(&c.conflicted, &rows),
                derived: c
                    .derived
                    .iter()
                    .map(|d| Derived { values: pick(&d.values, groups), name: d.name.clone(), unit: d.unit.clone() })
                    .collect(),
            },
        }
    }
}

/// Reads an element of a list: a number, else a stage, else a text.
fn list_cell(element: &str) -> Cell {
    match element.parse::<f64>() {
        Ok(number) if number.is_finite() => Cell::Number(number),
        _ if stage_number(element).is_some() => Cell::Stage(element.to_owned()),
        _ => Cell::Text(element.to_owned()),
    }
}

/// Gives each distinct entry a number in the order of first sight.
struct Dictionary<T> {
    entries: Vec<T>,
    numbers: HashMap<T, u32>,
}

impl<T> Default for Dictionary<T> {
    fn default() -> Self {
        Self { entries: Vec::new(), numbers: HashMap::new() }
    }
}

impl<T: Clone + Eq + std::hash::Hash> Dictionary<T> {
    fn index(&mut self, entry: T) -> u32 {
        if let Some(&number) = self.numbers.get(&entry) {
            return number;
        }
        let number = self.entries.len() as u32;
        self.entries.push(entry.clone());
        self.numbers.insert(entry, number);
        number
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(group: u32, day: &str, observation: &str, cell: Cell) -> Row {
        Row {
            group,
            day: day.parse().unwrap(),
            observation: observation.to_owned(),
            measure: "leaf-stage/stage".to_owned(),
            unit: String::new(),
            cell,
            conflicted: false,
        }
    }

    fn fields(n: usize) -> Vec<(Feature, i32)> {
        (0..n).map(|i| (Feature::Field(format!("F{i}")), 2026)).collect()
    }

    #[test]
    fn rows_are_sorted_by_group_day_and_observation() {
        let rows = vec![
            row(1, "2026-06-01", "b-01", Cell::Stage("V5".into())),
            row(0, "2026-06-02", "a-02", Cell::Stage("V6".into())),
            row(0, "2026-06-01", "a-01", Cell::Stage("x".into())),
        ];
        let obs = Observations::from_rows(fields(2), rows).unwrap();
        assert_eq!(obs.columns().group_offset, [0, 2, 3]);
        assert_eq!((0..3).map(|r| obs.key(r).unwrap().as_str()).collect::<Vec<_>>(), ["a-01", "a-02", "b-01"]);
        assert_eq!(obs.columns().stage_valid, [0, 1, 1], "`x` is no stage");
        let later = obs.select(&[1, 0], Some("2026-06-01".parse().unwrap()));
        assert_eq!((0..2).map(|r| later.key(r).unwrap().as_str()).collect::<Vec<_>>(), ["b-01", "a-01"]);
    }

    #[test]
    fn numbers_that_are_none_are_refused() {
        let rows = vec![row(0, "2026-06-01", "a-01", Cell::Number(f64::NAN))];
        assert!(matches!(Observations::from_rows(fields(1), rows), Err(ColumnsError::NotFinite { .. })));
        let obs = Observations::from_rows(fields(1), vec![]).unwrap();
        let derived = Derived { name: "dd".into(), unit: "[degF].d".into(), values: vec![None, None] };
        assert!(matches!(obs.with_derived(derived), Err(ColumnsError::DerivedLength { expected: 1, got: 2, .. })));
    }

    #[test]
    fn days_are_those_of_arrow() {
        assert_eq!(day_number(Date::constant(2026, 6, 1)), 20605);
        assert_eq!(date_of(20605), Some(Date::constant(2026, 6, 1)));
        assert_eq!(date_of(i32::MIN), None);
    }
}
