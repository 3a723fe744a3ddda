//! Who is a member, whatever the order in which entries arrive and whatever a removed device invents.

use ed25519_dalek::Signer;
use ligule_observation::ids::DocId;
use ligule_sync::membership::{Act, Entry, MARKS_OF_ENTRY, MembershipLog, SignedEntry, in_parts};
use ligule_sync::{Frame, codec};
use ligule_testkit::crew::{NOW, crew, device, key};
use proptest::prelude::*;

fn numbers(log: &MembershipLog) -> Vec<u8> {
    let members = log.members();
    (1..=20).filter(|&number| members.contains_key(&device(number))).collect()
}

fn union(a: &MembershipLog, b: &MembershipLog) -> MembershipLog {
    let mut merged = a.clone();
    merged.merge(b.entries().cloned());
    merged
}

#[test]
fn founder_admits_and_members_admit_further() {
    let mut log = crew(2);
    log.admit(&key(2), device(3), "person 3", NOW, NOW + 1).unwrap();
    let members = log.members();
    assert_eq!(numbers(&log), [1, 2, 3]);
    assert_eq!((members[&device(3)].person.as_str(), members[&device(3)].admitted_by), ("person 3", device(2)));
    assert_eq!(MembershipLog::from_bytes(&log.to_bytes()).unwrap(), log);
}

#[test]
fn strangers_and_late_admissions_do_not_count() {
    let mut log = crew(2);
    assert!(log.admit(&key(9), device(10), "nobody", NOW, NOW).is_err(), "a stranger cannot admit");
    assert!(log.admit(&key(1), device(3), "late", NOW + 2, NOW + 1).is_err(), "the invitation has run out");
}

#[test]
fn forged_entries_are_refused() {
    let log = crew(3);
    let entry = log.entries().next().unwrap().clone();
    for at in 0..entry.body.len() {
        let mut forged = entry.clone();
        forged.body[at] ^= 1;
        assert!(forged.open().is_err(), "byte {at}");
    }
    let unsigned = SignedEntry { signature: vec![0; 64], ..entry.clone() };
    let other = MembershipLog::found(&key(1), "person 1", [6; 16], NOW).unwrap();
    let mut target = MembershipLog::empty(log.crew());
    let merged = target.merge([unsigned, other.entries().next().unwrap().clone()]);
    assert_eq!((merged.new, merged.refused.len()), (0, 2), "{:?}", merged.refused);
}

#[test]
fn a_removed_device_cannot_admit_a_friend_by_an_older_looking_entry() {
    let mut log = crew(3);
    let mut behind = log.clone();
    log.remove(&key(1), device(3), Vec::new(), NOW).unwrap();
    // Device 3 has not heard of it, or pretends so.
    behind.admit(&key(3), device(9), "friend", NOW, NOW + 1).unwrap();
    let merged = union(&log, &behind);
    assert_eq!(numbers(&merged), [1, 2]);
    assert_eq!(merged.removed()[&device(3)].by, device(1));
    // What it had admitted before, as the remover knew, stands.
    let mut earlier = crew(3);
    earlier.admit(&key(3), device(4), "person 4", NOW, NOW + 1).unwrap();
    earlier.remove(&key(1), device(3), Vec::new(), NOW).unwrap();
    assert_eq!(numbers(&earlier), [1, 2, 4]);
}

#[test]
fn a_device_can_come_back_and_then_acts_again() {
    let mut log = crew(3);
    log.remove(&key(2), device(3), Vec::new(), NOW).unwrap();
    assert_eq!(numbers(&log), [1, 2]);
    log.admit(&key(1), device(3), "person 3", NOW, NOW + 1).unwrap();
    log.admit(&key(3), device(4), "person 4", NOW, NOW + 1).unwrap();
    assert_eq!(numbers(&log), [1, 2, 3, 4]);
}

#[test]
fn when_two_remove_each_other_the_senior_stays() {
    let mut base = crew(2);
    base.admit(&key(2), device(3), "person 3", NOW, NOW + 1).unwrap();
    let (mut left, mut right) = (base.clone(), base);
    left.remove(&key(2), device(3), Vec::new(), NOW).unwrap();
    right.remove(&key(3), device(2), Vec::new(), NOW).unwrap();
    assert_eq!(numbers(&union(&left, &right)), [1, 2]);
    assert_eq!(union(&left, &right).members(), union(&right, &left).members());
}

#[test]
fn the_founder_can_be_removed_and_the_crew_goes_on() {
    let mut log = crew(3);
    log.remove(&key(2), device(1), Vec::new(), NOW).unwrap();
    log.admit(&key(3), device(4), "person 4", NOW, NOW + 1).unwrap();
    assert_eq!(numbers(&log), [2, 3, 4]);
}

/// A document and its heads: one, or two where devices wrote to it apart.
fn document(number: u32) -> (DocId, Vec<[u8; 32]>) {
    let named = |what: &str| *blake3::hash(format!("{what} {number}").as_bytes()).as_bytes();
    let mut id = DocId([0; 16]);
    id.0.copy_from_slice(&named("document")[..16]);
    let heads = if number.is_multiple_of(10) { vec![named("one"), named("two")] } else { vec![named("one")] };
    (id, heads)
}

/// Signs whatever it is told to, member or not.
fn signed(by: u8, log: &MembershipLog, act: Act) -> SignedEntry {
    let entry = Entry { crew: log.crew(), parents: log.heads(), by: device(by), at: NOW, act };
    let body = postcard::to_stdvec(&entry).unwrap();
    let message = [b"ligule membership entry 1".as_slice(), &body].concat();
    SignedEntry { signature: key(by).sign(&message).to_bytes().to_vec(), body }
}

/// An entry that named the heads themselves was too long from 5,350 documents on.
#[test]
fn a_device_leaves_a_crew_of_50_000_documents() {
    let mut log = crew(3);
    let mut other = log.clone();
    log.remove(&key(1), device(3), (0..50_000).map(document), NOW).unwrap();
    let removal = &log.removed()[&device(3)];
    assert_eq!((numbers(&log), removal.by, removal.accepted.heads()), (vec![1, 2], device(1), 55_000));
    for number in [0, 10, 4_321, 49_999] {
        let (doc, heads) = document(number);
        assert!(heads.iter().all(|head| removal.accepted.is_head(&doc, head)), "{number}");
        let (later, _) = document(number + 1);
        assert!(!removal.accepted.is_head(&later, &heads[0]), "a head of another document");
        assert!(!removal.accepted.is_head(&doc, &[7; 32]), "a change that nobody had");
    }
    // It is kept, and sent in frames, whole and in parts that come in any order.
    assert_eq!(MembershipLog::from_bytes(&log.to_bytes()).unwrap(), log);
    let missing = log.missing_from(&other.heads());
    assert_eq!(missing.len(), 1 + 55_000_usize.div_ceil(MARKS_OF_ENTRY));
    for part in in_parts(missing, 512 << 10).into_iter().rev() {
        codec::encode(&Frame::Entries(part.clone())).unwrap();
        other.merge(part);
    }
    assert_eq!(other, log);
    assert_eq!(other.heads(), log.heads());
}

#[test]
fn only_members_say_what_is_accepted_of_a_removed_device() {
    let mut log = crew(3);
    let behind = log.clone();
    log.remove(&key(1), device(3), [document(1)], NOW).unwrap();
    let removal = log.entries().find(|entry| matches!(entry.open().unwrap().act, Act::Remove { .. })).unwrap().hash();
    let act = Act::Accept { removal, marks: vec![[1; 16], [2; 16]] };
    let mut forged = log.clone();
    forged.merge([signed(3, &log, act.clone()), signed(9, &log, act.clone()), signed(3, &behind, act.clone())]);
    assert_eq!(forged.removed(), log.removed());
    forged.merge([signed(2, &log, act)]);
    assert_eq!(forged.removed()[&device(3)].accepted.heads(), 3);
    assert_eq!(forged.members(), log.members());
}

/// Two remove one device at once, each with what it has: what either answers for is accepted.
#[test]
fn what_several_removals_accept_is_accepted() {
    let (mut left, mut right) = (crew(3), crew(3));
    left.remove(&key(1), device(3), [document(1), document(2)], NOW).unwrap();
    right.remove(&key(2), device(3), [document(2), document(3)], NOW).unwrap();
    let merged = union(&left, &right);
    assert_eq!(merged.removed()[&device(3)].accepted.heads(), 3);
    assert_eq!(merged.removed(), union(&right, &left).removed());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, ..ProptestConfig::default() })]

    /// Replicas that admit and remove at random, hear of each other at random, and receive entries in any order name
    /// the same members; at least one member is left unless the last one removed itself.
    #[test]
    fn evaluation_depends_on_the_set_alone(
        acts in prop::collection::vec((0..4_usize, 1..6_u8, 1..8_u8, any::<bool>(), 0..4_usize), 0..24),
        seed in any::<u64>(),
    ) {
        let mut replicas = vec![crew(5); 4];
        for (replica, signer, subject, admit, hears) in acts {
            let heard = replicas[hears].clone();
            let log = &mut replicas[replica];
            log.merge(heard.entries().take(usize::try_from(seed % 7).unwrap() + 2).cloned());
            // A signer who is no member there cannot sign; that is the rule and no failure.
            let _ = if admit {
                log.admit(&key(signer), device(subject), "p", NOW, NOW + 1).map(|_| ())
            } else {
                log.remove(&key(signer), device(subject), [document(subject.into())], NOW)
            };
        }
        let mut entries: Vec<SignedEntry> = replicas.iter().flat_map(|log| log.entries().cloned()).collect();
        let crew = replicas[0].crew();
        let mut forward = MembershipLog::empty(crew);
        forward.merge(entries.clone());
        let mut state = seed | 1;
        for at in (1..entries.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            entries.swap(at, usize::try_from(state >> 33).unwrap() % (at + 1));
        }
        let mut shuffled = MembershipLog::empty(crew);
        for entry in entries {
            shuffled.merge([entry.clone(), entry]);
        }
        prop_assert_eq!(forward.members(), shuffled.members());
        prop_assert_eq!(forward.removed(), shuffled.removed());
        prop_assert_eq!(&forward, &shuffled);
        prop_assert!(forward.members().keys().all(|device| !forward.removed().contains_key(device)));
        // What one replica lacks of another is exactly what merging adds.
        let missing = forward.missing_from(&replicas[1].heads());
        let mut caught_up = replicas[1].clone();
        caught_up.merge(missing);
        prop_assert_eq!(caught_up.members(), forward.members());
    }
}
