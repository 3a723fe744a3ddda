//! `schemas/archive/` is what the kinds of this program give.

use std::path::Path;

use ligule_archive::kind::Kind;
use ligule_archive::reference::reference_markdown;
use ligule_observation::kinds::KindSet;

#[test]
fn the_printed_reference_is_what_the_kinds_give() {
    let kinds: Vec<Kind> = KindSet::builtin().iter().cloned().collect();
    let page = reference_markdown(&kinds).expect("kinds that do not contradict each other");
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schemas/archive/README.md");
    if std::env::var_os("LIGULE_REGENERATE").is_some() {
        std::fs::create_dir_all(file.parent().expect("a folder")).expect("the folder");
        std::fs::write(&file, &page).expect("the page");
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(
        kept == page,
        "schemas/archive/README.md is not what the kinds give: run this test with LIGULE_REGENERATE=1"
    );
}
