//! What the dependencies of others must hold to: used, one version each, known licences, no known advisory.

use std::env;
use std::fs;
use std::path::PathBuf;
use std::process::Command;

use anyhow::Result;

use crate::run;
use crate::tools;
use crate::workspace::{self, Workspace};

/// The settings of cargo-deny: allowed licences and the list of duplicates that we live with.
const SETTINGS: &str = ".deny.toml";

/// Fails if a manifest names a dependency that no source file of its package mentions.
pub(crate) fn unused(workspace: &Workspace) -> Result<()> {
    let program = tools::MACHETE.program(workspace)?;
    run::command(Command::new(program).current_dir(&workspace.root).arg("."))
}

/// Fails at a licence that is not allowed, at a new duplicate, and at code from anywhere but the registry.
pub(crate) fn licences_duplicates_sources(workspace: &Workspace) -> Result<()> {
    run::command(deny(workspace)?.args(["check", "licenses", "bans", "sources"]))
}

/// Fails at a known advisory where a copy of the advisory database lies on this machine, and says where none does.
pub(crate) fn advisories(workspace: &Workspace) -> Result<()> {
    if !has_advisory_database() {
        println!("   advisories: not checked, no advisory database on this machine (`cargo deny fetch db` gets one)");
        return Ok(());
    }
    run::command(deny(workspace)?.args(["check", "--disable-fetch", "advisories"]))
}

fn deny(workspace: &Workspace) -> Result<Command> {
    let mut command = Command::new(tools::DENY.program(workspace)?);
    command.current_dir(&workspace.root).args(["--locked", "--offline", "--config", SETTINGS]);
    workspace::forget_own_build(&mut command);
    Ok(command)
}

/// Looks where cargo-deny keeps its databases.
fn has_advisory_database() -> bool {
    let cargo_home = env::var_os("CARGO_HOME").map(PathBuf::from);
    let cargo_home = cargo_home.or_else(|| env::var_os("HOME").map(|home| PathBuf::from(home).join(".cargo")));
    cargo_home
        .and_then(|home| fs::read_dir(home.join("advisory-dbs")).ok())
        .is_some_and(|mut databases| databases.any(|entry| entry.is_ok_and(|entry| entry.path().is_dir())))
}
