use ligule_engine::{EngineError, Fault, Result};
use ligule_report::{Candidate, FieldFacts, OpenConflict, VisitReport};

use crate::args::{Global, Report};
use crate::progress::Progress;

/// Writes a field's visit report.
pub(crate) fn run(global: &Global, args: &Report) -> Result<()> {
    // The page is in English, whatever the crew reads; its units are the crew's.
    let engine = crate::open(global)?.read_in(None, Some("en"))?;
    ligule_engine::may_replace(&args.out, ligule_report::MARK.as_bytes(), "report")?;
    let progress = Progress::start("writing the report");
    let visit = engine.visit_report(&args.field, args.day.as_of, args.packs.packs.as_deref())?;
    let conflicts: Vec<OpenConflict> = visit
        .conflicts
        .iter()
        .map(|conflict| OpenConflict {
            observation: conflict.observation.clone(),
            measure: format!("{} {}", conflict.kind, conflict.measure),
            candidates: conflict
                .candidates
                .iter()
                .map(|one| Candidate { value: one.value.clone(), by: one.by.clone(), at: one.at.clone() })
                .collect(),
            why: conflict.why_read.clone(),
        })
        .collect();
    let page = ligule_report::visit_report(&VisitReport {
        field: &FieldFacts { name: visit.field.clone(), facts: visit.facts.clone() },
        assessment: &visit.assessment,
        findings: &visit.findings,
        conflicts: &conflicts,
        generated_at: visit.generated_at,
        as_of: visit.as_of,
        language: "en",
        reading: engine.reading(),
    })
    .map_err(|error| EngineError::new(Fault::System, error.to_string(), "please report this as an error"))?;
    ligule_engine::write_file(&args.out, page.as_bytes())?;
    drop(progress);
    say!("report written to {}", args.out.display());
    Ok(())
}
