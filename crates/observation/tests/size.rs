//! How many bytes an observation takes in a saved document. `cargo test -p ligule-observation --test size -- --nocapture`

mod common;

use std::collections::BTreeMap;

use common::{at, int, key, no_fresh, visit, writer};
use ligule_observation::{
    document::{FieldDocument, NewObservation},
    record::{Measured, Place, Value},
};

/// Visits of 20 observations, each with its own place and time; every third carries a note of a few words; one
/// change an observation.
#[test]
fn an_observation_takes_few_bytes() {
    const VISITS: u64 = 100;
    let mut document = FieldDocument::new(key());
    document.set_writer(writer(1));
    let mut raw = 0;
    let words = ["edge of field", "wet spot near tile", "regrowth from below", "cupped leaves", "check again Friday"];
    let text = |t: &str| Measured { value: Value::Text(t.into()), entered: None };
    let mut random = 42u64;
    let mut next = |below: u64| {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (random >> 33) % below
    };
    for n in 0..VISITS {
        let v = visit(1, n);
        for i in 0..20i64 {
            let mut values = BTreeMap::from([
                ("weed".to_owned(), text(["AMATU", "SETFA", "ABUTH", "CHEAL"][next(4) as usize])),
                ("height".to_owned(), int(next(1200) as i64)),
                ("density".to_owned(), int(next(900) as i64)),
                ("emergence".to_owned(), text(["before", "with", "after"][next(3) as usize])),
            ]);
            if next(10) < 3 {
                values.insert("note".to_owned(), text(words[next(5) as usize]));
            }
            let new = NewObservation {
                visit: v.clone(),
                kind: "weed-count".into(),
                version: 1,
                values,
                at: Some(at(n as i64 + i * 61)),
                place: Some(Place {
                    lon_e7: -936_000_000 + next(90_000) as i32,
                    lat_e7: 420_000_000 + next(90_000) as i32,
                }),
                number: None,
            };
            let before = document.heads();
            document.append(&[new], at(n as i64 * 2000 + i * 60), &mut no_fresh).expect("appends");
            raw += document.changes_after(&before).iter().map(Vec::len).sum::<usize>();
        }
    }
    let number = VISITS as usize * 20;
    let saved = document.save_verified().expect("saves");
    let each = saved.len() as f64 / number as f64;
    println!("{number} observations: {each:.1} B each saved, {:.0} B each as raw changes", raw as f64 / number as f64);
    assert!(each < 45.0, "{each:.1} B an observation");
}
