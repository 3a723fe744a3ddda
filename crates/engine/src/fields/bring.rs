//! Fields out of a file of outlines: new ones are added, those that are there get their boundary.

use std::collections::BTreeMap;
use std::path::Path;

use ligule_observation::field::Field;
use serde::Serialize;

use super::outline::{self, Outline};
use super::{NewField, boundary, find, new_id, read_field};
use crate::error::{EngineError, Result, known};
use crate::{Engine, now};

/// Properties by which files of outlines tell a field's name, the likeliest first (common practice, no source).
const NAMES: [&str; 6] = ["name", "field", "field_name", "fieldname", "field_id", "label"];

/// Properties by which they tell who farms it.
const GROWERS: [&str; 4] = ["grower", "grower_name", "farmer", "client"];

/// What a file of outlines does not tell, and which of its properties tell the rest.
#[derive(Debug, Clone, Default)]
pub struct Bring {
    /// The property that names the field; guessed where it is not given.
    pub name: Option<String>,
    /// The property that names the grower; guessed where it is not given.
    pub grower_from: Option<String>,
    /// What new fields have in common; `grower` stands in where the file names none.
    pub common: NewField,
    /// Takes what holds and leaves the rest.
    pub keep_good: bool,
}

/// What came of one outline.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Brought {
    /// Its place in the file, from 1.
    pub outline: usize,
    /// The field's name; as the file tells it where it was refused.
    pub field: String,
    /// `added`, `drawn` (it was there and got this boundary), `unchanged`, or `refused`; where another one was refused and so
    /// nothing was written, `would be added` and `would be drawn`.
    pub what: &'static str,
    /// Its area, hectares.
    pub area_ha: Option<f64>,
    /// Why it was refused, or what is to be known of where it lies.
    pub why: String,
}

impl Engine {
    /// Brings in the outlines of a file, all or none; with `keep_good` those that hold.
    ///
    /// A field of the name gets the boundary; where there is none, one is added. Bringing a file in twice changes nothing.
    /// *Returns* what came of each outline; where one is refused and `keep_good` is not set, nothing was written.
    pub fn bring_fields(&mut self, path: &Path, how: &Bring) -> Result<Vec<Brought>> {
        let outlines = outline::read(path)?;
        check(how, &outlines)?;
        let known = self.journal.all_fields()?;
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        let mut told = Vec::with_capacity(outlines.len());
        let mut fields = Vec::new();
        for (index, one) in outlines.iter().enumerate() {
            let name = name_of(how, one).unwrap_or_default();
            let read = self.brought(how, one, name, &known).and_then(|(field, what)| {
                match seen.insert(field.name.clone(), index + 1) {
                    Some(before) => Err(format!(
                        "outline {before} has the name {} too; join them into one of several polygons",
                        field.name
                    )),
                    None => Ok((field, what)),
                }
            });
            told.push(match read {
                Ok((field, what)) => {
                    let area_ha = field.area_m2.map(|m2| m2 as f64 / 10_000.0);
                    let why = one.note.unwrap_or_default().to_owned();
                    let line = Brought { outline: index + 1, field: field.name.clone(), what, area_ha, why };
                    if what != UNCHANGED {
                        fields.push(field);
                    }
                    line
                }
                Err(why) => Brought { outline: index + 1, field: name.to_owned(), what: REFUSED, area_ha: None, why },
            });
        }
        if how.keep_good || told.iter().all(|one| one.what != REFUSED) {
            let person = self.journal.identity().person;
            self.journal.put_fields(&fields, &person, now())?;
        } else {
            for one in &mut told {
                one.what = match one.what {
                    ADDED => "would be added",
                    DRAWN => "would be drawn",
                    what => what,
                };
            }
        }
        Ok(told)
    }

    /// Returns the field that an outline makes, and what is new of it.
    fn brought(
        &self,
        how: &Bring,
        one: &Outline,
        name: &str,
        known: &[Field],
    ) -> std::result::Result<(Field, &'static str), String> {
        let boundary = one.boundary.as_ref().map_err(Clone::clone)?;
        if name.is_empty() {
            return Err("it has no name".to_owned());
        }
        let name = short(name);
        let same = |field: &&Field| field.name == name && !field.retired;
        if known.iter().any(|field| same(&field)) {
            let old = find(known.to_vec(), &name, &self.reading).map_err(|error| error.to_string())?;
            let field = boundary::drawn(&old, boundary);
            let what = if field.boundary == old.boundary { UNCHANGED } else { DRAWN };
            return Ok((if what == UNCHANGED { old } else { field }, what));
        }
        let told = match &how.grower_from {
            Some(property) => one.property(property),
            None => GROWERS.iter().find_map(|property| one.property(property)),
        };
        let grower = told.map_or_else(|| how.common.grower.clone(), str::to_owned);
        let lacks = [("grower", &grower), ("region", &how.common.region), ("zone", &how.common.zone)];
        if let Some((lacking, _)) = lacks.iter().find(|(_, value)| value.is_empty()) {
            return Err(format!("it is new, and nothing tells its {lacking}; say `--{lacking}`"));
        }
        let new = NewField { name, grower, ..how.common.clone() };
        let id = new_id(crate::now()).map_err(|error| error.to_string())?;
        let field = read_field(&new, id, &self.kinds, &self.reading).map_err(|error| error.to_string())?;
        Ok((boundary::drawn(&field, boundary), ADDED))
    }
}

const ADDED: &str = "added";
const DRAWN: &str = "drawn";
const UNCHANGED: &str = "unchanged";
const REFUSED: &str = "refused";

/// Checks that the properties that were named are in the file.
fn check(how: &Bring, outlines: &[Outline]) -> Result<()> {
    for property in [&how.name, &how.grower_from].into_iter().flatten() {
        if outlines.iter().all(|one| one.property(property).is_none()) {
            return Err(EngineError::user(
                format!("no outline of the file has a property `{property}`"),
                known("properties", property, properties(outlines)),
            ));
        }
    }
    if how.name.is_none() && outlines.iter().all(|one| name_in(one).is_none()) {
        let names = properties(outlines);
        let hint = match names.is_empty() {
            true => "draw each outline for a field that is there, with `ligule field boundary FIELD FILE`".to_owned(),
            false => format!("say which with `--name-from PROPERTY`: {}", names.join(", ")),
        };
        return Err(EngineError::user("no property of the file looks like a field's name", hint));
    }
    Ok(())
}

fn properties(outlines: &[Outline]) -> Vec<String> {
    let mut names: Vec<String> =
        outlines.iter().flat_map(|one| one.properties.iter().map(|(name, _)| name.clone())).collect();
    names.sort();
    names.dedup();
    names.truncate(40);
    names
}

fn name_of<'a>(how: &Bring, one: &'a Outline) -> Option<&'a str> {
    match &how.name {
        Some(property) => one.property(property),
        None => name_in(one),
    }
}

/// Returns what looks like the field's name.
pub(super) fn name_in(one: &Outline) -> Option<&str> {
    NAMES.iter().find_map(|property| one.property(property))
}

/// Makes a name short, as fields are called: letters, digits and dashes.
fn short(name: &str) -> String {
    let mut out = String::new();
    for c in name.trim().chars() {
        match c {
            c if c.is_alphanumeric() || matches!(c, '-' | '_' | '.') => out.push(c),
            _ if out.ends_with('-') || out.is_empty() => {}
            _ => out.push('-'),
        }
    }
    out.trim_matches('-').to_owned()
}

#[cfg(test)]
mod tests {
    use super::short;

    #[test]
    fn names_become_short() {
        assert_eq!(short(" North 40 "), "North-40");
        assert_eq!(short("Müller & Sohn (east)"), "Müller-Sohn-east");
        assert_eq!(short("north-40"), "north-40");
        assert_eq!(short("***"), "");
    }
}
