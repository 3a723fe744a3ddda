//! The lists are what a full replay of the documents gives, at random: after whatever a crew of up to eight devices did.
//!
//! A failing case prints its seed; proptest keeps it in `laws.proptest-regressions` beside this file.

mod common;

use std::sync::LazyLock;

use common::{at, bring, count, doc, int, start, visit};
use ligule_journal::{Filter, Journal};
use ligule_observation::{
    document::NewObservation,
    field::Field,
    ids::DocKey,
    kinds::KindSet,
    record::{Place, Void},
};
use proptest::prelude::*;

static KINDS: LazyLock<KindSet> = LazyLock::new(KindSet::builtin);

/// What a device does next.
#[derive(Debug, Clone)]
enum Act {
    /// Records this many observations of the n-th kind, in one of three documents, on one of two visits there.
    Record { kind: usize, doc: i32, visit: u64, number: usize, place: bool },
    /// Corrects the n-th observation that it knows.
    Amend { which: usize, measure: usize, value: i64 },
    /// Voids the n-th observation that it knows.
    Void { which: usize },
    /// Adds a field to the crew's list, or writes it anew.
    Field { number: u8, retired: bool },
    /// Takes in what another device has.
    Meet { other: usize },
    /// Condenses its documents.
    Snapshot,
    /// Is switched off and on.
    Reopen,
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        8 => (any::<usize>(), 0..3i32, 0..2u64, 1..4usize, any::<bool>())
            .prop_map(|(kind, doc, visit, number, place)| Act::Record { kind, doc, visit, number, place }),
        4 => (any::<usize>(), 0..3usize, 0..4i64).prop_map(|(which, measure, value)| Act::Amend { which, measure, value }),
        1 => any::<usize>().prop_map(|which| Act::Void { which }),
        1 => (0..3u8, any::<bool>()).prop_map(|(number, retired)| Act::Field { number, retired }),
        3 => any::<usize>().prop_map(|other| Act::Meet { other }),
        1 => Just(Act::Snapshot),
        1 => Just(Act::Reopen),
    ]
}

fn document(season: i32) -> DocKey {
    DocKey { season: 2024 + season, ..doc() }
}

/// Observations of a kind on a visit: its first measures hold a number, whatever they are declared to.
fn new(kind: usize, person: &str, on: u64, number: usize, place: bool) -> Vec<NewObservation> {
    let kind = KINDS.iter().nth(kind % KINDS.iter().count()).expect("counted");
    let visit = visit(person, on);
    (0..number)
        .map(|n| {
            let mut new = count(&visit, n as i64);
            new.kind = kind.kind.clone();
            new.values = kind.measures.iter().take(3).map(|m| (m.name.clone(), int(n as i64))).collect();
            new.place = place.then_some(Place { lon_e7: -936_200_000 + n as i32, lat_e7: 420_300_000 });
            new
        })
        .collect()
}

fn field(number: u8, retired: bool) -> Field {
    let body = serde_json::json!({
        "id": format!("01J000000000000000000000{number:02}"), "name": format!("field-{number}"), "grower": "Sorrel Creek",
        "region": "US-IA", "zone": "America/Chicago", "area_m2": null, "row_width_mil": 30_000, "crop": "corn",
        "lon_e7": null, "lat_e7": null, "station": "", "retired": retired,
    });
    serde_json::from_value(body).expect("a field")
}

fn does(journals: &mut [Journal], device: usize, step: u64, act: &Act) {
    let person = format!("person {}", device + 1);
    let now = at(i64::try_from(step).expect("small"));
    let count = journals.len();
    let journal = &journals[device];
    let known = || journal.records(&Filter::default()).expect("reads");
    match act {
        Act::Record { kind, doc, visit, number, place } => {
            let crop = (number % 2 == 0).then_some("corn");
            // A visit belongs to one document.
            let on = 10 * u64::try_from(*doc).expect("small") + visit;
            journal.record(&document(*doc), crop, &new(*kind, &person, on, *number, *place), now).expect("records");
        }
        Act::Amend { which, measure, value } => {
            let known = known();
            let Some(record) = (!known.is_empty()).then(|| &known[which % known.len()]) else { return };
            let measure = record.values.keys().nth(measure % record.values.len()).expect("counted");
            journal.amend(&record.key, measure, &int(*value), &person, now).expect("amends");
        }
        Act::Void { which } => {
            let known = known();
            let Some(record) = (!known.is_empty()).then(|| &known[which % known.len()]) else { return };
            let void = Void { why: format!("step {step}"), by: person, at: now, also: Vec::new() };
            journal.void(&record.key, &void).expect("voids");
        }
        Act::Field { number, retired } => {
            journal.put_field(&field(*number, *retired), &person, now).expect("puts");
        }
        Act::Meet { other } if other % count != device => {
            bring(&journals[other % count], journal);
        }
        Act::Meet { .. } => {}
        Act::Snapshot => {
            journal.snapshot(true).expect("snapshots");
        }
        Act::Reopen => {
            let folder = journal.folder().to_owned();
            journals[device] = Journal::open(&folder).expect("opens");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 200, ..ProptestConfig::default() })]

    #[test]
    fn lists_are_what_a_full_replay_gives(
        devices in 1..=8usize,
        acts in prop::collection::vec((any::<usize>(), act()), 1..60),
    ) {
        let folder = tempfile::tempdir().expect("a folder");
        let mut journals: Vec<_> = (0..devices).map(|n| start(&folder.path().join(n.to_string()), n as u8 + 1)).collect();
        for (step, (device, act)) in acts.iter().enumerate() {
            does(&mut journals, device % devices, step as u64, act);
        }
        // Everyone meets everyone, in a ring walked twice.
        for n in 0..2 * devices {
            bring(&journals[n % devices], &journals[(n + 1) % devices]);
        }
        let everything = |j: &Journal| {
            (j.records(&Filter::default()).expect("reads"), j.conflicts().expect("reads"), j.fields().expect("reads"))
        };
        let first = everything(&journals[0]);
        for journal in &journals {
            prop_assert_eq!(journal.verify().expect("reads").findings, vec![]);
            let listed = everything(journal);
            prop_assert_eq!(&listed, &first);
            journal.rebuild().expect("rebuilds");
            prop_assert_eq!(&everything(journal), &listed);
        }
    }
}
