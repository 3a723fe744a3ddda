//! Photos travel between devices of a crew, by network and by file, whole or not at all, and never at the records' cost.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Child;
use std::time::{Duration, Instant};

use ligule_testkit::Place;
use serde_json::Value;

use crate::device::{Device, Waiting};
#[cfg(unix)]
use crate::failing_disk::{SmallDisk, limited};
use crate::photos::{below, photos};

/// Writes a file that begins as the image of a JPEG does and goes on as noise, which nothing makes smaller; returns its bytes.
fn picture(place: &Place, name: &str, length: usize) -> Vec<u8> {
    let mut state =
        name.bytes().fold(0x9e37_79b9_7f4a_7c15_u64, |state, byte| (state ^ u64::from(byte)).rotate_left(9) | 1);
    let mut bytes = b"\xff\xd8\xff\xda\0\x02".to_vec();
    while bytes.len() < length {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        bytes.extend(state.to_le_bytes());
    }
    bytes.truncate(length);
    fs::write(place.folder().join(name), &bytes).expect("a file");
    bytes
}

fn records(device: &Device<'_>, names: &[&str]) {
    let mut words = vec!["record", "photo", "north-40", "--at", "2026-05-20T08:00"];
    words.extend(names);
    device.does(&words);
}

/// Two devices of one crew that hold the same records; the first recorded photos of these names and lengths.
fn two<'a>(place: &'a Place, pictures: &[(&str, usize)]) -> (Device<'a>, Device<'a>) {
    let (imke, tomas) = (Device::with_field(place, "imke"), Device::new(place, "tomas"));
    imke.invites(&tomas);
    for (name, length) in pictures {
        picture(place, name, *length);
        records(&imke, &[name]);
    }
    (imke, tomas)
}

/// Exchanges with a device that serves; returns what the first one tells for programs.
fn told(device: &Device<'_>, serving: &Waiting, more: &[&str]) -> Value {
    let mut words = vec!["sync", "with", serving.address(), "--format", "ndjson"];
    words.extend(more);
    serde_json::from_str(&device.does(&words)).expect("one object")
}

fn exchange(device: &Device<'_>, other: &Device<'_>) -> Value {
    let serving = Waiting::serving(other, "1");
    let said = told(device, &serving, &[]);
    serving.ends();
    said
}

/// The photos that lie in a device's folder: name and bytes, unfinished ones too, but not those that were moved aside.
fn files(device: &Device<'_>) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = device.folder().join("photos");
    let named =
        |file: PathBuf| (file.strip_prefix(&folder).expect("below").to_owned(), fs::read(&file).expect("a file"));
    let aside = |file: &PathBuf| file.to_string_lossy().contains(".jpg.damaged");
    let mut files: Vec<_> = below(&folder).into_iter().filter(|file| !aside(file)).map(named).collect();
    files.sort();
    files
}

fn unfinished(device: &Device<'_>) -> Vec<PathBuf> {
    let part = |file: &PathBuf| file.extension().is_some_and(|extension| extension == "part");
    below(&device.folder().join("photos")).into_iter().filter(part).collect()
}

fn here(device: &Device<'_>) -> usize {
    photos(device).iter().filter(|photo| photo["here"] == true).count()
}

#[test]
fn photos_follow_the_records_both_ways_and_to_a_third_device() {
    let place = Place::new();
    let (imke, tomas) = two(&place, &[("a.jpg", 1_000), ("b.jpg", 3_000_000)]);
    let ruth = Device::new(&place, "ruth");
    imke.invites(&ruth);

    // Without them the records come alone, and each device knows what it lacks and how to get it.
    let serving = Waiting::serving(&imke, "1");
    let said = told(&tomas, &serving, &["--no-photos"]);
    assert!(serving.ends().stderr.is_empty(), "nothing is wrong with the one that has them");
    assert_eq!((&said["photos_received"], &said["photos_missing"]), (&Value::Null, &Value::from(2)));
    assert_eq!((tomas.lists(), files(&tomas).len(), here(&tomas)), (imke.lists(), 0, 0));
    let listed = tomas.asks(&["photo", "list"]).exits(0);
    assert!(listed.stderr.contains("2 photos are not on this device"), "{}", listed.stderr);
    assert!(listed.stderr.contains("`ligule sync with`"), "{}", listed.stderr);
    let checked = tomas.asks(&["journal", "verify"]).exits(0);
    assert!(checked.stderr.contains("2 photos are not on this device"), "{}", checked.stderr);

    // They come although no record is new; one goes the other way.
    picture(&place, "c.jpg", 200_000);
    records(&tomas, &["c.jpg"]);
    let serving = Waiting::serving(&imke, "1");
    let said = tomas.asks(&["sync", "with", serving.address()]).exits(0);
    assert!(said.stdout.contains("\n2 photos in, 1 out, 3.0 MB in, 200 kB out\n"), "{said:?}");
    assert!(said.stderr.is_empty(), "quiet in a pipe: {}", said.stderr);
    let answered = serving.ends();
    assert!(answered.stdout.contains("1 photo in, 2 out"), "{}", answered.stdout);
    assert_eq!(files(&tomas), files(&imke));
    for device in [&imke, &tomas] {
        assert_eq!(device.does(&["photo", "verify"]), "3 photos are here and whole\n");
    }
    // Once more: nothing is left to do.
    let said = exchange(&tomas, &imke);
    assert_eq!((&said["photos_received"], &said["photo_bytes_out"]), (&Value::from(0), &Value::from(0)));

    // A third one gets all of them from the second, while the first is away.
    let said = exchange(&ruth, &tomas);
    assert_eq!((&said["photos_received"], &said["photos_missing"]), (&Value::from(3), &Value::from(0)));
    assert_eq!((files(&ruth), ruth.holds()), (files(&imke), imke.holds()));
}

/// Two processes of one device at once: neither writes where the other does, and each photo is kept once.
#[test]
fn two_exchanges_at_once_share_the_photos() {
    let place = Place::new();
    let names: Vec<String> = (0..20).map(|n| format!("{n}.jpg")).collect();
    let pictures: Vec<(&str, usize)> = names.iter().map(|name| (name.as_str(), 600_000)).collect();
    let (imke, tomas) = two(&place, &pictures);
    let ruth = Device::new(&place, "ruth");
    imke.invites(&ruth);
    exchange(&ruth, &imke);
    tomas.exchanges_with(&imke);
    fs::remove_dir_all(tomas.folder().join("photos")).expect("they came");
    let serving = [Waiting::serving(&imke, "1"), Waiting::serving(&ruth, "1")];
    let started = serving.each_ref().map(|from| tomas.starts(&["sync", "with", from.address(), "--format", "ndjson"]));
    let received = started.map(|child| {
        let output = child.wait_with_output().expect("the process is ours");
        assert!(output.status.success(), "{output:?}");
        let told: Value = serde_json::from_slice(&output.stdout).expect("one object");
        told["photos_received"].as_u64().expect("a number")
    });
    assert_eq!(received.iter().sum::<u64>(), 20, "{received:?}");
    assert_eq!(files(&tomas), files(&imke));
    serving.into_iter().for_each(|serving| drop(serving.ends()));
}

#[test]
fn whoever_is_no_member_gets_no_photo() {
    let place = Place::new();
    let (imke, tomas) = two(&place, &[("a.jpg", 50_000)]);
    let hash = photos(&imke)[0]["photo"].as_str().expect("a hash").to_owned();
    let stranger = Device::with_field(&place, "stranger");
    // The hash alone is of no use, nor is the device's identifier.
    stranger.does(&[
        "record",
        "photo",
        "north-40",
        "--content",
        &hash,
        "--media-type",
        "JPEG",
        "--at",
        "2026-05-20T08:00",
    ]);
    let serving = Waiting::serving(&imke, "2");
    let crew = imke.does(&["crew", "show", "--format", "ndjson"]);
    let line = crew.lines().find(|line| line.contains("this device")).expect("it lists itself");
    let line: Value = serde_json::from_str(line).expect("a line is an object");
    let address = format!("{}#{}", serving.address(), line["device"].as_str().expect("an identifier"));
    stranger.asks(&["sync", "with", &address]).exits(5);
    imke.does(&["bundle", "write", "--photos", "ours.bundle"]);
    stranger.asks(&["bundle", "read", "ours.bundle"]).exits(5);
    assert!(files(&stranger).is_empty());
    // A file that no record of the crew speaks of stays where it is.
    let secret = imke.folder().join("photos").join("ab").join(format!("{}.jpg", "ab".repeat(32)));
    fs::create_dir_all(secret.parent().expect("a folder")).expect("it can be made");
    fs::write(&secret, b"\xff\xd8\xff of nobody's concern").expect("a file");
    told(&tomas, &serving, &[]);
    told(&tomas, &serving, &[]);
    serving.ends();
    assert_eq!(files(&tomas).len(), 1);
    // A member that was removed gets none either.
    picture(&place, "late.jpg", 1_000);
    records(&imke, &["late.jpg"]);
    imke.does(&["crew", "remove", "tomas"]);
    let serving = Waiting::serving(&imke, "1");
    tomas.asks(&["sync", "with", serving.address()]).exits(5);
    assert_eq!(files(&tomas).len(), 1);
}

#[test]
fn a_photo_that_is_damaged_where_it_comes_from_is_told_to_both_and_mended_from_elsewhere() {
    let place = Place::new();
    let (imke, tomas) = two(&place, &[("a.jpg", 400_000), ("b.jpg", 5_000)]);
    let file = below(&imke.folder().join("photos"))
        .into_iter()
        .find(|file| fs::metadata(file).expect("a file").len() == 400_000)
        .expect("it is kept");
    let mut bytes = fs::read(&file).expect("a file");
    bytes[250_000] ^= 1;
    fs::write(&file, &bytes).expect("it can be written");
    let serving = Waiting::serving(&imke, "1");
    let said = tomas.asks(&["sync", "with", serving.address()]).exits(0);
    assert!(said.stderr.contains("is damaged on imke's device and was not taken"), "{}", said.stderr);
    assert!(said.stdout.contains("1 photo in"), "the other one came: {}", said.stdout);
    let answered = serving.ends();
    assert!(answered.stderr.contains("is damaged on this device"), "{}", answered.stderr);
    assert_eq!((files(&tomas).len(), here(&tomas)), (1, 1), "nothing of it is kept");
    // Where it is it was moved aside, and is asked for from now on.
    assert_eq!(fs::read(file.with_extension("jpg.damaged")).expect("nothing is deleted"), bytes);
    assert_eq!((file.exists(), here(&imke)), (false, 1));
    records(&imke, &["a.jpg"]);
    exchange(&tomas, &imke);
    assert_eq!((files(&imke), here(&imke)), (files(&tomas), 2));
    // A bundle leaves it out and says so, and whoever has it mends it.
    fs::write(&file, &bytes).expect("damaged again");
    let written = imke.asks(&["bundle", "write", "--photos", "imke.bundle"]).exits(0);
    assert!(written.stderr.contains("is damaged on this device and left out"), "{}", written.stderr);
    assert!(written.stdout.contains("and 1 photo, 5 kB"), "{}", written.stdout);
    assert_eq!(exchange(&imke, &tomas)["photos_received"], 1);
    assert_eq!((files(&imke), here(&imke)), (files(&tomas), 2));
    // An exchange alone reads no photo that nobody asks for: a look at the journal finds it, and the next one mends it.
    fs::write(&file, &bytes).expect("damaged again");
    assert_eq!(exchange(&imke, &tomas)["photos_received"], 0);
    let checked = imke.asks(&["journal", "verify"]).exits(3);
    assert!(checked.stdout.contains("damaged") && checked.stderr.contains("sync with"), "{checked:?}");
    let checked = imke.asks(&["journal", "verify"]).exits(0);
    assert!(checked.stderr.contains("1 photo is not on this device"), "{checked:?}");
    assert_eq!(exchange(&tomas, &imke)["photos_sent"], 1);
    assert_eq!((files(&imke), here(&imke)), (files(&tomas), 2));
    assert!(imke.asks(&["journal", "verify"]).exits(0).stderr.contains("2 photos are here and whole"));
    for name in ["jpg.damaged", "jpg.damaged-2", "jpg.damaged-3"] {
        assert_eq!(fs::read(file.with_extension(name)).expect("nothing is deleted"), bytes, "{name}");
    }
    // One that was cut short is seen without reading it.
    fs::write(&file, &bytes[..1_000]).expect("it can be written");
    assert_eq!(here(&imke), 1);
    exchange(&imke, &tomas);
    assert_eq!(files(&imke), files(&tomas));
}

/// Waits until a file in the device's folder of photos whose name ends in `.part` has so many bytes; false if the process
/// came to its end before.
fn grows(device: &Device<'_>, child: &mut Child, bytes: u64) -> bool {
    let begun = Instant::now();
    loop {
        // Gone by the next moment, perhaps: then it has no length.
        let length = |file: &PathBuf| fs::metadata(file).map_or(0, |file| file.len());
        if part_files(&device.folder().join("photos")).iter().map(length).max().is_some_and(|most| most >= bytes) {
            return true;
        }
        if child.try_wait().expect("the process is ours").is_some() {
            return false;
        }
        assert!(begun.elapsed() < Duration::from_secs(60), "neither does it grow nor end");
        std::thread::sleep(Duration::from_millis(1));
    }
}

/// The unfinished files right in a folder, which may change meanwhile.
fn part_files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let paths = entries.flatten().map(|entry| entry.path());
    paths.filter(|path| path.extension().is_some_and(|extension| extension == "part")).collect()
}

#[test]
fn either_side_killed_amid_a_photo_harms_nothing_and_the_next_exchange_goes_on() {
    const LENGTH: usize = 100_000_000;
    let place = Place::new();
    let (imke, tomas) = two(&place, &[("long.jpg", LENGTH), ("short.jpg", 10_000)]);
    imke.counts(20, 29);
    let mut killed = 0;
    for (round, bytes) in [1, 10_000_000, 40_000_000].into_iter().enumerate() {
        let serving = Waiting::serving(&imke, "100");
        let mut child = tomas.starts(&["sync", "with", serving.address()]);
        let amid = grows(&tomas, &mut child, bytes);
        if amid && round % 2 == 0 {
            child.kill().expect("the process is ours");
            child.wait().expect("the process is ours");
            killed += 1;
        } else {
            // The other side dies; this one notices, tells it, and has the records all the same.
            serving.loses_power();
            let output = child.wait_with_output().expect("the process is ours");
            let told = String::from_utf8(output.stderr).expect("UTF-8");
            assert!(output.status.success(), "{told}");
            assert!(!amid || told.contains("note: photos: ") && told.contains("the records are exchanged"), "{told}");
        }
        assert_eq!(tomas.lists(), imke.lists(), "the records were there before any photo");
        tomas.does(&["journal", "verify"]);
        let (begun, kept): (Vec<_>, Vec<_>) =
            files(&tomas).into_iter().partition(|(name, _)| name.extension().is_some_and(|end| end == "part"));
        assert!(begun.len() <= 1 && kept.iter().all(|file| files(&imke).contains(file)), "what has a name is whole");
    }
    assert!(killed > 0, "at least one was killed in the middle");
    let held = unfinished(&tomas).iter().map(|file| fs::metadata(file).expect("a file").len()).sum::<u64>();
    assert!(held > 0, "what came is kept");
    let said = exchange(&tomas, &imke);
    let came = said["photo_bytes_in"].as_u64().expect("a number");
    assert!(came < LENGTH as u64 + 10_000 - held + 1, "{came} came, {held} were here");
    assert_eq!((files(&tomas), here(&tomas)), (files(&imke), 2));
}

#[test]
fn killed_while_a_picture_is_copied_nothing_is_recorded_and_nothing_stays() {
    let place = Place::new();
    let (imke, tomas) = two(&place, &[]);
    picture(&place, "long.jpg", 150_000_000);
    let before = imke.holds();
    let mut killed = 0;
    for bytes in [1, 20_000_000, 80_000_000] {
        let mut child = imke.starts(&["record", "photo", "north-40", "long.jpg", "--at", "2026-05-20T08:00"]);
        if grows(&imke, &mut child, bytes) {
            child.kill().expect("the process is ours");
            killed += 1;
        }
        child.wait().expect("the process is ours");
    }
    assert!(killed > 0 && !unfinished(&imke).is_empty());
    assert_eq!(imke.holds(), before);
    let told = imke.asks(&["photo", "verify"]).exits(0);
    assert!(told.stderr.contains("a copy that was not finished"), "{}", told.stderr);
    // One that is being copied at that moment is left alone, the others go.
    let mut child = imke.starts(&["record", "photo", "north-40", "long.jpg", "--at", "2026-05-20T08:00"]);
    assert!(grows(&imke, &mut child, 1));
    exchange(&imke, &tomas);
    assert!(child.wait().expect("the process is ours").success());
    exchange(&imke, &tomas);
    assert_eq!((unfinished(&imke).len(), files(&imke)), (0, files(&tomas)));
    assert_eq!(here(&tomas), 1);
}

#[cfg(unix)]
#[test]
fn a_disk_that_takes_no_photo_keeps_the_records_and_its_room() {
    let place = Place::new();
    let (imke, tomas) = two(&place, &[("long.jpg", 9_000_000), ("short.jpg", 10_000)]);
    imke.counts(20, 29);
    let limits = "ulimit -f 8192; trap '' XFSZ";
    let serving = Waiting::serving(&imke, "1");
    let said = limited(&tomas, limits, &["sync", "with", serving.address()]).exits(0);
    for words in ["could not keep a photo", "the records are exchanged"] {
        assert!(said.stderr.contains(words), "{}", said.stderr);
    }
    let answered = serving.ends();
    assert!(answered.stderr.contains("tomas's device could not keep a photo"), "{}", answered.stderr);
    assert_eq!(tomas.lists(), imke.lists());
    assert!(unfinished(&tomas).is_empty(), "the room that there is is there for records");
    imke.does(&["bundle", "write", "--photos", "stick.bundle"]);
    let read = limited(&tomas, limits, &["bundle", "read", "stick.bundle"]).exits(1);
    assert!(read.stderr.contains("the records were taken in") && read.stderr.contains("make room"), "{}", read.stderr);
    assert!(unfinished(&tomas).is_empty());
    // There is room again.
    tomas.does(&["bundle", "read", "stick.bundle"]);
    assert_eq!(files(&tomas), files(&imke));
}

/// The last room on a disk is for records, which nobody else has; a photo can be fetched another day.
#[cfg(unix)]
#[test]
fn photos_leave_room_for_records() {
    let place = Place::new();
    let folder = place.folder().join("disk");
    let Some(_disk) = SmallDisk::mount(&folder, "90m") else {
        eprintln!("SKIPPED: a small disk was not tried, because this process may not mount a tmpfs; run it as root");
        return;
    };
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "disk/tomas"));
    imke.invites(&tomas);
    picture(&place, "long.jpg", 9_000_000);
    records(&imke, &["long.jpg"]);
    let filler = folder.join("filler");
    fs::write(&filler, vec![7; 24_000_000]).expect("it fits");
    let serving = Waiting::serving(&imke, "1");
    let said = tomas.asks(&["sync", "with", serving.address()]).exits(0);
    serving.ends();
    assert!(said.stderr.contains("are kept for records"), "{}", said.stderr);
    assert_eq!((tomas.lists(), files(&tomas).len()), (imke.lists(), 0));
    tomas.counts(20, 29);
    fs::remove_file(&filler).expect("it was written");
    exchange(&tomas, &imke);
    assert_eq!(files(&tomas), files(&imke));
}

#[test]
fn a_bundle_brings_photos_if_it_was_asked_to_and_damage_costs_one_of_them() {
    let place = Place::new();
    let (imke, tomas) = two(&place, &[("a.jpg", 1_000), ("b.jpg", 3_000_000), ("c.jpg", 300_000)]);
    let said = imke.does(&["bundle", "write", "without.bundle"]);
    assert!(!said.contains("photo"), "{said}");
    let said = tomas.does(&["bundle", "read", "without.bundle"]);
    assert!(!said.contains("photo"), "{said}");
    assert_eq!((tomas.holds(), files(&tomas).len()), (imke.holds(), 0));

    let said = imke.does(&["bundle", "write", "--photos", "with.bundle"]);
    assert!(said.contains("and 3 photos, 3.3 MB"), "{said}");
    let mut bytes = fs::read(place.folder().join("with.bundle")).expect("it was written");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x10;
    fs::write(place.folder().join("damaged.bundle"), &bytes).expect("a file");
    let answer = tomas.asks(&["bundle", "read", "damaged.bundle"]).exits(3);
    assert!(answer.stderr.contains("not taken in: photo "), "{}", answer.stderr);
    assert_eq!(here(&tomas), 2, "{}", answer.stdout);
    assert!(
        files(&tomas).iter().all(|file| files(&imke).contains(file) || file.0.extension().is_some_and(|e| e == "part"))
    );
    let said = tomas.does(&["bundle", "read", "with.bundle"]);
    assert!(said.contains(", 1 new photo"), "{said}");
    assert_eq!(files(&tomas), files(&imke));
    let said: Value =
        serde_json::from_str(&tomas.does(&["bundle", "read", "with.bundle", "--format", "ndjson"])).expect("JSON");
    assert_eq!((&said["photos"], &said["new_photos"], &said["new_changes"]), (&3.into(), &0.into(), &0.into()));
    // What cannot be read here and there is refused, and not half read.
    let refused = tomas.asks(&["bundle", "read", "."]).exits(2);
    assert!(refused.stderr.contains("name a bundle file"), "{}", refused.stderr);
}

#[test]
fn a_backup_and_an_export_hold_the_photos() {
    let place = Place::new();
    let (imke, tomas) = two(&place, &[("a.jpg", 10), ("b.jpg", 65_536), ("c.jpg", 65_537), ("d.jpg", 3_000_000)]);
    exchange(&tomas, &imke);
    let before = (files(&imke), imke.holds());
    imke.does(&["backup", "monday"]);
    let said = imke.does(&["journal", "export", "all.jsonl"]);
    assert!(said.contains("4 files"), "{said}");
    let text = fs::read_to_string(place.folder().join("all.jsonl")).expect("UTF-8");
    let longest = text.lines().map(str::len).max().expect("lines");
    assert!(longest < 140_000, "no line holds a photo: {longest}");

    // The journal is lost and put back; a photo that is lost too comes from the other device.
    fs::remove_dir_all(imke.folder()).expect("it can be removed");
    fs::rename(place.folder().join("monday"), imke.folder()).expect("it can be put back");
    assert_eq!((files(&imke), imke.holds()), before);
    let lost = imke.folder().join("photos").join(&files(&imke)[0].0);
    fs::remove_file(lost).expect("it was there");
    assert_eq!(exchange(&imke, &tomas)["photos_received"], 1);
    assert_eq!(files(&imke), before.0);

    let again = Device::that_is_there(&place, "again");
    again.does(&["journal", "import", "all.jsonl"]);
    assert_eq!((files(&again), again.lists()), (before.0.clone(), imke.lists()));
    assert_eq!(again.does(&["photo", "verify"]), "4 photos are here and whole\n");
    // A damaged file of lines is refused before anything is written, wherever the damage is.
    let at = text.find("\"file-part\"").expect("a long file takes several lines");
    let cut: String =
        text.lines().filter(|line| !line.starts_with("{\"file-part\"")).map(|line| format!("{line}\n")).collect();
    for (name, bytes) in [
        ("cut.jsonl", cut.into_bytes()),
        ("flipped.jsonl", {
            let mut bytes = text.clone().into_bytes();
            let digit = &mut bytes[at + 1_000];
            *digit = if *digit == b'0' { b'1' } else { b'0' };
            bytes
        }),
    ] {
        fs::write(place.folder().join(name), bytes).expect("a file");
        let never = Device::that_is_there(&place, "never");
        never.asks(&["journal", "import", name]).exits(3);
        assert!(!never.folder().exists());
    }
}
