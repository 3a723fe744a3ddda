//! Copies of a journal: made while others write, put back, and written on beside the first one.

use std::path::Path;
use std::process::Child;

use ligule_testkit::Place;

use crate::device::Device;
use crate::many_processes::{CUT_SHORT, VERY_MANY, Way, begun, ends, of_year, usual, very_many};

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir(to).expect("the folder can be made");
    for entry in std::fs::read_dir(from).expect("it is a folder").flatten() {
        let to = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &to);
        } else {
            std::fs::copy(entry.path(), to).expect("it can be copied");
        }
    }
}

/// Brings what one device holds to another as a file.
fn carries(place: &Place, from: &Device<'_>, to: &Device<'_>) {
    let file = place.folder().join("stick.ligule-bundle");
    let file = file.to_str().expect("UTF-8");
    from.does(&["bundle", "write", file]);
    to.does(&["bundle", "read", file]);
}

#[track_caller]
fn is_whole(device: &Device<'_>, observations: usize) {
    let said = device.does(&["journal", "verify"]);
    assert!(said.contains(&format!("and {observations} observations are whole")), "{said}");
}

/// The page of the README "Backups", as it is typed there.
#[test]
fn a_restore_drill() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    std::fs::create_dir(imke.folder().join("kinds")).expect("the folder can be made");
    let kind = include_str!("../../../schemas/kinds/note.toml").replace("kind = \"note\"", "kind = \"own-note\"");
    std::fs::write(imke.folder().join("kinds/own-note.toml"), kind).expect("it can be written");
    for n in 0..5 {
        imke.counts(20, n);
    }
    let key = imke.counts(20, 9);
    imke.does(&["amend", &key, "--plants", "10"]);
    let before = imke.holds();
    // Nothing is written to this disk in the place of one that is not there.
    let refused = imke.asks(&["backup", "backups/monday"]).exits(2);
    assert!(refused.stderr.contains("there is no folder"), "{}", refused.stderr);
    assert!(!place.folder().join("backups").exists());
    std::fs::create_dir(place.folder().join("backups")).expect("the folder can be made");
    let said = imke.does(&["backup", "backups/monday"]);
    assert!(said.contains("backups/monday holds 2 documents and 1 file"), "{said}");
    // A backup is as private as the journal, and overwrites nothing.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let file = place.folder().join("backups/monday/journal.sqlite");
        assert_eq!(std::fs::metadata(file).expect("it is there").permissions().mode() & 0o077, 0);
    }
    let again = imke.asks(&["backup", "backups/monday"]).exits(2);
    assert!(again.stderr.contains("overwrites nothing"), "{}", again.stderr);
    imke.asks(&["backup", "imke/copy"]).exits(2);

    // After the backup the work goes on; some of it reaches another device, some nobody.
    let shared = imke.counts(21, 20);
    imke.does(&["amend", &key, "--plants", "11"]);
    imke.exchanges_with(&tomas);
    imke.counts(22, 21);

    // The journal is lost, with or without what lies beside it; the backup is put in its place.
    for beside_too in [false, true] {
        std::fs::remove_dir_all(imke.folder()).expect("it can be removed");
        if beside_too {
            std::fs::remove_dir_all(place.folder().join("imke.actors")).expect("it can be removed");
        }
        copy(&place.folder().join("backups/monday"), &imke.folder());
        assert_eq!(imke.holds(), before);
        imke.does(&["journal", "verify"]);
        assert!(imke.does(&["kind", "own-note"]).contains("own-note"));
        // It records on before it has met anybody, and then gets back what others have.
        let new = imke.counts(23, if beside_too { 41 } else { 40 });
        imke.exchanges_with(&tomas);
        let listed = imke.lists();
        assert!(listed.contains(&shared) && listed.contains(&new), "{listed}");
        assert!(imke.does(&["history", &key, "--format", "csv"]).contains(",11,"), "the later correction is back");
        assert_eq!(imke.holds(), tomas.holds());
    }
    // Six and one shared before, one after each restore; what nobody else had is lost with the disk.
    is_whole(&imke, 9);
    is_whole(&tomas, 9);
}

/// Whoever copies a folder by hand has one device twice. Both write on; nothing is forked and nothing is lost.
#[test]
fn a_copied_journal_is_written_on_in_both_places_and_merges() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let tomas = Device::new(&place, "tomas");
    imke.invites(&tomas);
    let key = imke.counts(20, 1);
    copy(&imke.folder(), &place.folder().join("copied"));
    imke.does(&["backup", "backed-up"]);
    let others = [Device::that_is_there(&place, "copied"), Device::that_is_there(&place, "backed-up")];
    // The same person corrects the same value in all three, and adds to the same document.
    for (n, device) in [&imke, &others[0], &others[1]].into_iter().enumerate() {
        for plants in 0..3 {
            device.counts(21, 10 * (n as u32 + 1) + plants);
        }
        device.does(&["amend", &key, "--plants", &format!("{}", 100 + n)]);
    }
    // By a third device, which sees them all under one name, and by files.
    for device in [&imke, &others[0], &others[1]] {
        device.exchanges_with(&tomas);
    }
    for device in [&imke, &others[0], &others[1]] {
        carries(&place, &tomas, device);
        assert_eq!(device.holds(), tomas.holds());
        is_whole(device, 10);
        let conflicts = device.does(&["conflicts", "--format", "csv"]);
        for plants in [100, 101, 102] {
            assert!(conflicts.contains(&format!(",plants,{plants},")), "every correction is a candidate: {conflicts}");
        }
    }
}

/// Backups are made while two processes record; each is a journal of one moment.
#[test]
fn a_backup_is_consistent_while_others_write() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let lines: Vec<String> = (1..=40)
        .map(|n| format!("stand-count north-40 --row 30in --length 17ft5in --plants {n} --at 2026-05-20T08:00"))
        .collect();
    std::fs::write(place.folder().join("lines.txt"), lines.join("\n")).expect("the folder can be written");
    let mut made = 0;
    std::thread::scope(|scope| {
        let writers = [0, 1].map(|_| {
            let imke = &imke;
            scope.spawn(move || (0..6).for_each(|_| drop(imke.does(&["record", "--lines", "lines.txt"]))))
        });
        while !writers.iter().all(std::thread::ScopedJoinHandle::is_finished) {
            imke.does(&["backup", &format!("backup-{made}")]);
            made += 1;
        }
    });
    let mut held = 0;
    for n in 0..made {
        let name = format!("backup-{n}");
        let backup = Device::that_is_there(&place, &name);
        let now = backup.observations().len();
        assert!(
            now >= held && now.is_multiple_of(40),
            "{held} before, {now} now: each file of lines is there whole or not"
        );
        held = now;
        assert!(backup.does(&["journal", "verify"]).contains("whole"));
    }
    is_whole(&imke, 480);
    assert!(made > 1, "{made}");
}

/// A backup that is ended in between leaves no folder that looks like one.
#[test]
fn a_backup_that_is_killed_is_none() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 1);
    for wait in [5, 15, 30, 45, 60, 90] {
        let mut child: Child = imke.starts(&["backup", "copy"]);
        std::thread::sleep(std::time::Duration::from_millis(wait));
        child.kill().expect("the process is ours");
        child.wait().expect("the process is ours");
        if place.folder().join("copy").exists() {
            is_whole_one(&Device::that_is_there(&place, "copy"));
            std::fs::remove_dir_all(place.folder().join("copy")).expect("it can be removed");
        }
    }
    imke.does(&["backup", "copy"]);
    is_whole_one(&Device::that_is_there(&place, "copy"));
}

#[track_caller]
fn is_whole_one(device: &Device<'_>) {
    let said = device.does(&["journal", "verify"]);
    assert!(said.contains("and 1 observation are whole") || said.contains("and 1 observation is whole"), "{said}");
}

/// A folder that is copied after a large recording was cut short goes on by itself: here and there the same observations are
/// finished, and the copies merge into one.
#[test]
fn a_folder_that_was_copied_amid_a_large_recording_is_whole_and_nothing_is_doubled() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let usual = usual(&imke, Way::Lines, 2010);
    for part in 1..=6 {
        let year = 2020 + part;
        let child = begun(&imke, &very_many(&place, Way::Lines, year));
        ends(child, usual * part / 7);
        let name = format!("copy-{part}");
        copy(&imke.folder(), &place.folder().join(&name));
        let copied = Device::that_is_there(&place, &name);
        let next = [&imke, &copied].map(|device| device.asks(&["crew", "show"]).exits(0).stderr);
        assert_eq!(next[0], next[1]);
        assert_eq!(of_year(&imke, year), of_year(&copied, year));
        if next[0] != CUT_SHORT {
            continue;
        }
        for device in [&imke, &copied] {
            assert_eq!(of_year(device, year), VERY_MANY);
            device.counts(20, 30);
        }
        carries(&place, &copied, &imke);
        carries(&place, &imke, &copied);
        for device in [&imke, &copied] {
            assert_eq!(of_year(device, year), VERY_MANY, "nothing is doubled");
            assert_eq!(device.does(&["conflicts", "--format", "ndjson"]), "");
            assert!(device.does(&["journal", "verify"]).contains("are whole"));
        }
        assert_eq!(imke.holds(), copied.holds());
        return;
    }
    panic!("none of these moments lay between the first transaction and the last");
}

/// What is copied or written out while a large recording goes on has all of it or nothing.
#[test]
fn backups_and_exports_amid_a_large_recording_have_all_of_it_or_nothing() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let usual = usual(&imke, Way::Lines, 2010);
    let (mut part, mut amid) = (0, 0);
    // Early, in the middle, late; again where the machine was so much slower or quicker than before that none was between.
    while part < 3 || amid == 0 && part < 9 {
        let year = 2020 + part;
        let child = begun(&imke, &very_many(&place, Way::Lines, year));
        std::thread::sleep(usual * (2 * (part % 3) + 1) / 8);
        let (backup, export) = (format!("backup-{part}"), format!("export-{part}.jsonl"));
        imke.does(&["backup", &backup]);
        imke.does(&["journal", "export", &export]);
        let output = child.wait_with_output().expect("the process is ours");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let backup = Device::that_is_there(&place, &backup);
        let said = backup.asks(&["crew", "show"]).exits(0).stderr;
        assert!(said.is_empty() || said == CUT_SHORT, "{said}");
        amid += usize::from(!said.is_empty());
        let name = format!("read-{part}");
        let read = Device::that_is_there(&place, &name);
        read.does(&["journal", "import", &export]);
        let there = [&backup, &read].map(|device| of_year(device, year));
        println!("{there:?}; {said}");
        // The export waits until the recording is over.
        assert!(there[0] == 0 || there[0] == VERY_MANY, "{there:?}");
        assert_eq!(there[1], VERY_MANY);
        part += 1;
    }
    assert!(amid > 0, "none of the backups lay between the first transaction and the last");
}
