//! Files that come from anywhere: damaged, hostile, too large. They end in an error that says why, never in a panic.

use std::path::PathBuf;

use proptest::prelude::*;
use shapefile::dbase::{FieldName, TableWriterBuilder};
use shapefile::{Point, Polygon, PolygonRing, Writer};

use super::{BYTES, read};

const KML: &str = r#"<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>A &amp; B&#33;</name>
<ExtendedData><SchemaData><SimpleData name="owner"><![CDATA[Sorrel & Creek]]></SimpleData></SchemaData></ExtendedData>
<Polygon><innerBoundaryIs><LinearRing><coordinates>-93.599,42.001 -93.598,42.001 -93.598,42.002</coordinates></LinearRing>
</innerBoundaryIs><outerBoundaryIs><LinearRing><coordinates>-93.6,42,0 -93.59,42,0 -93.59,42.01,0 -93.6,42.01,0 -93.6,42,0
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Document></kml>"#;

const GEOJSON: &str = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"f1","acres":40},
"geometry":{"type":"Polygon","coordinates":[[[-93.6,42.0],[-93.59,42.0],[-93.59,42.01],[-93.6,42.01],[-93.6,42.0]]]}}]}"#;

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

fn refused(name: &str, bytes: &[u8]) -> String {
    let folder = folder();
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).expect("writes");
    read(&path).expect_err("it is refused").message
}

/// A shapefile of one field.
fn shapefile(folder: &std::path::Path) -> PathBuf {
    let path = folder.join("one.shp");
    let name = FieldName::try_from("NAME").expect("a name");
    let table = TableWriterBuilder::new().add_character_field(name, 20);
    let mut writer = Writer::from_path(&path, table).expect("a writer");
    let corners = [(-93.6, 42.0), (-93.6, 42.01), (-93.59, 42.01), (-93.59, 42.0), (-93.6, 42.0)];
    let ring = PolygonRing::Outer(corners.map(|(x, y)| Point::new(x, y)).to_vec());
    let mut row = shapefile::dbase::Record::default();
    row.insert("NAME".to_owned(), shapefile::dbase::FieldValue::Character(Some("f1".to_owned())));
    writer.write_shape_and_record(&Polygon::new(ring), &row).expect("writes");
    drop(writer);
    path
}

#[test]
fn names_and_holes_are_read_wherever_they_stand() {
    let folder = folder();
    let path = folder.path().join("one.kml");
    std::fs::write(&path, KML).expect("writes");
    let outlines = read(&path).expect("it is read");
    assert_eq!(outlines[0].property("Name"), Some("A & B!"));
    assert_eq!(outlines[0].property("owner"), Some("Sorrel & Creek"));
    let boundary = outlines[0].boundary.as_ref().expect("a boundary");
    assert_eq!(boundary.polygons()[0].iter().map(Vec::len).collect::<Vec<_>>(), [4, 3]);
    let outlines = read(&shapefile(folder.path())).expect("it is read");
    assert_eq!(outlines[0].property("name"), Some("f1"));
    assert!(outlines[0].boundary.is_ok());
}

#[test]
fn what_is_no_outline_is_told() {
    for (name, bytes, told) in [
        ("a.txt", "", "expected a file named"),
        ("a.kmz", "PK", "expected a KMZ archive"),
        ("a.zip", "PK", "expected a ZIP archive"),
        ("a.geojson", "{}", "expected GeoJSON"),
        ("a.geojson", r#"{"type":"FeatureCollection","features":[]}"#, "no outline"),
        ("a.kml", "<kml/>", "no outline"),
        ("a.kml", "<kml><Document>", "ends in the middle"),
        ("a.kml", "<kml><a></b></kml>", "near byte"),
        (
            "a.kml",
            "<!DOCTYPE k [<!ENTITY a 'aaaa'>]><kml><Placemark><name>&a;</name></Placemark></kml>",
            "not expanded",
        ),
        ("a.shp", "no shapefile at all", "expected a shapefile"),
    ] {
        let why = refused(name, bytes.as_bytes());
        assert!(why.contains(told), "{name}: {why}");
    }
    assert!(refused("a.geojson", b"\xff\xfe").contains("UTF-8"));
}

#[test]
fn what_is_too_large_or_too_deep_is_refused() {
    let deep = "<a>".repeat(1_000_000);
    assert!(refused("a.kml", deep.as_bytes()).contains("deep in each other"));
    let deep = format!(r#"{{"type":"GeometryCollection","geometries":{}"#, "[".repeat(1_000_000));
    assert!(refused("a.geojson", deep.as_bytes()).contains("expected GeoJSON"));
    let large = vec![b' '; usize::try_from(BYTES).expect("small") + 1];
    assert!(refused("a.geojson", &large).contains("16 MiB"));
    let ring = "[-93.6,42.0],".repeat(10_000);
    let many = format!(r#"{{"type":"Polygon","coordinates":[[{}[-93.6,42.0]]]}}"#, ring);
    let folder = folder();
    let path = folder.path().join("many.geojson");
    std::fs::write(&path, many).expect("writes");
    let why = read(&path).expect("it is GeoJSON")[0].boundary.clone().expect_err("too many points");
    assert!(why.contains("at most 5000 points"), "{why}");
}

/// A KMZ archive of some files.
fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).expect("a file begins");
        std::io::Write::write_all(&mut writer, bytes).expect("it is written");
    }
    writer.finish().expect("an archive").into_inner()
}

#[test]
fn the_kml_in_an_archive_is_read() {
    let folder = folder();
    let path = folder.path().join("a.kmz");
    let other = KML.replace("A &amp; B&#33;", "other");
    for (files, name) in [
        (vec![("files/a.kml", other.as_bytes()), ("doc.kml", KML.as_bytes())], "A & B!"),
        (vec![("files/a.kml", other.as_bytes()), ("mine.KML", KML.as_bytes())], "A & B!"),
        (vec![("icon.png", &b"x"[..]), ("files/a.kml", other.as_bytes())], "other"),
    ] {
        std::fs::write(&path, archive(&files)).expect("writes");
        assert_eq!(read(&path).expect("it is read")[0].property("name"), Some(name));
    }
    assert!(refused("a.kmz", &archive(&[("icon.png", b"x")])).contains("no KML file"));
    let large = vec![b' '; usize::try_from(BYTES).expect("small") + 1];
    assert!(refused("a.kmz", &archive(&[("doc.kml", &large)])).contains("more than 16 MiB"));
    let whole = archive(&[("doc.kml", KML.as_bytes())]);
    for cut in 0..whole.len() {
        std::fs::write(&path, &whole[..cut]).expect("writes");
        let _ = read(&path);
    }
}

#[test]
fn the_shapefile_in_an_archive_is_read() {
    let folder = folder();
    let plain = shapefile(folder.path());
    let outlines = read(&plain).expect("it is read");
    assert_eq!(outlines[0].note, Some(super::UNTOLD), "it has no .prj file");
    let part = |ending: &str| std::fs::read(plain.with_extension(ending)).expect("it was written");
    let (shp, dbf) = (part("shp"), part("dbf"));
    let wgs = br#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]]]"#;
    let path = folder.path().join("a.zip");
    let files = [
        ("x/One.SHP", &shp[..]),
        ("x/one.dbf", &dbf),
        ("x/one.PRJ", wgs),
        ("other.prj", b"?"),
        ("__MACOSX/x.shp", b""),
    ];
    std::fs::write(&path, archive(&files)).expect("writes");
    let zipped = read(&path).expect("it is read");
    assert_eq!((zipped[0].property("name"), zipped[0].note), (Some("f1"), None));
    assert_eq!(zipped[0].boundary, outlines[0].boundary);
    assert!(refused("a.zip", &archive(&[("one.dbf", &dbf)])).contains("no Shapefile"));
    let two = refused("a.zip", &archive(&[("a.shp", &shp), ("b.shp", &shp)]));
    assert!(two.contains("2 Shapefiles") && two.contains("a.shp, b.shp"), "{two}");
    let elsewhere = br#"PROJCS["NAD_1983_UTM_Zone_15N",GEOGCS["GCS_North_American_1983"]]"#;
    assert!(refused("a.zip", &archive(&[("one.shp", &shp), ("one.prj", elsewhere)])).contains("WGS 84"));
    let large = vec![b' '; usize::try_from(BYTES).expect("small") + 1];
    assert!(refused("a.zip", &archive(&[("one.shp", &large)])).contains("more than 16 MiB"));
    let whole = archive(&files);
    for cut in 0..whole.len() {
        std::fs::write(&path, &whole[..cut]).expect("writes");
        let _ = read(&path);
    }
}

/// The reader of tables passes deleted rows over: the names behind them would be those of other outlines.
#[test]
fn deleted_rows_of_a_shapefile_are_refused() {
    let folder = folder();
    let path = shapefile(folder.path());
    let table = path.with_extension("dbf");
    let mut bytes = std::fs::read(&table).expect("it was written");
    let first = usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    assert_eq!(bytes[first], b' ', "a row that is not deleted");
    bytes[first] = b'*';
    std::fs::write(&table, bytes).expect("writes");
    let why = read(&path).expect_err("it is refused").message;
    assert!(why.contains("marked as deleted"), "{why}");
}

/// What a table's letters stand for is told by a `.cpg` file, else by its header; it is never guessed. The bytes are those of
/// Python's codecs.
#[test]
fn letters_of_a_table_are_read_as_it_says() {
    let folder = folder();
    let path = shapefile(folder.path());
    let table = path.with_extension("dbf");
    let plain = std::fs::read(&table).expect("it was written");
    let row = usize::from(u16::from_le_bytes([plain[8], plain[9]])) + 1;
    let with = |name: &[u8], mark: u8| {
        let mut bytes = plain.clone();
        bytes[29] = mark;
        bytes[row..row + name.len()].copy_from_slice(name);
        std::fs::write(&table, bytes).expect("writes");
    };
    let said = |cpg: Option<&str>| {
        let beside = path.with_extension("cpg");
        let _ = std::fs::remove_file(&beside);
        cpg.iter().for_each(|cpg| std::fs::write(&beside, cpg).expect("writes"));
        read(&path).map(|found| found[0].property("name").map(str::to_owned)).map_err(|error| error.message)
    };
    let cañada = Ok(Some("Cañada".to_owned()));
    for (name, mark, cpg) in [
        (&b"Ca\xf1ada"[..], 0x03, None),
        (b"Ca\xf1ada", 0x57, None),
        (b"Ca\xf1ada", 0x00, Some("1252")),
        (b"Ca\xf1ada", 0x00, Some("ISO-8859-1\n")),
        (b"Ca\xf1ada", 0x01, Some("ANSI 1252")),
        (b"Ca\xa4ada", 0x01, None),
        (b"Ca\xa4ada", 0x02, None),
        (b"Ca\xa4ada", 0x00, Some("OEM 850")),
        (b"Ca\xc3\xb1ada", 0x00, None),
        (b"Ca\xc3\xb1ada", 0x57, None),
        (b"Ca\xc3\xb1ada", 0x03, Some("UTF-8")),
    ] {
        with(name, mark);
        assert_eq!(said(cpg), cañada, "{name:?}, {mark:#x}, {cpg:?}");
    }
    // Nothing tells, or what tells is wrong.
    for (name, mark, cpg) in [
        (&b"Ca\xf1ada"[..], 0x00, None),
        (b"Ca\xf1ada", 0xf1, None),
        (b"Ca\xf1ada", 0x03, Some("UTF-8")),
        (b"Ca\xf1ada", 0x03, Some("klingon")),
        (b"Ca\x81ada", 0x03, None),
    ] {
        with(name, mark);
        let why = said(cpg).expect_err("it is not guessed");
        assert!(why.contains("letters") && why.contains(".cpg (`UTF-8`, or `1252`"), "{why}");
    }
}

#[test]
fn swapped_coordinates_are_told() {
    let folder = folder();
    let path = folder.path().join("a.geojson");
    let swapped = r#"{"type":"Polygon","coordinates":[[[42.0,-93.6],[42.01,-93.6],[42.01,-93.59],[42.0,-93.6]]]}"#;
    std::fs::write(&path, swapped).expect("writes");
    let why = read(&path).expect("it is GeoJSON")[0].boundary.clone().expect_err("out of range");
    assert!(why.contains("they look swapped"), "{why}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Damaged text is read or refused.
    #[test]
    fn damaged_text_never_panics(kml in any::<bool>(), cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
        let mut bytes = if kml { KML } else { GEOJSON }.as_bytes().to_vec();
        for (at, byte) in cuts {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        let folder = folder();
        let path = folder.path().join(if kml { "a.kml" } else { "a.geojson" });
        std::fs::write(&path, bytes).expect("writes");
        let _ = read(&path);
    }

    /// Damaged shapefiles and tables are read or refused; a length in them is not believed.
    #[test]
    fn damaged_shapefiles_never_panic(
        table in any::<bool>(),
        cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        keep in any::<prop::sample::Index>(),
    ) {
        let folder = folder();
        let shapes = shapefile(folder.path());
        let hurt = if table { shapes.with_extension("dbf") } else { shapes.clone() };
        let mut bytes = std::fs::read(&hurt).expect("reads");
        for (at, byte) in cuts {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        bytes.truncate(bytes.len() - keep.index(4));
        std::fs::write(&hurt, bytes).expect("writes");
        let _ = read(&shapes);
    }
}
