//! Which fields may share ground: what was split and its parts, and the parts of a field that two devices split two ways.

use std::collections::{BTreeSet, HashMap};

use ligule_journal::Journal;
use ligule_observation::field::Field;
use ligule_observation::field::boundary::Boundary;
use ligule_observation::field::split::{Cut, Wholes};

use crate::error::Result;

/// Which fields may share ground, as the crew's list and the boundaries tell.
pub(crate) struct Grounds {
    wholes: Wholes,
    boundaries: HashMap<String, Boundary>,
    /// The fields that are not retired.
    farmed: BTreeSet<String>,
}

impl Grounds {
    pub(crate) fn of(journal: &Journal) -> Result<Self> {
        let wholes = journal.wholes()?;
        let (mut boundaries, mut farmed) = (HashMap::new(), BTreeSet::new());
        if !wholes.cuts().is_empty() {
            for field in journal.fields()? {
                if !field.retired {
                    farmed.insert(field.id.clone());
                }
                boundaries.extend(Boundary::from_text(&field.boundary).map(|boundary| (field.id, boundary)));
            }
        }
        Ok(Self { wholes, boundaries, farmed })
    }

    /// Returns a field and those whose ground may be its own: what it was split off, what was split off it, and, where a
    /// field was split two ways, the parts of the other way that are not known to lie elsewhere.
    pub(crate) fn shared(&self, field: &Field) -> Vec<String> {
        let beside = self.wholes.beside(&field.id).into_iter().filter(|id| !self.apart(&field.id, id));
        self.wholes.in_line(&field.id).into_iter().chain(beside).map(str::to_owned).collect()
    }

    /// Returns the splits of each field that was split two ways, as long as parts of both are farmed that may share ground.
    pub(super) fn split_two_ways(&self) -> Vec<Vec<&Cut>> {
        self.wholes.split_two_ways(|a, b| self.farmed(a) && self.farmed(b) && !self.apart(a, b))
    }

    /// Returns the splits that were given up for another of the same field: nothing of them is farmed.
    pub(super) fn given_up(&self) -> Vec<&Cut> {
        let farmed = |cut: &&Cut| cut.parts.iter().any(|part| self.farmed(part));
        let (farmed, given_up): (Vec<&Cut>, Vec<&Cut>) = self.wholes.cuts().iter().partition(farmed);
        given_up.into_iter().filter(|cut| farmed.iter().any(|other| other.whole == cut.whole)).collect()
    }

    /// Tells whether a field, or something that it was split into, is farmed.
    pub(super) fn farmed(&self, id: &str) -> bool {
        self.wholes.with_parts(id).into_iter().any(|part| self.farmed.contains(part))
    }

    fn apart(&self, one: &str, other: &str) -> bool {
        let (one, other) = (self.boundaries.get(one), self.boundaries.get(other));
        one.zip(other).is_some_and(|(one, other)| one.is_apart_from(other))
    }
}
