//! Bytes from outside: whatever comes, no panic, no unreadable document, no unbounded memory, and a reason.
//!
//! The classes of trouble here were found by mutating changes whose checksum was then made good again.

mod common;

use std::io::Write;

use automerge::{AutoCommit, ROOT, ReadDoc, transaction::Transactable};
use common::{at, count, int, key, no_fresh, one, visit, writer};
use ligule_observation::{
    document::FieldDocument,
    outside::{Applied, Limits, Refused, apply_checked},
    screen::{ScreenRequest, read_verdict, screen},
};
use sha2::{Digest, Sha256};

fn apply(document: &FieldDocument, chunks: &[Vec<u8>]) -> Result<Applied, Refused> {
    apply_checked(document, chunks, &Limits::default(), at(1000))
}

fn refusal(document: &FieldDocument, chunks: &[Vec<u8>]) -> Refused {
    apply(document, chunks).map(|_| ()).expect_err("refused")
}

fn leb(mut value: u64) -> Vec<u8> {
    let mut out = Vec::new();
    loop {
        let byte = (value & 0x7f) as u8;
        value >>= 7;
        if value == 0 {
            out.push(byte);
            return out;
        }
        out.push(byte | 0x80);
    }
}

/// A chunk of the merge library's storage format with a good checksum: magic, checksum, type, length, body.
fn chunk(kind: u8, plain_body: &[u8], body: &[u8]) -> Vec<u8> {
    let hash = Sha256::new().chain_update([1]).chain_update(leb(plain_body.len() as u64)).chain_update(plain_body);
    let mut out = vec![0x85, 0x6f, 0x4a, 0x83];
    out.extend_from_slice(&hash.finalize()[..4]);
    out.push(kind);
    out.extend(leb(body.len() as u64));
    out.extend_from_slice(body);
    out
}

fn body(chunk: &[u8]) -> Vec<u8> {
    let length = 9 + chunk[9..].iter().position(|b| b & 0x80 == 0).expect("ends") + 1;
    chunk[length..].to_vec()
}

/// Panics inside the merge library are expected here and caught; only those are kept quiet.
fn quiet() {
    let loud = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        let file = info.location().map_or("", |l| l.file());
        if !file.contains("automerge") && !file.contains("hexane") && !file.contains("/library/") {
            loud(info);
        }
    }));
}

struct Random(u64);

impl Random {
    fn next(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % below as u64) as usize
    }
}

/// A document of 40 observations, and a change by another device that adds one and corrects one.
fn situation() -> (FieldDocument, Vec<u8>) {
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    for n in 0..4 {
        let batch: Vec<_> = (0..10).map(|i| count(&visit(1, n), i)).collect();
        document.append(&batch, at(1), &mut no_fresh).expect("appends");
    }
    let mut other = document.clone();
    other.set_writer(writer(2));
    other.append(&[count(&visit(2, 1), 5)], at(2), &mut no_fresh).expect("appends");
    let chunks = other.changes_since(&document.version_vector());
    (document, chunks[0].clone())
}

#[test]
fn mutated_changes_never_panic_and_are_never_accepted_unreadable() {
    quiet();
    let seed = std::env::var("LIGULE_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(0x5eed_1e6f_0001);
    println!("seed {seed}; set LIGULE_SEED to repeat");
    let mut random = Random(seed);
    let (document, honest) = situation();
    assert!(apply(&document, std::slice::from_ref(&honest)).is_ok(), "the change itself is fine");
    let honest = body(&honest);
    let (mut accepted, mut refused) = (0, 0);
    for _ in 0..3000 {
        let mut bytes = honest.clone();
        for _ in 0..=random.next(3) {
            let place = random.next(bytes.len());
            bytes[place] ^= 1 << random.next(8);
        }
        match apply(&document, &[chunk(1, &bytes, &bytes)]) {
            Err(_) => refused += 1,
            Ok(mut applied) => {
                accepted += 1;
                let saved = applied.document.save_verified().expect("what was accepted can be saved");
                let mut loaded = FieldDocument::load(key(), &saved, &[]).expect("and loaded");
                assert_eq!(loaded.heads(), applied.document.heads());
                assert!(loaded.records(None).len() >= 40, "and hides nothing that was there");
            }
        }
    }
    println!("{accepted} accepted, {refused} refused");
    assert!(accepted > 0 && refused > 0, "both ways were walked");
}

#[test]
fn random_bytes_and_cut_changes_are_refused() {
    let (document, honest) = situation();
    for end in 0..honest.len() {
        refusal(&document, &[honest[..end].to_vec()]);
    }
    let mut flipped = honest.clone();
    flipped[4] ^= 1;
    assert_eq!(refusal(&document, &[flipped]).to_string(), "a change cannot be read: its checksum does not hold");
    let twice = [honest.clone(), honest].concat();
    assert_eq!(refusal(&document, &[twice]).to_string(), "a change cannot be read: it is not exactly one chunk");
}

#[test]
fn documents_and_bundles_are_not_changes() {
    let (mut document, honest) = situation();
    let saved = document.save_verified().expect("saves");
    assert!(matches!(refusal(&document, &[saved]), Refused::NotAChange { chunk_type: 0 }));
    let mut bundle = honest;
    bundle[8] = 3;
    assert!(matches!(refusal(&document, &[bundle]), Refused::NotAChange { chunk_type: 3 }));
}

#[cfg(target_os = "linux")]
fn peak_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux tells");
    let line = status.lines().find(|l| l.starts_with("VmHWM")).expect("Linux tells");
    line.split_whitespace().nth(1).and_then(|n| n.parse().ok()).expect("a number")
}

/// 64 MiB of zeros deflate to 64 KiB; the limit is 8 MiB inflated.
#[test]
#[cfg(target_os = "linux")]
fn a_deflate_bomb_is_refused_in_little_memory() {
    let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::fast());
    let zeros = vec![0; 1 << 20];
    (0..64).for_each(|_| encoder.write_all(&zeros).expect("writes"));
    let small = encoder.finish().expect("ends");
    assert!(small.len() < 1 << 20, "{} bytes pass the first limit", small.len());
    let (document, _) = situation();
    let bomb = chunk(2, &[], &small);
    let before = peak_kib();
    let limit = Limits::default().inflated_bytes;
    assert_eq!(refusal(&document, &[bomb]), Refused::TooLarge { what: "an inflated change", limit });
    let grown = peak_kib().saturating_sub(before);
    println!("{} bytes of bomb: peak memory grew by {grown} KiB", small.len());
    assert!(grown < 40 << 10, "grew by {grown} KiB");
}

/// A run length of 2^40 in 30 bytes: following it would take hours.
#[test]
fn a_run_length_bomb_is_refused_at_once() {
    let (document, _) = situation();
    let mut bytes = vec![1];
    bytes.extend_from_slice(&FieldDocument::genesis(&key()));
    bytes.push(16);
    bytes.extend_from_slice(&[9; 16]);
    bytes.extend_from_slice(&[1, 9, 0, 0, 0]); // sequence, first operation, time, no message, no other actors
    let mut run = leb(1 << 40);
    run.push(1); // "put", 2^40 times
    bytes.extend_from_slice(&[1, 0x42]); // one column: actions
    bytes.extend(leb(run.len() as u64));
    bytes.extend(run);
    let start = std::time::Instant::now();
    let limit = Limits::default().operations;
    assert_eq!(
        refusal(&document, &[chunk(1, &bytes, &bytes)]),
        Refused::TooLarge { what: "the number of operations in a change", limit }
    );
    assert!(start.elapsed().as_millis() < 500);
}

/// Makes a change as a program that keeps no rules would.
fn rogue(document: &FieldDocument, act: impl FnOnce(&mut AutoCommit)) -> Vec<Vec<u8>> {
    let mut document = document.clone();
    let saved = document.save_verified().expect("saves");
    let mut doc = AutoCommit::load(&saved).expect("loads").with_actor(automerge::ActorId::from(&[9u8; 16][..]));
    let heads = doc.get_heads();
    act(&mut doc);
    doc.commit();
    doc.get_changes(&heads).iter().map(|c| c.raw_bytes().to_vec()).collect()
}

fn map(doc: &AutoCommit, name: &str) -> automerge::ObjId {
    doc.get(ROOT, name).expect("reads").expect("there").1
}

#[test]
fn what_no_device_does_is_refused() {
    let (document, observation) = one();
    let says = |chunks: &[Vec<u8>]| refusal(&document, chunks).to_string();
    let deletes = rogue(&document, |d| {
        let obs = map(d, "obs");
        d.delete(&obs, observation.as_str()).expect("deletes");
    });
    assert_eq!(says(&deletes), format!("a change is refused: it deletes `{observation}`; nothing is ever deleted"));
    let replaces = rogue(&document, |d| {
        let obs = map(d, "obs");
        d.put_object(&obs, observation.as_str(), automerge::ObjType::Map).expect("puts");
    });
    assert_eq!(says(&replaces), format!("a change is refused: it replaces `{observation}` in `obs` as a whole"));
    let hides = rogue(&document, |d| {
        d.put_object(ROOT, "obs", automerge::ObjType::Map).expect("puts");
    });
    assert_eq!(says(&hides), "a change is refused: it rewrites `obs` of the document itself");
    let forges = rogue(&document, |d| {
        let writers = map(d, "writers");
        d.put(&writers, "0101010101010101010101010101010101", "somebody else").expect("puts");
    });
    assert_eq!(says(&forges), "a change is refused: it signs for another writer");
    let swells = rogue(&document, |d| {
        d.put(ROOT, "crop", "x".repeat(70_000)).expect("puts");
    });
    assert_eq!(says(&swells), "a value is larger than the limit of 65536");
    let lists = rogue(&document, |d| {
        d.put_object(ROOT, "list", automerge::ObjType::List).expect("puts");
    });
    assert_eq!(says(&lists), "a change is refused: it does to `list` what no device does");
    // What a later program may add is kept.
    let later = rogue(&document, |d| {
        let photos = d.put_object(ROOT, "photos", automerge::ObjType::Map).expect("puts");
        d.put(&photos, "a", 1).expect("puts");
    });
    assert!(apply(&document, &later).is_ok());
}

#[test]
fn times_that_cannot_be_are_told() {
    let (document, observation) = one();
    let mut fast = document.clone();
    fast.set_writer(writer(2));
    fast.amend(&observation, "plants", &int(1), at(400 * 86_400)).expect("amends");
    let mut slow = document.clone();
    slow.set_writer(writer(3));
    slow.amend(&observation, "plants", &int(2), "1970-01-02T00:00:00Z".parse().expect("a time")).expect("amends");
    let heads = document.clone().heads();
    for (mut clock, device) in [(fast, Some(2)), (slow, Some(3)), (document.clone(), None)] {
        let applied = apply(&document, &clock.changes_after(&heads)).expect("accepted");
        let told: Vec<_> = applied.odd_times.iter().map(|odd| (odd.device, odd.after)).collect();
        assert_eq!(told, device.map(|n| (Some(writer(n).device), None)).into_iter().collect::<Vec<_>>());
        assert!(applied.odd_times.iter().all(|odd| odd.observations.contains(&observation)));
    }
}

/// A clock that was days behind, and is right again: what it dated was made after what others dated later.
#[test]
fn a_time_before_that_of_what_it_was_made_after_is_told() {
    let (mut document, observation) = one();
    let day = 86_400;
    document.set_writer(writer(1));
    document.amend(&observation, "plants", &int(30), at(0)).expect("amends");
    let heads = document.clone().heads();
    for (behind, again, odd) in [(20 * day, 20 * day, 2), (20 * day, -day, 1), (day - 60, day - 60, 0)] {
        let mut slow = document.clone();
        slow.set_writer(writer(2));
        slow.amend(&observation, "plants", &int(31), at(-behind)).expect("amends");
        // Made after that one, which tells less than what it was made after itself.
        slow.amend(&observation, "plants", &int(32), at(-again + 1)).expect("amends");
        let applied = apply(&document, &slow.changes_after(&heads)).expect("accepted");
        assert_eq!(applied.odd_times.len(), odd, "{behind} {again}");
        for told in &applied.odd_times {
            assert_eq!(told.after, Some(at(0).as_second()));
            assert_eq!(told.device, Some(writer(2).device));
            assert_eq!(told.observations.iter().collect::<Vec<_>>(), [&observation]);
        }
    }
    // After a clock that was years ahead, one that is right is not called wrong.
    let mut fast = document.clone();
    fast.set_writer(writer(2));
    fast.amend(&observation, "plants", &int(31), at(400 * day)).expect("amends");
    let mut right = fast.clone();
    right.set_writer(writer(3));
    right.amend(&observation, "plants", &int(32), at(60)).expect("amends");
    let applied = apply(&document, &right.changes_after(&heads)).expect("accepted");
    let told: Vec<_> = applied.odd_times.iter().map(|odd| (odd.at, odd.after)).collect();
    assert_eq!(told, [(at(400 * day).as_second(), None)]);
}

#[test]
fn known_changes_are_passed_over_and_order_does_not_matter() {
    let mut far = FieldDocument::new(key());
    far.set_writer(writer(1));
    for n in 0..20 {
        far.append(&[count(&visit(1, n), 1)], at(1), &mut no_fresh).expect("appends");
    }
    let mut chunks = far.changes_since(&Default::default());
    chunks.reverse();
    chunks.push(chunks[3].clone());
    let document = FieldDocument::new(key());
    let mut applied = apply(&document, &chunks).expect("accepted");
    assert_eq!((applied.added.len(), applied.document.heads()), (20, far.heads()));
    assert_eq!(applied.touched.observations.len(), 20);
    let again = apply(&applied.document, &chunks).expect("accepted");
    assert_eq!((again.added.len(), again.chunks.len()), (0, 0));
    // In causal order: each can be loaded on its own after those before it.
    let saved = FieldDocument::new(key()).save_verified().expect("saves");
    for end in 0..=applied.chunks.len() {
        FieldDocument::load(key(), &saved, &applied.chunks[..end]).expect("loads");
    }
}

fn ask(request: &[u8]) -> Result<(), String> {
    let mut answer = Vec::new();
    screen(request, &mut answer).map_err(|e| e.to_string())?;
    read_verdict(&answer)
}

#[test]
fn a_child_can_try_changes_out() {
    let (mut document, honest) = situation();
    let snapshot = document.save_verified().expect("saves");
    let request = |chunks: Vec<Vec<u8>>| {
        let mut bytes = Vec::new();
        ScreenRequest { key: key(), snapshot: snapshot.clone(), chunks, limits: Limits::default(), now: at(9) }
            .write(&mut bytes)
            .expect("writes");
        bytes
    };
    assert_eq!(ask(&request(vec![honest.clone()])), Ok(()));
    assert_eq!(
        ask(&request(vec![honest[..50].to_vec()])),
        Err("a change cannot be read: it is not exactly one chunk".to_owned())
    );
    // One after the other: a bad one harms none that follows.
    let both = [request(vec![honest[..50].to_vec()]), request(vec![honest.clone()])].concat();
    let mut answers = Vec::new();
    screen(both.as_slice(), &mut answers).expect("both are read");
    let verdicts: Vec<bool> =
        answers.split_inclusive(|byte| *byte == b'\n').map(|answer| read_verdict(answer).is_ok()).collect();
    assert_eq!(verdicts, [false, true]);
    assert!(screen(&both[..both.len() - 1], &mut Vec::new()).is_err(), "the second is cut off");
    let whole = request(vec![honest]);
    for end in [0, 5, 16, 40, whole.len() - 1] {
        assert!(ask(&whole[..end]).is_err(), "cut at {end}");
    }
    assert!(read_verdict(b"").is_err() && read_verdict(b"{\"good\"").is_err(), "a child that died has refused");
}
