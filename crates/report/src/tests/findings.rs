//! Cautions that are shared stand once and none is lost; reasons are grouped and keep what they rest on.

use ligule_engine::assess::{Finding, Reason, Severity};

use super::{fixture, page_of};

const LABEL: &str = "The label is the law.";
const WIND: &str = "Mind the wind.";
const SUN: &str = "It needs sun.";
const SPECIES: &str = "Make sure of the species.";

fn finding(severity: Severity, headline: &str, cautions: &[&str]) -> Finding {
    Finding {
        severity,
        headline: headline.to_owned(),
        cautions: cautions.iter().map(|c| (*c).to_owned()).collect(),
        ..fixture::findings()[0].clone()
    }
}

/// Returns four findings; on the page they are 3, 1, 2 and 4.
fn four() -> [Finding; 4] {
    [
        finding(Severity::Watch, "Closing", &[LABEL, WIND]),
        finding(Severity::Stop, "Past", &[LABEL, SUN, WIND, WIND]),
        finding(Severity::Act, "Cut plants", &[SPECIES, LABEL]),
        finding(Severity::Info, "Open", &[LABEL]),
    ]
}

fn reason(text: &str, seen: Option<f64>, limit: Option<f64>, unit: &str, keys: &[&str]) -> Reason {
    Reason {
        text: text.to_owned(),
        observed: seen,
        limit,
        unit: unit.to_owned(),
        observations: keys.iter().map(|k| (*k).to_owned()).collect(),
    }
}

fn page(findings: &[Finding]) -> String {
    page_of("Long Eighty", &fixture::assessment(), findings, &[])
}

/// Returns the part of the page about one finding.
fn article<'a>(page: &'a str, headline: &str) -> &'a str {
    let starts_with_it = |part: &&str| part.contains(&format!("<h3>{headline}<"));
    page.split("<article").skip(1).find(starts_with_it).unwrap().split("</article>").next().unwrap()
}

#[test]
fn every_caution_is_on_the_page_exactly_once() {
    let page = page(&four());
    for text in [LABEL, WIND, SUN, SPECIES] {
        assert_eq!(page.matches(&format!("<p>{text}</p>")).count(), 1, "{text}");
    }
}

#[test]
fn shared_cautions_stand_at_the_head_and_say_for_whom() {
    let page = page(&four());
    let head = &page[page.find("id=\"h-advice\"").unwrap()..page.find("<article").unwrap()];
    let at = |text: &str| head.find(text).unwrap_or_else(|| panic!("{text} is not at the head"));
    let order = ["Read this first", "For every finding", LABEL, "For findings 1 and 3", WIND].map(at);
    assert!(order.is_sorted(), "{order:?}");
    assert!(!head.contains(SUN) && !head.contains(SPECIES));
    let above = ["Past", "Cut plants", "Closing", "Open"].map(|headline| {
        let rest = article(&page, headline).split("Read the box above first</a>: ").nth(1).unwrap();
        rest.split("</p>").next().unwrap()
    });
    assert_eq!(
        above,
        [
            "what it says for every finding, and what names finding 1.",
            "what it says for every finding.",
            "what it says for every finding, and what names finding 3.",
            "what it says for every finding.",
        ]
    );
    for (i, headline) in ["Past", "Cut plants", "Closing", "Open"].iter().enumerate() {
        assert!(article(&page, headline).contains(&format!("Finding {}: ", i + 1)), "{headline}");
    }
    assert!(article(&page, "Past").contains(SUN) && article(&page, "Cut plants").contains(SPECIES));
}

#[test]
fn the_cautions_of_a_single_finding_stay_with_it() {
    let page = page(&four()[1..2]);
    assert!(!page.contains("id=\"read-first\"") && !page.contains("box above"));
    let past = article(&page, "Past");
    assert!([LABEL, SUN, WIND].iter().all(|text| past.contains(&format!("<p>{text}</p>"))));
    assert!(past.contains("Read this first"));
}

#[test]
fn what_was_found_comes_before_what_the_rules_say() {
    let page = page(&four());
    let rules = page.find("id=\"h-advice\"").unwrap();
    for found in ["stand-plot", "heat-plot", ">Growth stage<", ">Seed depth<", ">Notes<"] {
        assert!(page.find(found).unwrap() < rules, "{found}");
    }
    let header = &page[..page.find("</header>").unwrap()];
    let tally = ["1 × Do not", "1 × Act", "1 × Watch", "1 × For information"].map(|n| header.find(n).unwrap());
    assert!(tally.is_sorted(), "{tally:?}");
}

#[test]
fn reasons_are_grouped_by_what_they_speak_of() {
    let mut one = finding(Severity::Info, "Unknown", &[LABEL]);
    let no_limit = "no sound limit of stage is on file; read the label.";
    one.because = vec![
        reason(&format!("atrazine (HRAC 5): {no_limit}"), Some(5.0), None, "collars", &["A-07"]),
        reason("2,4-D (HRAC 4): height 9.5 in, limit to 8 in.", Some(9.5), Some(8.0), "in", &["A-08"]),
        reason(&format!("clopyralid (HRAC 4): {no_limit}"), Some(5.0), None, "collars", &["A-07"]),
        reason("2,4-D (HRAC 4): stage V5, limit before VT.", Some(5.0), Some(100.0), "collars", &["A-07"]),
        reason("Share of plants cut", Some(1.0), Some(103.0), "collars", &["A-07", "A-08"]),
    ];
    let page = page(&[one.clone()]);
    let lines: Vec<String> = article(&page, "Unknown")
        .split("<li")
        .skip(1)
        .map(|line| {
            let line = line.split("</li>").next().unwrap().replace("<br>", "|");
            let words = line.split('<').map(|piece| piece.split_once('>').map_or("", |(_, after)| after));
            words.collect::<String>().trim().to_owned()
        })
        .collect();
    assert_eq!(
        lines,
        [
            "atrazine (HRAC 5), clopyralid (HRAC 4):| no sound limit of stage is on file; read the label (seen 5 collars). [a]",
            "2,4-D (HRAC 4): height 9.5 in, limit to 8 in. [b]|stage V5, limit before VT. [a]",
            "Share of plants cut (seen 1 collar, limit R3) [a, b]",
        ]
    );
    assert!(page.contains("[a] <span class=\"keyed\">A-07</span>, [b] <span class=\"keyed\">A-08</span>"));
    // Where all rest on the same, no letters are needed.
    one.because.truncate(1);
    let page = super::page_of("x", &fixture::assessment(), &[one], &[]);
    assert!(page.contains("Observations: <span class=\"keyed\">A-07</span>") && !page.contains("[a]"));
}

#[test]
fn a_number_is_left_out_only_where_the_text_says_it_with_its_unit() {
    for (text, seen, limit, unit, shown) in [
        ("Cut: 3 of 250 plants: 1.2 %.", 1.2, 3.0, "%", "plants: 1.2 % (limit 3 %).<"),
        ("Height 19.5 in, limit 8 in.", 9.5, 8.0, "in", "limit 8 in (seen 9.5 in).<"),
        ("Length 9.5 inches, limit 8 inches.", 9.5, 8.0, "in", "8 inches (seen 9.5 in, limit 8 in).<"),
        ("Stage V15, limit to V6.", 5.0, 6.0, "collars", "limit to V6 (seen 5 collars).<"),
        ("Stage V1, limit to V61.", 1.0, 6.0, "collars", "limit to V61 (limit 6 collars).<"),
        ("Limit to 8 in.", 8.0, 8.0, "in", "Limit to 8 in (seen 8 in, limit 8 in).<"),
        ("Larva 0.625 in; small to 0.75 in", 0.625, 0.75, "in", "small to 0.75 in<"),
        ("Larvae", 0.625, 2.0 / 3.0, "in", "Larvae (seen 0.625 in, limit 0.67 in)<"),
    ] {
        let mut one = finding(Severity::Info, "Numbers", &[LABEL]);
        one.because = vec![reason(text, Some(seen), Some(limit), unit, &[])];
        let page = page(&[one]);
        assert!(page.contains(shown), "{text}: {}", article(&page, "Numbers"));
    }
}
