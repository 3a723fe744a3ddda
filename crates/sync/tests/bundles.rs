//! Bundles: whole, for a known receiver, damaged, cut off, forged.

use std::collections::BTreeMap;
use std::io::Cursor;

use ligule_sync::bundle::{
    BundleReport, BundleWritten, BundledPhotos, MARK, PHOTO_MARK, read, read_photos, write, write_photos,
};
use ligule_sync::photos::PHOTO_PART;
use ligule_sync::{Store, SyncError};
use ligule_testkit::crew::{DocStore, NOW, crew, device, key};
use ligule_testkit::photos::PhotoBox;

fn sender(documents: u8) -> DocStore {
    let mut store = DocStore::new(1, crew(2));
    for number in 0..documents {
        store.record(number);
        store.record(number);
    }
    store
}

fn written(store: &mut DocStore) -> (Vec<u8>, BundleWritten) {
    let mut file = Vec::new();
    let signer = key(store.device);
    let report = write(store, None, &signer, "0.1.0", NOW, &mut file).unwrap();
    (file, report)
}

fn taken(file: &[u8], store: &mut DocStore) -> Result<BundleReport, SyncError> {
    read(Cursor::new(file), store)
}

fn section(file: &[u8], number: usize) -> usize {
    file.windows(MARK.len()).enumerate().filter(|(_, window)| window == MARK).nth(number).unwrap().0
}

#[test]
fn a_bundle_carries_everything_and_taking_it_twice_adds_nothing() {
    let mut from = sender(3);
    let (file, report) = written(&mut from);
    assert_eq!((report.documents, report.bytes), (3, file.len() as u64));
    let mut to = DocStore::new(2, crew(2));
    let first = taken(&file, &mut to).unwrap();
    assert_eq!((first.announced, first.documents, first.changes_in), (3, 3, 6));
    assert!(first.damaged.is_empty() && first.refused.is_empty());
    assert_eq!(from.heads(), to.heads());
    assert_eq!(taken(&file, &mut to).unwrap().changes_in, 0);
}

#[test]
fn a_bundle_for_a_known_receiver_carries_what_it_lacks() {
    let mut from = sender(3);
    let mut to = DocStore::new(2, crew(2));
    taken(&written(&mut from).0, &mut to).unwrap();
    let known: BTreeMap<_, _> =
        to.docs.keys().copied().collect::<Vec<_>>().into_iter().map(|doc| (doc, to.vector(&doc).unwrap())).collect();
    from.record(1);
    let mut file = Vec::new();
    let report = write(&mut from, Some(&known), &key(1), "0.1.0", NOW, &mut file).unwrap();
    assert_eq!((report.documents, report.changes), (1, 1));
    assert_eq!(taken(&file, &mut to).unwrap().changes_in, 1);
    assert_eq!(from.heads(), to.heads());
}

#[test]
fn damage_is_named_and_the_rest_is_taken_in() {
    let mut from = sender(4);
    let (file, _) = written(&mut from);
    let log = crew(2);
    for number in 1..=4 {
        let (begin, end) = (section(&file, number), file.len());
        let end = if number < 4 { section(&file, number + 1) } else { end };
        // Bytes all over the section; its mark is the first.
        for at in (begin..end).step_by(23) {
            let mut damaged = file.clone();
            damaged[at] ^= 0x55;
            let mut to = DocStore::new(2, log.clone());
            let report = taken(&damaged, &mut to).unwrap();
            let trailer_only = report.documents == 4;
            assert!(report.documents == 3 || (trailer_only && number == 4), "byte {at}: {report:?}");
            assert_eq!(to.docs.len(), report.documents as usize);
            assert!(!report.damaged.is_empty());
            if !trailer_only {
                assert!(report.damaged[0].part.starts_with(&format!("document {number} of 4")), "{report:?}");
            }
        }
    }
}

#[test]
fn a_cut_off_bundle_gives_what_came_before_the_cut() {
    let mut from = sender(4);
    let (file, _) = written(&mut from);
    let cut = section(&file, 3) + 20;
    let mut to = DocStore::new(2, crew(2));
    let report = taken(&file[..cut], &mut to).unwrap();
    assert_eq!((report.documents, to.docs.len()), (2, 2));
    let parts: Vec<&str> = report.damaged.iter().map(|damage| damage.part.as_str()).collect();
    assert!(parts[0].starts_with("document 3") && parts.iter().any(|part| part.starts_with("document 4")), "{parts:?}");
    assert!(parts.contains(&"trailer"));
}

#[test]
fn a_damaged_header_or_a_stranger_gives_nothing() {
    let mut from = sender(2);
    let (file, _) = written(&mut from);
    let mut to = DocStore::new(2, crew(2));
    for at in (0..section(&file, 1)).step_by(3) {
        let mut damaged = file.clone();
        damaged[at] ^= 0x55;
        assert!(matches!(taken(&damaged, &mut to), Err(SyncError::Bundle { .. })), "byte {at}");
    }
    assert!(to.docs.is_empty());
    // Device 9 is a member only in its own eyes: it cannot write, and a sections' signature cannot be moved.
    let mut stranger = sender(1);
    assert!(write(&mut stranger, None, &key(9), "0.1.0", NOW, Vec::new()).is_err());
    // A device that was removed.
    let mut log = crew(2);
    log.remove(&key(2), device(1), Vec::new(), NOW).unwrap();
    let mut to = DocStore::new(2, log);
    assert_eq!(taken(&file, &mut to).unwrap_err(), SyncError::RemovedWriter { device: device(1) });
    // Invited again, it writes a bundle that shows so and is taken in; the old one does not show it.
    let mut invited = to.log.clone();
    invited.admit(&key(2), device(1), "person 1", NOW, NOW + 1).unwrap();
    from.log = invited;
    taken(&file, &mut to).unwrap_err();
    let (again, _) = written(&mut from);
    assert_eq!(taken(&again, &mut to).unwrap().documents, 2);
    // One that nobody here has heard of.
    let mut log = crew(2);
    log.admit(&key(2), device(5), "person 5", NOW, NOW + 1).unwrap();
    let mut unheard = DocStore::new(5, log);
    let (file, _) = written(&mut unheard);
    let mut forgetful = DocStore::new(2, crew(2));
    assert_eq!(taken(&file, &mut forgetful).unwrap().sender, device(5), "the bundle shows its admission");
}

#[test]
fn a_section_of_another_bundle_is_not_accepted() {
    let (mut one, mut two) = (sender(2), sender(2));
    two.record(7);
    let (first, _) = written(&mut one);
    let (second, _) = written(&mut two);
    // The second bundle's section 1 in the place of the first one's.
    let mut mixed = first[..section(&first, 1)].to_vec();
    mixed.extend_from_slice(&second[section(&second, 1)..section(&second, 2)]);
    mixed.extend_from_slice(&first[section(&first, 2)..]);
    let mut to = DocStore::new(2, crew(2));
    let report = taken(&mixed, &mut to).unwrap();
    assert_eq!(report.documents, 1);
    assert!(report.damaged[0].reason.contains("signature"), "{report:?}");
}

/// Photos of no part, of some and of many bytes; each tells from where it is.
fn pictures() -> Vec<Vec<u8>> {
    [1, 3_000, PHOTO_PART + 1, 10].into_iter().zip(1..).map(|(length, mark)| vec![mark; length]).collect()
}

/// A bundle with records and photos, and where its photos begin.
fn with_photos() -> (Vec<u8>, usize) {
    let (mut file, _) = written(&mut sender(3));
    let from = file.len();
    let mut photos = PhotoBox::holding(&pictures());
    let unknown = PhotoBox::hash(b"in no record");
    let hashes: Vec<_> = photos.files.keys().copied().chain([unknown]).collect();
    let report = write_photos(&mut photos, hashes, &mut file).unwrap();
    assert_eq!((report.photos, report.bytes), (4, 3_011 + PHOTO_PART as u64 + 1));
    (file, from)
}

fn photos_taken(file: &[u8], photos: &mut PhotoBox) -> (BundleReport, BundledPhotos) {
    let report = taken(file, &mut DocStore::new(2, crew(2))).unwrap();
    let read = match report.photos_from {
        Some(from) => read_photos(Cursor::new(file), from, photos).unwrap(),
        None => BundledPhotos::default(),
    };
    (report, read)
}

#[test]
fn photos_follow_the_records_and_only_what_a_record_names_is_taken() {
    let (file, from) = with_photos();
    let mut photos = PhotoBox::naming(&pictures());
    let (report, read) = photos_taken(&file, &mut photos);
    assert_eq!((report.photos_from, report.damaged), (Some(from as u64), Vec::new()));
    assert_eq!((read.photos, read.kept, read.damaged), (4, 4, Vec::new()));
    assert_eq!(photos.files, PhotoBox::holding(&pictures()).files);
    let (_, again) = photos_taken(&file, &mut photos);
    assert_eq!((again.photos, again.kept, again.damaged), (4, 0, Vec::new()));
    let mut two = PhotoBox::naming(&pictures()[1..3]);
    assert_eq!(photos_taken(&file, &mut two).1.kept, 2);
    assert_eq!(two.files.len(), 2);
    // A bundle without photos is what it always was.
    assert_eq!(photos_taken(&file[..from], &mut photos).0.photos_from, None);
}

#[test]
fn damage_among_the_photos_costs_the_photo_that_it_hits_and_no_record() {
    let (file, from) = with_photos();
    let whole = PhotoBox::holding(&pictures()).files;
    let read = |file: &[u8], photos: &mut PhotoBox| read_photos(Cursor::new(file), from as u64, photos).unwrap();
    for at in (from..file.len()).step_by(211) {
        let mut damaged = file.clone();
        damaged[at] ^= 0x55;
        let mut photos = PhotoBox::naming(&pictures());
        let report = read(&damaged, &mut photos);
        assert!(report.kept >= 3 && !report.damaged.is_empty(), "byte {at}: {report:?}");
        assert!(photos.files.iter().all(|(hash, bytes)| whole[hash] == *bytes), "byte {at}");
        // Taking the whole file brings what is left.
        read(&file, &mut photos);
        assert_eq!(photos.files, whole);
    }
    for cut in (from..file.len()).step_by(2_003) {
        let mut photos = PhotoBox::naming(&pictures());
        let report = read(&file[..cut], &mut photos);
        assert!(!report.damaged.is_empty(), "cut at {cut}: {report:?}");
        assert!(photos.files.iter().all(|(hash, bytes)| whole[hash] == *bytes), "cut at {cut}");
    }
    // The records before them are whole all the same.
    for (end, at) in [(file.len(), from + 10), (from + 10, from)] {
        let mut damaged = file[..end].to_vec();
        damaged[at] ^= 0x55;
        let report = taken(&damaged, &mut DocStore::new(2, crew(2))).unwrap();
        assert_eq!((report.documents, report.damaged), (3, Vec::new()));
    }
}

#[test]
fn photos_are_found_behind_damaged_records() {
    let (file, from) = with_photos();
    for at in [section(&file, 3) + 30, from - 40] {
        let mut damaged = file.clone();
        damaged[at] ^= 0x55;
        let mut photos = PhotoBox::naming(&pictures());
        let (report, read) = photos_taken(&damaged, &mut photos);
        assert!(report.damaged.iter().any(|damage| damage.part == "trailer"), "byte {at}: {report:?}");
        assert_eq!((read.kept, read.damaged), (4, Vec::new()), "byte {at}");
    }
}

#[test]
fn a_mark_that_lies_across_two_windows_is_found() {
    let (file, from) = with_photos();
    let mark = file.windows(PHOTO_MARK.len()).position(|window| window == PHOTO_MARK).unwrap();
    assert_eq!(mark, from);
    // The trailer is lost, and so many bytes are put before the photos that their mark stands at every place of a window.
    for shift in 0..=PHOTO_MARK.len() {
        let mut moved = file[..from - 20].to_vec();
        moved.resize(from + (1 << 16) - 8 + shift, 0xa7);
        moved.extend_from_slice(&file[from..]);
        let (report, read) = photos_taken(&moved, &mut PhotoBox::naming(&pictures()));
        assert_eq!((report.documents, read.kept), (3, 4), "{shift}");
    }
}

#[test]
fn a_full_disk_ends_the_photos_and_leaves_the_records() {
    let (file, from) = with_photos();
    let mut photos = PhotoBox::naming(&pictures());
    photos.room = Some(3_500);
    let error = read_photos(Cursor::new(&file), from as u64, &mut photos).unwrap_err();
    assert!(error.to_string().contains("no space left"), "{error}");
    assert!(photos.parts.is_empty());
}
