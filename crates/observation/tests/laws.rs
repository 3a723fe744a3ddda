//! Laws of merging, at random: in any order, any number of times, all copies come to say the same.
//!
//! A failing case prints its seed; proptest keeps it in `laws.proptest-regressions` beside this file.

mod common;

use std::sync::LazyLock;

use common::{at, count, int, key, pull, ulid, visit, writer};
use ligule_observation::{
    document::{FieldDocument, NewObservation},
    kinds::{KIND_FILES, KindSet},
    record::Void,
};
use proptest::prelude::*;

/// The largest crew.
const DEVICES: usize = 8;

/// What a device does next.
#[derive(Debug, Clone)]
enum Act {
    /// Records this many observations of the n-th kind on its k-th visit.
    Add { kind: usize, visit: u64, number: usize },
    /// Corrects the n-th observation it knows.
    Amend { which: usize, measure: usize, value: i64 },
    /// Voids the n-th observation it knows.
    Void { which: usize },
    /// Takes in what another device has.
    Pull { from: usize },
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        4 => (0..KIND_FILES.len(), 0..3u64, 1..4usize).prop_map(|(kind, visit, number)| Act::Add { kind, visit, number }),
        4 => (any::<usize>(), 0..3usize, 0..4i64).prop_map(|(which, measure, value)| Act::Amend { which, measure, value }),
        1 => any::<usize>().prop_map(|which| Act::Void { which }),
        2 => any::<usize>().prop_map(|from| Act::Pull { from }),
    ]
}

static KINDS: LazyLock<KindSet> = LazyLock::new(KindSet::builtin);

fn new(kind: usize, n: u8, number: u64, value: i64) -> NewObservation {
    let kind = KINDS.iter().nth(kind).expect("counted");
    let mut new = count(&visit(n, number), value);
    new.kind = kind.kind.clone();
    new.values = kind.measures.iter().take(3).map(|m| (m.name.clone(), int(value))).collect();
    new
}

/// Plays a history of so many devices and returns their copies.
fn play(size: usize, acts: &[(usize, Act)]) -> Vec<FieldDocument> {
    let mut devices: Vec<_> = (0..size)
        .map(|n| {
            let mut document = FieldDocument::new(key());
            document.set_writer(writer(n as u8 + 1));
            document
        })
        .collect();
    for (step, (device, act)) in acts.iter().enumerate() {
        let now = at(step as i64);
        let device = device % size;
        let n = device as u8 + 1;
        let keys: Vec<_> = devices[device].records(None).into_iter().map(|r| (r.key, r.values)).collect();
        let document = &mut devices[device];
        match act {
            Act::Add { kind, visit, number } => {
                let batch: Vec<_> = (0..*number).map(|i| new(*kind, n, *visit, i as i64)).collect();
                document.append(&batch, now, &mut || ulid(step as u64, 99)).expect("appends");
            }
            Act::Amend { which, measure, value } if !keys.is_empty() => {
                let (key, values) = &keys[which % keys.len()];
                let measure = values.keys().nth(measure % values.len()).expect("counted");
                document.amend(key, measure, &int(*value), now).expect("amends");
            }
            Act::Void { which } if !keys.is_empty() => {
                let (key, _) = &keys[which % keys.len()];
                let void = Void { why: format!("step {step}"), by: format!("person {n}"), at: now, also: Vec::new() };
                document.void(key, &void).expect("voids");
            }
            Act::Pull { from } if from % size != device => {
                let mut other = devices[from % size].clone();
                pull(&mut devices[device], &mut other);
                devices[device].set_writer(writer(n));
            }
            _ => {}
        }
    }
    devices
}

/// Merges copies in the order given and returns what there is to see.
fn merged(order: &[usize], devices: &[FieldDocument]) -> (Vec<[u8; 32]>, String) {
    let mut all = FieldDocument::new(key());
    for n in order {
        pull(&mut all, &mut devices[*n].clone());
    }
    (all.heads(), seen(&all))
}

fn seen(document: &FieldDocument) -> String {
    let projection = document.project(None);
    assert_eq!(projection.unreadable, [], "everything an honest device writes can be read");
    serde_json::to_string_pretty(&(projection.records, document.conflicts())).expect("plain data")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, max_shrink_iters: 300, ..ProptestConfig::default() })]

    #[test]
    fn merging_is_commutative_associative_and_idempotent(
        size in 2..=DEVICES,
        acts in prop::collection::vec((any::<usize>(), act()), 1..60),
        shuffled in Just((0..DEVICES).collect::<Vec<_>>()).prop_shuffle(),
        split in 1..DEVICES,
    ) {
        let devices = play(size, &acts);
        let order: Vec<_> = (0..size).collect();
        let reference = merged(&order, &devices);
        let backwards: Vec<_> = order.iter().rev().copied().collect();
        let random: Vec<_> = shuffled.into_iter().filter(|n| *n < size).collect();
        let twice: Vec<_> = random.iter().chain(&order).chain(&random).copied().collect();
        for order in [&backwards, &random, &twice] {
            prop_assert_eq!(&merged(order, &devices), &reference, "order {:?}", order);
        }
        // (a · b · …) · (c · d · …), each side merged by itself first, is the same.
        let (left, right) = random.split_at(split.min(size - 1));
        let gather = |part: &[usize]| {
            let mut one = devices[part[0]].clone();
            part[1..].iter().for_each(|n| pull(&mut one, &mut devices[*n].clone()));
            one
        };
        let (mut left, mut right) = (gather(left), gather(right));
        pull(&mut left, &mut right);
        prop_assert_eq!(&(left.heads(), seen(&left)), &reference);
        // Saving and loading changes nothing, nor does a second merge.
        let saved = left.save_verified().expect("saves");
        let mut loaded = FieldDocument::load(key(), &saved, &[]).expect("loads");
        pull(&mut loaded, &mut left);
        prop_assert_eq!(&(loaded.heads(), seen(&loaded)), &reference);
        prop_assert_eq!(loaded.version_vector(), left.version_vector());
        // What is concurrent is told in one order, whoever gathered it how.
        let histories = loaded.histories().expect("reads");
        prop_assert_eq!(&gather(&backwards).histories().expect("reads"), &histories);
        // One reading of all histories tells what one after the other does.
        for (observation, entries) in histories {
            prop_assert_eq!(loaded.history(&observation).expect("reads"), entries);
        }
    }

    /// What a device saw written is never gone after any merge.
    #[test]
    fn nothing_recorded_is_ever_lost(
        size in 2..=DEVICES,
        acts in prop::collection::vec((any::<usize>(), act()), 1..60),
    ) {
        let devices = play(size, &acts);
        let mut all = FieldDocument::new(key());
        devices.iter().for_each(|d| pull(&mut all, &mut d.clone()));
        for device in &devices {
            for record in device.records(None) {
                let now = all.record(&record.key, None);
                prop_assert!(now.is_some(), "{} is gone", record.key);
                prop_assert!(record.void.is_none() || now.is_some_and(|r| r.void.is_some()));
            }
        }
    }
}
