//! Fields that become one, several, or none: merged, split, retired.

use std::collections::HashMap;
use std::fmt::Display;
use std::path::Path;

use ligule_journal::{Batch, Filter};
use ligule_observation::document::{NewObservation, Visit};
use ligule_observation::field::Field;
use ligule_observation::field::split::Cut;
use ligule_observation::ids::{Feature, ObservationKey};
use ligule_observation::record::Record;

use super::outline::{self, Outline};
use super::{Grounds, boundary, find, new_id, short_name};
use crate::error::{EngineError, Result, known};
use crate::phrases::{Noun, Phrase};
use crate::reading::Reading;
use crate::recording::PLANTING;
use crate::visits::{copy_of, number};
use crate::{Engine, moment, now};

/// What came of a merge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// The field that is spoken of from now on.
    pub keep: String,
    /// Names and identifiers of those that are part of it now.
    pub parts: Vec<String>,
    /// Entries that it lacked and has from them.
    pub filled: Vec<&'static str>,
    /// Entries in which they differ; those of the field that is spoken of hold.
    pub differ: Vec<String>,
}

/// What came of taking a field out of another.
#[derive(Debug, Clone, PartialEq)]
pub struct Parted {
    /// The field.
    pub field: Field,
    /// Names and identifiers of those that it is one with all the same: they were made part of it.
    pub still: Vec<String>,
}

/// What came of dividing a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// The new fields.
    pub parts: Vec<Field>,
    /// The plantings of this season, of which each part has a copy.
    pub copied: Vec<ObservationKey>,
    /// Those that were not copied, because differing corrections of them wait for a person.
    pub left: Vec<ObservationKey>,
}

/// Copies of a planting, not written yet.
#[derive(Default)]
struct Copies {
    batches: Vec<Batch>,
    /// The plantings that are copied.
    copied: Vec<ObservationKey>,
    /// Those that wait for a person.
    left: Vec<ObservationKey>,
}

impl Engine {
    /// Makes `other` part of `keep`; without `other`, all fields of the name `keep` part of the oldest of them.
    ///
    /// Nothing moves: records of both stay where they are, and every answer takes them together, also those that a device
    /// records later that has not heard of it.
    pub fn merge_fields(&mut self, keep: &str, other: Option<&str>) -> Result<Merged> {
        let (mut field, others) = match other {
            Some(other) => (self.field(keep)?, vec![self.field(other)?]),
            None => self.of_one_name(keep)?,
        };
        let mut merged = Merged { keep: field.name.clone(), parts: Vec::new(), filled: Vec::new(), differ: Vec::new() };
        let person = self.journal.identity().person;
        for other in others {
            if other.id == field.id {
                return Err(EngineError::user(
                    format!("`{keep}` and `{}` are one field already", other.name),
                    "`ligule field list` shows the fields",
                ));
            }
            fill(&mut field, &other, &mut merged);
            self.journal.merge_field(&other.id, &field, &person, now())?;
            merged.parts.push(format!("{} ({})", other.name, other.id));
        }
        Ok(merged)
    }

    /// Returns the oldest field of a name, and the others.
    fn of_one_name(&self, name: &str) -> Result<(Field, Vec<Field>)> {
        let mut same: Vec<Field> =
            self.journal.fields()?.into_iter().filter(|field| field.name == name && !field.retired).collect();
        // They come by identifier, which begins with the time.
        if same.len() < 2 {
            let field = self.field(name)?;
            return Err(EngineError::user(
                format!("only one field is called `{}`", field.name),
                "name the other one too: `ligule field merge KEEP OTHER`",
            ));
        }
        Ok((same.remove(0), same))
    }

    /// Takes a field out of the one that it was made part of.
    pub fn part_field(&mut self, which: &str) -> Result<Parted> {
        let all = self.journal.all_fields()?;
        let parts: Vec<&Field> = all.iter().filter(|field| !field.merged_into.is_empty()).collect();
        let meant: Vec<&Field> = match parts.iter().find(|field| field.id == which) {
            Some(one) => vec![one],
            None => parts.iter().copied().filter(|field| field.name == which).collect(),
        };
        match meant.as_slice() {
            [one] => {
                let person = self.journal.identity().person;
                self.journal.part_fields(std::slice::from_ref(&one.id), &person, now())?;
                let united = self.journal.united()?;
                let still = all.iter().filter(|f| f.id != one.id && united.home(&f.id) == united.home(&one.id));
                Ok(Parted {
                    field: (*one).clone(),
                    still: still.map(|field| format!("{} ({})", field.name, field.id)).collect(),
                })
            }
            [] => Err(EngineError::user(
                format!("no field that is part of another is called `{which}`"),
                known("parts", which, parts.iter().map(|field| field.id.clone())),
            )),
            several => Err(EngineError::user(
                format!("{} fields that are part of another are called `{which}`", several.len()),
                format!("name one by its id: {}", several.iter().map(|f| f.id.as_str()).collect::<Vec<_>>().join(", ")),
            )),
        }
    }

    /// Divides a field: the parts are new fields with its entries, and it is retired; its records stay with it.
    ///
    /// `path` is a file of outlines that bear the parts' names. With `planting` each part has a copy of this season's
    /// planting, so that its stand has something to be measured by.
    pub fn split_field(&mut self, which: &str, names: &[String], path: Option<&Path>, planting: bool) -> Result<Split> {
        let old = self.field(which)?;
        if old.retired {
            return Err(EngineError::user(format!("{} is retired", old.name), "split a field that is farmed"));
        }
        if names.len() < 2 {
            return Err(EngineError::user("a field is split into two or more", "name each with `--into NAME`"));
        }
        let outlines = path.map(outline::read).transpose()?;
        let mut parts = Vec::with_capacity(names.len());
        // One time for all of them tells the parts of one split from those of another device's.
        let made = now();
        for name in names {
            short_name(name, &self.reading)?;
            let mut part = Field {
                id: new_id(made)?,
                name: name.clone(),
                split_from: old.id.clone(),
                boundary: String::new(),
                area_m2: None,
                merged_into: Vec::new(),
                ..old.clone()
            };
            if let Some(outlines) = &outlines {
                part = boundary::drawn(&Field { lon_e7: None, lat_e7: None, ..part }, outline_of(outlines, name)?);
            }
            parts.push(part);
        }
        let mut all = vec![Field { retired: true, ..old.clone() }];
        all.extend(parts.iter().cloned());
        let person = self.journal.identity().person;
        let Copies { batches, copied, left } =
            if planting { self.copies_of_planting(&old, &parts)? } else { Copies::default() };
        // In one transaction: a part without its planting would pass for one that was never planted.
        self.journal.put_fields_and_record(&all, &person, &batches, now())?;
        Ok(Split { parts, copied, left })
    }

    /// Makes copies of this season's planting of a field for others. Its visit is called there as one that was moved is, so
    /// that the copy tells its original.
    fn copies_of_planting(&self, from: &Field, to: &[Field]) -> Result<Copies> {
        let season = i32::from(now().to_zoned_datetime(moment::zone(&from.zone)?).year());
        let feature = Some(Feature::Field(from.id.clone()));
        let filter = Filter { feature, season: Some(season), kind: Some(PLANTING.to_owned()), ..Filter::default() };
        let mut plantings = self.journal.records(&filter)?;
        plantings.retain(|record| record.void.is_none());
        let (settled, doubtful): (Vec<_>, Vec<_>) =
            plantings.into_iter().partition(|record| record.conflicts.is_empty());
        let mut batches = Vec::with_capacity(to.len());
        for part in to {
            let document = self.document(Feature::Field(part.id.clone()), season);
            let new = settled.iter().map(|record| {
                Ok(NewObservation {
                    visit: Visit {
                        id: copy_of(&record.visit, &document),
                        by: record.by.clone(),
                        at: record.at,
                        offset_minutes: record.offset_minutes,
                        place: None,
                    },
                    kind: record.kind.clone(),
                    version: self.journal.kind_version(&record.key)?,
                    values: record.values.clone(),
                    at: None,
                    place: record.place,
                    number: Some(number(&record.key)?),
                })
            });
            let new = new.collect::<Result<Vec<_>>>()?;
            let crop = settled.last().map(|record| record.crop.clone()).filter(|crop| !crop.is_empty());
            batches.push(Batch { document, crop, new });
        }
        batches.retain(|batch| !batch.new.is_empty());
        let keys = |records: Vec<Record>| records.into_iter().map(|record| record.key).collect();
        Ok(Copies { batches, copied: keys(settled), left: keys(doubtful) })
    }

    /// Takes a field out of the lists, or back in; its records stay.
    pub fn retire_field(&mut self, which: &str, retired: bool) -> Result<Field> {
        let old = find(self.journal.all_fields()?, which, &self.reading)?;
        if old.retired == retired {
            let state = if retired { "retired already" } else { "not retired" };
            return Err(EngineError::user(
                format!("{} is {state}", old.name),
                "`ligule field list --retired` shows all",
            ));
        }
        let field = Field { retired, ..old };
        let person = self.journal.identity().person;
        self.journal.put_field(&field, &person, now())?;
        Ok(field)
    }
}

/// Names what a field was split into, of all that are known.
fn parts_of<'f>(field: &Field, fields: &'f [Field]) -> Vec<&'f str> {
    let parts = fields.iter().filter(|part| part.split_from == field.id && !part.retired);
    parts.map(|part| part.name.as_str()).collect()
}

/// Says that a field is retired, where it is, and what it was split into; `fields` are all that are known.
pub(crate) fn retired_note(field: &Field, fields: &[Field], reading: &Reading) -> Option<String> {
    if !field.retired {
        return None;
    }
    let (name, parts) = (&field.name, parts_of(field, fields).join(", "));
    Some(match parts.is_empty() {
        true => reading.say(Phrase::FieldRetired, &[("field", name)]),
        false => reading.say(Phrase::FieldWasSplit, &[("field", name), ("parts", &parts)]),
    })
}

impl Engine {
    /// Names the fields on which observations were made after they had been split or retired, by people who did not know of it.
    pub(crate) fn on_retired_fields(&self) -> Result<Vec<String>> {
        let fields = self.journal.fields()?;
        let retired = self.journal.retired_since()?;
        let mut told = Vec::new();
        for field in fields.iter().filter(|field| field.retired) {
            let Some(since) = retired.get(&field.id) else { continue };
            let filter = Filter { feature: Some(Feature::Field(field.id.clone())), ..Filter::default() };
            let mut late = self.journal.records(&filter)?;
            late.retain(|one| one.void.is_none() && one.at > *since);
            let Some(first) = late.first() else { continue };
            let parts = parts_of(field, &fields).join(", ");
            let observations = self.reading.counted(late.len(), Noun::Observation);
            let with: [(&str, &dyn Display); 3] =
                [("observations", &observations), ("field", &field.name), ("visit", &first.visit)];
            told.push(match parts.is_empty() {
                true => self.reading.say(Phrase::OnRetiredField, &with),
                false => self.reading.say(Phrase::OnSplitField, &[&with[..], &[("parts", &parts)]].concat()),
            });
        }
        Ok(told)
    }
}

impl Engine {
    /// Tells of the fields that two devices split two ways before they met, until only one way is farmed.
    pub(crate) fn split_two_ways(&self) -> Result<Vec<String>> {
        let grounds = Grounds::of(&self.journal)?;
        let fields = self.journal.fields()?;
        let by_id: HashMap<&str, &Field> = fields.iter().map(|field| (field.id.as_str(), field)).collect();
        // A name that several bear means none of them.
        let called = |field: &Field| {
            let alone = fields.iter().filter(|other| other.name == field.name && !other.retired).count() == 1;
            if alone && !field.retired { field.name.clone() } else { field.id.clone() }
        };
        let mut told = Vec::new();
        for cuts in grounds.split_two_ways() {
            let Some(whole) = by_id.get(cuts[0].whole.as_str()) else { continue };
            let parts = |cut: &Cut| -> Vec<&Field> {
                let farmed = cut.parts.iter().filter(|part| grounds.farmed(part));
                let mut parts: Vec<&Field> = farmed.filter_map(|part| by_id.get(part.as_str()).copied()).collect();
                parts.sort_by_key(|field| &field.name);
                parts
            };
            let ways: Vec<Vec<&Field>> = cuts.iter().map(|cut| parts(cut)).collect();
            let names = |way: &[&Field]| way.iter().map(|field| field.name.clone()).collect::<Vec<_>>().join(", ");
            // Parts of one name are told as such, and merging them settles this too.
            if ways.iter().all(|way| names(way) == names(&ways[0])) {
                continue;
            }
            let or = self.reading.word(Phrase::WordOr).trim_start_matches(',');
            let into = ways.iter().map(|way| names(way)).collect::<Vec<_>>().join(&format!(";{or}"));
            let keep = ways.iter().enumerate().map(|(at, way)| {
                let others = ways.iter().enumerate().filter(|(other, _)| *other != at).flat_map(|(_, other)| other);
                let others = others.filter(|field| !way.iter().any(|mine| mine.id == field.id));
                let lines: Vec<String> = others.map(|one| format!("`ligule field retire {}`", called(one))).collect();
                let with: [(&str, &dyn Display); 2] = [("parts", &names(way)), ("lines", &lines.join(", "))];
                self.reading.say(Phrase::KeepThisSplit, &with)
            });
            let keep = keep.collect::<Vec<_>>().join("; ");
            let with: [(&str, &dyn Display); 3] = [("field", &whole.name), ("into", &into), ("keep", &keep)];
            told.push(self.reading.say(Phrase::SplitTwoWays, &with));
        }
        Ok(told)
    }
}

fn outline_of<'a>(outlines: &'a [Outline], name: &str) -> Result<&'a ligule_observation::field::boundary::Boundary> {
    let names = || outlines.iter().filter_map(super::bring::name_in).map(str::to_owned);
    let one = outlines.iter().find(|one| super::bring::name_in(one) == Some(name)).ok_or_else(|| {
        EngineError::user(format!("no outline of the file is called `{name}`"), known("outlines", name, names()))
    })?;
    one.boundary
        .as_ref()
        .map_err(|why| EngineError::user(format!("the outline `{name}`: {why}"), "nothing was changed"))
}

/// Gives a field what it lacks and another has, and tells in what they differ.
fn fill(keep: &mut Field, other: &Field, merged: &mut Merged) {
    let mut text = |name: &'static str, mine: &mut String, theirs: &String| {
        if mine.is_empty() && !theirs.is_empty() {
            mine.clone_from(theirs);
            merged.filled.push(name);
        } else if !theirs.is_empty() && mine != theirs {
            merged.differ.push(format!("{name} {mine}, not {theirs}"));
        }
    };
    text("grower", &mut keep.grower, &other.grower);
    text("region", &mut keep.region, &other.region);
    text("zone", &mut keep.zone, &other.zone);
    text("crop", &mut keep.crop, &other.crop);
    text("station", &mut keep.station, &other.station);
    text("soil", &mut keep.soil, &other.soil);
    if keep.boundary.is_empty() && !other.boundary.is_empty() {
        // The area belongs to the boundary.
        keep.boundary.clone_from(&other.boundary);
        keep.area_m2 = other.area_m2;
        merged.filled.push("boundary");
    } else if keep.boundary != other.boundary && !other.boundary.is_empty() {
        merged.differ.push("its own boundary".to_owned());
    }
    let mut number = |name: &'static str, mine: &mut Option<i64>, theirs: Option<i64>| {
        if mine.is_none() && theirs.is_some() {
            *mine = theirs;
            merged.filled.push(name);
        }
    };
    number("area", &mut keep.area_m2, other.area_m2);
    number("row width", &mut keep.row_width_mil, other.row_width_mil);
    if keep.lat_e7.is_none() && other.lat_e7.is_some() {
        (keep.lat_e7, keep.lon_e7) = (other.lat_e7, other.lon_e7);
        merged.filled.push("place");
    }
}
