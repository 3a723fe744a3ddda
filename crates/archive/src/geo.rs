//! Where fields lie, as outside readers take it: well-known binary in a column, told of by GeoParquet metadata.
//!
//! The binary form is that of OGC 06-103r4 (Simple feature access, part 1), section 8.2; the metadata that of GeoParquet
//! 1.1.0. Coordinates are longitude and latitude on WGS 84, which is what GeoParquet takes where no other system is named.

use arrow::array::{Array, AsArray, RecordBatch};
use ligule_observation::field::boundary::Boundary;
use ligule_observation::record::Place;
use serde_json::json;

/// The column that holds boundaries.
pub(crate) const COLUMN: &str = "boundary";

/// The footer's key under which readers look for the metadata.
pub(crate) const KEY: &str = "geo";

const LITTLE_ENDIAN: u8 = 1;
const POLYGON: u32 = 3;
const MULTI_POLYGON: u32 = 6;

/// Returns a boundary as well-known binary, little endian: a polygon, or a multipolygon where there are several.
pub fn well_known_binary(boundary: &Boundary) -> Vec<u8> {
    let mut bytes = Vec::new();
    match boundary.polygons() {
        [only] => polygon(only, &mut bytes),
        all => {
            head(MULTI_POLYGON, all.len(), &mut bytes);
            all.iter().for_each(|rings| polygon(rings, &mut bytes));
        }
    }
    bytes
}

/// Writes byte order, type, and how many parts follow.
fn head(geometry: u32, parts: usize, bytes: &mut Vec<u8>) {
    bytes.push(LITTLE_ENDIAN);
    bytes.extend(geometry.to_le_bytes());
    count(parts, bytes);
}

fn count(n: usize, bytes: &mut Vec<u8>) {
    bytes.extend(u32::try_from(n).expect("a boundary has at most 5,000 points").to_le_bytes());
}

fn polygon(rings: &[Vec<Place>], bytes: &mut Vec<u8>) {
    head(POLYGON, rings.len(), bytes);
    for ring in rings {
        // Kept rings are open; these are closed by their first point.
        count(ring.len() + 1, bytes);
        for place in ring.iter().chain(ring.first()) {
            bytes.extend((f64::from(place.lon_e7) / 1e7).to_le_bytes());
            bytes.extend((f64::from(place.lat_e7) / 1e7).to_le_bytes());
        }
    }
}

/// Returns the metadata of a file with boundaries; nothing for one of another table.
pub(crate) fn metadata(batch: &RecordBatch) -> Option<String> {
    let boundaries = batch.column_by_name(COLUMN)?.as_binary_opt::<i32>()?;
    let mut types: Vec<&str> = Vec::new();
    let mut corners: Option<[f64; 4]> = None;
    for bytes in (0..boundaries.len()).filter(|i| boundaries.is_valid(*i)).map(|i| boundaries.value(i)) {
        let name = if geometry(bytes) == Some(MULTI_POLYGON) { "MultiPolygon" } else { "Polygon" };
        if !types.contains(&name) {
            types.push(name);
        }
        for (lon, lat) in points(bytes) {
            let [west, south, east, north] = corners.unwrap_or([lon, lat, lon, lat]);
            corners = Some([west.min(lon), south.min(lat), east.max(lon), north.max(lat)]);
        }
    }
    types.sort_unstable();
    let mut column = json!({ "encoding": "WKB", "geometry_types": types, "orientation": "counterclockwise" });
    if let Some(corners) = corners {
        column["bbox"] = json!(corners);
    }
    Some(json!({ "version": "1.1.0", "primary_column": COLUMN, "columns": { COLUMN: column } }).to_string())
}

fn geometry(bytes: &[u8]) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(1..5)?.try_into().ok()?))
}

/// Returns every point of what [`well_known_binary`] wrote.
fn points(bytes: &[u8]) -> Vec<(f64, f64)> {
    fn number(rest: &mut &[u8]) -> Option<usize> {
        let (head, tail) = rest.split_first_chunk::<4>()?;
        *rest = tail;
        usize::try_from(u32::from_le_bytes(*head)).ok()
    }
    fn walk(rest: &mut &[u8], out: &mut Vec<(f64, f64)>) -> Option<()> {
        *rest = rest.get(1..)?;
        let (geometry, parts) = (number(rest)?, number(rest)?);
        for _ in 0..parts {
            if geometry == MULTI_POLYGON as usize {
                walk(rest, out)?;
                continue;
            }
            for _ in 0..number(rest)? {
                let (lon, tail) = rest.split_first_chunk::<8>()?;
                let (lat, tail) = tail.split_first_chunk::<8>()?;
                out.push((f64::from_le_bytes(*lon), f64::from_le_bytes(*lat)));
                *rest = tail;
            }
        }
        Some(())
    }
    let mut out = Vec::new();
    let _ = walk(&mut { bytes }, &mut out);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(west: f64, south: f64) -> Vec<(f64, f64)> {
        vec![(west, south), (west + 0.01, south), (west + 0.01, south + 0.01), (west, south + 0.01)]
    }

    #[test]
    fn a_polygon_is_written_as_the_standard_says() {
        let boundary = Boundary::new(&[vec![square(-93.5, 42.0)]]).expect("a square");
        let bytes = well_known_binary(&boundary);
        // Little endian, polygon, one ring, five points of two doubles.
        assert_eq!(bytes[..13], [1, 3, 0, 0, 0, 1, 0, 0, 0, 5, 0, 0, 0]);
        assert_eq!(bytes.len(), 13 + 5 * 16);
        assert_eq!(bytes[13..21], (-93.5f64).to_le_bytes());
        let points = points(&bytes);
        assert_eq!((points.len(), points[0], points[4]), (5, (-93.5, 42.0), (-93.5, 42.0)));
    }

    #[test]
    fn several_polygons_and_holes_are_all_there() {
        let hole = vec![(-93.497, 42.003), (-93.497, 42.006), (-93.494, 42.006), (-93.494, 42.003)];
        let boundary =
            Boundary::new(&[vec![square(-93.5, 42.0), hole], vec![square(-93.4, 42.1)]]).expect("two squares");
        let bytes = well_known_binary(&boundary);
        assert_eq!(geometry(&bytes), Some(MULTI_POLYGON));
        assert_eq!(points(&bytes).len(), 15);
        assert!(points(&bytes[..40]).len() < 15, "what is cut short does not panic");
    }
}
