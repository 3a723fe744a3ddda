//! `ligule import observations` and `ligule import mapping`.

use std::io::{self, BufRead, IsTerminal, Write};

use ligule_engine::number::counted;
use ligule_engine::sheet::{
    DateOrder, DecimalMark, Encoding, Further, Origin, Plan, Proposal, Reading, RowLine, State, Table, Told, Wanted,
};
use ligule_engine::{APPLICATION, Engine, EngineError, Fault, Result};
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
        return dry_run(global, &plan);
    }
    if plan.rejected + plan.differing > 0 && !args.keep_good {
        report(global, &plan, false)?;
        return Err(held_back(&plan));
    }
    if !sure {
        confirm(&plan)?;
    }
    // The mapping first: it was confirmed, whatever becomes of the rows.
    let kept = match &proposal.origin {
        Origin::Kept(name) if !proposal.changed && args.keep_as.is_none() => name.clone(),
        Origin::File if args.keep_as.is_none() => String::new(),
        _ => engine.keep_mapping(args.keep_as.as_deref(), &proposal.mapping)?,
    };
    let recorded = engine.import_planned(&plan)?;
    report(global, &plan, true)?;
    if global.format == Format::Text {
        let on = match plan.fields.len() {
            0 => String::new(),
            1..=NAMED => format!(" on {}", plan.fields.join(", ")),
            many => format!(" on {many} fields"),
        };
        let mut said = format!("recorded {}{on}", counted(recorded, "observation", "observations"));
        for (n, what) in
            [(plan.known, "there already"), (plan.differing, "not as imported before"), (plan.rejected, "rejected")]
        {
            if n > 0 {
                said.push_str(&format!("; {n} {what}"));
            }
        }
        say!("{said}");
    }
    for note in &plan.notes {
        eprintln!("note: {}", printable(note));
    }
    if recorded > 0 && proposal.mapping.kind.as_deref().is_none_or(|kind| kind == APPLICATION) {
        super::reentry::show_each(&engine, &plan.fields)?;
    }
    if matches!(proposal.origin, Origin::Guess) || proposal.changed {
        eprintln!("note: the mapping is kept as `{kept}` for sheets with the same columns");
    }
    Ok(())
}

/// Says that some rows keep the others from being recorded.
fn held_back(plan: &Plan) -> EngineError {
    let mut what = Vec::new();
    if plan.rejected > 0 {
        what.push(format!("{} rejected", rows(plan.rejected)));
    }
    if plan.differing > 0 {
        what.push(format!("{} not as imported before", rows(plan.differing)));
    }
    let hint = if plan.rejected > 0 {
        "mend the sheet, or record the other rows with `--keep-good`"
    } else {
        "correct what is there as told above, or say with `--further` that these are other samples, with `--further=all` that \
         all rows of this sheet are; `--keep-good` records the others"
    };
    EngineError::user(format!("{}; nothing was recorded", what.join(", ")), hint)
}

fn further(args: &ImportObservations) -> Further {
    match args.further {
        None => Further::New,
        Some(args::Further::Differing) => Further::Differing,
        Some(args::Further::All) => Further::All,
    }
}

fn rows(n: usize) -> String {
    counted(n, "row is", "rows are")
}

fn reading(args: &ImportObservations) -> Reading {
    Reading {
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
    let of = proposal.mapping.kind.as_deref().map_or_else(String::new, |kind| format!(" as {kind}"));
    let from = match &proposal.origin {
        Origin::Guess => "guessed from the names of the columns".to_owned(),
        Origin::Kept(name) => format!("kept as `{name}`"),
        Origin::File => "from its file".to_owned(),
    };
    let sheet = if table.sheet.is_empty() { String::new() } else { format!(", sheet `{}`", table.sheet) };
    let mut out = io::stderr().lock();
    let head =
        format!("{}{sheet}: {}{of}; the mapping is {from}", table.name, counted(table.rows.len(), "row", "rows"));
    writeln!(out, "{}", printable(&head))?;
    let mut listing = Listing::new(["column", "tells", "unit", "first_value"]);
    for line in engine.mapping_lines(table, &proposal.mapping) {
        listing.row(vec![json!(line.column), json!(line.tells), json!(line.unit), json!(short(&line.first))]);
    }
    listing.write(Format::Text, "", &mut out)?;
    for note in &proposal.notes {
        writeln!(out, "note: {}", printable(note))?;
    }
    Ok(())
}

fn short(text: &str) -> String {
    if text.chars().count() <= 30 { text.to_owned() } else { text.chars().take(29).chain(['…']).collect() }
}

/// Asks whether the mapping is right; where nobody can be asked, says how to confirm it.
fn confirm(plan: &Plan) -> Result<()> {
    let refused = |what: &str| {
        EngineError::new(
            Fault::User,
            what,
            "if the mapping is right, repeat with `--yes`; correct it with `--column \"NAME=MEANING\"`, `--kind KIND`; nothing was recorded",
        )
    };
    if !io::stdin().is_terminal() || !io::stderr().is_terminal() {
        return Err(refused("nobody has confirmed what the columns tell"));
    }
    eprint!("{plan}. Record with this mapping? [y/N] ");
    io::stderr().flush()?;
    let mut answer = String::new();
    io::stdin().lock().read_line(&mut answer)?;
    match answer.trim().to_lowercase().as_str() {
        "y" | "yes" | "s" | "sí" | "si" => Ok(()),
        _ => Err(refused("not confirmed")),
    }
}

fn dry_run(global: &Global, plan: &Plan) -> Result<()> {
    write(global, plan.lines.iter())?;
    eprintln!("{plan}; this was a dry run, nothing was recorded");
    Ok(())
}

/// Tells the rows that were not recorded: to people the first ones, to programs all.
fn report(global: &Global, plan: &Plan, recorded: bool) -> Result<()> {
    if global.format != Format::Text {
        // What was recorded is told only once it is.
        let held = |line: &&RowLine| matches!(line.state, State::Rejected | State::Differs);
        return write(global, plan.lines.iter().filter(|line| recorded || held(line)));
    }
    let mut out = io::stderr().lock();
    for state in [State::Rejected, State::Differs] {
        let lines: Vec<&RowLine> = plan.lines.iter().filter(|line| line.state == state).collect();
        for line in lines.iter().take(TOLD) {
            let place = if line.column.is_empty() { String::new() } else { format!(", column `{}`", line.column) };
            let value = if line.value.is_empty() { String::new() } else { format!(", `{}`", short(&line.value)) };
            let key = line.observation.as_ref().map_or_else(String::new, |key| format!(", {key}"));
            let hint = line.hint.as_ref().map_or_else(String::new, |hint| format!("; {hint}"));
            let text = format!("line {}{place}{value}{key}: {}{hint}", line.line, line.reason);
            writeln!(out, "{}", printable(&text))?;
        }
        if lines.len() > TOLD {
            writeln!(out, "{} more such as these; `--format csv` tells all", lines.len() - TOLD)?;
        }
    }
    Ok(())
}

/// Writes rows as a listing; people are spared the columns in which nothing stands.
fn write<'a>(global: &Global, lines: impl Iterator<Item = &'a RowLine>) -> Result<()> {
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
    let mut listing = Listing::new(shown.iter().map(|at| columns[*at]));
    for row in &rows {
        listing.row(shown.iter().map(|at| row[*at].clone()).collect());
    }
    listing.write(global.format, "no rows", &mut io::stdout().lock())?;
    Ok(())
}

/// Lists, prints and removes the mappings that are kept.
pub(crate) fn mapping(global: &Global, args: &ImportMapping) -> Result<()> {
    let engine = crate::open(global)?;
    match args {
        ImportMapping::List => {
            let mut listing = Listing::new(["name", "kind", "columns"]);
            for line in engine.mappings()? {
                listing.row(vec![json!(line.name), json!(line.kind), json!(line.columns)]);
            }
            listing.write(global.format, "no mappings are kept", &mut io::stdout().lock())?;
        }
        ImportMapping::Show(args) => put!("{}", engine.mapping_text(&args.name)?),
        ImportMapping::Remove(args) => {
            engine.remove_mapping(&args.name)?;
            say!("removed the mapping {}; what was recorded with it stays", args.name);
        }
    }
    Ok(())
}
