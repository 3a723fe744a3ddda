//! Shapefiles: outlines in `.shp`, what is told of them in `.dbf`, the reference system in `.prj`.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use shapefile::dbase::{self, FieldValue};
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
    let (system, table) = (beside("prj")?, beside("dbf")?);
    read(bytes(path).map_err(|error| error.message)?, table, system.as_deref())
}

/// Reads a shapefile's parts: its shapes, and its table and reference system where it has them.
pub(super) fn read(shapes: Vec<u8>, table: Option<Vec<u8>>, system: Option<&[u8]>) -> Result<Vec<Outline>, String> {
    let system = match system {
        Some(system) => reference_system(&String::from_utf8_lossy(system))?,
        None => System::Untold,
    };
    // The bytes come from anywhere; should the readers stumble over them, that is the file's fault and no reason to end.
    let outlines = catch_unwind(AssertUnwindSafe(|| outlines(shapes, table)))
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

fn outlines(shapes: Vec<u8>, table: Option<Vec<u8>>) -> Result<Vec<Outline>, String> {
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
            let told = |error| format!("its .dbf file cannot be read: {error}");
            Some(dbase::Reader::new(Cursor::new(table)).map_err(told)?)
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
                let row =
                    row.map_err(|error| format!("row {} of its .dbf file cannot be read: {error}", out.len() + 1))?;
                names.iter().filter_map(|name| Some((name.clone(), words(row.get(name)?)?))).collect()
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
