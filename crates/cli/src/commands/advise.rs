use std::collections::BTreeMap;
use std::io::{self, Write};

use ligule_engine::advice::Finding;
use ligule_engine::{Advice, EngineError, Fault, Reading, Result};
use serde_json::json;

use crate::args::{Advise, Format, Global};
use crate::listing::{Listing, printable};
use crate::progress::Progress;

/// Runs the rule packs.
pub(crate) fn run(global: &Global, args: &Advise) -> Result<()> {
    let engine = crate::open(global)?;
    let progress = Progress::start("running the rule packs");
    let mut settings = BTreeMap::new();
    for one in &args.set {
        let (key, value) = one.split_once('=').ok_or_else(|| {
            EngineError::user(format!("expected `KEY=VALUE`, got `{one}`"), "such as `--set placement=directed`")
        })?;
        settings.insert(key.to_owned(), value.to_owned());
    }
    let advice = engine.advise(args.field.as_deref(), args.day.as_of, args.packs.packs.as_deref(), &settings)?;
    drop(progress);
    if matches!(global.format, Format::Csv | Format::Ndjson) {
        // Their rows are findings.
        let mut first = true;
        for one in &advice.fields {
            if let Some(reentry) = &one.reentry {
                eprintln!("{}:", printable(&one.field));
                super::reentry::write(reentry, std::mem::take(&mut first), engine.reading(), &mut io::stderr().lock())?;
            }
        }
    }
    let mut out = io::stdout().lock();
    match global.format {
        Format::Text => print(&advice, args.full, engine.reading(), &mut out)?,
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
            let mut listing = Listing::new(["field", "as_of", "pack", "code", "severity", "headline", "cautions"]);
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
        match advice.not_evaluated.len() {
            1 => "1 pack was not evaluated; nothing follows from its silence".to_owned(),
            n => format!("{n} packs were not evaluated; nothing follows from their silence"),
        },
        "see `ligule pack check PACK`",
    ))
}

/// How many reasons of a finding are printed unless all are asked for.
const REASONS: usize = 4;

/// Prints the findings; sources and cautions, which findings share, follow once, and each finding names its own.
fn print(advice: &Advice, full: bool, reading: &Reading, out: &mut impl Write) -> io::Result<()> {
    let mut sources = Numbered::default();
    let mut cautions = Numbered::default();
    let mut first = true;
    for one in &advice.fields {
        writeln!(out, "{} ({}), {}, as of {}", one.field, one.region, one.crop, one.as_of)?;
        if let Some(reentry) = &one.reentry {
            super::reentry::write(reentry, std::mem::take(&mut first), reading, out)?;
        }
        if one.findings.is_empty() {
            writeln!(
                out,
                "  no pack for this region and crop has anything to say of these records; that is no all-clear"
            )?;
        }
        for finding in &one.findings {
            print_finding(finding, full, &mut sources, &mut cautions, out)?;
        }
        writeln!(out)?;
    }
    if !sources.texts.is_empty() {
        writeln!(out, "Sources (page: read on the page; memory: not checked against a page)")?;
        for (index, text) in sources.texts.iter().enumerate() {
            writeln!(out, "  {:>3}  {text}", index + 1)?;
        }
        writeln!(out)?;
    }
    if !cautions.texts.is_empty() {
        writeln!(out, "Cautions")?;
        for (index, text) in cautions.texts.iter().enumerate() {
            writeln!(out, "  {:>3}  {text}", letters(index))?;
        }
    }
    Ok(())
}

/// Texts, each with a number by which findings name it.
#[derive(Default)]
struct Numbered {
    texts: Vec<String>,
}

impl Numbered {
    /// Returns the index of a text; a new one is added.
    fn index(&mut self, text: String) -> usize {
        match self.texts.iter().position(|known| *known == text) {
            Some(index) => index,
            None => {
                self.texts.push(text);
                self.texts.len() - 1
            }
        }
    }
}

/// Writes an index as a, b, … z, aa, ab …
fn letters(mut index: usize) -> String {
    let mut text = String::new();
    loop {
        text.insert(0, char::from(b'a' + (index % 26) as u8));
        if index < 26 {
            return text;
        }
        index = index / 26 - 1;
    }
}

fn print_finding(
    finding: &Finding,
    full: bool,
    sources: &mut Numbered,
    cautions: &mut Numbered,
    out: &mut impl Write,
) -> io::Result<()> {
    writeln!(out, "  [{}] {}", finding.severity.words(), finding.headline)?;
    let shown = if full { finding.because.len() } else { REASONS };
    for reason in finding.because.iter().take(shown) {
        write!(out, "      because {}", reason.text)?;
        if !reason.observations.is_empty() {
            write!(out, " (observation {})", reason.observations.join(", "))?;
        }
        writeln!(out)?;
    }
    if finding.because.len() > shown {
        let more = finding.because.len() - shown;
        let reasons = if more == 1 { "reason; `--full` shows it" } else { "reasons; `--full` shows them" };
        writeln!(out, "      and {more} more {reasons}")?;
    }
    if let Some(window) = finding.window {
        write!(out, "      the window is {}", window.state.words())?;
        if let Some(day) = window.opens {
            write!(out, ", opens {day}")?;
        }
        if let Some(day) = window.closes {
            write!(out, ", closes {day}")?;
        }
        writeln!(out)?;
    }
    if let Some(days) = finding.next_check_days {
        writeln!(out, "      look again in {days} {}", if days == 1 { "day" } else { "days" })?;
    }
    let numbers: Vec<String> = finding
        .citations
        .iter()
        .map(|citation| {
            let year = if citation.year > 0 && !citation.text.contains(&citation.year.to_string()) {
                format!(" ({})", citation.year)
            } else {
                String::new()
            };
            (sources.index(format!("{}{year} [{}]", citation.text, citation.basis)) + 1).to_string()
        })
        .collect();
    let marks: Vec<String> = finding.cautions.iter().map(|caution| letters(cautions.index(caution.clone()))).collect();
    writeln!(
        out,
        "      sources {}; cautions {}; {}, rule {}",
        numbers.join(" "),
        marks.join(" "),
        finding.pack,
        finding.code
    )
}

#[cfg(test)]
mod tests {
    use super::letters;

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 27, 701, 702].map(letters), ["a", "z", "aa", "ab", "zz", "aaa"]);
    }
}
