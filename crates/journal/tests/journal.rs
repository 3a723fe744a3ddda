//! What a journal promises: what is recorded stays, lists are what the documents say, copies merge.

mod common;

use common::{FIELD, at, bring, count, doc, identity, int, screen, start, visit};
use ligule_journal::{Batch, Drafted, Filter, Journal, JournalError};
use ligule_observation::{
    document::{FieldDocument, Visit, Writer},
    field::Field,
    ids::{CrewId, DeviceId, DocKey, Feature},
    outside::Limits,
    record::Void,
};

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

fn field() -> Field {
    Field {
        id: FIELD.into(),
        name: "home-80".into(),
        grower: String::new(),
        region: "US-IA".into(),
        zone: "Asia/Tokyo".into(),
        area_m2: None,
        row_width_mil: Some(30_000),
        crop: "corn".into(),
        lon_e7: None,
        lat_e7: None,
        station: String::new(),
        ..Field::default()
    }
}

#[test]
fn what_is_recorded_is_there_after_opening_again() {
    let folder = folder();
    let journal = start(&folder.path().join("a"), 1);
    let keys = journal
        .record(&doc(), Some("corn"), &[count(&visit("person 1", 1), 290), count(&visit("person 1", 1), 280)], at(2))
        .expect("records");
    journal.amend(&keys[0], "plants", &int(295), "person 1", at(3)).expect("amends");
    let void = Void { why: "counted twice".into(), by: "person 1".into(), at: at(4), also: Vec::new() };
    journal.void(&keys[1], &void).expect("voids");
    let before = journal.records(&Filter::default()).expect("reads");
    drop(journal);

    let journal = Journal::open(&folder.path().join("a")).expect("opens");
    assert_eq!(journal.identity(), identity(1));
    assert_eq!(journal.records(&Filter::default()).expect("reads"), before);
    assert_eq!(before.len(), 2);
    assert_eq!((before[0].int("plants"), before[0].crop.as_str()), (Some(295), "corn"));
    assert_eq!(before[1].void, Some(void));
    let history = journal.history(&keys[0]).expect("reads");
    let plants: Vec<_> = history.iter().filter(|h| h.measure == "plants").map(|h| h.value.clone()).collect();
    assert_eq!(plants, [int(290).value, int(295).value]);
    assert_eq!(journal.verify().expect("reads").findings, []);
    // One actor for all of it, also after opening again.
    journal.record(&doc(), None, &[count(&visit("person 1", 9), 1)], at(9)).expect("records");
    assert_eq!(journal.documents().expect("reads")[0].vector.len(), 2, "the genesis and one actor");
}

/// Several corrections are one change: all of them are there, or none.
#[test]
fn several_corrections_are_one_change() {
    let folder = folder();
    let journal = start(&folder.path().join("a"), 1);
    let keys = journal.record(&doc(), None, &[count(&visit("person 1", 1), 290)], at(2)).expect("records");
    let to = [("plants".to_owned(), int(300)), ("row_width".to_owned(), int(20_000))];
    journal.amend_all(&keys[0], &to, "person 1", at(3)).expect("amends");
    let record = journal.record_by_key(&keys[0]).expect("there");
    assert_eq!((record.int("plants"), record.int("row_width")), (Some(300), Some(20_000)));
    let history = journal.history(&keys[0]).expect("reads");
    let changes: Vec<_> = history.iter().filter(|h| h.at == at(3)).map(|h| h.change).collect();
    assert_eq!(changes.len(), 2);
    assert_eq!(changes[0], changes[1]);
    let digest = journal.root_digest().expect("reads");
    let bad = [("plants".to_owned(), int(1)), ("no:measure".to_owned(), int(1))];
    journal.amend_all(&keys[0], &bad, "person 1", at(4)).expect_err("refused");
    assert_eq!(journal.root_digest().expect("reads"), digest, "nothing was written");
    assert_eq!(journal.verify().expect("reads").findings, []);
}

/// A person's name stands in lines of text: in the document, in lists, in messages.
#[test]
fn names_with_control_characters_are_refused() {
    let folder = folder();
    let bad = ligule_journal::Identity { person: "Imke\nVoss".into(), ..identity(1) };
    let refused = Journal::create(&folder.path().join("a"), bad).map(|_| ()).expect_err("refused");
    assert_eq!(
        refused.to_string(),
        "expected a person's name without line breaks and other control characters, got \"Imke\\nVoss\""
    );
    assert!(!folder.path().join("a").exists(), "nothing was made");
    let journal = start(&folder.path().join("a"), 1);
    let mut by = visit("person 1", 1);
    by.by = "person\u{7}".into();
    let refused = journal.record(&doc(), None, &[count(&by, 1)], at(1)).expect_err("refused");
    assert!(matches!(refused, JournalError::BadPerson { .. }));
    assert_eq!(journal.documents().expect("reads"), []);
}

/// A name that another program let through is taken along without what breaks its line.
#[test]
fn names_from_elsewhere_do_not_stand_in_the_way() {
    let folder = folder();
    let mut elsewhere = FieldDocument::new(doc());
    elsewhere.set_writer(Writer { actor: [5; 16], device: DeviceId([5; 32]), person: "person\n5".into() });
    let mut by = visit("person 5", 1);
    by.by = "person\n5".into();
    elsewhere.append(&[count(&by, 1)], at(1), &mut || unreachable!("a new visit")).expect("appends");
    let journal = start(&folder.path().join("a"), 1);
    let chunks = elsewhere.changes_since(&Default::default());
    journal.apply(&doc(), &chunks[1..], &Limits::default(), at(9), &screen).expect("applies");
    assert_eq!(journal.adopt_crew(CrewId([9; 16]), at(10)).expect("adopts").observations, 1);
    assert_eq!(journal.records(&Filter::default()).expect("reads")[0].by, "person 5");
}

/// Two devices give one name to two fields before they meet; another name for one of them settles it.
#[test]
fn fields_of_one_name_are_told_and_can_be_renamed() {
    let folder = folder();
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let twin = Field { id: "01J0000000000000000000FLD2".into(), crop: "soybean".into(), ..field() };
    a.put_field(&field(), "person 1", at(1)).expect("puts");
    b.put_field(&twin, "person 2", at(1)).expect("puts");
    assert_eq!(a.duplicate_field_names().expect("reads"), []);
    bring(&a, &b);
    bring(&b, &a);
    for journal in [&a, &b] {
        let told = journal.duplicate_field_names().expect("reads");
        assert_eq!(told, [("home-80".to_owned(), vec![field(), twin.clone()])]);
    }
    // What else is told of one of them can be changed meanwhile; a third one of the name is refused.
    let twin = Field { grower: "A. Grower".into(), ..twin };
    b.put_field(&twin, "person 2", at(2)).expect("puts");
    let third = Field { id: "01J0000000000000000000FLD3".into(), ..field() };
    assert!(matches!(b.put_field(&third, "person 2", at(3)), Err(JournalError::FieldNameTaken { .. })));
    let renamed = Field { name: "home-80-west".into(), ..twin };
    b.put_field(&renamed, "person 2", at(4)).expect("renames");
    bring(&b, &a);
    for journal in [&a, &b] {
        assert_eq!(journal.duplicate_field_names().expect("reads"), []);
        assert_eq!(journal.fields().expect("reads"), [field(), renamed.clone()]);
    }
    // A retired field does not come back under a name that was given away.
    a.put_field(&Field { retired: true, ..field() }, "person 1", at(5)).expect("retires");
    let heir = Field { name: "home-80".into(), ..renamed };
    a.put_field(&heir, "person 1", at(6)).expect("the name is free");
    assert!(matches!(a.put_field(&field(), "person 1", at(7)), Err(JournalError::FieldNameTaken { .. })));
}

#[test]
fn lists_are_filtered() {
    let folder = folder();
    let journal = start(folder.path(), 1);
    let mut note = count(&visit("person 1", 1), 1);
    note.kind = "note".into();
    journal.record(&doc(), None, &[count(&visit("person 1", 1), 290), note], at(2)).expect("records");
    let station = DocKey { feature: Feature::Station("USW1".into()), ..doc() };
    journal.record(&station, None, &[count(&visit("person 1", 2), 1)], at(2)).expect("records");
    let past = DocKey { season: 2025, ..doc() };
    journal.record(&past, None, &[count(&visit("person 1", 3), 1)], at(2)).expect("records");
    let number = |filter: Filter| journal.records(&filter).expect("reads").len();
    assert_eq!(number(Filter::default()), 4);
    assert_eq!(number(Filter { season: Some(2026), ..Filter::default() }), 3);
    assert_eq!(number(Filter { feature: Some(doc().feature), ..Filter::default() }), 3);
    assert_eq!(number(Filter { feature: Some(doc().feature), season: Some(2025), ..Filter::default() }), 1);
    assert_eq!(number(Filter { kind: Some("note".into()), ..Filter::default() }), 1);
    assert_eq!(number(Filter { visit: Some(visit("person 1", 1).id), ..Filter::default() }), 2);
    assert!(matches!(journal.record_by_key("nothing-01"), Err(JournalError::UnknownObservation { .. })));
}

#[test]
fn fields_give_their_zone_to_the_day() {
    let folder = folder();
    let journal = start(folder.path(), 1);
    let keys = journal.record(&doc(), None, &[count(&visit("person 1", 1), 1)], at(2)).expect("records");
    // 14:00 UTC on 19 May, recorded at five hours west …
    assert_eq!(journal.record_by_key(&keys[0]).expect("there").day.to_string(), "2026-05-19");
    journal.put_field(&field(), "person 1", at(3)).expect("puts");
    let mut evening = count(&visit("person 1", 2), 1);
    evening.at = Some("2026-05-19T16:00:00Z".parse().expect("a time"));
    let keys = journal.record(&doc(), None, &[evening], at(4)).expect("records");
    // … is the next day in Tokyo two hours later.
    assert_eq!(journal.record_by_key(&keys[0]).expect("there").day.to_string(), "2026-05-20");
    let other = Field { id: "01J0000000000000000000FLD2".into(), ..field() };
    assert!(matches!(journal.put_field(&other, "person 1", at(5)), Err(JournalError::FieldNameTaken { .. })));
    journal.put_field(&Field { retired: true, ..field() }, "person 1", at(6)).expect("puts");
    journal.put_field(&other, "person 1", at(7)).expect("the name is free again");
    assert_eq!(journal.fields().expect("reads").len(), 2);
}

#[test]
fn two_devices_come_to_say_the_same() {
    let folder = folder();
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let keys = a.record(&doc(), Some("corn"), &[count(&visit("person 1", 1), 290)], at(1)).expect("records");
    a.put_field(&field(), "person 1", at(2)).expect("puts");
    b.record(&doc(), None, &[count(&visit("person 2", 1), 250)], at(1)).expect("records");
    assert_ne!(a.root_digest().expect("reads"), b.root_digest().expect("reads"));
    bring(&a, &b);
    a.amend(&keys[0], "plants", &int(280), "person 1", at(5)).expect("amends");
    b.amend(&keys[0], "plants", &int(270), "person 2", at(6)).expect("amends");
    bring(&b, &a);
    bring(&a, &b);
    assert_eq!(a.root_digest().expect("reads"), b.root_digest().expect("reads"));
    assert_eq!(a.documents().expect("reads"), b.documents().expect("reads"));
    assert_eq!(a.records(&Filter::default()).expect("reads"), b.records(&Filter::default()).expect("reads"));
    assert_eq!(a.fields().expect("reads"), b.fields().expect("reads"));
    let conflicts = a.conflicts().expect("reads");
    assert_eq!(conflicts, b.conflicts().expect("reads"));
    assert_eq!((conflicts.len(), conflicts[0].candidates.len()), (1, 2));
    assert_eq!(bring(&a, &b), 0, "a second time brings nothing");
    b.amend(&keys[0], "plants", &int(275), "person 2", at(9)).expect("resolves");
    bring(&b, &a);
    assert!(a.conflicts().expect("reads").is_empty());
    assert_eq!(a.record_by_key(&keys[0]).expect("there").int("plants"), Some(275));
    for journal in [&a, &b] {
        assert_eq!(journal.verify().expect("reads").findings, []);
    }
}

#[test]
fn what_is_refused_leaves_no_trace() {
    let folder = folder();
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    a.record(&doc(), None, &[count(&visit("person 1", 1), 290)], at(1)).expect("records");
    let chunks = a.changes_since(doc().id(), &Default::default()).expect("reads");
    let other = DocKey { season: 2025, ..doc() };
    let limits = Limits::default();
    let refused = b.apply(&other, &chunks, &limits, at(9), &screen).expect_err("refused");
    assert_eq!(refused.to_string(), "changes from outside are refused: a change made for another document is refused");
    // Should a screen ever let it pass, the journal still refuses.
    let refused = b.apply(&other, &chunks, &limits, at(9), &|_| Ok(())).expect_err("refused");
    assert!(matches!(refused, JournalError::Refused(_)), "{refused}");
    let dead = b.apply(&doc(), &chunks, &limits, at(9), &|_| Err("the child was killed".into())).expect_err("refused");
    assert!(matches!(dead, JournalError::Screened { .. }));
    let stranger = DocKey { crew: CrewId([8; 16]), ..doc() };
    assert!(matches!(b.apply(&stranger, &chunks, &limits, at(9), &screen), Err(JournalError::OtherCrew { .. })));
    assert_eq!(b.documents().expect("reads"), []);
    assert_eq!(b.apply(&doc(), &chunks, &limits, at(9), &screen).expect("applies").observations, 1);
}

fn copy(from: &std::path::Path, to: &std::path::Path) {
    std::fs::create_dir_all(to).expect("makes");
    for entry in std::fs::read_dir(from).expect("reads") {
        let entry = entry.expect("reads");
        std::fs::copy(entry.path(), to.join(entry.file_name())).expect("copies");
    }
}

/// A journal copied to another place goes on there under a new actor, so that both copies merge with nothing lost.
#[test]
fn a_copied_journal_goes_on_under_a_new_actor() {
    let folder = folder();
    let (one, two) = (folder.path().join("one"), folder.path().join("two"));
    let a = start(&one, 1);
    let v = visit("person 1", 1);
    a.record(&doc(), None, &[count(&v, 1)], at(1)).expect("records");
    drop(a);
    copy(&one, &two);
    let (a, b) = (Journal::open(&one).expect("opens"), Journal::open(&two).expect("opens"));
    for n in 0..5 {
        a.record(&doc(), None, &[count(&v, 10 + n)], at(2)).expect("records");
        b.record(&doc(), None, &[count(&v, 20 + n)], at(2)).expect("records");
    }
    assert_eq!(a.documents().expect("reads")[0].vector.len(), 2, "the first keeps its actor");
    assert_eq!(b.documents().expect("reads")[0].vector.len(), 3, "the copy has a new one");
    bring(&a, &b);
    bring(&b, &a);
    for journal in [&a, &b] {
        let mut plants: Vec<_> =
            journal.records(&Filter::default()).expect("reads").iter().map(|r| r.int("plants")).collect();
        plants.sort();
        let expected: Vec<_> = [1, 10, 11, 12, 13, 14, 20, 21, 22, 23, 24].map(Some).into();
        assert_eq!(plants, expected);
        assert_eq!(journal.verify().expect("reads").findings, []);
    }
}

/// A backup put back in place is behind the file beside it, and goes on under a new actor too.
#[test]
fn a_restored_backup_goes_on_under_a_new_actor() {
    let folder = folder();
    let (here, backup) = (folder.path().join("here"), folder.path().join("backup"));
    let a = start(&here, 1);
    a.record(&doc(), None, &[count(&visit("person 1", 1), 1)], at(1)).expect("records");
    drop(a);
    copy(&here, &backup);
    let a = Journal::open(&here).expect("opens");
    a.record(&doc(), None, &[count(&visit("person 1", 1), 2)], at(2)).expect("records");
    let peer = start(&folder.path().join("peer"), 2);
    bring(&a, &peer);
    drop(a);
    // Written over in place, as a restore does: the same file, older content.
    let bytes = std::fs::read(backup.join("journal.sqlite")).expect("reads");
    for left in ["journal.sqlite-wal", "journal.sqlite-shm"] {
        let _ = std::fs::remove_file(here.join(left));
    }
    std::fs::write(here.join("journal.sqlite"), bytes).expect("writes");
    let a = Journal::open(&here).expect("opens");
    assert_eq!(a.records(&Filter::default()).expect("reads").len(), 1);
    a.record(&doc(), None, &[count(&visit("person 1", 1), 3)], at(3)).expect("records");
    bring(&a, &peer);
    bring(&peer, &a);
    assert_eq!(a.records(&Filter::default()).expect("reads").len(), 3);
    assert_eq!(a.root_digest().expect("reads"), peer.root_digest().expect("reads"));
}

/// The file beside the journal is written after the transaction. A program that is ended in between, at the first act or a
/// later one, leaves it behind, and the person goes on under the actor and with the visit.
#[test]
fn a_program_that_was_ended_before_it_wrote_how_far_it_came_goes_on() {
    let folder = folder();
    let here = folder.path().join("here");
    let file = || {
        let mut files = std::fs::read_dir(folder.path().join("here.actors")).expect("reads");
        files.next().expect("there is one").expect("reads").path()
    };
    let line = || std::fs::read_to_string(file()).expect("reads");
    let number = |line: &str| line.trim_end().rsplit_once(' ').and_then(|(_, n)| n.parse().ok()).unwrap_or(0_u64);
    let v = visit("person 1", 1);
    let record = |n: i64| {
        let a = Journal::open(&here).expect("opens");
        let keys = a.record(&doc(), Some("corn"), &[count(&v, n)], at(n)).expect("records");
        (keys[0].clone(), a.documents().expect("reads")[0].vector.len())
    };
    drop(start(&here, 1));
    let (first, actors) = record(1);
    // The crop and the observation: what was there before the first act is 0.
    let told = line();
    assert_eq!(number(&told), 2);
    let at_number = |n: u64| format!("{} {n}", told.trim_end().rsplit_once(' ').expect("a number").0);
    std::fs::write(file(), at_number(0)).expect("writes");
    assert_eq!(record(2), (first.replace("-01", "-02"), actors));
    assert_eq!(number(&line()), 3);
    std::fs::write(file(), &told).expect("writes");
    assert_eq!(record(3), (first.replace("-01", "-03"), actors));
    // Further behind than one act, or ahead: it is not this journal that was written.
    for apart in [at_number(1), at_number(5)] {
        assert_eq!(number(&line()), 4);
        let kept = line();
        let journal = std::fs::read(here.join("journal.sqlite")).expect("reads");
        std::fs::write(file(), apart).expect("writes");
        let (key, now) = record(4);
        assert!(!key.starts_with(&first[..26]), "{key}");
        assert_eq!(now, actors + 1);
        std::fs::write(here.join("journal.sqlite"), journal).expect("writes");
        std::fs::write(file(), kept).expect("writes");
    }
}

/// A backup knows no actors: wherever it is put, and though it is put back exactly where it was taken, it merges with what
/// the lost journal wrote later and had given to others.
#[test]
fn a_backup_goes_on_under_a_new_actor_wherever_it_is_put() {
    let folder = folder();
    let here = folder.path().join("here");
    let a = start(&here, 1);
    let v = visit("person 1", 1);
    a.record(&doc(), None, &[count(&v, 1)], at(1)).expect("records");
    let backup = folder.path().join("backup.sqlite");
    a.copy_into(&backup).expect("copies");
    assert!(matches!(a.copy_into(&backup), Err(JournalError::Io { .. })), "never over another file");
    a.record(&doc(), None, &[count(&v, 2)], at(2)).expect("records");
    let peer = start(&folder.path().join("peer"), 2);
    bring(&a, &peer);
    drop(a);
    std::fs::remove_dir_all(&here).expect("removes");
    std::fs::create_dir(&here).expect("makes");
    std::fs::copy(&backup, here.join("journal.sqlite")).expect("copies");
    let a = Journal::open(&here).expect("opens");
    assert_eq!(a.identity().device, identity(1).device);
    assert_eq!(a.verify().expect("reads").findings, []);
    assert_eq!(a.records(&Filter::default()).expect("reads").len(), 1);
    a.record(&doc(), None, &[count(&v, 3)], at(3)).expect("records");
    bring(&peer, &a);
    bring(&a, &peer);
    for journal in [&a, &peer] {
        let mut plants: Vec<_> =
            journal.records(&Filter::default()).expect("reads").iter().map(|r| r.int("plants")).collect();
        plants.sort();
        assert_eq!(plants, [1, 2, 3].map(Some));
    }
    assert_eq!(a.root_digest().expect("reads"), peer.root_digest().expect("reads"));
}

#[test]
fn snapshots_change_nothing_that_can_be_seen() {
    let folder = folder();
    let journal = start(folder.path(), 1);
    for n in 0..300 {
        journal.record(&doc(), None, &[count(&visit("person 1", n / 20), n as i64)], at(1)).expect("records");
    }
    let (records, digest) = (journal.records(&Filter::default()), journal.root_digest());
    let report = journal.snapshot(false).expect("snapshots");
    assert_eq!(report.documents, 1);
    assert!(report.after * 3 < report.before, "{report:?}");
    assert_eq!(journal.snapshot(false).expect("snapshots").documents, 0);
    journal.record(&doc(), None, &[count(&visit("person 1", 99), 1)], at(1)).expect("goes on");
    assert_eq!(journal.documents().expect("reads")[0].vector.len(), 2);
    let again = Journal::open(folder.path()).expect("opens");
    assert_eq!(again.verify().expect("reads").findings, []);
    assert_eq!(again.records(&Filter::default()).expect("reads").len(), 301);
    let (records, digest) = (records.expect("reads"), digest.expect("reads"));
    assert_eq!(again.records(&Filter::default()).expect("reads")[..300], records);
    assert_ne!(again.root_digest().expect("reads"), digest);
}

/// A person's next visit is opened without the document, however many came before; what the document holds afterwards is
/// what the lists tell, and another person's visit of that identifier does not go on under this one.
#[test]
fn visits_follow_each_other_without_the_document() {
    let folder = folder();
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let visits: Vec<_> = (1..5).map(|n| visit("person 1", n)).collect();
    let record = |journal: &Journal, n: usize, second: i64| {
        let new = [count(&visits[n], second), count(&visits[n], second + 100)];
        journal.record(&doc(), Some("corn"), &new, at(second)).expect("records")
    };
    // On, to the next one, and back to an earlier one, which only the document knows how far it has come.
    for (second, n) in (1..).zip([0, 0, 1, 1, 2, 0, 0, 3]) {
        let keys = record(&a, n, second);
        assert!(keys.iter().all(|key| key.starts_with(&visits[n].id)), "{keys:?}");
    }
    let numbers = |visit: &Visit| {
        let records = a.records(&Filter { visit: Some(visit.id.clone()), ..Filter::default() }).expect("reads");
        let mut numbers: Vec<_> = records.iter().map(|one| one.key[27..].to_owned()).collect();
        numbers.sort();
        numbers.join(" ")
    };
    assert_eq!(numbers(&visits[0]), "01 02 03 04 05 06 07 08");
    assert_eq!([1, 2, 3].map(|n| numbers(&visits[n])), ["01 02 03 04", "01 02", "01 02"]);
    let told = a.records(&Filter::default()).expect("reads");
    assert_eq!((told.len(), a.verify().expect("reads").findings.len()), (16, 0));
    a.rebuild().expect("rebuilds");
    assert_eq!(a.records(&Filter::default()).expect("reads"), told);

    // The other device goes on with its own visit and then meets the first one's identifier: it opens another.
    bring(&a, &b);
    let own = visit("person 2", 9);
    b.record(&doc(), Some("corn"), &[count(&own, 1)], at(20)).expect("records");
    let by_two = Visit { by: "person 2".into(), ..visits[3].clone() };
    let keys = b.record(&doc(), Some("corn"), &[count(&by_two, 1)], at(21)).expect("records");
    assert!(!keys[0].starts_with(&visits[3].id), "{keys:?}");
    bring(&b, &a);
    assert_eq!(a.records(&Filter::default()).expect("reads"), b.records(&Filter::default()).expect("reads"));
}

#[test]
fn lists_can_be_made_anew() {
    let folder = folder();
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let keys = a.record(&doc(), Some("corn"), &[count(&visit("person 1", 1), 290)], at(1)).expect("records");
    a.put_field(&field(), "person 1", at(1)).expect("puts");
    bring(&a, &b);
    a.amend(&keys[0], "plants", &int(1), "person 1", at(2)).expect("amends");
    b.amend(&keys[0], "plants", &int(2), "person 2", at(2)).expect("amends");
    bring(&b, &a);
    let before =
        (a.records(&Filter::default()).expect("reads"), a.conflicts().expect("reads"), a.fields().expect("reads"));
    let raw = rusqlite::Connection::open(folder.path().join("a/journal.sqlite")).expect("opens");
    raw.execute_batch("update observation set \"values\" = '{}'; delete from conflict; delete from field")
        .expect("breaks");
    let findings = a.verify().expect("reads").findings;
    assert_eq!(findings.len(), 2, "the field's document and the crew's: {findings:?}");
    let told =
        |n: &str| findings.iter().any(|f| f.what.starts_with(&format!("the lists tell of {n}, its document of")));
    assert!(told("1 observation") && told("0 observations"), "{findings:?}");
    let report = a.rebuild().expect("rebuilds");
    assert_eq!((report.documents, report.observations, report.unreadable.len()), (2, 1, 0));
    let after =
        (a.records(&Filter::default()).expect("reads"), a.conflicts().expect("reads"), a.fields().expect("reads"));
    assert_eq!(before, after);
}

#[test]
fn a_device_takes_its_records_into_another_crew() {
    let folder = folder();
    let journal = start(&folder.path().join("a"), 1);
    let keys = journal
        .record(&doc(), Some("corn"), &[count(&visit("person 1", 1), 290), count(&visit("person 1", 1), 280)], at(1))
        .expect("records");
    journal.put_field(&field(), "person 1", at(2)).expect("puts");
    journal
        .void(&keys[1], &Void { why: "no".into(), by: "person 1".into(), at: at(3), also: Vec::new() })
        .expect("voids");
    let before = journal.records(&Filter::default()).expect("reads");
    let adopted = journal.adopt_crew(CrewId([9; 16]), at(4)).expect("adopts");
    assert_eq!((adopted.observations, adopted.fields), (2, 1));
    let after = journal.records(&Filter::default()).expect("reads");
    assert_eq!(
        after.iter().map(|r| (&r.key, &r.values, r.at)).collect::<Vec<_>>(),
        before.iter().map(|r| (&r.key, &r.values, r.at)).collect::<Vec<_>>()
    );
    assert!(after[1].void.is_some());
    assert!(journal.documents().expect("reads").iter().all(|d| d.key.crew == CrewId([9; 16])));
    assert!(matches!(
        journal.record(&doc(), None, &[count(&visit("person 1", 1), 1)], at(5)),
        Err(JournalError::OtherCrew { .. })
    ));
    let again = Journal::open(&folder.path().join("a")).expect("opens");
    assert_eq!(again.identity().crew, CrewId([9; 16]));
}

#[test]
fn values_are_kept_by_name() {
    let folder = folder();
    let journal = start(folder.path(), 1);
    assert_eq!(journal.kv_get("peer/1").expect("reads"), None);
    journal.kv_put("peer/1", b"x").expect("puts");
    journal.kv_put("peer/2", b"y").expect("puts");
    journal.kv_put("log", b"z").expect("puts");
    assert_eq!(journal.kv_names("peer/").expect("reads"), ["peer/1", "peer/2"]);
    let kept = journal.kv_update("log", |old| Some([old.unwrap_or_default(), b"!"].concat())).expect("updates");
    assert_eq!(kept.as_deref(), Some(&b"z!"[..]));
    assert_eq!(Journal::open(folder.path()).expect("opens").kv_get("log").expect("reads").as_deref(), Some(&b"z!"[..]));
}

/// A correction to the copy of a station's day that does not win reaches the lists of the other device.
#[test]
fn corrections_of_an_observation_written_twice_reach_the_lists() {
    let folder = folder();
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let mut day = count(&visit("reader", 1), 10);
    day.number = Some(139);
    let keys = a.record(&doc(), None, std::slice::from_ref(&day), at(1)).expect("records");
    b.record(&doc(), None, &[day], at(1)).expect("records");
    a.amend(&keys[0], "plants", &int(20), "person", at(2)).expect("amends");
    bring(&a, &b);
    assert_eq!(b.conflicts().expect("reads").len(), 1, "10 as b read it, 20 as a corrected it");
    b.amend(&keys[0], "plants", &int(20), "person", at(3)).expect("resolves");
    bring(&b, &a);
    for journal in [&a, &b] {
        assert!(journal.conflicts().expect("reads").is_empty());
        assert_eq!(journal.record_by_key(&keys[0]).expect("there").int("plants"), Some(20));
        assert_eq!(journal.verify().expect("reads").findings, []);
    }
    assert_eq!(a.records(&Filter::default()).expect("reads"), b.records(&Filter::default()).expect("reads"));
}

/// Two devices add one field, both record; after the merge all of it is told of one field, also what comes later from a
/// device that has not heard of it.
#[test]
fn merged_fields_are_told_as_one() {
    let folder = folder();
    let (a, b) = (start(&folder.path().join("a"), 1), start(&folder.path().join("b"), 2));
    let twin = Field { id: "01J0000000000000000000FLD2".into(), zone: "America/Chicago".into(), ..field() };
    let other = DocKey { feature: Feature::Field(twin.id.clone()), ..doc() };
    a.put_field(&field(), "person 1", at(1)).expect("puts");
    b.put_field(&twin, "person 2", at(1)).expect("puts");
    a.record(&doc(), Some("corn"), &[count(&visit("person 1", 2), 290)], at(2)).expect("records");
    b.record(&other, None, &[count(&visit("person 2", 1), 280)], at(2)).expect("records");
    bring(&b, &a);
    let kept = Field { station: "home".into(), ..field() };
    a.merge_field(&twin.id, &kept, "person 1", at(3)).expect("merges");
    b.record(&other, None, &[count(&visit("person 2", 3), 270)], at(4)).expect("b has not heard of it");
    for (from, to) in [(&b, &a), (&a, &b)] {
        bring(from, to);
    }
    for journal in [&a, &b] {
        assert_eq!(journal.fields().expect("reads"), std::slice::from_ref(&kept));
        assert_eq!(journal.all_fields().expect("reads").len(), 2);
        assert_eq!(journal.duplicate_field_names().expect("reads"), []);
        for id in [FIELD, &twin.id] {
            let filter = Filter { feature: Some(Feature::Field(id.into())), ..Filter::default() };
            let records = journal.records(&filter).expect("reads");
            assert_eq!(records.iter().map(|r| r.int("plants")).collect::<Vec<_>>(), [Some(280), Some(290), Some(270)]);
            assert!(records.iter().all(|r| r.feature == doc().feature), "told of the field that is spoken of");
            // 14:00 UTC and some seconds, in Tokyo: the zone of the field that is spoken of.
            assert!(records.iter().all(|r| r.day.to_string() == "2026-05-19"));
        }
        let counted = |id| journal.records_in(id).expect("reads").len();
        assert_eq!((counted(doc().id()), counted(other.id())), (1, 2), "nothing moved");
        assert_eq!(journal.verify().expect("reads").findings, []);
    }
    assert_eq!(a.root_digest().expect("reads"), b.root_digest().expect("reads"));
    // Becoming part of another crew takes the merge along.
    b.adopt_crew(CrewId([9; 16]), at(9)).expect("adopts");
    assert_eq!(b.fields().expect("reads"), [kept]);
    let filter = Filter { feature: Some(doc().feature), ..Filter::default() };
    assert_eq!(b.records(&filter).expect("reads").len(), 3);
    // Undone, there are two again.
    a.part_fields(std::slice::from_ref(&twin.id), "person 1", at(9)).expect("parts");
    assert_eq!(a.fields().expect("reads").len(), 2);
    assert_eq!(a.records(&filter).expect("reads").len(), 1);
}

/// Fields and what they begin with are there together or not at all, whatever fails amid it.
#[test]
fn fields_and_their_first_records_are_one_transaction() {
    let folder = folder();
    let journal = start(folder.path(), 1);
    journal.put_field(&field(), "person 1", at(1)).expect("puts");
    let part = Field { id: "01J0000000000000000000FLD2".into(), name: "part".into(), ..field() };
    let all = [Field { retired: true, ..field() }, part.clone()];
    let document = DocKey { feature: Feature::Field(part.id.clone()), ..doc() };
    let batch = Batch { document, crop: None, new: vec![count(&visit("person 1", 1), 290)] };
    let held = || (journal.all_fields().expect("reads"), journal.records(&Filter::default()).expect("reads"));
    let before = held();
    let conn = rusqlite::Connection::open(folder.path().join("journal.sqlite")).expect("opens");
    conn.execute_batch("create trigger full before insert on observation begin select raise(abort, 'no room'); end")
        .expect("from now on no observation can be written");
    journal
        .put_fields_and_record(&all, "person 1", std::slice::from_ref(&batch), at(2))
        .expect_err("the observation cannot be written");
    assert_eq!(held(), before, "and so the fields are as they were");
    conn.execute_batch("drop trigger full").expect("there is room again");
    journal.put_fields_and_record(&all, "person 1", &[batch], at(3)).expect("both are written");
    let (fields, records) = held();
    assert_eq!((fields.len(), records.len()), (2, 1));
    assert!(fields.iter().all(|one| one.retired == (one.id == FIELD)), "{fields:?}");
    assert_eq!(records[0].feature, Feature::Field(part.id));
    assert_eq!(journal.verify().expect("reads").findings, []);
}

/// The list of fields that an earlier program wrote does not tell of boundaries and merges; opening makes it anew.
#[test]
fn a_list_of_fields_by_an_earlier_program_is_made_anew() {
    let folder = folder();
    let journal = start(folder.path(), 1);
    let square = "-936000000 420000000 100000 0 0 100000 -100000 0";
    let bounded = Field { boundary: square.into(), ..field() };
    let twin = Field { id: "01J0000000000000000000FLD2".into(), name: "twin".into(), ..field() };
    journal.put_fields(&[bounded.clone(), twin.clone()], "person 1", at(1)).expect("puts");
    journal.merge_field(&twin.id, &bounded, "person 1", at(2)).expect("merges");
    drop(journal);
    let conn = rusqlite::Connection::open(folder.path().join("journal.sqlite")).expect("opens");
    conn.execute_batch(
        "update field set body = json_remove(body, '$.boundary', '$.merged_into'); delete from kv where name = 'fields told'",
    )
    .expect("as the earlier program left it");
    drop(conn);
    assert_eq!(Journal::open(folder.path()).expect("opens").fields().expect("reads"), [bounded]);
}

/// Whoever no longer holds a draft writes nothing: neither the draft nor the observation that it would become.
#[test]
fn a_draft_that_another_took_over_is_left_alone() {
    let folder = folder();
    let here = start(&folder.path().join("a"), 1);
    let there = Journal::open(&folder.path().join("a")).expect("opens");
    let held = |by: &'static str| move |kept: Option<&[u8]>| kept == Some(by.as_bytes());
    assert!(here.replace_draft("visit", Some(b"here"), |kept| kept.is_none()).expect("writes"));
    assert!(!there.replace_draft("visit", Some(b"there"), |kept| kept.is_none()).expect("reads"));
    assert!(there.replace_draft("visit", Some(b"there"), held("here")).expect("writes"));

    let (document, new) = (doc(), count(&visit("person 1", 1), 30));
    let drafted = Drafted { name: "visit", document: &document, crop: Some("corn"), new: &new };
    let refused = here.record_drafted(&drafted, held("here"), |_| b"here, on".to_vec(), at(1));
    assert!(matches!(refused, Err(JournalError::DraftTaken { .. })), "{refused:?}");
    assert!(here.records(&Filter::default()).expect("reads").is_empty(), "the transaction was given up whole");
    assert_eq!(here.draft("visit").expect("reads").as_deref(), Some(&b"there"[..]));

    let key = there.record_drafted(&drafted, held("there"), |key| key.as_bytes().to_vec(), at(1)).expect("records");
    assert_eq!(here.draft("visit").expect("reads").as_deref(), Some(key.as_bytes()));
    assert_eq!(here.records(&Filter::default()).expect("reads").len(), 1);
    assert!(!here.replace_draft("visit", None, held("there")).expect("reads"));
    assert!(there.replace_draft("visit", None, |kept| kept == Some(key.as_bytes())).expect("writes"));
    assert_eq!(here.draft("visit").expect("reads"), None);
    assert_eq!(here.verify().expect("reads").findings, []);
}
