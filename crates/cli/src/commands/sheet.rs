//! `ligule import observations` and `ligule import mapping`.

use std::io::{self, BufRead, IsTerminal, Write};

use ligule_engine::number::counted;
use ligule_engine::sheet::{
    DateOrder, DecimalMark, Encoding, Further, Origin, Plan, Proposal, Reading as SheetReading, RowLine, State, Table,
    Told, Wanted,
};
use ligule_engine::{APPLICATION, Engine, EngineError, Fault, Noun, Phrase, Reading, Result};
use serde_json::{Value, json};

use crate::args::{self, Format, Global, ImportMapping, ImportObservations};
use crate::listing::{Listing, printable};
use crate::progress::Progress;

/// How many fields are named.
const NAMED: usize = 12;

/// How many rows are told one by one to people; programs read all.
const TOLD: usize = 20;

/// Reads a sheet, shows and confirms what its columns tell, and records it.
pub(crate) fn import(global: &Global, args: &ImportObservations) -> Result<()> {
    let mut engine = crate::open(global)?;
    let file = args.file.display().to_string();
    let progress = Progress::start(format!("reading {file}"));
    let table = Table::read(&args.file, &reading(args), &|how_far| progress.say(how_far))?;
    let proposal = engine.propose_mapping(&table, &wanted(args))?;
    drop(progress);
    let sure = args.yes || (proposal.origin != Origin::Guess && !proposal.changed);
    // What is confirmed with `--yes` is shown all the same.
    if proposal.origin == Origin::Guess || proposal.changed || args.dry_run {
        show(&engine, &table, &proposal)?;
    }
    let progress = Progress::start(format!("checking {}", counted(table.rows.len(), "row", "rows")));
    let told = Told { field: args.field.clone(), on: args.on.clone(), by: args.by.clone() };
    let plan = engine.plan_import(table, &proposal.mapping, &told, args.accept_time, further(args))?;
    drop(progress);
    if args.dry_run {
        dry_run(global, &plan, engine.reading())?;
        plan.notes.iter().for_each(|note| crate::exit::note(engine.reading(), note));
        return Ok(());
    }
    if plan.rejected + plan.differing > 0 && !args.keep_good {
        report(global, &plan, engine.reading(), false)?;
        return Err(held_back(&plan, engine.reading()));
    }
    // Whoever is asked knows all of it before.
    plan.notes.iter().for_each(|note| crate::exit::note(engine.reading(), note));
    if !sure {
        confirm(&plan, engine.reading())?;
    }
    // The mapping first: it was confirmed, whatever becomes of the rows.
    let kept = match &proposal.origin {
        Origin::Kept(name) if !proposal.changed && args.keep_as.is_none() => name.clone(),
        Origin::File if args.keep_as.is_none() => String::new(),
        _ => engine.keep_mapping(args.keep_as.as_deref(), &proposal.lasting)?,
    };
    let recorded = engine.import_planned(&plan)?;
    let reading = engine.reading();
    report(global, &plan, reading, true)?;
    if global.format == Format::Text {
        let n = reading.counted(recorded, Noun::Observation);
        let fields = match plan.fields.len() {
            0..=NAMED => plan.fields.join(", "),
            many => reading.counted(many, Noun::FieldOfCrew),
        };
        let said = match fields.as_str() {
            "" => reading.say(Phrase::RecordedOnly, &[("n", &n)]),
            fields => reading.say(Phrase::RecordedMany, &[("n", &n), ("fields", &fields)]),
        };
        let counts = plan.told(reading);
        // Behind the new ones, which are recorded now.
        let rest = counts.split_once(';').map_or(String::new(), |(_, rest)| format!(";{rest}"));
        say!("{said}{rest}");
    }
    if recorded > 0 && proposal.mapping.kind.as_deref().is_none_or(|kind| kind == APPLICATION) {
        super::reentry::show_each(&engine, &plan.fields)?;
    }
    if matches!(proposal.origin, Origin::Guess) || proposal.changed {
        crate::exit::note(reading, &reading.say(Phrase::MappingIsKept, &[("name", &kept)]));
    }
    Ok(())
}

/// Says that some rows keep the others from being recorded.
fn held_back(plan: &Plan, reading: &Reading) -> EngineError {
    let held = [(plan.rejected, Phrase::HeldRejected), (plan.differing, Phrase::HeldDiffering)].into_iter();
    let told = held.filter(|(n, _)| *n > 0).map(|(n, what)| {
        let rows = reading.counted(n, Noun::RowHeld);
        reading.say(what, &[("rows", &rows)])
    });
    let what = told.collect::<Vec<_>>().join(", ");
    let hint = if plan.rejected > 0 { Phrase::MendSheet } else { Phrase::SettleDiffering };
    EngineError::user(reading.say(Phrase::HeldBack, &[("what", &what)]), reading.word(hint))
}

fn further(args: &ImportObservations) -> Further {
    match args.further {
        None => Further::New,
        Some(args::Further::Differing) => Further::Differing,
        Some(args::Further::All) => Further::All,
    }
}

fn reading(args: &ImportObservations) -> SheetReading {
    SheetReading {
        sheet: args.sheet.clone(),
        header_row: args.header_row,
        encoding: args.encoding.map(|encoding| match encoding {
            args::Encoding::Utf8 => Encoding::Utf8,
            args::Encoding::Latin1 => Encoding::Latin1,
        }),
    }
}

fn wanted(args: &ImportObservations) -> Wanted {
    Wanted {
        mapping: args.mapping.clone(),
        kind: args.kind.clone(),
        columns: args.column.clone(),
        dates: args.dates.map(|dates| match dates {
            args::Dates::Mdy => DateOrder::Mdy,
            args::Dates::Dmy => DateOrder::Dmy,
            args::Dates::Serial => DateOrder::Serial,
        }),
        decimal: args.decimal.map(|decimal| match decimal {
            args::Decimal::Point => DecimalMark::Point,
            args::Decimal::Comma => DecimalMark::Comma,
        }),
    }
}

/// Shows what the columns tell, to the error stream: it is talk, not data.
fn show(engine: &Engine, table: &Table, proposal: &Proposal) -> Result<()> {
    let reading = engine.reading();
    let rows = reading.counted(table.rows.len(), Noun::Row);
    let rows = match &proposal.mapping.kind {
        Some(kind) => reading.say(Phrase::RowsAs, &[("rows", &rows), ("kind", kind)]),
        None => rows,
    };
    let origin = match &proposal.origin {
        Origin::Guess => reading.word(Phrase::MappingGuessed).to_owned(),
        Origin::Kept(name) => reading.say(Phrase::MappingKept, &[("name", name)]),
        Origin::File => reading.word(Phrase::MappingOfFile).to_owned(),
    };
    let sheet = match table.sheet.as_str() {
        "" => table.name.clone(),
        sheet => reading.say(Phrase::SheetNamed, &[("file", &table.name), ("sheet", &sheet)]),
    };
    let mut out = io::stderr().lock();
    let head = reading.say(Phrase::SheetTold, &[("sheet", &sheet), ("rows", &rows), ("origin", &origin)]);
    writeln!(out, "{}", printable(&head))?;
    let mut listing = Listing::new(["column", "tells", "unit", "first_value"]).read_by(reading);
    for line in engine.mapping_lines(table, &proposal.mapping) {
        listing.row(vec![json!(line.column), json!(line.tells), json!(line.unit), json!(short(&line.first))]);
    }
    listing.write(Format::Text, "", &mut out)?;
    for note in &proposal.notes {
        writeln!(out, "{} {}", reading.word(Phrase::HeadRemark), printable(note))?;
    }
    Ok(())
}

fn short(text: &str) -> String {
    if text.chars().count() <= 30 { text.to_owned() } else { text.chars().take(29).chain(['…']).collect() }
}

/// Asks whether the mapping is right; where nobody can be asked, says how to confirm it.
fn confirm(plan: &Plan, reading: &Reading) -> Result<()> {
    let refused =
        |what: Phrase| EngineError::new(Fault::User, reading.word(what), reading.word(Phrase::ConfirmMapping));
    if !io::stdin().is_terminal() || !io::stderr().is_terminal() {
        return Err(refused(Phrase::NobodyConfirmed));
    }
    eprint!("{} ", reading.say(Phrase::RecordWithMapping, &[("plan", &plan.told(reading))]));
    io::stderr().flush()?;
    let mut answer = String::new();
    io::stdin().lock().read_line(&mut answer)?;
    match answer.trim().to_lowercase().as_str() {
        "y" | "yes" | "s" | "sí" | "si" => Ok(()),
        _ => Err(refused(Phrase::NotConfirmed)),
    }
}

fn dry_run(global: &Global, plan: &Plan, reading: &Reading) -> Result<()> {
    write(global, reading, plan.lines.iter())?;
    eprintln!("{}", reading.say(Phrase::DryRun, &[("plan", &plan.told(reading))]));
    Ok(())
}

/// Tells the rows that were not recorded: to people the first ones, to programs all.
fn report(global: &Global, plan: &Plan, reading: &Reading, recorded: bool) -> Result<()> {
    if global.format != Format::Text {
        // What was recorded is told only once it is.
        let held = |line: &&RowLine| matches!(line.state, State::Rejected | State::Differs);
        return write(global, reading, plan.lines.iter().filter(|line| recorded || held(line)));
    }
    let mut out = io::stderr().lock();
    for state in [State::Rejected, State::Differs] {
        let lines: Vec<&RowLine> = plan.lines.iter().filter(|line| line.state == state).collect();
        for line in lines.iter().take(TOLD) {
            let place = match line.column.as_str() {
                "" => String::new(),
                column => reading.say(Phrase::RowColumn, &[("column", &column)]),
            };
            let value = if line.value.is_empty() { String::new() } else { format!(", `{}`", short(&line.value)) };
            let key = line.observation.as_ref().map_or_else(String::new, |key| format!(", {key}"));
            let hint = line.hint.as_ref().map_or_else(String::new, |hint| format!("; {hint}"));
            let (place, reason) = (format!("{place}{value}{key}"), format!("{}{hint}", line.reason));
            let text = reading.say(Phrase::RowAt, &[("line", &line.line), ("place", &place), ("reason", &reason)]);
            writeln!(out, "{}", printable(&text))?;
        }
        if lines.len() > TOLD {
            writeln!(out, "{}", reading.say(Phrase::MoreSuchRows, &[("n", &(lines.len() - TOLD))]))?;
        }
    }
    Ok(())
}

/// Writes rows as a listing; people are spared the columns in which nothing stands.
fn write<'a>(global: &Global, reading: &Reading, lines: impl Iterator<Item = &'a RowLine>) -> Result<()> {
    let columns = ["line", "state", "observation", "understood", "column", "value", "reason", "hint"];
    let told = |line: &RowLine| {
        let texts = [&line.understood, &line.column, &line.value, &line.reason].map(|text| json!(text));
        let mut row = vec![json!(line.line), json!(line.state), json!(line.observation)];
        row.extend(texts);
        row.push(json!(line.hint));
        row
    };
    let rows: Vec<Vec<Value>> = lines.map(told).collect();
    let stands = |at: usize| rows.iter().any(|row| !row[at].is_null() && row[at] != "");
    let shown: Vec<usize> =
        (0..columns.len()).filter(|at| *at < 2 || global.format != Format::Text || stands(*at)).collect();
    let mut listing = Listing::new(shown.iter().map(|at| columns[*at])).read_by(reading);
    for row in &rows {
        listing.row(shown.iter().map(|at| row[*at].clone()).collect());
    }
    listing.write(global.format, reading.word(Phrase::NoRows), &mut io::stdout().lock())?;
    Ok(())
}

/// Lists, prints and removes the mappings that are kept.
pub(crate) fn mapping(global: &Global, args: &ImportMapping) -> Result<()> {
    let engine = crate::open(global)?;
    match args {
        ImportMapping::List => {
            let mut listing = Listing::new(["name", "kind", "columns"]).read_by(engine.reading());
            for line in engine.mappings()? {
                listing.row(vec![json!(line.name), json!(line.kind), json!(line.columns)]);
            }
            listing.write(global.format, engine.reading().word(Phrase::NoMappings), &mut io::stdout().lock())?;
        }
        ImportMapping::Show(args) => put!("{}", engine.mapping_text(&args.name)?),
        ImportMapping::Remove(args) => {
            engine.remove_mapping(&args.name)?;
            say!("removed the mapping {}; what was recorded with it stays", args.name);
        }
    }
    Ok(())
}
