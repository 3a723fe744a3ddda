//! Laws of merging fields, at random: whatever is merged by whom and in which order, all devices speak of the same ones.

mod common;

use common::{at, pull, writer};
use ligule_observation::{
    document::FieldDocument,
    field::{
        Field,
        merge::United,
        roster::{Kept, Sort},
    },
    ids::{CrewId, DocKey, Feature},
    record::Value,
};
use proptest::prelude::*;

const DEVICES: usize = 4;
const FIELDS: usize = 6;

fn crew() -> DocKey {
    DocKey { crew: CrewId([7; 16]), feature: Feature::Crew, season: 0 }
}

fn id(n: usize) -> String {
    format!("01J00000000000000000000F0{n}")
}

fn field(n: usize) -> Field {
    Field { id: id(n), name: format!("field-{n}"), zone: "America/Chicago".into(), ..Field::default() }
}

/// What a device does next.
#[derive(Debug, Clone, Copy)]
enum Act {
    Merge { from: usize, into: usize },
    Undo { field: usize },
    Rename { field: usize },
    Pull { from: usize },
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        4 => (0..FIELDS, 0..FIELDS).prop_map(|(from, into)| Act::Merge { from, into }),
        1 => (0..FIELDS).prop_map(|field| Act::Undo { field }),
        1 => (0..FIELDS).prop_map(|field| Act::Rename { field }),
        3 => (0..DEVICES).prop_map(|from| Act::Pull { from }),
    ]
}

fn play(acts: &[(usize, Act)]) -> Vec<FieldDocument> {
    let mut devices: Vec<FieldDocument> = (0..DEVICES)
        .map(|n| {
            let mut document = FieldDocument::new(crew());
            document.set_writer(writer(n as u8 + 1));
            document
        })
        .collect();
    for n in 0..FIELDS {
        devices[0].put_field(&field(n), at(1)).expect("puts");
    }
    let first = devices[0].clone();
    devices[1..].iter_mut().for_each(|device| pull(device, &mut first.clone()));
    for (step, (device, act)) in acts.iter().enumerate() {
        let now = at(10 + step as i64);
        match *act {
            Act::Merge { from, into } => devices[*device].merge_field(&id(from), &id(into), now).expect("merges"),
            Act::Undo { field } => devices[*device].part_field(&id(field), now).expect("undoes"),
            Act::Rename { field: n } => {
                let named = Field { name: format!("named-{step}"), ..field(n) };
                devices[*device].put_field(&named, now).expect("puts");
            }
            Act::Pull { from } => {
                let mut other = devices[from].clone();
                pull(&mut devices[*device], &mut other);
            }
        }
    }
    devices
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Every device that has heard of everything speaks of the same fields, in whatever order it heard of them.
    #[test]
    fn all_devices_speak_of_the_same_fields(
        acts in prop::collection::vec((0..DEVICES, act()), 0..40),
        order in Just((0..DEVICES).collect::<Vec<_>>()).prop_shuffle(),
    ) {
        let devices = play(&acts);
        let gather = |order: &[usize]| {
            let mut all = devices[order[0]].clone();
            order[1..].iter().for_each(|&n| pull(&mut all, &mut devices[n].clone()));
            all
        };
        let (one, other) = (gather(&(0..DEVICES).collect::<Vec<_>>()), gather(&order));
        prop_assert_eq!(one.fields(), other.fields());
        let fields = one.fields();
        let united = United::of(&fields);
        let mut turned = fields.clone();
        turned.reverse();
        prop_assert_eq!(&united, &United::of(&turned));
        for field in &fields {
            let home = united.home(&field.id);
            prop_assert_eq!(united.home(home), home, "a field that is spoken of speaks for itself");
            prop_assert!(united.members(&field.id).contains(&field.id.as_str()));
            prop_assert_eq!(united.members(&field.id), united.members(home));
            for into in &field.merged_into {
                prop_assert_eq!(united.home(into), home, "what a person merged is one");
            }
        }
        // What a person takes out is one with nothing that it was part of, and what was one without it stays so.
        for field in fields.iter().filter(|field| !field.merged_into.is_empty()) {
            let mut parted = one.clone();
            parted.set_writer(writer(8));
            parted.part_field(&field.id, at(999)).expect("undoes");
            let now = United::of(&parted.fields());
            for into in &field.merged_into {
                prop_assert_ne!(now.home(into), now.home(&field.id));
            }
            let mut without: Vec<Field> = fields.iter().filter(|other| other.id != field.id).cloned().collect();
            without.iter_mut().for_each(|other| other.merged_into.retain(|into| *into != field.id));
            let without = United::of(&without);
            for (a, b) in fields.iter().zip(&fields[1..]).filter(|(a, b)| a.id != field.id && b.id != field.id) {
                if without.home(&a.id) == without.home(&b.id) {
                    prop_assert_eq!(now.home(&a.id), now.home(&b.id));
                }
            }
        }
        // Merging again what is one already changes nothing of what is spoken of.
        let mut again = one.clone();
        again.set_writer(writer(9));
        for field in &fields {
            for into in &field.merged_into {
                again.merge_field(&field.id, into, at(1000)).expect("merges");
            }
        }
        for field in &fields {
            let now = United::of(&again.fields());
            prop_assert_eq!(now.members(&field.id).len(), united.members(&field.id).len());
        }
    }
}

fn united(merges: &[(usize, usize)]) -> United {
    let mut fields: Vec<Field> = (0..FIELDS).map(field).collect();
    merges.iter().for_each(|&(from, into)| fields[from].merged_into.push(id(into)));
    United::of(&fields)
}

#[test]
fn the_field_that_is_merged_into_no_other_is_spoken_of() {
    let chain = united(&[(0, 1), (1, 2)]);
    assert_eq!(chain.home(&id(0)), id(2));
    assert_eq!(chain.members(&id(1)).len(), 3);
    assert_eq!(chain.home(&id(5)), id(5));
    // Two people merged each into the other: the older one, the same everywhere.
    let ring = united(&[(3, 2), (2, 3), (0, 3)]);
    assert_eq!([0, 2, 3].map(|n| ring.home(&id(n)).to_owned()), [id(2), id(2), id(2)]);
    // Two people merged one into two others: all three are one.
    let fork = united(&[(4, 2), (4, 1)]);
    assert_eq!([1, 2, 4].map(|n| fork.home(&id(n)).to_owned()), [id(1), id(1), id(1)]);
    // A field that nobody knows joins nothing.
    let mut lone = field(0);
    lone.merged_into.push("01J0000000000000000000GONE".into());
    assert!(United::of(&[lone]).is_empty());
}

/// One merges again while the other undoes: the merge holds, and can be undone for good.
#[test]
fn a_merge_that_was_made_and_undone_at_the_same_time_can_be_undone() {
    for both in [[0, 1], [1, 0]] {
        let mut devices = play(&[(0, Act::Merge { from: 1, into: 0 }), (1, Act::Pull { from: 0 })]);
        let [undoes, merges] = both;
        devices[undoes].part_field(&id(1), at(20)).expect("undoes");
        let mut other = devices[undoes].clone();
        pull(&mut devices[merges], &mut other);
        devices[merges].merge_field(&id(1), &id(0), at(21)).expect("merges");
        let mut other = devices[merges].clone();
        // Both write at the same time: the one merges and undoes and merges, the other undoes what it had heard of.
        devices[merges].part_field(&id(1), at(22)).expect("undoes");
        pull(&mut devices[undoes], &mut other);
        devices[undoes].part_field(&id(1), at(23)).expect("undoes");
        devices[undoes].merge_field(&id(1), &id(0), at(24)).expect("merges");
        let mut other = devices[merges].clone();
        pull(&mut devices[undoes], &mut other);
        assert_eq!(United::of(&devices[undoes].fields()).home(&id(1)), id(0));
        devices[undoes].part_field(&id(1), at(25)).expect("undoes");
        let mut other = devices[undoes].clone();
        pull(&mut devices[merges], &mut other);
        assert_eq!(United::of(&devices[merges].fields()), United::default());
    }
}

#[test]
fn two_devices_that_add_one_planter_have_one() {
    let mut devices: Vec<FieldDocument> = (1..=2)
        .map(|n| {
            let mut document = FieldDocument::new(crew());
            document.set_writer(writer(n));
            document
        })
        .collect();
    let planter = |facts: &[(&str, i64)]| Kept {
        sort: Sort::Planter,
        name: "the green one".into(),
        facts: facts.iter().map(|(name, n)| ((*name).to_owned(), Value::Int(*n))).collect(),
        retired: false,
    };
    devices[0].keep(&planter(&[("row_units", 16)]), at(1)).expect("keeps");
    devices[1].keep(&planter(&[("row_width_mil", 30_000)]), at(1)).expect("keeps");
    let other = devices[1].clone();
    pull(&mut devices[0], &mut other.clone());
    let both = [planter(&[("row_units", 16), ("row_width_mil", 30_000)])];
    assert_eq!(devices[0].roster(), both, "what either knew is known");
    devices[0].keep(&planter(&[("row_units", 12)]), at(2)).expect("keeps");
    let other = devices[0].clone();
    pull(&mut devices[1], &mut other.clone());
    let both = [planter(&[("row_units", 12), ("row_width_mil", 30_000)])];
    assert_eq!([devices[0].roster(), devices[1].roster()], [both.to_vec(), both.to_vec()]);
    assert!(devices[0].fields().is_empty(), "it is no field");
    devices[0].keep(&Kept { retired: true, ..planter(&[]) }, at(3)).expect("keeps");
    assert!(devices[0].roster()[0].retired && devices[0].roster()[0].facts.len() == 2);
}
