//! KML (OGC 07-147r2): always longitude and latitude on WGS 84.
//!
//! Read event by event, so that nesting costs no stack; entities of a document's own are not expanded.

use quick_xml::Reader;
use quick_xml::escape::resolve_xml_entity;
use quick_xml::events::{BytesStart, Event};

use super::{Outline, Polygons};

/// How deep elements may lie in each other.
const DEPTH: usize = 64;

/// A placemark as far as it was read.
#[derive(Default)]
struct Placemark {
    properties: Vec<(String, String)>,
    polygons: Polygons,
    /// What else than polygons it holds.
    other: Option<String>,
    wrong: Option<String>,
}

pub(super) fn read(text: &str) -> Result<Vec<Outline>, String> {
    let mut reader = Reader::from_str(text);
    reader.config_mut().expand_empty_elements = true;
    let mut path: Vec<String> = Vec::new();
    let mut said = String::new();
    let mut named = String::new();
    let mut open: Option<Placemark> = None;
    let mut out = Vec::new();
    loop {
        let near = reader.buffer_position();
        let told = |why: &dyn std::fmt::Display| format!("expected KML, near byte {near}: {why}");
        match reader.read_event().map_err(|error| told(&error))? {
            Event::Start(start) => {
                let element = local(start.local_name().as_ref());
                said.clear();
                match element.as_str() {
                    "Placemark" => open = Some(Placemark::default()),
                    "Data" | "SimpleData" => named = attribute(&start, "name"),
                    "Polygon" => open.iter_mut().for_each(|placemark| placemark.polygons.push(Vec::new())),
                    "Point" | "LineString" | "Model" | "Track" => {
                        open.iter_mut().for_each(|placemark| placemark.other = Some(element.clone()));
                    }
                    _ => {}
                }
                path.push(element);
                if path.len() > DEPTH {
                    return Err(told(&format!("elements lie more than {DEPTH} deep in each other")));
                }
            }
            Event::Text(text) => said.push_str(&text.decode().map_err(|error| told(&error))?),
            Event::CData(text) => said.push_str(&text.decode().map_err(|error| told(&error))?),
            Event::GeneralRef(reference) => {
                let name = reference.decode().map_err(|error| told(&error))?;
                let letter = reference.resolve_char_ref().map_err(|error| told(&error))?;
                match (letter, resolve_xml_entity(&name)) {
                    (Some(letter), _) => said.push(letter),
                    (None, Some(text)) => said.push_str(text),
                    (None, None) => return Err(told(&format!("an entity of its own, `{name}`, is not expanded"))),
                }
            }
            Event::End(_) => {
                let Some(element) = path.pop() else { return Err(told(&"an element ends that did not begin")) };
                let Some(placemark) = open.as_mut() else { continue };
                let parent = path.last().map(String::as_str).unwrap_or_default();
                match (parent, element.as_str()) {
                    ("Placemark", "name") => {
                        placemark.properties.insert(0, ("name".to_owned(), said.trim().to_owned()))
                    }
                    ("Data", "value") | (_, "SimpleData") => {
                        placemark.properties.push((named.clone(), said.trim().to_owned()));
                    }
                    ("LinearRing", "coordinates") => ring(placemark, &path, &said),
                    (_, "Placemark") => out.extend(open.take().map(outline)),
                    _ => {}
                }
                said.clear();
            }
            Event::Eof if path.is_empty() => return Ok(out),
            Event::Eof => return Err("expected KML, but the file ends in the middle".to_owned()),
            _ => {}
        }
    }
}

/// Adds a ring to the polygon that is open.
fn ring(placemark: &mut Placemark, path: &[String], text: &str) {
    let point = |word: &str| {
        let mut numbers = word.split(',').map(|number| number.trim().parse::<f64>().ok());
        Some((numbers.next()??, numbers.next()??))
    };
    let points: Option<Vec<(f64, f64)>> = text.split_whitespace().map(point).collect();
    match (points, placemark.polygons.last_mut()) {
        (Some(points), Some(rings)) if path.iter().any(|element| element == "outerBoundaryIs") => {
            rings.insert(0, points)
        }
        (Some(points), Some(rings)) => rings.push(points),
        (None, _) => placemark.wrong = Some("expected coordinates as `longitude,latitude` parted by blanks".to_owned()),
        (_, None) => placemark.other = Some("LinearRing".to_owned()),
    }
}

fn outline(placemark: Placemark) -> Outline {
    let Placemark { properties, polygons, other, wrong } = placemark;
    let polygons = match (wrong, other) {
        (Some(wrong), _) => Err(wrong),
        (None, Some(other)) if polygons.is_empty() => Err(format!("expected a polygon, got a {other}")),
        _ => Ok(polygons),
    };
    Outline::new(properties, polygons)
}

fn local(name: &[u8]) -> String {
    String::from_utf8_lossy(name).into_owned()
}

fn attribute(start: &BytesStart<'_>, name: &str) -> String {
    let found = start.try_get_attribute(name).ok().flatten();
    found.and_then(|attribute| Some(attribute.unescape_value().ok()?.into_owned())).unwrap_or_default()
}
