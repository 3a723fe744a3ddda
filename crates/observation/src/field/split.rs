//! Fields that were divided: the parts are new fields, and what was recorded of the whole stays with it.

use std::collections::{BTreeMap, BTreeSet};

use super::merge::{United, reached};
use crate::field::Field;

/// Parts whose identifiers were made within this many milliseconds are of one split. One split gives all its parts one
/// time; earlier programs took one for each part, a few milliseconds apart.
const ONE_SPLIT_MS: u64 = 20;

/// One act of dividing a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// The field that was divided.
    pub whole: String,
    /// What it was divided into; of parts that were merged since, the one that is spoken of.
    pub parts: BTreeSet<String>,
}

/// Of which fields each was split off, however often, and which share ground because one field was split twice.
///
/// It follows from the fields alone, not from when a record came: what a device records of the whole that has not heard of
/// the split is of the parts all the same. Merged fields are told as the one that is spoken of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wholes {
    of: BTreeMap<String, BTreeSet<String>>,
    parts: BTreeMap<String, BTreeSet<String>>,
    cuts: Vec<Cut>,
}

impl Wholes {
    /// Works it out of all fields of a crew and which of them are one.
    pub fn of(fields: &[Field], united: &United) -> Self {
        let mut wholes = Self::default();
        let mut made: BTreeMap<&str, Vec<(u64, &str)>> = BTreeMap::new();
        for field in fields.iter().filter(|field| !field.split_from.is_empty()) {
            let (whole, part) = (united.home(&field.split_from), united.home(&field.id));
            wholes.of.entry(part.to_owned()).or_default().insert(whole.to_owned());
            wholes.parts.entry(whole.to_owned()).or_default().insert(part.to_owned());
            let at = ulid::Ulid::from_string(&field.id).map_or(0, |id| id.timestamp_ms());
            made.entry(whole).or_default().push((at, part));
        }
        for (whole, mut parts) in made {
            parts.sort_unstable();
            wholes.cuts.extend(parts.chunk_by(|a, b| b.0 - a.0 <= ONE_SPLIT_MS).map(|cut| Cut {
                whole: whole.to_owned(),
                parts: cut.iter().map(|(_, part)| (*part).to_owned()).collect(),
            }));
        }
        wholes
    }

    /// Returns a field, all those of which it was split off, and all that were split off it: what is true of the ground of
    /// one is true of ground of the others.
    pub fn in_line<'a>(&'a self, id: &'a str) -> BTreeSet<&'a str> {
        let mut all = reached(id, |part| self.of.get(part).into_iter().flatten().map(String::as_str).collect());
        all.extend(self.with_parts(id));
        all
    }

    /// Returns the fields that may share ground with a field because what it is of, or it itself, is a part of a field that was
    /// split another way too; those that are in line with it left out.
    pub fn beside<'a>(&'a self, id: &'a str) -> BTreeSet<&'a str> {
        let line = self.in_line(id);
        let across = line.iter().flat_map(|part| self.across(part)).flat_map(|other| self.with_parts(other));
        across.filter(|other| !line.contains(other)).collect()
    }

    /// Returns the splits of each field that was split two ways or more, as long as parts of them share ground, as `share` tells of
    /// two of which that may be.
    pub fn split_two_ways(&self, share: impl Fn(&str, &str) -> bool) -> Vec<Vec<&Cut>> {
        let open = |part: &String| self.across(part).into_iter().any(|other| share(part, other));
        let of_one = self.cuts.chunk_by(|a, b| a.whole == b.whole);
        let open = of_one.map(|cuts| cuts.iter().filter(|cut| cut.parts.iter().any(open)).collect::<Vec<_>>());
        open.filter(|cuts| cuts.len() > 1).collect()
    }

    /// Returns all splits of fields.
    pub fn cuts(&self) -> &[Cut] {
        &self.cuts
    }

    /// Returns the parts of other splits of the same fields, those left out that one split set apart.
    fn across(&self, part: &str) -> BTreeSet<&str> {
        let of: Vec<&Cut> = self.cuts.iter().filter(|cut| cut.parts.contains(part)).collect();
        let others = self.cuts.iter().filter(|cut| of.iter().any(|mine| mine.whole == cut.whole));
        let apart = |other: &str| of.iter().any(|cut| cut.parts.contains(other));
        others.flat_map(|cut| &cut.parts).map(String::as_str).filter(|other| !apart(other)).collect()
    }

    /// Returns a field and all that were split off it.
    pub fn with_parts<'a>(&'a self, id: &'a str) -> BTreeSet<&'a str> {
        reached(id, |whole| self.parts.get(whole).into_iter().flatten().map(String::as_str).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_of_parts_are_of_the_first_whole() {
        let field = |id: &str, from: &str, into: &[&str]| Field {
            id: id.into(),
            split_from: from.into(),
            merged_into: into.iter().map(|id| (*id).to_owned()).collect(),
            ..Field::default()
        };
        let of = |fields: &[Field], id: &str| {
            let wholes = Wholes::of(fields, &United::of(fields));
            wholes.in_line(id).into_iter().map(str::to_owned).collect::<Vec<_>>()
        };
        // C is of B of A; D, which was split off E, was made part of C.
        let fields = [field("A", "", &[]), field("B", "A", &[]), field("C", "B", &[]), field("D", "E", &["C"])];
        assert_eq!(of(&fields, "C"), ["A", "B", "C", "E"]);
        assert_eq!(of(&fields, "B"), ["A", "B", "C"]);
        assert_eq!(of(&fields, "A"), ["A", "B", "C"]);
        assert_eq!(of(&fields, "E"), ["C", "E"]);
        // Two that name each other as the whole do not go round for ever.
        assert_eq!(of(&[field("A", "B", &[]), field("B", "A", &[])], "A"), ["A", "B"]);
    }

    #[test]
    fn parts_of_two_splits_of_one_field_share_ground_until_they_are_merged() {
        let at = |ms: u64, n: u128| ulid::Ulid::from_parts(ms, n).to_string();
        let (whole, east, west, north, south) = (at(1, 1), at(5_000, 2), at(5_000, 3), at(9_000, 4), at(9_000, 5));
        let field = |id: &str, from: &str, into: &[&str]| Field {
            id: id.into(),
            split_from: from.into(),
            merged_into: into.iter().map(|id| (*id).to_owned()).collect(),
            ..Field::default()
        };
        let mut fields = vec![
            field(&whole, "", &[]),
            field(&east, &whole, &[]),
            field(&west, &whole, &[]),
            field(&north, &whole, &[]),
            field(&south, &whole, &[]),
            field("corner", &east, &[]),
            field("rest", &east, &[]),
        ];
        let of = |fields: &[Field]| Wholes::of(fields, &United::of(fields));
        let wholes = of(&fields);
        // One split sets its parts apart; those of another lie across them, and across what they were split into.
        assert_eq!(wholes.beside(&east), [north.as_str(), &south].into());
        assert_eq!(wholes.beside("corner"), [north.as_str(), &south].into());
        assert_eq!(wholes.beside(&north), [east.as_str(), &west, "corner", "rest"].into());
        assert!(wholes.beside(&whole).is_empty(), "its parts are in line with it");
        let cuts = wholes.split_two_ways(|_, _| true);
        assert_eq!(cuts.len(), 1);
        assert_eq!(cuts[0].iter().map(|cut| cut.parts.len()).collect::<Vec<_>>(), [2, 2]);
        // It is settled where one of the two is given up whole, not half.
        assert_eq!(wholes.split_two_ways(|a, b| a != north && b != north).len(), 1);
        assert!(wholes.split_two_ways(|a, b| [a, b].iter().all(|id| *id != north && *id != south)).is_empty());
        // Two devices cut it alike: merged, the parts are apart; of one pair alone the other two are not.
        fields[3].merged_into = vec![east.clone()];
        let half = of(&fields);
        assert!(half.beside(&east).is_empty());
        assert_eq!(half.beside(&west), [south.as_str()].into());
        assert_eq!(half.split_two_ways(|_, _| true).len(), 1);
        fields[4].merged_into = vec![west.clone()];
        let settled = of(&fields);
        assert!(settled.beside(&west).is_empty() && settled.split_two_ways(|_, _| true).is_empty());
    }
}
