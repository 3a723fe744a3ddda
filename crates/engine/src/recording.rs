//! Recording, correcting, listing.

use std::collections::hash_map::Entry as Slot;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use ligule_journal::{Batch, Filter, JournalError};
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::field::Field;
use ligule_observation::field::merge::United;
use ligule_observation::ids::{DocKey, Feature, ObservationKey, hex};
use ligule_observation::kind::{Kind, Measure, ResultType};
use ligule_observation::kinds::KindSet;
use ligule_observation::record::{Measured, Place, Record, Value, Void};
use serde::Serialize;

use crate::conflicts::resolve_line;
use crate::entry::{check_whole, meant, no_measure, read_value, read_values};
use crate::error::{EngineError, Result, nearest};
use crate::moment::{self, Moment};
use crate::number::decimal;
use crate::photos::{PHOTO, SHOWS};
use crate::phrases::{Noun, Phrase};
use crate::reading::Reading;
use crate::{Engine, fields, now, random, visits};

/// One observation as typed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Entry {
    /// The kind's name.
    pub kind: String,
    /// The field's name.
    pub field: String,
    /// Measures, by name or flag, and their values.
    pub values: Vec<(String, String)>,
    /// When; now if it is not said.
    pub at: Option<String>,
    /// Latitude and longitude in degrees.
    pub place: Option<String>,
    /// Who observed; the journal's person if it is not said.
    pub by: Option<String>,
    /// Where the entry comes from, for messages: a file and a line.
    pub origin: Option<String>,
    /// What was found wrong with it when its text was taken apart; it is told with whatever else is wrong.
    pub faults: Vec<String>,
}

/// One observation as it was recorded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Recorded {
    /// Its key.
    pub key: ObservationKey,
    /// The field's name.
    pub field: String,
    /// The kind.
    pub kind: String,
    /// The kind as people read it.
    #[serde(skip)]
    pub kind_read: String,
    /// What was understood.
    pub understood: String,
    /// What it amounts to, where a formula says so; of several of one kind on one field the last tells what all so far do.
    pub amounts: Option<String>,
    /// What a person should know of it.
    pub notes: Vec<String>,
    /// What keeps people out of the field now, a line an application; told with the last observation of each field.
    pub keep_out: Vec<String>,
}

/// Which observations to list.
#[derive(Debug, Clone, Default)]
pub struct ListFilter {
    /// Only of this field.
    pub field: Option<String>,
    /// Only of this kind.
    pub kind: Option<String>,
    /// Only of this season.
    pub season: Option<i32>,
    /// Voided ones too.
    pub voided: bool,
}

/// An observation in a listing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ObservationLine {
    /// Its key.
    pub observation: ObservationKey,
    /// The field's name, or the station's code.
    pub field: String,
    /// The kind.
    pub kind: String,
    /// When, as the clock in the feature's time zone shows it (RFC 3339).
    pub at: String,
    /// The same as people read it.
    #[serde(skip)]
    pub at_read: String,
    /// Who observed.
    pub by: String,
    /// Where, latitude and longitude in degrees.
    pub place: Option<String>,
    /// The values by measure, as kept.
    pub values: BTreeMap<String, String>,
    /// The kind as people read it.
    #[serde(skip)]
    pub kind_read: String,
    /// The values on one line, in the units that people read.
    #[serde(skip)]
    pub values_read: String,
    /// `void: …` or `conflict: …`; empty where neither.
    pub state: String,
    /// The same as people read it.
    #[serde(skip)]
    pub state_read: String,
}

impl ObservationLine {
    /// Returns the values on one line.
    pub fn values_text(&self) -> String {
        let pairs: Vec<String> = self.values.iter().map(|(measure, value)| format!("{measure} {value}")).collect();
        pairs.join(", ")
    }
}

/// Concurrent values of one measure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConflictLine {
    /// The observation.
    pub observation: ObservationKey,
    /// The field's name, or the station's code.
    pub field: String,
    /// The kind.
    pub kind: String,
    /// The measure.
    pub measure: String,
    /// The candidates.
    pub candidates: Vec<CandidateLine>,
    /// Why the value, which nobody disputes, does not go with others of its observation; nothing of values that differ.
    pub why: Option<String>,
    /// The same as people read it.
    #[serde(skip)]
    pub why_read: String,
}

/// One of several concurrent values.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CandidateLine {
    /// The value, as entered.
    pub value: String,
    /// The same as people read it.
    #[serde(skip)]
    pub read: String,
    /// Who wrote it.
    pub by: String,
    /// When.
    pub at: String,
    /// On which device.
    pub device: String,
    /// The line to type so that it holds; of values that do not go together, the line that mends this one.
    pub settle: String,
}

/// One value that an observation ever had.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HistoryLine {
    /// The measure, or `void`.
    pub measure: String,
    /// The measure as people read it.
    #[serde(skip)]
    pub measure_read: String,
    /// The value, as kept.
    pub value: String,
    /// The value as people read it: with its unit; of a void, the reason.
    pub shown: String,
    /// The text as entered, where it says more.
    pub entered: Option<String>,
    /// Who.
    pub by: String,
    /// When, by that device's clock.
    pub at: jiff::Timestamp,
    /// On which device.
    pub device: String,
    /// In which change.
    pub change: String,
}

/// An entry that was read and may be written.
pub(crate) struct Read {
    /// Many observations are of one field, whose boundary may be long.
    pub(crate) field: Arc<Field>,
    pub(crate) kind: String,
    pub(crate) version: u32,
    pub(crate) moment: Moment,
    pub(crate) by: String,
    pub(crate) place: Option<Place>,
    pub(crate) values: BTreeMap<String, Measured>,
    pub(crate) understood: String,
    pub(crate) notes: Vec<String>,
}

/// How many observations are told one by one what they amount to: as many as a person types in one go.
const MOST_TOLD: usize = 24;

impl Engine {
    /// Records observations, all of them or none; they are on the disk when this returns. Very many are recorded in several
    /// transactions, so that nobody else waits for long (see [`ligule_journal::Journal::record_large`]).
    ///
    /// Everything is read and checked first: one entry that does not hold, and nothing is written. An entry that names a
    /// place and no field is of the field where that lies. Observations of one
    /// person on one field and day that follow each other form a visit. `accept_time` lets times pass that lie in the
    /// future of this device's clock.
    pub fn record(&mut self, entries: &[Entry], accept_time: bool) -> Result<Vec<Recorded>> {
        let known_fields = self.journal.all_fields()?;
        let mut zones = HashMap::new();
        let mut wrong = Vec::new();
        let mut read = Vec::with_capacity(entries.len());
        for entry in entries {
            match self.read_entry(entry, &known_fields, &mut zones, accept_time) {
                Ok(one) => read.push(one),
                Err(faults) => wrong.push((entry.origin.as_deref(), faults)),
            }
        }
        refuse(wrong, &self.reading)?;
        let new = self.new_people(read.iter().map(|one| one.by.as_str()))?;
        for one in &mut read {
            one.notes.extend(new.get(&one.by).cloned());
        }
        let dated: Vec<bool> = entries.iter().map(|entry| entry.at.is_some()).collect();
        let before = self.said_before(&read, &dated)?;
        let mut recorded = self.write(read)?;
        self.note_said_before(&mut recorded, &before);
        Ok(recorded)
    }

    /// Tells of those people of whom nobody has heard yet, with the name that is nearest: it may be misspelt.
    pub(crate) fn new_people<'n>(&self, names: impl IntoIterator<Item = &'n str>) -> Result<BTreeMap<String, String>> {
        let own = self.journal.identity().person;
        let names: BTreeSet<&str> = names.into_iter().filter(|name| *name != own).collect();
        if names.is_empty() {
            return Ok(BTreeMap::new());
        }
        let people = self.people()?;
        let new = names.into_iter().filter(|name| people.iter().all(|known| known != name));
        let told = |name: &str| match nearest(name, &people) {
            Some(near) => self.reading.say(Phrase::NewPersonNear, &[("person", &name), ("near", &near)]),
            None => self.reading.say(Phrase::NewPerson, &[("person", &name)]),
        };
        Ok(new.map(|name| (name.to_owned(), told(name))).collect())
    }

    /// Returns the names of those who belong to the crew, or did, and of those who have recorded.
    fn people(&self) -> Result<Vec<String>> {
        let members = self.members()?.into_iter().map(|member| member.person);
        let mut people: Vec<String> = members.chain(self.journal.people()?).collect();
        people.sort();
        people.dedup();
        Ok(people)
    }

    /// Returns which of the observations say what one that is there said already, of the same time, place and person, with the
    /// key of that one. `dated` tells of which the time was given: those of now are new.
    fn said_before(&self, read: &[Read], dated: &[bool]) -> Result<Vec<(usize, ObservationKey)>> {
        let mut there: HashMap<(&str, i32, &str), Vec<Record>> = HashMap::new();
        let mut before = Vec::new();
        for (index, one) in read.iter().enumerate().filter(|(index, _)| dated[*index]) {
            let season = i32::from(one.moment.day.year());
            let place = (one.field.id.as_str(), season, one.kind.as_str());
            let records = match there.entry(place) {
                Slot::Occupied(known) => known.into_mut(),
                Slot::Vacant(new) => {
                    let mut records = self.journal.records(&Filter {
                        feature: Some(Feature::Field(one.field.id.clone())),
                        season: Some(season),
                        kind: Some(one.kind.clone()),
                        visit: None,
                    })?;
                    records.sort_by_key(|record| record.at);
                    new.insert(records)
                }
            };
            let from = records.partition_point(|record| record.at < one.moment.at);
            let of_then = records[from..].iter().take_while(|record| record.at == one.moment.at);
            let values = |values: &BTreeMap<String, Measured>| -> Vec<(String, Value)> {
                values.iter().map(|(name, measured)| (name.clone(), measured.value.clone())).collect()
            };
            let mut same = of_then.filter(|record| {
                record.void.is_none()
                    && record.by == one.by
                    && record.place == one.place
                    && values(&record.values) == values(&one.values)
            });
            before.extend(same.next().map(|record| (index, record.key.clone())));
        }
        Ok(before)
    }

    /// Notes with the first of them which observations were there already.
    fn note_said_before(&self, recorded: &mut [Recorded], before: &[(usize, ObservationKey)]) {
        let Some((first, known)) = before.first() else { return };
        let new = recorded[*first].key.clone();
        let note = match before.len() {
            1 => self.reading.say(Phrase::SaidBefore, &[("new", &new), ("known", &known)]),
            n => {
                let n = self.reading.counted(n, Noun::Observation);
                self.reading.say(Phrase::SaidBeforeMany, &[("n", &n), ("new", &new), ("known", &known)])
            }
        };
        recorded[*first].notes.push(note);
    }

    /// Reads and checks one entry; returns all that is wrong with it. `fields` are those among which its field is.
    pub(crate) fn read_entry(
        &self,
        entry: &Entry,
        fields: &[Field],
        zones: &mut HashMap<String, TimeZone>,
        accept: bool,
    ) -> Result<Read, Vec<EngineError>> {
        let find = |place: Option<Place>| match (entry.field.as_str(), place) {
            ("", Some(place)) => fields::field_at(fields, place, &self.reading),
            ("", None) => {
                let (which, hint) = (Phrase::WhichObserved, Phrase::NameObserved);
                Err(EngineError::user(self.reading.word(which), self.reading.word(hint)))
            }
            (name, _) => fields::find(fields.to_vec(), name, &self.reading),
        };
        let (entry, bare) = self.typed(entry);
        let read = self.read_entry_of(&entry, |place| find(place).map(Arc::new), zones, accept);
        let mut read = match (read, bare.is_empty()) {
            (Ok(read), true) => read,
            (read, _) => {
                let (flags, bare): (Vec<String>, Vec<EngineError>) = bare.into_iter().unzip();
                // What a number amounts to is not known before its unit is.
                let mut others = read.err().unwrap_or_default();
                others.retain(|other| !flags.iter().any(|flag| other.message.starts_with(&format!("`--{flag}`"))));
                return Err([bare, others].concat());
            }
        };
        let entry = &entry;
        if entry.at.is_some() {
            read.notes.extend(long_ago(read.moment.day, now().to_zoned_datetime(TimeZone::UTC).date(), &self.reading));
        }
        read.notes.extend(fields::retired_note(&read.field, fields, &self.reading));
        if entry.at.is_none() {
            read.notes.extend(self.clock_note(&read.field));
        }
        read.notes.extend(self.sprayed_another_day(entry, &read));
        read.notes.extend(self.crop_note(&read).map_err(|error| vec![error])?);
        Ok(read)
    }

    /// Tells of a stage that the field's crop does not have, and of a planting of another crop than its usual one.
    fn crop_note(&self, read: &Read) -> Result<Option<String>> {
        let text = |name: &str| match read.values.get(name).map(|measured| &measured.value) {
            Some(Value::Text(text)) => Some(text.clone()),
            _ => None,
        };
        let field = &read.field;
        if read.kind == PLANTING {
            let other = text("crop").filter(|crop| !field.crop.is_empty() && *crop != field.crop);
            let told = |crop: String| {
                let (usual, crop) = (self.crop_read(&field.crop), self.crop_read(&crop));
                let what: [(&str, &dyn std::fmt::Display); 3] =
                    [("field", &field.name), ("usual", &usual), ("crop", &crop)];
                self.reading.say(Phrase::OtherThanUsual, &what)
            };
            return Ok(other.map(told));
        }
        let Some(stage) = text("stage") else { return Ok(None) };
        let planting = Filter {
            feature: Some(Feature::Field(field.id.clone())),
            season: Some(read.moment.day.year().into()),
            kind: Some(PLANTING.to_owned()),
            ..Filter::default()
        };
        let planted = self.journal.records(&planting)?.into_iter().rev().find_map(|record| {
            match (&record.void, &record.values.get("crop")?.value) {
                (None, Value::Text(crop)) => Some(crop.clone()),
                _ => None,
            }
        });
        let crop = planted.unwrap_or_else(|| field.crop.clone());
        Ok((!has_stage(&crop, &stage)).then(|| {
            let crop = self.crop_read(&crop);
            self.reading.say(Phrase::OtherCrop, &[("field", &field.name), ("crop", &crop), ("stage", &stage)])
        }))
    }

    /// Returns an entry with the unit that is read behind bare numbers, and what has none to stand there.
    fn typed(&self, entry: &Entry) -> (Entry, Vec<(String, EngineError)>) {
        let (mut entry, mut bare) = (entry.clone(), Vec::new());
        let kind = self.kinds.get(&entry.kind);
        for (name, text) in &mut entry.values {
            let Some((kind, measure)) = kind.and_then(|kind| Some((kind, kind.measure(name)?))) else { continue };
            match self.reading.typed(kind, measure, text) {
                Ok(typed) => *text = typed,
                Err(error) => bare.push((measure.flag(), error)),
            }
        }
        (entry, bare)
    }

    /// Reads and checks one entry of the field that `find` finds, given the place where there is one.
    pub(crate) fn read_entry_of(
        &self,
        entry: &Entry,
        find: impl FnOnce(Option<Place>) -> Result<Arc<Field>>,
        zones: &mut HashMap<String, TimeZone>,
        accept: bool,
    ) -> Result<Read, Vec<EngineError>> {
        let mut faults = Faults(entry.faults.iter().map(|fault| EngineError::user(fault, "")).collect());
        if entry.kind.is_empty() && !faults.0.is_empty() {
            // The text could not be taken apart: there is nothing else to judge.
            return Err(faults.0);
        }
        let kind = self.kind(&entry.kind).map_err(|error| vec![error])?;
        if kind.feature == "weather" {
            let what = self.reading.say(Phrase::ObservedAtStation, &[("kind", &kind.kind)]);
            return Err(vec![EngineError::user(what, self.reading.word(Phrase::ImportWeather))]);
        }
        let place =
            faults.keep(entry.place.as_deref().map(|place| fields::read_place(place, &self.reading)).transpose());
        // Where the place cannot be read it is not known which field is meant, unless that is named.
        let field = match place {
            None if entry.field.is_empty() => None,
            place => faults.keep(find(place.flatten())),
        };
        if let (Some(field), Some(Some(place))) = (&field, place) {
            faults.keep(fields::place_fits(field, place, &self.reading));
        }
        // Without a field nobody knows its day; the values can be judged all the same.
        let zone = match field.as_ref().map(|field| &field.zone) {
            None => TimeZone::UTC,
            Some(name) => match zones.get(name) {
                Some(zone) => zone.clone(),
                None => {
                    let zone = faults.keep(moment::zone(name)).unwrap_or(TimeZone::UTC);
                    zones.insert(name.clone(), zone.clone());
                    zone
                }
            },
        };
        let moment = faults.keep(moment::read(entry.at.as_deref(), &zone, now(), accept, &self.reading));
        let today = now().to_zoned_datetime(zone.clone()).date();
        let last_day = if accept { Date::MAX } else { today };
        let mut usual = field.as_deref().map(|field| usual_row_width(kind, field, &entry.values)).unwrap_or_default();
        usual.extend(self.told_by_planter(kind, &entry.values));
        let (values, wrong) = read_values(&self.kinds, kind, &entry.values, &usual, last_day, &self.reading);
        // Where a flag or a value is wrong already, what is missing or does not go together follows from that.
        let whole = wrong.is_empty() && entry.faults.is_empty();
        faults.0.extend(wrong);
        if whole {
            faults.keep(check_whole(&self.kinds, kind, &values, &self.reading));
        }
        if let Some(shown) = values.get(SHOWS).filter(|_| kind.kind == PHOTO) {
            faults.keep(self.shown_there(shown));
        }
        if let Some(moment) = &moment {
            faults.keep(days_fit(kind, &values, moment.day, &self.reading));
        }
        let by = match entry.by.as_deref().map(str::trim) {
            None => Some(self.journal.identity().person),
            Some("") => {
                let (what, hint) = (Phrase::NobodyObserved, Phrase::NameWhoObserved);
                faults.0.push(EngineError::user(self.reading.word(what), self.reading.word(hint)));
                None
            }
            Some(by) => Some(by.to_owned()),
        };
        let (Some(field), Some(moment), Some(by), Some(place), true) = (field, moment, by, place, faults.0.is_empty())
        else {
            return Err(faults.0);
        };
        let mut understood = self.reading.say(
            Phrase::OnField,
            &[
                ("kind", &self.reading.kind(Some(kind), &kind.kind)),
                ("field", &field.name),
                ("at", &moment.at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M")),
                ("values", &values_text(&self.kinds, kind, &values, &self.reading)),
            ],
        );
        if by != self.journal.identity().person {
            understood.push_str(&format!("; {}", self.reading.say(Phrase::ByPerson, &[("person", &by)])));
        }
        if let Some(place) = place {
            let at = self.reading.say(Phrase::AtPlace, &[("place", &fields::place_text(place))]);
            understood.push_str(&format!("; {at}"));
            if let Some(told) = fields::where_it_lies(&field, place, &self.reading) {
                understood.push_str(&format!("; {told}"));
            }
        }
        let notes = moment.note(&zone, &self.reading).into_iter().collect();
        Ok(Read { kind: kind.kind.clone(), version: kind.version, moment, by, place, values, understood, notes, field })
    }

    /// Writes what was read, and tells what it amounts to.
    fn write(&self, read: Vec<Read>) -> Result<Vec<Recorded>> {
        let mut documents: Vec<(DocKey, Vec<usize>)> = Vec::new();
        for (index, one) in read.iter().enumerate() {
            let key = self.document(Feature::Field(one.field.id.clone()), one.moment.day.year().into());
            match documents.iter_mut().find(|(known, _)| *known == key) {
                Some((_, indexes)) => indexes.push(index),
                None => documents.push((key, vec![index])),
            }
        }
        let mut batches = Vec::with_capacity(documents.len());
        for (document, indexes) in &documents {
            let new = in_visits(indexes.iter().map(|&index| &read[index]))?;
            // A planting tells the crop; the field's usual one is only what a season starts with.
            let planted = indexes.iter().rev().find_map(|&index| planted(&read[index]));
            let crop = match planted {
                None if self.journal.document(document.id())?.is_none() => {
                    Some(read[indexes[0]].field.crop.clone()).filter(|crop| !crop.is_empty())
                }
                planted => planted,
            };
            batches.push(Batch { document: document.clone(), crop, new });
        }
        let given = self.journal.record_large(&batches, now(), &*self.tell)?;
        let mut keys: Vec<ObservationKey> = vec![String::new(); read.len()];
        for (&index, key) in documents.iter().flat_map(|(_, indexes)| indexes).zip(given) {
            keys[index] = key;
        }
        if read.len() > 1 {
            self.tidy();
        }
        let told = read.len() <= MOST_TOLD;
        let mut keep_out = self.keep_out(&read)?;
        (read.iter().enumerate().zip(keys))
            .map(|((at, one), key)| {
                let last = read[at + 1..].iter().all(|next| next.kind != one.kind || next.field.id != one.field.id);
                let amounts = if told { self.amounts(one, &key, last)? } else { None };
                Ok(Recorded {
                    key,
                    field: one.field.name.clone(),
                    kind: one.kind.clone(),
                    kind_read: self.reading.kind(self.kinds.get(&one.kind), &one.kind).to_owned(),
                    understood: one.understood.clone(),
                    amounts,
                    notes: one.notes.clone(),
                    keep_out: keep_out.remove(&at).unwrap_or_default(),
                })
            })
            .collect()
    }

    /// Returns what keeps people out of the fields of observations, with the place of the last observation of each field.
    fn keep_out(&self, read: &[Read]) -> Result<HashMap<usize, Vec<String>>> {
        let mut last: HashMap<&str, usize> = HashMap::new();
        last.extend(read.iter().enumerate().map(|(at, one)| (one.field.id.as_str(), at)));
        let mut lines = HashMap::new();
        if last.len() <= MOST_TOLD {
            for at in last.into_values() {
                if let Some(reentry) = self.reentry_on(&read[at].field, None)? {
                    lines.insert(at, reentry.lines(&self.reading));
                }
            }
        } else {
            // Of so many fields the applications are read in one go.
            let all = self.reentries()?;
            let told = |(id, at): (&str, usize)| Some((at, all.get(id)?.lines(&self.reading)));
            lines.extend(last.into_iter().filter_map(told));
        }
        Ok(lines)
    }

    pub(crate) fn document(&self, feature: Feature, season: i32) -> DocKey {
        DocKey { crew: self.journal.identity().crew, feature, season }
    }

    /// Corrects measures of an observation; returns what was understood.
    ///
    /// `accept_time` lets days pass that lie in the future of this device's clock.
    pub fn amend(&mut self, key: &str, values: &[(String, String)], accept_time: bool) -> Result<String> {
        let (record, kind) = self.record_and_kind(key)?;
        if record.void.is_some() {
            let what = self.reading.say(Phrase::VoidWins, &[("key", &key)]);
            return Err(EngineError::user(what, self.reading.word(Phrase::RecordAnew)));
        }
        let last_day = self.last_day(&record, accept_time)?;
        let mut read: Vec<(&Measure, Measured)> = Vec::new();
        for (name, text) in values {
            let named = measure(kind, name, &self.reading)?;
            let text = self.reading.typed(kind, named, text)?;
            let measure = meant(kind, named, &text);
            if read.iter().any(|(known, _)| known.name == measure.name) {
                let twice = self.reading.say(Phrase::GivenTwice, &[("flag", &measure.flag())]);
                return Err(EngineError::user(twice, self.reading.word(Phrase::GiveOnce)));
            }
            read.push((measure, read_value(&self.kinds, kind, measure, &text, last_day, &self.reading)?));
        }
        if let Some((_, shown)) = read.iter().find(|(measure, _)| kind.kind == PHOTO && measure.name == SHOWS) {
            self.shown_there(shown)?;
        }
        let mut values = record.values.clone();
        let change: Vec<(String, Measured)> =
            read.iter().map(|(m, measured)| (m.name.clone(), measured.clone())).collect();
        values.extend(change.iter().cloned());
        self.kinds.check_together(&kind.kind, &values).map_err(|invalid| {
            let why = self.reading.refusal(&self.kinds, &invalid);
            EngineError::user(why, self.reading.say(Phrase::SeeKind, &[("kind", &kind.kind)]))
        })?;
        if read.iter().any(|(measure, _)| measure.result == ResultType::Day) {
            days_fit(kind, &values, record.day, &self.reading)?;
        }
        self.journal.amend_all(key, &change, &self.journal.identity().person, now())?;
        if !record.conflicts.is_empty() {
            self.settle_moves()?;
        }
        let stays = |name: &str, to: &Measured| record.values.get(name).is_some_and(|there| there.value == to.value);
        let said: Vec<String> = read
            .iter()
            .map(|(measure, measured)| {
                let flag = measure.flag();
                let name = self.reading.measure(Some(measure), &flag);
                let value = self.told(Some(measure), measured);
                let phrase = if stays(&measure.name, measured) { Phrase::StaysAs } else { Phrase::NowIs };
                self.reading.say(phrase, &[("name", &name), ("value", &value)])
            })
            .collect();
        let amounts = self.amounts_now(key)?.map_or(String::new(), |amounts| format!("\n  {amounts}"));
        Ok(format!("{key}: {}{amounts}", said.join(", ")))
    }

    /// Settles a conflict by writing the value that holds; returns what was understood.
    pub fn resolve(&mut self, key: &str, measure_name: &str, text: &str) -> Result<String> {
        let (record, kind) = self.record_and_kind(key)?;
        let measure = measure(kind, measure_name, &self.reading)?;
        if !self.differs(&record, &measure.name)? && !self.waits_since_move(&record, &measure.name)? {
            let apart = self.impossible_in(&record)?;
            if apart.iter().any(|line| line.measure == measure.name) {
                // There is nothing to choose: each measure has one value.
                return Err(EngineError::user(self.advice_on(&apart)?.concat(), ""));
            }
            let what = self.reading.say(Phrase::NotInConflict, &[("measure", &measure.name), ("key", &key)]);
            return Err(EngineError::user(what, self.reading.word(Phrase::ConflictsShow)));
        }
        let text = self.reading.typed(kind, measure, text)?;
        let last_day = self.last_day(&record, false)?;
        let measured = read_value(&self.kinds, kind, measure, &text, last_day, &self.reading)?;
        let mut values = record.values.clone();
        values.insert(measure.name.clone(), measured.clone());
        if let Err(invalid) = self.kinds.check_together(&kind.kind, &values) {
            // With a value that waits itself it need not go together: that one is not decided.
            let of = |flag: &&str| kind.measures.iter().find(|measure| measure.flag() == *flag);
            let mut others =
                invalid.apart().into_iter().filter_map(|flag| of(&flag)).filter(|m| m.name != measure.name);
            if !others.any(|other| record.conflicts.contains(&other.name)) {
                let why = self.reading.refusal(&self.kinds, &invalid);
                return Err(EngineError::user(why, self.reading.say(Phrase::SeeKind, &[("kind", &kind.kind)])));
            }
        }
        self.journal.amend(key, &measure.name, &measured, &self.journal.identity().person, now())?;
        self.settle_moves()?;
        let name = self.reading.measure(Some(measure), &measure.name);
        let value = self.told(Some(measure), &measured);
        Ok(self.reading.say(Phrase::ResolvedIs, &[("key", &key), ("name", &name), ("value", &value)]))
    }

    /// Tells whether concurrent values of a record's measure differ.
    pub(crate) fn differs(&self, record: &Record, measure: &str) -> Result<bool> {
        // Few have any.
        if !record.conflicts.iter().any(|waits| waits == measure) {
            return Ok(false);
        }
        let all = self.journal.conflicts()?;
        Ok(all.iter().any(|conflict| conflict.key == record.key && conflict.measure == measure))
    }

    /// Tells whether a correction of the observation that a record was moved from waits for a person.
    fn waits_since_move(&self, record: &Record, measure: &str) -> Result<bool> {
        for original in self.moved_into(record)? {
            if self.left_behind(&original, &record.key)?.iter().any(|line| line.measure == measure) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Marks an observation as void; it stays in its history.
    pub fn void(&mut self, key: &str, why: &str) -> Result<()> {
        if why.trim().is_empty() {
            let (what, hint) = (Phrase::VoidNeedsReason, Phrase::SayWhy);
            return Err(EngineError::user(self.reading.word(what), self.reading.word(hint)));
        }
        let record = self.record_there(key)?;
        if let Some(void) = record.void {
            let why = visits::reason_read(&void, &self.reading);
            let with: [(&str, &dyn std::fmt::Display); 3] = [("key", &key), ("why", &why), ("by", &void.by)];
            let what = self.reading.say(Phrase::VoidAlready, &with);
            return Err(EngineError::user(what, self.reading.word(Phrase::HistoryShowsIt)));
        }
        let void = Void { why: why.trim().to_owned(), by: self.journal.identity().person, at: now(), also: Vec::new() };
        if visits::link(&void).is_some() {
            let what = self.reading.say(Phrase::ReasonOfMove, &[("why", &why)]);
            return Err(EngineError::user(what, self.reading.word(Phrase::MoveOrReword)));
        }
        Ok(self.journal.void(key, &void)?)
    }

    /// Checks that the observation which a photo illustrates is there.
    fn shown_there(&self, shown: &Measured) -> Result<()> {
        match &shown.value {
            Value::Text(key) if !key.is_empty() => self.record_there(key).map(|_| ()),
            _ => Ok(()),
        }
    }

    /// Returns the last day that a correction of a record may name: today where it was observed.
    fn last_day(&self, record: &Record, accept_time: bool) -> Result<Date> {
        if accept_time {
            return Ok(Date::MAX);
        }
        let zone = name_of(&self.names()?, &record.feature).1.unwrap_or(TimeZone::UTC);
        Ok(now().to_zoned_datetime(zone).date())
    }

    fn record_and_kind(&self, key: &str) -> Result<(Record, &Kind)> {
        let record = self.record_there(key)?;
        let kind = self.kinds.get(&record.kind).ok_or_else(|| {
            let what = self.reading.say(Phrase::KindOfOthers, &[("kind", &record.kind)]);
            EngineError::user(what, self.reading.word(Phrase::CorrectWhereKnown))
        })?;
        Ok((record, kind))
    }

    /// Returns the observation that a person named.
    pub(crate) fn record_there(&self, key: &str) -> Result<Record> {
        self.journal.record_by_key(key).map_err(|error| match error {
            JournalError::UnknownObservation { .. } => {
                let what = self.reading.say(Phrase::NoSuchObservation, &[("key", &key)]);
                EngineError::user(what, self.reading.word(Phrase::ListShowsThem))
            }
            other => other.into(),
        })
    }

    /// Lists observations by feature, season and time.
    pub fn list(&self, filter: &ListFilter) -> Result<Vec<ObservationLine>> {
        if let Some(kind) = &filter.kind
            && self.kinds.get(kind).is_none()
            && self.journal.records(&Filter { kind: Some(kind.clone()), ..Filter::default() })?.is_empty()
        {
            // Of a kind that only another device declares there may be records all the same.
            self.kind(kind)?;
        }
        let feature =
            filter.field.as_deref().map(|name| self.field(name)).transpose()?.map(|field| Feature::Field(field.id));
        let records =
            self.journal.records(&Filter { feature, season: filter.season, kind: filter.kind.clone(), visit: None })?;
        let names = self.names()?;
        let mut lines: Vec<(String, ObservationLine)> = records
            .iter()
            .filter(|record| filter.voided || record.void.is_none())
            .map(|record| {
                let kind = self.kinds.get(&record.kind);
                let (name, zone) = name_of(&names, &record.feature);
                let declared = |name: &str| kind.and_then(|kind| kind.measure(name));
                let values =
                    record.values.iter().map(|(name, value)| (name.clone(), shown(declared(name), value))).collect();
                let read = record.values.iter().map(|(name, value)| {
                    let measure = declared(name);
                    format!("{} {}", self.reading.measure(measure, name), self.told_if_known(measure, value))
                });
                // Corrections of two devices can each hold and not go together.
                let impossible = || kind.and_then(|kind| kind.apart(record));
                let state = match (&record.void, record.conflicts.as_slice()) {
                    (Some(void), _) => {
                        let told = |reason: &Void| format!("{} ({})", reason.why, reason.by);
                        format!("void: {}", void.reasons().map(told).collect::<Vec<_>>().join("; "))
                    }
                    (None, []) => impossible().map_or_else(String::new, |why| format!("impossible: {why}")),
                    (None, conflicts) => format!("conflict: {}", conflicts.join(", ")),
                };
                let state_read = match (&record.void, record.conflicts.as_slice()) {
                    (Some(void), _) => {
                        let why = visits::reason_read(void, &self.reading);
                        self.reading.say(Phrase::StateVoid, &[("why", &why), ("by", &void.by)])
                    }
                    (None, []) => impossible().map_or_else(String::new, |why| {
                        let why = self.reading.refusal(&self.kinds, &why);
                        self.reading.say(Phrase::StateImpossible, &[("why", &why)])
                    }),
                    (None, conflicts) => {
                        let read = |name: &String| self.reading.measure(declared(name), name).to_owned();
                        let measures = conflicts.iter().map(read).collect::<Vec<_>>().join(", ");
                        self.reading.say(Phrase::StateConflict, &[("measures", &measures)])
                    }
                };
                let zone = zone.unwrap_or(TimeZone::UTC);
                let line = ObservationLine {
                    observation: record.key.clone(),
                    field: name,
                    kind: record.kind.clone(),
                    at: moment::instant(record.at, &zone),
                    at_read: moment::to_the_minute(record.at, &zone),
                    by: record.by.clone(),
                    values,
                    kind_read: self.reading.kind(kind, &record.kind).to_owned(),
                    values_read: read.collect::<Vec<_>>().join(", "),
                    place: record.place.map(fields::place_text),
                    state,
                    state_read,
                };
                (line.field.clone(), line)
            })
            .collect();
        // The journal sorts by the features' identifiers; people know their names. The sort keeps the order within.
        lines.sort_by(|a, b| a.0.cmp(&b.0));
        Ok(lines.into_iter().map(|(_, line)| line).collect())
    }

    /// Returns every value an observation ever had, in causal order.
    pub fn history(&self, key: &str) -> Result<Vec<HistoryLine>> {
        let record = self.record_there(key)?;
        let kind = self.kinds.get(&record.kind);
        let original = self.original_of(&record)?;
        let history = self.journal.history(key)?;
        let copied = original.zip(history.first()).map(|(original, first)| HistoryLine {
            measure: COPIED_FROM.to_owned(),
            measure_read: self.reading.word(Phrase::CopiedFromWord).to_owned(),
            value: original.clone(),
            shown: original,
            entered: None,
            by: first.by.clone(),
            at: first.at,
            device: first.device.to_string(),
            change: hex(&first.change),
        });
        Ok(copied
            .into_iter()
            .chain(history.into_iter().map(|entry| {
                let measure = kind.and_then(|k| k.measure(&entry.measure));
                let measured = Measured { value: entry.value, entered: None };
                HistoryLine {
                    value: shown(measure, &measured),
                    shown: match &measured.value {
                        Value::Text(text) if measure.is_none() && entry.measure == VOID => reason(text, &self.reading),
                        _ => self.told_if_known(measure, &measured),
                    },
                    measure_read: match entry.measure.as_str() {
                        VOID if measure.is_none() => self.reading.word(Phrase::VoidWord).to_owned(),
                        name => self.reading.measure(measure, name).to_owned(),
                    },
                    measure: entry.measure,
                    entered: entry.entered,
                    by: entry.by,
                    at: entry.at,
                    device: entry.device.to_string(),
                    change: hex(&entry.change),
                }
            }))
            .collect())
    }

    /// Returns the measures whose concurrent values differ, with all candidates.
    pub(crate) fn values_that_differ(&self) -> Result<Vec<ConflictLine>> {
        let names = self.names()?;
        self.journal
            .conflicts()?
            .into_iter()
            .map(|conflict| {
                let feature = self.journal.doc_of(&conflict.key)?.feature;
                let measure = self.kinds.get(&conflict.kind).and_then(|kind| kind.measure(&conflict.measure));
                let candidates = conflict
                    .candidates
                    .iter()
                    .map(|candidate| {
                        let value = self.candidate(measure, &candidate.measured);
                        CandidateLine {
                            settle: resolve_line(&conflict.key, &conflict.measure, &value),
                            read: value.clone(),
                            value,
                            by: candidate.by.clone(),
                            at: candidate.at.to_string(),
                            device: candidate.device.to_string(),
                        }
                    })
                    .collect();
                Ok(ConflictLine {
                    observation: conflict.key,
                    field: name_of(&names, &feature).0,
                    kind: conflict.kind,
                    measure: conflict.measure,
                    candidates,
                    why: None,
                    why_read: String::new(),
                })
            })
            .collect()
    }

    /// Returns where an observation was made, latitude and longitude in degrees, where that was told.
    pub fn place_of(&self, key: &str) -> Result<Option<String>> {
        Ok(self.record_there(key)?.place.map(fields::place_text))
    }

    /// Returns what tells an instant as the clock at an observation's field shows it; what is no instant stays as it is.
    pub fn local_time(&self, key: &str) -> Result<impl Fn(&str) -> String + use<>> {
        let feature = self.record_there(key)?.feature;
        let zone = name_of(&self.names()?, &feature).1.unwrap_or(TimeZone::UTC);
        Ok(move |instant: &str| match instant.parse::<jiff::Timestamp>() {
            Ok(at) => at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M:%S").to_string(),
            Err(_) => instant.to_owned(),
        })
    }

    /// Writes a value that waits beside another: as it was entered, so that it can be typed again; else as the crew reads it.
    pub(crate) fn candidate(&self, measure: Option<&Measure>, measured: &Measured) -> String {
        match (measure, &measured.entered) {
            (Some(measure), Some(_)) => self.reading.to_type(measure, measured),
            (None, Some(entered)) => entered.clone(),
            (_, None) => self.told(measure, measured),
        }
    }

    /// Writes a value as the crew reads it; of a number that only another device declares, that its unit is not known.
    fn told_if_known(&self, measure: Option<&Measure>, measured: &Measured) -> String {
        match (measure, &measured.value) {
            (None, Value::Int(n)) => self.reading.say(Phrase::NumberUnread, &[("n", n)]),
            _ => self.told(measure, measured),
        }
    }

    /// Writes a value with its unit, as the crew reads it.
    fn told(&self, measure: Option<&Measure>, measured: &Measured) -> String {
        self.reading.value(&self.kinds, measure, measured)
    }

    /// Returns the fields' names and zones by identifier.
    pub(crate) fn names(&self) -> Result<HashMap<String, (String, Option<TimeZone>)>> {
        let fields = self.journal.all_fields()?;
        let united = United::of(&fields);
        let told: HashMap<&str, (String, Option<TimeZone>)> = fields
            .iter()
            .map(|field| (field.id.as_str(), (field.name.clone(), moment::zone(&field.zone).ok())))
            .collect();
        // A field that was made part of another is told by the other's name.
        let of = |field: &Field| Some((field.id.clone(), told.get(united.home(&field.id))?.clone()));
        Ok(fields.iter().filter_map(of).collect())
    }
}

/// Returns what people call a feature, and its time zone.
pub(crate) fn name_of(
    names: &HashMap<String, (String, Option<TimeZone>)>,
    feature: &Feature,
) -> (String, Option<TimeZone>) {
    match feature {
        Feature::Field(id) => names.get(id).cloned().unwrap_or_else(|| (id.clone(), None)),
        Feature::Station(code) => (code.clone(), None),
        Feature::Crew => ("crew".to_owned(), None),
    }
}

/// All that is wrong with an entry.
struct Faults(Vec<EngineError>);

impl Faults {
    /// Returns what could be read; what could not is kept.
    fn keep<T>(&mut self, read: Result<T>) -> Option<T> {
        read.map_err(|error| self.0.push(error)).ok()
    }
}

/// Refuses entries of which something is wrong, and tells all of it, each with where it comes from.
fn refuse(wrong: Vec<(Option<&str>, Vec<EngineError>)>, reading: &Reading) -> Result<()> {
    if let [(None, faults)] = wrong.as_slice()
        && let [only] = faults.as_slice()
    {
        return Err(only.clone());
    }
    if wrong.is_empty() {
        return Ok(());
    }
    let of_lines = wrong.iter().any(|(origin, _)| origin.is_some());
    let mut lines = Vec::new();
    for (origin, faults) in &wrong {
        for error in faults {
            let hint = error.hint.as_ref().map_or(String::new(), |hint| format!("; {hint}"));
            let origin = origin.map_or(String::new(), |origin| format!("{origin}: "));
            lines.push(format!("{origin}{error}{hint}"));
        }
    }
    let what = if of_lines { Phrase::MendTheseLines } else { Phrase::MendThese };
    Err(EngineError::user(lines.join("\n"), reading.word(what)))
}

/// Checks the days that an observation tells of against its own: nobody observes what has not happened yet, and a
/// planting starts the season, the year of harvest, in which it is recorded.
fn days_fit(kind: &Kind, values: &BTreeMap<String, Measured>, observed: Date, reading: &Reading) -> Result<()> {
    for measure in kind.measures.iter().filter(|measure| measure.result == ResultType::Day) {
        let Some(Value::Text(text)) = values.get(&measure.name).map(|measured| &measured.value) else { continue };
        let Ok(day) = text.parse::<Date>() else { continue };
        let flag = measure.flag();
        if day > observed {
            let with: [(&str, &dyn std::fmt::Display); 3] = [("flag", &flag), ("day", &day), ("observed", &observed)];
            return Err(EngineError::user(
                reading.say(Phrase::DayAfterObservation, &with),
                reading.say(Phrase::CorrectOrSayWhen, &[("flag", &flag)]),
            ));
        }
        if kind.kind == PLANTING && day.year() != observed.year() {
            let season = observed.year();
            return Err(EngineError::user(
                reading.say(Phrase::DayOfOtherSeason, &[("flag", &flag), ("day", &day), ("season", &season)]),
                reading.say(Phrase::CorrectOrRecordThen, &[("flag", &flag), ("day", &day)]),
            ));
        }
    }
    Ok(())
}

/// Years back of which nobody means to record by a line: a year that was misspelt. Common practice, no source.
const LONG_AGO: i16 = 5;

/// Tells of a day that lies long ago, once for each year.
fn long_ago(day: Date, today: Date, reading: &Reading) -> Option<String> {
    let years = today.year() - day.year();
    (years >= LONG_AGO).then(|| reading.say(Phrase::DayLongAgo, &[("year", &day.year()), ("years", &years)]))
}

/// The kind that starts a season.
pub(crate) const PLANTING: &str = "planting";

/// Tells whether a crop has a stage, `VE` to `R8`; whatever is not known here has all.
///
/// *Source:* corn, leaf-collar stages: Abendroth et al. (2011), Iowa State University PMR 1009: no cotyledon stage, tassel at VT,
/// grain at R1 to R6. Soybean: Fehr and Caviness (1977), Iowa State University Special Report 80: VC, R1 to R8, no tassel.
/// Memory.
fn has_stage(crop: &str, stage: &str) -> bool {
    match crop {
        "corn" => !matches!(stage, "VC" | "R7" | "R8"),
        "soybean" => stage != "VT",
        _ => true,
    }
}

/// Returns the field's usual row width for a kind that has one, unless the entry tells of a hoop.
pub(crate) fn usual_row_width(kind: &Kind, field: &Field, given: &[(String, String)]) -> BTreeMap<String, Measured> {
    const ROW_WIDTH: &str = "row_width";
    let hoop = given.iter().any(|(name, _)| name.starts_with("hoop"));
    // The field keeps it in thousandths of an inch, as the kinds do.
    let kept = kind.measure(ROW_WIDTH).filter(|m| m.scale == 3 && m.unit.as_deref() == Some("[in_i]"));
    match (kept, field.row_width_mil) {
        (Some(_), Some(mil)) if !hoop => {
            BTreeMap::from([(ROW_WIDTH.to_owned(), Measured { value: Value::Int(mil), entered: None })])
        }
        _ => BTreeMap::new(),
    }
}

/// Returns the crop that a planting tells.
pub(crate) fn planted(one: &Read) -> Option<String> {
    match &one.values.get("crop")?.value {
        Value::Text(crop) if one.kind == PLANTING => Some(crop.clone()),
        _ => None,
    }
}

/// Groups what follows each other by one person on one day into visits.
fn in_visits<'a>(read: impl Iterator<Item = &'a Read>) -> Result<Vec<NewObservation>> {
    let mut new: Vec<NewObservation> = Vec::new();
    let mut day: Option<Date> = None;
    for one in read {
        let visit = match new.last().map(|last| &last.visit) {
            Some(visit)
                if visit.by == one.by
                    && day == Some(one.moment.day)
                    && visit.offset_minutes == one.moment.offset_minutes =>
            {
                visit.clone()
            }
            _ => Visit {
                id: ulid::Ulid::from_parts(
                    one.moment.at.as_millisecond().unsigned_abs(),
                    u128::from_be_bytes(random()?),
                )
                .to_string(),
                by: one.by.clone(),
                at: one.moment.at,
                offset_minutes: one.moment.offset_minutes,
                place: one.place,
            },
        };
        day = Some(one.moment.day);
        new.push(NewObservation {
            kind: one.kind.clone(),
            version: one.version,
            values: one.values.clone(),
            at: (one.moment.at != visit.at).then_some(one.moment.at),
            place: one.place.filter(|place| visit.place.as_ref() != Some(place)),
            number: None,
            visit,
        });
    }
    Ok(new)
}

fn measure<'a>(kind: &'a Kind, name: &str, reading: &Reading) -> Result<&'a Measure> {
    kind.measure(name)
        .or_else(|| kind.measures.iter().find(|m| m.flag() == name))
        .ok_or_else(|| no_measure(kind, name, reading))
}

/// Writes values as they were understood, in the order of the kind's measures, and as entered where that differs.
pub(crate) fn values_text(
    kinds: &KindSet,
    kind: &Kind,
    values: &BTreeMap<String, Measured>,
    reading: &Reading,
) -> String {
    let pairs: Vec<String> = kind
        .measures
        .iter()
        .filter_map(|measure| values.get(&measure.name).map(|value| (measure, value)))
        .map(|(measure, measured)| {
            let value = reading.value(kinds, Some(measure), measured);
            let mut text = format!("{} {value}", reading.measure(Some(measure), &measure.flag()));
            if let (ResultType::List, Value::Text(list)) = (measure.result, &measured.value) {
                text.push_str(&format!(" ({})", reading.counted(list.split_whitespace().count(), Noun::Value)));
            }
            match &measured.entered {
                Some(entered) if !same(entered, &text) => format!("{text} (`{entered}`)"),
                // What nobody typed now, as a field's usual row width, is told as it is kept, too.
                None => match reading.as_kept(measure, &measured.value).filter(|kept| !text.ends_with(kept.as_str())) {
                    Some(kept) => format!("{text} ({kept})"),
                    None => text,
                },
                _ => text,
            }
        })
        .collect();
    pairs.join(", ")
}

/// Tells whether what was entered says nothing that `text` does not, blanks aside.
fn same(entered: &str, text: &str) -> bool {
    let bare = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
    bare(text).ends_with(&bare(entered))
}

/// The name under which a history tells of which observation this one is a copy.
const COPIED_FROM: &str = "copied-from";

/// The name under which a history tells of a void.
const VOID: &str = "void";

/// Returns the reason of a void; of one that cannot be read, all that there is.
fn reason(kept: &str, reading: &Reading) -> String {
    serde_json::from_str::<Void>(kept).map_or_else(|_| kept.to_owned(), |void| visits::reason_read(&void, reading))
}

/// Writes a value as it is kept.
pub(crate) fn shown(measure: Option<&Measure>, measured: &Measured) -> String {
    match (&measured.value, measure) {
        (Value::Int(n), Some(measure)) => decimal(*n, measure.scale),
        (Value::Int(n), None) => n.to_string(),
        (Value::Text(text), _) => text.clone(),
    }
}
