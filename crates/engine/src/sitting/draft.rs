//! A visit as far as it has come; kept on this device after each answer.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use ligule_observation::ids::ObservationKey;
use ligule_observation::kind::{Kind, Measure, Relation, ResultType};
use ligule_observation::kinds::KindSet;
use serde::{Deserialize, Serialize};

/// How drafts are written; another number is one of another program.
pub(super) const VERSION: u32 = 1;

/// A visit as far as it has come. `schemas/journal/README.md` tells the fields.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Draft {
    pub(super) version: u32,
    /// The process that goes on with it, so that a second one notices; empty where it was stopped.
    pub(super) holder: String,
    /// When the sitting was begun, and the field's day then.
    pub(super) begun: Timestamp,
    pub(super) day: Date,
    /// When the visit was and where, where that was said: it is written down later, or begun at a known place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) told_at: Option<Timestamp>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) place: Option<String>,
    /// The visit to which observations are added; none before the first.
    pub(super) visit: Option<OpenVisit>,
    /// The kinds to be asked for, and which of them is being asked for.
    pub(super) plan: Vec<String>,
    pub(super) at: usize,
    /// Whether somebody chose the kinds; then the stage does not change them.
    pub(super) chosen: bool,
    /// When the first answer of this observation was given.
    pub(super) since: Option<Timestamp>,
    /// The answers of this observation as typed, in order; without a text the question was left out.
    pub(super) answers: Vec<(String, Option<String>)>,
    /// What is offered for a measure.
    pub(super) offered: BTreeMap<String, String>,
    /// Whether this kind was just recorded, so that another sample of it may follow.
    pub(super) recorded_here: bool,
    /// What was recorded.
    pub(super) recorded: Vec<ObservationKey>,
}

/// The visit that is open.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct OpenVisit {
    pub(super) id: String,
    pub(super) at: Timestamp,
    pub(super) offset_minutes: i16,
    pub(super) day: Date,
}

impl Draft {
    /// Returns the measure that is to be asked for next; none where the observation is whole.
    ///
    /// What an answer excludes is not asked for, nor what does not go with what was chosen, nor another way to say what was said
    /// already, nor what `asks` leaves out.
    pub(super) fn next<'k>(
        &self,
        kinds: &KindSet,
        kind: &'k Kind,
        asks: impl Fn(&Measure) -> bool,
    ) -> Option<&'k Measure> {
        let answer = |name: &str| self.answers.iter().find(|(known, _)| known == name);
        let given = |name: &str| answer(name).is_some_and(|(_, text)| text.is_some());
        let left_out = |name: &str| answer(name).is_some_and(|(_, text)| text.is_none());
        let said = kind.needs.iter().find(|way| way.iter().all(|name| given(name)));
        kind.measures.iter().find(|measure| {
            let name = measure.name.as_str();
            let excluded = kind.relations.iter().any(|relation| match relation {
                Relation::Excludes { measure, excludes } => {
                    (excludes.iter().any(|other| other == name) && given(measure))
                        || (measure == name && excludes.iter().any(|other| given(other)))
                }
                Relation::Paired { paired } => {
                    paired.iter().any(|other| other == name) && paired.iter().any(|other| left_out(other))
                }
                Relation::OnlyWhere { only, chosen, is } => {
                    let code = || kinds.code(kind.measure(chosen)?, answer(chosen)?.1.as_deref()?);
                    only.iter().any(|one| one == name) && !code().is_some_and(|code| is.contains(&code))
                }
                Relation::Alike { .. } | Relation::AtMost { .. } => false,
            });
            let other_way = !measure.required
                && !kind.together
                && kind.needs.iter().any(|way| way.iter().any(|one| one == name))
                && said.is_some_and(|said| said.iter().all(|one| one != name));
            answer(name).is_none() && !excluded && !other_way && asks(measure)
        })
    }

    /// Tells whether there is anything to go on with: an answer, an observation, a kind that was left behind.
    pub(super) fn has_begun(&self) -> bool {
        self.at > 0 || !self.answers.is_empty() || !self.recorded.is_empty()
    }

    /// Tells whether anything was answered that was not merely offered.
    pub(super) fn says_something(&self) -> bool {
        self.answers.iter().any(|(name, text)| text.as_ref().is_some_and(|text| self.offered.get(name) != Some(text)))
    }

    /// Begins another observation of a kind; `usual` are values that are offered.
    pub(super) fn begin(&mut self, usual: BTreeMap<String, String>) {
        self.since = None;
        self.answers.clear();
        self.offered = usual;
        self.recorded_here = false;
    }

    /// Returns what this observation offers the next one of its kind: how the sample is laid out, as row width and length
    /// are; what was counted is never offered.
    pub(super) fn layout(&self, kind: &Kind) -> BTreeMap<String, String> {
        let laid_out = |name: &str| {
            kind.needs.iter().flatten().any(|one| one == name)
                && kind
                    .measure(name)
                    .is_some_and(|m| m.result == ResultType::Quantity && m.unit.as_deref() != Some("1"))
        };
        let given = self.answers.iter().filter(|(name, _)| laid_out(name));
        given.filter_map(|(name, text)| Some((name.clone(), text.clone()?))).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exemplar() -> (Draft, &'static str) {
        let text =
            include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../schemas/exemplars/draft-1.json")).trim_end();
        (serde_json::from_str(text).expect("a draft"), text)
    }

    #[test]
    fn the_exemplar_is_read_and_written_as_it_is() {
        let (draft, text) = exemplar();
        assert_eq!(serde_json::to_string_pretty(&draft).expect("plain data"), text);
    }

    #[test]
    fn what_is_excluded_or_said_another_way_is_not_asked_for() {
        let (mut draft, _) = exemplar();
        let kinds = KindSet::builtin();
        let kind = kinds.get("stand-count").expect("it comes with the program");
        let mut asked = Vec::new();
        while let Some(measure) = draft.next(&kinds, kind, |_| true) {
            asked.push(measure.name.as_str());
            draft.answers.push((measure.name.clone(), None));
        }
        assert_eq!(asked, ["plants", "rows", "row_unit"]);
        assert_eq!(draft.layout(kind).into_keys().collect::<Vec<_>>(), ["length", "row_width"]);
        draft.begin(BTreeMap::new());
        draft.answers.push(("hoop_diameter".into(), Some("30in".into())));
        assert_eq!(draft.next(&kinds, kind, |_| true).map(|m| m.name.as_str()), Some("plants"));
    }

    /// What a visit asks for after some answers.
    fn asked_after(kinds: &KindSet, kind: &str, given: &[(&str, &str)]) -> Vec<String> {
        let (mut draft, _) = exemplar();
        draft.begin(BTreeMap::new());
        draft.answers.extend(given.iter().map(|(name, text)| ((*name).to_owned(), Some((*text).to_owned()))));
        let kind = kinds.get(kind).expect("it comes with the program");
        let mut asked = Vec::new();
        while let Some(measure) = draft.next(kinds, kind, |_| true) {
            asked.push(measure.name.clone());
            draft.answers.push((measure.name.clone(), None));
        }
        asked
    }

    #[test]
    fn a_sample_is_asked_for_what_its_material_has() {
        let kinds = KindSet::builtin();
        let of = |material: &str| asked_after(&kinds, "nutrient-test", &[("material", material)]);
        for soil in ["soil", "suelo", "SOIL"] {
            let asked = of(soil);
            assert!(["nitrate_n", "ph", "depth_to", "cores"].iter().all(|name| asked.contains(&(*name).to_owned())));
            assert!(!asked.iter().any(|name| name.starts_with("tissue_") || name == "stalk_nitrate_n"), "{asked:?}");
        }
        let leaf = of("ear-leaf");
        assert!(leaf.contains(&"tissue_zn".to_owned()) && leaf.contains(&"cores".to_owned()), "{leaf:?}");
        assert!(!["ph", "depth_to", "stalk_nitrate_n"].iter().any(|name| leaf.contains(&(*name).to_owned())));
        assert!(of("lower-stalk").contains(&"stalk_nitrate_n".to_owned()));
    }

    #[test]
    fn what_is_often_told_together_is_asked_for_together() {
        let kinds = KindSet::builtin();
        let soil = asked_after(&kinds, "nutrient-test", &[("material", "soil"), ("nitrate_n", "17")]);
        assert!(soil.contains(&"phosphorus".to_owned()) && soil.contains(&"ph".to_owned()), "{soil:?}");
        let harvest = asked_after(&kinds, "harvest", &[("day", "2026-10-07"), ("yield", "203")]);
        assert!(harvest.contains(&"moisture".to_owned()) && !harvest.contains(&"yield_mass".to_owned()), "{harvest:?}");
        let leaves = asked_after(&kinds, "leaf-stage", &[("collars", "4 4 5")]);
        assert!(!leaves.contains(&"stage".to_owned()), "the same said another way");
    }
}
