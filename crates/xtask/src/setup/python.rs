//! A virtual environment with the outside readers, in `target/python`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result};

use crate::run;
use crate::workspace::Workspace;

/// Every package at one version, those that others need included.
const REQUIREMENTS: &str = "tests/python/requirements.txt";

/// Returns the environment's Python, after making the environment anew if the requirements or Python changed.
pub(crate) fn environment(workspace: &Workspace) -> Result<PathBuf> {
    let folder = workspace.target.join("python");
    let python = folder.join("bin").join("python");
    let requirements = workspace.root.join(REQUIREMENTS);
    let stamp = folder.join("made-from.txt");
    let made_from = made_from(&requirements)?;
    if python.exists() && fs::read_to_string(&stamp).is_ok_and(|kept| kept == made_from) {
        return Ok(python);
    }
    println!("   making {} from {REQUIREMENTS} (once)", folder.display());
    if folder.exists() {
        fs::remove_dir_all(&folder).with_context(|| format!("cannot remove {}", folder.display()))?;
    }
    run::command(Command::new("python3").args(["-m", "venv"]).arg(&folder))?;
    // The file names everything. gddPy asks for a NumPy of years ago and for `requests`, and works without either.
    let mut pip = Command::new(&python);
    pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input", "--no-deps"]);
    run::command(pip.arg("--requirement").arg(&requirements)).context("the outside readers could not be installed")?;
    fs::write(&stamp, made_from).with_context(|| format!("cannot write {}", stamp.display()))?;
    Ok(python)
}

/// What the environment depends on, as text: written last into it, so that half an environment has none.
fn made_from(requirements: &Path) -> Result<String> {
    let version = run::output(Command::new("python3").arg("--version"))?;
    let listed = fs::read_to_string(requirements).with_context(|| format!("cannot read {}", requirements.display()))?;
    Ok(format!("# {version}{listed}"))
}
