//! Journals that an earlier program started: what they hold is told as before, and they get this program's tables.

mod common;

use std::{collections::BTreeMap, path::Path};

use common::{FIELD, at, bring, count, doc, int, start, visit};
use ligule_journal::{Filter, Journal, JournalError};
use ligule_observation::{field::Field, record::Void};
use rusqlite::{Connection, params};

/// A journal with corrections, a void and two kinds, and the keys of its observations in order.
fn season(folder: &Path) -> Vec<String> {
    let journal = start(folder, 1);
    let field = Field { id: FIELD.into(), name: "home-80".into(), zone: "America/Chicago".into(), ..Field::default() };
    journal.put_field(&field, "person 1", at(0)).expect("puts");
    let mut keys = Vec::new();
    for n in 0..6 {
        let mut new = count(&visit("person 1", n / 2 * 86_400), 290 + n as i64);
        new.at = Some(at(n as i64 / 2 * 86_400 + n as i64));
        if n % 3 == 0 {
            new.kind = "leaf-stage".into();
        }
        if let Some(width) = new.values.get_mut("row_width") {
            width.entered = Some("30in".into());
        }
        keys.extend(journal.record(&doc(), Some("corn"), &[new], at(n as i64)).expect("records"));
    }
    journal.amend(&keys[1], "plants", &int(301), "person 1", at(10)).expect("amends");
    journal
        .void(&keys[5], &Void { why: "twice".into(), by: "person 1".into(), at: at(11), also: Vec::new() })
        .expect("voids");
    keys
}

/// Turns a journal's tables back into those of an earlier schema.
fn turn_back(folder: &Path, earlier: &str) {
    let values: Vec<_> = Journal::open(folder)
        .and_then(|journal| journal.records(&Filter::default()))
        .expect("reads")
        .into_iter()
        .map(|r| (r.key, serde_json::to_string(&r.values).expect("plain data")))
        .collect();
    let raw = Connection::open(folder.join("journal.sqlite")).expect("opens");
    raw.execute_batch(&format!(
        "drop table kind;
         alter table chunk rename to later;
         create table chunk (doc blob not null, n integer not null, bytes blob not null, primary key (doc, n));
         insert into chunk select * from later;
         drop table later;
         {earlier}"
    ))
    .expect("goes back");
    for (key, values) in values {
        raw.execute("update observation set \"values\" = ?2 where key = ?1", params![key, values]).expect("goes back");
    }
}

/// What the schemas before had and had not; of schema 1 there were two with different indexes.
const EARLIER: [&str; 3] = [
    "alter table doc drop column seen;
     alter table actor add column seq integer not null default 0;
     drop table visit;
     create index observation_key on observation (key);
     create index observation_kind on observation (kind);
     update meta set value = 1 where name = 'schema'",
    "alter table doc drop column seen;
     alter table actor add column seq integer not null default 0;
     drop table visit;
     create index observation_key on observation (key);
     create index observation_kind_at on observation (kind, doc, at);
     create index observation_at on observation (doc, at);
     update meta set value = 1 where name = 'schema'",
    "create index observation_kind on observation (kind);
     update meta set value = 2 where name = 'schema'",
];

/// The columns of every table and index, by name.
fn layout(folder: &Path) -> BTreeMap<String, Vec<String>> {
    let raw = Connection::open(folder.join("journal.sqlite")).expect("opens");
    let mut names = raw.prepare("select type, name from sqlite_master order by name").expect("reads");
    let names: Vec<(String, String)> =
        names.query_map([], |r| Ok((r.get(0)?, r.get(1)?))).and_then(Iterator::collect).expect("reads");
    let columns = |kind: &str, name: &str| -> Vec<String> {
        let mut columns = raw.prepare(&format!("pragma {kind}_info({name})")).expect("reads");
        // Of an index the third column is the name, of a table the second.
        let at = if kind == "index" { 2 } else { 1 };
        let mut all: Vec<String> = columns.query_map([], |r| r.get(at)).and_then(Iterator::collect).expect("reads");
        all.sort();
        all
    };
    names.into_iter().map(|(kind, name)| (name.clone(), columns(&kind, &name))).collect()
}

#[test]
fn an_earlier_journal_gets_the_tables_and_tells_the_same() {
    for earlier in EARLIER {
        let folder = tempfile::tempdir().expect("a folder");
        let (old, new) = (folder.path().join("old"), folder.path().join("new"));
        let keys = season(&old);
        drop(start(&new, 2));
        let told = |journal: &Journal| {
            let all = journal.records(&Filter::default()).expect("reads");
            let of_kind = Filter { kind: Some("leaf-stage".into()), ..Filter::default() };
            let seen = journal.last_seen("leaf-stage").expect("reads");
            let writers = journal.documents().expect("reads").into_iter().map(|d| d.vector).collect::<Vec<_>>();
            (all, journal.records(&of_kind).expect("reads"), seen, journal.fields().expect("reads"), writers)
        };
        let before = told(&Journal::open(&old).expect("opens"));
        let seen = &before.2[FIELD];
        assert_eq!(seen.visit.as_ref().map(|last| last.at), Some(at(2 * 86_400 + 4)), "the last one is void");
        assert_eq!(seen.of_kind.iter().map(|r| r.key.as_str()).collect::<Vec<_>>(), [&keys[3]]);
        turn_back(&old, earlier);
        assert_ne!(layout(&old), layout(&new));

        let journal = Journal::open(&old).expect("opens");
        assert_eq!(layout(&old), layout(&new), "{earlier}");
        assert_eq!(told(&journal), before, "{earlier}");
        assert_eq!(journal.verify().expect("reads").findings, [], "{earlier}");
        assert_eq!(journal.doc_of(&keys[2]).expect("there"), doc());
        assert_eq!(journal.history(&keys[1]).expect("there").len(), 3);
        // Whoever wrote goes on under the same actor.
        journal.amend(&keys[0], "plants", &int(1), "person 1", at(20)).expect("amends");
        journal.record(&doc(), None, &[count(&visit("person 1", 900_000), 3)], at(21)).expect("records");
        let actors = |vectors: &[BTreeMap<Vec<u8>, u64>]| vectors.iter().map(BTreeMap::len).sum::<usize>();
        assert_eq!(actors(&told(&journal).4), actors(&before.4));
        assert_eq!(journal.verify().expect("reads").findings, []);
        let peer = Journal::open(&new).expect("opens");
        assert!(bring(&journal, &peer) > 0);
        assert_eq!(peer.root_digest().expect("reads"), journal.root_digest().expect("reads"));
    }
}

/// What the lists tell of the last observations follows every way in which one stops being the last.
#[test]
fn what_was_seen_last_follows_voids_and_exchanges() {
    let folder = tempfile::tempdir().expect("a folder");
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let last = |journal: &Journal| {
        let seen = journal.last_seen("stand-count").expect("reads").remove(FIELD);
        seen.and_then(|seen| seen.visit).map(|last| (last.at, last.by))
    };
    assert_eq!(last(&a), None);
    let one = |person: &str, n: u64| [count(&visit(person, n), 3)];
    let first = a.record(&doc(), None, &one("person 1", 50), at(0)).expect("records");
    // Written later, observed earlier.
    a.record(&doc(), None, &one("person 1", 20), at(60)).expect("records");
    assert_eq!(last(&a), Some((at(50), "person 1".to_owned())));
    bring(&a, &b);
    let theirs = b.record(&doc(), None, &one("person 2", 70), at(80)).expect("records");
    bring(&b, &a);
    assert_eq!(last(&a), Some((at(70), "person 2".to_owned())));
    let void = |key: &str, n| {
        (key.to_owned(), Void { why: "twice".into(), by: "person 1".into(), at: at(n), also: Vec::new() })
    };
    let (key, why) = void(&theirs[0], 90);
    a.void(&key, &why).expect("voids");
    assert_eq!(last(&a), Some((at(50), "person 1".to_owned())));
    bring(&a, &b);
    assert_eq!(last(&b), last(&a));
    let (key, why) = void(&first[0], 91);
    b.void(&key, &why).expect("voids");
    assert_eq!(last(&b), Some((at(20), "person 1".to_owned())));
    for journal in [&a, &b] {
        assert_eq!(journal.verify().expect("reads").findings, []);
    }
    // A row that is not what was written is found, and made anew.
    let raw = Connection::open(folder.path().join("b/journal.sqlite")).expect("opens");
    raw.execute("update doc set seen = '{}' where id = ?1", [doc().id().0]).expect("spoils");
    raw.execute("delete from visit", []).expect("spoils");
    raw.execute("delete from kind", []).expect("spoils");
    let counts = Filter { kind: Some("stand-count".into()), ..Filter::default() };
    assert_eq!(b.records(&counts).expect("reads"), []);
    assert_eq!(last(&b), None);
    assert!(matches!(b.doc_of(&key), Err(JournalError::UnknownObservation { .. })));
    assert!(!b.verify().expect("reads").findings.is_empty());
    b.rebuild().expect("rebuilds");
    assert_eq!(b.verify().expect("reads").findings, []);
    assert_eq!(last(&b), Some((at(20), "person 1".to_owned())));
    assert_eq!(b.doc_of(&key).expect("there"), doc());
    assert_eq!(b.records(&counts).expect("reads").len(), 3);
}
