//! Published worked examples, typed as a person would type them, come out as published.

use ligule_testkit::Place;
use serde_json::Value;

/// A place with a journal and one field of the region.
fn field(region: &str, zone: &str, crop: &str) -> Place {
    let place = Place::new();
    place.ligule(&["init", "--person", "A Tester"]).exits(0);
    place
        .ligule(&["field", "add", "test", "--grower", "G", "--region", region, "--zone", zone, "--crop", crop])
        .exits(0);
    place
}

/// Records on 28 May 2026 at the minute given; `line` is what is typed behind `ligule record KIND test`.
fn record(place: &Place, minute: u8, kind: &str, line: &[&str]) {
    let at = format!("2026-05-28T07:{minute:02}");
    let mut words = vec!["record", kind, "test", "--at", &at];
    words.extend_from_slice(line);
    place.ligule(&words).exits(0);
}

fn assess(place: &Place) -> Value {
    let answer = place.ligule(&["assess", "test", "--as-of", "2026-05-28", "--format", "json"]).exits(0);
    serde_json::from_str(&answer.stdout).expect("an assessment is JSON")
}

/// The findings of a pack on the field.
fn advise(place: &Place, pack: &str) -> Vec<Value> {
    let answer = place.ligule(&["advise", "test", "--as-of", "2026-05-28", "--format", "json"]).exits(0);
    let advice: Value = serde_json::from_str(&answer.stdout).expect("advice is JSON");
    let findings = advice["fields"][0]["findings"].as_array().expect("findings are a list").clone();
    findings.into_iter().filter(|finding| finding["pack"].as_str().is_some_and(|p| p.starts_with(pack))).collect()
}

fn close(value: &Value, expected: f64, within: f64) {
    let number = value.as_f64().unwrap_or_else(|| panic!("expected {expected}, got {value}"));
    assert!((number - expected).abs() <= within, "expected {expected} ± {within}, got {number}");
}

/// Eight counts of a thousandth of an acre in 30-inch rows (17.424 ft): 30, 28, 31, 27, 29, 26, 32, 29. Mean 29,000,
/// variation 6.90 %, t(0.975, 7) 2.365 (NIST/SEMATECH e-Handbook of Statistical Methods, table of Student's t), so
/// 27,328 to 30,672 plants an acre. Arithmetic derived from the definitions.
#[test]
fn eight_counts_of_a_thousandth_of_an_acre() {
    let place = field("US-IA", "America/Chicago", "corn");
    for (minute, plants) in ["30", "28", "31", "27", "29", "26", "32", "29"].iter().enumerate() {
        let minute = u8::try_from(minute).expect("eight counts");
        record(&place, minute, "stand-count", &["--row", "30in", "--length", "17.424 ft", "--plants", plants]);
    }
    let stand = &assess(&place)["stand"];
    close(&stand["plants_per_acre"], 29_000.0, 1.0);
    close(&stand["interval_95"][0], 27_328.0, 1.0);
    close(&stand["interval_95"][1], 30_672.0, 1.0);
    close(&stand["variation_percent"], 6.90, 0.01);
    assert_eq!(stand["counts"].as_array().map(Vec::len), Some(8));
}

/// Row lengths as printed by the University of Nebraska (CropWatch, Evaluating Corn Stands, 2009) and others, and what
/// a count in them means; the wheel method of the University of Illinois (Corn Stand Count); hoops as π·d²/4 gives
/// them (Purdue's printed factor for 30 in, 8,878, differs by rounding: 159,804).
#[test]
fn one_count_by_every_published_method() {
    let cases: [(&[&str], f64, f64); 6] = [
        (&["--row", "22in", "--length", "23.76ft", "--plants", "29"], 29_000.0, 1.0),
        (&["--row", "30in", "--length", "17ft5in", "--plants", "30"], 30_012.0, 1.0),
        (&["--row", "30in", "--length", "87.12 ft", "--plants", "150"], 30_000.0, 1.0),
        (&["--hoop", "30in", "--plants", "18"], 159_731.0, 1.0),
        (&["--hoop", "36 in", "--plants", "1"], 6_162.48, 0.01),
        // 98 soybean plants in 34 ft 10 in of 15-inch rows, by the general formula; "count × 1000" gives 98,000.
        (&["--row", "15\"", "--length", "34ft10in", "--plants", "98"], 98_041.0, 1.0),
    ];
    for (line, expected, within) in cases {
        let place = field("US-IA", "America/Chicago", "corn");
        record(&place, 0, "stand-count", line);
        close(&assess(&place)["stand"]["plants_per_acre"], expected, within);
    }
    // 0.762 m rows are 30 in, 5.31 m are the metric length of a thousandth of an acre there: 1 ha is 2.47105 acres.
    let place = field("US-IA", "America/Chicago", "corn");
    record(&place, 0, "stand-count", &["--row", "76.2 cm", "--length", "5.311 m", "--plants", "30"]);
    close(&assess(&place)["stand"]["plants_per_acre"], 30_000.0, 10.0);
}

/// Seed to crown 1.0 in, the crown ¾ in deep: 1.75 in (LaBarge, Ohio State University, 2023).
#[test]
fn seed_depth_is_seed_to_crown_and_the_crowns_depth() {
    let place = field("US-IA", "America/Chicago", "corn");
    record(&place, 0, "seed-depth", &["--seed-to-crown", "1in, 1in, 1.0in, 25.4 mm", "--set-depth", "2in"]);
    close(&assess(&place)["seed_depth"]["mean_in"], 1.75, 0.001);
}

/// GHCN-Daily keeps tenths of °C: TMAX 267 and TMIN 78 are 80.06 and 46.04 °F, 15.03 degree days 86/50 (Nielsen, Purdue
/// University, Heat Unit Concepts). A value with a quality flag and one of −9999 stay missing. The rows are made by us to
/// the published layout of the `.dly` file (NOAA, GHCN-Daily readme).
#[test]
fn a_dly_file_through_import_and_query() {
    let place = Place::new();
    place.ligule(&["init", "--person", "A Tester"]).exits(0);
    let line = |element: &str, first: &str| {
        let mut text = format!("USC00139999202605{element}");
        text.push_str(first);
        for _ in 2..31 {
            text.push_str("-9999   ");
        }
        text
    };
    // Day 1 is good, day 2 failed the network's check (flag `I`), the others are missing.
    let file = format!("{}\n{}\n", line("TMAX", "  267  H  300 I "), line("TMIN", "   78  H  100  H"));
    std::fs::write(place.folder().join("station.dly"), file).expect("the folder can be written");
    let first = place.ligule(&["import", "weather", "station.dly"]).exits(0);
    assert!(first.stdout.contains("station USC00139999"), "{}", first.stdout);
    assert!(first.stdout.contains("1 value flagged by the network left out"), "{}", first.stdout);
    let again = place.ligule(&["import", "weather", "station.dly"]).exits(0);
    assert!(again.stdout.contains("recorded 0 days"), "importing twice adds nothing: {}", again.stdout);
    let sql = "SELECT round(sum(degree_days_86_50(tmax_c, tmin_c)), 2) AS dd, count(tmax_c) AS highs, count(*) AS days FROM weather_day";
    let answer = place.ligule(&["query", "--format", "csv", sql]).exits(0);
    assert_eq!(answer.stdout, "dd,highs,days\n15.03,1,2\n");
}

/// A file that its maker corrected: holes are filled, other values are named with the command that corrects them.
#[test]
fn a_corrected_weather_file_is_told_apart() {
    let place = Place::new();
    place.ligule(&["init", "--person", "A Tester"]).exits(0);
    let import = |rows: &str| {
        let text = format!("date,tmin_c,tmax_c\n{rows}");
        std::fs::write(place.folder().join("days.csv"), text).expect("the folder can be written");
        place.ligule(&["import", "weather", "days.csv", "--station", "home"]).exits(0)
    };
    import("2026-05-01,7.8,\n2026-05-02,-1.5,21.0\n");
    let corrected = "2026-05-01,7.8,26.7\n2026-05-02,-3.2,21.0\n";
    let told = import(corrected);
    assert!(told.stdout.contains("2 were there already: 1 filled in, 1 differs"), "{}", told.stdout);
    let command = told.stderr.split('`').nth(1).expect("a command stands in backticks").to_owned();
    assert!(command.starts_with("ligule amend ") && command.ends_with(" --tmin -3.2°C"), "{command}");
    let words: Vec<&str> = command.split(' ').skip(1).collect();
    place.ligule(&words).exits(0);
    let again = import(corrected);
    assert!(again.stdout.contains("2 were there already: 2 unchanged"), "{}", again.stdout);
}

/// Black cutworm thresholds of Iowa State University (2004 and 2008) and of Ontario (Field Crop News, 2015), with the
/// Wilson interval of 7 in 250.
#[test]
fn black_cutworm_thresholds_by_region() {
    let cut = |place: &Place, stage: &str, line: &[&str]| {
        record(place, 0, "leaf-stage", &["--stage", stage, "--plants", "20"]);
        let mut words = vec!["--organism", "AGROYP"];
        words.extend_from_slice(line);
        record(place, 1, "pest-count", &words);
        advise(place, "black-cutworm")
    };
    let act = |findings: &[Value]| findings.iter().filter(|f| f["severity"] == "act").count();

    let place = field("US-IA", "America/Chicago", "corn");
    let findings = cut(&place, "V3", &["--plants", "250", "--cut", "7", "--larvae", "5", "--larva-length", "5/8in"]);
    assert_eq!(act(&findings), 2, "2.8 % lies in the band of 2004 and above that of 2008: {findings:#?}");
    let text = serde_json::to_string(&findings).expect("findings are plain data");
    assert!(text.contains("1.36 to 5.67 %"), "{text}");
    for finding in &findings {
        assert!(finding["citations"].as_array().is_some_and(|c| !c.is_empty()), "{finding:#?}");
        assert!(
            finding["cautions"]
                .as_array()
                .is_some_and(|c| c.iter().any(|c| c.as_str().is_some_and(|c| c.contains("label"))))
        );
        assert!(!text.contains("allowed"), "{text}");
    }

    let place = field("US-IA", "America/Chicago", "corn");
    let findings = cut(&place, "V3", &["--plants", "250", "--cut", "7", "--larvae", "5", "--larva-length", "1 1/8 in"]);
    let classic: Vec<&Value> =
        findings.iter().filter(|f| f["headline"].as_str().is_some_and(|h| h.contains("classic"))).collect();
    assert!(
        !classic.is_empty() && classic.iter().all(|f| f["severity"] != "act"),
        "below 5 % with large larvae: {findings:#?}"
    );

    let place = field("CA-ON", "America/Toronto", "corn");
    let findings = cut(
        &place,
        "V3",
        &["--plants", "100", "--damaged", "11", "--cut", "1", "--larvae", "2", "--larva-length", "1.5 cm"],
    );
    assert!(act(&findings) >= 1, "10 % of plants with leaf feeding: {findings:#?}");

    let place = field("CA-ON", "America/Toronto", "corn");
    let findings = cut(&place, "V5", &["--plants", "100", "--cut", "4", "--larvae", "2", "--larva-length", "1.5 cm"]);
    assert_eq!(act(&findings), 0, "the risk is over at V5: {findings:#?}");
}

/// Herbicide windows: of stage and height the one reached first governs (University of Illinois, The Bulletin, no. 1653;
/// University of Maryland Extension, Mind the height, 2025).
#[test]
fn herbicide_windows_close_at_the_limit_reached_first() {
    let past = |stage: Option<&str>, height: &str, tolerance: &str| -> String {
        let place = field("US-IA", "America/Chicago", "corn");
        record(&place, 0, "planting", &["--day", "2026-04-28", "--crop", "corn", "--tolerance", tolerance]);
        if let Some(stage) = stage {
            record(&place, 1, "leaf-stage", &["--stage", stage, "--plants", "20"]);
        }
        record(&place, 2, "plant-height", &["--height", height]);
        let findings = advise(&place, "corn-herbicide-windows");
        let text = serde_json::to_string(&findings).expect("findings are plain data");
        assert!(!text.contains("allowed"), "{text}");
        findings
            .iter()
            .filter(|finding| finding["severity"] == "stop" && finding["code"] == "past-limit")
            .filter_map(|finding| finding["headline"].as_str())
            .collect::<Vec<_>>()
            .join(" ")
    };
    let text = past(None, "12.5 in", "none");
    assert!(text.contains("atrazine"), "12.5 in is past 12 in, stage or no stage: {text}");
    let text = past(Some("V7"), "31 in", "glyphosate");
    assert!(text.contains("glyphosate"), "31 in is past 30 in although V7: {text}");
    let text = past(Some("V7"), "18 in", "none");
    assert!(text.contains("nicosulfuron"), "V7 is past V6 although 18 in: {text}");
    assert!(!text.contains("glyphosate"), "nothing is past for what the hybrid does not tolerate: {text}");
}

/// A planting tells the season's crop, whatever the field's usual crop is: in answers, in the archive, in advice.
#[test]
fn a_rotated_field_is_what_was_planted() {
    let place = field("US-IA", "America/Chicago", "corn");
    record(&place, 0, "planting", &["--day", "2026-05-01", "--crop", "soybean", "--rate", "140000"]);
    record(&place, 1, "stand-count", &["--row", "15in", "--length", "34.85ft", "--plants", "110"]);
    record(&place, 2, "leaf-stage", &["--stage", "V3", "--plants", "10"]);
    record(&place, 3, "plant-height", &["--height", "6in"]);
    let crops = place.ligule(&["query", "--format", "csv", "SELECT DISTINCT crop FROM stand_count"]).exits(0).stdout;
    assert_eq!(crops, "crop\nsoybean\n");
    assert_eq!(assess(&place)["crop"], "soybean");
    assert!(advise(&place, "corn-herbicide-windows").is_empty(), "a pack for corn has nothing to say of soybean");
}
