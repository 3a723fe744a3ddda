//! Boundaries of fields: files of other programs in, areas beside an outside reckoning, samples told inside or outside.

use std::collections::BTreeMap;
use std::path::Path;

use ligule_testkit::{Place, run_python};
use serde_json::Value;

const NEW: [&str; 4] = ["--region", "US-IA", "--zone", "America/Chicago"];

/// Areas in square metres, by name.
fn areas(printed: &str) -> BTreeMap<String, f64> {
    let pair = |line: &str| line.split_once(' ').and_then(|(name, m2)| Some((name.to_owned(), m2.parse().ok()?)));
    printed.lines().map(|line| pair(line).unwrap_or_else(|| panic!("{line}"))).collect()
}

fn journal() -> Place {
    let place = Place::new();
    place.ligule(&["init", "--person", "A Tester"]).exits(0);
    place
}

fn written(folder: &Path) -> BTreeMap<String, f64> {
    areas(&run_python("outlines.py", ["write", &folder.display().to_string()]))
}

fn listed(place: &Place) -> BTreeMap<String, Value> {
    let lines = place.ligule(&["field", "list", "--format", "ndjson"]).exits(0).stdout;
    let read = |line: &str| -> Value { serde_json::from_str(line).expect("a line is an object") };
    lines.lines().map(read).map(|field| (field["field"].as_str().expect("a name").to_owned(), field)).collect()
}

/// What several formats tell is the same; the area is that which PROJ works out, holes and pieces heeded.
#[test]
fn fields_come_from_several_formats_with_their_geodesic_area() {
    let files = tempfile::tempdir().expect("a folder");
    let theirs = written(files.path());
    let mut shapes = Vec::new();
    for (file, columns) in [
        ("fields.geojson", &[][..]),
        ("turned.geojson", &[]),
        ("fields.kml", &[]),
        ("fields.shp", &["--name-from", "FLD_NM", "--grower-from", "owner"]),
        ("nad83.shp", &["--name-from", "FLD_NM", "--grower-from", "owner"]),
        ("fields.kmz", &[]),
    ] {
        let place = journal();
        let path = files.path().join(file).display().to_string();
        let import = [&["field", "import", &path][..], &NEW, columns].concat();
        let said = place.ligule(&import).exits(0).stdout;
        assert_eq!(said.matches("added").count(), theirs.len(), "{file}: {said}");
        let noted = if file == "nad83.shp" { theirs.len() } else { 0 };
        assert_eq!(said.matches("on NAD 83").count(), noted, "{file}: {said}");
        let ours = listed(&place);
        assert_eq!(ours.len(), theirs.len(), "{file}");
        for (name, m2) in &theirs {
            let hectares = ours[name]["area_ha"].as_f64().expect("an area");
            // Kept to the square metre; corners to a centimetre.
            assert!((hectares * 10_000.0 - m2).abs() < 2.0, "{file}, {name}: {hectares} ha, PROJ {m2} m²");
            assert!(ours[name]["grower"].as_str().is_some_and(|grower| grower.starts_with("Sorrel")), "{file}");
        }
        // Importing it again changes nothing.
        let again = place.ligule(&import).exits(0).stdout;
        assert_eq!(again.matches("unchanged").count(), theirs.len(), "{file}: {again}");
        shapes.push(ours.into_iter().map(|(name, field)| (name, field["boundary"].clone())).collect::<Vec<_>>());
        // What we write, another program reads and measures.
        let out = files.path().join("out.geojson").display().to_string();
        place.ligule(&["field", "export", &out]).exits(0);
        for (name, m2) in areas(&run_python("outlines.py", ["areas", &out])) {
            assert!((m2 - theirs[&name]).abs() < 2.0, "{file}, {name}: {m2} m², PROJ {} m²", theirs[&name]);
        }
    }
    let corners = |shapes: &Vec<(String, Value)>| -> Vec<(String, usize)> {
        shapes.iter().map(|(name, shape)| (name.clone(), shape.to_string().matches(',').count())).collect()
    };
    assert!(shapes.windows(2).all(|pair| corners(&pair[0]) == corners(&pair[1])), "{shapes:?}");
    assert_eq!(shapes[0], shapes[2], "GeoJSON and KML give the same points");
    assert_eq!(shapes[2], shapes[5], "so does KML in an archive");
}

/// A file in another reference system would put a field somewhere else in silence.
#[test]
fn what_is_not_wgs_84_is_refused_with_what_to_do() {
    let files = tempfile::tempdir().expect("a folder");
    written(files.path());
    for (file, columns, told) in [
        ("utm.shp", &["--name-from", "FLD_NM"][..], "its .prj file says `PROJCS"),
        ("untold.shp", &["--name-from", "FLD_NM"], "expected longitude and latitude in degrees"),
        // NAD 27 is up to a hundred metres off; that its file tells how to get to WGS 84 does not make it that.
        ("nad27.shp", &["--name-from", "FLD_NM"], "its .prj file says `GEOGCS[\"NAD27\""),
        ("projected.geojson", &[], "EPSG::26915"),
    ] {
        let place = journal();
        let path = files.path().join(file).display().to_string();
        let import = [&["field", "import", &path, "--grower", "G"][..], &NEW, columns].concat();
        let refused = place.ligule(&import).exits(2);
        let all = format!("{}{}", refused.stdout, refused.stderr).replace('\n', " ");
        let words: Vec<&str> = all.split_whitespace().collect();
        let all = words.join(" ");
        assert!(all.contains(told) && all.contains("EPSG:4326"), "{file}: {all}");
        assert!(listed(&place).is_empty(), "{file}: nothing was recorded");
    }
}

/// All or nothing; with `--keep-good` what holds. A field that is there gets its boundary, and its records stay its own.
#[test]
fn one_outline_that_does_not_hold_stops_the_import() {
    let place = journal();
    let ring = |x: f64| format!("[[{x},42.0],[{},42.0],[{},42.01],[{x},42.01],[{x},42.0]]", x + 0.01, x + 0.01);
    let feature = |name: &str, geometry: &str| {
        format!(r#"{{"type":"Feature","properties":{{"Name":"{name}"}},"geometry":{geometry}}}"#)
    };
    let polygon = |x: f64| format!(r#"{{"type":"Polygon","coordinates":[{}]}}"#, ring(x));
    let bow_tie =
        r#"{"type":"Polygon","coordinates":[[[-93.5,42.0],[-93.49,42.01],[-93.49,42.0],[-93.5,42.012],[-93.5,42.0]]]}"#;
    let rings = |one: &str, other: &str| format!(r#"{{"type":"Polygon","coordinates":[{one},{other}]}}"#);
    let far_hole = rings(&ring(-93.3), &ring(-93.2));
    let parts = |one: &str, other: &str| format!(r#"{{"type":"MultiPolygon","coordinates":[[{one}],[{other}]]}}"#);
    let over = parts(&ring(-93.3), &ring(-93.295));
    let all = [
        feature("hole", &far_hole),
        feature("over", &over),
        feature("f1", &polygon(-93.6)),
        feature("tie", bow_tie),
        feature("gate", r#"{"type":"Point","coordinates":[-93.6,42.0]}"#),
        feature("f1", &polygon(-93.7)),
    ];
    let file = place.folder().join("fields.geojson");
    std::fs::write(&file, format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, all.join(","))).expect("writes");
    let import = [&["field", "import", "fields.geojson", "--grower", "G", "--format", "ndjson"][..], &NEW].concat();
    let refused = place.ligule(&import).exits(2);
    for why in [
        "two sides of the boundary cross",
        "got a Point",
        "outline 3 has the name f1 too",
        "a hole lies outside its ring, over another hole, or takes all of it, near 42.0",
        "two parts of the boundary overlap near 42.0",
        "\"would be added\"",
    ] {
        assert!(refused.stdout.contains(why), "{why}: {}", refused.stdout);
    }
    assert!(!refused.stdout.contains("\"added\""), "{}", refused.stdout);
    assert!(listed(&place).is_empty());
    place.ligule(&[&import[..], &["--keep-good"]].concat()).exits(0);
    assert_eq!(listed(&place).into_keys().collect::<Vec<_>>(), ["f1"]);

    // One outline of several, by its name.
    let refused = place.ligule(&["field", "boundary", "f1", "fields.geojson"]).exits(2);
    assert!(
        refused.stderr.contains("there are 6 outlines") && refused.stderr.contains("--outline"),
        "{}",
        refused.stderr
    );
    let refused = place.ligule(&["field", "boundary", "f1", "fields.geojson", "--outline", "gat"]).exits(2);
    assert!(refused.stderr.contains("did you mean `gate`"), "{}", refused.stderr);
    std::fs::write(&file, polygon(-93.65)).expect("writes");
    let said = place.ligule(&["field", "boundary", "f1", "fields.geojson"]).exits(0).stdout;
    // PROJ 9 (pyproj 3.7.2): 920,179.4 m², that is 227.38 acres of 4046.8564 m².
    assert!(said.starts_with("recorded the boundary of f1: 227.38 ac") && said.contains("4 points"), "{said}");

    // A sample is told inside or outside.
    let sample = |near: &str| {
        let count = ["record", "stand-count", "f1", "--at", "2026-05-28T07:00", "--row", "30in", "--length", "17ft5in"];
        let place_of = format!("--near={near}");
        place.ligule(&[&count[..], &["--plants", "30", "--row-unit", "7", &place_of]].concat()).exits(0).stdout
    };
    assert!(sample("42.005,-93.645").contains("; inside the boundary of f1"));
    assert!(sample("42.011,-93.645").contains("; 365 ft outside the boundary of f1"));
    let rows = place.ligule(&["list", "f1", "--format", "ndjson"]).exits(0).stdout;
    assert_eq!(rows.matches("\"row_unit\":\"7\"").count(), 2, "{rows}");
}

/// Where somebody stands tells the field; where it does not, candidates are named and nothing is recorded.
#[test]
fn a_place_tells_the_field() {
    let place = journal();
    let square = |name: &str, west: f64| {
        let (east, south, north) = (west + 0.01, 42.0, 42.01);
        format!(
            r#"{{"type":"Feature","properties":{{"name":"{name}"}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"#
        )
    };
    let all = [square("west", -93.62), square("east", -93.61), square("over", -93.605)].join(",");
    let file = format!(r#"{{"type":"FeatureCollection","features":[{all}]}}"#);
    std::fs::write(place.folder().join("fields.geojson"), file).expect("writes");
    let near = |near: &str| {
        let near = format!("--near={near}");
        place.ligule(&["record", "note", "--text", "wet", "--at", "2026-05-28T07:00", &near])
    };
    let refused = near("42.005,-93.615").exits(2).stderr;
    assert!(refused.contains("no field has a boundary") && refused.contains("ligule field import"), "{refused}");
    place.ligule(&[&["field", "import", "fields.geojson", "--grower", "G"][..], &NEW].concat()).exits(0);

    let said = near("42.005,-93.615").exits(0).stdout;
    assert!(said.contains("note on west, ") && said.contains("; inside the boundary of west"), "{said}");
    let said = near("42.011,-93.615").exits(0).stdout;
    assert!(said.contains("note on west, ") && said.contains("; 365 ft outside the boundary of west"), "{said}");
    for (at, told) in [
        ("42.005,-93.602", "the place lies in several fields: east, over"),
        ("42.1,-93.61", "no field lies within 0.6 mi of the place; the nearest: "),
        ("north", "expected latitude, -90 to 90, and longitude, -180 to 180"),
    ] {
        let refused = near(at).exits(2).stderr;
        assert!(refused.contains(told), "{at}: {refused}");
    }
    let refused = place.ligule(&["record", "note", "--text", "wet"]).exits(2).stderr;
    assert!(refused.contains("which field was observed?") && refused.contains("--near"), "{refused}");
    // Two counts, each in the field where it was made; another kind where the last one was.
    let said = place
        .ligule(&[
            "record",
            "stand-count",
            "--row",
            "30in",
            "--length",
            "17ft5in",
            "--plants",
            "31",
            "--plants",
            "29",
            "--near",
            "42.005,-93.615",
            "--near",
            "42.005,-93.608",
            "--and",
            "note",
            "--text",
            "dry",
        ])
        .exits(0)
        .stdout;
    assert_eq!((said.matches("on west").count(), said.matches("on east").count()), (1, 2), "{said}");
    // A visit begins where somebody stands, and its observations are of that place.
    let mut visit =
        place.command(&["visit", "--near", "42.005,-93.608", "--kinds", "note", "--at", "2026-05-27T09:00"]);
    let mut visit =
        visit.stdin(std::process::Stdio::piped()).stdout(std::process::Stdio::piped()).spawn().expect("starts");
    std::io::Write::write_all(&mut visit.stdin.take().expect("a pipe"), b"tiles run\ndone\n\n").expect("it reads");
    let output = visit.wait_with_output().expect("the process is ours");
    let said = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(output.status.success() && said.starts_with("inside the boundary of east\n"), "{said}");
    assert!(
        said.contains("note on east, 2026-05-27 09:00") && said.contains("; inside the boundary of east"),
        "{said}"
    );
    let shown = place.ligule(&["list", "east", "--format", "ndjson"]).exits(0).stdout;
    assert!(shown.contains("\"at\":\"2026-05-27T09:00:00-05:00\"") && shown.contains("tiles run"), "{shown}");
}

/// A planter that the crew keeps tells its row units and row width of a planting; a soil is named by its field.
#[test]
fn planters_and_soils_are_kept() {
    let place = journal();
    place.ligule(&["field", "add", "f1", "--grower", "G", "--region", "US-IA", "--zone", "America/Chicago"]).exits(0);
    place.ligule(&["planter", "add", "sixteen-row", "--row-units", "16", "--row", "20in"]).exits(0);
    let planting = ["record", "planting", "f1", "--at", "2026-04-28T16:30", "--day", "2026-04-28", "--crop", "corn"];
    let said = place.ligule(&[&planting[..], &["--planter", "sixteen-row"]].concat()).exits(0).stdout;
    assert!(said.contains("row 20 in") && said.contains("row-units 16"), "{said}");
    let said =
        place.ligule(&[&planting[..], &["--planter", "a neighbour's", "--row-units", "8"]].concat()).exits(0).stdout;
    assert!(said.contains("row-units 8"), "{said}");
    let listed = place.ligule(&["planter", "list", "--format", "csv"]).exits(0).stdout;
    assert_eq!(listed, "planter,row_units,row_width_in,retired\nsixteen-row,16,20.0,false\n");

    let refused = place.ligule(&["field", "amend", "f1", "--soil", "bottom"]).exits(2);
    assert!(refused.stderr.contains("ligule soil add"), "{}", refused.stderr);
    place.ligule(&["soil", "add", "bottom", "--map-unit", "133A", "--texture", "silty-clay-loam"]).exits(0);
    place.ligule(&["field", "amend", "f1", "--soil", "bottom"]).exits(0);
    let fields = place.ligule(&["field", "list", "--format", "ndjson"]).exits(0).stdout;
    assert!(fields.contains("\"soil\":\"bottom\""), "{fields}");
    place.ligule(&["soil", "add", "top", "--texture", "mud"]).exits(2);
    place.ligule(&["grower", "add", "Sorrel Creek"]).exits(0);
    place.ligule(&["grower", "retire", "Sorrel Creek"]).exits(0);
    let growers = place.ligule(&["grower", "list", "--format", "csv"]).exits(0).stdout;
    assert_eq!(growers, "grower,retired\n");
}
