//! Observations that are there twice. Rows of sheets: two devices imported one sheet, each under its own field, before the
//! fields were merged; or one moved what it had imported to the field where it belongs, and another imported the corrected
//! sheet. Copies: parts of fields that were split are one again, and each has its copy of one planting; or a field was split
//! two ways, and one of them was given up, whose parts have copies of the planting that the other parts have too.
//!
//! The name of an imported observation follows from the field and from what the row says (see [`crate::sheet`]). So of
//! two fields that are one it can be told which observations are the same row, whatever else is recorded of them. A copy
//! tells its original.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use jiff::Timestamp;
use ligule_journal::Filter;
use ligule_observation::field::split::Cut;
use ligule_observation::ids::{Feature, ObservationKey};
use ligule_observation::record::{Place, Record, Value, Void};
use serde::Serialize;

use super::Grounds;
use crate::error::Result;
use crate::recording::{PLANTING, name_of};
use crate::sheet::{imported_under, imported_visit};
use crate::visits::{number, time_of};
use crate::{Engine, now};

/// An observation that is there twice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Double {
    /// The one that is kept.
    pub keep: ObservationKey,
    /// The other.
    pub double: ObservationKey,
    /// The field's name.
    pub field: String,
    /// The kind.
    pub kind: String,
    /// When, in UTC.
    pub at: Timestamp,
    /// Who observed.
    pub by: String,
    /// In which measures they differ since; then neither is made void.
    pub differ: Vec<String>,
    /// What they both are.
    #[serde(skip)]
    same: Same,
}

/// What two observations both are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Same {
    Row,
    Copy,
}

impl Engine {
    /// Returns the observations that are there twice, of one field or of all.
    pub fn doubles(&self, field: Option<&str>) -> Result<Vec<Double>> {
        let only = field.map(|name| self.field(name)).transpose()?.map(|field| field.id);
        let united = self.journal.united()?;
        let mut moved = self.moved_doubles()?;
        moved.retain(|(id, _)| only.as_ref().is_none_or(|only| only == id));
        let given_up = self.given_up_copies(only.as_deref())?;
        let homes: BTreeSet<String> = match only {
            Some(id) => BTreeSet::from([id]),
            None => self.journal.fields()?.into_iter().map(|field| field.id).collect(),
        };
        let names = self.names()?;
        let mut doubles = Vec::new();
        for home in homes {
            let mut members = united.members(&home);
            if members.len() < 2 {
                continue;
            }
            // What is recorded of the field that is spoken of is kept, before that of the others.
            members.sort_by_key(|id| (*id != home, *id));
            let name = name_of(&names, &Feature::Field(home.clone())).0;
            let filter = Filter { feature: Some(Feature::Field(home.clone())), ..Filter::default() };
            let seasons: BTreeSet<i32> = self.journal.records(&filter)?.iter().map(|record| record.season).collect();
            for season in seasons {
                doubles.extend(self.doubles_in(&members, season, &name)?);
            }
        }
        doubles.extend(moved.into_iter().map(|(_, double)| double));
        doubles.extend(given_up);
        Ok(doubles)
    }

    /// Returns the rows that were imported under the field to which the same rows of another had been moved, each with that
    /// field's identifier. What was moved is kept.
    fn moved_doubles(&self) -> Result<Vec<(String, Double)>> {
        let (names, united) = (self.names()?, self.journal.united()?);
        let mut doubles = Vec::new();
        for (original, copy) in self.moved_copies()? {
            let copy = self.journal.record_by_key(&copy).ok().filter(|copy| copy.void.is_none());
            let Some(copy) = copy else { continue };
            // The field that each was recorded of, whatever it is part of since.
            let of = |record: &Record| self.journal.doc_of(&record.key).map(|document| document.feature);
            let (Feature::Field(from), Feature::Field(to)) = (of(&original)?, of(&copy)?) else { continue };
            let Some(row) = row_of(&original, &from) else { continue };
            let Some(visit) = imported_under(&original.visit, &to, original.offset_minutes, &row.told) else {
                continue;
            };
            let Ok(double) = self.journal.record_by_key(&format!("{visit}-{:02}", row.number)) else { continue };
            if double.void.is_some() || (&double.kind, double.at) != (&copy.kind, copy.at) {
                continue;
            }
            let told = Double {
                keep: copy.key.clone(),
                double: double.key.clone(),
                field: name_of(&names, &copy.feature).0,
                kind: copy.kind.clone(),
                at: copy.at,
                by: copy.by.clone(),
                differ: differing(&copy, &double),
                same: Same::Row,
            };
            doubles.push((united.home(&to).to_owned(), told));
        }
        Ok(doubles)
    }

    /// Returns the copies of the whole's plantings on the parts of splits that were given up: of all, or of those that have to do
    /// with one field.
    fn given_up_copies(&self, only: Option<&str>) -> Result<Vec<Double>> {
        let (names, united) = (self.names()?, self.journal.united()?);
        let grounds = Grounds::of(&self.journal)?;
        let mut doubles = Vec::new();
        let asked = |cut: &&Cut| only.is_none_or(|only| cut.whole == only || cut.parts.contains(only));
        for cut in grounds.given_up().into_iter().filter(asked) {
            for part in &cut.parts {
                let filter = Filter {
                    feature: Some(Feature::Field(part.clone())),
                    kind: Some(PLANTING.to_owned()),
                    ..Filter::default()
                };
                for copy in self.journal.records(&filter)?.into_iter().filter(|copy| copy.void.is_none()) {
                    let Some((visit, Feature::Field(of))) = self.first_of(&copy.visit)? else { continue };
                    let Ok(number) = number(&copy.key) else { continue };
                    let original = self.journal.record_by_key(&format!("{visit}-{number:02}"));
                    let Ok(original) = original else { continue };
                    if united.home(&of) != cut.whole || original.void.is_some() {
                        continue;
                    }
                    doubles.push(Double {
                        keep: original.key.clone(),
                        double: copy.key.clone(),
                        field: name_of(&names, &copy.feature).0,
                        kind: copy.kind.clone(),
                        at: copy.at,
                        by: copy.by.clone(),
                        differ: differing(&original, &copy),
                        same: Same::Copy,
                    });
                }
            }
        }
        Ok(doubles)
    }

    fn doubles_in(&self, members: &[&str], season: i32, field: &str) -> Result<Vec<Double>> {
        let mut kept: Vec<(Record, Row)> = Vec::new();
        let mut doubles = Vec::new();
        let double = |keep: &Record, double: &Record, same: Same| Double {
            keep: keep.key.clone(),
            double: double.key.clone(),
            field: field.to_owned(),
            kind: double.kind.clone(),
            at: double.at,
            by: double.by.clone(),
            differ: differing(keep, double),
            same,
        };
        // A copy keeps the time that begins its original's identifier, and the number.
        let mut copies: HashMap<(String, u32, String), Vec<(usize, Record)>> = HashMap::new();
        for (member, id) in members.iter().enumerate() {
            let document = self.document(Feature::Field((*id).to_owned()), season);
            let mut rows: Vec<(Record, Row)> = Vec::new();
            for record in self.journal.records_in(document.id())?.into_iter().filter(|record| record.void.is_none()) {
                match (row_of(&record, id), number(&record.key)) {
                    (Some(row), _) => rows.push((record, row)),
                    (None, Ok(number)) => {
                        let alike = (time_of(&record.visit).to_owned(), number, record.kind.clone());
                        copies.entry(alike).or_default().push((member, record));
                    }
                    (None, Err(_)) => {}
                }
            }
            // Each one that is kept has one double of this field at most: first by name, then by what it says.
            let mut free: BTreeSet<usize> = (0..kept.len()).collect();
            for same in [Row::is_named_as, Row::says_as] {
                rows.retain(|(record, row)| {
                    let Some(at) = free.iter().copied().find(|at| same(&kept[*at].1, row)) else { return true };
                    free.remove(&at);
                    doubles.push(double(&kept[at].0, record, Same::Row));
                    false
                });
            }
            kept.extend(rows);
        }
        for alike in copies.into_values().filter(|alike| alike.iter().any(|(member, _)| *member != alike[0].0)) {
            let mut first: HashMap<String, (usize, Record)> = HashMap::new();
            for (member, record) in alike {
                let original = self.first_of(&record.visit)?.map_or_else(|| record.visit.clone(), |(visit, _)| visit);
                match first.get(&original) {
                    Some((other, keep)) if *other != member => doubles.push(double(keep, &record, Same::Copy)),
                    Some(_) => {}
                    None => drop(first.insert(original, (member, record))),
                }
            }
        }
        doubles.sort_by(|a, b| (a.at, &a.keep, &a.double).cmp(&(b.at, &b.keep, &b.double)));
        Ok(doubles)
    }

    /// Marks doubles as void that say the same as the one that is kept; returns how many. Done again, it goes on.
    pub fn void_doubles(&mut self, doubles: &[Double]) -> Result<usize> {
        let (by, at) = (self.journal.identity().person, now());
        let mut of_document: BTreeMap<_, Vec<(ObservationKey, Void)>> = BTreeMap::new();
        for double in doubles.iter().filter(|double| double.differ.is_empty()) {
            let why = match double.same {
                Same::Row => format!("the same row of a sheet as {}", double.keep),
                Same::Copy => format!("of one observation as {}", double.keep),
            };
            let void = Void { why, by: by.clone(), at, also: Vec::new() };
            let document = self.journal.doc_of(&double.double)?;
            of_document.entry(document).or_default().push((double.double.clone(), void));
        }
        let voids: Vec<_> = of_document.into_iter().collect();
        self.journal.void_all(&voids, &by)?;
        Ok(voids.iter().map(|(_, voids)| voids.len()).sum())
    }
}

/// What tells a row of a sheet.
struct Row {
    number: u32,
    /// Who the sheet says observed; empty where it says nobody.
    told: String,
    kind: String,
    at: Timestamp,
    place: Option<Place>,
    values: BTreeMap<String, Value>,
}

impl Row {
    /// Tells whether an import gave both one name, whatever was corrected since.
    fn is_named_as(&self, other: &Self) -> bool {
        (self.number, &self.told, &self.kind, self.at) == (other.number, &other.told, &other.kind, other.at)
            && self.number >= HASHED
    }

    /// Tells whether both say the same. Earlier programs numbered anew what a device brought into a crew.
    fn says_as(&self, other: &Self) -> bool {
        (&self.told, &self.kind, self.at, self.place, &self.values)
            == (&other.told, &other.kind, other.at, other.place, &other.values)
    }
}

/// A number that is less is one that was counted, not the hash of a row (but for one in 40,000, which is told by what it says).
const HASHED: u32 = 100_000;

/// Returns the row of a sheet that an observation is; nothing where it is none.
fn row_of(record: &Record, field: &str) -> Option<Row> {
    let told = ["", record.by.as_str()];
    let told = told.into_iter().find(|by| imported_visit(&record.visit, field, record.offset_minutes, by))?;
    let values = record.values.iter().map(|(name, measured)| (name.clone(), measured.value.clone()));
    Some(Row {
        number: number(&record.key).ok()?,
        told: told.to_owned(),
        kind: record.kind.clone(),
        at: record.at,
        place: record.place,
        values: values.collect(),
    })
}

/// Returns the measures in which two records differ.
fn differing(one: &Record, other: &Record) -> Vec<String> {
    let names: BTreeSet<&String> = one.values.keys().chain(other.values.keys()).collect();
    let value = |record: &Record, name: &String| record.values.get(name).map(|measured| measured.value.clone());
    names.into_iter().filter(|name| value(one, name) != value(other, name)).cloned().collect()
}
