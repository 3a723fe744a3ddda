//! When and where the camera says a picture was taken (EXIF).

use std::io::Cursor;

use exif::{DateTime, Exif, In, Rational, Reader, Tag, Value};

/// What the camera says; a part that is not there or makes no sense is none.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Told {
    /// When, as `2026-06-12T09:40:00`, with the offset where the file has one.
    pub(super) at: Option<String>,
    /// Latitude and longitude in degrees, as `42.0312345,-93.6200000`.
    pub(super) place: Option<String>,
}

/// Reads what the beginning of a file says.
pub(super) fn told(beginning: &[u8]) -> Told {
    let Ok(exif) = Reader::new().read_from_container(&mut Cursor::new(beginning)) else { return Told::default() };
    Told { at: at(&exif), place: place(&exif) }
}

fn ascii(exif: &Exif, tag: Tag) -> Option<&[u8]> {
    match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Ascii(texts) => texts.first().map(Vec::as_slice),
        _ => None,
    }
}

fn at(exif: &Exif) -> Option<String> {
    let mut time = DateTime::from_ascii(ascii(exif, Tag::DateTimeOriginal)?).ok()?;
    // A clock that was never set says year 0 or the like: whether it makes sense is decided by the calendar.
    let text = format!(
        "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}",
        time.year, time.month, time.day, time.hour, time.minute, time.second
    );
    text.parse::<jiff::civil::DateTime>().ok().filter(|_| time.year > 0)?;
    let offset = ascii(exif, Tag::OffsetTimeOriginal).filter(|offset| time.parse_offset(offset).is_ok());
    let offset = offset.and(time.offset).filter(|minutes| minutes.abs() < 24 * 60);
    Some(match offset {
        None => text,
        Some(minutes) => {
            let sign = if minutes < 0 { '-' } else { '+' };
            format!("{text}{sign}{:02}:{:02}", minutes.abs() / 60, minutes.abs() % 60)
        }
    })
}

fn place(exif: &Exif) -> Option<String> {
    let latitude = degrees(exif, Tag::GPSLatitude, Tag::GPSLatitudeRef, (b'N', b'S'), 90.0)?;
    let longitude = degrees(exif, Tag::GPSLongitude, Tag::GPSLongitudeRef, (b'E', b'W'), 180.0)?;
    // Receivers that have seen no satellite write zeros.
    let nowhere = latitude == 0.0 && longitude == 0.0;
    (!nowhere).then(|| format!("{latitude:.7},{longitude:.7}"))
}

/// Reads degrees, minutes and seconds.
fn degrees(exif: &Exif, tag: Tag, side: Tag, (plus, minus): (u8, u8), most: f64) -> Option<f64> {
    let Value::Rational(parts) = &exif.get_field(tag, In::PRIMARY)?.value else { return None };
    let part = |index: usize| parts.get(index).map_or(Some(0.0), |r: &Rational| (r.denom != 0).then(|| r.to_f64()));
    let whole = part(0)? + part(1)? / 60.0 + part(2)? / 3600.0;
    let sign = match ascii(exif, side)?.first()? {
        side if *side == plus => 1.0,
        side if *side == minus => -1.0,
        _ => return None,
    };
    (!parts.is_empty() && whole <= most).then_some(sign * whole)
}
