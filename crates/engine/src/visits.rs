//! Visits: what was observed in one go, and putting one that was recorded on the wrong field where it belongs.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use jiff::tz::TimeZone;
use ligule_journal::{Filter, Move, Moved};
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::history::HistoryEntry;
use ligule_observation::ids::{DocKey, Feature, ObservationKey};
use ligule_observation::kinds::KindSet;
use ligule_observation::record::{MOVED_TO, Measured, Record, Value, Void};
use serde::Serialize;

use crate::conflicts::resolve_line;
use crate::error::{EngineError, Result};
use crate::moment;
use crate::phrases::{Noun, Phrase};
use crate::reading::Reading;
use crate::recording::{CandidateLine, ConflictLine, ListFilter, ObservationLine, name_of};
use crate::{Engine, now};

/// A visit in a listing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct VisitLine {
    /// Its identifier.
    pub visit: String,
    /// The field's name.
    pub field: String,
    /// When its first observation was made, as the clock in the field's time zone shows it (RFC 3339).
    pub at: String,
    /// The same as people read it.
    #[serde(skip)]
    pub at_read: String,
    /// Who observed.
    pub by: String,
    /// Observations that hold, by kind.
    pub kinds: BTreeMap<String, usize>,
    /// Observations that are void.
    pub void: usize,
    /// Where it was moved to, or from; empty where neither.
    pub moved: String,
    /// The same as people read it.
    #[serde(skip)]
    pub moved_read: String,
    /// Where its observations went, when they were moved; several where devices moved it to different fields.
    pub moved_to: Vec<Elsewhere>,
    /// Where they came from: moved here, or copied as the planting of a field that was split is.
    pub copied_from: Option<Elsewhere>,
    /// Two devices moved it to different fields; it is told of each until a person decides.
    pub apart: bool,
}

/// A visit of another field.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Elsewhere {
    /// The field's name.
    pub field: String,
    /// The visit.
    pub visit: String,
}

/// A visit with its observations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VisitShown {
    /// The visit.
    #[serde(flatten)]
    pub visit: VisitLine,
    /// Its observations, void ones too.
    pub observations: Vec<ObservationLine>,
    /// The copies of those that were moved, by the key of the original.
    pub moved_to: BTreeMap<ObservationKey, ObservationKey>,
    /// The originals of those that are copies, by the key of the copy.
    pub copied_from: BTreeMap<ObservationKey, ObservationKey>,
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

/// Every visit, and which are copies of which.
///
/// A copy's identifier follows from that of the original and the document that it lies in (see [`copy_of`]), so that the
/// link holds both ways whoever made the copy, and also where two devices made two.
struct Visits {
    /// By the time that begins an identifier, which a copy keeps.
    by_time: HashMap<String, Vec<Seen>>,
    names: HashMap<String, (String, Option<TimeZone>)>,
}

/// A visit, in short.
struct Seen {
    visit: String,
    /// The document that it lies in, also where its field is part of another.
    document: DocKey,
    /// Numbers within the visit that hold, that is, are not void.
    holds: Vec<u32>,
    /// The void ones that stand for a move, with the key of the copy.
    moved: Vec<(u32, ObservationKey)>,
}

impl Visits {
    /// Reads the visits that begin at the same time as one of `visits`: whatever is moved or copied is among them.
    fn around<'v>(engine: &Engine, visits: impl Iterator<Item = &'v str>) -> Result<Self> {
        let times: BTreeSet<&str> = visits.map(time_of).collect();
        let mut by_time: HashMap<String, Vec<Seen>> = HashMap::new();
        for time in times {
            // Records come by key, so that those of a visit come together.
            let mut seen: Vec<Seen> = Vec::new();
            for record in engine.journal.records_beginning(time)? {
                if seen.last().is_none_or(|last| last.visit != record.visit) {
                    seen.push(Seen {
                        visit: record.visit.clone(),
                        document: engine.document(record.feature.clone(), record.season),
                        holds: Vec::new(),
                        moved: Vec::new(),
                    });
                }
                let (Some(one), Ok(number)) = (seen.last_mut(), number(&record.key)) else { continue };
                match &record.void {
                    None => one.holds.push(number),
                    Some(void) => one.moved.extend(link(void).map(|(_, copy)| (number, copy.to_owned()))),
                }
            }
            by_time.insert(time.to_owned(), seen);
        }
        Ok(Self { by_time, names: engine.names()? })
    }

    fn beside(&self, visit: &str) -> impl Iterator<Item = &Seen> {
        self.by_time.get(time_of(visit)).into_iter().flatten().filter(move |one| one.visit != visit)
    }

    fn seen(&self, visit: &str) -> Option<&Seen> {
        self.by_time.get(time_of(visit))?.iter().find(|one| one.visit == visit)
    }

    /// Returns the copies of a visit of which something holds.
    fn copies(&self, visit: &str) -> Vec<&Seen> {
        let linked = |copy: &&Seen| {
            let moved = self.seen(visit).into_iter().flat_map(|one| &one.moved);
            copy.visit == copy_of(visit, &copy.document)
                || moved.into_iter().any(|(_, key)| visit_of(key) == copy.visit)
        };
        self.beside(visit).filter(linked).filter(|one| !one.holds.is_empty()).collect()
    }

    /// Returns the visit of which a visit is a copy. Where it was made before the device joined this crew, only the void of
    /// the original tells.
    fn origin(&self, visit: &str) -> Option<&Seen> {
        let document = &self.seen(visit)?.document;
        let links = |one: &&Seen| one.moved.iter().any(|(_, key)| visit_of(key) == visit);
        let named = self.beside(visit).find(|one| copy_of(&one.visit, document) == visit);
        named.or_else(|| self.beside(visit).find(links))
    }

    /// Returns the visits that were moved to several fields: the original, and copies of one observation that hold.
    fn moved_apart(&self) -> Vec<(&Seen, Vec<&Seen>)> {
        let all = self.by_time.values().filter(|beside| beside.len() > 2).flatten();
        let mut apart: Vec<_> = all
            // A sheet of days without hours gives very many visits one time.
            .filter(|one| !one.moved.is_empty())
            .filter_map(|one| {
                let moved = |copy: &&Seen| one.moved.iter().any(|(number, _)| copy.holds.contains(number));
                let copies: Vec<&Seen> = self.copies(&one.visit).into_iter().filter(moved).collect();
                (copies.len() > 1).then_some((one, copies))
            })
            .collect();
        apart.sort_by(|a, b| a.0.visit.cmp(&b.0.visit));
        apart
    }

    fn field(&self, one: &Seen) -> String {
        name_of(&self.names, &one.document.feature).0
    }

    fn elsewhere(&self, one: &Seen) -> Elsewhere {
        Elsewhere { field: self.field(one), visit: one.visit.clone() }
    }
}

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
        let all = Visits::around(self, visits.keys().map(|(_, visit)| visit.as_str()))?;
        Ok(visits.values().rev().map(|records| line_of(records, &all, &self.reading)).collect())
    }

    /// Shows one visit, named by its identifier, the beginning of it, or the key of one of its observations.
    pub fn visit(&self, name: &str) -> Result<VisitShown> {
        let records = self.visit_records(name)?;
        let all = Visits::around(self, [records[0].visit.as_str()].into_iter())?;
        let visit = line_of(&records, &all, &self.reading);
        let filter = ListFilter { season: Some(records[0].season), voided: true, ..ListFilter::default() };
        let mut observations = self.list(&filter)?;
        observations.retain(|line| records.iter().any(|record| record.key == line.observation));
        let gone = |record: &Record| Some((record.key.clone(), link(record.void.as_ref()?)?.1.to_owned()));
        let moved_to: BTreeMap<_, _> = records.iter().filter_map(gone).collect();
        let origin = all.origin(&visit.visit).map(|origin| origin.visit.clone());
        let copied_from = origin.map_or_else(BTreeMap::new, |origin| {
            let original = |key: &str| Some((key.to_owned(), format!("{origin}-{}", key.split_once('-')?.1)));
            records.iter().filter_map(|record| original(&record.key)).collect()
        });
        let amended_after_move = moved_to
            .iter()
            .filter_map(|(original, copy)| {
                let original = records.iter().find(|record| record.key == *original)?;
                Some((original, self.journal.record_by_key(copy).ok()?))
            })
            .flat_map(|(original, copy)| self.differing(original, &copy))
            .collect();
        Ok(VisitShown { visit, observations, moved_to, copied_from, amended_after_move })
    }

    /// Returns the observation of which an observation is a copy, where it is one.
    pub(crate) fn original_of(&self, record: &Record) -> Result<Option<ObservationKey>> {
        let all = Visits::around(self, [record.visit.as_str()].into_iter())?;
        let Some(origin) = all.origin(&record.visit) else { return Ok(None) };
        let number = number(&record.key)?;
        let there = origin.holds.contains(&number) || origin.moved.iter().any(|(moved, _)| *moved == number);
        Ok(there.then(|| format!("{}-{number:02}", origin.visit)))
    }

    /// Returns every observation that was moved, with the key of its copy.
    pub(crate) fn moved_copies(&self) -> Result<Vec<(Record, ObservationKey)>> {
        let mut copies = Vec::new();
        for key in self.journal.voided_because(MOVED)? {
            let record = self.journal.record_by_key(&key)?;
            let copy = record.void.as_ref().and_then(link).map(|(_, copy)| copy.to_owned());
            copies.extend(copy.map(|copy| (record, copy)));
        }
        Ok(copies)
    }

    /// Returns the first visit of which a visit is a copy, through whatever others, and what it was recorded of.
    pub(crate) fn first_of(&self, visit: &str) -> Result<Option<(String, Feature)>> {
        let all = Visits::around(self, std::iter::once(visit))?;
        let mut first = all.origin(visit);
        // A visit may go back to where it came from.
        for _ in 0..all.by_time.values().map(Vec::len).sum() {
            match first.and_then(|one| all.origin(&one.visit)).filter(|before| before.visit != visit) {
                Some(before) => first = Some(before),
                None => break,
            }
        }
        Ok(first.map(|one| (one.visit.clone(), one.document.feature.clone())))
    }

    /// Returns the observations that were moved into an observation: that of which it is a copy, and where two devices moved
    /// one visit to two fields, what was moved on from the other.
    pub(crate) fn moved_into(&self, record: &Record) -> Result<Vec<ObservationKey>> {
        let all = Visits::around(self, [record.visit.as_str()].into_iter())?;
        let moved = all.by_time.values().flatten().flat_map(|one| one.moved.iter().map(move |moved| (one, moved)));
        let into = moved.filter(|(_, (_, copy))| *copy == record.key);
        Ok(into.map(|(one, (number, _))| format!("{}-{number:02}", one.visit)).collect())
    }

    /// Returns what waits for a person because a visit was moved: corrections made elsewhere of what was moved meanwhile,
    /// which its copy lacks, and visits that two devices moved to different fields.
    pub(crate) fn moves_in_doubt(&self) -> Result<Vec<ConflictLine>> {
        let moved = self.journal.voided_because(MOVED)?;
        let all = Visits::around(self, moved.iter().map(|key| visit_of(key)))?;
        let mut lines = Vec::new();
        for (original, copy) in all.by_time.values().flatten().flat_map(|one| one.moved.iter().map(move |m| (one, m))) {
            let key = format!("{}-{:02}", original.visit, copy.0);
            lines.extend(self.left_behind(&key, &copy.1)?);
        }
        for (original, copies) in all.moved_apart() {
            let field = all.field(original);
            let number = original.moved[0].0;
            let key = format!("{}-{number:02}", original.visit);
            // Which void holds is nobody's choice; the history has all.
            let history = self.journal.history(&key)?;
            let candidates = copies.iter().map(|copy| {
                let to = format!("{}-{number:02}", copy.visit);
                let entry = history.iter().rev().find(|entry| match &entry.value {
                    Value::Text(text) if entry.measure == "void" => text.contains(&to),
                    _ => false,
                });
                let (right, visit) = (all.field(copy), &copy.visit);
                // The other copies go to the field of the right one.
                let wrong = copies.iter().filter(|other| other.visit != *visit);
                let moves = wrong.map(|wrong| format!("ligule visit move {} {right}", wrong.visit));
                CandidateLine {
                    value: format!("{right}, visit {visit}"),
                    read: self.reading.say(Phrase::VisitThere, &[("field", &right), ("visit", visit)]),
                    by: entry.map_or_else(String::new, |entry| entry.by.clone()),
                    at: entry.map_or_else(String::new, |entry| entry.at.to_string()),
                    device: entry.map_or_else(String::new, |entry| entry.device.to_string()),
                    settle: moves.collect::<Vec<_>>().join(" && "),
                }
            });
            lines.push(ConflictLine {
                observation: key,
                field,
                kind: VISIT.to_owned(),
                measure: MOVED_TO.to_owned(),
                candidates: candidates.collect(),
                why: None,
                why_read: String::new(),
            });
        }
        lines.sort_by(|a, b| (&a.observation, &a.measure).cmp(&(&b.observation, &b.measure)));
        Ok(lines)
    }

    /// Carries over to copies what became of their originals on devices that had not heard of the move: a copy of what was
    /// voided there is void too, and what waits for a person because of a move is marked in the copy, so that it is in no
    /// assessment and every list names it. Devices that know the same write the same.
    ///
    /// *Returns* what there is to tell of it.
    pub(crate) fn settle_moves(&self) -> Result<Vec<String>> {
        let moved = self.journal.voided_because(MOVED)?;
        if moved.is_empty() {
            return Ok(Vec::new());
        }
        let (by, names, mut told) = (self.journal.identity().person, self.names()?, Vec::new());
        let mut copies = BTreeSet::new();
        for key in &moved {
            let original = self.journal.record_by_key(key)?;
            let Some(void) = &original.void else { continue };
            let Some(copy) = self.last_copy(void)? else { continue };
            if let Some(reason) = void.reasons().find(|reason| link_in(reason).is_none()) {
                self.journal.carry_void(&copy.key, reason, &by, now())?;
                let field = name_of(&names, &copy.feature).0;
                let with: [(&str, &dyn std::fmt::Display); 5] =
                    [("key", key), ("by", &reason.by), ("why", &reason.why), ("copy", &copy.key), ("field", &field)];
                told.push(self.reading.say(Phrase::VoidedWhileMoved, &with));
            } else {
                copies.insert(copy.key);
            }
        }
        let mut waits: BTreeMap<ObservationKey, BTreeSet<String>> = BTreeMap::new();
        for line in self.moves_in_doubt()?.into_iter().filter(|line| line.measure != MOVED_TO) {
            waits.entry(line.observation).or_default().insert(line.measure);
        }
        let all = Visits::around(self, moved.iter().map(|key| visit_of(key)))?;
        for copy in all.moved_apart().into_iter().flat_map(|(_, copies)| copies) {
            for number in &copy.holds {
                let key = format!("{}-{number:02}", copy.visit);
                waits.entry(key).or_default().insert(MOVED_TO.to_owned());
            }
        }
        copies.extend(waits.keys().cloned());
        for key in copies {
            let measures = waits.remove(&key).unwrap_or_default();
            // Most copies are in no doubt, and never were.
            if !measures.is_empty() || !self.journal.record_by_key(&key)?.conflicts.is_empty() {
                self.journal.mark_waiting(&key, &measures, &by, now())?;
            }
        }
        Ok(told)
    }

    /// Returns the copy that a move made, or where it was moved on, the last one; `None` where that is void or not here.
    fn last_copy(&self, void: &Void) -> Result<Option<Record>> {
        let (mut next, mut seen) = (link(void).map(|(_, copy)| copy.to_owned()), BTreeSet::new());
        while let Some(key) = next.filter(|key| seen.insert(key.clone())) {
            let Ok(copy) = self.journal.record_by_key(&key) else { return Ok(None) };
            match &copy.void {
                None => return Ok(Some(copy)),
                Some(void) => next = link(void).map(|(_, copy)| copy.to_owned()),
            }
        }
        Ok(None)
    }

    /// Returns the corrections of an observation that was moved meanwhile, which the copy lacks and nobody has decided on:
    /// of the copy's measure the value that it was corrected to, and that which the copy shows.
    ///
    /// A decision is whatever was written to the copy's measure after the correction.
    pub(crate) fn left_behind(&self, original: &str, copy: &str) -> Result<Vec<ConflictLine>> {
        let Ok(shown) = self.journal.record_by_key(copy) else { return Ok(Vec::new()) };
        let moved = self.journal.record_by_key(original)?;
        let differs =
            |(name, value): &(&String, &Measured)| shown.values.get(*name).map(|m| &m.value) != Some(&value.value);
        let differing: Vec<_> = moved.values.iter().filter(differs).collect();
        let linked = moved.void.as_ref().and_then(link).is_some_and(|(_, to)| to == copy);
        if differing.is_empty() || shown.void.is_some() || !linked {
            return Ok(Vec::new());
        }
        let (there, here) = (self.journal.history(original)?, self.journal.history(copy)?);
        let names = self.names()?;
        let kind = self.kinds().get(&moved.kind);
        let mut lines = Vec::new();
        for (name, value) in differing {
            let of = |history: &[HistoryEntry]| -> Vec<HistoryEntry> {
                history.iter().filter(|entry| entry.measure == *name).cloned().collect()
            };
            let (written, copied) = (of(&there), of(&here));
            let Some(last) = written.iter().rev().find(|entry| entry.value == value.value) else { continue };
            let as_copied = copied.first().is_some_and(|entry| entry.value == value.value);
            let decided = copied.iter().skip(1).any(|entry| entry.at >= last.at);
            if as_copied || decided {
                continue;
            }
            let measure = kind.and_then(|kind| kind.measure(name));
            let line = |measured: &Measured, entry: Option<&HistoryEntry>| {
                let value = self.candidate(measure, measured);
                CandidateLine {
                    settle: resolve_line(copy, name, &value),
                    read: value.clone(),
                    value,
                    by: entry.map_or_else(|| shown.by.clone(), |entry| entry.by.clone()),
                    at: entry.map_or_else(String::new, |entry| entry.at.to_string()),
                    device: entry.map_or_else(String::new, |entry| entry.device.to_string()),
                }
            };
            let mut candidates = vec![line(value, Some(last))];
            candidates.extend(shown.values.get(name).map(|measured| line(measured, copied.last())));
            lines.push(ConflictLine {
                observation: copy.to_owned(),
                field: name_of(&names, &shown.feature).0,
                kind: shown.kind.clone(),
                measure: name.clone(),
                candidates,
                why: None,
                why_read: String::new(),
            });
        }
        Ok(lines)
    }

    /// Puts a visit where it belongs: its observations are copied to the field with their author, times and places, and
    /// voided where they were recorded, with a link to the copy. Nothing is deleted.
    ///
    /// Void observations stay. Two devices that move one visit to one field make one copy. Where two moved it to different
    /// fields, moving one copy to the field of the other leaves that other's alone.
    ///
    /// # Errors
    /// No such visit; it is of that field; it holds a conflict that waits for a person, or nothing that is not void.
    pub fn move_visit(&mut self, name: &str, to_field: &str, why: Option<&str>) -> Result<MovedVisit> {
        let records = self.visit_records(name)?;
        let to = self.field(to_field)?;
        let from = self.journal.doc_of(&records[0].key)?;
        let from_name = name_of(&self.names()?, &records[0].feature).0;
        if records[0].feature == Feature::Field(to.id.clone()) {
            let what = self.reading.say(Phrase::VisitThereAlready, &[("field", &to.name)]);
            return Err(EngineError::user(what, self.reading.word(Phrase::NameAnotherField)));
        }
        let held: Vec<&Record> = records.iter().filter(|record| record.void.is_none()).collect();
        let Some(first) = held.iter().min_by_key(|record| record.at) else {
            let went = self.went_to(&records[0].visit)?;
            if let Some(there) = went.first() {
                let said = |one: &Elsewhere| {
                    self.reading.say(Phrase::VisitThere, &[("field", &one.field), ("visit", &one.visit)])
                };
                let all = went.iter().map(said).collect::<Vec<_>>().join(self.reading.word(Phrase::AndTo));
                let what = self.reading.say(Phrase::VisitMovedAlready, &[("field", &from_name), ("to", &all)]);
                let hint = match went.iter().any(|one| one.field == to.name) {
                    true => String::new(),
                    false => {
                        let with: [(&str, &dyn std::fmt::Display); 2] = [("visit", &there.visit), ("field", &to.name)];
                        self.reading.say(Phrase::MoveOnFromThere, &with)
                    }
                };
                return Err(EngineError::user(what, hint));
            }
            let what = self.reading.say(Phrase::VisitAllVoid, &[("field", &from_name)]);
            return Err(EngineError::user(what, self.reading.word(Phrase::NothingToMove)));
        };
        // Where the visit belongs is what is decided here; what it says must be settled.
        let differing: BTreeSet<ObservationKey> =
            self.journal.conflicts()?.into_iter().map(|conflict| conflict.key).collect();
        let waits = |record: &&&Record| match record.conflicts.iter().any(|measure| measure == MOVED_TO) {
            true => differing.contains(&record.key),
            false => !record.conflicts.is_empty(),
        };
        if let Some(open) = held.iter().find(waits) {
            let kind = self.kinds.get(&open.kind);
            let called =
                |name: &String| self.reading.measure(kind.and_then(|kind| kind.measure(name)), name).to_owned();
            let measures = open.conflicts.iter().map(called).collect::<Vec<_>>().join(", ");
            let what = self.reading.say(Phrase::VisitWaits, &[("measures", &measures), ("key", &open.key)]);
            return Err(EngineError::user(what, self.reading.word(Phrase::ResolveThenMove)));
        }
        let target = DocKey { feature: Feature::Field(to.id.clone()), ..from.clone() };
        let all = Visits::around(self, [first.visit.as_str()].into_iter())?;
        // A copy of the same visit that lies there already takes it in.
        let there = all.origin(&first.visit).map(|origin| copy_of(&origin.visit, &target));
        let there = there.filter(|id| all.seen(id).is_some_and(|seen| !seen.holds.is_empty()));
        let visit = Visit {
            id: there.unwrap_or_else(|| copy_of(&first.visit, &target)),
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
            Void { why, by: by.clone(), at, also: Vec::new() }
        };
        let what = Move { from, to: target, crop, observations, by: by.clone() };
        let keys = self.journal.move_observations(&what, void, at)?;
        self.settle_moves()?;
        let left = records.len() - held.len();
        Ok(MovedVisit { from: from_name, to: to.name, visit: visit.id, observations: keys, left })
    }

    /// Returns where the observations of a visit are that were moved, through whatever fields they went on.
    pub(crate) fn went_to(&self, visit: &str) -> Result<Vec<Elsewhere>> {
        let all = Visits::around(self, std::iter::once(visit))?;
        let (mut seen, mut went) = (vec![visit], Vec::new());
        let mut next = 0;
        while let Some(one) = seen.get(next).and_then(|visit| all.seen(visit)) {
            next += 1;
            for copy in one.moved.iter().filter_map(|(_, key)| all.seen(visit_of(key))) {
                if !seen.contains(&copy.visit.as_str()) {
                    seen.push(&copy.visit);
                    went.extend((!copy.holds.is_empty()).then(|| all.elsewhere(copy)));
                }
            }
        }
        Ok(went)
    }

    /// Returns the records of a visit, void ones too, in order of time.
    fn visit_records(&self, name: &str) -> Result<Vec<Record>> {
        let id = name.split('-').next().unwrap_or(name).trim().to_uppercase();
        let unknown = |what: Phrase| {
            let what = self.reading.say(what, &[("name", &name)]);
            EngineError::user(what, self.reading.word(Phrase::VisitListShows))
        };
        let mut records = self.journal.records(&Filter { visit: Some(id.clone()), ..Filter::default() })?;
        if records.is_empty() && id.len() >= 6 {
            records = self.journal.records(&Filter::default())?;
            records.retain(|record| record.visit.starts_with(&id));
        }
        if records.is_empty() {
            return Err(unknown(Phrase::NoSuchVisit));
        }
        if records.iter().any(|record| record.visit != records[0].visit) {
            return Err(unknown(Phrase::SeveralVisits));
        }
        if !matches!(records[0].feature, Feature::Field(_)) {
            return Err(unknown(Phrase::NoVisitOfAField));
        }
        Ok(records)
    }

    /// Tells what differs between an observation that was moved and its copy.
    fn differing(&self, original: &Record, copy: &Record) -> Vec<String> {
        let kind = self.kinds.get(&original.kind);
        let told = |record: &Record, name: &String| {
            let measure = kind.and_then(|kind| kind.measure(name));
            record.values.get(name).map_or_else(
                || self.reading.word(Phrase::NothingThere).to_owned(),
                |value| self.reading.value(&self.kinds, measure, value),
            )
        };
        let differs =
            |name: &&String| original.values.get(*name).map(|m| &m.value) != copy.values.get(*name).map(|m| &m.value);
        original
            .values
            .keys()
            .filter(differs)
            .map(|name| {
                let called = self.reading.measure(kind.and_then(|kind| kind.measure(name)), name);
                let with: [(&str, &dyn std::fmt::Display); 5] = [
                    ("name", &called),
                    ("original", &original.key),
                    ("there", &told(original, name)),
                    ("copy", &copy.key),
                    ("here", &told(copy, name)),
                ];
                self.reading.say(Phrase::CopyDiffers, &with)
            })
            .collect()
    }
}

/// Under which kind is told what is in doubt of a visit that was moved to two fields.
const VISIT: &str = "visit";

impl ConflictLine {
    /// Returns what its kind and its measure are called by who reads so.
    pub fn called(&self, kinds: &KindSet, reading: &Reading) -> (String, String) {
        if self.kind == VISIT && self.measure == MOVED_TO {
            return (reading.word(Phrase::VisitWord).to_owned(), reading.word(Phrase::MovedToWord).to_owned());
        }
        let kind = kinds.get(&self.kind);
        let measure = kind.and_then(|kind| kind.measure(&self.measure));
        (reading.kind(kind, &self.kind).to_owned(), reading.measure(measure, &self.measure).to_owned())
    }
}

/// Returns the reason of a void as people read it: where it stands for a move, what the program wrote in their language.
pub(crate) fn reason_read(void: &Void, reading: &Reading) -> String {
    let read = |void: &Void| {
        let Some((field, key)) = link_in(void) else { return void.why.clone() };
        let moved = reading.say(Phrase::MovedAs, &[("field", &field), ("key", &key)]);
        let rest = void.why.split_once(key).map_or("", |(_, rest)| rest);
        moved + rest
    };
    void.reasons().map(read).collect::<Vec<_>>().join("; ")
}

fn line_of(records: &[Record], all: &Visits, reading: &Reading) -> VisitLine {
    let first = &records[0];
    let (field, zone) = name_of(&all.names, &first.feature);
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for record in records.iter().filter(|record| record.void.is_none()) {
        *kinds.entry(record.kind.clone()).or_default() += 1;
    }
    let gone = records.iter().find_map(|record| link(record.void.as_ref()?));
    let mut moved_to: Vec<Elsewhere> = match gone {
        Some(_) => all.copies(&first.visit).into_iter().map(|copy| all.elsewhere(copy)).collect(),
        None => Vec::new(),
    };
    if let (Some((field, copy)), true) = (gone, moved_to.is_empty()) {
        // The copy went on to a third field, or is not here yet.
        moved_to.push(Elsewhere { field: field.to_owned(), visit: visit_of(copy).to_owned() });
    }
    let origin = all.origin(&first.visit);
    // Where the copies of the original lie, but for this one.
    let others: Vec<Elsewhere> = origin
        .filter(|origin| moved_to.is_empty() && !origin.moved.is_empty())
        .map(|origin| all.copies(&origin.visit).into_iter().filter(|copy| copy.visit != first.visit))
        .map_or_else(Vec::new, |copies| copies.map(|copy| all.elsewhere(copy)).collect());
    let moved = |reading: &Reading| {
        let there = |one: &Elsewhere| reading.say(Phrase::VisitThere, &[("field", &one.field), ("visit", &one.visit)]);
        let several = |all: &[Elsewhere]| all.iter().map(there).collect::<Vec<_>>().join(reading.word(Phrase::AndTo));
        match (moved_to.as_slice(), origin) {
            ([], None) => String::new(),
            ([], Some(origin)) if origin.moved.is_empty() => {
                reading.say(Phrase::CopiedFrom, &[("from", &there(&all.elsewhere(origin)))])
            }
            ([], Some(origin)) => {
                let from = reading.say(Phrase::MovedFrom, &[("from", &there(&all.elsewhere(origin)))]);
                let also = (!others.is_empty()).then(|| reading.say(Phrase::MovedAlso, &[("to", &several(&others))]));
                from + &also.unwrap_or_default()
            }
            (to, _) => reading.say(Phrase::MovedTo, &[("to", &several(to))]),
        }
    };
    let zone = zone.unwrap_or(TimeZone::UTC);
    let void = records.iter().filter(|record| record.void.is_some()).count();
    let copied_from = origin.map(|origin| all.elsewhere(origin));
    let mine = |one: &Seen| one.visit == first.visit;
    let apart = all.moved_apart().into_iter().any(|(original, copies)| mine(original) || copies.into_iter().any(mine));
    VisitLine {
        visit: first.visit.clone(),
        field,
        at: moment::instant(first.at, &zone),
        at_read: moment::to_the_minute(first.at, &zone),
        by: first.by.clone(),
        kinds,
        void,
        moved: moved(&Reading::default()),
        moved_read: moved(reading),
        moved_to,
        copied_from,
        apart,
    }
}

impl VisitLine {
    /// Returns the observations by kind on one line: `3 stand-count, 1 note`.
    pub fn kinds_text(&self) -> String {
        let kinds: Vec<String> = self.kinds.iter().map(|(kind, n)| format!("{n} {kind}")).collect();
        kinds.join(", ")
    }

    /// Returns the same with the kinds as people read them.
    pub fn kinds_read(&self, engine: &Engine) -> String {
        let read = |kind: &String| engine.reading.kind(engine.kinds.get(kind), kind).to_owned();
        let kinds: Vec<String> = self.kinds.iter().map(|(kind, n)| format!("{n} {}", read(kind))).collect();
        kinds.join(", ")
    }
}

impl MovedVisit {
    /// Says what was done.
    pub fn said(&self, reading: &Reading) -> String {
        let moved = reading.counted(self.observations.len(), Noun::Observation);
        let with: [(&str, &dyn std::fmt::Display); 4] =
            [("n", &moved), ("from", &self.from), ("to", &self.to), ("visit", &self.visit)];
        let mut said = reading.say(Phrase::VisitMovedTold, &with);
        if self.left > 0 {
            let left = reading.counted(self.left, Noun::VoidStaying);
            said.push_str(&reading.say(Phrase::VoidLeftThere, &[("n", &left), ("field", &self.from)]));
        }
        said
    }
}

/// Returns the field and the key of the copy, where a void stands for a move.
///
/// No person's reason looks like that: [`Engine::void`] refuses it.
pub(crate) fn link(void: &Void) -> Option<(&str, &str)> {
    void.reasons().find_map(link_in)
}

/// Returns the same of one reason.
fn link_in(void: &Void) -> Option<(&str, &str)> {
    let (field, rest) = void.why.strip_prefix(MOVED)?.split_once(AS)?;
    let key = rest.split(':').next().unwrap_or(rest);
    key.split_once('-').is_some_and(|(visit, _)| ulid::Ulid::from_string(visit).is_ok()).then_some((field, key))
}

pub(crate) fn visit_of(key: &str) -> &str {
    key.split('-').next().unwrap_or(key)
}

pub(crate) fn number(key: &str) -> Result<u32> {
    key.rsplit_once('-')
        .and_then(|(_, number)| number.parse().ok())
        .ok_or_else(|| EngineError::user(format!("`{key}` has no number within its visit"), "it cannot be moved"))
}

/// Returns what a visit's identifier begins with: its time.
pub(crate) fn time_of(visit: &str) -> &str {
    visit.get(..10).unwrap_or(visit)
}

/// Returns the identifier that a visit has where it is moved or copied to: the same on every device, and of the same time.
pub(crate) fn copy_of(visit: &str, to: &DocKey) -> String {
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
        let void = |why: &str| Void {
            why: why.to_owned(),
            by: "imke".into(),
            at: jiff::Timestamp::UNIX_EPOCH,
            also: Vec::new(),
        };
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
