//! What the tests need on a machine, set up before anything is built.

mod debian;
mod python;

use std::path::PathBuf;

use anyhow::Result;

use crate::run::{self, Stop};
use crate::workspace::Workspace;

/// What the tests are told about the machine.
pub(crate) struct Machine {
    /// The Python of the virtual environment with the outside readers.
    pub(crate) python: PathBuf,
}

/// Installs or asks for what is missing; does nothing where everything is there.
pub(crate) fn prepare(workspace: &Workspace) -> Result<Machine, Stop> {
    let start = std::time::Instant::now();
    run::headline("set-up");
    debian::provide()?;
    let python = python::environment(workspace)?;
    println!("   {}", run::seconds(start.elapsed()));
    Ok(Machine { python })
}
