//! Salvage: what can be read of a damaged journal goes into a new one, nothing of it altered, and a sync brings the rest.

mod common;

use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
};

use common::{FIELD, at, bring, count, doc, int, start};
use ligule_journal::{Filter, Journal, JournalError, SalvageReport};
use ligule_observation::{
    conflict::Conflict,
    document::Visit,
    field::Field,
    ids::{CrewId, DocKey, Feature},
    record::{Place, Record, Void},
};

const PAGE: usize = 4096;

/// A journal of two fields in two seasons with everything that can be in one, and a second device that has it all.
fn season(folder: &Path) -> (Vec<u8>, Journal) {
    let (a, b) = (start(&folder.join("a"), 1), start(&folder.join("b"), 2));
    let field = Field {
        id: FIELD.into(),
        name: "home-80".into(),
        grower: String::new(),
        region: "US-IA".into(),
        zone: "America/Chicago".into(),
        area_m2: None,
        row_width_mil: Some(30_000),
        crop: "corn".into(),
        lon_e7: None,
        lat_e7: None,
        station: String::new(),
        ..Field::default()
    };
    a.put_field(&field, "person 1", at(1)).expect("puts");
    a.put_field(&Field { id: FIELD2.into(), name: "creek-40".into(), ..field }, "person 1", at(1)).expect("puts");
    a.kv_put("membership", &[7; 900]).expect("puts");
    let mut keys = Vec::new();
    for (document, key) in documents().into_iter().enumerate() {
        for n in 0..24 {
            let mut new = count(&visit(document as i64 * 86_400 + n / 10 * 60), 250 + n);
            new.at = Some(at(document as i64 * 86_400 + n / 10 * 60 + n % 10));
            new.place = Some(Place { lon_e7: -936_000_000 + n as i32, lat_e7: 420_000_000 });
            keys.extend(a.record(&key, Some("corn"), &[new], at(700)).expect("records"));
        }
    }
    // Two documents have long snapshots, two have chunks.
    a.snapshot(true).expect("snapshots");
    for (document, key) in documents()[..2].iter().enumerate() {
        for n in 0..24 {
            let visit = visit((document as i64 + 30) * 86_400 + n);
            a.record(key, None, &[count(&visit, n)], at(800)).expect("records");
        }
    }
    a.amend(&keys[3], "plants", &int(1), "person 1", at(900)).expect("amends");
    a.void(&keys[5], &Void { why: "twice".into(), by: "person 1".into(), at: at(901), also: Vec::new() })
        .expect("voids");
    bring(&a, &b);
    a.amend(&keys[7], "plants", &int(11), "person 1", at(902)).expect("amends");
    b.amend(&keys[7], "plants", &int(12), "person 2", at(903)).expect("amends");
    bring(&b, &a);
    bring(&a, &b);
    drop(a);
    let raw = rusqlite::Connection::open(folder.join("a/journal.sqlite")).expect("opens");
    raw.query_row("pragma wal_checkpoint(truncate)", [], |_| Ok(())).expect("folds the log in");
    drop(raw);
    (std::fs::read(folder.join("a/journal.sqlite")).expect("reads"), b)
}

/// A visit as the program makes them: its ULID bears the time at which it began.
fn visit(seconds: i64) -> Visit {
    let began = at(seconds);
    let milliseconds = u64::try_from(began.as_millisecond()).expect("after 1970");
    let id = ulid::Ulid::from_parts(milliseconds, 7).to_string();
    Visit { id, by: "person 1".into(), at: began, offset_minutes: -300, place: None }
}

const FIELD2: &str = "01J0000000000000000000FLD2";

fn documents() -> Vec<DocKey> {
    [(FIELD, 2026), (FIELD2, 2025), (FIELD, 2025), (FIELD2, 2026)]
        .map(|(field, season)| DocKey { feature: Feature::Field(field.into()), season, ..doc() })
        .to_vec()
}

fn put(folder: &Path, bytes: &[u8]) {
    for left in ["journal.sqlite-wal", "journal.sqlite-shm"] {
        let _ = std::fs::remove_file(folder.join(left));
    }
    std::fs::write(folder.join("journal.sqlite"), bytes).expect("writes");
}

/// What matters of a record; of one written anew from a list the device is that which wrote it anew.
fn gist(records: &[Record]) -> Vec<String> {
    let one = |r: &Record| format!("{} {} {} {} {:?} {:?} {:?}", r.key, r.kind, r.at, r.by, r.values, r.void, r.place);
    records.iter().map(one).collect()
}

/// What waits for a person, with every candidate.
fn waiting(journal: &Journal) -> BTreeMap<(String, String), BTreeSet<String>> {
    let values = |c: &Conflict| c.candidates.iter().map(|one| format!("{:?}", one.measured)).collect();
    let all = journal.conflicts().expect("reads");
    all.iter().map(|c| ((c.key.clone(), c.measure.clone()), values(c))).collect()
}

#[track_caller]
fn same(now: &[String], whole: &[String], what: &str) {
    let differs = now.iter().zip(whole).find(|(a, b)| a != b);
    assert!(now.len() == whole.len() && differs.is_none(), "{what}: {} of {}; {differs:?}", now.len(), whole.len());
}

fn all(journal: &Journal) -> Vec<Record> {
    journal.records(&Filter::default()).expect("reads")
}

fn salvage(folder: &Path, into: &str) -> Option<(Journal, SalvageReport)> {
    let journal = Journal::open(&folder.join("a")).ok()?;
    let into = folder.join(into);
    let report = journal.salvage(&into, at(10_000)).expect("salvages whatever is left");
    Some((Journal::open(&into).expect("opens"), report))
}

#[test]
fn a_whole_journal_is_taken_over_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let (bytes, _) = season(folder.path());
    put(&folder.path().join("a"), &bytes);
    let old = Journal::open(&folder.path().join("a")).expect("opens");
    let (new, report) = salvage(folder.path(), "new").expect("opens");
    assert_eq!(report, SalvageReport { documents: 5, observations: 144, from_lists: 0, lost: vec![] });
    assert_eq!(new.identity(), old.identity());
    assert_eq!(all(&new), all(&old));
    assert_eq!(new.root_digest().expect("reads"), old.root_digest().expect("reads"));
    assert_eq!(new.documents().expect("reads"), old.documents().expect("reads"));
    assert_eq!(new.fields().expect("reads"), old.fields().expect("reads"));
    assert_eq!(new.conflicts().expect("reads"), old.conflicts().expect("reads"));
    assert_eq!(new.kv_get("membership").expect("reads"), Some(vec![7; 900]));
    assert_eq!(new.verify().expect("reads").findings, []);
    // Both go on and merge: the new one writes under new actors.
    old.record(&doc(), None, &[count(&visit(9_000_000), 1)], at(11_000)).expect("records");
    new.record(&doc(), None, &[count(&visit(9_000_001), 2)], at(11_000)).expect("records");
    bring(&old, &new);
    assert_eq!(all(&new).len(), 146);
    // A folder with a journal is left as it is.
    let refused = old.salvage(&folder.path().join("new"), at(12_000)).expect_err("refused");
    assert!(matches!(refused, JournalError::AlreadyThere { .. }));
    assert_eq!(all(&new).len(), 146);
}

/// Every page is destroyed once. Whatever page it is: every observation of a field is still there and as it was, the
/// message tells of as much as is taken out, and a sync brings the rest without doubling anything.
#[test]
fn one_bad_page_loses_no_observation() {
    let folder = tempfile::tempdir().expect("a folder");
    let (bytes, peer) = season(folder.path());
    let whole = gist(&all(&peer));
    let (fields, conflicts) = (peer.fields().expect("reads"), waiting(&peer));
    let (mut unopened, mut from_lists, mut lossy) = (Vec::new(), 0, 0);
    for page in 0..bytes.len() / PAGE {
        for fill in [true, false] {
            let mut broken = bytes.clone();
            let start = page * PAGE;
            if fill {
                broken[start..start + PAGE].fill(0xa5);
            } else {
                let here = start + 100 + page * 577 % 3900;
                broken[here..here + 16].iter_mut().for_each(|b| *b ^= 0x5a);
            }
            put(&folder.path().join("a"), &broken);
            let Some((new, report)) = salvage(folder.path(), &format!("new-{page}-{fill}")) else {
                unopened.push(page);
                continue;
            };
            let what = format!("page {page}, {fill}: {report:?}");
            same(&gist(&all(&new)), &whole, &what);
            assert_eq!(report.observations, whole.len(), "{what}");
            assert_eq!(new.fields().expect("reads"), fields, "{what}");
            assert_eq!(waiting(&new), conflicts, "{what}");
            assert_eq!(new.verify().expect("reads").findings, [], "{what}");
            from_lists += report.from_lists;
            lossy += usize::from(!report.lost.is_empty());
            if report.lost.is_empty() {
                // Flipped bytes within a kept value are for whoever kept it to notice: no checksum guards it here.
                let kept = new.kv_get("membership").expect("reads");
                assert!(kept == Some(vec![7; 900]) || !fill && kept.is_some_and(|k| k.len() == 900), "{what}");
                assert_eq!(report.documents, 5, "{what}");
            }
            let old = Journal::open(&folder.path().join("a")).expect("opens");
            if let Err(told) = old.records(&Filter::default()) {
                let told = told.to_string();
                assert!(told.contains("documents with 144 observations"), "{what}: {told}");
                assert!(told.contains("`ligule journal salvage FOLDER`"), "{what}: {told}");
            }
            if report.lost.is_empty() {
                continue;
            }
            bring(&peer, &new);
            same(&gist(&all(&new)), &whole, &format!("after a sync: {what}"));
            assert_eq!(waiting(&new), conflicts, "after a sync: {what}");
        }
    }
    println!(
        "{} pages; {lossy} damages with losses, {from_lists} observations from lists; pages without which nothing opens: {unopened:?}",
        bytes.len() / PAGE
    );
    assert!(from_lists > 0 && lossy > 0, "the damage is real");
    unopened.dedup();
    assert!(unopened.len() <= 2, "the list of tables and the journal's owner: {unopened:?}");
}

/// Many pages at once: what comes out is what went in, if less of it, and can be used.
#[test]
fn many_bad_pages_alter_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let (bytes, peer) = season(folder.path());
    let (whole, conflicts) = (gist(&all(&peer)), waiting(&peer));
    let mut seed = 0x5eed_0003u64;
    println!("seed {seed}");
    let mut next = |below: usize| {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        (seed % below as u64) as usize
    };
    let (mut opened, mut kept) = (0, 0);
    for round in 0..12 {
        let mut broken = bytes.clone();
        for _ in 0..2 + round / 2 {
            let page = next(bytes.len() / PAGE) * PAGE;
            broken[page..page + PAGE].fill(next(256) as u8);
        }
        put(&folder.path().join("a"), &broken);
        let Some((new, report)) = salvage(folder.path(), &format!("new-{round}")) else { continue };
        opened += 1;
        let now = gist(&all(&new));
        kept += now.len();
        assert_eq!(report.observations, now.len(), "round {round}");
        for line in &now {
            // A correction may be among what is lost; what is there was written at some time.
            let key = line.split(' ').next().expect("a key");
            let before = whole.iter().find(|w| w.starts_with(key)).expect("it was there before");
            assert!(line == before || !report.lost.is_empty(), "round {round}: {line} was {before}");
        }
        assert_eq!(new.verify().expect("reads").findings, [], "round {round}");
        bring(&peer, &new);
        same(&gist(&all(&new)), &whole, &format!("round {round}, after a sync: {report:?}"));
        // Other devices take in what was written anew, and come to say the same.
        let third = start(&folder.path().join(format!("third-{round}")), 3);
        bring(&peer, &third);
        bring(&new, &third);
        same(&gist(&all(&third)), &whole, &format!("round {round}, third device: {report:?}"));
        // What waited waits, whatever else is told as doubtful besides because more was lost than could be seen.
        for journal in [&new, &third] {
            let now = waiting(journal);
            let still = |(place, values): (&_, &BTreeSet<_>)| now.get(place).is_some_and(|now| now.is_superset(values));
            assert!(conflicts.iter().all(still), "round {round}: {now:?}: {report:?}");
        }
        assert_eq!(third.root_digest().expect("reads"), new.root_digest().expect("reads"), "round {round}");
    }
    println!("{opened} of 12 opened; {kept} observations of {} salvaged", opened * whole.len());
    assert!(opened > 4 && kept > opened * whole.len() / 2);
}

/// What a crew of before knew of an observation does not come back over what holds now.
#[test]
fn documents_of_an_earlier_crew_are_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let old = start(&folder.path().join("a"), 1);
    let keys = old.record(&doc(), Some("corn"), &[count(&visit(60), 290)], at(1)).expect("records");
    let crew = CrewId([9; 16]);
    old.adopt_crew(crew, at(2)).expect("adopts");
    old.amend(&keys[0], "plants", &int(310), "person 1", at(3)).expect("amends");
    let spoil = |key: &DocKey| {
        let raw = rusqlite::Connection::open(folder.path().join("a/journal.sqlite")).expect("opens");
        raw.execute("update snapshot set bytes = x'00' where doc = ?1", [key.id().0]).expect("spoils");
        raw.execute("update chunk set bytes = x'00' where doc = ?1", [key.id().0]).expect("spoils");
    };
    spoil(&doc());
    let (new, report) = salvage(folder.path(), "new").expect("opens");
    assert_eq!((report.from_lists, report.lost.len()), (0, 1), "{report:?}");
    assert_eq!(gist(&all(&new)), gist(&all(&old)));
    spoil(&DocKey { crew, ..doc() });
    let lost = Journal::open(&folder.path().join("a")).expect("opens").amend(&keys[0], "plants", &int(1), "p", at(4));
    let told = lost.expect_err("the document is lost").to_string();
    assert!(told.contains("0 of 2 documents with 0 observations, and 1 observation by their lines"), "{told}");
    let (new, report) = salvage(folder.path(), "newer").expect("opens");
    assert_eq!((report.observations, report.from_lists, report.lost.len()), (1, 1, 2), "{report:?}");
    assert_eq!(new.record_by_key(&keys[0]).expect("there").int("plants"), Some(310));
    assert_eq!(gist(&all(&new)), gist(&all(&old)));
}

/// What a failed salvage leaves must not pass for all that could be read.
#[test]
fn a_salvage_that_fails_leaves_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let (bytes, _) = season(folder.path());
    put(&folder.path().join("a"), &bytes);
    let old = Journal::open(&folder.path().join("a")).expect("opens");
    let into = folder.path().join("file");
    std::fs::write(&into, b"a file where a folder should be").expect("writes");
    assert!(matches!(old.salvage(&into, at(1)), Err(JournalError::NoFolder { .. })));
    assert_eq!(std::fs::read(&into).expect("is left alone"), b"a file where a folder should be");
}
