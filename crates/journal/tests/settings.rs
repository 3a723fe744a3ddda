//! What a crew has set is in its document; the list of it is held against that.

mod common;

use common::{at, start};
use ligule_observation::settings::Settings;

fn set(name: &str, value: &str) -> Settings {
    Settings::from([(name.to_owned(), value.to_owned())])
}

/// A list of settings that is not what the document says is found, and made anew.
#[test]
fn a_list_of_settings_that_differs_is_found_and_made_anew() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    assert!(journal.verify().expect("reads").findings.is_empty(), "nothing is set and nothing is listed");
    journal.set_settings(&set("units", "metric"), "Ada", at(0)).expect("writes");
    // A setting of a program to come is kept as it is.
    journal.set_settings(&set("calendar", "lunar"), "Ada", at(1)).expect("writes");
    assert!(journal.verify().expect("reads").findings.is_empty());
    for tampered in [r#"{"units":"us","calendar":"lunar"}"#, r#"{"units":"metric"}"#, "no JSON"] {
        let file = rusqlite::Connection::open(folder.path().join("journal.sqlite")).expect("opens");
        let changed = file.execute("update kv set value = ?1 where name = 'crew-settings'", [tampered.as_bytes()]);
        assert_eq!(changed.expect("writes"), 1);
        let found = journal.verify().expect("reads").findings;
        assert!(found.len() == 1 && found[0].next.contains("rebuild"), "{tampered}: {found:?}");
        journal.rebuild().expect("rebuilds");
        assert!(journal.verify().expect("reads").findings.is_empty(), "{tampered}");
        let both = Settings::from([("units".into(), "metric".into()), ("calendar".into(), "lunar".into())]);
        assert_eq!(journal.settings().expect("reads"), both);
    }
}
