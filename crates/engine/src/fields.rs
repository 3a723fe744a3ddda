//! The crew's fields.

mod boundary;
mod bring;
mod doubles;
mod grounds;
mod outline;
mod roster;
mod whole;

use std::ops::RangeInclusive;

use ligule_journal::JournalError;
use ligule_observation::field::Field;
use ligule_observation::field::boundary::Boundary;
use ligule_observation::field::merge::United;
use ligule_observation::kinds::KindSet;
use ligule_observation::record::Place;
use ligule_units::{Unit, parse};
use serde::Serialize;

use crate::error::{EngineError, Result, known};
use crate::phrases::Phrase;
use crate::reading::Reading;
use crate::{Engine, moment, now, random};

pub use boundary::Drawn;
pub(crate) use boundary::{field_at, place_fits, place_text, where_it_lies};
pub use bring::{Bring, Brought};
pub use doubles::Double;
pub(crate) use grounds::Grounds;
pub use roster::{Keep, Kept, Sort, TEXTURES};
pub(crate) use whole::retired_note;
pub use whole::{Merged, Parted, Split};

/// A field to be added, as typed.
#[derive(Debug, Clone, Default)]
pub struct NewField {
    /// A short name, unique in the crew.
    pub name: String,
    /// Who farms it.
    pub grower: String,
    /// State or province, ISO 3166-2.
    pub region: String,
    /// IANA time zone.
    pub zone: String,
    /// The crop.
    pub crop: Option<String>,
    /// Usual row width, with unit.
    pub row: Option<String>,
    /// Area, with unit.
    pub area: Option<String>,
    /// Latitude and longitude in degrees.
    pub place: Option<String>,
    /// The weather station that stands for it.
    pub station: Option<String>,
    /// The name of its soil.
    pub soil: Option<String>,
}

/// What to correct of a field, as typed.
#[derive(Debug, Clone, Default)]
pub struct FieldChange {
    /// Its name.
    pub name: Option<String>,
    /// Who farms it.
    pub grower: Option<String>,
    /// State or province, ISO 3166-2.
    pub region: Option<String>,
    /// IANA time zone.
    pub zone: Option<String>,
    /// The crop.
    pub crop: Option<String>,
    /// Usual row width, with unit.
    pub row: Option<String>,
    /// Area, with unit.
    pub area: Option<String>,
    /// Latitude and longitude in degrees.
    pub place: Option<String>,
    /// The weather station that stands for it.
    pub station: Option<String>,
    /// The name of its soil.
    pub soil: Option<String>,
}

/// A field in a listing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FieldLine {
    /// Its identifier.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Who farms it.
    pub grower: String,
    /// State or province.
    pub region: String,
    /// IANA time zone.
    pub zone: String,
    /// The crop.
    pub crop: String,
    /// Area, hectares.
    pub area_ha: Option<f64>,
    /// The weather station that stands for it.
    pub station: String,
    /// The name of its soil.
    pub soil: String,
    /// Where it lies, as a GeoJSON geometry.
    pub boundary: Option<serde_json::Value>,
    /// No longer farmed by the crew.
    pub retired: bool,
}

impl Engine {
    /// Adds a field to the crew's list; it is durable when this returns.
    pub fn add_field(&mut self, new: NewField) -> Result<FieldLine> {
        if let Some(soil) = new.soil.as_deref().filter(|soil| !soil.is_empty()) {
            self.kept(Sort::Soil, soil)?;
        }
        let field = read_field(&new, new_id(now())?, &self.kinds, &self.reading)?;
        self.put_named(&field)?;
        Ok(line(&field))
    }

    /// Corrects a field; what is not given stays.
    pub fn amend_field(&mut self, which: &str, change: &FieldChange) -> Result<FieldLine> {
        let old = self.field(which)?;
        let inches = old.row_width_mil.map(|mil| format!("{}in", crate::number::decimal(mil, 3)));
        let square_metres = old.area_m2.map(|m2| format!("{m2} m2"));
        let place = old.lat_e7.zip(old.lon_e7).map(|(lat, lon)| {
            format!("{},{}", crate::number::decimal(lat.into(), 7), crate::number::decimal(lon.into(), 7))
        });
        let or = |new: &Option<String>, old: &str| new.clone().unwrap_or_else(|| old.to_owned());
        let new = NewField {
            name: or(&change.name, &old.name),
            grower: or(&change.grower, &old.grower),
            region: or(&change.region, &old.region),
            zone: or(&change.zone, &old.zone),
            crop: change.crop.clone().or_else(|| Some(old.crop.clone())),
            row: change.row.clone().or(inches),
            area: change.area.clone().or(square_metres),
            place: change.place.clone().or(place),
            station: change.station.clone().or_else(|| Some(old.station.clone())),
            soil: change.soil.clone().or_else(|| Some(old.soil.clone())),
        };
        if let Some(soil) = change.soil.as_deref().filter(|soil| !soil.is_empty()) {
            self.kept(Sort::Soil, soil)?;
        }
        let read = read_field(&new, old.id.clone(), &self.kinds, &self.reading)?;
        let field = Field {
            retired: old.retired,
            boundary: old.boundary,
            split_from: old.split_from,
            merged_into: old.merged_into,
            ..read
        };
        self.put_named(&field)?;
        Ok(line(&field))
    }

    /// Writes a field whose name a person typed.
    fn put_named(&self, field: &Field) -> Result<()> {
        let person = self.journal.identity().person;
        self.journal.put_field(field, &person, now()).map_err(|error| match error {
            JournalError::FieldNameTaken { name } => {
                EngineError::user(self.reading.say(Phrase::FieldNameTaken, &[("name", &name)]), "")
            }
            other => other.into(),
        })
    }

    /// Returns the crew's fields by name, retired ones left out.
    pub fn fields(&self) -> Result<Vec<FieldLine>> {
        self.field_lines(false)
    }

    /// Returns the crew's fields by name, with retired ones only where asked for.
    pub fn field_lines(&self, retired: bool) -> Result<Vec<FieldLine>> {
        Ok(self.journal.fields()?.iter().filter(|field| retired || !field.retired).map(line).collect())
    }

    /// Returns a field by its name, or names the nearest.
    pub(crate) fn field(&self, name: &str) -> Result<Field> {
        find(self.journal.all_fields()?, name, &self.reading)
    }
}

/// Returns the field of that name or identifier, or names the nearest.
///
/// `fields` are all that the crew has. A field that was made part of another answers under its own name and identifier
/// too, as the one that is spoken of. Two devices may have added a field of one name before they met; such a name means
/// neither.
pub(crate) fn find(fields: Vec<Field>, name: &str, reading: &Reading) -> Result<Field> {
    let united = United::of(&fields);
    let spoken = |field: &Field| united.home(&field.id) == field.id;
    let alike: Vec<&str> = fields
        .iter()
        .filter(|field| field.name == name && !field.retired && spoken(field))
        .map(|field| field.id.as_str())
        .collect();
    if alike.len() > 1 {
        let with: [(&str, &dyn std::fmt::Display); 3] =
            [("n", &alike.len()), ("name", &name), ("ids", &alike.join(", "))];
        return Err(EngineError::user(
            reading.say(Phrase::FieldsOfOneName, &with),
            reading.say(Phrase::MergeOrRename, &[("name", &name)]),
        ));
    }
    // The one that bears the name now, before one that was retired or made part of another.
    let meant = alike.first().map(|id| (*id).to_owned()).or_else(|| {
        let named: Vec<&Field> = fields.iter().filter(|field| field.id == name || field.name == name).collect();
        let first = named.iter().find(|field| field.id == name).or_else(|| named.iter().find(|field| spoken(field)));
        first.or(named.first()).map(|field| united.home(&field.id).to_owned())
    });
    let names: Vec<String> = fields.iter().filter(|field| spoken(field)).map(|field| field.name.clone()).collect();
    meant.and_then(|id| fields.into_iter().find(|field| field.id == id)).ok_or_else(|| {
        let hint = if names.is_empty() {
            reading.word(Phrase::NoFieldsYet).to_owned()
        } else {
            reading.known_of(Phrase::FieldsAre, name, names, "ligule field list")
        };
        EngineError::user(reading.say(Phrase::NoSuchField, &[("name", &name)]), hint)
    })
}

fn line(field: &Field) -> FieldLine {
    FieldLine {
        id: field.id.clone(),
        name: field.name.clone(),
        grower: field.grower.clone(),
        region: field.region.clone(),
        zone: field.zone.clone(),
        crop: field.crop.clone(),
        area_ha: field.area_m2.map(|m2| m2 as f64 / 10_000.0),
        station: field.station.clone(),
        soil: field.soil.clone(),
        boundary: Boundary::from_text(&field.boundary).map(|boundary| boundary::geometry(&boundary)),
        retired: field.retired,
    }
}

fn new_id(made: jiff::Timestamp) -> Result<String> {
    Ok(ulid::Ulid::from_parts(made.as_millisecond().unsigned_abs(), u128::from_be_bytes(random()?)).to_string())
}

fn read_field(new: &NewField, id: String, kinds: &KindSet, reading: &Reading) -> Result<Field> {
    short_name(&new.name, reading)?;
    if new.grower.trim().is_empty() || new.grower.chars().any(char::is_control) {
        return Err(EngineError::user(reading.word(Phrase::GrowerNobody), reading.word(Phrase::NameGrower)));
    }
    region(&new.region, kinds)?;
    moment::zone_typed(&new.zone, reading)?;
    let place = new.place.as_deref().map(|place| read_place(place, reading)).transpose()?;
    Ok(Field {
        id,
        name: new.name.clone(),
        grower: new.grower.trim().to_owned(),
        region: new.region.clone(),
        zone: new.zone.clone(),
        // A field is larger than a garden and smaller than a county (common practice, no source).
        area_m2: fixed("area", new.area.as_deref(), reading, "[acr_us]", "m2", 0, 100..=1_000_000_000)?,
        row_width_mil: fixed("row width", new.row.as_deref(), reading, "[in_i]", "[in_i]", 3, 4_000..=80_000)?,
        crop: new.crop.clone().unwrap_or_default(),
        lon_e7: place.map(|place| place.lon_e7),
        lat_e7: place.map(|place| place.lat_e7),
        station: new.station.clone().unwrap_or_default(),
        soil: new.soil.clone().unwrap_or_default(),
        ..Field::default()
    })
}

/// Checks a field's name.
fn short_name(name: &str, reading: &Reading) -> Result<()> {
    let plain = |c: char| c.is_alphanumeric() || c == '-' || c == '_' || c == '.';
    if name.is_empty() || name.len() > 60 || name.starts_with('-') || !name.chars().all(plain) {
        let what = reading.say(Phrase::FieldNameExpected, &[("name", &name)]);
        return Err(EngineError::user(what, reading.word(Phrase::FieldNameForm)));
    }
    Ok(())
}

/// Reads a quantity as it is kept: in the unit `code` × 10^`scale`; without a unit it is in what is read instead of `bare`.
fn fixed(
    what: &str,
    text: Option<&str>,
    reading: &Reading,
    bare: &str,
    code: &str,
    scale: u8,
    range: RangeInclusive<i64>,
) -> Result<Option<i64>> {
    let Some(text) = text else { return Ok(None) };
    let unit =
        |code| Unit::by_ucum(code).ok_or_else(|| EngineError::user(format!("{code} is not a unit known here"), ""));
    let refuse = |why: String| {
        let what = reading.heading(what);
        EngineError::user(format!("{what}: {why}"), reading.word(Phrase::GiveFieldQuantity))
    };
    let (bare, kept) = (reading.system.unit_for(unit(bare)?), unit(code)?);
    let read = |text: &str| parse(text, bare)?.to_fixed(kept, scale);
    let text = &reading.without_comma(text, |whole| read(whole).is_ok_and(|n| range.contains(&n))).map_err(refuse)?;
    let n = read(text).map_err(|error| refuse(reading.quantity_refusal(&error)))?;
    if !range.contains(&n) {
        return Err(refuse(reading.say(Phrase::OutOfRange, &[("text", &text)])));
    }
    Ok(Some(n))
}

/// The list of the regions that are known by name.
const REGIONS: &str = "regions";

/// Checks an ISO 3166-2 code: of a country in the list of regions it has to be there; of any other its form has to hold.
fn region(code: &str, kinds: &KindSet) -> Result<()> {
    let list = kinds.codelist(REGIONS);
    if let Some(meant) = list.and_then(|list| list.find(code)) {
        if meant.code == code {
            return Ok(());
        }
        return Err(EngineError::user(
            format!("expected a region as ISO 3166-2 writes it, got `{code}`"),
            format!("did you mean `{}`?", meant.code),
        ));
    }
    let form = code.split_once('-').filter(|(country, part)| {
        country.len() == 2
            && country.bytes().all(|b| b.is_ascii_uppercase())
            && (1..=3).contains(&part.len())
            && part.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
    });
    let Some((country, _)) = form else {
        return Err(EngineError::user(
            format!("expected a region as ISO 3166-2 writes it, got `{code}`"),
            "country and state or province in capitals: `US-IA`, `CA-ON`",
        ));
    };
    let of_country = |region: &&str| region.split_once('-').is_some_and(|(of, _)| of == country);
    let listed = list.into_iter().flat_map(|list| &list.codes).map(|region| region.code.as_str());
    let siblings: Vec<&str> = listed.filter(of_country).collect();
    if siblings.is_empty() {
        return Ok(());
    }
    Err(EngineError::user(
        format!("`{code}` is no code of ISO 3166-2 in {country}"),
        known(&format!("regions of {country}"), code, siblings),
    ))
}

/// Reads `LAT,LON` in degrees.
pub(crate) fn read_place(text: &str, reading: &Reading) -> Result<Place> {
    let bad =
        || EngineError::user(reading.say(Phrase::PlaceExpected, &[("text", &text)]), reading.word(Phrase::PlaceForm));
    let (lat, lon) = text.split_once(',').ok_or_else(bad)?;
    let degrees = |text: &str, limit: f64| -> Result<i32> {
        let value: f64 = text.trim().parse().map_err(|_| bad())?;
        if !value.is_finite() || value.abs() > limit {
            return Err(bad());
        }
        // At most 1.8e9, which fits.
        Ok((value * 1e7).round() as i32)
    };
    Ok(Place { lat_e7: degrees(lat, 90.0)?, lon_e7: degrees(lon, 180.0)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_latitude_and_longitude() {
        assert_eq!(
            read_place("42.0318, -93.6203", &Reading::default()).expect("a place"),
            Place { lat_e7: 420_318_000, lon_e7: -936_203_000 }
        );
        for text in ["42.03", "north,west", "91,0", "0,181", "NaN,1", ""] {
            let error = read_place(text, &Reading::default()).expect_err(text).message;
            assert!(error.contains("-90 to 90") && error.contains("-180 to 180"), "{error}");
        }
    }

    #[test]
    fn regions_are_iso_3166_2() {
        let kinds = KindSet::builtin();
        // Of a country that is not in the list only the form is checked.
        for text in ["US-IA", "CA-ON", "MX-JAL"] {
            assert!(region(text, &kinds).is_ok(), "{text}");
        }
        for (text, hint) in [
            ("US-ZZ", "did you mean `US-"),
            ("US-ON", "the regions of US are US-AK, "),
            ("CA-PQ", "did you mean `CA-P"),
            ("Iowa", "did you mean `US-IA`?"),
            ("us-ia", "did you mean `US-IA`?"),
            ("US", "`US-IA`, `CA-ON`"),
            ("US-", "`US-IA`, `CA-ON`"),
            ("USA-IA", "`US-IA`, `CA-ON`"),
            ("US-IOWA", "`US-IA`, `CA-ON`"),
        ] {
            let refused = region(text, &kinds).expect_err(text);
            assert!(refused.hint.as_deref().is_some_and(|told| told.contains(hint)), "{text}: {refused:?}");
        }
    }
}
