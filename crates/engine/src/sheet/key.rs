//! Names of imported observations, which depend on what the sheet says and on nothing else.
//!
//! Whoever imports a sheet, on whichever device and however often, gives its observations the same names; so they are
//! one when devices meet. A visit is what one person saw of a field on one day; the number within it is a hash of the
//! observation's kind, time, place and values, and of how often the same came before in the sheet.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use ligule_observation::record::{Place, Value};

/// Returns the visit's ULID: the day's noon as its time, a hash as its random part.
///
/// `by` is who the sheet says observed, empty where it does not say.
pub(super) fn visit(field: &str, day: Date, offset_minutes: i16, by: &str, noon: Timestamp) -> String {
    let mut hasher = blake3::Hasher::new_derive_key("ligule imported visit 1");
    part(&mut hasher, field.as_bytes());
    part(&mut hasher, day.to_string().as_bytes());
    part(&mut hasher, &offset_minutes.to_be_bytes());
    part(&mut hasher, by.as_bytes());
    let mut random = [0_u8; 16];
    random[6..].copy_from_slice(&hasher.finalize().as_bytes()[..10]);
    // A ULID's time starts in 1970; earlier days share its first instant and differ in the hash.
    let milliseconds = u64::try_from(noon.as_millisecond()).unwrap_or(0);
    ulid::Ulid::from_parts(milliseconds, u128::from_be_bytes(random)).to_string()
}

/// Tells whether a visit is one that an import made: of that field, on that offset, by whom the sheet names (empty where it
/// names nobody).
pub(crate) fn is_imported(id: &str, field: &str, offset_minutes: i16, by: &str) -> bool {
    under(id, field, offset_minutes, by).is_some_and(|visit| visit == id)
}

/// Returns the identifier that an imported visit would have, had the sheet named another field.
pub(crate) fn under(id: &str, field: &str, offset_minutes: i16, by: &str) -> Option<String> {
    let noon = crate::moment::of_ulid(id)?;
    let offset = jiff::tz::Offset::from_seconds(i32::from(offset_minutes) * 60).ok()?;
    Some(visit(field, offset.to_datetime(noon).date(), offset_minutes, by, noon))
}

/// Returns the hash of a sample that is said to be another than what is there, whatever that says: sheets of one name have
/// it once.
pub(super) fn of_sheet(content: &[u8; 32], sheet: &str) -> [u8; 32] {
    let mut hasher = blake3::Hasher::new_derive_key("ligule further observation 1");
    part(&mut hasher, content);
    part(&mut hasher, sheet.as_bytes());
    *hasher.finalize().as_bytes()
}

/// What an observation is told from others by.
pub(super) struct Content<'a> {
    pub(super) kind: &'a str,
    pub(super) at: Timestamp,
    pub(super) place: Option<Place>,
    pub(super) values: BTreeMap<&'a str, &'a Value>,
}

impl Content<'_> {
    /// Returns the hash of all that it says.
    pub(super) fn hash(&self) -> [u8; 32] {
        let mut hasher = blake3::Hasher::new_derive_key("ligule imported observation 1");
        part(&mut hasher, self.kind.as_bytes());
        part(&mut hasher, &self.at.as_millisecond().to_be_bytes());
        if let Some(place) = self.place {
            part(&mut hasher, &place.lat_e7.to_be_bytes());
            part(&mut hasher, &place.lon_e7.to_be_bytes());
        }
        for (name, value) in &self.values {
            part(&mut hasher, name.as_bytes());
            match value {
                Value::Int(n) => part(&mut hasher, &n.to_be_bytes()),
                Value::Text(text) => part(&mut hasher, text.as_bytes()),
            }
        }
        *hasher.finalize().as_bytes()
    }
}

/// Returns the number of an observation within its visit: the one that comes after `before` others that say the same,
/// at the `attempt`-th try, should another observation of the visit have the number already.
pub(super) fn number(content: &[u8; 32], before: u32, attempt: u32) -> u32 {
    let mut hasher = blake3::Hasher::new_derive_key("ligule imported number 1");
    hasher.update(content);
    hasher.update(&before.to_be_bytes());
    hasher.update(&attempt.to_be_bytes());
    let hash = hasher.finalize();
    let four = [hash.as_bytes()[0], hash.as_bytes()[1], hash.as_bytes()[2], hash.as_bytes()[3]];
    u32::from_be_bytes(four)
}

/// Adds one part, with its length, so that no two lists of parts look the same.
fn part(hasher: &mut blake3::Hasher, bytes: &[u8]) {
    hasher.update(&(bytes.len() as u64).to_be_bytes());
    hasher.update(bytes);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Journals keep these names: another value here makes every sheet that was imported before come in again.
    #[test]
    fn names_stay_as_they_are() {
        let noon: Timestamp = "2026-05-28T17:00:00Z".parse().expect("an instant");
        let day = jiff::civil::date(2026, 5, 28);
        let visit = visit("01J9Z3K7W8Q2R5T6V7X8Y9Z0A1", day, -300, "Imke Voss", noon);
        let (plants, crop) = (Value::Int(310), Value::Text("corn".into()));
        let content = Content {
            kind: "stand-count",
            at: noon,
            place: Some(Place { lon_e7: -936_203_000, lat_e7: 420_318_000 }),
            values: BTreeMap::from([("plants", &plants), ("crop", &crop)]),
        };
        assert_eq!((visit.as_str(), number(&content.hash(), 0, 0)), (VISIT, NUMBER));
        assert_ne!(number(&content.hash(), 1, 0), NUMBER);
        let field = "01J9Z3K7W8Q2R5T6V7X8Y9Z0A1";
        assert!(is_imported(VISIT, field, -300, "Imke Voss"));
        for (field, offset, by) in
            [("01J9Z3K7W8Q2R5T6V7X8Y9Z0A2", -300, "Imke Voss"), (field, -360, "Imke Voss"), (field, -300, "")]
        {
            assert!(!is_imported(VISIT, field, offset, by));
        }
    }

    #[test]
    fn a_further_sample_is_of_its_sheet() {
        let content = [7; 32];
        let (one, other) = (of_sheet(&content, "morning.csv"), of_sheet(&content, "noon.csv"));
        assert_eq!(number(&one, 0, 0), 347_037_622, "journals keep it");
        assert!(one != other && one != content);
    }

    const VISIT: &str = "01KSQREMM04VMZ1HPA92R830SH";
    const NUMBER: u32 = 3_779_982_694;
}
