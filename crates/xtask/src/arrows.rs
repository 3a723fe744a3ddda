//! The arrows between our crates, and the one door of each heavy dependency.

use std::collections::BTreeSet;

use anyhow::{Result, bail};
use cargo_metadata::{DependencyKind, Package};

use crate::workspace::Workspace;

/// One line of the table of crates: what it may use of ours, and which heavy dependencies enter through it alone.
struct Crate {
    folder: &'static str,
    may_use: &'static [&'static str],
    brings_in: &'static [&'static str],
}

/// The whole architecture in one table; an arrow points from a crate to what it may use.
///
/// A name in `brings_in` stands for its family too: `arrow` for `arrow-schema`.
const CRATES: &[Crate] = &[
    Crate { folder: "units", may_use: &[], brings_in: &["uom"] },
    Crate { folder: "agronomy", may_use: &["units"], brings_in: &[] },
    Crate { folder: "observation", may_use: &["units"], brings_in: &["automerge"] },
    Crate { folder: "journal", may_use: &["observation"], brings_in: &["rusqlite"] },
    Crate { folder: "sync", may_use: &["observation"], brings_in: &[] },
    Crate { folder: "transport", may_use: &["sync"], brings_in: &["iroh", "mdns-sd"] },
    Crate {
        folder: "archive",
        may_use: &["observation", "units"],
        brings_in: &["arrow", "parquet", "object_store", "deltalake"],
    },
    Crate { folder: "advice", may_use: &["observation", "units"], brings_in: &[] },
    Crate { folder: "query", may_use: &["archive", "agronomy", "advice"], brings_in: &["datafusion"] },
    Crate { folder: "rules", may_use: &["advice", "agronomy"], brings_in: &["wasmtime"] },
    Crate {
        folder: "engine",
        may_use: &[
            "units",
            "agronomy",
            "observation",
            "journal",
            "sync",
            "transport",
            "archive",
            "advice",
            "query",
            "rules",
        ],
        brings_in: &[],
    },
    Crate { folder: "report", may_use: &["engine"], brings_in: &["plotters", "askama"] },
    Crate { folder: "web", may_use: &["engine", "report"], brings_in: &["axum"] },
    Crate { folder: "cli", may_use: &["engine", "report", "web"], brings_in: &["clap"] },
    Crate { folder: "rule-sdk", may_use: &[], brings_in: &["wit-bindgen"] },
];

/// Packages that no user of the program receives: they test it or look after it, and may use anything.
const CHORES: &[&str] = &["xtask", "ligule-testkit", "ligule-tests"];

/// Dependencies that must be there in one version only: values of two versions do not mix.
const ONE_VERSION: &[&str] = &["arrow", "parquet", "object_store", "datafusion"];

/// The name of our package in a folder of `crates/`.
fn package_name(folder: &str) -> String {
    if folder == "cli" { "ligule".to_owned() } else { format!("ligule-{folder}") }
}

/// Fails with every arrow that is not in the table.
pub(crate) fn check(workspace: &Workspace) -> Result<()> {
    let members = workspace.members();
    let ours: BTreeSet<&str> = members.iter().map(|package| package.name.as_str()).collect();
    let mut wrong = Vec::new();
    for package in &members {
        wrong.extend(wrong_arrows(package, &ours));
    }
    let lock = std::fs::read_to_string(workspace.root.join("Cargo.lock"))?;
    wrong.extend(several_versions(&lock));
    if !wrong.is_empty() {
        bail!(
            "{}\nThe allowed arrows stand in the table `CRATES` of crates/xtask/src/arrows.rs; a new one needs a reason that can be shown",
            wrong.join("\n")
        );
    }
    Ok(())
}

fn wrong_arrows(package: &Package, ours: &BTreeSet<&str>) -> Vec<String> {
    let name = package.name.as_str();
    if CHORES.contains(&name) {
        return Vec::new();
    }
    let Some(row) = CRATES.iter().find(|row| package_name(row.folder) == name) else {
        return vec![format!("`{name}` is a member of the workspace but has no line in the table")];
    };
    let mut wrong = Vec::new();
    for dependency in &package.dependencies {
        let used = dependency.name.as_str();
        if ours.contains(used) {
            let for_tests = dependency.kind == DependencyKind::Development && used == "ligule-testkit";
            if !for_tests && row.may_use.iter().all(|folder| package_name(folder) != used) {
                wrong.push(format!("`{name}` uses `{used}`, and no arrow points there"));
            }
        } else if let Some(door) = door_of(used)
            && door.folder != row.folder
        {
            wrong.push(format!("`{name}` uses `{used}`, which enters through `{}` alone", package_name(door.folder)));
        }
    }
    wrong
}

/// The crate through which an outside package enters, if it is a heavy one.
fn door_of(dependency: &str) -> Option<&'static Crate> {
    let family = |heavy: &str| {
        dependency.strip_prefix(heavy).is_some_and(|rest| rest.is_empty() || rest.starts_with(['-', '_']))
    };
    CRATES.iter().find(|row| row.brings_in.iter().any(|heavy| family(heavy)))
}

fn several_versions(lock: &str) -> Vec<String> {
    ONE_VERSION
        .iter()
        .filter_map(|name| {
            let line = format!("name = \"{name}\"");
            let versions = lock.lines().filter(|candidate| *candidate == line).count();
            (versions != 1).then(|| format!("Cargo.lock holds {versions} versions of `{name}`, and must hold one"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_crate_uses_one_that_stands_below_it_in_the_table() {
        for (place, row) in CRATES.iter().enumerate() {
            for used in row.may_use {
                let used_place = CRATES.iter().position(|other| other.folder == *used);
                assert!(used_place.is_some_and(|other| other < place), "{} → {used}", row.folder);
            }
        }
    }

    #[test]
    fn a_family_enters_through_one_door() {
        assert_eq!(door_of("arrow-schema").map(|row| row.folder), Some("archive"));
        assert_eq!(door_of("clap_mangen").map(|row| row.folder), Some("cli"));
        assert!(door_of("arrowhead").is_none());
    }

    #[test]
    fn a_second_version_in_the_lock_file_is_seen() {
        let lock = "name = \"arrow\"\nname = \"parquet\"\nname = \"object_store\"\nname = \"datafusion\"\n";
        assert!(several_versions(lock).is_empty());
        let two = format!("{lock}name = \"arrow\"\n");
        assert_eq!(several_versions(&two), ["Cargo.lock holds 2 versions of `arrow`, and must hold one"]);
        assert_eq!(several_versions("").len(), ONE_VERSION.len());
    }
}
