//! Fields that were divided: the parts are new fields, and what was recorded of the whole stays with it.

use std::collections::{BTreeMap, BTreeSet};

use super::merge::{United, reached};
use crate::field::Field;

/// Of which fields each was split off, however often.
///
/// It follows from the fields alone, not from when a record came: what a device records of the whole that has not heard of
/// the split is of the parts all the same. Merged fields are told as the one that is spoken of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wholes {
    of: BTreeMap<String, BTreeSet<String>>,
}

impl Wholes {
    /// Works it out of all fields of a crew and which of them are one.
    pub fn of(fields: &[Field], united: &United) -> Self {
        let mut of: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for part in fields.iter().filter(|field| !field.split_from.is_empty()) {
            let whole = united.home(&part.split_from).to_owned();
            of.entry(united.home(&part.id).to_owned()).or_default().insert(whole);
        }
        Self { of }
    }

    /// Returns a field and all those of which it was split off.
    pub fn with<'a>(&'a self, id: &'a str) -> BTreeSet<&'a str> {
        reached(id, |part| self.of.get(part).into_iter().flatten().map(String::as_str).collect())
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
            wholes.with(id).into_iter().map(str::to_owned).collect::<Vec<_>>()
        };
        // C is of B of A; D, which was split off E, was made part of C.
        let fields = [field("A", "", &[]), field("B", "A", &[]), field("C", "B", &[]), field("D", "E", &["C"])];
        assert_eq!(of(&fields, "C"), ["A", "B", "C", "E"]);
        assert_eq!(of(&fields, "B"), ["A", "B"]);
        assert_eq!(of(&fields, "A"), ["A"]);
        // Two that name each other as the whole do not go round for ever.
        assert_eq!(of(&[field("A", "B", &[]), field("B", "A", &[])], "A"), ["A", "B"]);
    }
}
