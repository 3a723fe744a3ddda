//! Every check that needs no test to run.

use std::process::Command;

use anyhow::{Result, anyhow};

use crate::run::{self, Stop, step};
use crate::workspace::{self, Workspace};
use crate::{arrows, dependencies, layout};

/// A check, and the word that chooses it.
type Check = (&'static str, &'static str, fn(&Workspace) -> Result<()>);

/// Every check, the quickest first.
const CHECKS: &[Check] = &[
    ("format", "format", format),
    ("arrows", "arrows between crates", arrows::check),
    ("layout", "layout of the repository", layout::check),
    ("unused", "unused dependencies", dependencies::unused),
    ("licences", "licences, duplicates and sources of dependencies", dependencies::licences_duplicates_sources),
    ("advisories", "advisories", dependencies::advisories),
    ("clippy", "clippy", clippy),
    ("documentation", "documentation", documentation),
];

/// Runs the checks whose words are given, or all.
pub(crate) fn run(workspace: &Workspace, chosen: &[String]) -> Result<(), Stop> {
    let words: Vec<&str> = CHECKS.iter().map(|(word, ..)| *word).collect();
    if let Some(unknown) = chosen.iter().find(|choice| !words.contains(&choice.as_str())) {
        let reason = anyhow!("there is no check `{unknown}`; the checks are {}", words.join(", "));
        return Err(Stop { reason, exit_code: 2 });
    }
    for (word, heading, check) in CHECKS {
        if chosen.is_empty() || chosen.iter().any(|choice| choice == word) {
            step(heading, || check(workspace))
                .map_err(|error| anyhow!("{error:#}\n`cargo xtask lint {word}` repeats this check alone"))?;
        }
    }
    Ok(())
}

/// The rule packs stand outside the workspace, so `cargo fmt` does not see them.
fn format(workspace: &Workspace) -> Result<()> {
    let mut fmt = Command::new(workspace::cargo_program());
    run::command(fmt.current_dir(&workspace.root).args(["fmt", "--all", "--check"]))?;
    let mut packs = workspace.files()?;
    packs.retain(|file| file.starts_with("plugins") && file.extension().is_some_and(|extension| extension == "rs"));
    if packs.is_empty() {
        return Ok(());
    }
    let mut rustfmt = Command::new("rustfmt");
    run::command(rustfmt.current_dir(&workspace.root).args(["--edition", "2024", "--check"]).args(packs))
}

fn clippy(workspace: &Workspace) -> Result<()> {
    run::command(workspace.cargo("clippy").args(["--workspace", "--all-targets", "--", "-D", "warnings"]))
}

/// The examples are asked for so that cargo checks dependencies with the same features as for clippy, not once more.
fn documentation(workspace: &Workspace) -> Result<()> {
    run::command(
        workspace
            .cargo("doc")
            .args(["--no-deps", "--workspace", "--lib", "--bins", "--examples"])
            .env("RUSTDOCFLAGS", "-D warnings"),
    )
}
