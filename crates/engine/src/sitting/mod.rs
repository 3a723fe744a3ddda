//! A visit in one sitting: questions in the order of the protocol, one answer a line.
//!
//! Every answer is on the disk before it is echoed. The kinds' own files say what is asked; [`plan`] says in which order.
//! An observation is recorded with the change of the draft in one transaction, so that a program that is ended at any
//! moment has recorded it once or still asks for it.

mod draft;
mod plan;
mod words;

use std::collections::{BTreeMap, HashMap};
use std::path::Path;

use jiff::civil::Date;
use ligule_journal::{Drafted, Filter, JournalError, Photos};
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::field::Field;
use ligule_observation::ids::{Feature, ObservationKey, hex};
use ligule_observation::kind::{Kind, Measure, ResultType};

use crate::entry::{meant, read_value};
use crate::error::{EngineError, Result};
use crate::photos::{CONTENT, PHOTO};
use crate::phrases::{Noun, Phrase};
use crate::reading::code_label;
use crate::recording::{Entry, Read, planted, usual_row_width, values_text};
use crate::reentry::{APPLICATION, Reentry};
use crate::{Engine, assess, fields, moment, now, random};
use draft::{Draft, OpenVisit};
use plan::Situation;
use words::Word;

/// A visit that is under way.
pub struct Sitting<'a> {
    engine: &'a Engine,
    field: Field,
    by: String,
    draft: Draft,
    name: String,
    resumed: bool,
    over: bool,
    /// What a person should know of the field before anything is asked.
    notes: Vec<String>,
    /// What keeps people out of the field, as it was when the visit began.
    reentry: Option<Reentry>,
    /// Its lines, and those of applications that were recorded since: each is told once.
    kept_out: Vec<String>,
    /// The word or kind that would have given answers up, where it was said just now.
    gives_up: Option<String>,
}

/// Which visit to begin or go on with.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sit {
    /// The field; found by the place where it is not named.
    pub field: Option<String>,
    /// Who observes; the journal's person where it is not said.
    pub by: Option<String>,
    /// When the visit was, as typed; now where it is not said.
    pub at: Option<String>,
    /// Where, latitude and longitude in degrees.
    pub near: Option<String>,
    /// What is asked for instead of what crop and stage ask for, where it is said.
    pub kinds: Vec<String>,
    /// Begins a new one: what was recorded on the old one stays, an observation of it that was not whole is given up.
    pub anew: bool,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// What to print before the question, where a new kind begins.
    pub heading: Option<String>,
    /// The question.
    pub text: String,
}

impl Engine {
    /// Begins a visit of a field, or goes on with one that was stopped.
    ///
    /// # Errors
    /// No such field, none at the place; no such kind; a time in the future; an observation that is not whole of another
    /// visit.
    pub fn sit(&self, how: &Sit) -> Result<Sitting<'_>> {
        let fields = self.journal.all_fields()?;
        let near = how.near.as_deref().map(|place| fields::read_place(place, &self.reading)).transpose()?;
        let field = match (&how.field, near) {
            (Some(name), _) => fields::find(fields.clone(), name, &self.reading)?,
            (None, Some(place)) => fields::field_at(&fields, place, &self.reading)?,
            (None, None) => {
                let (which, hint) = (Phrase::WhichVisited, Phrase::NameVisited);
                return Err(EngineError::user(self.reading.word(which), self.reading.word(hint)));
            }
        };
        let by = how.by.as_deref().map_or_else(|| self.journal.identity().person, |by| by.trim().to_owned());
        if by.is_empty() {
            let (what, hint) = (Phrase::NobodyObserved, Phrase::NameWhoObserved);
            return Err(EngineError::user(self.reading.word(what), self.reading.word(hint)));
        }
        for kind in &how.kinds {
            if self.kind(kind)?.feature == "weather" {
                let what = self.reading.say(Phrase::ObservedAtStation, &[("kind", kind)]);
                return Err(EngineError::user(what, self.reading.word(Phrase::ImportWeather)));
            }
        }
        let zone = moment::zone(&field.zone)?;
        let today = now().to_zoned_datetime(zone.clone()).date();
        let when = |at: &str| moment::read(Some(at), &zone, now(), false, &self.reading);
        let told_at = how.at.as_deref().map(when).transpose()?;
        let name = format!("visit of {} by {by}", field.id);
        let holder = hex(&random::<8>()?);
        if let Some(place) = near {
            fields::place_fits(&field, place, &self.reading)?;
        }
        let left = if how.anew { self.settle(&field, &by, &name, &holder)? } else { Vec::new() };
        loop {
            let there = self.journal.draft(&name)?;
            let kept =
                there.as_deref().filter(|_| !how.anew).and_then(|bytes| serde_json::from_slice::<Draft>(bytes).ok());
            let other = |draft: &Draft| {
                (!how.kinds.is_empty() && draft.plan != how.kinds)
                    || told_at.is_some_and(|told| draft.told_at != Some(told.at))
            };
            if kept.as_ref().is_some_and(|draft| other(draft) && !draft.answers.is_empty()) {
                let what = self.reading.say(Phrase::SampleUnfinished, &[("field", &field.name)]);
                return Err(EngineError::user(what, self.reading.word(Phrase::GoOnOrGiveUp)));
            }
            // What another program kept, or asks for a kind that is gone, cannot be gone on with; what was recorded is
            // recorded.
            let kept = kept.filter(|draft| {
                draft.version == draft::VERSION
                    && draft.plan.iter().all(|kind| self.kinds.get(kind).is_some())
                    && !other(draft)
                    // Of an earlier day only an observation that is not whole is gone on with.
                    && (!draft.answers.is_empty() || (draft.day == today && draft.has_begun()))
            });
            // What was recorded may have been put on another field since: here another visit begins.
            let opened = kept.as_ref().and_then(|draft| draft.visit.as_ref());
            let went = opened.map_or(Ok(Vec::new()), |visit| self.went_to(&visit.id))?;
            let gone_to = went
                .first()
                .map(|there| self.reading.say(Phrase::SittingMoved, &[("to", &there.field), ("field", &field.name)]));
            let kept = match gone_to {
                Some(_) => kept
                    .map(|draft| Draft { visit: None, recorded: Vec::new(), ..draft })
                    .filter(|draft| !draft.answers.is_empty()),
                None => kept,
            };
            let resumed = kept.is_some();
            // Whoever stops lets go of it; who was killed, or goes on in another window, does not.
            let held = kept.as_ref().is_some_and(|draft| !draft.holder.is_empty());
            let day = told_at.map_or(today, |told| told.day);
            let begun_before = kept.as_ref().and_then(|draft| {
                let begun = draft.since.filter(|_| draft.told_at.is_none() && !draft.answers.is_empty())?;
                let begun = begun.to_zoned_datetime(zone.clone()).date();
                let told: [(&str, &dyn std::fmt::Display); 2] = [("day", &begun), ("field", &field.name)];
                (begun != today).then(|| self.reading.say(Phrase::SampleOfAnotherDay, &told))
            });
            let draft = match kept {
                Some(draft) => {
                    Draft { holder: holder.clone(), day: today, place: how.near.clone().or(draft.place), ..draft }
                }
                None => Draft {
                    version: draft::VERSION,
                    holder: holder.clone(),
                    begun: now(),
                    day: today,
                    told_at: told_at.map(|told| told.at),
                    place: how.near.clone(),
                    visit: None,
                    plan: if how.kinds.is_empty() { self.plan_of(&field, day)? } else { how.kinds.clone() },
                    at: 0,
                    chosen: !how.kinds.is_empty(),
                    since: None,
                    answers: Vec::new(),
                    offered: BTreeMap::new(),
                    recorded_here: false,
                    recorded: Vec::new(),
                },
            };
            let reentry = self.reentry_on(&field, None)?;
            let kept_out = reentry.as_ref().map_or_else(Vec::new, |reentry| reentry.lines(&self.reading));
            let told = |line: &&String| kept_out.iter().any(|told| told == line.trim_start());
            let notes: Vec<String> = [near.and_then(|place| fields::where_it_lies(&field, place, &self.reading))]
                .into_iter()
                .chain([fields::retired_note(&field, &fields, &self.reading), begun_before, gone_to])
                .chain([self.clock_note(&field), told_at.and_then(|told| told.note(&zone, &self.reading))])
                .chain(self.new_people([by.as_str()])?.into_values().map(Some))
                .chain([held.then(|| self.reading.word(Phrase::VisitTakenOver).to_owned())])
                .flatten()
                .chain(left.iter().filter(|line| !told(line)).cloned())
                .collect();
            let (field, by, name) = (field.clone(), by.clone(), name.clone());
            let (over, gives_up) = (false, None);
            let mut sitting =
                Sitting { engine: self, field, by, draft, name, resumed, over, notes, reentry, kept_out, gives_up };
            if !resumed {
                sitting.draft.begin(sitting.usual());
            }
            sitting.over = sitting.draft.at >= sitting.draft.plan.len();
            // Another process may have gone on meanwhile: then what it kept is taken over instead.
            if sitting.put(|now| now == there.as_deref())? {
                return Ok(sitting);
            }
        }
    }

    /// Ends what was begun on a visit that another takes the place of: what is whole is recorded, what is not is told.
    fn settle(&self, field: &Field, by: &str, name: &str, holder: &str) -> Result<Vec<String>> {
        loop {
            let there = self.journal.draft(name)?;
            let kept = there.as_deref().and_then(|bytes| serde_json::from_slice::<Draft>(bytes).ok());
            let begun = kept.filter(|draft| draft.version == draft::VERSION && draft.says_something());
            let Some(draft) = begun.map(|draft| Draft { holder: holder.to_owned(), ..draft }) else {
                return Ok(Vec::new());
            };
            let (field, by, name) = (field.clone(), by.to_owned(), name.to_owned());
            let (resumed, over, notes, gives_up) = (true, false, Vec::new(), None);
            let (reentry, kept_out) = (None, Vec::new());
            let mut old =
                Sitting { engine: self, field, by, draft, name, resumed, over, notes, reentry, kept_out, gives_up };
            if old.put(|now| now == there.as_deref())? {
                let Some(kind) = old.kind().cloned() else { return Ok(vec![old.given_up()]) };
                return match old.entry_read(&kind)? {
                    Ok(read) => old.keep(&kind, &read),
                    Err(_) => Ok(vec![old.given_up()]),
                };
            }
        }
    }

    /// Returns the kinds that a visit of a field asks for on a day.
    fn plan_of(&self, field: &Field, day: Date) -> Result<Vec<String>> {
        let season = Some(i32::from(day.year()));
        let filter = Filter { feature: Some(Feature::Field(field.id.clone())), season, ..Filter::default() };
        let records = self.journal.records(&filter)?;
        let assessed = assess::assess_for(&self.reading, &records, &self.kinds, &field.crop, None, day);
        let stage = assessed.stage.as_ref().map(|stage| stage.field_stage.as_str());
        let situation = Situation { crop: &assessed.crop, stage, planted: assessed.planting.is_some() };
        Ok(plan::plan(&self.kinds, situation))
    }
}

impl Sitting<'_> {
    /// Returns what keeps people out of the field, to be shown before anything is asked.
    pub fn reentry(&self) -> Option<&Reentry> {
        self.reentry.as_ref()
    }

    /// Returns what else a person should know of the field before anything is asked.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Says where it begins: what is asked for, or where it goes on.
    pub fn greeting(&self) -> String {
        let (reading, field) = (&self.engine.reading, &self.field.name);
        if self.resumed {
            let zone = moment::zone(&self.field.zone).unwrap_or(jiff::tz::TimeZone::UTC);
            let begun = self.draft.begun.to_zoned_datetime(zone).strftime("%Y-%m-%d %H:%M").to_string();
            let n = self.draft.recorded.len();
            return reading.say(Phrase::VisitGoesOn, &[("field", field), ("begun", &begun), ("n", &n)]);
        }
        let kinds: Vec<&str> = self.draft.plan.iter().map(|kind| self.called(kind)).collect();
        reading.say(Phrase::VisitBegins, &[("field", field), ("kinds", &kinds.join(", "))])
    }

    /// Returns what is asked now; nothing where the visit is over.
    pub fn asked(&self) -> Option<Asked> {
        if self.over {
            return None;
        }
        let kind = self.kind()?;
        let (n, of) = (self.draft.at + 1, self.draft.plan.len());
        if self.draft.recorded_here {
            let next = self.draft.plan.get(n).map(|next| self.called(next));
            let (reading, kind) = (&self.engine.reading, self.called(&kind.kind));
            let text = match next {
                Some(next) => reading.say(Phrase::AgainOrNext, &[("kind", &kind), ("next", &next)]),
                None => reading.say(Phrase::AgainOrFinish, &[("kind", &kind)]),
            };
            return Some(Asked { heading: None, text });
        }
        let measure = self.next(kind)?;
        let heading = self
            .draft
            .answers
            .is_empty()
            .then(|| format!("{} ({n}/{of})", self.engine.reading.label(&kind.label, &kind.kind)));
        Some(Asked { heading, text: self.question(measure) })
    }

    /// Takes an answer; what it returns, a line each, is true on the disk already.
    ///
    /// # Errors
    /// The answer is refused and the question stays; or the journal cannot be written.
    pub fn answer(&mut self, line: &str) -> Result<Vec<String>> {
        let Some(kind) = self.kind().cloned() else { return Ok(Vec::new()) };
        let line = line.trim();
        let word = words::word(line);
        let said_before = self.gives_up.take().is_some_and(|before| before == line);
        match word {
            Some(Word::Help) => return Ok(self.help(&kind)),
            Some(Word::Quit) => return self.stop(),
            Some(Word::Finish) => {
                let mut said = self.leave(&kind, line, said_before)?;
                said.extend(self.finish()?);
                return Ok(said);
            }
            _ => {}
        }
        if self.names(line) {
            let mut said = self.leave(&kind, line, said_before)?;
            if let Some(at) = self.named(line) {
                said.extend(self.go(at)?);
            }
            return Ok(said);
        }
        if self.draft.recorded_here {
            return match word {
                Some(Word::Again) => {
                    let usual = std::mem::take(&mut self.draft.offered);
                    self.draft.begin(usual);
                    self.write()?;
                    Ok(Vec::new())
                }
                Some(Word::Back) => {
                    let reading = &self.engine.reading;
                    Err(EngineError::user(reading.word(Phrase::BehindIsRecorded), reading.word(Phrase::AmendCorrects)))
                }
                None if !line.is_empty() => {
                    let reading = &self.engine.reading;
                    let what = reading.say(Phrase::AgainExpected, &[("line", &line)]);
                    Err(EngineError::user(what, reading.word(Phrase::AmendCorrects)))
                }
                _ => self.go(self.draft.at + 1),
            };
        }
        let Some(measure) = self.next(&kind).cloned() else { return self.record(&kind) };
        match word {
            Some(Word::Skip) => {
                let mut said = self.leave(&kind, line, said_before)?;
                said.extend(self.go(self.draft.at + 1)?);
                return Ok(said);
            }
            Some(Word::Done) => return self.record(&kind),
            Some(Word::Back) => return self.back(),
            Some(Word::Again) => {
                let reading = &self.engine.reading;
                let (what, hint) = (Phrase::NoSampleYet, Phrase::AnswerOrSkipKind);
                return Err(EngineError::user(reading.word(what), reading.word(hint)));
            }
            _ => {}
        }
        let text = match (word, line.strip_prefix('=').unwrap_or(line)) {
            (Some(Word::Leave), _) => None,
            (_, "") => self.draft.offered.get(&measure.name).cloned(),
            (_, text) => Some(self.engine.reading.typed(&kind, &measure, text)?),
        };
        let measure = text.as_ref().map_or(&measure, |text| meant(&kind, &measure, text)).clone();
        let mut said = Vec::new();
        if text.is_none() && measure.required {
            let name = self.engine.reading.label(&measure.label, &measure.name);
            let reading = &self.engine.reading;
            return Err(EngineError::user(
                reading.say(Phrase::AnswerNeeded, &[("measure", &name)]),
                reading.word(Phrase::AnswerOrSkip),
            ));
        }
        if let (Some(file), PHOTO, CONTENT) = (&text, kind.kind.as_str(), measure.name.as_str())
            && !Photos::is_hash(file)
        {
            return self.photo(&kind, file);
        }
        if let Some(text) = &text {
            let zone = moment::zone(&self.field.zone)?;
            let day = |at: jiff::Timestamp| at.to_zoned_datetime(zone.clone()).date();
            let today = day(now());
            let measured = read_value(&self.engine.kinds, &kind, &measure, text, today, &self.engine.reading)?;
            let values = BTreeMap::from([(measure.name.clone(), measured)]);
            said.push(format!("  {}", values_text(&self.engine.kinds, &kind, &values, &self.engine.reading)));
            // What is answered on a later day dates the observation: it was not whole before.
            if self.draft.since.is_none_or(|since| day(since) != today) {
                self.draft.since = Some(now());
            }
        }
        self.draft.answers.push((measure.name.clone(), text));
        if self.next(&kind).is_none() {
            // Nothing is left to ask; what is not whole is told, and asked for again.
            said.extend(self.record(&kind)?);
        } else {
            self.write()?;
        }
        Ok(said)
    }

    /// Stops here and lets go of the visit: the next start goes on with it.
    ///
    /// # Errors
    /// The journal cannot be written, or another process goes on with the visit.
    pub fn stop(&mut self) -> Result<Vec<String>> {
        let holder = std::mem::take(&mut self.draft.holder);
        self.over = true;
        if self.put(|kept| held_by(kept, &holder))? { Ok(Vec::new()) } else { Err(self.taken()) }
    }

    /// Keeps the picture of a file and answers what the file itself tells.
    fn photo(&mut self, kind: &Kind, file: &str) -> Result<Vec<String>> {
        let (facts, note) = self.engine.keep_photo(Path::new(file))?;
        let told = facts.iter().filter(|(name, _)| matches!(name.as_str(), "media_type" | "bytes"));
        let told: Vec<String> = told.map(|(_, value)| value.clone()).collect();
        self.draft.answers.retain(|(name, _)| facts.iter().all(|(fact, _)| fact != name));
        // The content last, so that `back` goes to the file.
        self.draft.answers.extend(facts.into_iter().rev().map(|(name, value)| (name, Some(value))));
        self.draft.since.get_or_insert_with(now);
        self.write()?;
        let said = format!("  {} ({})", file, told.join(", "));
        debug_assert!(self.next(kind).is_some(), "a caption is asked for");
        Ok(std::iter::once(said).chain(note.map(|note| format!("  {note}"))).collect())
    }

    /// Records what was answered before something else is asked for; what is not whole is given up only where the same is
    /// said again.
    fn leave(&mut self, kind: &Kind, line: &str, said_before: bool) -> Result<Vec<String>> {
        if self.draft.recorded_here || !self.draft.says_something() {
            return Ok(Vec::new());
        }
        match self.entry_read(kind)? {
            Ok(read) => self.keep(kind, &read),
            Err(_) if said_before => Ok(vec![self.given_up()]),
            Err(faults) => {
                self.gives_up = Some(line.to_owned());
                let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
                let reading = &self.engine.reading;
                let hint = reading.say(Phrase::AgainGivesUp, &[("word", &line), ("answers", &self.answers())]);
                Err(EngineError::user(said.join("; "), hint))
            }
        }
    }

    /// Says which answers are not recorded.
    fn given_up(&self) -> String {
        let kind = self.draft.plan.get(self.draft.at).map_or("", String::as_str);
        let told: [(&str, &dyn std::fmt::Display); 2] = [("kind", &self.called(kind)), ("answers", &self.answers())];
        self.engine.reading.say(Phrase::GivenUp, &told)
    }

    /// Returns the answers of this observation as typed.
    fn answers(&self) -> String {
        let kind = self.kind();
        let reading = &self.engine.reading;
        let told = self.draft.answers.iter().filter_map(|(name, text)| {
            let measure = kind.and_then(|kind| kind.measure(name));
            Some(format!("{} {}", measure.map_or(name.as_str(), |m| reading.label(&m.label, name)), text.as_ref()?))
        });
        told.collect::<Vec<_>>().join(", ")
    }

    /// Tells whether it is still this process that goes on with the visit.
    pub fn is_held(&self) -> bool {
        self.over || self.engine.journal.draft(&self.name).is_ok_and(|kept| self.is_ours(kept.as_deref()))
    }

    /// Says how it ended.
    pub fn farewell(&self) -> String {
        let n = self.draft.recorded.len();
        let unfinished = self.draft.at < self.draft.plan.len() && self.draft.has_begun();
        let reading = &self.engine.reading;
        let recorded = reading.counted(n, Noun::RecordedObservation);
        let phrase = if unfinished { Phrase::VisitKept } else { Phrase::VisitOver };
        reading.say(phrase, &[("recorded", &recorded), ("field", &self.field.name)])
    }

    fn next<'k>(&self, kind: &'k Kind) -> Option<&'k Measure> {
        self.draft.next(&self.engine.kinds, kind, |measure| self.engine.reading.asks(kind, measure))
    }

    fn kind(&self) -> Option<&Kind> {
        self.engine.kinds.get(self.draft.plan.get(self.draft.at)?)
    }

    fn called<'k>(&'k self, kind: &'k str) -> &'k str {
        self.engine.reading.kind(self.engine.kinds.get(kind), kind)
    }

    /// Tells whether a line names a kind that can be asked for.
    fn names(&self, line: &str) -> bool {
        self.engine.kinds.get(line).is_some_and(|kind| kind.feature != "weather")
    }

    /// Returns the place in the plan of the kind that a line names, if it names one.
    fn named(&mut self, line: &str) -> Option<usize> {
        let kind = self.engine.kinds.get(line).filter(|kind| kind.feature != "weather")?;
        // A text may be the name of a kind: then it takes the `=` in front.
        if let Some(at) = self.draft.plan.iter().position(|known| *known == kind.kind) {
            return Some(at);
        }
        let at = (self.draft.at + 1).min(self.draft.plan.len());
        self.draft.plan.insert(at, kind.kind.clone());
        Some(at)
    }

    fn question(&self, measure: &Measure) -> String {
        let reading = &self.engine.reading;
        let mut text = reading.label(&measure.label, &measure.name).to_owned();
        if measure.name == CONTENT && self.kind().is_some_and(|kind| kind.kind == PHOTO) {
            text = reading.word(Phrase::PhotoFile).to_owned();
        }
        match (measure.result, measure.range) {
            (ResultType::Quantity | ResultType::Count | ResultType::List, Some([low, high])) => {
                text.push_str(&format!(" ({})", reading.range(measure, low, high)));
            }
            (ResultType::Choice, _) => {
                let codes = self.engine.kinds.codes(measure).into_iter();
                let codes: Vec<String> = codes.map(|(code, _)| self.answer_for(measure, code)).collect();
                if codes.len() <= FEW_CODES {
                    text.push_str(&format!(" ({})", codes.join(", ")));
                }
            }
            _ => {}
        }
        if let Some(offered) = self.draft.offered.get(&measure.name) {
            text.push_str(&format!(" [{offered}]"));
        }
        text
    }

    /// Returns what a person answers for a code: the code in English, else its label, as much of it as is understood.
    fn answer_for(&self, measure: &Measure, code: &str) -> String {
        let reading = &self.engine.reading;
        if reading.language == "en" {
            return code.to_owned();
        }
        let label = code_label(&self.engine.kinds, measure, code, &reading.language);
        let brief = label.split(':').next().map(str::trim).unwrap_or_default();
        let means = |text: &str| self.engine.kinds.code(measure, text).is_some_and(|meant| meant == code);
        [brief, &label].into_iter().find(|text| means(text)).unwrap_or(code).to_owned()
    }

    fn help(&self, kind: &Kind) -> Vec<String> {
        let reading = &self.engine.reading;
        let mut lines = vec![reading.label(&kind.protocol, "").to_owned()];
        if let Some(measure) = self.next(kind).filter(|_| !self.draft.recorded_here) {
            let about = reading.label(&measure.about, "");
            if !about.is_empty() {
                lines.push(format!("{}: {about}", reading.label(&measure.label, &measure.name)));
            }
            if measure.result == ResultType::Choice {
                let codes = self.engine.kinds.codes(measure).into_iter();
                let told =
                    codes.map(|(code, _)| match code_label(&self.engine.kinds, measure, code, &reading.language) {
                        label if label == code => label,
                        label => format!("{code} ({label})"),
                    });
                lines.push(told.collect::<Vec<_>>().join(", "));
            }
        }
        lines.push(reading.word(Phrase::SittingWords).to_owned());
        lines
    }

    /// Goes to another kind of the plan; answers of this one that were not recorded are given up.
    fn go(&mut self, at: usize) -> Result<Vec<String>> {
        self.draft.at = at;
        if at >= self.draft.plan.len() {
            return self.finish();
        }
        let usual = self.usual();
        self.draft.begin(usual);
        self.write()?;
        Ok(Vec::new())
    }

    fn back(&mut self) -> Result<Vec<String>> {
        match self.draft.answers.pop() {
            Some((measure, text)) => {
                if let Some(text) = text {
                    self.draft.offered.insert(measure, text);
                }
                self.write()?;
                Ok(Vec::new())
            }
            None if self.draft.at > 0 => self.go(self.draft.at - 1),
            None => {
                let reading = &self.engine.reading;
                let (what, hint) = (Phrase::FirstQuestion, Phrase::AnswerSkipOrQuit);
                Err(EngineError::user(reading.word(what), reading.word(hint)))
            }
        }
    }

    fn finish(&mut self) -> Result<Vec<String>> {
        if !self.engine.journal.replace_draft(&self.name, None, |kept| self.is_ours(kept))? {
            return Err(self.taken());
        }
        self.draft.at = self.draft.plan.len();
        self.over = true;
        Ok(Vec::new())
    }

    /// Returns what the field offers the kind that is asked for.
    fn usual(&self) -> BTreeMap<String, String> {
        let Some(kind) = self.kind() else { return BTreeMap::new() };
        usual_row_width(kind, &self.field, &[])
            .into_iter()
            .filter_map(|(name, measured)| {
                let measure = kind.measure(&name)?;
                let ligule_observation::record::Value::Int(n) = measured.value else { return None };
                let unit = measure.unit.as_deref().and_then(ligule_units::Unit::by_ucum)?;
                Some((name, ligule_units::format_fixed(n, unit, measure.scale, self.engine.reading.system)))
            })
            .collect()
    }

    /// Returns when the observation was made: as the visit was told, else when its first answer of that day was given. When
    /// spraying ended is not asked for, so that an application of the day itself is dated by its day alone.
    fn observed(&self, kind: &Kind) -> Result<jiff::Timestamp> {
        let at = self.draft.told_at.or(self.draft.since).unwrap_or_else(now);
        let day = at.to_zoned_datetime(moment::zone(&self.field.zone)?).date();
        let named =
            self.draft.answers.iter().any(|(_, text)| text.as_ref().is_some_and(|text| *text == day.to_string()));
        if kind.kind != APPLICATION || !named {
            return Ok(at);
        }
        moment::start_of(day, &self.field.zone)
    }

    /// Records the observation and goes on; where it is not whole, says why and asks again, with the answers offered.
    fn record(&mut self, kind: &Kind) -> Result<Vec<String>> {
        if !self.draft.says_something() {
            return self.go(self.draft.at + 1);
        }
        match self.entry_read(kind)? {
            Ok(read) => self.keep(kind, &read),
            Err(faults) => {
                for (name, text) in std::mem::take(&mut self.draft.answers) {
                    if let Some(text) = text {
                        self.draft.offered.insert(name, text);
                    }
                }
                self.write()?;
                let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
                Err(EngineError::user(said.join("; "), self.engine.reading.word(Phrase::OfferedAgain)))
            }
        }
    }

    /// Reads the answers together; returns all that is wrong with them where they are not whole.
    fn entry_read(&self, kind: &Kind) -> Result<std::result::Result<Read, Vec<EngineError>>> {
        let values: Vec<(String, String)> =
            self.draft.answers.iter().filter_map(|(name, text)| Some((name.clone(), text.clone()?))).collect();
        let entry = Entry {
            kind: kind.kind.clone(),
            field: self.field.id.clone(),
            values,
            at: Some(self.observed(kind)?.to_string()),
            place: self.draft.place.clone(),
            by: Some(self.by.clone()),
            ..Entry::default()
        };
        let fields = self.engine.journal.all_fields()?;
        Ok(self.engine.read_entry(&entry, &fields, &mut HashMap::new(), false))
    }

    /// Records the observation, in one transaction with the draft that comes after it.
    fn keep(&mut self, kind: &Kind, read: &Read) -> Result<Vec<String>> {
        let same =
            |visit: &&OpenVisit| visit.day == read.moment.day && visit.offset_minutes == read.moment.offset_minutes;
        let visit = match self.draft.visit.as_ref().filter(same) {
            Some(visit) => visit.clone(),
            None => OpenVisit {
                id: new_visit(read.moment.at)?,
                at: read.moment.at,
                offset_minutes: read.moment.offset_minutes,
                day: read.moment.day,
            },
        };
        let new = NewObservation {
            visit: Visit {
                id: visit.id.clone(),
                by: self.by.clone(),
                at: visit.at,
                offset_minutes: visit.offset_minutes,
                place: None,
            },
            kind: read.kind.clone(),
            version: read.version,
            values: read.values.clone(),
            at: (read.moment.at != visit.at).then_some(read.moment.at),
            place: read.place,
            number: None,
        };
        let document = self.engine.document(Feature::Field(read.field.id.clone()), read.moment.day.year().into());
        let crop = match planted(read) {
            None if self.engine.journal.document(document.id())?.is_none() => {
                Some(read.field.crop.clone()).filter(|crop| !crop.is_empty())
            }
            crop => crop,
        };
        let mut next = self.draft.clone();
        let layout = next.layout(kind);
        next.begin(layout);
        next.recorded_here = true;
        let with = |key: &str| {
            let id = key.split('-').next().unwrap_or(key).to_owned();
            let mut next = next.clone();
            next.visit = Some(OpenVisit { id, ..visit.clone() });
            next.recorded.push(key.to_owned());
            next
        };
        let bytes = |key: &str| serde_json::to_vec(&with(key)).expect("a draft is plain data");
        let drafted = Drafted { name: &self.name, document: &document, crop: crop.as_deref(), new: &new };
        let key: ObservationKey =
            match self.engine.journal.record_drafted(&drafted, |kept| self.is_ours(kept), bytes, now()) {
                Err(JournalError::DraftTaken { .. }) => return Err(self.taken()),
                other => other?,
            };
        self.draft = with(&key);
        let reading = &self.engine.reading;
        let mut said = vec![reading.say(Phrase::Recorded, &[("key", &key), ("what", &read.understood)])];
        if let Some(amounts) = self.engine.amounts(read, &key, true)? {
            let mut lines: Vec<&str> = amounts.lines().map(str::trim_start).collect();
            if kind.kind == APPLICATION {
                lines.retain(|line| !self.kept_out.iter().any(|told| told == line));
                self.kept_out.extend(lines.iter().map(|&line| line.to_owned()));
            }
            said.extend(lines.iter().map(|line| format!("  {line}")));
        }
        said.extend(self.engine.samples_wanting(read)?.map(|wanting| format!("  {wanting}")));
        said.extend(read.notes.iter().filter(|note| !self.notes.contains(note)).map(|note| format!("  {note}")));
        if matches!(kind.kind.as_str(), plan::STAGE | plan::PLANTING) && !self.draft.chosen {
            said.extend(self.plan_anew(read.moment.day)?);
        }
        Ok(said)
    }

    /// Asks for what the stage that was just recorded asks for; what was asked for already is not asked for again.
    fn plan_anew(&mut self, day: Date) -> Result<Vec<String>> {
        let asked = self.draft.plan[..=self.draft.at].to_vec();
        let all = self.engine.plan_of(&self.field, day)?;
        let dropped: Vec<String> = self.draft.plan[self.draft.at + 1..]
            .iter()
            .filter(|kind| !all.contains(kind))
            .map(|kind| self.called(kind).to_owned())
            .collect();
        let rest: Vec<String> = all.into_iter().filter(|kind| !asked.contains(kind)).collect();
        self.draft.plan = [asked, rest].concat();
        self.write()?;
        let told = self.engine.reading.say(Phrase::NotAskedNow, &[("kinds", &dropped.join(", "))]);
        Ok(if dropped.is_empty() { Vec::new() } else { vec![format!("  {told}")] })
    }

    /// Keeps the draft, unless another process has taken the visit over.
    fn write(&self) -> Result<()> {
        if self.put(|kept| self.is_ours(kept))? { Ok(()) } else { Err(self.taken()) }
    }

    /// Keeps the draft where what is kept now is as it should be; tells whether it was.
    fn put(&self, ours: impl FnOnce(Option<&[u8]>) -> bool) -> Result<bool> {
        let bytes = serde_json::to_vec(&self.draft)?;
        Ok(self.engine.journal.replace_draft(&self.name, Some(&bytes), ours)?)
    }

    /// Tells whether a draft is the one that this process keeps.
    fn is_ours(&self, kept: Option<&[u8]>) -> bool {
        held_by(kept, &self.draft.holder)
    }

    /// Says that another process has taken the visit over.
    fn taken(&self) -> EngineError {
        let reading = &self.engine.reading;
        let what = reading.say(Phrase::VisitElsewhere, &[("field", &self.field.name)]);
        EngineError::user(what, reading.word(Phrase::GoOnThere))
    }
}

/// Tells whether a draft is kept by that process.
fn held_by(kept: Option<&[u8]>, holder: &str) -> bool {
    let kept = kept.and_then(|bytes| serde_json::from_slice::<Draft>(bytes).ok());
    kept.is_some_and(|draft| draft.holder == holder)
}

/// How many codes are listed beside a question; `help` lists all.
const FEW_CODES: usize = 8;

fn new_visit(at: jiff::Timestamp) -> Result<String> {
    Ok(ulid::Ulid::from_parts(at.as_millisecond().unsigned_abs(), u128::from_be_bytes(random()?)).to_string())
}
