//! A field's boundary: its area on the ellipsoid, as GeoJSON, and where a sample lies to it.

use std::path::Path;

use geographiclib_rs::{Geodesic, InverseGeodesic, PolygonArea, Winding};
use ligule_observation::field::Field;
use ligule_observation::field::boundary::Boundary;
use ligule_observation::field::merge::United;
use ligule_observation::record::Place;
use ligule_units::System;
use serde_json::{Map, Value, json};

use super::outline::{self, Outline};
use crate::error::{EngineError, Result, known};
use crate::number::decimal;
use crate::phrases::Phrase;
use crate::reading::Reading;
use crate::{Engine, now, write_file};

use super::FieldLine;

/// What was drawn around a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The field.
    pub field: String,
    /// Its area, hectares.
    pub area_ha: f64,
    /// The area that was kept before, hectares.
    pub area_before_ha: Option<f64>,
    /// How many points its boundary has.
    pub points: usize,
    /// How many polygons.
    pub polygons: usize,
    /// How many holes.
    pub holes: usize,
    /// What is to be known of where it lies.
    pub note: Option<&'static str>,
}

impl Engine {
    /// Draws a field's boundary from a file: its one outline, or that of a name. The area follows from it.
    pub fn draw_boundary(&mut self, which: &str, path: &Path, name: Option<&str>) -> Result<Drawn> {
        let old = self.field(which)?;
        let outlines = outline::read(path)?;
        let one = one_of(&outlines, name, path)?;
        let boundary = one.boundary.as_ref().map_err(|why| {
            EngineError::user(format!("{}: {why}", path.display()), "mend the outline; nothing was changed")
        })?;
        let field = drawn(&old, boundary);
        let person = self.journal.identity().person;
        self.journal.put_field(&field, &person, now())?;
        let rings = || boundary.polygons().iter().flatten();
        Ok(Drawn {
            field: field.name,
            area_ha: square_metres(boundary) / 10_000.0,
            area_before_ha: old.area_m2.map(|m2| m2 as f64 / 10_000.0),
            points: rings().map(Vec::len).sum(),
            polygons: boundary.polygons().len(),
            holes: rings().count() - boundary.polygons().len(),
            note: one.note,
        })
    }

    /// Writes the crew's fields as a GeoJSON collection, retired ones only where asked for; returns how many have a
    /// boundary and how many have none. An earlier one of that name is replaced, no other file.
    pub fn export_fields(&self, path: &Path, retired: bool) -> Result<(usize, usize)> {
        let lines = self.field_lines(retired)?;
        let drawn = lines.iter().filter(|line| line.boundary.is_some()).count();
        let features: Vec<Value> = lines.iter().map(feature).collect();
        // Members of one's own are allowed; readers ignore them (RFC 7946, 6.1).
        let whole = json!({ "type": "FeatureCollection", "features": features, "written-by": "ligule" });
        crate::may_replace(path, b"\"written-by\": \"ligule\"", "collection of fields")?;
        write_file(path, format!("{whole:#}\n").as_bytes())?;
        Ok((drawn, lines.len() - drawn))
    }
}

/// Returns a field as a GeoJSON feature.
fn feature(line: &FieldLine) -> Value {
    let mut properties = Map::new();
    for (name, text) in [
        ("name", &line.name),
        ("grower", &line.grower),
        ("region", &line.region),
        ("zone", &line.zone),
        ("crop", &line.crop),
        ("station", &line.station),
        ("soil", &line.soil),
    ] {
        properties.insert(name.to_owned(), json!(text));
    }
    properties.insert("area_ha".to_owned(), json!(line.area_ha));
    properties.insert("retired".to_owned(), json!(line.retired));
    json!({ "type": "Feature", "id": line.id, "properties": properties, "geometry": line.boundary })
}

/// Returns the outline that is meant: the only one, or the only one of a name.
fn one_of<'a>(outlines: &'a [Outline], name: Option<&str>, path: &Path) -> Result<&'a Outline> {
    let found: Vec<&Outline> = match name {
        None => outlines.iter().collect(),
        Some(name) => {
            outlines.iter().filter(|one| one.properties.iter().any(|(_, value)| value.trim() == name)).collect()
        }
    };
    let names = || {
        let mut names: Vec<&str> = outlines.iter().filter_map(super::bring::name_in).collect();
        names.truncate(40);
        names
    };
    match found.as_slice() {
        [one] => Ok(one),
        [] => Err(EngineError::user(
            format!("{}: no outline is called `{}`", path.display(), name.unwrap_or_default()),
            known("outlines", name.unwrap_or_default(), names()),
        )),
        several => Err(EngineError::user(
            format!("{}: there are {} outlines, and one is wanted", path.display(), several.len()),
            format!("say which with `--outline NAME`; there are {}", names().join(", ")),
        )),
    }
}

/// Returns a field with a boundary, and what follows from it.
pub(super) fn drawn(field: &Field, boundary: &Boundary) -> Field {
    let middle = boundary.middle();
    Field {
        boundary: boundary.to_text(),
        area_m2: Some(square_metres(boundary).round() as i64),
        // A place that a person gave may be the gate; it stays.
        lon_e7: field.lon_e7.or(middle.map(|place| place.lon_e7)),
        lat_e7: field.lat_e7.or(middle.map(|place| place.lat_e7)),
        ..field.clone()
    }
}

/// Returns the area of a boundary on the WGS 84 ellipsoid, square metres; sides are geodesics, and holes do not count.
///
/// *Source:* C. F. F. Karney (2013), Algorithms for geodesics, J. Geodesy 87:43-55, section 6.
pub(super) fn square_metres(boundary: &Boundary) -> f64 {
    let geodesic = Geodesic::wgs84();
    // Outer rings run counter-clockwise and count; holes run clockwise and count against.
    boundary.polygons().iter().flatten().map(|ring| ring_area(&geodesic, ring.iter().map(degrees))).sum()
}

fn degrees(place: &Place) -> (f64, f64) {
    (f64::from(place.lat_e7) / 1e7, f64::from(place.lon_e7) / 1e7)
}

fn ring_area(geodesic: &Geodesic, points: impl Iterator<Item = (f64, f64)>) -> f64 {
    let mut polygon = PolygonArea::new(geodesic, Winding::CounterClockwise);
    points.for_each(|(lat, lon)| polygon.add_point(lat, lon));
    polygon.compute(true).1
}

/// Returns a boundary as a GeoJSON geometry, rings closed.
pub(super) fn geometry(boundary: &Boundary) -> Value {
    let ring = |ring: &Vec<Place>| -> Value {
        let closed = ring.iter().chain(ring.first());
        closed.map(|p| json!([f64::from(p.lon_e7) / 1e7, f64::from(p.lat_e7) / 1e7])).collect()
    };
    let polygon = |rings: &Vec<Vec<Place>>| -> Value { rings.iter().map(ring).collect() };
    match boundary.polygons() {
        [one] => json!({ "type": "Polygon", "coordinates": polygon(one) }),
        several => {
            let all: Value = several.iter().map(polygon).collect();
            json!({ "type": "MultiPolygon", "coordinates": all })
        }
    }
}

/// Says where a place lies to the boundary of a field, where there is one.
pub(crate) fn where_it_lies(field: &Field, place: Place, reading: &Reading) -> Option<String> {
    let boundary = Boundary::from_text(&field.boundary)?;
    if boundary.contains(place) {
        return Some(reading.say(Phrase::InsideBoundary, &[("field", &field.name)]));
    }
    let metres = boundary.metres_to_side(place);
    let far = far(metres, reading);
    Some(reading.say(Phrase::OutsideBoundary, &[("far", &far), ("field", &field.name)]))
}

/// How far outside a boundary a place may lie that is still taken for the field's, metres (common practice, no source).
const NEAR: f64 = 1000.0;

/// Of two boundaries that lie this much nearer and farther nobody can say which is meant, metres: twice the 4.9 m within which
/// a phone tells its place under open sky (United States government, GPS.gov, "GPS accuracy"; memory).
const DOUBT: f64 = 10.0;

/// Returns the field in which a place lies; where it lies in none, the one whose boundary is nearest.
///
/// `fields` are all that the crew has; retired ones and parts of others are left out.
///
/// # Errors
/// It lies in several; two are about as near; none is near; no boundary is known.
pub(crate) fn field_at(fields: &[Field], place: Place, reading: &Reading) -> Result<Field> {
    let united = United::of(fields);
    let spoken = fields.iter().filter(|field| !field.retired && united.home(&field.id) == field.id);
    let mut drawn: Vec<(f64, &Field)> = spoken
        .filter_map(|field| Some((Boundary::from_text(&field.boundary)?, field)))
        .map(|(boundary, field)| (if boundary.contains(place) { 0.0 } else { boundary.metres_to_side(place) }, field))
        .collect();
    drawn.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.name.cmp(&b.1.name)));
    let Some((nearest, field)) = drawn.first().copied() else {
        return Err(EngineError::user(reading.word(Phrase::NoFieldDrawn), reading.word(Phrase::NameOrDraw)));
    };
    let candidates: Vec<&(f64, &Field)> = if nearest == 0.0 {
        drawn.iter().filter(|(metres, _)| *metres == 0.0).collect()
    } else {
        drawn.iter().filter(|(metres, _)| *metres < nearest + DOUBT).collect()
    };
    let named = |some: &[&(f64, &Field)]| {
        let told = some.iter().map(|(metres, field)| match *metres {
            0.0 => field.name.clone(),
            metres => reading.say(Phrase::PlaceAway, &[("field", &field.name), ("far", &far(metres, reading))]),
        });
        told.collect::<Vec<_>>().join(", ")
    };
    if nearest > NEAR {
        let nearest: Vec<&(f64, &Field)> = drawn.iter().take(3).collect();
        let with: [(&str, &dyn std::fmt::Display); 2] = [("far", &far(NEAR, reading)), ("fields", &named(&nearest))];
        return Err(EngineError::user(reading.say(Phrase::NoFieldNear, &with), reading.word(Phrase::NameTurnedRound)));
    }
    if candidates.len() > 1 {
        let lies = if nearest == 0.0 { Phrase::PlaceInSeveral } else { Phrase::PlaceNearSeveral };
        let lies = reading.say(lies, &[("fields", &named(&candidates))]);
        return Err(EngineError::user(lies, reading.word(Phrase::NameMeant)));
    }
    Ok(field.clone())
}

/// How far from its field a place may lie that is taken down, metres (common practice, no source): whoever measured farther
/// away forgot a sign or took another field's.
const ABSURD: f64 = 100_000.0;

/// Refuses a place that cannot be the field's: far from where it lies; where that is not known, in another quarter of the globe
/// than its country.
///
/// # Errors
/// Says how far it is, or that a sign is wrong.
pub(crate) fn place_fits(field: &Field, place: Place, reading: &Reading) -> Result<()> {
    let told = place_text(place);
    let hint = reading.word(Phrase::LatitudeFirst);
    let known = match (field.lat_e7, field.lon_e7) {
        (Some(lat_e7), Some(lon_e7)) => Some(Place { lon_e7, lat_e7 }),
        _ => None,
    };
    let metres = match (Boundary::from_text(&field.boundary), known) {
        (Some(boundary), _) if boundary.contains(place) => Some(0.0),
        (Some(boundary), _) => Some(boundary.metres_to_side(place)),
        (None, Some(known)) => Some(metres_between(known, place)),
        (None, None) => None,
    };
    if let Some(metres) = metres.filter(|metres| *metres > ABSURD) {
        let with: [(&str, &dyn std::fmt::Display); 3] =
            [("place", &told), ("far", &far(metres, reading)), ("field", &field.name)];
        return Err(EngineError::user(reading.say(Phrase::PlaceTooFar, &with), hint));
    }
    // The mainland of the three lies north of the equator and west of Greenwich; Alaska's last islands and the territories do not.
    let (country, part) = field.region.split_once('-').unwrap_or((field.region.as_str(), ""));
    let west = matches!(country, "US" | "CA" | "MX") && !matches!(part, "AK" | "AS" | "GU" | "MP" | "UM");
    if metres.is_none() && west && (place.lon_e7 > 0 || place.lat_e7 < 0) {
        let with: [(&str, &dyn std::fmt::Display); 3] =
            [("place", &told), ("country", &country), ("field", &field.name)];
        return Err(EngineError::user(reading.say(Phrase::PlaceOfNoPart, &with), hint));
    }
    Ok(())
}

/// Returns a place as people type it: `42.0318,-93.6203`.
pub(crate) fn place_text(place: Place) -> String {
    format!("{},{}", decimal(place.lat_e7.into(), 7), decimal(place.lon_e7.into(), 7))
}

/// Returns the length of the shortest way between two places on the ellipsoid (WGS 84), metres.
fn metres_between(a: Place, b: Place) -> f64 {
    let degrees = |e7: i32| f64::from(e7) * 1e-7;
    Geodesic::wgs84().inverse(degrees(a.lat_e7), degrees(a.lon_e7), degrees(b.lat_e7), degrees(b.lon_e7))
}

fn far(metres: f64, reading: &Reading) -> String {
    let (feet, metric) = (metres / 0.3048, reading.system == System::Metric);
    match (metric, metres < 1000.0, feet < 1000.0) {
        (true, true, _) => format!("{metres:.0} m"),
        (true, false, _) => format!("{:.1} km", metres / 1000.0),
        (false, _, true) => format!("{feet:.0} ft"),
        (false, _, false) => format!("{:.1} mi", feet / 5280.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// C. F. F. Karney, GeographicLib, documentation of the Python library, "Computing the area of a geodesic polygon": the
    /// perimeter and area of Antarctica, 13,662,703,680,020.1 m².
    const ANTARCTICA: [(f64, f64); 18] = [
        (-63.1, -58.0),
        (-72.9, -74.0),
        (-71.9, -102.0),
        (-74.9, -102.0),
        (-74.3, -131.0),
        (-77.5, -163.0),
        (-77.4, 163.0),
        (-71.7, 172.0),
        (-65.9, 140.0),
        (-65.7, 113.0),
        (-66.6, 88.0),
        (-66.9, 59.0),
        (-69.8, 25.0),
        (-70.0, -4.0),
        (-71.0, -14.0),
        (-77.3, -33.0),
        (-77.9, -46.0),
        (-74.7, -61.0),
    ];

    #[test]
    fn the_area_is_that_of_the_ellipsoid() {
        let area = ring_area(&Geodesic::wgs84(), ANTARCTICA.into_iter());
        assert!((area - 13_662_703_680_020.1).abs() < 1.0, "{area}");
    }

    #[test]
    fn a_place_is_told_inside_or_outside() {
        let ring = vec![(-93.6, 42.0), (-93.59, 42.0), (-93.59, 42.01), (-93.6, 42.01)];
        let boundary = Boundary::new(&[vec![ring]]).expect("a boundary");
        let field = drawn(&Field { name: "f1".into(), ..Field::default() }, &boundary);
        assert_eq!((field.lat_e7, field.lon_e7), (Some(420_050_000), Some(-935_950_000)));
        let told = |lat_e7, lon_e7| {
            where_it_lies(&field, Place { lon_e7, lat_e7 }, &Reading::default()).expect("it has a boundary")
        };
        assert_eq!(told(420_050_000, -935_950_000), "inside the boundary of f1");
        assert_eq!(told(420_110_000, -935_950_000), "365 ft outside the boundary of f1");
        assert_eq!(told(421_000_000, -935_950_000), "6.2 mi outside the boundary of f1");
        let metric = Reading { system: System::Metric, ..Reading::default() };
        assert_eq!([far(110.9, &metric), far(9987.0, &metric)], ["111 m", "10.0 km"]);
        assert_eq!(where_it_lies(&Field::default(), Place { lon_e7: 0, lat_e7: 0 }, &Reading::default()), None);
        // What is written can be read again.
        assert_eq!(geometry(&boundary)["coordinates"][0].as_array().map(Vec::len), Some(5));
    }

    #[test]
    fn a_place_tells_its_field_or_why_not() {
        let field = |name: &str, west: f64, east: f64| {
            let ring = vec![(west, 42.0), (east, 42.0), (east, 42.01), (west, 42.01)];
            let boundary = Boundary::new(&[vec![ring]]).expect("a boundary");
            drawn(&Field { id: name.into(), name: name.into(), ..Field::default() }, &boundary)
        };
        // `b` begins where `a` ends; `over` lies on `c`; the road between `b` and `c` is 16.5 m wide.
        let mut fields = vec![
            field("a", -93.62, -93.61),
            field("b", -93.61, -93.6),
            field("c", -93.5998, -93.59),
            field("over", -93.595, -93.58),
        ];
        fields.push(Field { name: "bare".into(), id: "bare".into(), ..Field::default() });
        let at = |fields: &[Field], lat: f64, lon: f64| {
            let place = Place { lat_e7: (lat * 1e7).round() as i32, lon_e7: (lon * 1e7).round() as i32 };
            field_at(fields, place, &Reading { system: System::Metric, ..Reading::default() })
        };
        assert_eq!(at(&fields, 42.005, -93.615).expect("inside").name, "a");
        assert_eq!(at(&fields, 42.005, -93.6095).expect("inside, though the other is near").name, "b");
        assert_eq!(at(&fields, 42.0105, -93.615).expect("56 m north of it").name, "a");
        let said = |lat, lon| at(&fields, lat, lon).expect_err("it cannot be told").message;
        assert_eq!(said(42.005, -93.592), "the place lies in several fields: c, over");
        assert_eq!(said(42.005, -93.5999), "several fields are about as near: b (8 m away), c (8 m away)");
        assert!(
            said(43.0, -93.6).starts_with("no field lies within 1.0 km of the place; the nearest: b (110.2 km away)")
        );
        fields[3].retired = true;
        assert_eq!(at(&fields, 42.005, -93.592).expect("the other is retired").name, "c");
        assert!(at(&fields[4..], 42.0, -93.6).expect_err("none is drawn").message.contains("boundary"));
    }
}
