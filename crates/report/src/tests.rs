//! The page says all it was given, escapes it, and can be read without colour and without sight.

mod findings;
mod fixture;

use jiff::civil::date;
use ligule_engine::Reading;
use ligule_engine::assess::{FieldAssessment, Finding};

use crate::{Candidate, FieldFacts, OpenConflict, ReportError, VisitReport, visit_report};

fn facts(name: &str) -> FieldFacts {
    FieldFacts { name: name.to_owned(), facts: vec![("Farm".to_owned(), "Alder Creek".to_owned())] }
}

fn conflict(value: &str) -> OpenConflict {
    let candidate =
        |by: &str| Candidate { value: value.to_owned(), by: by.to_owned(), at: "10 June, 08:12".to_owned() };
    OpenConflict {
        observation: "01HXZ3F0C7W2S4K8Q9M5T6V1BA-19".to_owned(),
        measure: "Plants".to_owned(),
        candidates: vec![candidate("Ann"), candidate("Ben")],
        why: String::new(),
    }
}

fn page_of(name: &str, assessment: &FieldAssessment, findings: &[Finding], conflicts: &[OpenConflict]) -> String {
    page_read_as(&Reading::default(), name, assessment, findings, conflicts)
}

fn page_read_as(
    reading: &Reading,
    name: &str,
    assessment: &FieldAssessment,
    findings: &[Finding],
    conflicts: &[OpenConflict],
) -> String {
    let report = VisitReport {
        field: &facts(name),
        assessment,
        findings,
        conflicts,
        generated_at: "2024-06-10T17:30:00Z".parse().unwrap(),
        as_of: date(2024, 6, 10),
        language: "en",
        reading,
    };
    visit_report(&report).unwrap()
}

fn full() -> String {
    page_of("Long Eighty", &fixture::assessment(), &fixture::findings(), &[conflict("29")])
}

#[test]
fn the_page_says_what_it_was_given() {
    let page = full();
    for said in [
        "Field visit: Long Eighty",
        "29,000 plants per acre, the mean of 8 counts; with 95 % confidence the field has between 27,328 and 30,672.",
        "enough for ± 10 %, 2 counts more for ± 5 %",
        "BBCH 17 to 19",
        "1 day has no temperatures and adds nothing to the sum",
        "by the 86/50 °F modified average, from the weather of station long-eighty.",
        "black cutworm",
        "Plants damaged",
        "7 of 250",
        "1.4 to 5.7 %",
        "Plants cut",
        "3 of 250",
        "0.4 to 3.5 %",
        "3 of 5",
        "roots partly turned",
        "1 voided observation is in no number on this page.",
        "seen 7 collars, limit 6 collars",
        "The window is closed: until 4 June 2024.",
        "Look again within 3 days.",
        "29 — Ann, 10 June, 08:12",
        "from memory, to be verified",
        "60 gaps between plants at 2 places, seen 10 June 2024: 6.90 in on average, 6.15 in intended, standard deviation 3.50 in.",
        "5 % of the gaps are doubles, 8 % skips.",
        "3.8 bu/ac",
        "The crop stood 18.5 in high on 10 June 2024, by 5 plants, from 17.0 in to 20.0 in.",
        "Hail of 1 June 2024; looked at 10 June 2024 at 2 places.",
        "Plants lost: 12 of 200, 6.0 % (95 % interval 3.5 to 10.2 %).",
        "Leaf area lost: 50 %, from 40 to 60 % over the places.",
        "It costs 4 to 8 % of the yield, by the charts.",
        "gray leaf spot",
        "9 of 20, 45.0 %",
        "187.3 bu/ac on 10 June 2024, the mean of 5 places",
        "Yield 200.0 bu/ac, at standard moisture.",
        "28,000 per acre",
        "the label is the law",
        "Made 10 June 2024, 17:30 UTC",
    ] {
        assert!(page.contains(said), "{said:?} is not on the page");
    }
    assert_eq!(page, full(), "the same input gives the same page");
}

#[test]
fn cut_plants_are_never_called_damaged() {
    let mut assessment = fixture::assessment();
    let said = |assessment: &_| page_of("Long Eighty", assessment, &[], &[]);
    assert!(!said(&assessment).contains("only cut plants were counted") && !said(&assessment).contains("Affected"));
    assessment.pests[0].damaged = None;
    let page = said(&assessment);
    assert!(page.contains("black cutworm: only cut plants were counted"), "{page}");
    assert!(page.contains("Plants cut") && !page.contains("Plants damaged"), "{page}");
}

#[test]
fn the_most_urgent_finding_comes_first_and_its_cautions_stand_in_full() {
    let page = full();
    let stop = page.find("Corn is past the last stage").unwrap();
    assert!(stop < page.find("Cut plants are below").unwrap());
    for finding in fixture::findings() {
        for caution in &finding.cautions {
            assert!(page.contains(&format!("<p>{caution}</p>")), "{caution}");
        }
        for reason in &finding.because {
            assert!(reason.observations.iter().all(|key| page.contains(key.as_str())));
        }
    }
    for hidden in ["<details", "hidden", "display: none", "display:none", "text-overflow", "<script"] {
        assert!(!page.contains(hidden), "{hidden} may hide a caution");
    }
}

#[test]
fn whatever_people_wrote_is_escaped() {
    let nasty = "<script>alert('x')</script>\"&";
    let mut assessment = fixture::assessment();
    assessment.crop = nasty.to_owned();
    assessment.notes[0].text = nasty.to_owned();
    assessment.notes[0].by = nasty.to_owned();
    assessment.pests[0].label = nasty.to_owned();
    assessment.set_aside[0].why = nasty.to_owned();
    if let Some(stage) = &mut assessment.stage {
        stage.field_stage = nasty.to_owned();
    }
    if let Some(heat) = &mut assessment.degree_days {
        heat.method = nasty.to_owned();
        heat.marks[0].stage = nasty.to_owned();
    }
    if let Some(stand) = &mut assessment.stand {
        stand.cautions.push(nasty.to_owned());
        stand.sources[0].text = nasty.to_owned();
        stand.counts[0].sample = nasty.to_owned();
    }
    let mut findings = fixture::findings();
    findings[0].headline = nasty.to_owned();
    findings[0].code = nasty.to_owned();
    findings[1].cautions[0] = nasty.to_owned();
    findings[1].because[0].unit = nasty.to_owned();
    let page = page_of(nasty, &assessment, &findings, &[conflict(nasty)]);
    assert!(!page.contains("<script"), "a tag got through");
    assert!(page.matches("script&").count() >= 15, "the texts are there, escaped");
}

#[test]
fn it_can_be_read_out() {
    let page = full();
    assert!(page.contains("<html lang=\"en\">"));
    for plot in ["stand-plot", "heat-plot"] {
        assert!(page.contains(&format!("<svg role=\"img\" aria-labelledby=\"{plot}-title {plot}-about\"")));
        assert!(
            page.contains(&format!("<title id=\"{plot}-title\">"))
                && page.contains(&format!("<desc id=\"{plot}-about\">"))
        );
    }
    assert!(page.contains("95 % interval of the mean 27,328 to 30,672; seeds dropped 34,000"));
    // A picture has a role and words; a table's columns are headed; every section is named by a heading.
    assert_eq!(page.matches("<svg").count(), page.matches("role=\"img\"").count());
    let sections: Vec<&str> = page.match_indices("aria-labelledby=\"h-").map(|(at, _)| &page[at + 17..]).collect();
    assert!(sections.len() >= 12);
    for section in sections {
        let id = section.split('"').next().unwrap();
        assert_eq!(page.matches(&format!("id=\"{id}\"")).count(), 1, "{id}");
    }
}

#[test]
fn every_number_in_brackets_leads_to_a_source() {
    let page = full();
    let links: Vec<&str> =
        page.match_indices("href=\"#").map(|(at, _)| page[at + 7..].split('"').next().unwrap()).collect();
    assert!(links.len() >= 8, "{links:?}");
    for link in links {
        assert_eq!(page.matches(&format!("id=\"{link}\"")).count(), 1, "{link}");
    }
}

#[test]
fn tags_are_closed_in_order() {
    let page = full();
    let body = &page[page.find("</style>").unwrap() + 8..];
    let mut open = vec!["html", "head"];
    for piece in body.split('<').skip(1) {
        let tag = piece.split('>').next().unwrap();
        let name = tag.trim_start_matches('/').split([' ', '/', '\n']).next().unwrap();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name), "near `<{piece}`");
        } else if !tag.ends_with('/') && name != "br" {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "{open:?}");
}

/// Contrast of text and paper by WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
#[test]
fn text_stands_out_from_the_paper() {
    let page = full();
    let colour = |name: &str| {
        let start = page.find(&format!("--{name}: #")).unwrap() + name.len() + 5;
        let hex = page[start..].split(';').next().unwrap();
        let hex = if hex.len() == 3 { hex.chars().flat_map(|c| [c, c]).collect() } else { hex.to_owned() };
        let channel = |at: usize| {
            let c = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(0) + 0.7152 * channel(2) + 0.0722 * channel(4)
    };
    for text in ["ink", "quiet", "stem"] {
        let contrast = (colour("paper") + 0.05) / (colour(text) + 0.05);
        assert!(contrast >= 4.5, "{text}: {contrast}");
    }
}

#[test]
fn little_recorded_makes_a_short_page() {
    let mut assessment = fixture::assessment();
    (assessment.planting, assessment.stage, assessment.seed_depth, assessment.degree_days) = (None, None, None, None);
    (assessment.soil, assessment.roots) = (None, None);
    assessment.pests.clear();
    assessment.weeds.clear();
    assessment.notes.clear();
    if let Some(stand) = &mut assessment.stand {
        stand.counts.truncate(1);
        (stand.interval_95, stand.variation_percent, stand.share_of_seeds_percent) = (None, None, None);
    }
    let page = page_of("Short", &assessment, &[], &[]);
    assert!(page.contains("No rule pack has said anything") && page.contains("29,000 plants per acre from 1 count."));
    assert!(!page.contains("heat-plot") && page.contains("stand-plot") && !page.contains("Waiting for a decision"));
    assessment.stand = None;
    assert!(!page_of("Shorter", &assessment, &[], &[]).contains("stand-plot"));
}

#[test]
fn a_language_without_words_is_refused() {
    let assessment = fixture::assessment();
    let report = VisitReport {
        field: &facts("x"),
        assessment: &assessment,
        findings: &[],
        conflicts: &[],
        generated_at: "2024-06-10T17:30:00Z".parse().unwrap(),
        as_of: date(2024, 6, 10),
        language: "xx",
        reading: &Reading::default(),
    };
    let error = visit_report(&report).unwrap_err();
    assert!(matches!(error, ReportError::UnknownLanguage { .. }));
    assert_eq!(error.to_string(), "expected a language the report is written in (`en`), got `xx`");
}

#[test]
fn the_page_is_told_in_the_crews_units() {
    let metric = Reading { system: "metric".parse().unwrap(), ..Reading::default() };
    let page = page_read_as(&metric, "Long Eighty", &fixture::assessment(), &[], &[]);
    // 29,000 / 0.40468564224, 34,000 / 0.40468564224, 30 in, 2 in.
    for said in
        ["71,661 plants per hectare, the mean of 8 counts", "84,016 seeds per hectare", "76.2 cm", "5.1 cm", "(°C)"]
    {
        assert!(page.contains(said), "{said}");
    }
    for foreign in ["plants per acre", "seeds per acre", "(°F)", " in deep", "°F · day", "Tallest, in"] {
        assert!(!page.contains(foreign), "{foreign}");
    }
}

#[test]
fn what_keeps_people_out_stands_at_the_head_of_the_page() {
    let mut assessment = fixture::assessment();
    assert!(!page_of("Long Eighty", &assessment, &[], &[]).contains("Re-entry"));
    let ended: jiff::Timestamp = "2024-06-10T15:00:00Z".parse().unwrap();
    assessment.reentry = Some(ligule_engine::Reentry {
        until: None,
        unknown: true,
        zone: "America/Chicago".to_owned(),
        applications: vec![ligule_engine::SprayedField {
            ingredient: "mesotrione".to_owned(),
            ended,
            day: jiff::civil::date(2024, 6, 10),
            hour_known: true,
            hours: None,
            until: None,
            disputed: false,
            observation: "01HXZ3F0C7W2S4K8Q9M5T6V1BA-20".to_owned(),
        }],
        cautions: vec!["The label is the law.".to_owned()],
    });
    let page = page_of("Long Eighty", &assessment, &fixture::findings(), &[]);
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text}"));
    assert!(at("RE-ENTRY UNKNOWN, ask before walking: mesotrione") < at("<main>"));
    assert!(at("The label is the law.") < at("<main>"));
}
