//! Recordings that are too large for one transaction: all of it or nothing, whenever the process ends, and once.

mod common;

use std::{
    cell::{Cell, RefCell},
    collections::BTreeSet,
    panic::{AssertUnwindSafe, catch_unwind},
    path::Path,
};

use common::{at, bring, count, doc, identity, start, visit};
use ligule_journal::{Batch, Filter, Journal, JournalError, Large, STAGED};
use ligule_observation::{
    document::NewObservation,
    ids::{DocKey, Feature},
};

/// Three parts, for each person's observations of each field are a change.
const FIELDS: usize = 250;
const EACH: usize = 2;

fn batches() -> Vec<Batch> {
    let of = |field: usize| {
        let document = DocKey { feature: Feature::Field(format!("01J00000000000000000000{field:03}")), ..doc() };
        let one = |n: usize, person| count(&visit(person, (field * 10 + n) as u64), n as i64);
        Batch { document, crop: Some("corn".into()), new: vec![one(0, "person 1"), one(1, "person 2")] }
    };
    (0..FIELDS).map(of).collect()
}

fn keys(journal: &Journal) -> Vec<String> {
    journal.records(&Filter::default()).expect("reads").into_iter().map(|record| record.key).collect()
}

/// Every observation is there once, in documents that are whole, and nothing is left over.
#[track_caller]
fn is_whole(journal: &Journal) {
    let kept = keys(journal);
    assert_eq!(kept.len(), FIELDS * EACH);
    assert_eq!(kept.iter().collect::<BTreeSet<_>>().len(), FIELDS * EACH, "each has a key of its own");
    assert_eq!(journal.verify().expect("reads").findings, []);
    assert_eq!(journal.kv_names(STAGED).expect("reads"), Vec::<String>::new());
}

/// Records until so many parts are recorded; there the process ends as if it were killed: nothing more is written, and the
/// system takes its lock.
fn cut_short_after(folder: &Path, parts: usize) {
    let journal = Journal::open(folder).expect("opens");
    let seen = Cell::new(0);
    let ended = catch_unwind(AssertUnwindSafe(|| {
        journal.record_large(&batches(), at(0), &|told| {
            if let Large::Recorded(..) = told {
                seen.set(seen.get() + 1);
                assert!(seen.get() < parts, "it ends here");
            }
        })
    }));
    assert!(ended.is_err() && seen.get() == parts);
}

fn finished(journal: &Journal) -> Vec<Large> {
    let told = RefCell::new(Vec::new());
    journal.finish_large(&|one| told.borrow_mut().push(one)).expect("finishes");
    told.into_inner()
}

#[test]
fn what_is_recorded_in_parts_is_told_in_order_and_kept_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    let told = RefCell::new(Vec::new());
    let given = journal.record_large(&batches(), at(0), &|one| told.borrow_mut().push(one)).expect("records");
    assert_eq!(told.into_inner(), [200, 400, 500].map(|n| Large::Recorded(n, 500)));
    is_whole(&journal);
    assert_eq!(given.iter().collect::<BTreeSet<_>>(), keys(&journal).iter().collect());
    for (n, key) in given.iter().enumerate() {
        let record = journal.record_by_key(key).expect("it is there");
        let of = (record.int("plants"), record.by.as_str(), record.crop.as_str());
        assert_eq!(of, (Some((n % 2) as i64), ["person 1", "person 2"][n % 2], "corn"));
        assert!(key.ends_with("-01"), "{key}");
    }
    assert_eq!(finished(&journal), []);
    // A visit goes on as it does after any other recording.
    let Batch { document, new, .. } = &batches()[7];
    let next = journal.record(document, None, &[count(&new[0].visit, 9)], at(1)).expect("records");
    assert_eq!(next, [format!("{}-02", new[0].visit.id)]);
}

#[test]
fn what_is_refused_is_refused_before_anything_is_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    let ill: [fn(&mut NewObservation); 3] = [
        |new| new.visit.id = "no ULID".into(),
        |new| new.visit.by = "two\nlines".into(),
        |new| new.at = Some("1969-07-20T20:17:40Z".parse().expect("a time")),
    ];
    for spoil in ill {
        let mut batches = batches();
        spoil(&mut batches[FIELDS - 1].new[1]);
        let refused = journal.record_large(&batches, at(0), &|told| panic!("{told:?}"));
        assert!(matches!(refused, Err(JournalError::Document(_) | JournalError::BadPerson { .. })), "{refused:?}");
        assert_eq!(keys(&journal), Vec::<String>::new());
        assert_eq!(journal.kv_names(STAGED).expect("reads"), Vec::<String>::new());
    }
}

#[test]
fn whoever_comes_next_finishes_what_was_cut_short() {
    for parts in 1..=2 {
        let folder = tempfile::tempdir().expect("a folder");
        drop(start(folder.path(), 1));
        cut_short_after(folder.path(), parts);
        let journal = Journal::open(folder.path()).expect("opens");
        assert_eq!(keys(&journal).len(), parts * 200);
        let mut expected = vec![Large::Finishing(500)];
        expected.extend([200, 400, 500][parts..].iter().map(|n| Large::Recorded(*n, 500)));
        assert_eq!(finished(&journal), expected);
        is_whole(&journal);
        // Or whoever records much next, who does not open the journal anew.
        let folder = tempfile::tempdir().expect("a folder");
        let journal = start(folder.path(), 1);
        cut_short_after(folder.path(), parts);
        let mut more = batches();
        more.iter_mut().for_each(|batch| batch.document.season = 2027);
        journal.record_large(&more, at(1), &|_| ()).expect("records");
        assert_eq!(keys(&journal).len(), 2 * FIELDS * EACH);
        assert_eq!(journal.kv_names(STAGED).expect("reads"), Vec::<String>::new());
    }
}

#[test]
fn rows_that_do_not_count_yet_are_dropped() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    cut_short_after(folder.path(), 1);
    // As if it had been ended before the last row was written.
    let rows = journal.kv_names(STAGED).expect("reads");
    let mark = rows.iter().min_by_key(|name| name.len()).expect("one");
    remove(folder.path(), mark);
    let before = keys(&journal);
    assert_eq!(finished(&journal), []);
    assert_eq!((keys(&journal), journal.kv_names(STAGED).expect("reads")), (before, Vec::new()));
}

fn remove(folder: &Path, name: &str) {
    let conn = rusqlite::Connection::open(folder.join("journal.sqlite")).expect("opens");
    assert_eq!(conn.execute("delete from kv where name = ?1", [name]).expect("writes"), 1);
}

#[test]
fn what_cannot_be_read_any_more_is_told_and_the_rest_is_recorded() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    cut_short_after(folder.path(), 1);
    remove(folder.path(), &journal.kv_names(STAGED).expect("reads")[1]);
    assert_eq!(finished(&journal).last(), Some(&Large::Lost(200)));
    assert_eq!(keys(&journal).len(), 300);
    assert_eq!(finished(&journal), [], "it is told once");
    assert_eq!(journal.verify().expect("reads").findings, []);
}

#[test]
fn while_its_process_lives_nobody_else_finishes_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    let other = Journal::open(folder.path()).expect("opens");
    let Batch { document, .. } = &batches()[0];
    let mut looked = 0;
    let looks = RefCell::new(&mut looked);
    journal
        .record_large(&batches(), at(0), &|told| {
            // Looks while the lock is held, and records what is small.
            assert_eq!(finished(&other), []);
            if let Large::Recorded(n, _) = told {
                assert_eq!(keys(&other).len(), n + **looks.borrow());
                let new = count(&visit("person 3", n as u64), 50);
                other.record(document, None, &[new], at(1)).expect("nobody waits");
                **looks.borrow_mut() += 1;
            }
        })
        .expect("records");
    assert_eq!((looked, keys(&journal).len()), (3, FIELDS * EACH + 3));
    assert_eq!(journal.verify().expect("reads").findings, []);
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir(to).expect("can be made");
    for entry in std::fs::read_dir(from).expect("reads") {
        let entry = entry.expect("reads");
        std::fs::copy(entry.path(), to.join(entry.file_name())).expect("copies");
    }
}

/// A folder that was copied in between goes on by itself, and so does a backup: each is whole, and together they are one.
#[test]
fn copies_that_were_made_in_between_are_whole_and_merge_into_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = |name: &str| folder.path().join(name);
    let journal = start(&place("here"), 1);
    std::fs::create_dir(place("backup")).expect("can be made");
    journal
        .record_large(&batches(), at(0), &|told| match told {
            Large::Recorded(200, _) => copy(&place("here"), &place("copy")),
            Large::Recorded(400, _) => journal.copy_into(&place("backup").join("journal.sqlite")).expect("copies"),
            _ => {}
        })
        .expect("records");
    let (copied, backup) =
        (Journal::open(&place("copy")).expect("opens"), Journal::open(&place("backup")).expect("opens"));
    assert_eq!((keys(&copied).len(), keys(&backup).len()), (200, 400));
    for other in [&copied, &backup] {
        assert!(matches!(finished(other)[..], [Large::Finishing(500), .., Large::Recorded(500, 500)]));
        is_whole(other);
    }
    assert_eq!(keys(&copied), keys(&journal));
    // Corrections of what was there when it was copied, and of what it recorded itself.
    for key in [&keys(&journal)[0], &keys(&journal)[499]] {
        copied.amend(key, "plants", &common::int(77), "person 1", at(20)).expect("corrects");
    }
    let other = keys(&journal)[499].clone();
    for (from, to) in [(&copied, &journal), (&backup, &journal), (&journal, &copied), (&journal, &backup)] {
        bring(from, to);
    }
    for one in [&journal, &copied, &backup] {
        is_whole(one);
        assert_eq!(one.root_digest().expect("reads"), journal.root_digest().expect("reads"));
        assert_eq!(
            one.records(&Filter::default()).expect("reads"),
            journal.records(&Filter::default()).expect("reads")
        );
        // Of what each recorded by itself, the devices cannot know which value was corrected.
        let waits: Vec<_> = one.conflicts().expect("reads").into_iter().map(|conflict| conflict.key).collect();
        assert_eq!(waits, std::slice::from_ref(&other));
    }
}

#[test]
fn a_journal_that_is_salvaged_in_between_has_all_of_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let (old, new) = (folder.path().join("old"), folder.path().join("new"));
    let journal = start(&old, 1);
    cut_short_after(&old, 1);
    journal.salvage(&new, at(10)).expect("salvages");
    let salvaged = Journal::open(&new).expect("opens");
    assert_eq!(keys(&salvaged).len(), 200);
    finished(&salvaged);
    is_whole(&salvaged);
    assert_eq!(salvaged.identity(), identity(1));
}

/// What was recorded before a device joined a crew comes along, the rest of what was cut short too.
#[test]
fn a_device_that_joins_another_crew_finishes_first() {
    let folder = tempfile::tempdir().expect("a folder");
    let journal = start(folder.path(), 1);
    cut_short_after(folder.path(), 1);
    let adopted = journal.adopt_crew(ligule_observation::ids::CrewId([9; 16]), at(10)).expect("adopts");
    assert_eq!(adopted.observations, FIELDS * EACH);
    is_whole(&journal);
}
