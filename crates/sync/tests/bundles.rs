//! Bundles: whole, for a known receiver, damaged, cut off, forged.

use std::collections::BTreeMap;

use ligule_sync::bundle::{BundleReport, BundleWritten, MARK, read, write};
use ligule_sync::{Store, SyncError};
use ligule_testkit::crew::{DocStore, NOW, crew, device, key};

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
    read(file, store)
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
    let error = taken(&file, &mut DocStore::new(2, log)).unwrap_err();
    assert!(error.to_string().contains("not a member"), "{error}");
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
