//! Shapefiles: outlines in `.shp`, what is told of them in `.dbf`, in which letters in `.cpg`, the reference system in `.prj`.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use shapefile::dbase::encoding::DynEncoding;
use shapefile::dbase::{self, CodePageMark, FieldValue};
use shapefile::record::polygon::GenericPolygon;
use shapefile::record::traits::HasXY;
use shapefile::{PolygonRing, Shape, ShapeReader};

use super::{OUTLINES, Outline, Polygons, REPROJECT, System, bytes};

/// Reads a file and those beside it that bear its name.
pub(super) fn read_beside(path: &Path) -> Result<Vec<Outline>, String> {
    let beside = |ending: &str| -> Result<Option<Vec<u8>>, String> {
        // The parts of one shapefile bear one name, their endings in small letters or in capitals.
        let names = [path.with_extension(ending), path.with_extension(ending.to_ascii_uppercase())];
        let there = names.iter().find(|name| name.is_file());
        there.map(|name| bytes(name).map_err(|error| error.message)).transpose()
    };
    read(bytes(path).map_err(|error| error.message)?, beside)
}

/// Reads a shapefile: its shapes, and what `beside` finds of its other parts by their ending.
pub(super) fn read(
    shapes: Vec<u8>,
    mut beside: impl FnMut(&str) -> Result<Option<Vec<u8>>, String>,
) -> Result<Vec<Outline>, String> {
    let system = match beside("prj")? {
        Some(system) => reference_system(&String::from_utf8_lossy(&system))?,
        None => System::Untold,
    };
    let letters = match beside("cpg")? {
        Some(told) => Some(code_page(&String::from_utf8_lossy(&told))?),
        None => None,
    };
    let table = beside("dbf")?;
    // The bytes come from anywhere; should the readers stumble over them, that is the file's fault and no reason to end.
    let outlines = catch_unwind(AssertUnwindSafe(|| outlines(shapes, table, letters)))
        .unwrap_or_else(|_| Err("it is damaged: its parts do not go together".to_owned()))?;
    Ok(outlines.into_iter().map(|outline| outline.on(system)).collect())
}

/// Takes longitude and latitude on WGS 84 or NAD 83, as the text of the reference system tells it, and nothing else.
fn reference_system(text: &str) -> Result<System, String> {
    let text = text.trim_start_matches('\u{feff}').trim();
    let plain: String = text.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_uppercase();
    // How to get from another system to WGS 84 is told in some files; that names it, and is not it.
    let plain = plain.replace("TOWGS84", "");
    let geographic = ["GEOGCS", "GEOGCRS", "GEODCRS", "GEODETICCRS", "GEOGRAPHICCRS"];
    let is = |names: &[&str]| {
        geographic.iter().any(|word| plain.starts_with(word)) && names.iter().any(|name| plain.contains(name))
    };
    if is(&["WGS1984", "WGS84", "WORLDGEODETICSYSTEM1984"]) {
        return Ok(System::Wgs84);
    }
    if is(&["NAD83", "NAD1983", "NORTHAMERICAN1983", "NORTHAMERICANDATUM1983"]) {
        return Ok(System::Nad83);
    }
    let name: String = text.chars().take(60).filter(|c| !c.is_control()).collect();
    Err(format!("expected longitude and latitude on WGS 84, but its .prj file says `{name}`; {REPROJECT}"))
}

/// What to do where nobody can tell the letters of a table.
const SAY_LETTERS: &str = "write the code page into a file of the same name that ends in .cpg (`UTF-8`, or `1252` as Windows \
                           has it in the Americas), or save it as GeoJSON (`ogr2ogr NEW.geojson OLD.shp`)";

/// Returns the code page that a `.cpg` file names, in any of the ways in which programs write it: `UTF-8`, `1252`, `CP1252`,
/// `ANSI 1252`, `ISO-8859-1`, `OEM 437`.
fn code_page(told: &str) -> Result<CodePageMark, String> {
    let told = told.trim_start_matches('\u{feff}').trim();
    let plain: String = told.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_uppercase();
    let number = plain.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let page = match (plain.as_str(), number) {
        ("UTF8" | "65001" | "ASCII" | "USASCII", _) => CodePageMark::Utf8,
        // Code page 1252 has the letters of Latin-1 where that has any, and 28591 is its number on Windows.
        ("LATIN1", _) | (_, "1252" | "88591" | "28591") => CodePageMark::CP1252,
        (_, "437") => CodePageMark::CP437,
        (_, "850") => CodePageMark::CP850,
        (_, "852") => CodePageMark::CP852,
        (_, "861") => CodePageMark::CP861,
        (_, "865") => CodePageMark::CP865,
        (_, "1250") => CodePageMark::CP1250,
        _ => CodePageMark::Invalid,
    };
    if page == CodePageMark::Invalid {
        let name: String = told.chars().take(40).filter(|c| !c.is_control()).collect();
        return Err(format!("its .cpg file says `{name}`, letters that this program does not read; {SAY_LETTERS}"));
    }
    Ok(page)
}

/// Returns the code page that a table's own header tells, in its byte 29. *Source:* the numbers are those of the reader's
/// library; 0x57, which says as much as "that of Windows", is written for Latin-1 (GDAL, driver of Shapefiles; memory).
fn marked(table: &[u8]) -> CodePageMark {
    match table.get(29).copied() {
        Some(0x57) => CodePageMark::CP1252,
        Some(mark) => CodePageMark::from(mark),
        None => CodePageMark::Undefined,
    }
}

/// Returns how a table's bytes stand for letters: as its `.cpg` file says, else as its header does. Where neither does, and
/// where a text is in UTF-8 in spite of what the header says, it is that; whatever else fails to be read, and is not guessed.
fn encoding(table: &[u8], letters: Option<CodePageMark>) -> DynEncoding {
    let told = letters.unwrap_or_else(|| match std::str::from_utf8(table.get(32..).unwrap_or_default()) {
        Ok(_) => CodePageMark::Utf8,
        Err(_) => marked(table),
    });
    match told {
        // For these the library would take whatever comes for a letter.
        CodePageMark::Undefined | CodePageMark::Invalid => dbase::Unicode.into(),
        known => known.to_encoding().unwrap_or_else(|| dbase::Unicode.into()),
    }
}

fn outlines(shapes: Vec<u8>, table: Option<Vec<u8>>, letters: Option<CodePageMark>) -> Result<Vec<Outline>, String> {
    let mut reader = ShapeReader::new(Cursor::new(shapes)).map_err(|error| format!("expected a shapefile: {error}"))?;
    let mut rows = match table {
        None => None,
        Some(table) => {
            if has_deleted(&table) {
                return Err(
                    "rows of its .dbf file are marked as deleted, and which outlines they belong to is not told; \
                            save the file anew (`ogr2ogr NEW OLD`)"
                        .to_owned(),
                );
            }
            let told = |error| format!("its .dbf file cannot be read: {}", unread(&error));
            let builder = dbase::ReaderBuilder::new().with_encoding(encoding(&table, letters));
            Some(builder.build(Cursor::new(table)).map_err(told)?)
        }
    };
    let names: Vec<String> =
        rows.iter().flat_map(|rows| rows.fields().iter().map(|field| field.name().to_owned())).collect();
    let mut rows = rows.as_mut().map(|rows| rows.iter_records());
    let mut out = Vec::new();
    for shape in reader.iter_shapes().take(OUTLINES + 1) {
        let shape = shape.map_err(|error| format!("outline {} cannot be read: {error}", out.len() + 1))?;
        let row = match rows.as_mut().and_then(Iterator::next) {
            None => Vec::new(),
            Some(row) => {
                let row = row.map_err(|error| {
                    format!("row {} of its .dbf file cannot be read: {}", out.len() + 1, unread(&error))
                })?;
                let texts = names.iter().filter_map(|name| Some((name.clone(), words(row.get(name)?)?)));
                let texts: Vec<(String, String)> = texts.collect();
                // Bytes for which a code page has no letter are read as these.
                let none = |c: char| ('\u{80}'..='\u{9f}').contains(&c);
                if texts.iter().any(|(_, text)| text.contains(none)) {
                    return Err(format!("row {} of its .dbf file cannot be read: {}", out.len() + 1, letters_differ()));
                }
                texts
            }
        };
        let polygons = match &shape {
            Shape::Polygon(polygon) => polygons_of(polygon),
            Shape::PolygonM(polygon) => polygons_of(polygon),
            Shape::PolygonZ(polygon) => polygons_of(polygon),
            other => Err(format!("expected a polygon, got a {}", other.shapetype())),
        };
        out.push(Outline::new(row, polygons));
    }
    Ok(out)
}

fn letters_differ() -> String {
    format!("its letters are in another code page than is told, or none is told; {SAY_LETTERS}")
}

/// Says why a table cannot be read.
fn unread(error: &dbase::Error) -> String {
    match error.kind() {
        dbase::ErrorKind::StringDecodeError(_) => letters_differ(),
        _ => error.to_string(),
    }
}

/// Tells whether rows of a table are marked as deleted: the reader passes them over, and the names behind would be those of
/// other outlines. *Source:* dBASE III file structure: rows from byte 4 on, their length in bytes 10 and 11, the header's in 8
/// and 9, each row led by a mark, `*` of a deleted one (memory).
fn has_deleted(table: &[u8]) -> bool {
    let number = |at: usize| table.get(at..at + 2).map_or(0, |two| usize::from(u16::from_le_bytes([two[0], two[1]])));
    let rows = table.get(4..8).map_or(0, |four| u32::from_le_bytes([four[0], four[1], four[2], four[3]]));
    let (from, length) = (number(8), number(10).max(1));
    let marks = table.get(from..).unwrap_or_default().iter().step_by(length);
    marks.take(rows as usize).any(|mark| *mark == b'*')
}

/// Sorts rings into polygons: a hole belongs to the smallest outer ring around its first point.
fn polygons_of<P: HasXY>(polygon: &GenericPolygon<P>) -> Result<Polygons, String> {
    let points = |ring: &PolygonRing<P>| ring.points().iter().map(|p| (p.x(), p.y())).collect::<Vec<_>>();
    let (outer, holes): (Vec<_>, Vec<_>) =
        polygon.rings().iter().partition(|ring| matches!(ring, PolygonRing::Outer(_)));
    let mut polygons: Polygons = outer.into_iter().map(|ring| vec![points(ring)]).collect();
    for hole in holes.into_iter().map(points) {
        let around = polygons.iter_mut().filter(|rings| hole.first().is_some_and(|p| encloses(&rings[0], *p)));
        let smallest = around.min_by(|a, b| extent(&a[0]).total_cmp(&extent(&b[0])));
        smallest.ok_or("a hole lies in no ring; its rings may run the wrong way round")?.push(hole);
    }
    Ok(polygons)
}

/// Tells whether a ring runs around a point, by a ray to the east.
fn encloses(ring: &[(f64, f64)], (x, y): (f64, f64)) -> bool {
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    let crossed =
        sides.filter(|((ax, ay), (bx, by))| (*ay > y) != (*by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax));
    crossed.count() % 2 == 1
}

fn extent(ring: &[(f64, f64)]) -> f64 {
    let span = |of: fn(&(f64, f64)) -> f64| {
        let (low, high) = ring.iter().map(of).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        high - low
    };
    span(|p| p.0) * span(|p| p.1)
}

fn words(value: &FieldValue) -> Option<String> {
    match value {
        FieldValue::Character(text) => text.clone(),
        FieldValue::Numeric(number) => number.map(|number| number.to_string()),
        FieldValue::Float(number) => number.map(|number| number.to_string()),
        FieldValue::Integer(number) => Some(number.to_string()),
        FieldValue::Double(number) | FieldValue::Currency(number) => Some(number.to_string()),
        FieldValue::Memo(text) => Some(text.clone()),
        _ => None,
    }
}
