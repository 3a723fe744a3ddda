//! Whole exchanges between stores of real documents: they converge, refuse strangers, and survive cuts and noise.

use std::collections::BTreeSet;

use ligule_sync::codec::{self, Decoder};
use ligule_sync::frame::RefuseCode;
use ligule_sync::membership::MembershipLog;
use ligule_sync::{CLOCKS_APART, Frame, Local, RefusalCode, Role, Session, Store, SyncError, SyncReport, clocks_apart};
use ligule_testkit::crew::{DocStore, NOW, crew, device, field, key, local};
use proptest::prelude::*;

/// How an exchange went: each side's result, and the frames that each side received.
struct Outcome {
    left: Result<SyncReport, SyncError>,
    right: Result<SyncReport, SyncError>,
    to_left: Vec<Frame>,
    to_right: Vec<Frame>,
}

/// Lets two stores exchange, through bytes, until both are done, one fails, or `cut` frames have passed.
fn exchange(left: &mut DocStore, right: &mut DocStore, cut: usize) -> Outcome {
    exchange_by_clocks(left, right, cut, 0)
}

/// The same, where the clock of `right` is ahead by so many milliseconds.
fn exchange_by_clocks(left: &mut DocStore, right: &mut DocStore, cut: usize, ahead: i64) -> Outcome {
    let start = |role, me: &DocStore, other: &DocStore, ahead| {
        let local = Local { now: NOW + ahead, ..local(&me.log, me.device) };
        Session::new(role, local, device(other.device))
    };
    let (mut a, mut b) = (start(Role::Initiator, left, right, 0), start(Role::Responder, right, left, ahead));
    let (mut failed_a, mut failed_b) = (None, None);
    let (mut to_left, mut to_right) = (Vec::new(), Vec::new());
    let mut passed = 0;
    let mut moved = true;
    while moved && passed < cut && failed_a.is_none() | failed_b.is_none() {
        moved = false;
        moved |= step(&mut a, left, &mut failed_a, &mut b, right, &mut failed_b, &mut to_right, &mut passed, cut);
        moved |= step(&mut b, right, &mut failed_b, &mut a, left, &mut failed_a, &mut to_left, &mut passed, cut);
    }
    let result = |session: &Session, failed: Option<SyncError>| match failed {
        Some(error) => Err(error),
        None if session.is_done() => Ok(session.report().clone()),
        None => Err(SyncError::Protocol { reason: "cut".to_owned() }),
    };
    Outcome { left: result(&a, failed_a), right: result(&b, failed_b), to_left, to_right }
}

#[allow(clippy::too_many_arguments, reason = "both ends of a link, spelt out")]
fn step(
    from: &mut Session,
    from_store: &mut DocStore,
    from_failed: &mut Option<SyncError>,
    to: &mut Session,
    to_store: &mut DocStore,
    to_failed: &mut Option<SyncError>,
    seen: &mut Vec<Frame>,
    passed: &mut usize,
    cut: usize,
) -> bool {
    let frame = if from_failed.is_some() { from.farewell() } else { from.next_frame(from_store).unwrap() };
    let Some(frame) = frame else { return false };
    if *passed >= cut || to_failed.is_some() {
        return false;
    }
    *passed += 1;
    let bytes = codec::encode(&frame).unwrap();
    let mut decoder = Decoder::default();
    // Byte by byte, as the worst of networks would.
    for byte in &bytes {
        assert_eq!(decoder.next_frame().unwrap(), None);
        decoder.push(&[*byte]);
    }
    let arrived = decoder.next_frame().unwrap().unwrap();
    assert_eq!(arrived, frame);
    seen.push(arrived.clone());
    *to_failed = to.receive(arrived, to_store).err();
    true
}

/// Both sides learn of it, and exchange all the same: a wrong clock is no reason to keep records back.
#[test]
fn a_clock_that_is_days_or_years_wrong_is_known_to_both_sides() {
    const DAY: i64 = 86_400_000;
    for (ahead, told) in [
        (0, None),
        (CLOCKS_APART, None),
        (-CLOCKS_APART, None),
        (CLOCKS_APART + 1, Some(CLOCKS_APART + 1)),
        (3 * DAY, Some(3 * DAY)),
        (-20 * 365 * DAY, Some(-20 * 365 * DAY)),
    ] {
        let log = crew(2);
        let (mut left, mut right) = (DocStore::new(1, log.clone()), DocStore::new(2, log));
        left.record(1);
        right.record(2);
        let outcome = exchange_by_clocks(&mut left, &mut right, usize::MAX, ahead);
        let (a, b) = (outcome.left.unwrap(), outcome.right.unwrap());
        assert_eq!((a.clock_ahead, b.clock_ahead), (Some(ahead), Some(-ahead)));
        assert_eq!((clocks_apart(a.clock_ahead), clocks_apart(b.clock_ahead)), (told, told.map(|ahead| -ahead)));
        assert_eq!((a.changes_in, b.changes_in), (1, 1));
    }
}

/// Programs before this one said hello without the time.
#[test]
fn a_hello_without_the_time_is_understood() {
    let log = crew(2);
    let (mut left, mut right) = (DocStore::new(1, log.clone()), DocStore::new(2, log.clone()));
    let mut hello = Session::new(Role::Initiator, local(&log, 1), device(2)).next_frame(&mut left).unwrap().unwrap();
    let Frame::Hello(body) = &mut hello else { panic!("{hello:?}") };
    assert_eq!(body.at, Some(NOW));
    let with_time = codec::encode(&Frame::Hello(body.clone())).unwrap().len();
    body.at = None;
    let bytes = codec::encode(&hello).unwrap();
    assert!(bytes.len() < with_time);
    let mut decoder = Decoder::default();
    decoder.push(&bytes);
    let mut session = Session::new(Role::Responder, local(&log, 2), device(1));
    session.receive(decoder.next_frame().unwrap().unwrap(), &mut right).unwrap();
    assert_eq!(session.report().clock_ahead, None);
    assert!(matches!(session.next_frame(&mut right), Ok(Some(Frame::Hello(_)))));
}

#[test]
fn two_devices_come_to_hold_the_same_and_then_exchange_next_to_nothing() {
    let log = crew(2);
    let (mut left, mut right) = (DocStore::new(1, log.clone()), DocStore::new(2, log));
    for number in 0..6 {
        left.record(number % 4);
        right.record(number % 5);
    }
    let outcome = exchange(&mut left, &mut right, usize::MAX);
    let (a, b) = (outcome.left.unwrap(), outcome.right.unwrap());
    assert_eq!(left.heads(), right.heads());
    assert_eq!((a.documents, a.changes_in, a.acknowledged), (5, 6, 6));
    assert_eq!((b.documents, b.changes_in, b.acknowledged), (5, 6, 6));
    assert!(a.refused.is_empty() && b.refused.is_empty());

    left.opened.clear();
    right.opened.clear();
    let again = exchange(&mut left, &mut right, usize::MAX);
    assert_eq!(again.left.unwrap().documents, 0);
    assert!(left.opened.is_empty() && right.opened.is_empty(), "equal roots load no document");
    let bytes: usize = again.to_left.iter().chain(&again.to_right).map(|f| codec::encode(f).unwrap().len()).sum();
    assert!(bytes < 1024, "{bytes} bytes to find that nothing changed");
}

#[test]
fn a_stranger_gets_refusals_and_nothing_else() {
    let log = crew(2);
    let mut member = DocStore::new(1, log.clone());
    member.record(1);
    // It knows the crew's id and log, was never admitted, and signs itself in.
    let mut stranger = DocStore::new(9, log.clone());
    let mut forged = log.clone();
    assert!(forged.admit(&key(9), device(9), "nobody", NOW, NOW).is_err());
    let outcome = exchange(&mut stranger, &mut member, usize::MAX);
    assert_eq!(outcome.left.unwrap_err(), SyncError::Refused { code: RefuseCode::NotMember });
    assert!(matches!(outcome.right, Err(SyncError::RefusedPeer { code: RefuseCode::NotMember, .. })));
    assert_eq!(outcome.to_left, [Frame::Refuse(RefuseCode::Unproven), Frame::Refuse(RefuseCode::NotMember)]);
    assert!(stranger.docs.is_empty());
    assert_eq!(member.log, log, "nothing that the stranger showed is kept");

    // A member that dials a stranger tells it nothing either: a tag, some hashes, a refusal.
    let outcome = exchange(&mut member, &mut stranger, usize::MAX);
    assert!(outcome.left.is_err() && outcome.right.is_err());
    assert!(outcome.to_right.iter().all(|frame| matches!(frame, Frame::Hello(_) | Frame::Refuse(_))));
}

#[test]
fn another_crew_is_refused() {
    let mut ours = DocStore::new(1, crew(2));
    ours.record(1);
    let other = MembershipLog::found(&key(2), "other", [6; 16], NOW).unwrap();
    let mut theirs = DocStore::new(2, other);
    let outcome = exchange(&mut theirs, &mut ours, usize::MAX);
    assert_eq!(outcome.to_left, [Frame::Refuse(RefuseCode::NotMember)]);
    assert!(theirs.docs.is_empty());
}

#[test]
fn a_device_admitted_elsewhere_proves_itself() {
    let log = crew(2);
    let mut old = DocStore::new(2, log.clone());
    old.record(1);
    let mut admitted = log;
    admitted.admit(&key(1), device(3), "person 3", NOW, NOW + 1).unwrap();
    let mut new = DocStore::new(3, admitted);
    new.record(2);
    let outcome = exchange(&mut new, &mut old, usize::MAX);
    outcome.left.unwrap();
    assert_eq!(outcome.right.unwrap().entries_in, 1);
    assert_eq!(new.heads(), old.heads());

    // And the other way round: the old member dials.
    let mut log = old.log.clone();
    log.admit(&key(2), device(4), "person 4", NOW, NOW + 1).unwrap();
    let mut newest = DocStore::new(4, log);
    exchange(&mut new, &mut newest, usize::MAX).left.unwrap();
    assert_eq!(new.heads(), newest.heads());
}

#[test]
fn a_removed_device_is_refused_once_the_removal_is_known() {
    let log = crew(3);
    let mut member = DocStore::new(1, log.clone());
    let (mut other, mut removed) = (DocStore::new(2, log.clone()), DocStore::new(3, log));
    removed.record(1);
    exchange(&mut removed, &mut member, usize::MAX).left.unwrap();
    let accepted: Vec<_> = member.heads().into_iter().collect();
    member.log.remove(&key(1), device(3), accepted.clone(), NOW).unwrap();
    member.record(2);
    removed.record(1);
    let refused = |removed: &mut DocStore, by: &mut DocStore| {
        let outcome = exchange(removed, by, usize::MAX);
        assert_eq!(outcome.left.unwrap_err(), SyncError::Refused { code: RefuseCode::Removed });
        assert!(matches!(outcome.right, Err(SyncError::RefusedPeer { code: RefuseCode::Removed, .. })));
        // Of the crew it hears nothing beside that, whoever dials.
        assert_eq!(outcome.to_left, [Frame::Refuse(RefuseCode::Unproven), Frame::Refuse(RefuseCode::Removed)]);
        let dialled = exchange(by, removed, usize::MAX);
        assert!(dialled.left.is_err());
        assert_eq!(dialled.right.unwrap_err(), SyncError::Refused { code: RefuseCode::Removed });
        assert_eq!((removed.docs.len(), by.docs.len()), (1, 2));
    };
    refused(&mut removed, &mut member);
    exchange(&mut other, &mut member, usize::MAX).left.unwrap();
    refused(&mut removed, &mut other);
    // Its earlier work stays, and whoever hears of the removal can tell it from what came later.
    assert_eq!(other.heads(), member.heads());
    let stays = &other.log.removed()[&device(3)].accepted;
    let (doc, heads) = &accepted[0];
    assert!(heads.iter().all(|head| stays.is_head(doc, head)));
    assert!(!removed.heads()[doc].iter().any(|head| stays.is_head(doc, head)));
}

#[test]
fn a_copied_journal_is_told_and_the_rest_goes_through() {
    let log = crew(2);
    let (mut left, mut right) = (DocStore::new(1, log.clone()), DocStore::new(2, log));
    left.record(1);
    // The right device writes with the left one's actor, as after copying a journal.
    right.device = 1;
    right.record(2);
    right.record(1);
    right.device = 2;
    right.record(3);
    let outcome = exchange(&mut left, &mut right, usize::MAX);
    let report = outcome.left.unwrap();
    let forked: Vec<_> = report.refused.iter().map(|refused| (refused.doc, refused.refusal.code)).collect();
    assert_eq!(forked, [(field(left.log.crew(), 1).id(), RefusalCode::Forked)]);
    assert!(left.docs.contains_key(&field(left.log.crew(), 3).id()));
}

/// A sequence of edits and (maybe interrupted) exchanges between `n` devices.
#[derive(Debug, Clone)]
enum Step {
    Record { device: usize, field: u8 },
    Exchange { from: usize, to: usize, cut: usize },
}

fn steps(devices: usize) -> impl Strategy<Value = Vec<Step>> {
    let record = (0..devices, 0..4_u8).prop_map(|(device, field)| Step::Record { device, field });
    let exchange = (0..devices, 1..devices, prop_oneof![3 => 0..30_usize, 1 => Just(usize::MAX)])
        .prop_map(move |(from, by, cut)| Step::Exchange { from, to: (from + by) % devices, cut });
    prop::collection::vec(prop_oneof![2 => record, 1 => exchange], 1..30)
}

fn pair(stores: &mut [DocStore], a: usize, b: usize) -> (&mut DocStore, &mut DocStore) {
    let [x, y] = stores.get_disjoint_mut([a, b]).unwrap();
    (x, y)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Any number of devices, any edits, links cut after any number of frames: what was acknowledged is there, and a
    /// ring of whole exchanges makes all stores equal.
    #[test]
    fn devices_converge_whatever_is_cut(steps in steps(4)) {
        let log = crew(4);
        let mut stores: Vec<DocStore> = (1..=4).map(|number| DocStore::new(number, log.clone())).collect();
        let mut recorded = 0;
        for step in steps {
            match step {
                Step::Record { device, field } => {
                    stores[device].record(field);
                    recorded += 1;
                }
                Step::Exchange { from, to, cut } => {
                    let (a, b) = pair(&mut stores, from, to);
                    let before = (a.changes(), b.changes());
                    let outcome = exchange(a, b, cut);
                    // An acknowledgement that arrived stands for changes that are there.
                    for (frames, holder) in [(&outcome.to_left, &mut *b), (&outcome.to_right, &mut *a)] {
                        for frame in frames {
                            if let Frame::Ack(ack) = frame {
                                prop_assert!(ack.result.is_ok() && holder.docs.contains_key(&ack.doc));
                            }
                        }
                    }
                    prop_assert!(a.changes() >= before.0 && b.changes() >= before.1);
                    if cut == usize::MAX {
                        prop_assert_eq!(a.heads(), b.heads());
                    }
                }
            }
        }
        for _ in 0..2 {
            for at in 0..stores.len() - 1 {
                let (a, b) = pair(&mut stores, at, at + 1);
                exchange(a, b, usize::MAX).left.unwrap();
                let (a, b) = pair(&mut stores, at + 1, at);
                exchange(a, b, usize::MAX).left.unwrap();
            }
            for at in (0..stores.len() - 1).rev() {
                let (a, b) = pair(&mut stores, at, at + 1);
                exchange(a, b, usize::MAX).left.unwrap();
            }
        }
        let heads: BTreeSet<_> = stores.iter_mut().map(DocStore::heads).collect();
        prop_assert_eq!(heads.len(), 1);
        // One genesis for each document, one change for each observation.
        let documents = stores[0].docs.len() as u64;
        prop_assert_eq!(stores[0].changes(), documents + recorded);
        let inventories: BTreeSet<_> = stores.iter_mut().map(|store| store.root_digest().unwrap()).collect();
        prop_assert_eq!(inventories.len(), 1);
    }

    /// Bytes that were mutated on the way, with and without a right check sum, never panic.
    #[test]
    fn hostile_frames_never_panic(
        which in 0..20_usize,
        flips in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        mend in any::<bool>(),
    ) {
        let log = crew(2);
        let (mut left, mut right) = (DocStore::new(1, log.clone()), DocStore::new(2, log.clone()));
        left.record(1);
        right.record(1);
        right.record(2);
        let mut a = Session::new(Role::Initiator, local(&log, 1), device(2));
        let mut b = Session::new(Role::Responder, local(&log, 2), device(1));
        let mut passed = 0;
        'link: for _ in 0..40 {
            for turn in 0..2 {
                let (from, store) = if turn == 0 { (&mut a, &mut left) } else { (&mut b, &mut right) };
                let Ok(Some(frame)) = from.next_frame(store) else { continue };
                let mut bytes = codec::encode(&frame).unwrap();
                if passed == which {
                    for (at, value) in &flips {
                        let at = at.index(bytes.len());
                        bytes[at] ^= value;
                    }
                    if mend {
                        bytes = mended(bytes);
                    }
                }
                passed += 1;
                let mut decoder = Decoder::default();
                decoder.push(&bytes);
                let (to, store) = if turn == 0 { (&mut b, &mut right) } else { (&mut a, &mut left) };
                match decoder.next_frame() {
                    Ok(Some(frame)) => if to.receive(frame, store).is_err() { break 'link },
                    Ok(None) => break 'link,
                    Err(error) => { to.receive_broken(error); break 'link }
                }
            }
        }
        // Whatever came, both can still exchange in full.
        exchange(&mut left, &mut right, usize::MAX).left.unwrap();
        prop_assert_eq!(left.heads(), right.heads());
    }

    /// Random bytes are no frame, or a frame, and nothing worse.
    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..200), kind in 0..16_u8) {
        let _ = codec::decode(&bytes);
        let mut framed = vec![0, 0, 0, 0, codec::VERSION, kind, 0, 0, 0, 0];
        framed.extend(&bytes);
        if let Ok(Some((Frame::Changes(changes), _))) = codec::decode(&mended(framed)) {
            let _ = codec::unpack(&changes);
        }
    }
}

/// Gives a mutated frame the length and check sum that it needs to be looked at.
fn mended(mut bytes: Vec<u8>) -> Vec<u8> {
    let length = u32::try_from(bytes.len() - 4).unwrap();
    bytes[..4].copy_from_slice(&length.to_le_bytes());
    bytes[4] = codec::VERSION;
    let mut hasher = crc32fast::Hasher::new();
    hasher.update(&bytes[4..6]);
    hasher.update(&bytes[10..]);
    bytes[6..10].copy_from_slice(&hasher.finalize().to_le_bytes());
    bytes
}
