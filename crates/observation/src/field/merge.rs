//! Fields that are one: two devices added the same one before they met.
//!
//! A merge is an entry `merged:<other field>` of the field that becomes part of the other. Nothing moves: the documents of both stay,
//! and whoever reads takes them together. So a device that goes on recording on either before it hears of the merge
//! records into the same field, and merges that several people make at the same time add up.

use std::collections::{BTreeMap, BTreeSet};

use automerge::{ObjId, ObjType, ReadDoc, ScalarValue};
use jiff::Timestamp;

use crate::{document::FieldDocument, error::DocumentError, field::Field};

/// What the entry of a merge begins with; the identifier of the other field follows.
const MERGED: &str = "merged:";

/// Which fields are one, and under which of them each is spoken of.
///
/// All that are joined by merges, whatever their direction, are one. It is spoken of as the one that is merged into no
/// other; where several people merged in a ring or to different sides at the same time, as the oldest of those that come
/// into question. This depends on the merges alone and on no order, so every device comes to the same.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct United {
    spoken: BTreeMap<String, String>,
}

impl United {
    /// Works it out of all fields of a crew.
    pub fn of(fields: &[Field]) -> Self {
        let mut spoken = BTreeMap::new();
        if fields.iter().all(|field| field.merged_into.is_empty()) {
            return Self { spoken };
        }
        let known: BTreeMap<&str, &Field> = fields.iter().map(|field| (field.id.as_str(), field)).collect();
        let onward = |id: &str| -> Vec<&str> {
            let to = known.get(id).map(|field| field.merged_into.as_slice()).unwrap_or_default();
            to.iter().map(String::as_str).filter(|to| *to != id && known.contains_key(to)).collect()
        };
        let mut beside: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for id in known.keys() {
            for to in onward(id) {
                beside.entry(id).or_default().insert(to);
                beside.entry(to).or_default().insert(id);
            }
        }
        let mut seen = BTreeSet::new();
        for start in beside.keys().copied() {
            if seen.contains(start) {
                continue;
            }
            let class = reached(start, |id| beside[id].iter().copied().collect());
            // What is merged into no other; where there is no such, what a ring of merges leads back to.
            let ends: Vec<&str> = class.iter().copied().filter(|id| onward(id).is_empty()).collect();
            let ring =
                || class.iter().copied().filter(|id| onward(id).iter().any(|to| reached(to, onward).contains(id)));
            let home = ends.into_iter().min().or_else(|| ring().min()).unwrap_or(start);
            spoken.extend(class.iter().map(|id| ((*id).to_owned(), home.to_owned())));
            seen.extend(class);
        }
        Self { spoken }
    }

    /// Returns the field under which a field is spoken of; itself where it is merged with none.
    pub fn home<'a>(&'a self, id: &'a str) -> &'a str {
        self.spoken.get(id).map_or(id, String::as_str)
    }

    /// Returns all fields that are one with a field, itself included.
    pub fn members<'a>(&'a self, id: &'a str) -> Vec<&'a str> {
        match self.spoken.get(id) {
            None => vec![id],
            Some(home) => self.spoken.iter().filter(|(_, to)| *to == home).map(|(id, _)| id.as_str()).collect(),
        }
    }

    /// Tells whether no field is merged with another.
    pub fn is_empty(&self) -> bool {
        self.spoken.is_empty()
    }
}

/// Returns fields with the merges that say the same in the fewest words: each that is spoken of as another is part of it.
pub fn settled(mut fields: Vec<Field>) -> Vec<Field> {
    let united = United::of(&fields);
    for field in &mut fields {
        let home = united.home(&field.id).to_owned();
        field.merged_into = if home == field.id { Vec::new() } else { vec![home] };
    }
    fields
}

/// Returns everything that can be reached, the start included.
pub(super) fn reached<'a>(start: &'a str, onward: impl Fn(&'a str) -> Vec<&'a str>) -> BTreeSet<&'a str> {
    let mut seen = BTreeSet::from([start]);
    let mut open = vec![start];
    while let Some(id) = open.pop() {
        open.extend(onward(id).into_iter().filter(|to| seen.insert(to)));
    }
    seen
}

impl FieldDocument {
    /// Makes a field part of another, besides those that it is part of already.
    ///
    /// *Errors:* the merge library refused it.
    pub fn merge_field(&mut self, id: &str, into: &str, at: Timestamp) -> Result<(), DocumentError> {
        let Some(map) = self.field_map(id).filter(|_| id != into) else { return Ok(()) };
        if self.merged_into(&map).iter().any(|known| known == into) {
            return Ok(());
        }
        self.change(at, |d| d.put(&map, &format!("{MERGED}{into}"), ScalarValue::Boolean(true)))
    }

    /// Takes a field out of all those that it was made part of; a merge of which this device has not heard stays, and so does
    /// what was made part of it. Where merges went round in a ring, those that lead back to it are undone too.
    ///
    /// *Errors:* the merge library refused it.
    pub fn part_field(&mut self, id: &str, at: Timestamp) -> Result<(), DocumentError> {
        let Some(map) = self.field_map(id) else { return Ok(()) };
        let into = self.merged_into(&map);
        if into.is_empty() {
            return Ok(());
        }
        let undone: Vec<(ObjId, String)> = into.iter().map(|into| (map.clone(), into.clone())).collect();
        let back = self.leading_back(id, &into).into_iter();
        let back = back.filter_map(|part| Some((self.field_map(&part)?, id.to_owned())));
        let undone: Vec<_> = undone.into_iter().chain(back).collect();
        self.change(at, |d| {
            undone
                .iter()
                .try_for_each(|(map, into)| d.put(map, &format!("{MERGED}{into}"), ScalarValue::Boolean(false)))
        })
    }

    /// Returns the fields that were made part of a field and are one with one of `others` also without it.
    fn leading_back(&self, id: &str, others: &[String]) -> Vec<String> {
        let fields = self.fields();
        let (parts, mut without): (Vec<&Field>, Vec<Field>) = (
            fields.iter().filter(|field| field.merged_into.iter().any(|into| into == id)).collect(),
            fields.iter().filter(|field| field.id != id).cloned().collect(),
        );
        for field in &mut without {
            field.merged_into.retain(|into| into != id);
        }
        let united = United::of(&without);
        let one = |part: &&Field| others.iter().any(|other| united.home(other) == united.home(&part.id));
        parts.into_iter().filter(one).map(|part| part.id.clone()).collect()
    }

    fn field_map(&self, id: &str) -> Option<ObjId> {
        match self.doc.get(&self.fields, id) {
            Ok(Some((automerge::Value::Object(ObjType::Map), map))) => Some(map),
            _ => None,
        }
    }

    /// Returns the fields that a field is part of, by identifier. Of a merge and its undoing at the same time the merge
    /// holds.
    pub(crate) fn merged_into(&self, map: &ObjId) -> Vec<String> {
        let holds = |key: &str| {
            let all = self.doc.get_all(map, key).unwrap_or_default();
            all.iter().any(|(value, _)| value.as_bool() == Some(true))
        };
        let keys = self.doc.keys(map).filter(|key| key.starts_with(MERGED) && holds(key));
        keys.map(|key| key[MERGED.len()..].to_owned()).collect()
    }
}
