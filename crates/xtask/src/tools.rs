//! Programs of others that the checks run, built once into `target/tools` at fixed versions.

use std::fs;
use std::path::PathBuf;
use std::process::Command;

use anyhow::{Context, Result};

use crate::run;
use crate::workspace::{self, Workspace};

/// A program from the Rust registry.
pub(crate) struct Tool {
    name: &'static str,
    version: &'static str,
    options: &'static [&'static str],
}

/// Finds dependencies that no source file mentions.
pub(crate) const MACHETE: Tool = Tool { name: "cargo-machete", version: "0.9.2", options: &[] };

/// Checks licences, duplicates, sources and advisories; its default features add a second copy of git.
pub(crate) const DENY: Tool = Tool { name: "cargo-deny", version: "0.20.2", options: &["--no-default-features"] };

impl Tool {
    /// Returns the program, building it first unless this version is there.
    pub(crate) fn program(&self, workspace: &Workspace) -> Result<PathBuf> {
        let root = workspace.target.join("tools");
        let program = root.join("bin").join(self.name);
        let installed = fs::read_to_string(root.join(".crates.toml")).unwrap_or_default();
        if program.is_file() && installed.contains(&format!("\"{} {} (", self.name, self.version)) {
            return Ok(program);
        }
        println!("   building {} {} (once; about two minutes)", self.name, self.version);
        let build = root.join("build");
        let mut install = Command::new(workspace::cargo_program());
        install.args(["install", "--quiet", "--locked", "--version", self.version, self.name]).args(self.options);
        install.arg("--root").arg(&root).arg("--target-dir").arg(&build);
        workspace::forget_own_build(&mut install);
        // Otherwise each installation warns that `target/tools/bin` is not on the path.
        let path = std::env::var_os("PATH").unwrap_or_default();
        let path = std::env::split_paths(&path).chain([root.join("bin")]);
        install.env("PATH", std::env::join_paths(path)?);
        run::command(&mut install).with_context(|| format!("cannot build {} {}", self.name, self.version))?;
        fs::remove_dir_all(&build).with_context(|| format!("cannot remove {}", build.display()))?;
        Ok(program)
    }
}
