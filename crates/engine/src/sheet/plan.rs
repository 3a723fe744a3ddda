//! What importing a sheet would do, row by row, before anything is written.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use jiff::tz::Offset;
use jiff::{Timestamp, civil::Date};
use ligule_journal::{Batch, Filter};
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::field::Field;
use ligule_observation::field::merge::United;
use ligule_observation::ids::{DocKey, Feature};
use ligule_observation::kind::{Kind, ResultType};
use ligule_observation::record::{Measured, Record, Value};
use serde::Serialize;

use super::key::{self, Content};
use super::mapping::{Mapping, Role};
use super::rows::{Draft, Source, Told, Wrong, drafts};
use super::table::Table;
use crate::error::{EngineError, Result};
use crate::phrases::{Noun, Phrase};
use crate::reading::Reading;
use crate::recording::{Read, shown};
use crate::visits::time_of;
use crate::{Engine, fields, now};

/// What becomes of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// It is recorded.
    New,
    /// It is there already.
    Known,
    /// An earlier import of it said something else, which stays.
    Differs,
    /// It cannot be recorded.
    Rejected,
}

/// One row, or one thing that is wrong with it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RowLine {
    /// Its line in the file, or its row in the sheet, from 1.
    pub line: u64,
    /// What becomes of it.
    pub state: State,
    /// The observation, where it has a name already.
    pub observation: Option<String>,
    /// What was understood.
    pub understood: String,
    /// The column that is wrong, where it is one.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// Why it is rejected, or how it differs.
    pub reason: String,
    /// What to do next.
    pub hint: Option<String>,
}

/// Which rows are samples beside what is there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Further {
    /// Those alone for which nothing is there: others may be corrections, and a person decides.
    #[default]
    New,
    /// Those, too, that differ from what is there.
    Differing,
    /// All, also those that say the same as what another sheet brought. The file's name tells one sheet from another.
    All,
}

/// What importing a sheet would do.
pub struct Plan {
    /// Every row, and everything that is wrong with one, by line.
    pub lines: Vec<RowLine>,
    /// How many rows are new.
    pub new: usize,
    /// How many are there already.
    pub known: usize,
    /// How many differ from an earlier import.
    pub differing: usize,
    /// How many observations cannot be recorded.
    pub rejected: usize,
    /// The fields of the new ones, by name.
    pub fields: Vec<String>,
    /// What a person should know of the fields.
    pub notes: Vec<String>,
    /// What is recorded.
    batches: Vec<Batch>,
}

/// A row that was read and may be recorded.
struct Ready {
    line: u64,
    read: Read,
    /// The visit; behind it those that it would have been under the fields that were made part of this one.
    visits: Vec<String>,
    content: [u8; 32],
    /// What it is about, beside its visit: rows that differ in this are other observations, not corrections.
    about: String,
    /// The measures that the sheet tells.
    given: Vec<String>,
    by_told: bool,
    timed: bool,
    /// The two times of a clock that showed one time twice.
    both: Option<[String; 2]>,
}

impl Engine {
    /// Works out what importing a sheet would do. Nothing is written. The sheet is given up as it is read, so that a large one
    /// is not held twice.
    ///
    /// `accept_time` lets times pass that lie in the future of this device's clock. `further` says which rows are samples
    /// beside those that an earlier import of the same field, time and person brought.
    ///
    /// *Errors:* the mapping lacks something that every row needs.
    pub fn plan_import(
        &self,
        table: Table,
        mapping: &Mapping,
        told: &Told,
        accept_time: bool,
        further: Further,
    ) -> Result<Plan> {
        mapping.check(self.kinds(), &told.roles(), &self.reading)?;
        let mut plan = Plan {
            lines: Vec::new(),
            new: 0,
            known: 0,
            differing: 0,
            rejected: 0,
            fields: Vec::new(),
            notes: Vec::new(),
            batches: Vec::new(),
        };
        let mut documents: Vec<(DocKey, Vec<Ready>)> = Vec::new();
        let mut places: HashMap<DocKey, usize> = HashMap::new();
        let mut reader = Reader::new(self, accept_time)?;
        // Who is named, and of which rows the time came twice, with how the first of them may be told.
        let (mut named, mut twice) = (BTreeSet::new(), Vec::new());
        reader.sheet = (further == Further::All).then(|| table.name.clone());
        drafts(self.kinds(), &self.reading, table, mapping, told, |draft| match reader.read(draft) {
            Ok(ready) => {
                if ready.by_told && !named.contains(&ready.read.by) {
                    named.insert(ready.read.by.clone());
                }
                twice.extend(ready.both.clone().map(|both| (ready.line, both)));
                let key =
                    self.document(Feature::Field(ready.read.field.id.clone()), ready.read.moment.day.year().into());
                let place = *places.entry(key.clone()).or_insert(documents.len());
                if place == documents.len() {
                    documents.push((key, Vec::new()));
                }
                documents[place].1.push(ready);
            }
            Err(wrong) => {
                plan.rejected += 1;
                plan.lines.extend(wrong.into_iter().map(rejected));
            }
        });
        // Where nobody is named, devices that import one sheet tell different people, and one of them stays.
        let nobody = documents.iter().flat_map(|(_, rows)| rows).any(|row| !row.by_told);
        for (document, rows) in documents {
            let batch = self.plan_document(document, rows, further, &mut plan)?;
            plan.batches.extend(batch);
        }
        if nobody && plan.new > 0 {
            let by = self.journal.identity().person;
            plan.notes.push(self.reading.say(Phrase::SheetNamesNobody, &[("by", &by)]));
        }
        plan.notes.extend(reader.notes());
        if plan.new > 0 {
            plan.notes.extend(self.new_people(named.iter().map(String::as_str))?.into_values());
        }
        if let Some((line, [first, second])) = twice.first() {
            let n = self.reading.counted(twice.len(), Noun::Row);
            let with: [(&str, &dyn std::fmt::Display); 4] =
                [("n", &n), ("line", line), ("first", first), ("second", second)];
            plan.notes.push(self.reading.say(Phrase::RowsTwice, &with));
        }
        plan.lines.sort_by_key(|line| line.line);
        plan.fields.sort();
        plan.fields.dedup();
        Ok(plan)
    }

    /// Records the new rows of a plan, all of them or none; returns how many.
    ///
    /// Another process that imports the same at once does no harm: what is there already stays as it is.
    pub fn import_planned(&mut self, plan: &Plan) -> Result<usize> {
        let recorded = self.journal.record_large(&plan.batches, now(), &*self.tell)?.len();
        if recorded > 0 {
            self.tidy();
        }
        Ok(recorded)
    }

    fn plan_document(
        &self,
        document: DocKey,
        mut rows: Vec<Ready>,
        further: Further,
        plan: &mut Plan,
    ) -> Result<Option<Batch>> {
        let filter =
            Filter { feature: Some(document.feature.clone()), season: Some(document.season), ..Filter::default() };
        let records = self.journal.records(&filter)?;
        self.follow_moves(&mut rows, &records)?;
        let states = Matching::of(self, &rows, &records, further).states;
        let planted = rows.iter().rev().find_map(|row| match row.read.values.get("crop").map(|crop| &crop.value) {
            Some(Value::Text(crop)) if row.read.kind == "planting" => Some(crop.clone()),
            _ => None,
        });
        let mut crop = planted;
        if crop.is_none() && self.journal.document(document.id())?.is_none() {
            crop = rows.first().map(|row| row.read.field.crop.clone()).filter(|crop| !crop.is_empty());
        }
        let mut new = Vec::new();
        for (mut row, (state, number)) in rows.into_iter().zip(states) {
            let line = RowLine {
                line: row.line,
                state: State::New,
                observation: None,
                understood: std::mem::take(&mut row.read.understood),
                column: String::new(),
                value: String::new(),
                reason: String::new(),
                hint: None,
            };
            plan.lines.push(match state {
                Found::New => {
                    plan.new += 1;
                    if plan.fields.last() != Some(&row.read.field.name) {
                        plan.fields.push(row.read.field.name.clone());
                    }
                    let key = format!("{}-{number:02}", row.visits[0]);
                    new.push(observation(row, number)?);
                    RowLine { observation: Some(key), ..line }
                }
                Found::Known(key, reason) => {
                    plan.known += 1;
                    RowLine { state: State::Known, observation: Some(key), reason, ..line }
                }
                Found::Differs { key, reason, amend } => {
                    plan.differing += 1;
                    let hint = self.reading.say(Phrase::CorrectRow, &[("key", &key), ("amend", &amend)]);
                    RowLine { state: State::Differs, observation: Some(key), reason, hint: Some(hint), ..line }
                }
            });
        }
        Ok((!new.is_empty()).then_some(Batch { document, crop, new }))
    }

    /// Adds to the visits of rows those that were imported under another field and moved here: the sheet may have been
    /// corrected since.
    fn follow_moves(&self, rows: &mut [Ready], records: &[Record]) -> Result<()> {
        let moved: BTreeSet<&str> = {
            let own: HashSet<&str> = rows.iter().flat_map(|row| row.visits.iter().map(String::as_str)).collect();
            let times: HashSet<&str> = own.iter().map(|visit| time_of(visit)).collect();
            let others = records.iter().map(|record| record.visit.as_str());
            others.filter(|visit| times.contains(time_of(visit)) && !own.contains(visit)).collect()
        };
        for visit in moved {
            let Some((first, Feature::Field(field))) = self.first_of(visit)? else { continue };
            for row in rows.iter_mut().filter(|row| time_of(&row.visits[0]) == time_of(visit)) {
                let by = if row.by_told { row.read.by.as_str() } else { "" };
                if key::is_imported(&first, &field, row.read.moment.offset_minutes, by) {
                    row.visits.push(visit.to_owned());
                }
            }
        }
        Ok(())
    }
}

fn rejected(wrong: Wrong) -> RowLine {
    RowLine {
        line: wrong.line,
        state: State::Rejected,
        observation: None,
        understood: String::new(),
        column: wrong.column,
        value: wrong.value,
        reason: wrong.reason,
        hint: wrong.hint,
    }
}

fn noon(day: Date, offset_minutes: i16) -> Result<Timestamp> {
    Offset::from_seconds(i32::from(offset_minutes) * 60)
        .and_then(|offset| offset.to_timestamp(day.at(12, 0, 0, 0)))
        .map_err(|error| EngineError::user(format!("{day}: {error}"), "check the year"))
}

fn observation(row: Ready, number: u32) -> Result<NewObservation> {
    let moment = row.read.moment;
    let at = noon(moment.day, moment.offset_minutes)?;
    Ok(NewObservation {
        visit: Visit {
            id: row.visits[0].clone(),
            by: row.read.by,
            at,
            offset_minutes: moment.offset_minutes,
            place: None,
        },
        kind: row.read.kind,
        version: row.read.version,
        values: row.read.values,
        at: (moment.at != at).then_some(moment.at),
        place: row.read.place,
        number: Some(number),
    })
}

/// Reads drafts by the one path of entry.
struct Reader<'a> {
    engine: &'a Engine,
    fields: Vec<Field>,
    united: United,
    /// The fields by the names that rows gave.
    found: HashMap<String, Result<Arc<Field>>>,
    zones: HashMap<String, jiff::tz::TimeZone>,
    accept_time: bool,
    /// The sheet's name, where its rows are samples of their own.
    sheet: Option<String>,
}

impl<'a> Reader<'a> {
    fn new(engine: &'a Engine, accept_time: bool) -> Result<Self> {
        let fields = engine.journal.all_fields()?;
        let united = United::of(&fields);
        Ok(Self { engine, fields, united, found: HashMap::new(), zones: HashMap::new(), accept_time, sheet: None })
    }

    /// Says what a person should know of the fields that the rows name.
    fn notes(&self) -> Vec<String> {
        let reading = self.engine.reading();
        let found = self.found.values().filter_map(|found| found.as_ref().ok());
        let notes: BTreeSet<String> =
            found.filter_map(|field| fields::retired_note(field, &self.fields, reading)).collect();
        notes.into_iter().collect()
    }

    fn read(&mut self, mut draft: Draft) -> Result<Ready, Vec<Wrong>> {
        let mut wrong = draft.wrong;
        let Some(kind) = self.engine.kinds().get(&draft.entry.kind) else { return Err(wrong) };
        let field = if draft.entry.field.is_empty() {
            None
        } else {
            let name = &draft.entry.field;
            let (all, reading) = (&self.fields, self.engine.reading());
            Some(
                self.found
                    .entry(name.clone())
                    .or_insert_with(|| fields::find(all.clone(), name, reading).map(Arc::new)),
            )
        };
        // Without a field nothing can be read whole; its values are judged all the same.
        let known = match field {
            Some(Ok(field)) => Some(Arc::clone(field)),
            Some(Err(error)) => {
                wrong.push(blame(error.clone(), kind, &draft.sources, draft.line, draft.entry.at.as_deref()));
                None
            }
            None => None,
        };
        let Some(known) = known.filter(|_| wrong.is_empty()) else {
            let today =
                if self.accept_time { Date::MAX } else { now().to_zoned_datetime(jiff::tz::TimeZone::UTC).date() };
            let (_, errors) = crate::entry::read_values(
                self.engine.kinds(),
                kind,
                &draft.entry.values,
                &BTreeMap::new(),
                today,
                self.engine.reading(),
            );
            let at = draft.entry.at.as_deref();
            wrong.extend(errors.into_iter().map(|error| blame(error, kind, &draft.sources, draft.line, at)));
            return Err(wrong);
        };
        // The name may be one that the field had before it was made part of another.
        draft.entry.field.clone_from(&known.id);
        let read = self.engine.read_entry_of(&draft.entry, |_| Ok(known), &mut self.zones, self.accept_time).map_err(
            |errors| {
                let at = draft.entry.at.as_deref();
                errors.into_iter().map(|error| blame(error, kind, &draft.sources, draft.line, at)).collect::<Vec<_>>()
            },
        )?;
        let given: Vec<String> = draft.entry.values.iter().map(|(name, _)| name.clone()).collect();
        let by_told = draft.entry.by.is_some();
        let moment = read.moment;
        let unreal =
            |error: EngineError| vec![blame(error, kind, &draft.sources, draft.line, draft.entry.at.as_deref())];
        let noon = noon(moment.day, moment.offset_minutes).map_err(unreal)?;
        let by = if by_told { read.by.as_str() } else { "" };
        let visit = |field: &str| key::visit(field, moment.day, moment.offset_minutes, by, noon);
        let mut visits = vec![visit(&read.field.id)];
        let parts = self.fields.iter().filter(|field| field.id != read.field.id);
        visits.extend(parts.filter(|f| self.united.home(&f.id) == read.field.id).map(|field| visit(&field.id)));
        let content = Content {
            kind: &read.kind,
            at: moment.at,
            place: read.place,
            // What the field's own entries add is not the sheet's.
            values: read
                .values
                .iter()
                .filter(|(name, _)| given.contains(name))
                .map(|(name, measured)| (name.as_str(), &measured.value))
                .collect(),
        };
        Ok(Ready {
            line: draft.line,
            visits,
            content: match &self.sheet {
                Some(sheet) => key::of_sheet(&content.hash(), sheet),
                None => content.hash(),
            },
            about: about(kind, &read.values.iter().map(|(n, m)| (n.as_str(), &m.value)).collect()),
            given,
            by_told,
            timed: draft.timed,
            both: self.zones.get(&read.field.zone).and_then(|zone| moment.both(zone)),
            read,
        })
    }
}

/// Returns what an observation is about: the organism, the row unit … Rows that differ in it are not one corrected.
fn about(kind: &Kind, values: &BTreeMap<&str, &Value>) -> String {
    let mut about = kind.kind.clone();
    for measure in &kind.measures {
        let names = measure.result == ResultType::Choice && measure.codelist.is_some() || measure.name == "row_unit";
        if let (true, Some(value)) = (names, values.get(measure.name.as_str())) {
            about.push_str(&format!("\n{} {value:?}", measure.name));
        }
    }
    about
}

/// Finds the cell that an error is about: its flag, its field or its time stands in the message.
fn blame(error: EngineError, kind: &Kind, sources: &[Source], line: u64, at: Option<&str>) -> Wrong {
    let place_of = |source: &Source| {
        let measure = source.measure.as_deref().and_then(|name| kind.measure(name))?;
        error.message.find(&format!("`--{}`", measure.flag()))
    };
    let told = sources.iter().filter_map(|source| Some((place_of(source)?, source)));
    let of_measure = told.min_by_key(|(place, _)| *place).map(|(_, source)| source);
    let of = |role| sources.iter().find(|source| source.role == role);
    let source = of_measure.or_else(|| {
        let quoted = |text: &str| !text.is_empty() && error.message.contains(&format!("`{text}`"));
        if [" field", " lote"].iter().any(|word| error.message.contains(word)) {
            of(Role::Field)
        } else if at.is_some_and(quoted) {
            of(Role::Day)
        } else if error.message.contains("latitude and longitude") {
            of(Role::Place).or_else(|| of(Role::Latitude))
        } else {
            None
        }
    });
    Wrong {
        line: source.map_or(line, |source| source.line),
        column: source.map(|source| source.column.clone()).unwrap_or_default(),
        value: source.map(|source| source.value.clone()).unwrap_or_default(),
        reason: error.message,
        hint: error.hint,
    }
}

/// What the journal has of a row.
enum Found {
    New,
    Known(String, String),
    Differs { key: String, reason: String, amend: String },
}

/// Finds which rows the journal has.
struct Matching {
    states: Vec<(Found, u32)>,
}

impl Matching {
    fn of(engine: &Engine, rows: &[Ready], records: &[Record], further: Further) -> Self {
        let by_key: HashMap<&str, &Record> = records.iter().map(|record| (record.key.as_str(), record)).collect();
        let mut by_visit: HashMap<&str, Vec<&Record>> = HashMap::new();
        let mut by_minute: HashMap<(&str, i64), Vec<&Record>> = HashMap::new();
        for record in records {
            by_visit.entry(&record.visit).or_default().push(record);
            by_minute.entry((&record.kind, minute(record.at))).or_default().push(record);
        }
        let mut claimed: HashSet<&str> = HashSet::new();
        let mut states: Vec<Option<(Found, u32)>> = Vec::with_capacity(rows.len());
        // First by name: what an earlier import of the same row made, whatever became of it since.
        let mut before: HashMap<(&str, [u8; 32]), u32> = HashMap::new();
        let mut taken: HashSet<(&str, u32)> = HashSet::new();
        let mut numbers = Vec::with_capacity(rows.len());
        for row in rows {
            let same = before.entry((&row.visits[0], row.content)).or_insert(0);
            let mut attempt = 0;
            let (number, record) = loop {
                let number = key::number(&row.content, *same, attempt);
                let named = |visit: &String| by_key.get(format!("{visit}-{number:02}").as_str()).copied();
                let record = row.visits.iter().find_map(named);
                // Kind and time of an observation never change: another one has the number.
                let other =
                    record.is_some_and(|record| record.kind != row.read.kind || record.at != row.read.moment.at);
                if !other && taken.insert((&row.visits[0], number)) {
                    break (number, record);
                }
                attempt += 1;
            };
            *same += 1;
            numbers.push(number);
            states.push(record.map(|record| {
                claimed.insert(&record.key);
                let reason = match (&record.void, differences(engine, row, record).is_empty()) {
                    (Some(void), _) => engine.reading().say(Phrase::VoidSince, &[("why", &void.why)]),
                    (None, false) => engine.reading().word(Phrase::CorrectedSince).to_owned(),
                    (None, true) => String::new(),
                };
                (Found::Known(record.key.clone(), reason), number)
            }));
        }
        // Then by what the journal says now: a corrected row, or one that was typed at the same minute.
        for (row, state) in rows.iter().zip(&mut states) {
            if state.is_some() || further == Further::All {
                continue;
            }
            let imported = row.visits.iter().filter_map(|visit| by_visit.get(visit.as_str())).flatten();
            let typed = by_minute.get(&(row.read.kind.as_str(), minute(row.read.moment.at))).into_iter().flatten();
            let typed = typed.filter(|record| row.timed && (!row.by_told || record.by == row.read.by));
            let same = imported.filter(|record| record.at == row.read.moment.at).chain(typed).find(|record| {
                record.void.is_none()
                    && record.kind == row.read.kind
                    && record.place == row.read.place
                    && !claimed.contains(record.key.as_str())
                    && differences(engine, row, record).is_empty()
            });
            if let Some(record) = same {
                claimed.insert(&record.key);
                *state = Some((Found::Known(record.key.clone(), String::new()), 0));
            }
        }
        // What is left and stands where an earlier import said something else is a changed row.
        for (row, state) in rows.iter().zip(&mut states) {
            if state.is_some() || further != Further::New {
                continue;
            }
            let imported = row.visits.iter().filter_map(|visit| by_visit.get(visit.as_str())).flatten();
            let imported = imported.filter(|record| {
                record.void.is_none()
                    && record.kind == row.read.kind
                    && record.at == row.read.moment.at
                    && record.place == row.read.place
                    && !claimed.contains(record.key.as_str())
                    && engine.kinds().get(&record.kind).is_some_and(|kind| {
                        about(kind, &record.values.iter().map(|(n, m)| (n.as_str(), &m.value)).collect()) == row.about
                    })
            });
            let nearest =
                imported.map(|record| (differences(engine, row, record), record)).min_by_key(|(d, _)| d.len());
            if let Some((differences, record)) = nearest {
                claimed.insert(&record.key);
                let says: Vec<&str> = differences.iter().map(|(says, _)| says.as_str()).collect();
                let amend: Vec<&str> = differences.iter().map(|(_, amend)| amend.as_str()).collect();
                let (reason, amend) = (says.join(", "), amend.join(" "));
                *state = Some((Found::Differs { key: record.key.clone(), reason, amend }, 0));
            }
        }
        let states = states.into_iter().zip(numbers).map(|(state, number)| state.unwrap_or((Found::New, number)));
        Self { states: states.collect() }
    }
}

fn minute(at: Timestamp) -> i64 {
    at.as_second().div_euclid(60)
}

/// Returns what a row says and the record does not: in words, and as flags of `amend`.
fn differences(engine: &Engine, row: &Ready, record: &Record) -> Vec<(String, String)> {
    let kind = engine.kinds().get(&record.kind);
    let mut differences = Vec::new();
    for name in &row.given {
        let Some(told) = row.read.values.get(name) else { continue };
        let kept = record.values.get(name);
        if kept.is_some_and(|kept| kept.value == told.value) {
            continue;
        }
        let measure = kind.and_then(|kind| kind.measure(name));
        let flag = measure.map_or_else(|| name.clone(), |measure| measure.flag());
        let text = shown(measure, told);
        let kept = kept.map_or_else(|| "none".to_owned(), |kept| shown(measure, kept));
        // So that it can be typed as it stands, by whoever reads other units than the kind keeps.
        let bare = Measured { value: told.value.clone(), entered: None };
        let typed = measure.map_or_else(|| text.clone(), |measure| engine.reading().to_type(measure, &bare));
        let quoted = if typed.contains(char::is_whitespace) { format!("\"{typed}\"") } else { typed };
        differences.push((format!("the sheet says {flag} {text}, the journal {kept}"), format!("--{flag} {quoted}")));
    }
    differences
}

impl Plan {
    /// Says what it would record and what not.
    pub fn told(&self, reading: &Reading) -> String {
        let mut told = reading.counted(self.new, Noun::NewObservation);
        for (n, what) in [
            (self.known, Phrase::PlanKnown),
            (self.differing, Phrase::PlanDiffering),
            (self.rejected, Phrase::PlanRejected),
        ] {
            if n > 0 {
                told.push_str(&reading.say(what, &[("n", &n)]));
            }
        }
        told
    }
}
