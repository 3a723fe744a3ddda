//! What may lie in the repository, and what no committed file may say.

use std::collections::BTreeSet;
use std::env;
use std::fs;
use std::path::Path;
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::run;
use crate::workspace::Workspace;

/// The folders at the top.
const FOLDERS: &[&str] = &["crates", "plugins", "schemas", "tests", "demo"];

/// The files at the top, beside those that begin with a dot.
const FILES: &[&str] = &["Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "LICENSE-MIT", "LICENSE-APACHE"];

/// Files that must be there.
const REQUIRED: &[&str] =
    &["README.md", "DEVELOPERS.md", "LICENSE-MIT", "LICENSE-APACHE", ".ci/run", "crates/README.md"];

/// Text that belongs to one machine or to one way of fetching packages, and means nothing to a reader elsewhere.
///
/// Each is joined from two halves, so that this file does not hold what it looks for.
const FOREIGN: &[(&str, &str)] = &[
    (concat!("/ro", "ot/"), "a path of one machine"),
    (concat!("/ho", "me/"), "a path of one machine"),
    (concat!("/wo", "rk/"), "a path of one machine"),
    (concat!("/tmp/", "ligule"), "a path of one machine"),
    (concat!("shared/", "design"), "a note outside the repository"),
    (concat!("shared/", "studies"), "a note outside the repository"),
    (concat!("shared/", "handbook"), "a note outside the repository"),
    (concat!("hand", "book/corn"), "a note outside the repository"),
    (concat!("hand", "book/pests"), "a note outside the repository"),
    (concat!("index.", "crates.io"), "a host of a package registry"),
    (concat!("static.", "crates.io"), "a host of a package registry"),
    (concat!("//", "crates.io"), "a host of a package registry"),
    (concat!("pypi", ".org"), "a host of a package registry"),
    (concat!("python", "hosted"), "a host of a package registry"),
    (concat!("registry.", "npmjs"), "a host of a package registry"),
    (concat!("deb.", "debian.org"), "a host of a package registry"),
];

/// Fails with everything that lies in the wrong place, is missing, or says what it must not.
pub(crate) fn check(workspace: &Workspace) -> Result<()> {
    let files = workspace.files()?;
    let mut wrong = Vec::new();
    for file in &files {
        wrong.extend(misplaced(file));
        let bytes = fs::read(workspace.root.join(file)).with_context(|| format!("cannot read {}", file.display()))?;
        wrong.extend(foreign(file, &bytes));
    }
    for required in REQUIRED {
        if !files.iter().any(|file| file == Path::new(required)) {
            wrong.push(format!("`{required}` is missing"));
        }
    }
    wrong.extend(unlisted_crates(workspace)?);
    wrong.extend(stale_lock_file(workspace)?);
    if !wrong.is_empty() {
        bail!("{}", wrong.join("\n"));
    }
    Ok(())
}

fn misplaced(file: &Path) -> Option<String> {
    let mut parts = file.iter();
    let top = parts.next()?.to_str()?;
    let is_folder = parts.next().is_some();
    let allowed = top.starts_with('.') || if is_folder { FOLDERS.contains(&top) } else { FILES.contains(&top) };
    (!allowed).then(|| format!("`{}`: the top of the repository has no place for `{top}`", file.display()))
}

/// Looks at bytes, not at text: a built rule pack can carry a path of the machine that built it.
fn foreign(file: &Path, bytes: &[u8]) -> Vec<String> {
    FOREIGN
        .iter()
        .filter_map(|(text, what)| {
            let at = bytes.windows(text.len()).position(|window| window == text.as_bytes())?;
            let line = bytes[..at].iter().filter(|byte| **byte == b'\n').count() + 1;
            Some(format!("{}:{line}: `{text}` is {what}", file.display()))
        })
        .collect()
}

/// In CI, the start of this very program has brought a stale `Cargo.lock` up to date; git sees it.
fn stale_lock_file(workspace: &Workspace) -> Result<Option<String>> {
    if env::var_os("CI").is_none() {
        return Ok(None);
    }
    let mut git = Command::new("git");
    let changed = run::output(git.current_dir(&workspace.root).args(["diff", "--name-only", "--", "Cargo.lock"]))?;
    let message = "`Cargo.lock` as committed does not fit the manifests: `cargo install --locked` would fail";
    Ok((!changed.is_empty()).then(|| message.to_owned()))
}

fn unlisted_crates(workspace: &Workspace) -> Result<Vec<String>> {
    let folder = workspace.root.join("crates");
    let mut present = BTreeSet::new();
    for entry in fs::read_dir(&folder)? {
        let entry = entry?;
        if entry.path().join("Cargo.toml").is_file() {
            present.insert(entry.file_name().to_string_lossy().into_owned());
        }
    }
    let listing = fs::read_to_string(folder.join("README.md")).context("cannot read crates/README.md")?;
    let listed = listed_crates(&listing);
    let missing = present.difference(&listed).map(|name| format!("crates/README.md has no line for `{name}`"));
    let surplus =
        listed.difference(&present).map(|name| format!("crates/README.md lists `{name}`, which is not there"));
    Ok(missing.chain(surplus).collect())
}

/// The folders that a listing names: its lines begin with ``- `name`: ``.
fn listed_crates(listing: &str) -> BTreeSet<String> {
    listing
        .lines()
        .filter_map(|line| line.strip_prefix("- `")?.split_once("`: "))
        .map(|(name, _)| name.to_owned())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_known_folders_and_files_stand_at_the_top() {
        for allowed in ["crates/units/src/lib.rs", ".ci/run", "README.md", ".gitignore"] {
            assert_eq!(misplaced(Path::new(allowed)), None);
        }
        for refused in ["docs/plan.md", "notes.txt", "crates"] {
            assert!(misplaced(Path::new(refused)).is_some(), "{refused}");
        }
    }

    #[test]
    fn a_path_of_a_machine_is_found_with_its_line() {
        let text = format!("first\nsee {}ann/field", FOREIGN[1].0);
        let found = foreign(Path::new("a.md"), text.as_bytes());
        assert_eq!(found.len(), 1);
        assert!(found[0].starts_with("a.md:2: "), "{}", found[0]);
        assert!(foreign(Path::new("a.md"), b"see the field").is_empty());
    }

    #[test]
    fn the_listing_of_crates_is_read_by_its_lines() {
        let listing = "# Crates\n\n- `units`: quantities\n- `sync`: exchange\nand `more` text\n";
        assert_eq!(listed_crates(listing), BTreeSet::from(["sync".to_owned(), "units".to_owned()]));
    }
}
