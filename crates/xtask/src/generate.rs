//! Files in the repository that a program writes, and the check that they are what it writes today.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::run;
use crate::workspace::{self, Workspace};

/// A folder of the repository whose files one program writes.
///
/// The program is an example of its package. It takes one argument, the folder to write into, and writes the same bytes
/// on every machine.
struct Generated {
    package: &'static str,
    example: &'static str,
    folder: &'static str,
}

/// Everything that is generated; a new generator is a new line.
const GENERATED: &[Generated] =
    &[Generated { package: "ligule-archive", example: "write_schemas", folder: "schemas/archive" }];

/// Writes the generated files anew, or with `check` tells whether that would change one.
pub(crate) fn run(workspace: &Workspace, check: bool) -> Result<()> {
    if check {
        return self::check(workspace);
    }
    for generated in GENERATED {
        println!("   {}", generated.folder);
        let folder = workspace.root.join(generated.folder);
        for name in files(&folder)?.keys().filter(|name| !is_written_by_hand(name)) {
            fs::remove_file(folder.join(name))?;
        }
        generated.write(workspace, &folder)?;
    }
    Ok(())
}

/// Fails with every generated file that differs from what its program writes.
pub(crate) fn check(workspace: &Workspace) -> Result<()> {
    let mut stale = Vec::new();
    for generated in GENERATED {
        let fresh = tempfile::tempdir().context("cannot make a temporary folder")?;
        generated.write(workspace, fresh.path())?;
        let committed = files(&workspace.root.join(generated.folder))?;
        stale.extend(differences(generated.folder, &committed, &files(fresh.path())?));
    }
    if !stale.is_empty() {
        bail!("{}\n`cargo xtask generate` writes them anew", stale.join("\n"));
    }
    Ok(())
}

impl Generated {
    fn write(&self, workspace: &Workspace, folder: &Path) -> Result<()> {
        fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
        // All examples and tests, not this one alone: so cargo finds its dependencies as the tests have built them.
        let mut build = workspace.cargo("build");
        run::command(build.args(["--workspace", "--lib", "--bins", "--examples", "--tests"]))?;
        let program = workspace.target.join("debug").join("examples").join(self.example);
        let mut example = Command::new(&program);
        workspace::forget_own_build(&mut example);
        run::command(example.arg(folder))
            .with_context(|| format!("the example `{}` of `{}` writes {}", self.example, self.package, self.folder))
    }
}

/// A folder of generated files may hold a page that explains them.
fn is_written_by_hand(name: &Path) -> bool {
    name == Path::new("README.md")
}

/// The files of a folder and below, by their names relative to it.
fn files(folder: &Path) -> Result<BTreeMap<PathBuf, Vec<u8>>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(current) = folders.pop() {
        let entries = fs::read_dir(&current).with_context(|| format!("cannot read {}", current.display()))?;
        for entry in entries {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.insert(path.strip_prefix(folder)?.to_owned(), fs::read(&path)?);
            }
        }
    }
    Ok(found)
}

fn differences(
    folder: &str,
    committed: &BTreeMap<PathBuf, Vec<u8>>,
    fresh: &BTreeMap<PathBuf, Vec<u8>>,
) -> Vec<String> {
    let said = |name: &PathBuf, what: &str| format!("{folder}/{}: {what}", name.display());
    let written = fresh.iter().filter_map(|(name, bytes)| match committed.get(name) {
        None => Some(said(name, "missing")),
        Some(kept) if kept != bytes => Some(said(name, "out of date")),
        Some(_) => None,
    });
    let surplus = committed
        .keys()
        .filter(|name| !fresh.contains_key(*name) && !is_written_by_hand(name))
        .map(|name| said(name, "no longer generated"));
    written.chain(surplus).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_a_stale_and_a_surplus_file_are_named() {
        let bytes = |text: &str| text.as_bytes().to_vec();
        let committed = BTreeMap::from([
            (PathBuf::from("README.md"), bytes("by hand")),
            (PathBuf::from("same"), bytes("1")),
            (PathBuf::from("stale"), bytes("1")),
            (PathBuf::from("surplus"), bytes("1")),
        ]);
        let fresh = BTreeMap::from([
            (PathBuf::from("same"), bytes("1")),
            (PathBuf::from("stale"), bytes("2")),
            (PathBuf::from("new"), bytes("1")),
        ]);
        assert_eq!(
            differences("f", &committed, &fresh),
            ["f/new: missing", "f/stale: out of date", "f/surplus: no longer generated"]
        );
    }
}
