//! What the tests of several crates share.
//!
//! - [`Place`] is a folder of its own with the real program `ligule` in it, and the [`Place::transcript`] of what was
//!   typed and answered there.
//! - [`filtered`] takes out of a transcript what differs from run to run.
//! - [`crew`] is an invented crew, whose devices keep real documents in memory.
//! - [`photos`] are kept in memory too, on a disk that can run full.
//! - [`python`] and [`run_python`] call readers and calculations that share no code with ours.
//!
//! Everything here panics with what to do next: it is called from tests alone. `cargo xtask test` builds the program,
//! makes the Python environment, and tells the tests where both are.

pub mod crew;
mod filter;
pub mod photos;
mod place;
mod python;

pub use filter::filtered;
pub use place::{Answer, Place};
pub use python::{python, run_python};

use std::path::{Path, PathBuf};

/// Returns the root of the repository that the tests were built from.
#[must_use]
pub fn repository_root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).expect("this crate lies two levels below the root")
}

/// Returns what `cargo xtask test` says in an environment variable.
fn told(variable: &str) -> PathBuf {
    match std::env::var_os(variable).filter(|value| !value.is_empty()) {
        Some(value) => PathBuf::from(value),
        None => panic!("this test needs {variable}; `cargo xtask test -- NAME_OF_THE_TEST` sets it"),
    }
}
