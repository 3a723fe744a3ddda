//! The crew's own document, and becoming part of another crew.

use std::collections::BTreeMap;

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, NewObservation, Visit},
    field::{Field, merge::settled, roster::Kept},
    ids::{CrewId, DocKey, Feature},
    record::Void,
};
use rusqlite::params;

use crate::{
    batch::Batch,
    documents::Cache,
    error::JournalError,
    salvage::began,
    store::{Journal, plain_name},
};

/// What came along when a device became part of another crew.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Adopted {
    /// Observations written anew into the crew's documents.
    pub observations: usize,
    /// Fields written anew into the crew's list.
    pub fields: usize,
}

impl Journal {
    /// Returns the key of the crew's own document.
    pub fn crew_doc(&self) -> DocKey {
        DocKey { crew: self.identity().crew, feature: Feature::Crew, season: 0 }
    }

    /// Adds a field to the crew's list or writes what changed of it, its name included.
    ///
    /// *Errors:* the name is new for this field, and another field that is not retired has it.
    pub fn put_field(&self, field: &Field, by: &str, at: Timestamp) -> Result<(), JournalError> {
        let fields = self.fields()?;
        let taken = fields.iter().any(|f| f.id != field.id && f.name == field.name && !f.retired);
        let had_it = fields.iter().any(|f| f.id == field.id && f.name == field.name && !f.retired);
        if taken && !had_it && !field.retired {
            return Err(JournalError::FieldNameTaken { name: field.name.clone() });
        }
        self.write_field(field, by, at)
    }

    /// Adds several fields or writes what changed of them, in one transaction.
    ///
    /// *Errors:* as [`Self::put_field`], of two of these fields with one name too; then none is written.
    pub fn put_fields(&self, fields: &[Field], by: &str, at: Timestamp) -> Result<(), JournalError> {
        self.put_fields_and_record(fields, by, &[], at)
    }

    /// The same as [`Self::put_fields`], with observations recorded in the same transaction: of fields that are new, what
    /// they begin with. None of these documents may be the crew's own.
    ///
    /// *Errors:* as [`Self::put_fields`] and [`Self::record_all`]; then nothing is written.
    pub fn put_fields_and_record(
        &self,
        fields: &[Field],
        by: &str,
        batches: &[Batch],
        at: Timestamp,
    ) -> Result<(), JournalError> {
        self.check_batches(batches)?;
        let known = self.fields()?;
        for (index, field) in fields.iter().enumerate().filter(|(_, field)| !field.retired) {
            let same = |f: &&Field| f.name == field.name && !f.retired;
            let had_it = known.iter().filter(same).any(|f| f.id == field.id);
            let renamed = |f: &&Field| !fields.iter().any(|new| new.id == f.id);
            let taken = known.iter().filter(same).filter(renamed).any(|f| f.id != field.id)
                || fields[..index].iter().filter(same).any(|f| f.id != field.id);
            if taken && !had_it {
                return Err(JournalError::FieldNameTaken { name: field.name.clone() });
            }
        }
        let put = |document: &mut FieldDocument| {
            fields.iter().try_for_each(|field| document.put_field(field, at))?;
            Ok(((), Vec::new()))
        };
        self.write_also(&self.crew_doc(), by, put, |tx, ()| {
            // What else is in memory does not know of these documents; whoever needs one next loads it.
            let mut cache = Cache::default();
            batches.iter().try_for_each(|batch| self.append_batch(tx, &mut cache, batch, at).map(drop))
        })
    }

    pub(crate) fn write_field(&self, field: &Field, by: &str, at: Timestamp) -> Result<(), JournalError> {
        self.write(&self.crew_doc(), by, |document| {
            document.put_field(field, at)?;
            field.merged_into.iter().try_for_each(|into| document.merge_field(&field.id, into, at))?;
            Ok(((), Vec::new()))
        })
    }

    /// Makes a field part of another, of which `keep` are the entries from now on; the records of both stay where they
    /// are and are told as one field's.
    pub fn merge_field(&self, id: &str, keep: &Field, by: &str, at: Timestamp) -> Result<(), JournalError> {
        self.write(&self.crew_doc(), by, |document| {
            document.put_field(keep, at)?;
            document.merge_field(id, &keep.id, at)?;
            Ok(((), Vec::new()))
        })
    }

    /// Returns since when the crew's fields that are retired are so, by identifier, as the clock of whoever retired them told it.
    pub fn retired_since(&self) -> Result<BTreeMap<String, Timestamp>, JournalError> {
        if !self.all_fields()?.iter().any(|field| field.retired) {
            return Ok(BTreeMap::new());
        }
        self.with_document(self.crew_doc().id(), |document| document.retired_since())
    }

    /// Takes fields that were made part of another out of it again.
    pub fn part_fields(&self, ids: &[String], by: &str, at: Timestamp) -> Result<(), JournalError> {
        self.write(&self.crew_doc(), by, |document| {
            ids.iter().try_for_each(|id| document.part_field(id, at))?;
            Ok(((), Vec::new()))
        })
    }

    /// Adds a grower, planter or soil, or writes what is new of it.
    pub fn keep(&self, kept: &Kept, by: &str, at: Timestamp) -> Result<(), JournalError> {
        self.write(&self.crew_doc(), by, |document| {
            document.keep(kept, at)?;
            Ok(((), Vec::new()))
        })
    }

    /// Returns the names that several fields bear which are not retired, each with these fields by identifier.
    ///
    /// Two devices may have added them before they met. Giving all but one another name with [`Self::put_field`]
    /// settles it.
    pub fn duplicate_field_names(&self) -> Result<Vec<(String, Vec<Field>)>, JournalError> {
        let fields: Vec<Field> = self.fields()?.into_iter().filter(|f| !f.retired).collect();
        // They come by name, then by identifier.
        Ok(fields
            .chunk_by(|a, b| a.name == b.name)
            .filter(|same| same.len() > 1)
            .map(|same| (same[0].name.clone(), same.to_vec()))
            .collect())
    }

    /// Makes the device part of another crew and takes along what was recorded before.
    ///
    /// Records as they stand now, voids and fields are written into the new crew's documents under the same keys of
    /// visits; their earlier history stays behind in the old documents, which are kept but no longer listed.
    pub fn adopt_crew(&self, crew: CrewId, now: Timestamp) -> Result<Adopted, JournalError> {
        let mut adopted = Adopted::default();
        if self.identity().crew == crew {
            return Ok(adopted);
        }
        // What another process is just recording comes along too.
        let _held = self.finish_and_hold(&|_| ())?;
        let (records, fields, roster) = (self.records_as_kept()?, settled(self.all_fields()?), self.roster()?);
        self.set_meta("crew", &crew.0)?;
        self.set_identity(|i| i.crew = crew);
        let person = self.identity().person;
        for field in &fields {
            self.write_field(field, &person, now)?;
            adopted.fields += 1;
        }
        for kept in &roster {
            self.keep(kept, &person, now)?;
        }
        for run in records.chunk_by(|a, b| (&a.feature, a.season) == (&b.feature, b.season)) {
            let doc = DocKey { crew, feature: run[0].feature.clone(), season: run[0].season };
            let new: Vec<_> = run
                .iter()
                .map(|r| NewObservation {
                    visit: Visit {
                        id: r.visit.clone(),
                        by: plain_name(&r.by),
                        at: match r.feature {
                            Feature::Field(_) => began(&r.visit).unwrap_or(r.at),
                            _ => r.at,
                        },
                        offset_minutes: r.offset_minutes,
                        place: r.place,
                    },
                    kind: r.kind.clone(),
                    version: 1,
                    values: r.values.clone(),
                    at: Some(r.at),
                    place: r.place,
                    // It keeps its number: by that two devices know a station's day or a row of a sheet for the same, and what
                    // links to it finds it.
                    number: r.key.rsplit_once('-').and_then(|(_, n)| n.parse().ok()),
                })
                .collect();
            let crop = (!run[0].crop.is_empty()).then_some(run[0].crop.as_str());
            let keys = self.record(&doc, crop, &new, now)?;
            adopted.observations += keys.len();
            for (record, key) in run.iter().zip(&keys) {
                if let Some(void) = &record.void {
                    self.void(
                        key,
                        &Void { at: now, by: plain_name(&void.by), why: void.why.clone(), also: Vec::new() },
                    )?;
                }
            }
        }
        Ok(adopted)
    }

    fn set_meta(&self, name: &str, value: &dyn rusqlite::ToSql) -> Result<(), JournalError> {
        let inner = self.lock();
        inner
            .conn
            .execute("update meta set value = ?2 where name = ?1", params![name, value])
            .map(|_| ())
            .map_err(self.sql())
    }
}
