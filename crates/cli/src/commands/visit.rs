use std::io::{self, BufRead, Write};

use ligule_engine::{EngineError, Fault, Phrase, Reading, Result, Sit, Sitting};
use serde_json::json;

use crate::args::{Format, Global};
use crate::exit::note;
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
    let engine = crate::open(global)?;
    let mut sitting = engine.sit(&Sit {
        field: args.field.clone(),
        by: args.by.clone(),
        at: args.at.clone(),
        near: args.near.clone(),
        kinds: args.kinds.clone(),
        anew: args.new,
    })?;
    if let Some(reentry) = sitting.reentry() {
        super::reentry::write(reentry, true, engine.reading(), &mut io::stdout().lock())?;
    }
    for note in sitting.notes() {
        say!("{}", printable(note));
    }
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
        if answers.read_line(&mut line).map_err(|error| unread(&error, engine.reading()))? == 0 {
            say!();
            sitting.stop()?;
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

fn unread(error: &io::Error, reading: &Reading) -> EngineError {
    EngineError::user(reading.say(Phrase::AnswerUnread, &[("error", error)]), reading.word(Phrase::AnswersKept))
}

fn list(global: &Global, args: &VisitList) -> Result<()> {
    let engine = crate::open(global)?;
    let programs = matches!(global.format, Format::Json | Format::Ndjson);
    let mut columns = vec!["visit", "field", "at", "by", "observations", "void", "moved"];
    if programs {
        columns.extend(["moved_to", "copied_from"]);
    }
    let mut listing = Listing::new(columns).read_by(engine.reading());
    let lines = engine.visits(&args.field, args.season)?;
    for line in &lines {
        let kinds = match global.format {
            Format::Text => json!(line.kinds_read(&engine)),
            Format::Csv => json!(line.kinds_text()),
            Format::Json | Format::Ndjson => json!(line.kinds),
        };
        let mut row = vec![
            json!(line.visit),
            json!(line.field),
            json!(if global.format == Format::Text { &line.at_read } else { &line.at }),
            json!(line.by),
            kinds,
            json!(line.void),
            json!(if global.format == Format::Text { &line.moved_read } else { &line.moved }),
        ];
        if programs {
            row.extend([json!(line.moved_to), json!(line.copied_from)]);
        }
        listing.row(row);
    }
    listing.write(global.format, engine.reading().word(Phrase::NoVisits), &mut io::stdout().lock())?;
    if !programs && lines.iter().any(|line| line.apart) {
        note(engine.reading(), engine.reading().word(Phrase::VisitsApart));
    }
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
            let parts: [(&str, &dyn std::fmt::Display); 4] =
                [("visit", &visit.visit), ("field", &visit.field), ("at", &visit.at_read), ("by", &visit.by)];
            say!("{}", engine.reading().say(Phrase::VisitOf, &parts));
            if !visit.moved.is_empty() {
                say!("{}", engine.reading().say(Phrase::VisitMoved, &[("moved", &visit.moved_read)]));
            }
        }
        Format::Csv => {}
    }
    let mut listing = Listing::new(["observation", "kind", "at", "by", "values", "state"]).read_by(engine.reading());
    for line in &shown.observations {
        let read = global.format == Format::Text;
        listing.row(vec![
            json!(line.observation),
            json!(if read { &line.kind_read } else { &line.kind }),
            json!(if read { &line.at_read } else { &line.at }),
            json!(line.by),
            json!(if read { line.values_read.clone() } else { line.values_text() }),
            json!(if read { &line.state_read } else { &line.state }),
        ]);
    }
    listing.write(global.format, engine.reading().word(Phrase::NoObservations), &mut io::stdout().lock())?;
    if global.format == Format::Text {
        for difference in &shown.amended_after_move {
            let told = engine.reading().say(Phrase::ResolveOnCopy, &[("difference", difference)]);
            say!("{} {told}", engine.reading().word(Phrase::HeadRemark));
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
        Format::Text | Format::Csv => say!("{}", moved.said(engine.reading())),
    }
    super::reentry::show(&engine, &args.field, global.format)
}
