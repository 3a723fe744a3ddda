//! Files in the repository that are generated from others.
//!
//! Each has a test that fails while the file differs from what its source gives today; told by `LIGULE_REGENERATE=1`,
//! the test writes the file instead. So every ordinary run of the tests is the check, and this chore is the way to
//! accept a change, after which the difference is read as a reviewer would.

use anyhow::{Context, Result};

use crate::run;
use crate::workspace::Workspace;

/// What is generated, and the test program that compares or writes it; a new generator is a new line.
const GENERATED: &[(&str, &str)] = &[("schemas/archive/", "reference")];

/// Writes the generated files anew, or with `check` tells whether that would change one.
pub(crate) fn run(workspace: &Workspace, check: bool) -> Result<()> {
    for (files, test) in GENERATED {
        run::headline(files);
        let mut cargo = workspace.cargo("test");
        cargo.args(["--workspace", "--test", test]);
        if !check {
            cargo.env("LIGULE_REGENERATE", "1");
        }
        run::command(&mut cargo).with_context(|| format!("{files} comes from the test `{test}`"))?;
    }
    Ok(())
}
