//! The disk fails: it is full, it refuses to write, it wrote half a page. Nothing acknowledged is lost.

use std::process::Command;

use ligule_testkit::{Answer, Place};

use crate::device::Device;

const COUNT: &str = "stand-count north-40 --row 30in --length 17ft5in --plants 31 --at 2026-05-20T08:00";

/// Runs the program through a shell that sets limits first.
pub(crate) fn limited(device: &Device<'_>, limits: &str, arguments: &[&str]) -> Answer {
    let mut words = vec!["--journal", device.name()];
    words.extend_from_slice(arguments);
    let program = device.place().command(&words);
    let mut shell = Command::new("/bin/sh");
    shell.arg("-c").arg(format!("{limits}; exec \"$0\" \"$@\"")).arg(program.get_program()).args(program.get_args());
    shell.env_clear().current_dir(device.place().folder());
    for (name, value) in program.get_envs() {
        if let Some(value) = value {
            shell.env(name, value);
        }
    }
    let output = shell.output().expect("the shell starts");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    Answer { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) }
}

/// Says clearly that there is no room and that nothing is lost.
#[track_caller]
fn has_no_room(answer: &Answer) {
    assert_eq!(answer.code, Some(1), "{answer:?}");
    assert_eq!(answer.stdout, "", "nothing is said to be recorded");
    for words in ["cannot be written", "Nothing of this was recorded", "make room"] {
        assert!(answer.stderr.contains(words), "{}", answer.stderr);
    }
}

fn keys(device: &Device<'_>) -> Vec<String> {
    device.observations().iter().map(|one| one["observation"].as_str().expect("a key").to_owned()).collect()
}

/// Files may not grow beyond a limit: the system refuses the write in the middle of it, as a quota does.
#[cfg(unix)]
#[test]
fn a_write_that_is_refused_is_told_and_takes_nothing_along() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let mut recorded: Vec<String> = (0..5).map(|n| imke.counts(20, n)).collect();
    let mut refused = 0;
    // 512 bytes a step, from less than the write-ahead log's first frame to enough.
    for blocks in (0..160).step_by(3) {
        let limits = format!("ulimit -f {blocks}; trap '' XFSZ");
        let words: Vec<&str> = std::iter::once("record").chain(COUNT.split(' ')).collect();
        let answer = limited(&imke, &limits, &words);
        if answer.code == Some(0) {
            let key = answer.stdout.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("a key").0;
            recorded.push(key.to_owned());
        } else {
            has_no_room(&answer);
            refused += 1;
        }
        let listed = keys(&imke);
        assert!(recorded.iter().all(|key| listed.contains(key)), "after {blocks} blocks");
        assert_eq!(listed.len(), recorded.len(), "after {blocks} blocks: what was refused is not there either");
    }
    println!("{refused} refused, {} recorded", recorded.len());
    assert!(refused > 3, "the limits were felt");
    // There is room again.
    recorded.push(imke.counts(21, 30));
    assert_eq!(keys(&imke).len(), recorded.len());
    imke.does(&["journal", "verify"]);
}

/// What is too much for one transaction is there whole or not at all, wherever the disk refused it; what was kept is finished
/// by the next command once there is room.
#[cfg(unix)]
#[test]
fn a_large_recording_that_finds_no_room_is_there_whole_or_not_at_all() {
    const LINES: usize = 5_100;
    let place = Place::new();
    std::fs::write(place.folder().join("lines.txt"), vec![COUNT; LINES].join("\n")).expect("writes");
    let (mut nothing, mut kept, mut whole) = (0, 0, 0);
    for (name, blocks) in [("a", 20), ("b", 50), ("c", 80), ("d", 600), ("e", 1_400), ("f", 20_000)] {
        let device = Device::with_field(&place, name);
        let answer =
            limited(&device, &format!("ulimit -f {blocks}; trap '' XFSZ"), &["record", "--lines", "lines.txt"]);
        let expected = if answer.code == Some(0) {
            whole += 1;
            LINES
        } else if answer.stderr.contains("Nothing of this was recorded") {
            has_no_room(&answer);
            nothing += 1;
            0
        } else {
            assert_eq!((answer.code, answer.stdout.as_str()), (Some(1), ""));
            assert!(answer.stderr.contains("Do not record them again"), "{}", answer.stderr);
            assert!(answer.stderr.contains("make room"), "{}", answer.stderr);
            kept += 1;
            LINES
        };
        // There is room again.
        device.counts(21, 30);
        assert_eq!(keys(&device).len(), expected + 1, "after {blocks} blocks");
        device.does(&["journal", "verify"]);
    }
    assert!(nothing > 0 && kept > 0 && whole > 0, "{nothing} refused, {kept} kept, {whole} recorded");
}

/// A file system of its own that goes away with the value.
pub(crate) struct SmallDisk<'a>(&'a std::path::Path);

impl<'a> SmallDisk<'a> {
    /// `None` where this process may not mount.
    pub(crate) fn mount(at: &'a std::path::Path, size: &str) -> Option<Self> {
        std::fs::create_dir_all(at).expect("the folder can be made");
        let options = format!("size={size},mode=0777");
        let mount = Command::new("mount").args(["-t", "tmpfs", "-o", &options, "ligule-test"]).arg(at).output();
        matches!(mount, Ok(output) if output.status.success()).then_some(Self(at))
    }
}

impl Drop for SmallDisk<'_> {
    fn drop(&mut self) {
        let gone = Command::new("umount").arg(self.0).status();
        assert!(gone.is_ok_and(|status| status.success()) || std::thread::panicking(), "cannot unmount {:?}", self.0);
    }
}

#[test]
fn a_disk_that_runs_full_loses_nothing_and_works_again_when_there_is_room() {
    let place = Place::new();
    let folder = place.folder().join("disk");
    let Some(_disk) = SmallDisk::mount(&folder, "1m") else {
        // Not silent, and not all: the refused writes above need no such right.
        eprintln!("SKIPPED: a full disk was not tried, because this process may not mount a tmpfs; run it as root");
        return;
    };
    let imke = Device::with_field(&place, "disk/imke");
    let filler = folder.join("filler");
    let mut recorded = Vec::new();
    for round in 0..4 {
        // Whatever is left, to the last byte; the write ends with an error then.
        let _ = std::fs::write(&filler, vec![7; 2 << 20]);
        let mut full = false;
        for n in 0..20 {
            let words: Vec<&str> = std::iter::once("record").chain(COUNT.split(' ')).collect();
            let answer = imke.asks(&words);
            if answer.code == Some(0) {
                recorded.push(format!("{round}-{n}"));
                continue;
            }
            has_no_room(&answer);
            full = true;
            break;
        }
        assert!(full, "the disk is full in round {round}");
        // A file of lines does not get through by half.
        std::fs::write(place.folder().join("lines.txt"), vec![COUNT; 500].join("\n")).expect("another disk");
        has_no_room(&imke.asks(&["record", "--lines", "lines.txt"]));
        std::fs::remove_file(&filler).expect("it was written");
        assert_eq!(keys(&imke).len(), recorded.len(), "round {round}");
        imke.does(&["journal", "verify"]);
        imke.counts(20, 30);
        recorded.push(format!("{round}-again"));
    }
    assert_eq!(keys(&imke).len(), recorded.len());
    imke.does(&["journal", "verify"]);
    // A backup that does not fit leaves nothing behind, and the journal as it is.
    let _ = std::fs::write(&filler, vec![7; 2 << 20]);
    let answer = imke.asks(&["backup", "disk/copy"]);
    assert_ne!(answer.code, Some(0));
    assert!(!folder.join("copy").exists() && !folder.join("copy.part").exists(), "{}", answer.stderr);
    std::fs::remove_file(&filler).expect("it was written");
    assert_eq!(keys(&imke).len(), recorded.len());
}

/// The write-ahead log of a journal whose process lost power: it is not folded into the database.
fn after_power_cut(device: &Device<'_>) -> (Vec<u8>, Vec<u8>) {
    // A process that waits keeps the log from being folded in when others end.
    let waiting = crate::device::Waiting::serving(device, "1");
    for n in 0..10 {
        device.counts(20, n);
    }
    let read = |name: &str| std::fs::read(device.folder().join(name)).expect("it is there");
    let state = (read("journal.sqlite"), read("journal.sqlite-wal"));
    waiting.loses_power();
    state
}

fn puts(device: &Device<'_>, database: &[u8], log: &[u8]) {
    let _ = std::fs::remove_file(device.folder().join("journal.sqlite-shm"));
    std::fs::write(device.folder().join("journal.sqlite"), database).expect("it can be written");
    std::fs::write(device.folder().join("journal.sqlite-wal"), log).expect("it can be written");
}

/// Bytes of a page and of what stands before each page in the log, and before the first.
const PAGE: usize = 4096;
const FRAME: usize = PAGE + 24;
const LOG: usize = 32;

#[test]
fn a_write_torn_by_a_power_cut_takes_nothing_along_that_was_acknowledged() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    let (database, log) = after_power_cut(&imke);
    let frames: Vec<&[u8]> = log[LOG..].chunks_exact(FRAME).collect();
    assert!(frames.len() > 20, "the log holds what was recorded: {} frames", frames.len());
    // The next write was begun: a whole frame that nobody committed, half a frame, noise, zeros.
    let unfinished = frames[0];
    for (what, tail) in [
        ("nothing", Vec::new()),
        ("a frame of no transaction", unfinished.to_vec()),
        ("half a frame", unfinished[..FRAME / 2].to_vec()),
        ("noise", vec![0xa7; 3 * FRAME + 100]),
        ("zeros", vec![0; 2 * FRAME]),
    ] {
        puts(&imke, &database, &[&log[..], &tail].concat());
        assert_eq!(keys(&imke).len(), 10, "{what}");
        imke.does(&["journal", "verify"]);
        imke.counts(21, 30);
        assert_eq!(keys(&imke).len(), 11, "it goes on after {what}");
    }
    // The log was being folded into the database when power went: pages there are torn, and whole in the log.
    for (what, from, to) in
        [("the first half of each page", 0, PAGE / 2), ("the second half of each page", PAGE / 2, PAGE)]
    {
        let mut torn = database.clone();
        let mut pages = 0;
        for frame in &frames {
            let number = u32::from_be_bytes(frame[..4].try_into().expect("4 bytes")) as usize;
            let page = (number - 1) * PAGE..number * PAGE;
            // The first page bears the mark by which a database is known; a torn sector holds its old or its new bytes.
            if number > 1
                && let Some(page) = torn.get_mut(page)
            {
                page[from..to].fill(0xa7);
                pages += 1;
            }
        }
        assert!(pages > 0);
        puts(&imke, &torn, &log);
        assert_eq!(keys(&imke).len(), 10, "{what}");
        imke.does(&["journal", "verify"]);
    }
    // A disk that lied about what it had written loses the end of the log: never half a record, and the rest is whole.
    let mut seen = std::collections::BTreeSet::new();
    for cut in (0..=frames.len()).step_by(3) {
        puts(&imke, &database, &log[..LOG + cut * FRAME]);
        let listed = imke.observations();
        assert!(
            listed.iter().all(|one| one["values"].as_object().is_some_and(|values| values.len() == 3)),
            "{listed:?}"
        );
        let said = imke.does(&["journal", "verify"]);
        assert!(said.contains("are whole"), "{said}");
        seen.insert(listed.len());
    }
    assert!(seen.contains(&0) && seen.len() > 4, "{seen:?}");
}

/// What is written beside the journal names its file and says what to do: a photo that finds no room, an export.
#[cfg(unix)]
#[test]
fn a_photo_and_an_export_that_find_no_room_say_so() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 30);
    let picture = place.folder().join("p.png");
    std::fs::write(&picture, [b"\x89PNG\r\n\x1a\n".to_vec(), vec![7; 1 << 20]].concat()).expect("a picture");
    imke.does(&["record", "photo", "north-40", "p.png"]);
    // Enough for the journal's own small files, and not for a picture of a megabyte.
    let none = "ulimit -f 400; trap '' XFSZ";
    let photo = limited(&imke, none, &["record", "photo", "north-40", "p.png"]);
    assert_eq!(photo.code, Some(1), "{photo:?}");
    assert!(photo.stderr.contains("make room") && !photo.stderr.contains("200 MB"), "{}", photo.stderr);
    let export = limited(&imke, none, &["journal", "export", "out.jsonl"]);
    assert_eq!(export.code, Some(1), "{export:?}");
    assert!(export.stderr.contains("out.jsonl") && export.stderr.contains("make room"), "{}", export.stderr);
    assert!(!place.folder().join("out.jsonl").exists());
}
