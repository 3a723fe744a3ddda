//! Damaged journals: an error that names the file, never a panic, never a silent loss.

mod common;

use std::path::Path;

use common::{at, count, doc, start, visit};
use ligule_journal::{Filter, Journal, JournalError};

/// A journal of 60 observations in a file without a write-ahead log beside it.
fn journal(folder: &Path) -> Vec<u8> {
    let journal = start(folder, 1);
    for n in 0..60 {
        journal.record(&doc(), Some("corn"), &[count(&visit("person 1", n / 20), n as i64)], at(1)).expect("records");
    }
    drop(journal);
    let raw = rusqlite::Connection::open(folder.join("journal.sqlite")).expect("opens");
    raw.query_row("pragma wal_checkpoint(truncate)", [], |_| Ok(())).expect("folds the log in");
    drop(raw);
    std::fs::read(folder.join("journal.sqlite")).expect("reads")
}

fn put(folder: &Path, bytes: &[u8]) {
    for left in ["journal.sqlite-wal", "journal.sqlite-shm"] {
        let _ = std::fs::remove_file(folder.join(left));
    }
    std::fs::write(folder.join("journal.sqlite"), bytes).expect("writes");
}

/// Does everything a program does; returns what was told. Panics are what this is about.
fn walk(folder: &Path) -> Vec<String> {
    let journal = match Journal::open(folder) {
        Ok(journal) => journal,
        Err(e) => return vec![e.to_string()],
    };
    let mut told = Vec::new();
    let mut tell = |result: Result<(), JournalError>| {
        if let Err(e) = result {
            told.push(e.to_string());
        }
    };
    tell(journal.records(&Filter::default()).map(|_| ()));
    tell(journal.documents().map(|_| ()));
    tell(journal.root_digest().map(|_| ()));
    tell(journal.conflicts().map(|_| ()));
    tell(journal.changes_since(doc().id(), &Default::default()).map(|_| ()));
    match journal.verify() {
        Ok(report) => told.extend(report.findings.into_iter().map(|f| format!("{}: {}", f.place, f.what))),
        Err(e) => told.push(e.to_string()),
    }
    let mut tell = |result: Result<(), JournalError>| {
        if let Err(e) = result {
            told.push(e.to_string());
        }
    };
    tell(journal.rebuild().map(|_| ()));
    tell(journal.record(&doc(), None, &[count(&visit("person 1", 99), 1)], at(1)).map(|_| ()));
    tell(journal.snapshot(true).map(|_| ()));
    told
}

#[test]
fn truncated_files_are_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = journal(folder.path());
    for part in 0..16 {
        put(folder.path(), &bytes[..bytes.len() * part / 16]);
        let told = walk(folder.path());
        assert!(!told.is_empty(), "{part}/16 of the file passes for whole");
        assert!(told.iter().any(|t| t.contains("journal.sqlite")), "{part}/16: {told:?}");
        for t in told.iter().filter(|t| t.contains(" is damaged: ")) {
            assert!(t.contains("still readable: ") && t.contains("another device of the crew"), "{t}");
            assert!(t.contains(if part == 0 { "Move the file aside" } else { "Keep a copy of the file" }), "{t}");
        }
    }
}

#[test]
fn flipped_bytes_never_panic_and_never_hide_in_a_document() {
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = journal(folder.path());
    let whole = {
        put(folder.path(), &bytes);
        Journal::open(folder.path()).expect("opens").records(&Filter::default()).expect("reads")
    };
    let mut seed = 0x5eed_0002u64;
    println!("seed {seed}");
    let mut next = |below: usize| {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        (seed % below as u64) as usize
    };
    let (mut told, mut unseen) = (0, 0);
    for round in 0..60 {
        let mut broken = bytes.clone();
        if round % 3 == 0 {
            let page = next(bytes.len() / 4096) * 4096;
            broken[page..page + 4096].fill(next(256) as u8);
        } else {
            for _ in 0..20 {
                let place = next(bytes.len());
                broken[place] ^= 1 << next(8);
            }
        }
        put(folder.path(), &broken);
        if walk(folder.path()).is_empty() {
            unseen += 1;
            // Nothing was told: then what the documents say is what was recorded.
            let journal = Journal::open(folder.path()).expect("opens");
            let now = journal.records(&Filter::default()).expect("reads");
            for record in &whole {
                let same = now.iter().find(|r| r.key == record.key).expect("still there");
                assert_eq!(same.values, record.values);
            }
        } else {
            told += 1;
        }
    }
    println!("{told} damages told, {unseen} without effect on what was recorded");
    assert!(told > 20);
}

/// A file of no bytes is neither a journal nor room for one; the log beside it may hold the last that was written.
#[test]
fn an_empty_file_is_damage_whoever_looks() {
    let folder = tempfile::tempdir().expect("a folder");
    put(folder.path(), b"");
    let log = folder.path().join("journal.sqlite-wal");
    std::fs::write(&log, b"what a power cut left").expect("writes");
    let opened = Journal::open(folder.path()).map(|_| ()).expect_err("empty");
    let created = Journal::create(folder.path(), common::identity(1)).map(|_| ()).expect_err("empty");
    let expected = format!(
        "{} is damaged: it is empty (0 bytes); still readable: nothing. Move the file aside; then put an earlier copy \
         in its place, or start a new journal with `ligule init` and sync it from another device of the crew",
        folder.path().join("journal.sqlite").display()
    );
    for told in [opened, created] {
        assert!(matches!(told, JournalError::Damaged { .. }));
        assert_eq!(told.to_string(), expected);
    }
    assert_eq!(std::fs::read(&log).expect("is left alone"), b"what a power cut left");
    assert_eq!(std::fs::metadata(folder.path().join("journal.sqlite")).expect("is left alone").len(), 0);
    // What the message says to do works.
    std::fs::rename(folder.path().join("journal.sqlite"), folder.path().join("aside")).expect("moves");
    std::fs::remove_file(log).expect("moves");
    Journal::create(folder.path(), common::identity(1)).expect("starts");
}

#[test]
fn what_is_not_a_journal_is_told_apart() {
    let folder = tempfile::tempdir().expect("a folder");
    let open = || Journal::open(folder.path()).map(|_| ()).expect_err("no journal");
    assert!(matches!(open(), JournalError::NotAJournal { .. }));
    put(folder.path(), &[b'x'; 9000]);
    assert!(matches!(open(), JournalError::Damaged { .. }));
    std::fs::remove_file(folder.path().join("journal.sqlite")).expect("removes");
    let raw = rusqlite::Connection::open(folder.path().join("journal.sqlite")).expect("opens");
    raw.execute_batch("create table recipe (name text)").expect("makes");
    drop(raw);
    assert!(open().to_string().contains("it has none of a journal's tables"), "{}", open());
    std::fs::remove_file(folder.path().join("journal.sqlite")).expect("removes");
    let bytes = journal(folder.path());
    assert!(matches!(
        Journal::create(folder.path(), common::identity(1)).map(|_| ()),
        Err(JournalError::AlreadyThere { .. })
    ));
    put(folder.path(), &bytes);
    let raw = rusqlite::Connection::open(folder.path().join("journal.sqlite")).expect("opens");
    raw.execute("update meta set value = 99 where name = 'schema'", []).expect("updates");
    drop(raw);
    let newer = open();
    assert!(matches!(newer, JournalError::NewerSchema { found: 99, known: 3, .. }));
    assert!(newer.to_string().contains("use a later `ligule`"));
    std::fs::remove_file(folder.path().join("journal.sqlite")).expect("removes");
    assert!(matches!(open(), JournalError::NotAJournal { .. }));
}
