//! A visit in one sitting: questions in the order of the protocol, one answer a line.
//!
//! Every answer is on the disk before it is echoed. The kinds' own files say what is asked; [`plan`] says in which order.
//! An observation is recorded with the change of the draft in one transaction, so that a program that is ended at any
//! moment has recorded it once or still asks for it.

mod draft;
mod plan;
mod words;

use std::collections::{BTreeMap, HashMap};

use jiff::civil::Date;
use ligule_journal::Filter;
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::field::Field;
use ligule_observation::ids::{Feature, ObservationKey, hex};
use ligule_observation::kind::{Kind, Measure, ResultType};

use crate::entry::read_value;
use crate::error::{EngineError, Fault, Result};
use crate::number::{counted, decimal};
use crate::reading::code_label;
use crate::recording::{Entry, planted, usual_row_width, values_text};
use crate::{Engine, assess, moment, now, random};
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
    /// `kinds` are asked for instead of what crop and stage ask for, where there are any. `anew` begins a new one: what
    /// was recorded on the old one stays, an observation of it that was not whole is given up.
    ///
    /// # Errors
    /// No such field, no such kind.
    pub fn sit(&self, field: &str, by: Option<&str>, kinds: &[String], anew: bool) -> Result<Sitting<'_>> {
        let field = self.field(field)?;
        let by = by.map_or_else(|| self.journal.identity().person, |by| by.trim().to_owned());
        if by.is_empty() {
            return Err(EngineError::user("`--by` names nobody", "give the name of who observes"));
        }
        for kind in kinds {
            if self.kind(kind)?.feature == "weather" {
                return Err(EngineError::user(
                    format!("`{kind}` is observed at a station"),
                    "use `ligule import weather`",
                ));
            }
        }
        let name = format!("visit of {} by {by}", field.id);
        let today = now().to_zoned_datetime(moment::zone(&field.zone)?).date();
        let kept = self.journal.draft(&name)?.filter(|_| !anew);
        let kept = kept.and_then(|bytes| serde_json::from_slice::<Draft>(&bytes).ok());
        if let Some(draft) = kept.as_ref().filter(|draft| !kinds.is_empty() && draft.plan != kinds)
            && !draft.answers.is_empty()
        {
            return Err(EngineError::user(
                format!("on {} an observation is not whole yet that was begun on another visit", field.name),
                "go on with it without naming kinds, or give it up with `--new`",
            ));
        }
        // What another program kept, or asks for a kind that is gone, cannot be gone on with; what was recorded is recorded.
        let kept = kept.filter(|draft| {
            draft.version == draft::VERSION
                && draft.plan.iter().all(|kind| self.kinds.get(kind).is_some())
                && (kinds.is_empty() || draft.plan == kinds)
                // Of an earlier day only an observation that is not whole is gone on with.
                && (!draft.answers.is_empty() || (draft.day == today && !draft.recorded.is_empty()))
        });
        let holder = hex(&random::<8>()?);
        let resumed = kept.is_some();
        let draft = match kept {
            Some(draft) => Draft { holder, ..draft },
            None => Draft {
                version: draft::VERSION,
                holder,
                begun: now(),
                day: today,
                visit: None,
                plan: if kinds.is_empty() { self.plan_of(&field, today)? } else { kinds.to_vec() },
                at: 0,
                chosen: !kinds.is_empty(),
                since: None,
                answers: Vec::new(),
                offered: BTreeMap::new(),
                recorded_here: false,
                recorded: Vec::new(),
            },
        };
        let mut sitting = Sitting { engine: self, field, by, draft, name, resumed, over: false };
        if !resumed {
            sitting.draft.begin(sitting.usual());
        }
        sitting.over = sitting.draft.at >= sitting.draft.plan.len();
        sitting.keep()?;
        Ok(sitting)
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
    /// Says where it begins: what is asked for, or where it goes on.
    pub fn greeting(&self) -> String {
        let spanish = self.spanish();
        let field = &self.field.name;
        if self.resumed {
            let zone = moment::zone(&self.field.zone).unwrap_or(jiff::tz::TimeZone::UTC);
            let begun = self.draft.begun.to_zoned_datetime(zone).strftime("%Y-%m-%d %H:%M");
            let n = self.draft.recorded.len();
            return if spanish {
                format!("sigue la visita de {field} del {begun}, {n} anotadas; `--new` empieza otra")
            } else {
                format!("going on with the visit of {field} of {begun}, {n} recorded; `--new` begins another")
            };
        }
        let kinds: Vec<&str> = self.draft.plan.iter().map(|kind| self.called(kind)).collect();
        let kinds = kinds.join(", ");
        if spanish {
            format!("visita de {field}: {kinds}; `ayuda` explica, `salir` interrumpe y guarda todo")
        } else {
            format!("visit of {field}: {kinds}; `help` explains, `quit` stops and keeps everything")
        }
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
            let text = match (next, self.spanish()) {
                (Some(next), false) => format!("`again` for another {}, or Enter for {next}", self.called(&kind.kind)),
                (None, false) => format!("`again` for another {}, or Enter to finish", self.called(&kind.kind)),
                (Some(next), true) => format!("`otra` para otra muestra, o Entrar para {next}"),
                (None, true) => "`otra` para otra muestra, o Entrar para terminar".to_owned(),
            };
            return Some(Asked { heading: None, text });
        }
        let measure = self.draft.next(kind)?;
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
        match word {
            Some(Word::Help) => return Ok(self.help(&kind)),
            Some(Word::Quit) => {
                self.over = true;
                return Ok(Vec::new());
            }
            Some(Word::Finish) => return self.finish(),
            _ => {}
        }
        if let Some(at) = self.named(line) {
            return self.go(at);
        }
        if self.draft.recorded_here {
            return match word {
                Some(Word::Again) => {
                    let usual = std::mem::take(&mut self.draft.offered);
                    self.draft.begin(usual);
                    self.write()?;
                    Ok(Vec::new())
                }
                None if !line.is_empty() => Err(EngineError::user(
                    format!("expected `again` or Enter, got `{line}`"),
                    "to correct what was recorded use `ligule amend`",
                )),
                _ => self.go(self.draft.at + 1),
            };
        }
        let Some(measure) = self.draft.next(&kind).cloned() else { return self.record(&kind) };
        match word {
            Some(Word::Skip) => return self.go(self.draft.at + 1),
            Some(Word::Done) => return self.record(&kind),
            Some(Word::Back) => return self.back(),
            Some(Word::Again) => {
                return Err(EngineError::user("there is no sample yet of which to take another", "answer, or `skip`"));
            }
            _ => {}
        }
        let text = match (word, line.strip_prefix('=').unwrap_or(line)) {
            (Some(Word::Leave), _) => None,
            (_, "") => self.draft.offered.get(&measure.name).cloned(),
            (_, text) => Some(text.to_owned()),
        };
        let mut said = Vec::new();
        if let Some(text) = &text {
            let zone = moment::zone(&self.field.zone)?;
            let today = now().to_zoned_datetime(zone).date();
            let measured = read_value(&self.engine.kinds, &kind, &measure, text, today)?;
            let values = BTreeMap::from([(measure.name.clone(), measured)]);
            said.push(format!("  {}", values_text(&self.engine.kinds, &kind, &values, &self.engine.reading)));
            self.draft.since.get_or_insert_with(now);
        }
        self.draft.answers.push((measure.name.clone(), text));
        if self.draft.next(&kind).is_none() {
            // Nothing is left to ask; what is not whole is told, and asked for again.
            said.extend(self.record(&kind)?);
        } else {
            self.write()?;
        }
        Ok(said)
    }

    /// Tells whether it is still this process that goes on with the visit.
    pub fn is_held(&self) -> bool {
        self.over || self.still_ours().is_ok()
    }

    /// Says how it ended.
    pub fn farewell(&self) -> String {
        let n = self.draft.recorded.len();
        let unfinished = self.draft.at < self.draft.plan.len() && (n > 0 || !self.draft.answers.is_empty());
        let recorded = counted(n, "observation is", "observations are");
        let field = &self.field.name;
        match (unfinished, self.spanish()) {
            (true, false) => {
                format!("{recorded} recorded on {field}; `ligule visit {field}` goes on where you stopped")
            }
            (false, false) => format!("{recorded} recorded on {field}"),
            (true, true) => format!("{n} anotadas en {field}; `ligule visit {field}` sigue donde quedó"),
            (false, true) => format!("{n} anotadas en {field}"),
        }
    }

    fn spanish(&self) -> bool {
        self.engine.reading.language == "es"
    }

    fn kind(&self) -> Option<&Kind> {
        self.engine.kinds.get(self.draft.plan.get(self.draft.at)?)
    }

    fn called<'k>(&'k self, kind: &'k str) -> &'k str {
        self.engine.reading.kind(self.engine.kinds.get(kind), kind)
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
        let symbol = measure.unit.as_deref().and_then(ligule_units::Unit::by_ucum).map_or("", |unit| unit.symbol);
        match (measure.result, measure.range) {
            (ResultType::Quantity | ResultType::Count | ResultType::List, Some([low, high])) => {
                let dash = if self.spanish() { "a" } else { "to" };
                text.push_str(&format!(
                    " ({}",
                    format!("{low} {dash} {high} {}", symbol.trim_start_matches('1')).trim()
                ));
                text.push(')');
            }
            (ResultType::Choice, _) => {
                let codes: Vec<&str> = self.engine.kinds.codes(measure).into_iter().map(|(code, _)| code).collect();
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

    fn help(&self, kind: &Kind) -> Vec<String> {
        let reading = &self.engine.reading;
        let mut lines = vec![reading.label(&kind.protocol, "").to_owned()];
        if let Some(measure) = self.draft.next(kind).filter(|_| !self.draft.recorded_here) {
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
        lines.push(words::explained(&reading.language).to_owned());
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
            None => Err(EngineError::user("this is the first question", "answer it, `skip` the kind, or `quit`")),
        }
    }

    fn finish(&mut self) -> Result<Vec<String>> {
        self.engine.journal.forget_draft(&self.name)?;
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
                Some((name, format!("{} {}", decimal(n, measure.scale), unit.symbol)))
            })
            .collect()
    }

    /// Records the observation and goes on; where it is not whole, says why and asks again, with the answers offered.
    fn record(&mut self, kind: &Kind) -> Result<Vec<String>> {
        if !self.draft.says_something() {
            return self.go(self.draft.at + 1);
        }
        let values: Vec<(String, String)> =
            self.draft.answers.iter().filter_map(|(name, text)| Some((name.clone(), text.clone()?))).collect();
        let entry = Entry {
            kind: kind.kind.clone(),
            field: self.field.id.clone(),
            values,
            at: Some(self.draft.since.unwrap_or_else(now).to_string()),
            by: Some(self.by.clone()),
            ..Entry::default()
        };
        let fields = self.engine.journal.all_fields()?;
        let read = match self.engine.read_entry(&entry, &fields, &mut HashMap::new(), false) {
            Ok(read) => read,
            Err(faults) => {
                for (name, text) in std::mem::take(&mut self.draft.answers) {
                    if let Some(text) = text {
                        self.draft.offered.insert(name, text);
                    }
                }
                self.write()?;
                let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
                return Err(EngineError::user(said.join("; "), "the answers are offered again; `skip` gives them up"));
            }
        };
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
        let crop = match planted(&read) {
            None if self.engine.journal.document(document.id())?.is_none() => {
                Some(read.field.crop.clone()).filter(|crop| !crop.is_empty())
            }
            crop => crop,
        };
        self.still_ours()?;
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
        let key: ObservationKey =
            self.engine.journal.record_drafted(&document, crop.as_deref(), &new, &self.name, bytes, now())?;
        self.draft = with(&key);
        let word = if self.spanish() { "anotada" } else { "recorded" };
        let mut said = vec![format!("{word} {key}: {}", read.understood)];
        if let Some(amounts) = self.engine.amounts(&read, &key)? {
            said.push(format!("  {amounts}"));
        }
        said.extend(self.engine.samples_wanting(&read)?.map(|wanting| format!("  {wanting}")));
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
        Ok(match (dropped.is_empty(), self.spanish()) {
            (true, _) => Vec::new(),
            (false, false) => vec![format!("  not asked for at this stage: {}", dropped.join(", "))],
            (false, true) => vec![format!("  no se pide en esta etapa: {}", dropped.join(", "))],
        })
    }

    /// Keeps the draft, unless another process has taken the visit over.
    fn write(&self) -> Result<()> {
        self.still_ours()?;
        self.keep()
    }

    fn keep(&self) -> Result<()> {
        let bytes = serde_json::to_vec(&self.draft)?;
        Ok(self.engine.journal.keep_draft(&self.name, &bytes)?)
    }

    /// Refuses to record where another process has taken the visit over.
    fn still_ours(&self) -> Result<()> {
        let kept = self.engine.journal.draft(&self.name)?;
        let kept = kept.and_then(|bytes| serde_json::from_slice::<Draft>(&bytes).ok());
        match kept {
            Some(draft) if draft.holder == self.draft.holder => Ok(()),
            _ => Err(EngineError::new(
                Fault::User,
                format!("the visit of {} goes on elsewhere; nothing was recorded here", self.field.name),
                "go on where it was taken over, or start `ligule visit` again",
            )),
        }
    }
}

/// How many codes are listed beside a question; `help` lists all.
const FEW_CODES: usize = 8;

fn new_visit(at: jiff::Timestamp) -> Result<String> {
    Ok(ulid::Ulid::from_parts(at.as_millisecond().unsigned_abs(), u128::from_be_bytes(random()?)).to_string())
}
