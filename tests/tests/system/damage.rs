//! Damaged files: the message names the file, what is still readable and how to go on; nothing panics.

use std::path::{Path, PathBuf};
use std::process::Command;

use ligule_testkit::{Answer, Place, python, repository_root};

use crate::device::{Device, Waiting};

/// What a person meets: whatever the exit code, no panic and no trace of the program's insides.
#[track_caller]
fn is_no_panic(answer: &Answer) {
    assert!(answer.code.is_some() && answer.code != Some(101), "{answer:?}");
    for inside in ["panicked", "RUST_BACKTRACE", "/src/", "stack backtrace", "ERROR "] {
        assert!(!answer.stderr.contains(inside), "`{inside}` in\n{}", answer.stderr);
    }
}

/// The stored data is at fault, and the message names all of `named`.
#[track_caller]
fn is_damage(answer: Answer, named: &[&str]) {
    is_no_panic(&answer);
    let answer = answer.exits(3);
    let said = format!("{}{}", answer.stdout, answer.stderr);
    for name in named {
        assert!(said.contains(name), "it does not name `{name}`:\n{said}");
    }
    assert_eq!(answer.stderr.lines().filter(|line| line.starts_with("error: ")).count(), 1, "{}", answer.stderr);
}

/// A device with counts of two kinds in two seasons.
fn device(place: &Place) -> Device<'_> {
    let imke = Device::with_field(place, "imke");
    let lines: Vec<String> = (0..200)
        .map(|n| {
            let at = format!("--at {}-05-{:02}T{:02}:00", 2025 + n % 2, 1 + n % 28, n % 24);
            match n % 3 {
                0 => format!("pest-count north-40 --organism AGROYP --plants 20 --cut {} {at}", n % 5),
                _ => format!("stand-count north-40 --row 30in --length 17ft5in --plants {} {at}", 20 + n % 15),
            }
        })
        .collect();
    std::fs::write(place.folder().join("lines.txt"), lines.join("\n")).expect("the folder can be written");
    imke.does(&["record", "--lines", "lines.txt"]);
    imke
}

fn cut(file: &Path, length: u64) {
    let open = std::fs::OpenOptions::new().write(true).open(file).expect("the file is there");
    open.set_len(length).expect("it can be cut");
}

fn flip(file: &Path, places: impl IntoIterator<Item = usize>) {
    let mut bytes = std::fs::read(file).expect("the file is there");
    for place in places {
        bytes[place] ^= 0x5a;
    }
    std::fs::write(file, bytes).expect("it can be written");
}

fn length(file: &Path) -> u64 {
    std::fs::metadata(file).expect("the file is there").len()
}

/// The only file of a kind in a folder.
fn only(folder: &Path, extension: &str) -> PathBuf {
    let read = std::fs::read_dir(folder).expect("the folder can be read").flatten().map(|entry| entry.path());
    let mut files: Vec<PathBuf> = read.filter(|path| path.extension().is_some_and(|e| e == extension)).collect();
    assert_eq!(files.len(), 1, "{files:?}");
    files.remove(0)
}

#[test]
fn a_journal_that_is_cut_or_overwritten_is_named_and_left_alone() {
    let place = Place::new();
    let imke = device(&place);
    let file = imke.folder().join("journal.sqlite");
    let whole = std::fs::read(&file).expect("it is there");
    let record = ["record", "stand-count", "north-40", "--hoop", "30in", "--plants", "18"];
    let harm: [(&str, &dyn Fn()); 5] = [
        ("half", &|| cut(&file, whole.len() as u64 / 2)),
        ("its beginning", &|| cut(&file, 100)),
        ("another file", &|| std::fs::write(&file, [0xa7; 40_000]).expect("it can be written")),
        ("no header", &|| flip(&file, 0..16)),
        ("its list of tables", &|| flip(&file, 100..200)),
    ];
    for (name, harm) in harm {
        std::fs::write(&file, &whole).expect("it can be written");
        harm();
        let damaged = std::fs::read(&file).expect("it is there");
        for command in [&["list"][..], &["journal", "verify"], &["crew", "show"], &record] {
            let answer = imke.asks(command);
            println!("{name}, {command:?}: {}", answer.stderr);
            is_damage(answer, &["journal.sqlite", "damaged", "still readable", "another device of the crew"]);
            assert_eq!(std::fs::read(&file).expect("it is there"), damaged, "{name}: evidence stays as it is");
        }
    }
    std::fs::write(&file, &whole).expect("it can be written");
    assert_eq!(imke.observations().len(), 200, "the copy that was kept is good");
}

/// Where not even the owner of a journal can be read, the way that is told brings records and photos back: a new journal, the
/// folder of photos, a sync.
#[test]
fn photos_outlast_a_journal_that_cannot_be_opened() {
    let place = Place::new();
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "tomas"));
    imke.invites(&tomas);
    let picture = [&b"\xff\xd8\xff\xda\0\x02"[..], &[0x5a; 5_000]].concat();
    std::fs::write(place.folder().join("gaps.jpg"), &picture).expect("it can be written");
    imke.does(&["record", "photo", "north-40", "gaps.jpg"]);
    // The other device has the record of the photo, and not the photo.
    imke.does(&["bundle", "write", "records.ligule-bundle"]);
    tomas.does(&["bundle", "read", "records.ligule-bundle"]);
    for left in ["journal.sqlite-wal", "journal.sqlite-shm"] {
        let _ = std::fs::remove_file(imke.folder().join(left));
    }
    flip(&imke.folder().join("journal.sqlite"), 0..4096);
    let told = imke.asks(&["journal", "salvage", "rescued"]).exits(3).stderr;
    assert!(told.contains("another device of the crew") && told.contains("in the folder `photos`"), "{told}");
    assert!(!place.folder().join("rescued").exists(), "nothing passes for a journal");

    let again = Device::new(&place, "again");
    tomas.invites(&again);
    let (from, to) = (imke.folder().join("photos"), again.folder().join("photos"));
    for file in crate::photos::below(&from) {
        let into = to.join(file.strip_prefix(&from).expect("below it"));
        std::fs::create_dir_all(into.parent().expect("a folder")).expect("it can be made");
        std::fs::copy(&file, into).expect("it can be copied");
    }
    tomas.exchanges_with(&again);
    again.does(&["photo", "verify"]);
    let photos = crate::photos::photos(&again);
    assert_eq!((photos.len(), &photos[0]["here"]), (1, &serde_json::Value::Bool(true)), "{photos:?}");
    let photo = photos[0]["photo"].as_str().expect("a hash");
    again.does(&["photo", "export", photo, "again.jpg"]);
    assert_eq!(std::fs::read(place.folder().join("again.jpg")).expect("it was written"), picture);
}

#[test]
fn flipped_bytes_anywhere_in_a_journal_never_panic_and_never_pass_for_whole() {
    let place = Place::new();
    let imke = device(&place);
    let file = imke.folder().join("journal.sqlite");
    let whole = std::fs::read(&file).expect("it is there");
    let before = imke.lists();
    let (mut told, mut unharmed) = (0, 0);
    // Every page of the file is hit once.
    for page in 0..whole.len() / 4096 {
        std::fs::write(&file, &whole).expect("it can be written");
        let start = page * 4096 + 100 + (page * 577) % 3900;
        flip(&file, start..start + 16);
        let list = imke.asks(&["list", "--voided", "--format", "ndjson"]);
        let verify = imke.asks(&["journal", "verify"]);
        for answer in [&list, &verify] {
            is_no_panic(answer);
            assert!(matches!(answer.code, Some(0 | 3)), "page {page}: {answer:?}");
        }
        if verify.code == Some(0) {
            assert_eq!(list.stdout, before, "page {page}: what passes for whole is whole");
            unharmed += 1;
        } else {
            let said = format!("{}{}", verify.stdout, verify.stderr);
            assert!(said.contains("still readable"), "page {page}: {said}");
            if said.contains("another device of the crew") {
                assert!(said.contains("journal.sqlite"), "page {page}: {said}");
            } else {
                // Only lists differ from their documents: what it says to do mends them.
                assert!(said.contains("`ligule journal rebuild` makes the lists anew"), "page {page}: {said}");
                imke.does(&["journal", "rebuild"]);
                imke.does(&["journal", "verify"]);
                assert_eq!(imke.lists(), before, "page {page}");
            }
            told += 1;
        }
    }
    println!("{told} told, {unharmed} in unused bytes");
    assert!(told > unharmed, "{told} told, {unharmed} passed for whole");
}

#[test]
fn a_journal_whose_log_is_cut_keeps_what_came_before() {
    let place = Place::new();
    let imke = device(&place);
    let before = imke.observations().len();
    // A serving process keeps the log open; ended by a power cut, it leaves it behind.
    let serving = Waiting::serving(&imke, "9");
    for plants in 0..5 {
        imke.counts(20, plants);
    }
    serving.loses_power();
    let (file, log) = (imke.folder().join("journal.sqlite"), imke.folder().join("journal.sqlite-wal"));
    assert!(log.exists(), "the log is there");
    let (whole, whole_log) = (std::fs::read(&file).expect("it is there"), std::fs::read(&log).expect("it is there"));
    let put_back = || {
        let shared = imke.folder().join("journal.sqlite-shm");
        if shared.exists() {
            std::fs::remove_file(shared).expect("it can be removed");
        }
        std::fs::write(&file, &whole).expect("it can be written");
        std::fs::write(&log, &whole_log).expect("it can be written");
    };
    put_back();
    assert_eq!(imke.observations().len(), before + 5, "nothing is lost when the log is whole");
    let harm: [(&str, &dyn Fn()); 5] = [
        ("half", &|| cut(&log, whole_log.len() as u64 / 2)),
        ("nothing", &|| cut(&log, 0)),
        ("its header", &|| flip(&log, 0..8)),
        ("a frame", &|| flip(&log, [whole_log.len() / 3])),
        ("gone", &|| std::fs::remove_file(&log).expect("it can be removed")),
    ];
    for (name, harm) in harm {
        put_back();
        harm();
        let listed = imke.asks(&["list", "--voided", "--format", "ndjson"]);
        is_no_panic(&listed);
        let listed = listed.exits(0).stdout.lines().count();
        assert!((before..=before + 5).contains(&listed), "{name}: {listed} listed");
        let _ = imke.asks(&["journal", "verify"]).exits(0);
        imke.counts(21, 30);
        assert_eq!(imke.observations().len(), listed + 1, "{name}: it can be written again");
        let _ = imke.asks(&["journal", "verify"]).exits(0);
    }
}

#[test]
fn a_journal_that_is_gone_is_no_journal() {
    let place = Place::new();
    let imke = device(&place);
    std::fs::remove_file(imke.folder().join("journal.sqlite")).expect("it can be removed");
    for command in [&["list"][..], &["journal", "verify"], &["journal", "rebuild"]] {
        let answer = imke.asks(command).exits(2);
        is_no_panic(&answer);
        for name in ["imke", "journal.sqlite", "ligule init"] {
            assert!(answer.stderr.contains(name), "{}", answer.stderr);
        }
    }
    assert!(!imke.folder().join("journal.sqlite").exists(), "asking makes none");
}

const STANDS: &str = "SELECT count(*) AS n, sum(plants) AS plants FROM stand_count";
const PESTS: &str = "SELECT count(*) AS n, sum(plants_cut) AS cut FROM pest_count";

/// An archive of a device, with what is asked of it while it is whole.
struct Archived<'a> {
    imke: Device<'a>,
    stands: String,
    pests: String,
}

impl<'a> Archived<'a> {
    fn new(place: &'a Place) -> Self {
        let imke = device(place);
        imke.does(&["compact", "--season", "2026"]);
        let ask = |sql| imke.does(&["query", "--archive-only", "--format", "csv", sql]);
        let (stands, pests) = (ask(STANDS), ask(PESTS));
        Self { imke, stands, pests }
    }

    fn folder(&self) -> PathBuf {
        self.imke.folder().join("archive")
    }

    /// The one Parquet file of stand counts.
    fn stand_file(&self) -> PathBuf {
        only(&self.folder().join("stand_count/season=2026"), "parquet")
    }

    /// The one commit of the table of stand counts.
    fn stand_log(&self) -> PathBuf {
        only(&self.folder().join("stand_count/_delta_log"), "json")
    }

    fn asks(&self, sql: &str) -> Answer {
        self.imke.asks(&["query", "--archive-only", "--format", "csv", sql])
    }
}

type Harm = (&'static str, fn(&Path));

/// What can happen to a file.
const HARM: [Harm; 4] = [
    ("cut", |file| cut(file, length(file) / 2)),
    ("emptied", |file| cut(file, 0)),
    ("overwritten", |file| std::fs::write(file, [0xa7; 900]).expect("it can be written")),
    ("removed", |file| std::fs::remove_file(file).expect("it can be removed")),
];

#[test]
fn a_damaged_file_of_the_archive_is_listed_by_verify() {
    let place = Place::new();
    let archived = Archived::new(&place);
    let file = archived.stand_file();
    let name = file.file_name().expect("it has a name").to_string_lossy().into_owned();
    let whole = std::fs::read(&file).expect("it is there");
    let flipped: Harm = ("flipped", |file| flip(file, [usize::try_from(length(file) / 3).expect("small")]));
    for (what, harm) in HARM.into_iter().chain([flipped]) {
        harm(&file);
        let answer = archived.imke.asks(&["archive", "verify"]);
        println!("{what}: {}", answer.stderr);
        is_damage(answer, &[&name, "stand_count", "still readable: every other file", "hint: "]);
        std::fs::write(&file, &whole).expect("it can be written");
    }
    let _ = archived.imke.asks(&["archive", "verify"]).exits(0);
}

#[test]
fn a_damaged_log_of_a_table_is_listed_by_verify() {
    let place = Place::new();
    let archived = Archived::new(&place);
    let file = archived.stand_log();
    let whole = std::fs::read(&file).expect("it is there");
    for (what, harm) in HARM {
        harm(&file);
        let answer = archived.imke.asks(&["archive", "verify"]);
        println!("{what}: {} bytes of messages", answer.stderr.len());
        is_damage(answer, &["stand_count", "log", "still readable", "hint: "]);
        std::fs::write(&file, &whole).expect("it can be written");
    }
    let _ = archived.imke.asks(&["archive", "verify"]).exits(0);
}

#[test]
fn tables_beside_a_damaged_one_answer_as_before() {
    let place = Place::new();
    let archived = Archived::new(&place);
    let file = archived.stand_file();
    let whole = std::fs::read(&file).expect("it is there");
    for (what, harm) in HARM {
        harm(&file);
        let answer = archived.asks(PESTS);
        is_no_panic(&answer);
        assert_eq!(answer.exits(0).stdout, archived.pests, "{what}");
        std::fs::write(&file, &whole).expect("it can be written");
    }
    assert_eq!(archived.asks(STANDS).exits(0).stdout, archived.stands);
}

#[test]
fn a_query_of_a_damaged_file_names_it_and_never_answers_less() {
    let place = Place::new();
    let archived = Archived::new(&place);
    let file = archived.stand_file();
    let name = file.file_name().expect("it has a name").to_string_lossy().into_owned();
    let whole = std::fs::read(&file).expect("it is there");
    for (what, harm) in HARM {
        harm(&file);
        let answer = archived.asks(STANDS);
        println!("{what}: {answer:?}");
        is_damage(answer, &[&name, "ligule archive verify"]);
        std::fs::write(&file, &whole).expect("it can be written");
    }
    let log = archived.stand_log();
    let whole = std::fs::read(&log).expect("it is there");
    for (what, harm) in HARM {
        harm(&log);
        let answer = archived.asks(STANDS);
        println!("{what}: {answer:?}");
        is_damage(answer, &["stand_count", "ligule archive verify"]);
        std::fs::write(&log, &whole).expect("it can be written");
    }
}

#[test]
fn a_damaged_snapshot_of_the_archive_is_named() {
    let place = Place::new();
    let archived = Archived::new(&place);
    let file = only(&archived.folder().join("snapshot"), "parquet");
    let name = file.file_name().expect("it has a name").to_string_lossy().into_owned();
    let whole = std::fs::read(&file).expect("it is there");
    for (what, harm) in HARM {
        harm(&file);
        for command in
            [&["archive", "verify"][..], &["archive", "files"], &["compact"], &["query", "--archive-only", STANDS]]
        {
            let answer = archived.imke.asks(command);
            println!("{what}, {command:?}: {}", answer.stderr);
            is_damage(answer, &[&name, "compact"]);
        }
        // The journal does not need the archive.
        assert_eq!(archived.imke.observations().len(), 200);
        std::fs::write(&file, &whole).expect("it can be written");
    }
}

#[test]
fn an_archive_that_is_not_there_is_told() {
    let place = Place::new();
    let imke = device(&place);
    for command in [&["archive", "verify"][..], &["archive", "files"], &["query", "--archive-only", STANDS]] {
        let answer = imke.asks(command);
        is_no_panic(&answer);
        let answer = answer.exits(2);
        assert!(answer.stderr.contains("imke/archive") && answer.stderr.contains("compact"), "{}", answer.stderr);
    }
    assert!(!imke.folder().join("archive").exists(), "asking makes none");
}

/// A pack that comes with the program, in a folder `packs` of the place.
fn pack(place: &Place) -> PathBuf {
    let built = repository_root().join("plugins/built");
    let read = std::fs::read_dir(built).expect("the built packs are there").flatten().map(|entry| entry.path());
    let from = read.into_iter().find(|path| path.to_string_lossy().contains("black-cutworm")).expect("it is built");
    std::fs::create_dir(place.folder().join("packs")).expect("the folder can be made");
    let to = place.folder().join("packs/regional.pack");
    std::fs::copy(from, &to).expect("it can be copied");
    to
}

/// The place of a text in a file whose parts are stored as they are.
fn place_of(bytes: &[u8], text: &[u8]) -> usize {
    bytes.windows(text.len()).position(|window| window == text).expect("the pack stores its parts as they are")
}

#[test]
fn a_damaged_pack_is_named_and_never_used() {
    let place = Place::new();
    let imke = device(&place);
    let file = pack(&place);
    let whole = std::fs::read(&file).expect("it is there");
    let day = ["advise", "north-40", "--as-of", "2026-05-29", "--packs", "packs"];
    let report = ["report", "north-40", "--as-of", "2026-05-29", "--packs", "packs", "--out", "page.html"];
    let check = ["pack", "check", "packs/regional.pack"];
    imke.does(&check);
    // A number of its table of thresholds, its module's code, its manifest.
    let table = place_of(&whole, b"US-IA,classic,2,3");
    let module = place_of(&whole, b"\0asm") + 4000;
    let manifest = place_of(&whole, b"review-by");
    let half = whole.len() / 2;
    for (what, bytes) in [
        ("cut", whole[..half].to_vec()),
        ("emptied", Vec::new()),
        ("overwritten", vec![0xa7; 900]),
        ("a table altered", altered(&whole, table)),
        ("the module altered", altered(&whole, module)),
        ("the manifest altered", altered(&whole, manifest)),
    ] {
        std::fs::write(&file, bytes).expect("it can be written");
        for command in [&day[..], &report, &["pack", "list", "--packs", "packs"], &check] {
            let answer = imke.asks(command);
            println!("{what}, {command:?}: {}", answer.stderr);
            is_no_panic(&answer);
            let answer = answer.exits(4);
            for name in ["regional.pack", "not used", "again"] {
                assert!(answer.stderr.contains(name), "{what}: {}", answer.stderr);
            }
        }
        assert!(!place.folder().join("page.html").exists(), "{what}: no report without its packs");
    }
    std::fs::write(&file, &whole).expect("it can be written");
    imke.does(&check);
    let answer = imke.asks(&["pack", "check", "no-such.pack"]).exits(2);
    is_no_panic(&answer);
    assert!(answer.stderr.contains("no-such.pack"), "{}", answer.stderr);
}

/// A pack in which somebody changed a number and packed it well: its own cases tell.
#[test]
fn a_pack_with_another_threshold_fails_its_own_cases() {
    let place = Place::new();
    let file = pack(&place);
    let folder = place.folder().join("unpacked");
    let unzip = Command::new(python()).args(["-I", "-m", "zipfile", "-e"]).arg(&file).arg(&folder).output();
    assert!(unzip.expect("Python starts").status.success());
    let whole = place.ligule(&["pack", "check", "unpacked"]).exits(0).stdout;
    assert!(whole.contains("iowa-small-larvae.toml") && whole.contains("holds"), "{whole}");
    let table = folder.join("tables/thresholds.csv");
    let text = std::fs::read_to_string(&table).expect("the pack has a table of thresholds");
    std::fs::write(&table, text.replace("US-IA,classic,2,3", "US-IA,classic,20,30")).expect("it can be written");
    let answer = place.ligule(&["pack", "check", "unpacked"]);
    is_no_panic(&answer);
    let answer = answer.exits(4);
    assert!(
        answer.stderr.contains("black-cutworm") && answer.stderr.contains("cases do not hold"),
        "{}",
        answer.stderr
    );
    assert!(answer.stdout.contains("iowa-small-larvae.toml"), "{}", answer.stdout);
    // A table that cannot be read as one.
    std::fs::write(&table, "region,variant\nUS-IA\n\"").expect("it can be written");
    let answer = place.ligule(&["pack", "check", "unpacked"]);
    is_no_panic(&answer);
    let answer = answer.exits(4);
    assert!(answer.stderr.contains("unpacked") || answer.stderr.contains("black-cutworm"), "{}", answer.stderr);
    std::fs::remove_file(&table).expect("it can be removed");
    let answer = place.ligule(&["pack", "check", "unpacked"]);
    is_no_panic(&answer);
    let answer = answer.exits(4);
    assert!(answer.stderr.contains("thresholds.csv"), "{}", answer.stderr);
}

fn altered(bytes: &[u8], place: usize) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    bytes[place] ^= 1;
    bytes
}
