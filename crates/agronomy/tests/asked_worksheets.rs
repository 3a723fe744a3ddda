//! What worksheets ask for: shares in per cent, missing days as such, the crop where its seed matters.

use ligule_agronomy::Error;
use ligule_agronomy::catalogue::{Answer, Takes, Value, worksheets};

fn work(name: &str, typed: &[(&str, &str)]) -> Result<Answer, Error> {
    let sheets = worksheets();
    sheets.iter().find(|sheet| sheet.name == name).unwrap_or_else(|| panic!("{name} is not listed")).work(typed)
}

fn answer(name: &str, typed: &[(&str, &str)]) -> Answer {
    work(name, typed).unwrap_or_else(|error| panic!("{name} {typed:?}: {error}"))
}

#[track_caller]
fn number(answer: &Answer, name: &str) -> f64 {
    match answer.results.iter().find(|result| result.name == name).map(|result| &result.value) {
        Some(Value::Number(number)) => *number,
        other => panic!("`{name}` is {other:?} in {answer:?}"),
    }
}

#[track_caller]
fn remarks(answer: &Answer, part: &str) {
    assert!(answer.remarks.iter().any(|remark| remark.contains(part)), "`{part}` is not in {:?}", answer.remarks);
}

/// Only the share of an acre that a count covers, 1/1000, is a ratio that nobody says in per cent.
#[test]
fn shares_are_asked_in_per_cent() {
    for sheet in worksheets() {
        for input in sheet.inputs {
            let ratio = matches!(input.takes, Takes::Quantity("1"));
            assert!(!ratio || input.name == "share", "{} asks for {} as a ratio", sheet.name, input.name);
        }
    }
    let counts = |cv| number(&answer("counts-needed", &[("cv", cv), ("within", "5"), ("level", "95")]), "counts");
    // 10 % of the mean, ± 5 %, 95 %: 18 counts, as the least n with t × 10 / √n ≤ 5 (by hand, stepping n).
    assert_eq!([counts("10"), counts("10%")], [18.0, 18.0]);
    let half = work("counts-needed", &[("cv", "0.1")]).expect_err("a tenth, or a tenth of a per cent?");
    assert!(matches!(half, Error::ShareOrPercent { .. }), "{half}");
}

/// What is worked in per cent is the same as before in shares.
#[test]
fn per_cent_are_divided_once() {
    // 15 / (3 × 7.965 × 0.72).
    let level =
        answer("economic-injury-level", &[("cost", "15"), ("price", "3"), ("loss", "7.965"), ("control", "72")]);
    assert!((number(&level, "economic injury level") - 15.0 / (3.0 * 7.965 * 0.72)).abs() < 1e-9);
    // Half the control needs twice the loss: I = 2 and A = 100, 10 $/ac at 4 $/bu and 100 bu/ac is 2.5 %, at half 5 %.
    let typed =
        [("per-plant", "2"), ("density", "1"), ("cost", "10"), ("price", "4"), ("yield", "100"), ("control", "50%")];
    let density = number(&answer("weed-loss", &typed), "density that pays, one year");
    assert!((density - 5.0 / (2.0 * 0.95)).abs() < 1e-9, "{density}");
    // 3 counted × the form's survival, 10 % each, at 100 bu/ac and 1 $/bu, of which half is prevented.
    let typed = [("form", "pennsylvania"), ("counted", "1"), ("loss", "10%"), ("control", "50%")];
    let money = [("yield", "100"), ("price", "1"), ("cost", "0")];
    let borers = answer("corn-borer", &[&typed[..], &money[..]].concat());
    let (lost, saved) = (number(&borers, "yield lost"), number(&borers, "preventable loss"));
    assert!((saved - lost / 2.0).abs() < 1e-9 && lost > 0.0, "{lost} and {saved}");
    // Safe 2 %, damaging 5 %, as the doc of the plan works by hand: 0 and 6 after 100 plants.
    let plan = answer("sequential-sampling", &[("safe", "2"), ("damaging", "5"), ("plants", "100")]);
    let words: Vec<String> = plan.results.iter().map(ToString::to_string).collect();
    assert_eq!(words, ["0", "6"]);
}

/// University of Wisconsin Extension: 25.5 + 11.0 + 6.5 = 43.0, with a day between that nobody wrote down.
#[test]
fn missing_days_are_named() {
    let typed = [("max", "90 72 - 63"), ("min", "65 46 41 42")];
    let season = answer("degree-days", &typed);
    assert!((number(&season, "degree days") - 43.0).abs() < 1e-9);
    assert_eq!(number(&season, "days missing"), 1.0);
    remarks(&season, "Missing: day 3.");
    let dated = answer("degree-days", &[typed[0], typed[1], ("from", "2026-05-30")]);
    remarks(&dated, "Missing: 2026-06-01.");
    assert!((number(&dated, "degree days") - 43.0).abs() < 1e-9);
    let whole = answer("degree-days", &[("max", "90"), ("min", "65°F")]);
    assert!(whole.results.iter().all(|result| result.name != "days missing"));
    for wrong in ["", "x", "9m"] {
        work("degree-days", &[("max", wrong), ("min", "65")]).expect_err("no temperature");
    }
}

#[test]
fn soybean_has_its_own_seed_and_emergence() {
    let corn = answer("seeding-rate", &[("stand", "32000")]);
    // 32,000 / (0.95 × 0.95), as Ohio prints it.
    assert_eq!(number(&corn, "seeds to drop").round(), 35_457.0);
    let soybean = answer("seeding-rate", &[("stand", "120000"), ("crop", "soybean")]);
    assert!((number(&soybean, "seeds to drop") - 150_000.0).abs() < 1e-6);
    remarks(&soybean, "from memory, to be verified");
    remarks(&soybean, "80 to 90 % is expected of soybean in rows");
    let tagged = answer(
        "seeding-rate",
        &[("stand", "120000"), ("crop", "soybean"), ("germination", "90%"), ("survival", "80%")],
    );
    assert!((number(&tagged, "seeds to drop") - 120_000.0 / 0.72).abs() < 1e-6);
    let half = work("seeding-rate", &[("stand", "120000"), ("crop", "soybean"), ("germination", "90%")]);
    assert!(matches!(half, Err(Error::Missing { input: "survival", .. })), "{half:?}");

    let share = answer("stand-share", &[("stand", "120000"), ("seeding", "150000"), ("crop", "soybean")]);
    remarks(&share, "70 to 80 % is expected of soybean drilled");
    let share = answer("stand-share", &[("stand", "28800"), ("seeding", "32000")]);
    remarks(&share, "85 to 95 % is expected of corn");
    assert!(share.remarks.iter().all(|remark| !remark.contains("soybean")));

    let up = answer("emergence-need", &[("crop", "soybean")]);
    // Wisconsin 130 and 155, Purdue 141 and 200, both as Michigan quotes them.
    let ranges: Vec<String> = up.results.iter().map(ToString::to_string).collect();
    assert_eq!(ranges, ["130 to 141 °F·d", "155 to 200 °F·d"]);
}

#[test]
fn small_samples_are_told_beside_two_means() {
    let small = answer("two-means", &[("first", "1 2 3"), ("second", "4 5 7 8")]);
    remarks(&small, "wider than its level says");
    let large = answer("two-means", &[("first", "1 2 3 5"), ("second", "4 5 7 8")]);
    assert!(large.remarks.iter().all(|remark| !remark.contains("wider than")));
}

/// A figure whose source cannot be traced says so where it is read, and drives no sign of a spraying hour.
#[test]
fn untraceable_sources_are_marked() {
    let need = answer("maturity-need", &[("maturity", "105")]);
    let read = need.steps.iter().chain(&need.remarks).any(|line| line.contains("source not traceable"));
    assert!(read, "{need:?}");
    let hot = answer("spray-weather", &[("air", "95°F"), ("humidity", "50%"), ("wind", "5")]);
    let red = hot.remarks.iter().chain(&hot.steps).any(|line| line.contains("page of the trade"));
    assert!(!red, "{hot:?}");
}
