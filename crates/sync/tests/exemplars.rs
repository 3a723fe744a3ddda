//! The exemplar of each format that outlives this program still reads as it was written.

use std::fs;
use std::io::BufReader;
use std::path::PathBuf;

use ed25519_dalek::Signer;
use ligule_sync::bundle;
use ligule_sync::codec::{self, Decoder};
use ligule_sync::frame::{
    Ack, BundleHeader, BundleSeal, BundleTrailer, Bye, Have, HaveList, Hello, Inventory, JoinAccept, JoinAsk, Photo,
    PhotoDone, PhotoEnd, PhotoWanted, PhotosEnd, PhotosWanted, RefuseCode,
};
use ligule_sync::membership::{Act, Entry, MembershipLog, SignedEntry};
use ligule_sync::ticket::Ticket;
use ligule_sync::{Frame, PhotoHash, Refusal, RefusalCode, VersionVector};
use ligule_testkit::crew::{DocStore, NOW, crew, device, field, key};
use ligule_testkit::photos::PhotoBox;

fn file(name: &str) -> PathBuf {
    ligule_testkit::repository_root().join("schemas/exemplars").join(name)
}

fn frames() -> Vec<Frame> {
    let log = crew(2);
    let doc_key = field(log.crew(), 1);
    let doc = doc_key.id();
    let vector = VersionVector::from([(vec![1; 16], 3), (vec![2; 16], 300)]);
    let refusal = Refusal { code: RefusalCode::MissingDependencies, reason: "2 changes are missing".to_owned() };
    let mut frames = vec![
        Frame::Hello(Hello {
            program: "0.1.0".to_owned(),
            crew_tag: [1; 16],
            heads: log.heads(),
            at: None,
            photos: false,
        }),
        Frame::Hello(Hello {
            program: "0.1.0".to_owned(),
            crew_tag: [1; 16],
            heads: log.heads(),
            at: Some(NOW),
            photos: true,
        }),
        Frame::Entries(log.entries().cloned().collect()),
        Frame::Digest([2; 32]),
        Frame::Inventory(Inventory { docs: vec![(doc, [3; 8])], last: true }),
        Frame::Have(HaveList { docs: vec![Have { doc, held: Some((doc_key, [3; 8])), vector }], last: true }),
        Frame::Ack(Ack { doc, result: Ok(7) }),
        Frame::Ack(Ack { doc, result: Err(refusal) }),
        Frame::Bye(Bye { changes_in: 7, changes_out: 300 }),
        Frame::JoinAsk(JoinAsk { ticket: [4; 8], person: "person 2".to_owned(), proof: [5; 32] }),
        Frame::JoinAccept(JoinAccept { proof: [6; 32] }),
        Frame::BundleHeader(BundleHeader {
            crew: log.crew(),
            sender: device(1),
            at: NOW,
            program: "0.1.0".to_owned(),
            docs: vec![(doc, [3; 8])],
        }),
        Frame::BundleSeal(BundleSeal { section: 1, signature: vec![7; 64] }),
        Frame::BundleTrailer(BundleTrailer { documents: 1, changes: 7, hash: [8; 32], signature: vec![9; 64] }),
    ];
    let hash = PhotoHash([10; 32]);
    frames.extend([
        Frame::PhotosWanted(PhotosWanted { photos: vec![PhotoWanted { hash, held: 300 }], last: true }),
        Frame::Photo(Photo { hash, size: 200_000, from: 300 }),
        Frame::PhotoBytes(b"some bytes".to_vec()),
    ]);
    let ends = [PhotoEnd::Kept, PhotoEnd::Damaged, PhotoEnd::NotNeeded, PhotoEnd::StoreFailed];
    frames.extend(ends.map(|end| Frame::PhotoDone(PhotoDone { hash, end })));
    frames.extend([Frame::PhotosEnd(PhotosEnd { started: 1, lacking: 2 }), Frame::Clock(NOW)]);
    let codes = [RefuseCode::Unproven, RefuseCode::NotMember, RefuseCode::Version];
    frames.extend(
        codes
            .into_iter()
            .chain([RefuseCode::Broken, RefuseCode::Ticket, RefuseCode::Store, RefuseCode::Removed])
            .map(Frame::Refuse),
    );
    frames
}

const CHANGES: [&[u8]; 2] = [b"one change", b"and another change"];

fn bundle_store() -> DocStore {
    let mut store = DocStore::new(1, crew(2));
    store.record(1);
    store.record(2);
    store
}

/// Two photos.
fn pictures() -> [Vec<u8>; 2] {
    [b"a small picture".to_vec(), b"and another small picture".to_vec()]
}

fn ticket() -> Ticket {
    Ticket {
        crew: crew(1).crew(),
        crew_name: Some("Morning crew".to_owned()),
        inviter: device(1),
        addresses: vec!["192.168.1.20:4711".parse().unwrap(), "[fd00::2]:4711".parse().unwrap()],
        secret: [3; 16],
        expires: NOW,
    }
}

/// A log with a removal as it was written when it named the heads themselves, and with one as it is written now.
fn removals() -> MembershipLog {
    let mut log = crew(4);
    let accepted = vec![(field(log.crew(), 1).id(), vec![[1; 32], [2; 32]])];
    let act = Act::Remove { device: device(3), accepted };
    let entry = Entry { crew: log.crew(), parents: log.heads(), by: device(1), at: NOW, act };
    let body = postcard::to_stdvec(&entry).unwrap();
    let message = [b"ligule membership entry 1".as_slice(), &body].concat();
    log.merge([SignedEntry { signature: key(1).sign(&message).to_bytes().to_vec(), body }]);
    log.remove(&key(2), device(4), [(field(log.crew(), 1).id(), vec![[3; 32]])], NOW).unwrap();
    log
}

#[test]
fn removals_of_version_1_still_read() {
    let log = MembershipLog::from_bytes(&fs::read(file("membership-1-removals.log")).unwrap()).unwrap();
    assert_eq!(log.members(), crew(2).members());
    let (doc, removed) = (field(log.crew(), 1).id(), log.removed());
    let stays = |number: u8, head: u8| removed[&device(number)].accepted.is_head(&doc, &[head; 32]);
    assert!(stays(3, 1) && stays(3, 2) && !stays(3, 3) && !stays(4, 1) && stays(4, 3));
    assert_eq!(log, removals(), "what is written today is what was written then");
}

#[test]
fn frames_of_version_1_still_decode() {
    let mut decoder = Decoder::default();
    decoder.push(&fs::read(file("sync-1.frames")).unwrap());
    let mut read = Vec::new();
    while let Some(frame) = decoder.next_frame().unwrap() {
        read.push(frame);
    }
    assert!(decoder.is_clean());
    let Some(Frame::Changes(changes)) = read.pop() else { panic!("the last exemplar is a frame of changes") };
    assert_eq!(codec::unpack(&changes).unwrap(), CHANGES);
    assert_eq!(read, frames());
    // Everything but compressed changes is written today as it was then.
    let written: Vec<u8> = frames().iter().flat_map(|frame| codec::encode(frame).unwrap()).collect();
    assert!(fs::read(file("sync-1.frames")).unwrap().starts_with(&written));
}

#[test]
fn a_bundle_a_log_and_a_ticket_of_version_1_still_read() {
    let mut to = DocStore::new(2, crew(2));
    let report = bundle::read(fs::File::open(file("bundle-1.ligule-bundle")).unwrap(), &mut to).unwrap();
    assert_eq!((report.documents, report.changes_in, report.damaged), (2, 2, Vec::new()));
    let with_photos = || BufReader::new(fs::File::open(file("bundle-1-photos.ligule-bundle")).unwrap());
    let report = bundle::read(with_photos(), &mut DocStore::new(2, crew(2))).unwrap();
    assert_eq!((report.documents, report.changes_in, report.damaged), (2, 2, Vec::new()));
    let mut photos = PhotoBox::naming(&pictures());
    let read = bundle::read_photos(with_photos(), report.photos_from.unwrap(), &mut photos).unwrap();
    assert_eq!((read.kept, read.damaged), (2, Vec::new()));
    assert_eq!(photos.files, PhotoBox::holding(&pictures()).files);
    let log = MembershipLog::from_bytes(&fs::read(file("membership-1.log")).unwrap()).unwrap();
    assert_eq!(log.members(), crew(2).members());
    assert_eq!(fs::read_to_string(file("ticket-1.txt")).unwrap().parse(), Ok(ticket()));
}

/// Writes the exemplars anew, for a new version of a format:
/// `cargo test -p ligule-sync --test exemplars -- --ignored`.
#[test]
#[ignore = "writes files into the repository"]
fn write_exemplars() {
    let mut bytes: Vec<u8> = frames().iter().flat_map(|frame| codec::encode(frame).unwrap()).collect();
    let changes: Vec<Vec<u8>> = CHANGES.iter().map(|change| change.to_vec()).collect();
    for packed in codec::pack(field(crew(2).crew(), 1).id(), &changes).unwrap() {
        bytes.extend(codec::encode(&Frame::Changes(packed)).unwrap());
    }
    fs::write(file("sync-1.frames"), bytes).unwrap();
    let mut bundle = Vec::new();
    bundle::write(&mut bundle_store(), None, &key(1), "0.1.0", NOW, &mut bundle).unwrap();
    fs::write(file("bundle-1.ligule-bundle"), &bundle).unwrap();
    let mut photos = PhotoBox::holding(&pictures());
    bundle::write_photos(&mut photos, pictures().map(|bytes| PhotoBox::hash(&bytes)), &mut bundle).unwrap();
    fs::write(file("bundle-1-photos.ligule-bundle"), bundle).unwrap();
    fs::write(file("membership-1.log"), crew(2).to_bytes()).unwrap();
    fs::write(file("membership-1-removals.log"), removals().to_bytes()).unwrap();
    fs::write(file("ticket-1.txt"), format!("{}\n", ticket())).unwrap();
}
