//! Visits: what was observed in one go, and putting one that was recorded on the wrong field where it belongs.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;
use ligule_journal::{Filter, Move, Moved};
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::ids::{DocKey, Feature, ObservationKey};
use ligule_observation::record::{Record, Void};
use serde::Serialize;

use crate::error::{EngineError, Result};
use crate::number::counted;
use crate::recording::{ListFilter, ObservationLine, name_of};
use crate::{Engine, now};

/// A visit in a listing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct VisitLine {
    /// Its identifier.
    pub visit: String,
    /// The field's name.
    pub field: String,
    /// When its first observation was made, in the field's time zone.
    pub at: String,
    /// Who observed.
    pub by: String,
    /// Observations that hold, by kind.
    pub kinds: BTreeMap<String, usize>,
    /// Observations that are void.
    pub void: usize,
    /// Where it was moved to, or from; empty where neither.
    pub moved: String,
}

/// A visit with its observations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VisitShown {
    /// The visit.
    #[serde(flatten)]
    pub visit: VisitLine,
    /// Its observations, void ones too.
    pub observations: Vec<ObservationLine>,
    /// What was corrected on another device in an observation that had been moved, a sentence each: the void wins, and the
    /// copy does not have the correction.
    pub amended_after_move: Vec<String>,
}

/// A visit that was moved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MovedVisit {
    /// The field on which it was recorded.
    pub from: String,
    /// The field where it is now.
    pub to: String,
    /// The visit there.
    pub visit: String,
    /// The copies, in order.
    pub observations: Vec<ObservationKey>,
    /// Observations that stay because they are void.
    pub left: usize,
}

/// What a void says that stands for a move, before the field's name.
const MOVED: &str = "moved to ";
/// What stands between that name and the key of the copy.
const AS: &str = " as ";

impl Engine {
    /// Lists the visits of a field, the latest first; of one season where it is named.
    pub fn visits(&self, field: &str, season: Option<i32>) -> Result<Vec<VisitLine>> {
        let field = self.field(field)?;
        let filter = Filter { feature: Some(Feature::Field(field.id)), season, ..Filter::default() };
        let mut visits: BTreeMap<(jiff::Timestamp, String), Vec<Record>> = BTreeMap::new();
        let mut begun: BTreeMap<String, jiff::Timestamp> = BTreeMap::new();
        for record in self.journal.records(&filter)? {
            // Records come in order of time.
            let at = *begun.entry(record.visit.clone()).or_insert(record.at);
            visits.entry((at, record.visit.clone())).or_default().push(record);
        }
        let copies = self.copies()?;
        visits.values().rev().map(|records| self.line_of(records, &copies)).collect()
    }

    /// Shows one visit, named by its identifier, the beginning of it, or the key of one of its observations.
    pub fn visit(&self, name: &str) -> Result<VisitShown> {
        let records = self.visit_records(name)?;
        let visit = self.line_of(&records, &self.copies()?)?;
        let filter = ListFilter { season: Some(records[0].season), voided: true, ..ListFilter::default() };
        let mut observations = self.list(&filter)?;
        observations.retain(|line| records.iter().any(|record| record.key == line.observation));
        let amended_after_move = records
            .iter()
            .filter_map(|record| Some((record, link(record.void.as_ref()?)?.1)))
            .filter_map(|(record, copy)| Some((record, self.journal.record_by_key(copy).ok()?)))
            .flat_map(|(record, copy)| self.differing(record, &copy))
            .collect();
        Ok(VisitShown { visit, observations, amended_after_move })
    }

    /// Puts a visit where it belongs: its observations are copied to the field with their author, times and places, and
    /// voided where they were recorded, with a link to the copy. Nothing is deleted.
    ///
    /// Void observations stay. Two devices that move one visit to one field make one copy.
    ///
    /// # Errors
    /// No such visit; it is of that field; it holds a conflict that waits for a person, or nothing that is not void.
    pub fn move_visit(&mut self, name: &str, to_field: &str, why: Option<&str>) -> Result<MovedVisit> {
        let records = self.visit_records(name)?;
        let to = self.field(to_field)?;
        let from = self.journal.doc_of(&records[0].key)?;
        let from_name = name_of(&self.names()?, &records[0].feature).0;
        if records[0].feature == Feature::Field(to.id.clone()) {
            return Err(EngineError::user(format!("the visit is of {} already", to.name), "name another field"));
        }
        let held: Vec<&Record> = records.iter().filter(|record| record.void.is_none()).collect();
        let Some(first) = held.iter().min_by_key(|record| record.at) else {
            return Err(EngineError::user(
                format!("every observation of the visit of {from_name} is void"),
                "`ligule visit show` tells why; there is nothing to move",
            ));
        };
        if let Some(open) = held.iter().find(|record| !record.conflicts.is_empty()) {
            return Err(EngineError::user(
                format!("{} of {} waits for a person to decide", open.conflicts.join(", "), open.key),
                "settle it with `ligule resolve` first, then move the visit",
            ));
        }
        let target = DocKey { feature: Feature::Field(to.id.clone()), ..from.clone() };
        let visit = Visit {
            id: copy_of(&first.visit, &target),
            by: first.by.clone(),
            at: first.at,
            offset_minutes: first.offset_minutes,
            place: None,
        };
        let observations = held
            .iter()
            .map(|record| {
                let copy = NewObservation {
                    visit: visit.clone(),
                    kind: record.kind.clone(),
                    version: self.journal.kind_version(&record.key)?,
                    values: record.values.clone(),
                    at: (record.at != visit.at).then_some(record.at),
                    place: record.place,
                    number: Some(number(&record.key)?),
                };
                Ok(Moved { from: record.key.clone(), copy })
            })
            .collect::<Result<Vec<Moved>>>()?;
        let crop = match self.journal.document(target.id())? {
            None => Some(to.crop.clone()).filter(|crop| !crop.is_empty()),
            Some(_) => None,
        };
        let (by, at) = (self.journal.identity().person, now());
        let said = why.map(str::trim).filter(|why| !why.is_empty());
        let void = |copy: &str| {
            let link = format!("{MOVED}{}{AS}{copy}", to.name);
            let why = said.map_or(link.clone(), |said| format!("{link}: {said}"));
            Void { why, by: by.clone(), at }
        };
        let what = Move { from, to: target, crop, observations, by: by.clone() };
        let keys = self.journal.move_observations(&what, void, at)?;
        let left = records.len() - held.len();
        Ok(MovedVisit { from: from_name, to: to.name, visit: visit.id, observations: keys, left })
    }

    /// Returns the records of a visit, void ones too, in order of time.
    fn visit_records(&self, name: &str) -> Result<Vec<Record>> {
        let id = name.split('-').next().unwrap_or(name).trim().to_uppercase();
        let unknown = |message: String| EngineError::user(message, "`ligule visit list FIELD` shows the visits");
        let mut records = self.journal.records(&Filter { visit: Some(id.clone()), ..Filter::default() })?;
        if records.is_empty() && id.len() >= 6 {
            records = self.journal.records(&Filter::default())?;
            records.retain(|record| record.visit.starts_with(&id));
        }
        if records.is_empty() {
            return Err(unknown(format!("there is no visit `{name}`")));
        }
        if records.iter().any(|record| record.visit != records[0].visit) {
            return Err(unknown(format!("several visits begin with `{name}`; give more of it")));
        }
        if !matches!(records[0].feature, Feature::Field(_)) {
            return Err(unknown(format!("`{name}` is no visit of a field")));
        }
        Ok(records)
    }

    /// Returns where copies of moved observations come from: the key of the original by that of the copy.
    fn copies(&self) -> Result<BTreeMap<ObservationKey, ObservationKey>> {
        let records = self.journal.records(&Filter::default())?;
        let link = |record: &Record| Some((link(record.void.as_ref()?)?.1.to_owned(), record.key.clone()));
        Ok(records.iter().filter_map(link).collect())
    }

    fn line_of(&self, records: &[Record], copies: &BTreeMap<ObservationKey, ObservationKey>) -> Result<VisitLine> {
        let first = &records[0];
        let names = self.names()?;
        let (field, zone) = name_of(&names, &first.feature);
        let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
        for record in records.iter().filter(|record| record.void.is_none()) {
            *kinds.entry(record.kind.clone()).or_default() += 1;
        }
        let gone = records.iter().find_map(|record| link(record.void.as_ref()?));
        let came = records.iter().find_map(|record| copies.get(&record.key));
        let moved = match (gone, came) {
            (Some((to, copy)), _) => format!("to {to}, visit {}", visit_of(copy)),
            (None, Some(original)) => {
                let feature = self.journal.record_by_key(original)?.feature;
                format!("from {}, visit {}", name_of(&names, &feature).0, visit_of(original))
            }
            (None, None) => String::new(),
        };
        let at = first.at.to_zoned_datetime(zone.unwrap_or(TimeZone::UTC)).strftime("%Y-%m-%d %H:%M").to_string();
        let void = records.iter().filter(|record| record.void.is_some()).count();
        Ok(VisitLine { visit: first.visit.clone(), field, at, by: first.by.clone(), kinds, void, moved })
    }

    /// Tells what differs between an observation that was moved and its copy.
    fn differing(&self, original: &Record, copy: &Record) -> Vec<String> {
        let kind = self.kinds.get(&original.kind);
        let told = |record: &Record, name: &String| {
            let measure = kind.and_then(|kind| kind.measure(name));
            record
                .values
                .get(name)
                .map_or_else(|| "nothing".to_owned(), |value| self.reading.value(&self.kinds, measure, value))
        };
        let differs =
            |name: &&String| original.values.get(*name).map(|m| &m.value) != copy.values.get(*name).map(|m| &m.value);
        original
            .values
            .keys()
            .filter(differs)
            .map(|name| {
                format!(
                    "{name} of {} is {}, its copy {} has {}",
                    original.key,
                    told(original, name),
                    copy.key,
                    told(copy, name)
                )
            })
            .collect()
    }
}

impl VisitLine {
    /// Returns the observations by kind on one line: `3 stand-count, 1 note`.
    pub fn kinds_text(&self) -> String {
        let kinds: Vec<String> = self.kinds.iter().map(|(kind, n)| format!("{n} {kind}")).collect();
        kinds.join(", ")
    }
}

impl MovedVisit {
    /// Says what was done.
    pub fn said(&self) -> String {
        let moved = counted(self.observations.len(), "observation", "observations");
        let left = match self.left {
            0 => String::new(),
            left => format!("; {left} {} void on {}", if left == 1 { "stays" } else { "stay" }, self.from),
        };
        format!("moved {moved} from {} to {}, visit {}{left}", self.from, self.to, self.visit)
    }
}

/// Returns the field and the key of the copy, where a void stands for a move.
fn link(void: &Void) -> Option<(&str, &str)> {
    let (field, rest) = void.why.strip_prefix(MOVED)?.split_once(AS)?;
    let key = rest.split(':').next().unwrap_or(rest);
    key.split_once('-').is_some_and(|(visit, _)| ulid::Ulid::from_string(visit).is_ok()).then_some((field, key))
}

fn visit_of(key: &str) -> &str {
    key.split('-').next().unwrap_or(key)
}

fn number(key: &str) -> Result<u32> {
    key.rsplit_once('-')
        .and_then(|(_, number)| number.parse().ok())
        .ok_or_else(|| EngineError::user(format!("`{key}` has no number within its visit"), "it cannot be moved"))
}

/// Returns the identifier that a visit has where it is moved to: the same on every device, and of the same time.
fn copy_of(visit: &str, to: &DocKey) -> String {
    let mut hasher = blake3::Hasher::new_derive_key("ligule moved visit 1");
    hasher.update(visit.as_bytes());
    hasher.update(&to.id().0);
    let mut random = [0; 16];
    random.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
    let time = ulid::Ulid::from_string(visit).map_or(0, |id| id.timestamp_ms());
    ulid::Ulid::from_parts(time, u128::from_be_bytes(random)).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_void_that_stands_for_a_move_links_to_its_copy() {
        let void = |why: &str| Void { why: why.to_owned(), by: "imke".into(), at: jiff::Timestamp::UNIX_EPOCH };
        let key = "01J9Z3K7W8Q2R5T6V7X8Y9Z0A1-02";
        assert_eq!(link(&void(&format!("moved to south-12 as {key}"))), Some(("south-12", key)));
        assert_eq!(link(&void(&format!("moved to south-12 as {key}: wrong field: mine"))), Some(("south-12", key)));
        assert_eq!(link(&void("moved to the barn as the rain came")), None);
        assert_eq!(link(&void("wrong field")), None);
    }

    #[test]
    fn a_copy_has_one_name_whoever_makes_it() {
        let to = |field: &str| DocKey {
            crew: ligule_observation::ids::CrewId([7; 16]),
            feature: Feature::Field(field.to_owned()),
            season: 2026,
        };
        let visit = "01J9Z3K7W8Q2R5T6V7X8Y9Z0A1";
        let copy = copy_of(visit, &to("a"));
        assert_eq!(copy, copy_of(visit, &to("a")));
        assert_ne!(copy, copy_of(visit, &to("b")));
        assert_eq!(copy[..10], visit[..10], "it keeps its time");
        assert!(ulid::Ulid::from_string(&copy).is_ok());
    }
}
