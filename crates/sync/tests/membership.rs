//! Who is a member, whatever the order in which entries arrive and whatever a removed device invents.

use ligule_sync::membership::{MembershipLog, SignedEntry};
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
                log.admit(&key(signer), device(subject), "p", NOW, NOW + 1)
            } else {
                log.remove(&key(signer), device(subject), Vec::new(), NOW)
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
