//! The workspace as cargo describes it, and cargo as the chores call it.

use std::env;
use std::ffi::OsString;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result};
use cargo_metadata::{Metadata, MetadataCommand, Package};

use crate::run;

/// The workspace that this program was built from.
pub(crate) struct Workspace {
    /// The folder of the root manifest.
    pub(crate) root: PathBuf,
    /// Where cargo builds: `target/` unless the environment says otherwise.
    pub(crate) target: PathBuf,
    /// Packages, targets and resolved dependencies for the machine at hand.
    pub(crate) metadata: Metadata,
}

impl Workspace {
    /// Asks cargo for the workspace around this crate.
    pub(crate) fn find() -> Result<Self> {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"))
            .ancestors()
            .nth(2)
            .context("the folder of `xtask` no longer lies two levels below the root of the repository")?
            .to_owned();
        // Without the filter, cargo would download what only other operating systems need.
        let metadata = MetadataCommand::new()
            .cargo_path(cargo_program())
            .current_dir(&root)
            .other_options(vec!["--locked".into(), "--filter-platform".into(), host()?])
            .exec()
            .context("cargo cannot describe the workspace (is `Cargo.lock` up to date?)")?;
        let target = metadata.target_directory.clone().into_std_path_buf();
        Ok(Self { root, target, metadata })
    }

    /// The members, in the order of their names.
    pub(crate) fn members(&self) -> Vec<&Package> {
        let mut members = self.metadata.workspace_packages();
        members.sort_by(|a, b| a.name.cmp(&b.name));
        members
    }

    /// Cargo with a task, started in the root; it keeps quiet about progress unless a person watches.
    pub(crate) fn cargo(&self, task: &str) -> Command {
        let mut command = Command::new(cargo_program());
        command.current_dir(&self.root).arg(task).arg("--locked");
        if !std::io::stdout().is_terminal() {
            command.arg("--quiet");
        }
        forget_own_build(&mut command);
        command
    }

    /// The files of the repository, relative to its root: those that git tracks and new ones that it does not ignore.
    pub(crate) fn files(&self) -> Result<Vec<PathBuf>> {
        let mut git = Command::new("git");
        git.current_dir(&self.root).args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"]);
        let listing = run::output(&mut git).context("the chores ask git which files belong to the repository")?;
        let mut files: Vec<PathBuf> = listing.split_terminator('\0').map(PathBuf::from).collect();
        files.retain(|file| self.root.join(file).is_file());
        files.sort();
        files.dedup();
        Ok(files)
    }
}

/// The cargo that runs this program.
pub(crate) fn cargo_program() -> OsString {
    env::var_os("CARGO").unwrap_or_else(|| "cargo".into())
}

/// The target triple of the machine at hand.
pub(crate) fn host() -> Result<String> {
    let version = run::output(Command::new("rustc").arg("-vV"))?;
    version.lines().find_map(|line| line.strip_prefix("host: ")).map(str::to_owned).context("`rustc -vV` names no host")
}

/// Removes what `cargo run` tells this program about its own build: build scripts that look at such variables (ring's
/// does) would otherwise run again, and everything above them be built again, after each change of the caller.
pub(crate) fn forget_own_build(command: &mut Command) {
    const OWN: [&str; 6] = [
        "CARGO_MANIFEST_DIR",
        "CARGO_MANIFEST_PATH",
        "CARGO_BIN_NAME",
        "CARGO_CRATE_NAME",
        "CARGO_PRIMARY_PACKAGE",
        "OUT_DIR",
    ];
    for (name, _) in env::vars_os() {
        let text = name.to_string_lossy();
        if OWN.contains(&text.as_ref()) || text.starts_with("CARGO_PKG_") {
            command.env_remove(&name);
        }
    }
}
