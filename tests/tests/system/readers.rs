//! The outside readers are those that the requirements name: a comparison with them is worth what they are.

use std::collections::{BTreeMap, BTreeSet};

use ligule_testkit::{repository_root, run_python};

#[test]
fn the_environment_holds_exactly_the_versions_required() {
    let path = repository_root().join("tests/python/requirements.txt");
    let requirements = std::fs::read_to_string(&path).unwrap();
    let required = versions(&requirements);
    assert!(required.len() >= 10, "{} names {} packages", path.display(), required.len());
    let mut installed = versions(&run_python("installed.py", [""; 0]));
    // The environment's own installer comes with Python.
    installed.retain(|name, _| name != "pip" && name != "setuptools");
    assert_eq!(installed, required);
}

/// The codes of regions are those of the standard, as another project prints them.
#[test]
fn regions_are_those_of_the_standard() {
    let path = repository_root().join("schemas/codelists/regions.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let ours: BTreeSet<&str> =
        text.lines().filter_map(|line| line.strip_prefix("code = \"")?.strip_suffix('"')).collect();
    let printed = run_python("regions.py", [""; 0]);
    let theirs: BTreeSet<&str> = printed.split_whitespace().collect();
    assert!(theirs.len() > 60, "{printed}");
    assert_eq!(ours, theirs);
}

/// Reads `name==version` lines; names compare as Python's packaging does.
fn versions(text: &str) -> BTreeMap<String, String> {
    text.lines()
        .filter_map(|line| line.split_once("=="))
        .map(|(name, version)| (name.to_lowercase().replace('_', "-"), version.to_owned()))
        .collect()
}
