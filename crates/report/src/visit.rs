//! The visit report: what goes in, and the page that comes out.

mod cautions;
mod findings;
mod reasons;
mod sections;

use askama::Template;
use jiff::{Timestamp, civil::Date};
use ligule_engine::Reading;
use ligule_engine::assess::{FieldAssessment, Finding};

use crate::{
    ReportError, plot,
    sources::{Line, Sources},
    text,
};
use findings::{Advices, Tally};
use sections::Section;

/// Languages that the page is written in, by ISO 639-1 code.
pub const LANGUAGES: [&str; 1] = ["en"];

/// What people call the field.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FieldFacts {
    /// The field's name.
    pub name: String,
    /// Whatever else is known of it, a name and a value each, in the order to be shown: farm, county, area, soil.
    pub facts: Vec<(String, String)>,
}

/// A measure that waits for a person: with different values, or with one that does not go with another measure's.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenConflict {
    /// The observation's key.
    pub observation: String,
    /// What was measured, as people read it.
    pub measure: String,
    /// Every value.
    pub candidates: Vec<Candidate>,
    /// Why it does not go with another measure; empty where several values wait.
    pub why: String,
}

/// One of the values.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The value with its unit, as people read it.
    pub value: String,
    /// The person who wrote it.
    pub by: String,
    /// When, as people read it.
    pub at: String,
}

/// All that goes into a visit report.
#[derive(Debug, Clone)]
pub struct VisitReport<'a> {
    /// What people call the field.
    pub field: &'a FieldFacts,
    /// What the records say.
    pub assessment: &'a FieldAssessment,
    /// What the rule packs say.
    pub findings: &'a [Finding],
    /// What waits for a decision.
    pub conflicts: &'a [OpenConflict],
    /// When the page is made.
    pub generated_at: Timestamp,
    /// The day it speaks of.
    pub as_of: Date,
    /// The language, one of [`LANGUAGES`].
    pub language: &'a str,
    /// In which units quantities are told.
    pub reading: &'a Reading,
}

#[derive(Template)]
#[template(path = "visit.html")]
struct Page<'a> {
    language: &'a str,
    title: String,
    subtitle: String,
    facts: Vec<(&'a str, &'a str)>,
    glance: Vec<Glance>,
    keep_out: Vec<String>,
    keep_out_notes: &'a [String],
    tally: Vec<Tally>,
    advice: Advices,
    conflicts: &'a [OpenConflict],
    sections: Vec<Section>,
    sources: Vec<Line>,
    closing: &'static str,
    made: String,
}

/// One number at the head of the page.
struct Glance {
    what: &'static str,
    value: String,
    more: String,
}

/// Said at the foot of every page.
const CLOSING: &str = "These numbers help a person decide; they decide nothing. Where a pesticide is concerned the label is the law, \
                       and local codes and licensed practice decide.";

/// Returns the page: one HTML file that needs nothing beside it.
///
/// Texts from records and rule packs are escaped. The same input gives the same page.
///
/// # Errors
/// [`ReportError::UnknownLanguage`], or a plot or the template failed.
pub fn visit_report(report: &VisitReport<'_>) -> Result<String, ReportError> {
    if !LANGUAGES.contains(&report.language) {
        return Err(ReportError::UnknownLanguage {
            got: report.language.to_owned(),
            known: LANGUAGES.map(|l| format!("`{l}`")).join(", "),
        });
    }
    let assessment = report.assessment;
    let mut sources = Sources::default();
    let mut sections = sections::all(assessment, report.reading, &mut sources);
    let advice = findings::all(report.findings, &mut sources);
    for section in &mut sections {
        section.plot = match section.plotted {
            Some(sections::Plotted::Stand) => match &assessment.stand {
                Some(stand) => plot::stand(stand, assessment.planting.as_ref(), report.reading)?,
                None => String::new(),
            },
            Some(sections::Plotted::Heat) => match &assessment.degree_days {
                Some(heat) => plot::heat(heat, assessment.stage.as_ref(), report.reading)?,
                None => String::new(),
            },
            None => String::new(),
        };
    }
    let crop = if assessment.crop.is_empty() { "crop not recorded" } else { &assessment.crop };
    let page = Page {
        language: report.language,
        title: format!("Field visit: {}", report.field.name),
        subtitle: format!("{} · {crop} · season {}", text::day(report.as_of), assessment.season),
        facts: report.field.facts.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect(),
        glance: glance(assessment, report.reading),
        keep_out: assessment.reentry.as_ref().map(|r| r.lines(report.reading)).unwrap_or_default(),
        keep_out_notes: assessment.reentry.as_ref().map_or(&[], |reentry| reentry.cautions.as_slice()),
        tally: findings::tally(report.findings),
        advice,
        conflicts: report.conflicts,
        sections,
        sources: sources.lines(),
        closing: CLOSING,
        made: format!(
            "Made {} UTC from the records named on this page.",
            report.generated_at.strftime("%-d %B %Y, %H:%M")
        ),
    };
    Ok(page.render()?)
}

fn glance(assessment: &FieldAssessment, reading: &Reading) -> Vec<Glance> {
    let mut cells = Vec::new();
    if let Some(planting) = &assessment.planting {
        cells.push(Glance {
            what: "Planted",
            value: text::short_day(planting.day),
            more: format!("{} ago", text::counted(planting.days_ago.max(0) as usize, "day", "days")),
        });
    }
    if let Some(stand) = &assessment.stand {
        let more = match stand.share_of_seeds_percent {
            Some(share) => format!("plants per {}, {share:.0} % of the seeds", reading.area_word()),
            None => format!("plants per {}", reading.area_word()),
        };
        cells.push(Glance { what: "Stand", value: reading.bare_per_acre(stand.plants_per_acre), more });
    }
    if let Some(stage) = &assessment.stage {
        let more = format!("plants from {} to {}", stage.spread.0, stage.spread.1);
        cells.push(Glance { what: "Stage", value: stage.field_stage.clone(), more });
    }
    if let Some(heat) = &assessment.degree_days {
        let (total, unit) = reading.converted(heat.total_f, "5.K.d/9");
        let scale = unit.trim_end_matches("·d");
        let more = format!("degree days ({scale}), to {}", text::short_day(heat.to));
        cells.push(Glance { what: "Heat since planting", value: text::whole(total), more });
    }
    if let Some(depth) = &assessment.seed_depth {
        let more =
            depth.target_in.map_or("deep".to_owned(), |t| format!("deep, {} intended", reading.inches(t, Some(2))));
        cells.push(Glance { what: "Seed", value: reading.inches(depth.mean_in, Some(2)), more });
    }
    cells
}
