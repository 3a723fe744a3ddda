//! Outlines of fields in files of other programs.
//!
//! A file is read whole, within limits, into outlines: properties as text, and a boundary or the reason why there is none.
//! Only WGS 84 longitude and latitude are taken; a file that says, or whose numbers show, that it holds anything else is
//! refused, because a field somewhere else in silence is worse than none.

mod geojson;
mod kml;
mod shapefile;
#[cfg(test)]
mod tests;

use std::path::Path;

use ligule_observation::field::boundary::{Boundary, NoBoundary};

use crate::error::{EngineError, Fault, Result};

/// The largest file that is read, bytes.
const BYTES: u64 = 16 << 20;

/// The most outlines of a file.
const OUTLINES: usize = 20_000;

/// How to bring a file into the form that is taken.
const REPROJECT: &str = "save it anew in WGS 84 longitude and latitude (EPSG:4326), for example with \
                         `ogr2ogr -t_srs EPSG:4326 NEW OLD`";

/// Polygons, each an outer ring and its holes, of longitude and latitude.
type Polygons = Vec<Vec<Vec<(f64, f64)>>>;

/// One outline of a file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Outline {
    /// What the file tells of it: name and value, in the file's order.
    pub(crate) properties: Vec<(String, String)>,
    /// Where it lies, or why that cannot be told.
    pub(crate) boundary: std::result::Result<Boundary, String>,
}

impl Outline {
    fn new(properties: Vec<(String, String)>, polygons: std::result::Result<Polygons, String>) -> Self {
        let boundary = polygons.and_then(|polygons| {
            Boundary::new(&polygons).map_err(|error| match error {
                NoBoundary::OutOfRange { .. } => format!("{error}; {REPROJECT}"),
                NoBoundary::TooMany { .. } => format!("{error}; thin out its points first"),
                _ => error.to_string(),
            })
        });
        Self { properties, boundary }
    }

    /// Returns a property; letters' case counts only where there are two names that differ in nothing else.
    pub(crate) fn property(&self, name: &str) -> Option<&str> {
        let exact = self.properties.iter().find(|(known, _)| known == name);
        let found = exact.or_else(|| self.properties.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)));
        found.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
    }
}

/// Reads the outlines of a GeoJSON, KML or Shapefile file, told apart by the ending of its name.
pub(crate) fn read(path: &Path) -> Result<Vec<Outline>> {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_ascii_lowercase();
    let outlines = match ending.as_str() {
        "geojson" | "json" => geojson::read(&text(path)?),
        "kml" => kml::read(&text(path)?),
        "shp" => shapefile::read(path),
        "kmz" => Err("a KMZ file is a packed KML file; unpack it first (`unzip`)".to_owned()),
        _ => Err("expected a file named .geojson, .json, .kml or .shp".to_owned()),
    };
    let outlines = outlines.map_err(|why| at(path, why))?;
    match outlines.len() {
        0 => Err(at(path, "there is no outline in it")),
        1..=OUTLINES => Ok(outlines),
        n => Err(at(path, format!("expected at most {OUTLINES} outlines, got {n}"))),
    }
}

fn at(path: &Path, why: impl std::fmt::Display) -> EngineError {
    EngineError::new(Fault::User, format!("{}: {why}", path.display()), "nothing was changed")
}

/// Reads a file, or a file beside it, that is not too large.
fn bytes(path: &Path) -> Result<Vec<u8>> {
    let told = |error: std::io::Error| at(path, error);
    let length = std::fs::metadata(path).map_err(told)?.len();
    if length > BYTES {
        return Err(at(path, format!("expected a file of at most {} MiB, got {length} bytes", BYTES >> 20)));
    }
    std::fs::read(path).map_err(told)
}

fn text(path: &Path) -> Result<String> {
    let bytes = bytes(path)?;
    let bare = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
    String::from_utf8(bare.to_vec()).map_err(|_| at(path, "expected text in UTF-8"))
}
