//! The process that tries out bytes from outside: whatever it is fed, an answer or an error, in bounded memory.

use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Child, Command, Output, Stdio};

use jiff::Timestamp;
use ligule_observation::document::{FieldDocument, NewObservation, Visit, Writer};
use ligule_observation::ids::{CrewId, DeviceId, DocKey, Feature};
use ligule_observation::outside::Limits;
use ligule_observation::record::{Measured, Value};
use ligule_observation::screen::{ScreenRequest, read_verdict};
use ligule_testkit::{Place, python};
use sha2::{Digest, Sha256};

fn now() -> Timestamp {
    "2026-05-28T13:00:00Z".parse().expect("an instant")
}

fn key() -> DocKey {
    DocKey { crew: CrewId([7; 16]), feature: Feature::Field("01J0000000000000000000FLD1".into()), season: 2026 }
}

/// Writes `number` observations as a device does.
fn write(document: &mut FieldDocument, device: u8, number: i64) {
    let person = format!("person {device}");
    document.set_writer(Writer { actor: [device; 16], device: DeviceId([device; 32]), person: person.clone() });
    let visit = Visit {
        id: format!("01J00000000000000000{device:06}"),
        by: person,
        at: now(),
        offset_minutes: -300,
        place: None,
    };
    let new: Vec<NewObservation> = (0..number)
        .map(|plants| NewObservation {
            visit: visit.clone(),
            kind: "stand-count".to_owned(),
            version: 1,
            values: BTreeMap::from([("plants".to_owned(), Measured { value: Value::Int(plants), entered: None })]),
            at: None,
            place: None,
            number: None,
        })
        .collect();
    document.append(&new, now(), &mut || unreachable!("the visit is new")).expect("it appends");
}

/// A request in which a second device adds one observation to a document of 40.
fn honest() -> ScreenRequest {
    let mut document = FieldDocument::new(key());
    write(&mut document, 1, 40);
    let snapshot = document.save().expect("it can be saved");
    let mut other = document.clone();
    write(&mut other, 2, 1);
    let chunks = other.changes_since(&document.version_vector());
    ScreenRequest { key: key(), snapshot, chunks, limits: Limits::default(), now: now() }
}

fn start(place: &Place) -> Child {
    let mut command = place.command(&["screen"]);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command.spawn().expect("`ligule` starts")
}

/// Feeds bytes to the process and waits for its end.
fn feed(bytes: &[u8]) -> Output {
    let place = Place::new();
    let mut child = start(&place);
    // It may stop reading before the end; what it answers says why.
    let _ = child.stdin.take().expect("stdin is a pipe").write_all(bytes);
    child.wait_with_output().expect("the process is ours")
}

fn written(request: &ScreenRequest) -> Vec<u8> {
    let mut bytes = Vec::new();
    request.write(&mut bytes).expect("memory can be written");
    bytes
}

/// Answers with a verdict; a refusal is no failure of the process.
#[track_caller]
fn verdict(request: &ScreenRequest) -> Result<(), String> {
    let output = feed(&written(request));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{}: {said}", output.status);
    assert!(!output.stdout.is_empty(), "it answers");
    read_verdict(&output.stdout)
}

/// Ends with an error of one line and no verdict.
#[track_caller]
fn fails(bytes: &[u8]) {
    let output = feed(bytes);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.code().is_some_and(|code| code != 0 && code != 101), "{}: {said}", output.status);
    assert!(!said.contains("panicked") && said.starts_with("error: "), "{said}");
    assert!(read_verdict(&output.stdout).is_err(), "no verdict");
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

/// A chunk as the merge library stores it, with a good checksum: magic, checksum, type, length, body.
fn chunk(kind: u8, plain: &[u8], body: &[u8]) -> Vec<u8> {
    let hash = Sha256::new().chain_update([1]).chain_update(leb(plain.len() as u64)).chain_update(plain).finalize();
    let mut out = vec![0x85, 0x6f, 0x4a, 0x83];
    out.extend_from_slice(&hash[..4]);
    out.push(kind);
    out.extend(leb(body.len() as u64));
    out.extend_from_slice(body);
    out
}

/// The body of a chunk: what follows its length.
fn body(chunk: &[u8]) -> &[u8] {
    let length = chunk[9..].iter().position(|byte| byte & 0x80 == 0).expect("the length ends") + 1;
    &chunk[9 + length..]
}

/// 512 MiB of zeros, deflated to a sixty-fourth of the limit of a request; every change is under its own limit.
fn bombs() -> ScreenRequest {
    let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::fast());
    let zeros = vec![0; 1 << 20];
    (0..64).for_each(|_| encoder.write_all(&zeros).expect("memory can be written"));
    let small = encoder.finish().expect("memory can be written");
    let bomb = chunk(2, &[], &small);
    assert!(bomb.len() < Limits::default().change_bytes, "{} bytes pass the first limit", bomb.len());
    ScreenRequest { chunks: vec![bomb; 8], ..honest() }
}

#[test]
fn good_changes_get_a_good_verdict() {
    assert_eq!(verdict(&honest()), Ok(()));
    let mut again = honest();
    again.chunks.clear();
    assert_eq!(verdict(&again), Ok(()), "nothing new is nothing bad");
}

#[test]
fn garbage_ends_with_an_error() {
    let request = written(&honest());
    fails(b"");
    fails(b"Good morning.\n");
    fails(&[0xa7; 70_000]);
    for end in [7, 8, 15, 16, 100, request.len() / 2, request.len() - 1] {
        fails(&request[..end]);
    }
    // A length that nobody can send, and a header that is none.
    let mut huge = request[..8].to_vec();
    huge.extend_from_slice(&u64::MAX.to_be_bytes());
    fails(&huge);
    let mut header = request.clone();
    header[16] = b'[';
    fails(&header);
}

#[test]
fn bad_changes_get_a_refusal_with_its_reason() {
    let good = honest();
    let refused = |chunk: Vec<u8>| verdict(&ScreenRequest { chunks: vec![chunk], ..honest() }).expect_err("refused");
    let change = &good.chunks[0];
    let why = refused(change[..change.len() - 1].to_vec());
    assert!(why.contains("cannot be read"), "{why}");
    let mut flipped = change.clone();
    flipped[4] ^= 1;
    let why = refused(flipped);
    assert!(why.contains("checksum"), "{why}");
    let why = refused(good.snapshot.clone());
    assert!(!why.is_empty());
    // Another document's change: its dependencies are not here.
    let mut elsewhere = FieldDocument::new(DocKey { season: 2025, ..key() });
    write(&mut elsewhere, 3, 1);
    let foreign = elsewhere.changes_since(&Default::default());
    assert!(verdict(&ScreenRequest { chunks: foreign, ..honest() }).is_err());
    // A document that is none: this device's own file is damaged, and that is no verdict on the changes.
    let broken = ScreenRequest { snapshot: good.snapshot[..good.snapshot.len() / 2].to_vec(), ..honest() };
    assert!(verdict(&broken).is_err());
}

/// Mutated changes whose checksum was made good again reach the merge library; whatever it does with them, the process
/// gives a verdict.
#[test]
fn mutated_changes_get_a_verdict() {
    let good = honest();
    let plain = body(&good.chunks[0]);
    let (mut accepted, mut refused) = (0, 0);
    for n in 0..60 {
        let mut mutated = plain.to_vec();
        let place = (n * 7919) % mutated.len();
        mutated[place] ^= 1 << (n % 8);
        match verdict(&ScreenRequest { chunks: vec![chunk(1, &mutated, &mutated)], ..honest() }) {
            Ok(()) => accepted += 1,
            Err(why) => {
                assert!(!why.is_empty());
                refused += 1;
            }
        }
    }
    println!("{accepted} accepted, {refused} refused");
    assert!(refused > 0);
}

#[test]
fn a_deflate_bomb_gets_a_refusal() {
    let why = verdict(&bombs()).expect_err("refused");
    assert!(why.contains("inflated"), "{why}");
}

/// Runs a program on a file and prints its exit code and the peak of its resident memory in KiB (Linux).
const PEAK: &str = "import resource, subprocess, sys
with open(sys.argv[2], 'rb') as request:
    done = subprocess.run([sys.argv[1], 'screen'], stdin=request, capture_output=True)
print(done.returncode, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)";

#[test]
#[cfg(target_os = "linux")]
fn its_memory_stays_within_bounds() {
    let place = Place::new();
    let program = std::env::var_os("LIGULE_PROGRAM").expect("`cargo xtask test` names the program");
    let peak = |name: &str, request: &ScreenRequest| -> u64 {
        let file = place.folder().join(name);
        std::fs::write(&file, written(request)).expect("the folder can be written");
        let output = Command::new(python()).args(["-I", "-c", PEAK]).arg(&program).arg(&file).output().expect("Python");
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        let (code, peak) = said.trim().split_once(' ').expect("a code and a number");
        assert_eq!(code, "0", "{name}: it answered");
        peak.parse().expect("a number")
    };
    let (usual, bombed) = (peak("honest", &honest()), peak("bombs", &bombs()));
    println!("peak: honest {usual} KiB, bombs {bombed} KiB");
    assert!(bombed < usual + (64 << 10), "512 MiB of zeros took {bombed} KiB, an honest change {usual} KiB");
}

/// The process limits itself before it reads, so that whatever the merge library does ends there.
#[test]
#[cfg(target_os = "linux")]
fn it_limits_its_own_memory_and_time() {
    let place = Place::new();
    let mut child = start(&place);
    let file = format!("/proc/{}/limits", child.id());
    let mut limits = String::new();
    // It takes a moment to start.
    for _ in 0..200 {
        limits = std::fs::read_to_string(&file).expect("Linux tells");
        if !unlimited(&limits, "Max address space") {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    drop(child.stdin.take());
    let _ = child.wait();
    assert!(!unlimited(&limits, "Max address space"), "{limits}");
    assert!(!unlimited(&limits, "Max cpu time"), "{limits}");
}

fn unlimited(limits: &str, name: &str) -> bool {
    let line = limits.lines().find(|line| line.starts_with(name)).expect("Linux tells this limit");
    line.contains("unlimited")
}
