//! Going on with a visit, or opening the next one, without its document writes the very bytes that automerge itself writes of the same act.

mod common;

use std::sync::LazyLock;

use common::{at, count, int, key, no_fresh, pull, visit, writer};
use ligule_observation::{
    document::{FieldDocument, NewObservation, Visit},
    kinds::{KIND_FILES, KindSet},
    record::{Measured, Place, Value},
};
use proptest::prelude::*;

static KINDS: LazyLock<KindSet> = LazyLock::new(KindSet::builtin);

/// An observation with what its map can hold: a time and a place of its own, texts as entered, text beyond ASCII.
fn observation() -> impl Strategy<Value = NewObservation> {
    let place = || prop::option::of((-5i32..5, -5i32..5).prop_map(|(lon_e7, lat_e7)| Place { lon_e7, lat_e7 }));
    let value = prop_oneof![
        any::<i64>().prop_map(Value::Int),
        "[a-zé ½]{0,300}".prop_map(Value::Text),
        Just(Value::Text(String::new())),
    ];
    let measured =
        (value, prop::option::of("[0-9a-z ½]{0,12}")).prop_map(|(value, entered)| Measured { value, entered });
    (0..KIND_FILES.len(), prop::collection::vec(measured, 0..6), prop::option::of(0..900i64), place(), place())
        .prop_map(|(kind, values, after, own, visits)| {
            let kind = KINDS.iter().nth(kind).expect("counted");
            let mut new = count(&visit(1, 1), 0);
            new.kind.clone_from(&kind.kind);
            new.values = kind.measures.iter().map(|m| m.name.clone()).zip(values).collect();
            new.at = after.map(at);
            new.place = own;
            new.visit.place = visits;
            new
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn the_bytes_are_those_of_the_library(
        acts in prop::collection::vec((prop::collection::vec(observation(), 1..4), any::<bool>()), 2..8),
        crop in prop::option::of("corn|soybean"),
    ) {
        let mut document = FieldDocument::new(key());
        document.set_writer(writer(1));
        if let Some(crop) = &crop {
            document.set_crop(crop, at(0)).expect("sets");
        }
        // Some acts open a visit, the others go on with it.
        let mut opened = 1;
        let acts: Vec<_> = acts
            .into_iter()
            .map(|(mut act, opens)| {
                opened += u64::from(opens);
                act.iter_mut().for_each(|one| one.visit = Visit { place: one.visit.place, ..visit(1, opened) });
                act
            })
            .collect();
        document.append(&acts[0], at(1), &mut no_fresh).expect("appends");
        let mut behind = document.clone();
        let mut on = document.going_on().expect("it was the last act");
        prop_assert_eq!(on.crop(), crop.as_deref().unwrap_or_default());
        let mut chunks = Vec::new();
        for (n, act) in (2..).zip(&acts[1..]) {
            let visit = &act[0].visit.id;
            prop_assert!(on.is_of(act, crop.as_deref()) && on.is_by(&[1; 16]));
            prop_assert_eq!(on.is_on(visit), document.records(None).iter().any(|one| one.visit == *visit));
            let before = document.heads();
            let expected = document.append_written(act, at(n), &mut no_fresh).expect("appends");
            let (chunk, written) = on.append(act, at(n)).expect("appends");
            prop_assert_eq!(document.changes_after(&before), std::slice::from_ref(&chunk));
            prop_assert_eq!(document.heads(), [on.head()]);
            for one in &written {
                let read = document.record(&one.key, None).map(Box::new);
                prop_assert_eq!(&one.record, &read);
            }
            prop_assert_eq!(written, expected);
            chunks.push(chunk);
        }
        // The document that was left behind is brought up by the chunks, as a journal does it.
        behind.catch_up(&chunks).expect("fits");
        prop_assert_eq!(behind.heads(), document.heads());
        prop_assert_eq!(behind.records(None), document.records(None));
        prop_assert_eq!(behind.save_verified().expect("saves"), document.save_verified().expect("saves"));
    }
}

#[test]
fn only_the_visit_of_the_last_act_or_a_new_one_goes_on() {
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    assert!(document.going_on().is_none(), "nothing was written");
    let v = visit(1, 1);
    let keys = document.append(&[count(&v, 1)], at(1), &mut no_fresh).expect("appends");
    let on = document.going_on().expect("a visit");
    assert!(on.is_of(&[count(&v, 2)], None) && on.is_by(&[1; 16]) && !on.is_by(&[2; 16]));
    assert!(!on.is_of(&[], None));
    assert!(!on.is_of(&[count(&v, 2)], Some("corn")), "the document does not tell of that crop yet");
    let next = visit(1, 2);
    assert!(on.is_of(&[count(&next, 2)], None) && !on.is_on(&next.id) && on.is_on(&v.id));
    assert!(!on.is_of(&[count(&v, 2), count(&next, 2)], None), "two visits");
    let numbered = NewObservation { number: Some(7), ..count(&v, 2) };
    assert!(!on.is_of(&[numbered], None), "it has a number of its own");

    let bad = NewObservation { at: Some(at(-common::T0 - 1)), ..count(&v, 2) };
    let mut tried = on.clone();
    tried.append(&[count(&v, 2), bad], at(2)).expect_err("before 1970");
    let (chunk, written) = tried.append(&[count(&v, 2)], at(2)).expect("appends");
    assert_eq!(written[0].key, format!("{}-02", v.id), "nothing of what was refused stays");
    document.catch_up(&[chunk]).expect("fits");
    assert!(document.going_on().is_none(), "the document was changed from outside");

    document.append(&[count(&v, 3)], at(3), &mut no_fresh).expect("appends");
    assert!(document.going_on().is_some());
    document.amend(&keys[0], "plants", &int(5), at(4)).expect("amends");
    assert!(document.going_on().is_none(), "a correction came after it");

    document.append(&[count(&v, 4)], at(5), &mut no_fresh).expect("appends");
    let mut other = FieldDocument::new(key());
    other.set_writer(writer(2));
    other.append(&[count(&visit(2, 1), 9)], at(5), &mut no_fresh).expect("appends");
    pull(&mut document, &mut other);
    assert!(document.going_on().is_none(), "two heads");
}
