//! The outside readers are those that the requirements name: a comparison with them is worth what they are. What they read
//! of fields is what is known of them.

use std::collections::{BTreeMap, BTreeSet};

use ligule_testkit::{Place, repository_root, run_python};

use crate::device::Device;

#[test]
fn the_environment_holds_exactly_the_versions_required() {
    let path = repository_root().join("tests/python/requirements.txt");
    let requirements = std::fs::read_to_string(&path).unwrap();
    let required = versions(&requirements);
    assert!(required.len() >= 10, "{} names {} packages", path.display(), required.len());
    let mut installed = versions(&run_python("installed.py", [""; 0]));
    // The environment's own installer comes with Python.
    installed.retain(|name, _| name != "pip" && name != "setuptools");
    assert_eq!(installed, required);
}

/// The codes of regions are those of the standard, as another project prints them.
#[test]
fn regions_are_those_of_the_standard() {
    let path = repository_root().join("schemas/codelists/regions.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let ours: BTreeSet<&str> =
        text.lines().filter_map(|line| line.strip_prefix("code = \"")?.strip_suffix('"')).collect();
    let printed = run_python("regions.py", [""; 0]);
    let theirs: BTreeSet<&str> = printed.split_whitespace().collect();
    assert!(theirs.len() > 60, "{printed}");
    assert_eq!(ours, theirs);
}

/// A boundary that is drawn, and a name that is given, after a compaction are in the answers at once, and in the files after
/// the next one; GeoPandas reads the files.
#[test]
fn what_is_known_of_a_field_reaches_queries_at_once_and_readers_with_the_next_compaction() {
    let place = Place::new();
    let imke = Device::with_field(&place, "imke");
    imke.counts(20, 31);
    imke.does(&["compact"]);
    let answer =
        |sql: &str| imke.does(&["query", "--format", "csv", sql]).lines().last().unwrap_or_default().to_owned();
    let sql = "SELECT field_name, boundary IS NOT NULL, area_ha FROM field";
    assert_eq!(answer(sql), "north-40,false,");
    let outline = r#"{"type":"Feature","properties":{"name":"a"},"geometry":{"type":"Polygon","coordinates":
        [[[-93.62,42.03],[-93.616,42.03],[-93.616,42.034],[-93.62,42.034],[-93.62,42.03]]]}}"#;
    std::fs::write(place.folder().join("outline.geojson"), outline).expect("a file can be written");
    imke.does(&["field", "boundary", "north-40", "outline.geojson"]);
    imke.does(&["field", "amend", "north-40", "--name", "north-forty"]);
    // By PROJ (pyproj 3.7.2, `Geod(ellps="WGS84").polygon_area_perimeter` of this ring): 14.71671 ha.
    let told = |answer: &str| {
        let (rest, area) = answer.rsplit_once(',').expect("three columns");
        assert_eq!(rest, "north-forty,true", "{answer}");
        let area: f64 = area.parse().expect("an area");
        assert!((area - 14.71671).abs() < 0.001, "{answer}");
    };
    told(&answer(sql));
    assert_eq!(answer("SELECT DISTINCT field_name FROM stand_count"), "north-forty");
    let files = |device: &Device<'_>| -> Vec<String> {
        let listed = device.does(&["archive", "files", "--format", "ndjson"]);
        let lines = listed.lines().map(|line| serde_json::from_str::<serde_json::Value>(line).expect("JSON"));
        let of_field = lines.filter(|line| line["table"] == "field");
        of_field.map(|line| line["file"].as_str().expect("a path").to_owned()).collect()
    };
    let before = files(&imke);
    imke.does(&["compact"]);
    told(&answer(sql));
    let after = files(&imke);
    assert_ne!(before, after, "what is known of a field is in the file, so that another one came");
    let path = imke.folder().join("archive").join(&after[0]).display().to_string();
    let read = run_python("boundaries.py", [&path]);
    assert_eq!(
        read.trim(),
        "north-forty POLYGON ((-93.62 42.03, -93.616 42.03, -93.616 42.034, -93.62 42.034, -93.62 42.03))"
    );
    assert!(imke.does(&["compact"]).contains("nothing new"), "doing it again adds nothing");
}

/// Reads `name==version` lines; names compare as Python's packaging does.
fn versions(text: &str) -> BTreeMap<String, String> {
    text.lines()
        .filter_map(|line| line.split_once("=="))
        .map(|(name, version)| (name.to_lowercase().replace('_', "-"), version.to_owned()))
        .collect()
}
