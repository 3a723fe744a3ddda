//! Recording into several documents at once: all of it or nothing, and in the order given.

mod common;

use common::{FIELD, at, bring, count, doc, start, visit};
use ligule_journal::{Batch, Filter, Journal, JournalError};
use ligule_observation::{
    document::NewObservation,
    error::DocumentError,
    ids::{CrewId, DocKey, Feature},
};

fn of_year(season: i32) -> DocKey {
    DocKey { season, ..doc() }
}

fn batch(document: DocKey, new: Vec<NewObservation>) -> Batch {
    Batch { document, crop: Some("corn".into()), new }
}

fn plants(journal: &Journal, key: &str) -> Option<i64> {
    journal.record_by_key(key).expect("is there").int("plants")
}

#[test]
fn keys_come_in_order_and_everything_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let one = |n: u64, person: &str, plants| count(&visit(person, n), plants);
    // One document comes twice, and one list has the work of two people in turn.
    let batches = [
        batch(of_year(2026), vec![one(10, "person 1", 1), one(10, "person 1", 2), one(20, "person 2", 3)]),
        batch(of_year(2025), vec![one(30, "person 1", 4)]),
        batch(of_year(2026), vec![one(10, "person 1", 5), one(20, "person 2", 6)]),
        batch(of_year(2024), vec![]),
    ];
    let keys = a.record_all(&batches, at(100)).expect("records");
    assert_eq!(keys.iter().map(Vec::len).collect::<Vec<_>>(), [3, 1, 2, 0]);
    let told: Vec<_> = keys.iter().flatten().map(|key| plants(&a, key)).collect();
    assert_eq!(told, (1..=6).map(Some).collect::<Vec<_>>());
    // A visit that goes on in a later list counts on.
    let number = |key: &str| key.rsplit_once('-').map(|(_, n)| n.to_owned());
    let numbers: Vec<_> = keys.iter().flatten().filter_map(|key| number(key)).collect();
    assert_eq!(numbers, ["01", "02", "01", "01", "03", "02"]);
    for (key, person) in [(&keys[0][1], "person 1"), (&keys[0][2], "person 2"), (&keys[2][1], "person 2")] {
        assert_eq!(a.record_by_key(key).expect("is there").by, person);
    }
    assert_eq!(a.verify().expect("reads").findings, []);
    // Another process sees it, goes on, and so does this one.
    let other = Journal::open(&folder.path().join("a")).expect("opens");
    assert_eq!(other.records(&Filter::default()).expect("reads"), a.records(&Filter::default()).expect("reads"));
    other.record(&of_year(2025), None, &[one(31, "person 1", 7)], at(101)).expect("records");
    a.record_all(&[batch(of_year(2025), vec![one(30, "person 1", 8)])], at(102)).expect("records");
    assert_eq!(a.records(&Filter::default()).expect("reads").len(), 8);
    // An actor a person and document, however often they write.
    let actors = |season| {
        let all = a.documents().expect("reads");
        all.iter().find(|d| d.key == of_year(season)).map(|d| d.vector.len())
    };
    // The genesis change has one of its own.
    assert_eq!((actors(2026), actors(2025)), (Some(3), Some(2)));
    bring(&a, &b);
    assert_eq!(b.root_digest().expect("reads"), a.root_digest().expect("reads"));
    assert_eq!(b.verify().expect("reads").findings, []);
}

#[test]
fn one_bad_observation_keeps_all_of_them_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    let good = |n: u64| count(&visit("person 1", n), 3);
    let first = journal.record(&of_year(2026), Some("corn"), &[good(10)], at(0)).expect("records");
    let before = (journal.root_digest().expect("reads"), journal.records(&Filter::default()).expect("reads"));
    let mut no_ulid = good(20);
    no_ulid.visit.id = "yesterday".into();
    let mut bad_name = good(20);
    bad_name.visit.by = "one\ntwo".into();
    let stranger = DocKey { crew: CrewId([9; 16]), feature: Feature::Field(FIELD.into()), season: 2026 };
    for bad in [
        batch(of_year(2024), vec![good(40), no_ulid]),
        batch(of_year(2024), vec![good(40), bad_name]),
        batch(stranger, vec![good(40)]),
    ] {
        let batches = [batch(of_year(2026), vec![good(10)]), batch(of_year(2025), vec![good(30)]), bad.clone()];
        let refused = journal.record_all(&batches, at(100)).expect_err("refused");
        assert!(
            matches!(
                refused,
                JournalError::Document(DocumentError::BadVisit { .. })
                    | JournalError::BadPerson { .. }
                    | JournalError::OtherCrew { .. }
            ),
            "{refused:?}"
        );
        let now = (journal.root_digest().expect("reads"), journal.records(&Filter::default()).expect("reads"));
        assert_eq!(now, before, "{bad:?}");
    }
    // What stood in memory of the attempts is not taken for what is kept, and the visit goes on.
    let next = journal.record_all(&[batch(of_year(2026), vec![good(10)])], at(101)).expect("records").concat();
    assert_eq!(next, [first[0].replace("-01", "-02")]);
    assert_eq!([plants(&journal, &first[0]), plants(&journal, &next[0])], [Some(3), Some(3)]);
    let again = Journal::open(folder.path()).expect("opens");
    assert_eq!(again.records(&Filter::default()).expect("reads").len(), 2);
    assert_eq!(again.verify().expect("reads").findings, []);
}
