//! Photos: real JPEGs that a library wrote, kept byte for byte beside the journal, never in a document.

use std::fs;
use std::path::{Path, PathBuf};

use ligule_testkit::{Place, run_python};
use serde_json::Value;

use crate::device::Device;

/// Writes a JPEG into the place; returns its path and bytes.
fn jpeg(place: &Place, name: &str, seed: &str, time: &str) -> (PathBuf, Vec<u8>) {
    let file = place.folder().join(name);
    let path = file.to_str().expect("UTF-8");
    let said = run_python("photo.py", [path, seed, time, "-05:00", "42.03", "-93.62"]);
    assert!(said.contains("\"JPEG\""), "{said}");
    let bytes = fs::read(&file).expect("it was written");
    (file, bytes)
}

pub(crate) fn photos(device: &Device<'_>) -> Vec<Value> {
    serde_json::from_str(&device.does(&["photo", "list", "--format", "json"])).expect("JSON")
}

/// All files below a folder.
pub(crate) fn below(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let paths = entries.map(|entry| entry.expect("an entry").path());
    paths.flat_map(|path| if path.is_dir() { below(&path) } else { vec![path] }).collect()
}

#[test]
fn a_photo_is_kept_listed_and_handed_out_byte_for_byte() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let (file, bytes) = jpeg(&place, "IMG_1.jpg", "1", "2026:06:12 09:40:00");
    let words =
        ["record", "photo", "north-40", "IMG_1.jpg", "--from-exif", "--caption", "Row 3, gaps", "--accept-time"];
    let answer = device.asks(&words).exits(0);
    assert!(answer.stdout.contains("2026-06-12 09:40"), "{}", answer.stdout);
    let says = "taken at 2026-06-12T09:40:00-05:00, at 42.0300000,-93.6200000 (EXIF)";
    assert!(answer.stderr.contains(says), "{}", answer.stderr);
    // The program has its copy: what becomes of the original is nothing to it.
    fs::remove_file(&file).expect("it was there");

    let listed = photos(&device);
    let [photo] = listed.as_slice() else { panic!("{listed:?}") };
    let hash = photo["photo"].as_str().expect("a hash");
    assert_eq!(photo["media_type"], "image/jpeg");
    assert_eq!(photo["bytes"], bytes.len());
    assert_eq!(photo["here"], true);
    let kept = place.folder().join("imke/photos").join(&hash[..2]).join(format!("{hash}.jpg"));
    assert_eq!(fs::read(&kept).expect("kept under its hash"), bytes);
    assert_eq!(below(&place.folder().join("imke/photos")), [kept]);
    device.does(&["photo", "export", &hash[..8], "again.jpg"]);
    assert_eq!(fs::read(place.folder().join("again.jpg")).expect("handed out"), bytes);
    device.asks(&["photo", "export", hash, "again.jpg"]).exits(2);
    let shown = device.does(&["photo", "show", photo["observation"].as_str().expect("a key")]);
    assert!(shown.contains("Row 3, gaps") && shown.contains("2026-06-12T09:40:00-05:00"), "{shown}");
    assert_eq!(device.does(&["photo", "verify"]), "1 photo is here and whole\n");

    // Recorded again it is told as known, and nothing is added.
    let before = device.holds();
    fs::write(&file, &bytes).expect("it can be written");
    let again = device.asks(&["record", "photo", "north-40", "IMG_1.jpg"]).exits(0);
    assert!(again.stdout.is_empty() && again.stderr.contains("recorded there already"), "{}", again.stderr);
    assert_eq!(device.holds(), before);
}

/// What is said of a picture that is there already is not dropped without a word.
#[test]
fn what_is_said_of_a_known_picture_is_refused_with_the_way_to_say_it() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    jpeg(&place, "told.jpg", "2", "2025:06:12 09:40:00");
    let first = device.asks(&["record", "photo", "north-40", "told.jpg"]).exits(0);
    assert!(first.stderr.contains("void the observation"), "{}", first.stderr);
    let key = photos(&device)[0]["observation"].as_str().expect("a key").to_owned();
    let before = device.holds();
    let caption = device.asks(&["record", "photo", "north-40", "told.jpg", "--caption", "Row 3"]).exits(2).stderr;
    assert!(caption.contains(&format!("`ligule amend {key} --caption \"Row 3\"`")), "{caption}");
    let typed = device.asks(&["record", "photo", "north-40", "told.jpg", "--at", "2025-06-12T09:40"]).exits(2).stderr;
    assert!(typed.contains(&format!("`ligule void {key} --why")), "{typed}");
    // What the camera says was not typed: nothing is added, and the way to take it is told.
    let camera = device.asks(&["record", "photo", "north-40", "told.jpg", "--from-exif"]).exits(0);
    assert!(camera.stdout.is_empty() && camera.stderr.contains("recorded there already"), "{}", camera.stderr);
    assert!(camera.stderr.contains(&format!("`ligule void {key} --why")), "{}", camera.stderr);
    assert_eq!(device.holds(), before);
    // Both ways lead there.
    device.does(&["amend", &key, "--caption", "Row 3"]);
    device.does(&["void", &key, "--why", "recorded anew"]);
    device.does(&["record", "photo", "north-40", "told.jpg", "--from-exif", "--caption", "Row 3"]);
    assert_eq!(
        (&photos(&device)[0]["caption"], &photos(&device)[0]["at"]),
        (&"Row 3".into(), &"2025-06-12T09:40:00-05:00".into())
    );
    // Said the same, nothing is to be done.
    device.does(&["record", "photo", "north-40", "told.jpg", "--from-exif"]);
}

#[test]
fn what_the_camera_says_is_offered_and_not_assumed() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    jpeg(&place, "told.jpg", "2", "2025:06:12 09:40:00");
    jpeg(&place, "untold.jpg", "3", "-");
    let answer = device.asks(&["record", "photo", "north-40", "told.jpg", "--at", "2025-07-01T08:00"]).exits(0);
    assert!(answer.stdout.contains("2025-07-01 08:00"), "{}", answer.stdout);
    assert!(answer.stderr.contains("--from-exif") && answer.stderr.contains("42.03"), "{}", answer.stderr);
    let refused = device.asks(&["record", "photo", "north-40", "untold.jpg", "--from-exif"]).exits(2);
    assert!(refused.stderr.contains("--at"), "{}", refused.stderr);
    device.does(&["record", "photo", "north-40", "untold.jpg", "--from-exif", "--at", "2025-07-02T08:00"]);
    assert_eq!(photos(&device).len(), 2);
}

#[test]
fn a_photo_is_never_in_a_document() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let size = || {
        let files = below(&place.folder().join("imke"));
        let photo = |file: &Path| file.components().any(|part| part.as_os_str() == "photos");
        let long = |file: &PathBuf| fs::metadata(file).expect("a file").len();
        let rest: u64 = files.iter().filter(|file| !photo(file)).map(long).sum();
        (rest, files.iter().filter(|file| photo(file)).map(long).sum::<u64>())
    };
    let (before, _) = size();
    let names: Vec<String> = (0..8).map(|n| format!("IMG_{n}.jpg")).collect();
    let mut total = 0;
    for (n, name) in names.iter().enumerate() {
        total += jpeg(&place, name, &(10 + n).to_string(), "2025:06:12 09:40:00").1.len() as u64;
    }
    let mut words = vec!["record", "photo", "north-40", "--from-exif"];
    words.extend(names.iter().map(String::as_str));
    device.does(&words);
    let (after, beside) = size();
    assert_eq!(beside, total);
    // The pictures are noise, which nothing makes smaller: together they are longer than all that the journal grew by.
    assert!(total > 400_000, "{total}");
    assert!(after - before < total / 2, "the journal grew by {} bytes for {total} bytes of photos", after - before);
}

#[test]
fn what_cannot_be_kept_is_refused_and_leaves_nothing() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let (_, bytes) = jpeg(&place, "good.jpg", "4", "2025:06:12 09:40:00");
    fs::write(place.folder().join("note.jpg"), "no picture, whatever its name").expect("a file");
    fs::write(place.folder().join("empty.jpg"), "").expect("a file");
    let huge = fs::File::create(place.folder().join("huge.jpg")).expect("a file");
    huge.set_len(200_000_001).expect("a sparse file");
    let before = device.holds();
    for wrong in ["note.jpg", "empty.jpg", "huge.jpg", "absent.jpg", "."] {
        // A good one beside it: all or nothing.
        let answer = device.asks(&["record", "photo", "north-40", "good.jpg", wrong]).exits(2);
        assert!(answer.stderr.contains("nothing was recorded"), "{}", answer.stderr);
    }
    device.asks(&["record", "photo", "nowhere", "good.jpg"]).exits(2);
    device.asks(&["record", "photo", "north-40", "--content", "abc", "--media-type", "JPEG"]).exits(2);
    device.asks(&["record", "photo", "north-40"]).exits(2);
    // Torn off before any part of the image it is none.
    for length in [3, 40] {
        fs::write(place.folder().join("torn.jpg"), &bytes[..length]).expect("a file");
        let answer = device.asks(&["record", "photo", "north-40", "torn.jpg"]).exits(2);
        assert!(answer.stderr.contains("ends before any part of the image"), "{}", answer.stderr);
    }
    assert_eq!(device.holds(), before);
    assert_eq!(below(&place.folder().join("imke/photos")), Vec::<PathBuf>::new());
    // Of one that was cut off behind that, there is something to see: it is kept, and said to be cut.
    fs::write(place.folder().join("torn.jpg"), &bytes[..bytes.len() - 2]).expect("a file");
    let answer = device.asks(&["record", "photo", "north-40", "torn.jpg"]).exits(0);
    assert!(answer.stderr.contains("torn.jpg seems to be cut off or damaged"), "{}", answer.stderr);
    assert!(!device.asks(&["record", "photo", "north-40", "good.jpg"]).exits(0).stderr.contains("cut off"));
}

#[test]
fn missing_and_damaged_photos_are_told_and_mended() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let (_, bytes) = jpeg(&place, "a.jpg", "5", "2025:06:12 09:40:00");
    jpeg(&place, "b.jpg", "6", "2025:06:12 09:41:00");
    device.does(&["record", "photo", "north-40", "--from-exif", "a.jpg", "b.jpg"]);
    let files = below(&place.folder().join("imke/photos"));
    let (a, b): (Vec<_>, Vec<_>) = files.iter().partition(|file| fs::read(file).expect("a file") == bytes);
    let mut damaged = bytes.clone();
    damaged[bytes.len() / 2] ^= 1;
    fs::write(a[0], &damaged).expect("it can be written");
    fs::remove_file(b[0]).expect("it was there");
    let stray = place.folder().join("imke/photos/stray.txt");
    fs::write(&stray, "mine").expect("a file");
    let answer = device.asks(&["photo", "verify"]).exits(3);
    assert!(answer.stdout.contains("damaged") && answer.stdout.contains("missing"), "{}", answer.stdout);
    assert!(answer.stderr.contains("stray.txt") && stray.exists(), "{}", answer.stderr);
    // Moved aside, so that it is asked for; nothing is deleted.
    let aside = a[0].with_extension("jpg.damaged");
    assert!(answer.stderr.contains(".jpg.damaged: a damaged photo, moved aside"), "{}", answer.stderr);
    assert_eq!((fs::read(&aside).expect("it is there"), a[0].exists()), (damaged.clone(), false));
    fs::rename(&aside, a[0]).expect("it can be put back");
    let hash = a[0].file_stem().and_then(|stem| stem.to_str()).expect("a hash");
    for what in ["damaged", "missing"] {
        let refused = device.asks(&["photo", "export", hash, "out.jpg"]).exits(3);
        assert!(refused.stderr.contains(&format!("is {what} on this device")), "{}", refused.stderr);
        assert!(!place.folder().join("out.jpg").exists() && aside.exists());
    }
    // Recorded again from their files, they are whole, and no second record is made.
    device.does(&["record", "photo", "north-40", "a.jpg", "b.jpg"]);
    assert_eq!(device.does(&["photo", "verify"]), "2 photos are here and whole\n");
    assert_eq!(photos(&device).len(), 2);
}

/// What was taken out of a journal has its photos and what else lay beside it; the journal stays as it is.
#[test]
fn what_lies_beside_a_journal_is_salvaged_with_it() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    fs::create_dir(device.folder().join("kinds")).expect("the folder can be made");
    let kind = include_str!("../../../schemas/kinds/note.toml").replace("kind = \"note\"", "kind = \"own-note\"");
    fs::write(device.folder().join("kinds/own-note.toml"), kind).expect("it can be written");
    device.does(&["record", "own-note", "north-40", "--text", "Crust"]);
    for (name, seed) in [("a.jpg", "5"), ("b.jpg", "6"), ("c.jpg", "7")] {
        jpeg(&place, name, seed, "2025:06:12 09:40:00");
        device.does(&["record", "photo", "north-40", name]);
    }
    let content = |name: &str| fs::read(place.folder().join(name)).expect("a file");
    let kept = below(&device.folder().join("photos"));
    let of = |name: &str| kept.iter().find(|file| fs::read(file).is_ok_and(|bytes| bytes == content(name)));
    let [a, b, c] = ["a.jpg", "b.jpg", "c.jpg"].map(|name| of(name).expect("it is kept").clone());
    let mut damaged = content("b.jpg");
    damaged[100] ^= 1;
    fs::write(&b, &damaged).expect("it can be written");
    fs::remove_file(&c).expect("it was there");

    // In the folder itself, as a person may name it.
    let into = ["imke/rescued", "rescued"];
    for into in into {
        let answer = device.asks(&["journal", "salvage", into]).exits(3);
        let hash = b.file_stem().and_then(|stem| stem.to_str()).expect("a hash");
        assert!(answer.stdout.contains(&format!("photo {hash}")), "{}", answer.stdout);
        assert!(answer.stdout.contains("damaged; not copied") && answer.stdout.contains("and 4 observations"));
        assert!(answer.stderr.contains("1 photo is here and whole"), "{}", answer.stderr);
        assert!(answer.stderr.contains("2 photos are not on this device"), "{}", answer.stderr);
        assert!(answer.stderr.contains("record the picture again"), "{}", answer.stderr);
        assert_eq!(
            (fs::read(&b).expect("evidence"), fs::read(&a).expect("evidence")),
            (damaged.clone(), content("a.jpg"))
        );
        let rescued = Device::that_is_there(&place, into);
        let [copy] = below(&rescued.folder().join("photos")).try_into().expect("one file");
        assert_eq!((fs::read(&copy).expect("a file"), copy.file_name()), (content("a.jpg"), a.file_name()));
        assert_eq!(rescued.observations().len(), 4);
        rescued.does(&["record", "own-note", "north-40", "--text", "Dry"]);
        assert!(!rescued.folder().join("rescued").exists(), "it is not copied into itself");
        fs::remove_dir_all(rescued.folder()).expect("it was there");
    }
    // Nothing is lost where nothing is damaged.
    for name in ["b.jpg", "c.jpg"] {
        device.does(&["record", "photo", "north-40", name]);
    }
    let said = device.asks(&["journal", "salvage", "whole"]).exits(0);
    assert!(
        said.stdout.starts_with("nothing is lost") && said.stderr.contains("3 photos are here and whole"),
        "{said:?}"
    );
    let whole = Device::that_is_there(&place, "whole");
    assert_eq!(whole.does(&["photo", "verify"]), "3 photos are here and whole\n");
}

#[test]
fn lines_of_a_file_name_pictures_beside_other_observations() {
    let place = Place::new();
    let device = Device::with_field(&place, "imke");
    let (_, bytes) = jpeg(&place, "a.jpg", "7", "2025:06:12 09:40:00");
    jpeg(&place, "b.jpg", "8", "2025:06:12 09:41:00");
    jpeg(&place, "untold.jpg", "9", "-");
    let before = device.holds();
    let good =
        "photo north-40 --from-exif a.jpg b.jpg --caption 'Row 3'\nnote north-40 --text Crust --at 2025-06-12T10:00\n";
    // One line that does not hold, and nothing is recorded or kept; each is told with its place.
    let bad = format!("{good}photo north-40 absent.jpg\nphoto north-40 --from-exif untold.jpg\nphoto nowhere a.jpg\n");
    fs::write(place.folder().join("lines.txt"), bad).expect("a file");
    let refused = device.asks(&["record", "--lines", "lines.txt"]).exits(2);
    for words in ["line 3", "absent.jpg", "line 4", "does not tell when it was taken", "line 5", "nothing was recorded"]
    {
        assert!(refused.stderr.contains(words), "{words}: {}", refused.stderr);
    }
    assert_eq!(device.holds(), before);
    assert_eq!(below(&place.folder().join("imke/photos")), Vec::<PathBuf>::new());

    fs::write(place.folder().join("lines.txt"), good).expect("a file");
    let said = device.does(&["record", "--lines", "lines.txt"]);
    assert!(said.contains("recorded 3 observations on north-40"), "{said}");
    let listed = photos(&device);
    assert!(listed.iter().all(|photo| photo["caption"] == "Row 3" && photo["here"] == true), "{listed:?}");
    assert_eq!(listed[0]["at"], "2025-06-12T09:40:00-05:00");
    assert_eq!(listed[0]["bytes"], bytes.len());
    assert_eq!(device.observations().len(), 3);
    // Behind `--and` there is no place for them.
    let refused =
        device.asks(&["record", "note", "north-40", "--text", "Crust", "--and", "photo", "north-40", "a.jpg"]);
    assert!(refused.code == Some(2) && refused.stderr.contains("a command of their own"), "{}", refused.stderr);
}
