//! Readers and calculations in Python.

use std::ffi::OsStr;
use std::path::PathBuf;
use std::process::Command;

use crate::{repository_root, told};

/// Returns the Python of the environment made from `tests/python/requirements.txt`.
///
/// # Panics
///
/// Panics with the command to use where `LIGULE_PYTHON` is not set.
#[must_use]
pub fn python() -> PathBuf {
    told("LIGULE_PYTHON")
}

/// Runs a script of `tests/python/` and returns what it wrote to stdout.
///
/// # Panics
///
/// Panics with everything that the script said if it fails.
#[must_use]
pub fn run_python<A: AsRef<OsStr>>(script: &str, arguments: impl IntoIterator<Item = A>) -> String {
    let path = repository_root().join("tests").join("python").join(script);
    let mut command = Command::new(python());
    // `-I`: modules of the environment alone, not those that lie where the test happens to run.
    command.arg("-I").arg(&path).args(arguments).env("TZ", "UTC").env("PYTHONIOENCODING", "utf-8");
    let output = command.output().unwrap_or_else(|error| panic!("cannot start {}: {error}", python().display()));
    let stdout = String::from_utf8_lossy(&output.stdout).into_owned();
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{} ended with {}\n{stdout}{stderr}", path.display(), output.status);
    stdout
}
