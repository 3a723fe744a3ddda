use std::collections::BTreeSet;
use std::io::{self, Write};

use ligule_engine::advice::{Finding, Severity, WindowState};
use ligule_engine::{Advice, EngineError, Fault, Result};
use serde_json::json;

use crate::args::{Advise, Format, Global};
use crate::listing::Listing;
use crate::progress::Progress;

/// Runs the rule packs.
pub(crate) fn run(global: &Global, args: &Advise) -> Result<()> {
    let engine = crate::open(global)?;
    let progress = Progress::start("running the rule packs");
    let advice = engine.advise(args.field.as_deref(), args.day.as_of, args.packs.packs.as_deref())?;
    drop(progress);
    let mut out = io::stdout().lock();
    match global.format {
        Format::Text => print(&advice, &mut out)?,
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &advice)?;
            writeln!(out)?;
        }
        Format::Ndjson => {
            for one in &advice.fields {
                for finding in &one.findings {
                    writeln!(out, "{}", json!({ "field": one.field, "as_of": one.as_of, "finding": finding }))?;
                }
            }
        }
        Format::Csv => {
            let mut listing = Listing::new(&["field", "as_of", "pack", "code", "severity", "headline", "cautions"]);
            for one in &advice.fields {
                for finding in &one.findings {
                    listing.row(vec![
                        json!(one.field),
                        json!(one.as_of.to_string()),
                        json!(finding.pack),
                        json!(finding.code),
                        json!(finding.severity),
                        json!(finding.headline),
                        json!(finding.cautions.join(" ")),
                    ]);
                }
            }
            listing.write(Format::Csv, "", &mut out)?;
        }
    }
    for failure in &advice.not_evaluated {
        eprintln!("error: not evaluated: {failure}");
    }
    if advice.not_evaluated.is_empty() {
        return Ok(());
    }
    Err(EngineError::new(
        Fault::Pack,
        format!("{} packs were not evaluated; nothing follows from their silence", advice.not_evaluated.len()),
        "see `ligule pack check PACK`",
    ))
}

fn print(advice: &Advice, out: &mut impl Write) -> io::Result<()> {
    for (index, one) in advice.fields.iter().enumerate() {
        if index > 0 {
            writeln!(out)?;
        }
        writeln!(out, "{} ({}), {}, as of {}", one.field, one.region, one.crop, one.as_of)?;
        if one.findings.is_empty() {
            writeln!(out, "  no pack for this region and crop has anything to say of these records; that is no all-clear")?;
        }
        for finding in &one.findings {
            print_finding(finding, out)?;
        }
        let cautions: BTreeSet<&String> = one.findings.iter().flat_map(|finding| &finding.cautions).collect();
        for caution in cautions {
            writeln!(out, "  caution: {caution}")?;
        }
    }
    Ok(())
}

fn print_finding(finding: &Finding, out: &mut impl Write) -> io::Result<()> {
    let severity = match finding.severity {
        Severity::Info => "for information",
        Severity::Watch => "look again",
        Severity::Act => "act",
        Severity::Stop => "stop",
    };
    writeln!(out, "  [{severity}] {}", finding.headline)?;
    for reason in &finding.because {
        write!(out, "      because {}", reason.text)?;
        if !reason.observations.is_empty() {
            write!(out, " (observation {})", reason.observations.join(", "))?;
        }
        writeln!(out)?;
    }
    if let Some(window) = finding.window {
        let state = match window.state {
            WindowState::NotYet => "not yet open",
            WindowState::Open => "open",
            WindowState::Closing => "closing",
            WindowState::Closed => "closed",
            WindowState::Unknown => "cannot be told",
        };
        write!(out, "      window {state}")?;
        if let Some(day) = window.opens {
            write!(out, ", opens {day}")?;
        }
        if let Some(day) = window.closes {
            write!(out, ", closes {day}")?;
        }
        writeln!(out)?;
    }
    if let Some(days) = finding.next_check_days {
        writeln!(out, "      look again in {days} days")?;
    }
    for citation in &finding.citations {
        write!(out, "      source {}", citation.text)?;
        if citation.year > 0 && !citation.text.contains(&citation.year.to_string()) {
            write!(out, " ({})", citation.year)?;
        }
        writeln!(out, " [{}]", citation.basis)?;
    }
    writeln!(out, "      from {}, rule {}", finding.pack, finding.code)
}
