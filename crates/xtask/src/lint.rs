//! Every check that needs no test to run.

use std::process::Command;

use anyhow::Result;

use crate::run::{self, Stop, step};
use crate::workspace::{self, Workspace};
use crate::{arrows, dependencies, layout};

/// Runs the checks, the quickest first.
pub(crate) fn run(workspace: &Workspace) -> Result<(), Stop> {
    step("format", || format(workspace))?;
    step("arrows between crates", || arrows::check(workspace))?;
    step("layout of the repository", || layout::check(workspace))?;
    step("unused dependencies", || dependencies::unused(workspace))?;
    step("licences, duplicates and sources of dependencies", || dependencies::licences_duplicates_sources(workspace))?;
    step("advisories", || dependencies::advisories(workspace))?;
    step("clippy", || clippy(workspace))?;
    step("documentation", || documentation(workspace))?;
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

fn documentation(workspace: &Workspace) -> Result<()> {
    run::command(workspace.cargo("doc").args(["--no-deps", "--workspace"]).env("RUSTDOCFLAGS", "-D warnings"))
}
