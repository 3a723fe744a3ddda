//! What a document promises: the same start everywhere, nothing lost, conflicts shown, whoever wrote is known.

mod common;

use std::collections::BTreeSet;

use common::{at, count, int, key, no_fresh, one, pull, ulid, visit, writer};
use ligule_observation::{
    document::FieldDocument,
    error::DocumentError,
    field::Field,
    ids::{CrewId, DeviceId, DocKey, Feature, hex},
    kinds::KindSet,
    outside::{Refused, apply_checked},
    record::{Measured, Value, Void},
};

/// Two devices that start a document offline must start the same one, whatever build they run: the hash is literal.
#[test]
fn genesis_is_the_same_in_every_build() {
    assert_eq!(hex(&FieldDocument::genesis(&key())), GENESIS_FIELD);
    let crew = DocKey { crew: CrewId([7; 16]), feature: Feature::Crew, season: 0 };
    assert_eq!(hex(&FieldDocument::genesis(&crew)), GENESIS_CREW);
    assert_ne!(FieldDocument::genesis(&key()), FieldDocument::genesis(&DocKey { season: 2025, ..key() }));
}
const GENESIS_FIELD: &str = "09776fd59c3ec76455e00f0b4fc5838d208d081476e4d1bc9e17b3e5cc7448db";
const GENESIS_CREW: &str = "9febcbeb14dd3bc1728e91dd1a0affc6472cb6cbfd00e9e5e359810defabe01f";

#[test]
fn records_come_back_as_they_were_written() {
    let (mut document, observation) = one();
    document.set_crop("corn", at(6)).expect("sets");
    let saved = document.save_verified().expect("saves");
    let loaded = FieldDocument::load(key(), &saved, &[]).expect("loads");
    let zone = jiff::tz::TimeZone::get("America/Chicago").expect("bundled");
    let records = loaded.records(Some(&zone));
    assert_eq!(records.len(), 1);
    let r = &records[0];
    assert_eq!(r.key, observation);
    assert_eq!((r.kind.as_str(), r.crop.as_str(), r.by.as_str()), ("stand-count", "corn", "person 1"));
    assert_eq!((r.at, r.day.to_string().as_str()), (at(1), "2026-05-19"));
    assert_eq!(r.device, DeviceId([1; 32]));
    assert_eq!(r.int("plants"), Some(290));
    assert_eq!(r.values["row_width"].entered.as_deref(), Some("30in"));
    assert!(r.void.is_none() && r.conflicts.is_empty());
}

/// The day is the feature's: half past three UTC is the evening before in Iowa, in the next day in Europe.
#[test]
fn the_day_is_the_fields_day() {
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    let mut late = visit(1, 1);
    late.at = "2026-05-20T03:30:00Z".parse().expect("a time");
    document.append(&[count(&late, 1)], at(5), &mut no_fresh).expect("appends");
    let day = |zone: &str| document.records(Some(&jiff::tz::TimeZone::get(zone).expect("bundled")))[0].day.to_string();
    assert_eq!(day("America/Chicago"), "2026-05-19");
    assert_eq!(day("Europe/Berlin"), "2026-05-20");
    assert_eq!(document.records(None)[0].day.to_string(), "2026-05-19", "the device's offset where no zone is known");
}

#[test]
fn numbers_go_on_within_a_visit_and_pass_ninety_nine() {
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    let v = visit(1, 1);
    let mut keys = Vec::new();
    for round in 0..13 {
        let batch: Vec<_> = (0..10).map(|n| count(&v, round * 10 + n)).collect();
        keys.extend(document.append(&batch, at(round), &mut no_fresh).expect("appends"));
    }
    assert_eq!(keys[0], format!("{}-01", v.id));
    assert_eq!(keys[129], format!("{}-130", v.id));
    assert_eq!(document.records(None).len(), 130);
}

/// A copied journal goes on with a visit that it did not open: it must not give out the same key.
#[test]
fn a_visit_opened_by_another_actor_goes_on_under_a_new_name() {
    let (mut first, key_one) = one();
    let mut copy = FieldDocument::load(key(), &first.save_verified().expect("saves"), &[]).expect("loads");
    copy.set_writer(writer(2));
    let fresh = ulid(9, 9);
    let keys = copy.append(&[count(&visit(1, 1), 300)], at(9), &mut || fresh.clone()).expect("appends");
    assert_eq!(keys, [format!("{fresh}-01")]);
    let again = first.append(&[count(&visit(1, 1), 310)], at(9), &mut no_fresh).expect("appends");
    assert_ne!(again[0], key_one);
    pull(&mut first, &mut copy);
    assert_eq!(first.records(None).len(), 3);
}

#[test]
fn differing_concurrent_values_are_a_conflict_until_resolved() {
    let (mut a, observation) = one();
    let mut b = FieldDocument::load(key(), &a.save_verified().expect("saves"), &[]).expect("loads");
    b.set_writer(writer(2));
    a.amend(&observation, "plants", &int(280), at(20)).expect("amends");
    b.amend(&observation, "plants", &Measured { value: Value::Int(275), entered: Some("27 1/2".into()) }, at(21))
        .expect("amends");
    pull(&mut a, &mut b);
    pull(&mut b, &mut a);
    let conflicts = a.conflicts();
    assert_eq!(conflicts, b.conflicts(), "both sides show the same");
    assert_eq!(conflicts.len(), 1);
    assert_eq!((conflicts[0].measure.as_str(), conflicts[0].kind.as_str()), ("plants", "stand-count"));
    let mut seen: Vec<_> =
        conflicts[0].candidates.iter().map(|c| (c.measured.clone(), c.by.as_str(), c.device, c.at)).collect();
    let shown = a.record(&observation, None).expect("there").values["plants"].clone();
    assert_eq!(seen.last().map(|c| c.0.clone()), Some(shown), "the last candidate is the one that is shown");
    seen.sort_by_key(|c| c.1.to_owned());
    assert_eq!(
        seen,
        [
            (int(280), "person 1", DeviceId([1; 32]), at(20)),
            (
                Measured { value: Value::Int(275), entered: Some("27 1/2".into()) },
                "person 2",
                DeviceId([2; 32]),
                at(21)
            ),
        ]
    );
    assert_eq!(a.record(&observation, None).expect("there").conflicts, ["plants"]);
    // Writing the value that is shown already settles it too.
    let winner = a.record(&observation, None).expect("there").values["plants"].clone();
    a.amend(&observation, "plants", &winner, at(30)).expect("resolves");
    pull(&mut b, &mut a);
    assert!(a.conflicts().is_empty() && b.conflicts().is_empty());
    assert_eq!(b.record(&observation, None).expect("there").values["plants"], winner);
}

#[test]
fn equal_concurrent_values_and_different_measures_are_no_conflict() {
    let (mut a, observation) = one();
    let mut b = FieldDocument::load(key(), &a.save_verified().expect("saves"), &[]).expect("loads");
    b.set_writer(writer(2));
    a.amend(&observation, "plants", &int(280), at(20)).expect("amends");
    b.amend(&observation, "plants", &int(280), at(21)).expect("amends");
    b.amend(&observation, "length", &int(174_000), at(22)).expect("amends");
    pull(&mut a, &mut b);
    assert!(a.conflicts().is_empty(), "{:?}", a.conflicts());
    assert_eq!(a.record(&observation, None).expect("there").int("length"), Some(174_000));
}

#[test]
fn every_reason_of_a_concurrent_void_is_told_once_whoever_merges() {
    let (mut a, key) = one();
    let mut b = other(&mut a);
    let void = |why: &str, n: u8| Void {
        why: why.into(),
        by: format!("person {n}"),
        at: at(20 + i64::from(n)),
        also: Vec::new(),
    };
    a.void(&key, &void("never counted", 1)).expect("voids");
    b.void(&key, &void("moved", 2)).expect("voids");
    b.carry_void(&key, &void("moved", 2), at(30)).expect("voids");
    pull(&mut a, &mut b);
    pull(&mut b, &mut a);
    let told = [&a, &b].map(|document| document.record(&key, None).expect("there").void.expect("void"));
    assert_eq!(told[0], told[1]);
    let mut reasons: Vec<&str> = told[0].reasons().map(|reason| reason.why.as_str()).collect();
    reasons.sort_unstable();
    assert_eq!(reasons, ["moved", "never counted"]);
}

fn other(document: &mut FieldDocument) -> FieldDocument {
    let mut other = FieldDocument::load(key(), &document.save_verified().expect("saves"), &[]).expect("loads");
    other.set_writer(writer(2));
    other
}

/// What is marked to wait is told with what differs, and with a place that waits every measure.
#[test]
fn what_waits_because_of_another_observation_is_a_conflict_until_it_is_unmarked() {
    let (mut a, key) = one();
    let waits = |document: &FieldDocument| document.record(&key, None).expect("there").conflicts;
    let heads = a.heads();
    a.mark_waiting(&key, &BTreeSet::new(), at(40)).expect("marks");
    assert_eq!(a.heads(), heads, "nothing waits, nothing is written");
    a.mark_waiting(&key, &BTreeSet::from(["plants".to_owned()]), at(41)).expect("marks");
    assert_eq!(waits(&a), ["plants"]);
    assert!(a.conflicts().is_empty(), "there is one value, and nothing to choose from");
    a.mark_waiting(&key, &BTreeSet::from(["moved-to".to_owned()]), at(42)).expect("marks");
    let all: BTreeSet<String> = a.record(&key, None).expect("there").values.into_keys().collect();
    assert_eq!(
        waits(&a),
        all.into_iter().chain(["moved-to".to_owned()]).collect::<BTreeSet<_>>().into_iter().collect::<Vec<_>>()
    );
    a.mark_waiting(&key, &BTreeSet::new(), at(43)).expect("marks");
    assert!(waits(&a).is_empty());
}

#[test]
fn a_void_wins_over_a_concurrent_amendment_and_both_stay_in_history() {
    let (mut a, observation) = one();
    let mut b = FieldDocument::load(key(), &a.save_verified().expect("saves"), &[]).expect("loads");
    b.set_writer(writer(2));
    let void = Void { why: "wrong field".into(), by: "person 1".into(), at: at(20), also: Vec::new() };
    a.void(&observation, &void).expect("voids");
    b.amend(&observation, "plants", &int(275), at(21)).expect("amends");
    pull(&mut a, &mut b);
    pull(&mut b, &mut a);
    for document in [&mut a, &mut b] {
        let r = document.record(&observation, None).expect("there");
        assert_eq!(r.void, Some(void.clone()));
        assert_eq!(r.int("plants"), Some(275), "the values stay");
        let history = document.history(&observation).expect("there");
        let told: Vec<_> = history.iter().map(|h| (h.measure.as_str(), h.by.as_str(), h.device.0[0])).collect();
        for expected in [
            ("plants", "person 1", 1),
            ("row_width", "person 1", 1),
            ("void", "person 1", 1),
            ("plants", "person 2", 2),
        ] {
            assert!(told.contains(&expected), "{expected:?} is missing in {told:?}");
        }
        let change = history.iter().find(|h| h.by == "person 2").expect("there");
        assert_eq!((change.value.clone(), change.at), (Value::Int(275), at(21)));
        let entered = history.iter().find(|h| h.measure == "row_width").expect("there");
        assert_eq!(entered.entered.as_deref(), Some("30in"));
    }
}

/// A device that lacks a kind or a measure keeps, tells and passes on what it does not know.
#[test]
fn what_is_not_known_is_kept() {
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    let mut strange = count(&visit(1, 1), 1);
    strange.kind = "lodging-score".into();
    strange.values.insert("angle".into(), int(40));
    let mut newer = count(&visit(1, 1), 2);
    newer.version = 9;
    newer.values.insert("singulation".into(), int(97));
    document.append(&[strange, newer], at(5), &mut no_fresh).expect("appends");
    let mut other = FieldDocument::new(key());
    pull(&mut other, &mut document);
    let records = other.records(None);
    let kinds = KindSet::builtin();
    assert_eq!(kinds.unknown(&records[0]), ["angle", "plants", "row_width"]);
    assert_eq!(kinds.unknown(&records[1]), ["singulation"]);
    assert_eq!(records[1].int("singulation"), Some(97));
}

#[test]
fn a_change_made_for_another_document_is_refused() {
    let mut other = FieldDocument::new(DocKey { season: 2025, ..key() });
    other.set_writer(writer(1));
    other.append(&[count(&visit(1, 1), 1)], at(5), &mut no_fresh).expect("appends");
    let chunks = other.changes_since(&Default::default());
    let document = FieldDocument::new(key());
    let refused = apply_checked(&document, &chunks, &Default::default(), at(9)).map(|_| ()).expect_err("refused");
    assert_eq!(refused, Refused::OtherDocument);
    assert_eq!(refused.to_string(), "a change made for another document is refused");
    let refused = apply_checked(&document, &chunks[1..], &Default::default(), at(9)).map(|_| ()).expect_err("refused");
    assert_eq!(refused, Refused::MissingDependencies { missing: 1 });
    let saved = other.save_verified().expect("saves");
    assert!(matches!(FieldDocument::load(key(), &saved, &[]), Err(DocumentError::OtherDocument { .. })));
}

#[test]
fn only_a_writer_writes_and_only_observations_that_are_there() {
    let mut document = FieldDocument::new(key());
    let new = count(&visit(1, 1), 1);
    assert!(matches!(
        document.append(std::slice::from_ref(&new), at(1), &mut no_fresh),
        Err(DocumentError::NoWriter { .. })
    ));
    document.set_writer(writer(1));
    assert!(matches!(
        document.amend("01J-01", "plants", &int(1), at(1)),
        Err(DocumentError::UnknownObservation { .. })
    ));
    let mut bad = new.clone();
    bad.visit.id = "monday".into();
    assert!(matches!(document.append(&[bad], at(1), &mut no_fresh), Err(DocumentError::BadVisit { .. })));
    let mut bad = new;
    bad.values.insert(":void".into(), int(1));
    assert!(matches!(document.append(&[bad], at(1), &mut no_fresh), Err(DocumentError::BadMeasure { .. })));
    assert_eq!(document.change_count(), 1, "nothing was written");
}

/// A ULID begins with milliseconds since 1970; an earlier time would wrap around. A station's days have their numbers.
#[test]
fn a_time_before_1970_is_refused() {
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    let early = "1969-12-31T23:59:59.999Z".parse().expect("a time");
    let mut visit_early = count(&visit(1, 1), 1);
    visit_early.visit.at = early;
    let mut sample_early = count(&visit(1, 1), 1);
    sample_early.at = Some(early);
    for bad in [visit_early.clone(), sample_early] {
        let refused = document.append(&[bad], at(1), &mut no_fresh).expect_err("refused");
        assert!(matches!(refused, DocumentError::BadTime { got } if got == early));
        assert_eq!(
            refused.to_string(),
            "expected a time from 1970-01-01T00:00:00Z on, got 1969-12-31T23:59:59.999Z; is the clock or the year right?"
        );
    }
    assert_eq!(document.change_count(), 1, "nothing was written");
    let station_day = ligule_observation::document::NewObservation { number: Some(365), ..visit_early };
    document.append(&[station_day], at(1), &mut no_fresh).expect("days of 1969 may be imported");
    let mut first = count(&visit(1, 2), 1);
    first.visit.at = jiff::Timestamp::UNIX_EPOCH;
    document.append(&[first], at(1), &mut no_fresh).expect("the first instant");
}

/// Several values are corrected in one change, or none is.
#[test]
fn several_values_are_corrected_in_one_change() {
    let (mut document, observation) = one();
    let before = document.change_count();
    let row = Measured { value: Value::Int(20_000), entered: Some("20in".into()) };
    let to = [("plants".to_owned(), int(310)), ("row_width".to_owned(), row.clone())];
    document.amend_all(&observation, &to, at(9)).expect("amends");
    assert_eq!(document.change_count(), before + 1);
    let record = document.record(&observation, None).expect("there");
    assert_eq!((record.int("plants"), &record.values["row_width"]), (Some(310), &row));
    let history = document.history(&observation).expect("there");
    let changes: Vec<_> = history.iter().filter(|h| h.at == at(9)).map(|h| h.change).collect();
    assert_eq!(changes.len(), 2);
    assert_eq!(changes[0], changes[1]);
    let bad = [("plants".to_owned(), int(1)), (":void".to_owned(), int(1))];
    assert!(matches!(document.amend_all(&observation, &bad, at(10)), Err(DocumentError::BadMeasure { .. })));
    document.amend_all(&observation, &[], at(10)).expect("nothing to do");
    assert_eq!(document.change_count(), before + 1, "nothing was written");
    // A value that holds already is written again, in the same change: who does not agree with it, and says so meanwhile, is
    // in conflict with it.
    let mut other = document.clone();
    let to = [("plants".to_owned(), int(311)), ("row_width".to_owned(), row.clone())];
    document.amend_all(&observation, &to, at(11)).expect("amends");
    assert_eq!(document.change_count(), before + 2);
    let told: Vec<_> = document.history(&observation).expect("there").into_iter().filter(|h| h.at == at(11)).collect();
    assert_eq!(told.len(), 2, "{told:?}");
    other.set_writer(writer(2));
    other.amend(&observation, "row_width", &int(15_000), at(11)).expect("amends");
    pull(&mut document, &mut other);
    assert_eq!(document.record(&observation, None).expect("there").conflicts, ["row_width"]);
}

#[test]
fn fields_merge_entry_by_entry() {
    let crew = DocKey { crew: CrewId([7; 16]), feature: Feature::Crew, season: 0 };
    let field = Field {
        id: ulid(0, 1),
        name: "home-80".into(),
        grower: "A. Grower".into(),
        region: "US-IA".into(),
        zone: "America/Chicago".into(),
        area_m2: Some(323_749),
        row_width_mil: Some(30_000),
        crop: "corn".into(),
        lon_e7: Some(-936_000_000),
        lat_e7: Some(420_000_000),
        station: String::new(),
        ..Field::default()
    };
    let mut a = FieldDocument::new(crew.clone());
    a.set_writer(writer(1));
    a.put_field(&field, at(1)).expect("puts");
    let mut b = FieldDocument::new(crew);
    pull(&mut b, &mut a);
    b.set_writer(writer(2));
    assert_eq!(b.fields(), std::slice::from_ref(&field));
    a.put_field(&Field { grower: "B. Grower".into(), ..field.clone() }, at(2)).expect("puts");
    b.put_field(&Field { retired: true, ..field.clone() }, at(3)).expect("puts");
    let before = b.change_count();
    b.put_field(&Field { retired: true, ..field.clone() }, at(4)).expect("puts");
    assert_eq!(b.change_count(), before, "putting what is there already changes nothing");
    pull(&mut a, &mut b);
    assert_eq!(a.fields(), [Field { grower: "B. Grower".into(), retired: true, ..field }]);
}

/// Settling on the value that is shown must not delete the others: other devices refuse deletions.
#[test]
fn settling_on_what_is_shown_deletes_nothing() {
    let (mut a, observation) = one();
    let mut b = FieldDocument::load(key(), &a.save().expect("saves"), &[]).expect("loads");
    b.set_writer(writer(2));
    a.amend(&observation, "plants", &int(280), at(20)).expect("amends");
    b.amend(&observation, "plants", &int(270), at(20)).expect("amends");
    pull(&mut a, &mut b);
    let shown = a.record(&observation, None).expect("there").values["plants"].clone();
    let heads = a.heads();
    a.amend(&observation, "plants", &shown, at(30)).expect("resolves");
    let changes = a.changes_after(&heads);
    assert_eq!(changes.len(), 1);
    let change = automerge::Change::try_from(&changes[0][..]).expect("reads").decode();
    for op in &change.operations {
        assert!(!matches!(op.action, automerge::legacy::OpType::Delete), "{op:?}");
    }
    let told: Vec<_> = a.history(&observation).expect("there").into_iter().filter(|h| h.measure == "plants").collect();
    assert_eq!(told.len(), 4, "first count, two corrections, the decision: {told:?}");
}

/// Two devices read the same station's file before they meet; one corrects a day. One record, nothing hidden.
#[test]
fn an_observation_written_under_one_number_by_two_devices_is_one() {
    let day = |value| {
        let mut new = count(&visit(9, 1), value);
        new.number = Some(139);
        new
    };
    let (mut a, mut b) = (FieldDocument::new(key()), FieldDocument::new(key()));
    a.set_writer(writer(1));
    b.set_writer(writer(2));
    let keys = a.append(&[day(10)], at(1), &mut no_fresh).expect("appends");
    assert_eq!(keys, b.append(&[day(10)], at(2), &mut no_fresh).expect("appends"));
    assert_eq!(keys, a.append(&[day(10)], at(3), &mut no_fresh).expect("reads the file again"));
    assert!(keys[0].ends_with("-139"));
    let (mut a2, mut b2) = (a.clone(), b.clone());
    pull(&mut a2, &mut b);
    assert_eq!(a2.records(None).len(), 1);
    assert!(a2.conflicts().is_empty(), "equal values are no conflict");

    // Whichever map wins, a correction made before the meeting stays to be seen, and settles when decided.
    a.amend(&keys[0], "plants", &int(11), at(4)).expect("amends");
    b2.amend(&keys[0], "plants", &int(12), at(4)).expect("amends");
    for (mut corrected, mut plain, value) in [(a.clone(), b.clone(), 11), (b2.clone(), a2.clone(), 12)] {
        let mut here = plain.clone();
        pull(&mut here, &mut corrected);
        pull(&mut corrected, &mut plain);
        assert_eq!(here.records(None), corrected.records(None));
        let conflicts = here.conflicts();
        assert_eq!(conflicts, corrected.conflicts());
        assert_eq!(conflicts.len(), 1);
        assert!(conflicts[0].candidates.iter().any(|c| c.measured == int(value)), "{conflicts:?}");
        here.amend(&keys[0], "plants", &int(value), at(5)).expect("resolves");
        pull(&mut corrected, &mut here);
        assert!(corrected.conflicts().is_empty());
        assert_eq!(corrected.records(None)[0].int("plants"), Some(value));
        let told = here.history(&keys[0]).expect("there");
        assert_eq!(told.iter().filter(|h| h.measure == "plants" && h.value == Value::Int(10)).count(), 2);
    }
    // So does a void on the map that loses.
    let void = Void { why: "station moved".into(), by: "person".into(), at: at(6), also: Vec::new() };
    for (mut voided, mut other) in [(a, b.clone()), (b, a2)] {
        voided.void(&keys[0], &void).expect("voids");
        pull(&mut other, &mut voided);
        assert_eq!(other.records(None)[0].void, Some(void.clone()));
    }
}
