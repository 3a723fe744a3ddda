//! What is told of one field on one day: the assessment, the advice, and both for a report.

use std::collections::BTreeMap;
use std::path::Path;

use jiff::Timestamp;
use jiff::civil::Date;
use ligule_journal::Filter;
use ligule_observation::field::Field;
use ligule_observation::ids::Feature;
use ligule_observation::kind::Kind;

use crate::advise::{self, Advice, Question};
use crate::assess::{self, FieldAssessment};
use crate::error::{EngineError, Fault, Result};
use crate::recording::ConflictLine;
use crate::{Engine, moment, now};

/// A measure with differing values.
pub type OpenConflict = ConflictLine;

/// All that a visit report tells.
#[derive(Debug, Clone)]
pub struct Visit {
    /// The field's name.
    pub field: String,
    /// Whatever else is known of the field, a name and a value each.
    pub facts: Vec<(String, String)>,
    /// What the records say.
    pub assessment: FieldAssessment,
    /// What the rule packs say.
    pub findings: Vec<ligule_advice::Finding>,
    /// What waits for a person.
    pub conflicts: Vec<OpenConflict>,
    /// When this is said.
    pub generated_at: Timestamp,
    /// The day it speaks of.
    pub as_of: Date,
}

impl Engine {
    /// Works out what the records of a field say on a day; today where none is named.
    pub fn assess(&self, field: &str, as_of: Option<Date>) -> Result<FieldAssessment> {
        let field = self.field(field)?;
        let day = day(&field, as_of)?;
        self.assess_field(&field, day)
    }

    fn assess_field(&self, field: &Field, day: Date) -> Result<FieldAssessment> {
        let season = i32::from(day.year());
        let records = self.season(field, season)?;
        let reentry = self.reentry_on(field, Some(day))?;
        if records.is_empty() && reentry.is_none() {
            return Err(EngineError::user(
                format!("nothing is recorded of {} in {season}", field.name),
                "record something, sync with the crew, or name another day with `--as-of`",
            ));
        }
        let weather = self.weather_for(field, season)?;
        let assessed = assess::assess_for(&self.reading, &records, &self.kinds, &field.crop, weather.as_ref(), day);
        Ok(FieldAssessment { reentry, ..assessed })
    }

    fn season(&self, field: &Field, season: i32) -> Result<Vec<ligule_observation::record::Record>> {
        Ok(self.journal.records(&Filter {
            feature: Some(Feature::Field(field.id.clone())),
            season: Some(season),
            ..Filter::default()
        })?)
    }

    /// Runs the rule packs on one field, or on every field that has records in the season.
    ///
    /// `settings` are particulars of the question, by the keys that packs list.
    pub fn advise(
        &self,
        field: Option<&str>,
        as_of: Option<Date>,
        folder: Option<&Path>,
        settings: &BTreeMap<String, String>,
    ) -> Result<Advice> {
        let fields = match field {
            Some(name) => vec![self.field(name)?],
            None => self.journal.fields()?.into_iter().filter(|field| !field.retired).collect(),
        };
        let mut questions = Vec::new();
        for one in &fields {
            let day = day(one, as_of)?;
            let season = i32::from(day.year());
            let records = self.season(one, season)?;
            // Where nothing is recorded but a part has what was sprayed on the whole, that is told.
            if records.is_empty() && field.is_none() && self.reentry_on(one, Some(day))?.is_none() {
                continue;
            }
            let crop = assess::season_crop(&records, &one.crop, day);
            questions.push(Question {
                field: one.name.clone(),
                region: one.region.clone(),
                crop,
                season,
                as_of: day,
                records,
                settings: settings.clone(),
            });
        }
        if questions.is_empty() {
            return Err(EngineError::user(
                "no field has records in that season",
                "name a day of another season with `--as-of`",
            ));
        }
        let kinds: Vec<Kind> = self.kinds.iter().cloned().collect();
        let cache = Some(self.folder.join("compiled-packs"));
        let mut advice = advise::advise(&advise::load_packs(folder)?, &questions, &kinds, cache)?;
        for one in &mut advice.fields {
            if let Some(field) = fields.iter().find(|field| field.name == one.field) {
                one.reentry = self.reentry_on(field, Some(one.as_of))?;
            }
        }
        Ok(advice)
    }

    /// Gathers what a visit report of a field tells.
    pub fn visit_report(&self, field: &str, as_of: Option<Date>, folder: Option<&Path>) -> Result<Visit> {
        let field = self.field(field)?;
        let day = day(&field, as_of)?;
        let assessment = self.assess_field(&field, day)?;
        let advice = self.advise(Some(&field.name), Some(day), folder, &BTreeMap::new())?;
        if let Some(failure) = advice.not_evaluated.first() {
            return Err(EngineError::new(
                Fault::Pack,
                format!("a rule pack was not evaluated: {failure}"),
                "a report without it would be silent where it should not be",
            ));
        }
        let mut facts = vec![("Grower".to_owned(), field.grower.clone()), ("Region".to_owned(), field.region.clone())];
        if let Some(area) = field.area_m2 {
            let acres = ligule_units::Area::from_square_metres(area as f64).acres();
            facts.push(("Area".to_owned(), format!("{acres:.0} ac ({:.1} ha)", area as f64 / 10_000.0)));
        }
        facts.retain(|(_, value)| !value.is_empty());
        let conflicts = self.conflicts()?.into_iter().filter(|conflict| conflict.field == field.name).collect();
        let findings = advice.fields.into_iter().flat_map(|one| one.findings).collect();
        Ok(Visit { field: field.name, facts, assessment, findings, conflicts, generated_at: now(), as_of: day })
    }
}

/// Returns the day asked for, or today at the field.
fn day(field: &Field, as_of: Option<Date>) -> Result<Date> {
    match as_of {
        Some(day) => Ok(day),
        None => Ok(now().to_zoned_datetime(moment::zone(&field.zone)?).date()),
    }
}
