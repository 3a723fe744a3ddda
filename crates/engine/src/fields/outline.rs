//! Outlines of fields in files of other programs.
//!
//! A file is read whole, within limits, into outlines: properties as text, and a boundary or the reason why there is none.
//! Only longitude and latitude on WGS 84, and with a note on NAD 83, are taken; a file that says, or whose numbers show, that it holds anything else is
//! refused, because a field somewhere else in silence is worse than none.

mod geojson;
mod kml;
mod shapefile;
#[cfg(test)]
mod tests;

use std::io::{Cursor, Read};
use std::path::Path;

use ligule_observation::field::boundary::{Boundary, NoBoundary};

use crate::error::{EngineError, Fault, Result};

/// The largest file that is read, bytes.
const BYTES: u64 = 16 << 20;

/// The most outlines of a file.
const OUTLINES: usize = 20_000;

/// What helps where the numbers can only be a latitude and a longitude. *Source:* RFC 7946, section 3.1.1 (memory).
const SWAPPED: &str = "they look swapped: the longitude comes first";

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
    /// What is to be known of where it lies.
    pub(crate) note: Option<&'static str>,
}

/// In which system of longitude and latitude a file says that it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum System {
    Wgs84,
    /// NAD 83, in any of its realizations.
    Nad83,
    /// The file does not say.
    Untold,
}

/// What is said of an outline on NAD 83, which is taken as it is.
///
/// *Source:* the origins of NAD 83 and of WGS 84 lie about 2 m apart (D. Doyle, National Geodetic Survey, 10 May 2000, "NAD-83 vs
/// WGS-84"; page). A field's boundary, walked or drawn, is known no better.
const NAD_83: &str = "its coordinates are on NAD 83 and are taken for WGS 84: up to 2 m off";

/// What is said of an outline of which no file tells the system.
const UNTOLD: &str = "no .prj file tells its system; its numbers are taken for longitude and latitude on WGS 84";

impl System {
    fn note(self) -> Option<&'static str> {
        match self {
            Self::Wgs84 => None,
            Self::Nad83 => Some(NAD_83),
            Self::Untold => Some(UNTOLD),
        }
    }
}

impl Outline {
    fn new(properties: Vec<(String, String)>, polygons: std::result::Result<Polygons, String>) -> Self {
        let boundary = polygons.and_then(|polygons| {
            Boundary::new(&polygons).map_err(|error| match error {
                NoBoundary::OutOfRange { lon, lat } if lon.abs() <= 90.0 && lat.abs() <= 180.0 => {
                    format!("{error}; {SWAPPED}")
                }
                NoBoundary::OutOfRange { .. } => format!("{error}; {REPROJECT}"),
                NoBoundary::TooMany { .. } => format!("{error}; thin out its points first"),
                _ => error.to_string(),
            })
        });
        Self { properties, boundary, note: None }
    }

    fn on(self, system: System) -> Self {
        Self { note: system.note().filter(|_| self.boundary.is_ok()), ..self }
    }

    /// Returns a property; letters' case counts only where there are two names that differ in nothing else.
    pub(crate) fn property(&self, name: &str) -> Option<&str> {
        let exact = self.properties.iter().find(|(known, _)| known == name);
        let found = exact.or_else(|| self.properties.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)));
        found.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
    }
}

/// Reads the outlines of a GeoJSON, KML, KMZ or Shapefile file, or of a Shapefile in a ZIP archive, told apart by the ending
/// of its name.
pub(crate) fn read(path: &Path) -> Result<Vec<Outline>> {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_ascii_lowercase();
    let outlines = match ending.as_str() {
        "geojson" | "json" => geojson::read(&text(path)?),
        "kml" => kml::read(&text(path)?),
        "shp" => shapefile::read_beside(path),
        "kmz" => kmz(&bytes(path)?),
        "zip" => zipped(&bytes(path)?),
        _ => Err("expected a file named .geojson, .json, .kml, .kmz, .shp or .zip".to_owned()),
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
    utf8(&bytes(path)?).map_err(|why| at(path, why))
}

fn utf8(bytes: &[u8]) -> std::result::Result<String, String> {
    let bare = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    String::from_utf8(bare.to_vec()).map_err(|_| "expected text in UTF-8".to_owned())
}

/// Reads the KML file in a KMZ archive: `doc.kml`, else the first at its root (OGC 12-007r2, KML 2.3, annex C; memory).
fn kmz(bytes: &[u8]) -> std::result::Result<Vec<Outline>, String> {
    let mut archive = Archive::open(bytes).map_err(|error| format!("expected a KMZ archive: {error}"))?;
    let names: Vec<&str> = archive.names("kml").collect();
    let root = names.iter().find(|name| !name.contains('/'));
    let name = names.iter().find(|name| **name == "doc.kml").or(root).or(names.first());
    let name = (*name.ok_or("there is no KML file in it")?).to_owned();
    kml::read(&utf8(&archive.bytes(&name)?)?)
}

/// Reads the Shapefile in a ZIP archive, as growers and offices hand them on.
fn zipped(bytes: &[u8]) -> std::result::Result<Vec<Outline>, String> {
    let mut archive = Archive::open(bytes).map_err(|error| format!("expected a ZIP archive: {error}"))?;
    // What some systems put beside every file for themselves is none of the shapes.
    let names: Vec<&str> = archive.names("shp").filter(|name| !name.starts_with("__MACOSX/")).collect();
    let [shp] = names[..] else {
        return Err(match names.len() {
            0 => "there is no Shapefile in it".to_owned(),
            n => format!("there are {n} Shapefiles in it: {}; unpack the one that is meant", names.join(", ")),
        });
    };
    let (shp, stem) = (shp.to_owned(), shp[..shp.len() - "shp".len()].to_ascii_lowercase());
    let shapes = archive.bytes(&shp)?;
    let beside = |ending: &str| {
        let is = |name: &&str| name.to_ascii_lowercase().strip_prefix(&stem).is_some_and(|rest| rest == ending);
        let name = archive.names(ending).find(is).map(str::to_owned);
        name.map(|name| archive.bytes(&name)).transpose()
    };
    shapefile::read(shapes, beside)
}

/// An archive that comes from anywhere: nothing in it is unpacked beyond what is read at all.
struct Archive<'a>(zip::ZipArchive<Cursor<&'a [u8]>>);

impl<'a> Archive<'a> {
    fn open(bytes: &'a [u8]) -> zip::result::ZipResult<Self> {
        zip::ZipArchive::new(Cursor::new(bytes)).map(Self)
    }

    /// Returns the names that end so, in small letters or in capitals.
    fn names(&self, ending: &str) -> impl Iterator<Item = &str> {
        self.0
            .file_names()
            .filter(move |name| name.rsplit_once('.').is_some_and(|(_, found)| found.eq_ignore_ascii_case(ending)))
    }

    fn bytes(&mut self, name: &str) -> std::result::Result<Vec<u8>, String> {
        let unread = |error: &dyn std::fmt::Display| format!("`{name}` in it cannot be read: {error}");
        let mut bytes = Vec::new();
        let inside = self.0.by_name(name).map_err(|error| unread(&error))?;
        inside.take(BYTES + 1).read_to_end(&mut bytes).map_err(|error| unread(&error))?;
        if bytes.len() as u64 > BYTES {
            return Err(format!("`{name}` in it unpacks to more than {} MiB", BYTES >> 20));
        }
        Ok(bytes)
    }
}
