use std::io::{self, BufRead, Write};

use ligule_engine::{EngineError, Fault, Result, Sitting};
use serde_json::json;

use crate::args::{Format, Global};
use crate::listing::{Listing, printable};
use crate::visit_args::{VisitArgs, VisitCommand, VisitList, VisitMove, VisitShow, VisitStart};

/// Asks for a visit, or lists, shows and moves visits.
pub(crate) fn run(global: &Global, args: &VisitArgs) -> Result<()> {
    match &args.command {
        None => sit(global, &args.start),
        Some(VisitCommand::Start(start)) => sit(global, start),
        Some(VisitCommand::List(args)) => list(global, args),
        Some(VisitCommand::Show(args)) => show(global, args),
        Some(VisitCommand::Move(args)) => put(global, args),
    }
}

/// Asks until the visit is over, or the answers are.
fn sit(global: &Global, args: &VisitStart) -> Result<()> {
    let Some(field) = &args.field else {
        return Err(EngineError::user("which field is visited?", "name it, as in `ligule visit north-40`"));
    };
    let engine = crate::open(global)?;
    super::reentry::show(&engine, field, Format::Text)?;
    let mut sitting = engine.sit(field, args.by.as_deref(), &args.kinds, args.new)?;
    say!("{}", sitting.greeting());
    let mut answers = io::stdin().lock();
    // A heading stands once over its kind, however often the first question is asked.
    let mut headed: Option<String> = None;
    while let Some(asked) = sitting.asked() {
        if let Some(heading) = asked.heading.filter(|heading| headed.as_ref() != Some(heading)) {
            say!("\n{heading}");
            headed = Some(heading);
        }
        put!("{}: ", asked.text);
        io::stdout().flush()?;
        let mut line = String::new();
        if answers.read_line(&mut line).map_err(unread)? == 0 {
            say!();
            break;
        }
        match sitting.answer(&line) {
            Ok(said) => tell(&said)?,
            // What was refused is asked for again; a journal that cannot be written ends the visit.
            Err(error) if error.fault == Fault::User && !is_lost(&sitting) => {
                let hint = error.hint.as_ref().map_or(String::new(), |hint| format!(" ({hint})"));
                say!("  ! {}{hint}", printable(&error.message));
            }
            Err(error) => return Err(error),
        }
    }
    say!("{}", sitting.farewell());
    Ok(())
}

/// Tells whether another process goes on with the visit, so that there is nothing more to ask here.
fn is_lost(sitting: &Sitting<'_>) -> bool {
    !sitting.is_held()
}

fn tell(said: &[String]) -> Result<()> {
    for line in said {
        say!("{}", printable(line));
    }
    Ok(())
}

fn unread(error: io::Error) -> EngineError {
    EngineError::user(
        format!("the answer cannot be read: {error}"),
        "answers before it are kept; `ligule visit FIELD` goes on",
    )
}

fn list(global: &Global, args: &VisitList) -> Result<()> {
    let engine = crate::open(global)?;
    let mut listing = Listing::new(["visit", "field", "at", "by", "observations", "void", "moved"]);
    for line in engine.visits(&args.field, args.season)? {
        let kinds = match global.format {
            Format::Text | Format::Csv => json!(line.kinds_text()),
            Format::Json | Format::Ndjson => json!(line.kinds),
        };
        listing.row(vec![
            json!(line.visit),
            json!(line.field),
            json!(line.at),
            json!(line.by),
            kinds,
            json!(line.void),
            json!(line.moved),
        ]);
    }
    listing.write(global.format, "no visits", &mut io::stdout().lock())?;
    Ok(())
}

fn show(global: &Global, args: &VisitShow) -> Result<()> {
    let engine = crate::open(global)?;
    let shown = engine.visit(&args.visit)?;
    match global.format {
        Format::Json => {
            say!("{}", serde_json::to_string_pretty(&shown)?);
            return Ok(());
        }
        Format::Ndjson => {
            say!("{}", serde_json::to_string(&shown)?);
            return Ok(());
        }
        Format::Text => {
            let visit = &shown.visit;
            say!("visit {} on {}, {}, by {}", visit.visit, visit.field, visit.at, visit.by);
            if !visit.moved.is_empty() {
                say!("moved {}", visit.moved);
            }
        }
        Format::Csv => {}
    }
    let mut listing = Listing::new(["observation", "kind", "at", "by", "values", "state"]);
    for line in &shown.observations {
        let read = global.format == Format::Text;
        listing.row(vec![
            json!(line.observation),
            json!(if read { &line.kind_read } else { &line.kind }),
            json!(line.at),
            json!(line.by),
            json!(if read { line.values_read.clone() } else { line.values_text() }),
            json!(line.state),
        ]);
    }
    listing.write(global.format, "no observations", &mut io::stdout().lock())?;
    if global.format == Format::Text {
        for difference in &shown.amended_after_move {
            say!("note: {difference}; correct the copy with `ligule amend` if that is what holds");
        }
    }
    Ok(())
}

fn put(global: &Global, args: &VisitMove) -> Result<()> {
    let mut engine = crate::open(global)?;
    let moved = engine.move_visit(&args.visit, &args.field, args.why.as_deref())?;
    match global.format {
        Format::Json => say!("{}", serde_json::to_string_pretty(&moved)?),
        Format::Ndjson => say!("{}", serde_json::to_string(&moved)?),
        Format::Text | Format::Csv => say!("{}", moved.said()),
    }
    Ok(())
}
