//! The outside readers are those that the requirements name: a comparison with them is worth what they are.

use std::collections::BTreeMap;

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

/// Reads `name==version` lines; names compare as Python's packaging does.
fn versions(text: &str) -> BTreeMap<String, String> {
    text.lines()
        .filter_map(|line| line.split_once("=="))
        .map(|(name, version)| (name.to_lowercase().replace('_', "-"), version.to_owned()))
        .collect()
}
