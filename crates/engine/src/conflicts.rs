//! What waits for a person, and the line that settles it.

use std::collections::BTreeSet;

use ligule_observation::ids::ObservationKey;
use ligule_observation::kind::{Kind, Relation};
use ligule_observation::kinds::Invalid;
use ligule_observation::record::{MOVED_TO, Record};

use crate::Engine;
use crate::error::Result;
use crate::phrases::Phrase;
use crate::recording::{CandidateLine, ConflictLine, name_of};
use crate::visits::visit_of;

/// Returns the line that says which of several values holds.
pub(crate) fn resolve_line(key: &str, measure: &str, value: &str) -> String {
    format!("ligule resolve {key} {measure} {}", quoted(value))
}

/// Quotes a value for a shell.
fn quoted(value: &str) -> String {
    if value.contains(['"', '$', '`', '\\']) {
        return format!("'{}'", value.replace('\'', r"'\''"));
    }
    format!("\"{value}\"")
}

/// Counts the decisions that a person has to take: which of several values holds, or, once for all the measures that do not
/// go together in one observation, which of them is wrong.
pub(crate) fn decisions(conflicts: &[ConflictLine]) -> usize {
    let one = |line: &ConflictLine| (line.observation.clone(), line.why.is_none().then(|| line.measure.clone()));
    conflicts.iter().map(one).collect::<BTreeSet<_>>().len()
}

impl Engine {
    /// Returns everything that waits for a person: values that differ, visits that were moved apart, samples that cannot be.
    /// Whatever counts or tells what waits asks here.
    pub fn conflicts(&self) -> Result<Vec<ConflictLine>> {
        Ok([self.values_that_differ()?, self.moves_in_doubt()?, self.impossible()?].concat())
    }

    /// Returns the values of observations that each hold and do not go together, as corrections of two devices can leave
    /// them: a line a measure, its value the only candidate, and why.
    fn impossible(&self) -> Result<Vec<ConflictLine>> {
        let held: Vec<&Kind> = self.kinds.iter().filter(|kind| !kind.relations.is_empty()).collect();
        let holding: Vec<(&str, Vec<Vec<&str>>)> = held
            .iter()
            .map(|kind| (kind.kind.as_str(), kind.relations.iter().flat_map(Relation::broken_with).collect()))
            .collect();
        let keys = self.journal.settled_that(&holding, |kind, values| {
            self.kinds.get(kind).is_some_and(|kind| kind.check_together(values).is_err())
        })?;
        let mut lines = Vec::new();
        for key in keys {
            lines.extend(self.impossible_in(&self.journal.record_by_key(&key)?)?);
        }
        Ok(lines)
    }

    /// Returns of one observation what [`Self::impossible`] returns of all.
    pub(crate) fn impossible_in(&self, record: &Record) -> Result<Vec<ConflictLine>> {
        let Some(kind) = self.kinds.get(&record.kind) else { return Ok(Vec::new()) };
        let Some(invalid) = kind.apart(record) else { return Ok(Vec::new()) };
        let history = self.journal.history(&record.key)?;
        let field = name_of(&self.names()?, &record.feature).0;
        let line = |flag: &&str| {
            let measure = kind.measures.iter().find(|measure| measure.flag() == *flag)?;
            let value = self.candidate(Some(measure), record.values.get(&measure.name)?);
            let written = history.iter().rev().find(|entry| entry.measure == measure.name);
            Some(ConflictLine {
                observation: record.key.clone(),
                field: field.clone(),
                kind: kind.kind.clone(),
                measure: measure.name.clone(),
                candidates: vec![CandidateLine {
                    read: value.clone(),
                    value,
                    by: written.map_or_else(|| record.by.clone(), |entry| entry.by.clone()),
                    at: written.map_or_else(|| record.at.to_string(), |entry| entry.at.to_string()),
                    device: written.map_or_else(String::new, |entry| entry.device.to_string()),
                    settle: settle(&record.key, flag, &invalid),
                }],
                why: Some(invalid.to_string()),
                why_read: self.reading.refusal(&self.kinds, &invalid),
            })
        };
        Ok(invalid.apart().iter().filter_map(line).collect())
    }

    /// Tells how conflicts are settled, those by choosing a value on the first of them, and what a move has to do with them.
    pub fn advice_on(&self, conflicts: &[ConflictLine]) -> Result<Vec<String>> {
        let (reading, mut advice) = (&self.reading, Vec::new());
        let mut told: Option<ObservationKey> = None;
        let mut by_value = false;
        let ways = |lines: &[&str]| {
            let lines = lines.iter().map(|line| format!("`{line}`")).collect::<Vec<_>>();
            lines.join(reading.word(Phrase::WordOr).trim_start_matches(','))
        };
        for line in conflicts {
            if line.why.is_some() {
                // The measures that do not go together are told one after the other.
                if told.replace(line.observation.clone()).as_ref() != Some(&line.observation) {
                    let of_it = conflicts.iter().filter(|l| l.why.is_some() && l.observation == line.observation);
                    let mut lines: Vec<&str> =
                        of_it.flat_map(|line| &line.candidates).map(|one| one.settle.as_str()).collect();
                    lines.dedup();
                    advice.push(reading.say(
                        Phrase::DoesNotGoTogether,
                        &[("key", &line.observation), ("why", &line.why_read), ("ways", &ways(&lines))],
                    ));
                }
                continue;
            }
            if line.measure == MOVED_TO {
                let visit = visit_of(&line.observation);
                let moves = line.candidates.iter().map(|one| {
                    reading.say(Phrase::IfItIs, &[("value", &one.read), ("moves", &format!("`{}`", one.settle))])
                });
                let moves = moves.collect::<Vec<_>>().join("; ");
                advice.push(
                    reading.say(Phrase::MovedApart, &[("visit", &visit), ("field", &line.field), ("ways", &moves)]),
                );
                continue;
            }
            let record = self.journal.record_by_key(&line.observation)?;
            if self.differs(&record, &line.measure)? {
                if !by_value {
                    let mut lines: Vec<&str> = line.candidates.iter().map(|one| one.settle.as_str()).collect();
                    // Every device and every time alike.
                    lines.sort_unstable();
                    advice.push(reading.say(Phrase::SettledByValue, &[("ways", &ways(&lines))]));
                    by_value = true;
                }
                continue;
            }
            let moved = self.moved_into(&record)?.join(reading.word(Phrase::WordOr).trim_start_matches(','));
            let lines: Vec<&str> = line.candidates.iter().map(|one| one.settle.as_str()).collect();
            let (_, measure) = line.called(&self.kinds, reading);
            advice.push(
                reading.say(
                    Phrase::CorrectedMeanwhile,
                    &[("measure", &measure), ("moved", &moved), ("ways", &ways(&lines))],
                ),
            );
        }
        Ok(advice)
    }
}

/// Returns the line that mends one of the values that do not go together. A value is corrected and never taken out: where
/// one is too many, the observation is recorded anew.
fn settle(key: &str, flag: &str, invalid: &Invalid) -> String {
    let corrected = match invalid {
        Invalid::Excluded { .. } => false,
        Invalid::Misplaced { chosen, .. } => flag == chosen,
        _ => true,
    };
    if corrected { format!("ligule amend {key} --{flag} VALUE") } else { format!("ligule void {key} --why REASON") }
}
