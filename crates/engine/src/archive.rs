//! Seasons into the archive, and a look at what is there.

use std::collections::HashMap;
use std::sync::Arc;

use ligule_archive::{Archive, ArchiveError, FarmUnit, FieldFacts, Progress, UnitState, well_known_binary};
use ligule_journal::{DocState, Journal};
use ligule_observation::field::Field;
use ligule_observation::field::boundary::Boundary;
use ligule_observation::field::merge::United;
use ligule_observation::field::roster::{Kept, Sort};
use ligule_observation::ids::{DeviceId, DocId, Feature, hex};
use ligule_observation::kind::Kind;
use ligule_observation::record::Place;
use serde::Serialize;

use crate::error::{EngineError, Fault, Result};
use crate::number::counted;
use crate::{Engine, now};

/// What a compaction did.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Compacted {
    /// Tables whose files changed.
    pub tables: usize,
    /// Files that came.
    pub files_added: usize,
    /// Files that are superseded.
    pub files_removed: usize,
    /// Rows that are live now.
    pub rows: u64,
    /// Documents that the archive holds as they are.
    pub unchanged_units: usize,
    /// What a person should know.
    pub notes: Vec<String>,
}

/// A live file of the archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ArchiveFile {
    /// The table.
    pub table: String,
    /// The season.
    pub season: Option<i32>,
    /// Rows.
    pub rows: u64,
    /// Bytes.
    pub bytes: u64,
    /// Where it is, relative to the archive.
    pub path: String,
}

/// What a look at the archive found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ArchiveCheck {
    /// Live files.
    pub files: usize,
    /// Rows in them.
    pub rows: u64,
    /// What is damaged, and how much of it is still readable.
    pub findings: Vec<(String, String)>,
    /// How to go on.
    pub next: String,
}

impl Engine {
    /// Writes the seasons into the archive; all that are in the journal where none is named.
    ///
    /// Documents that the archive holds as they are cost nothing, so that doing it twice adds nothing.
    ///
    /// `repair` writes anew what is damaged or missing in the archive; it needs every season that the archive holds.
    pub async fn compact(
        &self,
        place: &str,
        seasons: &[i32],
        repair: bool,
        progress: impl Fn(String) + Sync,
    ) -> Result<Compacted> {
        let archive = Archive::create(place)?;
        // A damaged archive cannot tell its units in order; the repair takes what can still be read of them.
        let archived = if repair { archive.inspect().await?.units } else { archive.units().await? };
        let facts = self.facts()?;
        let mut units = Vec::new();
        for document in self.journal.documents()? {
            if document.key.feature != Feature::Crew && (seasons.is_empty() || seasons.contains(&document.key.season)) {
                units.push(farm_unit(&self.journal, &document, archived.get(&document.id), &facts)?);
            }
        }
        if let Some(missing) = seasons.iter().find(|season| !units.iter().any(|unit| unit.season == **season)) {
            return Err(EngineError::user(
                format!("the journal holds nothing of {missing}"),
                "`ligule list` shows what it holds",
            ));
        }
        let kinds: Vec<Kind> = self.kinds.iter().cloned().collect();
        let tell = |step: Progress| {
            progress(match step {
                Progress::Writing { table, season } => format!("writing {table} {season}"),
                Progress::Committing { table, done, of } => format!("committing {table} ({} of {of})", done + 1),
                Progress::Again { attempt } => format!("another program was faster; attempt {attempt}"),
            });
        };
        let report = if repair {
            archive.repair(&units, &kinds, now(), &tell).await?
        } else {
            archive.compact(&units, &kinds, now(), &tell).await?
        };
        let mut notes = Vec::new();
        if !report.stale_units.is_empty() {
            notes.push(format!(
                "{} left out: the archive holds changes of {} that this device does not; sync, then compact again",
                counted(report.stale_units.len(), "document was", "documents were"),
                if report.stale_units.len() == 1 { "it" } else { "them" }
            ));
        }
        Ok(Compacted {
            tables: report.tables.len(),
            files_added: report.files_added,
            files_removed: report.files_removed,
            rows: report.rows,
            unchanged_units: report.unchanged_units,
            notes,
        })
    }

    pub(crate) fn facts(&self) -> Result<Facts> {
        Ok(Facts::of(&self.journal.all_fields()?, &self.journal.roster()?))
    }
}

/// What the archive keeps of each field, and under which field each is spoken of.
pub(crate) struct Facts {
    united: United,
    by_field: HashMap<String, Arc<FieldFacts>>,
}

impl Facts {
    /// Reads it off all fields of a crew and its roster.
    pub(crate) fn of(fields: &[Field], roster: &[Kept]) -> Self {
        let by_field = fields.iter().map(|field| {
            let soil = roster.iter().find(|kept| kept.sort == Sort::Soil && kept.name == field.soil);
            let of_soil = |fact: &str| soil.and_then(|soil| soil.text(fact)).unwrap_or_default().to_owned();
            let facts = FieldFacts {
                name: field.name.clone(),
                grower: field.grower.clone(),
                region: field.region.clone(),
                zone: field.zone.clone(),
                area_m2: field.area_m2,
                row_width_mil: field.row_width_mil,
                station: field.station.clone(),
                soil: field.soil.clone(),
                soil_map_unit: of_soil("map_unit"),
                soil_texture: of_soil("texture"),
                retired: field.retired,
                split_from: field.split_from.clone(),
                middle: field.lon_e7.zip(field.lat_e7).map(|(lon_e7, lat_e7)| Place { lon_e7, lat_e7 }),
                boundary: Boundary::from_text(&field.boundary).map_or(Vec::new(), |drawn| well_known_binary(&drawn)),
            };
            (field.id.clone(), Arc::new(facts))
        });
        Self { united: United::of(fields), by_field: by_field.collect() }
    }

    /// Returns the feature as which a document's records are archived: of merged fields the one that is spoken of.
    pub(crate) fn feature(&self, feature: &Feature) -> Feature {
        match feature {
            Feature::Field(id) => Feature::Field(self.united.home(id).to_owned()),
            other => other.clone(),
        }
    }

    /// Returns what the archive keeps of a feature, as [`Facts::feature`] names it.
    pub(crate) fn about(&self, feature: &Feature) -> Arc<FieldFacts> {
        match feature {
            Feature::Field(id) => self.by_field.get(id).cloned().unwrap_or_default(),
            Feature::Station(code) => Arc::new(FieldFacts { name: code.clone(), ..FieldFacts::default() }),
            Feature::Crew => Arc::default(),
        }
    }
}

/// Returns a document as it is archived.
pub(crate) fn farm_unit(
    journal: &Journal,
    document: &DocState,
    archived: Option<&UnitState>,
    facts: &Facts,
) -> Result<FarmUnit> {
    let heads = spelled(document);
    let records = journal.records_in(document.id)?;
    let feature = facts.feature(&document.key.feature);
    let crop =
        records.iter().map(|record| record.crop.as_str()).find(|crop| !crop.is_empty()).unwrap_or_default().to_owned();
    let field = facts.about(&feature);
    // Only a document that contains what is archived may take its place.
    let replaces = match archived {
        Some(state) if state.heads == heads || contains(journal, document.id, &state.heads)? => {
            Some(state.heads.clone())
        }
        // A spelling that no archive has: the archive then reports the unit as stale, or takes it in as new.
        _ => Some(String::new()),
    };
    Ok(FarmUnit { doc: document.id, feature, season: document.key.season, crop, heads, replaces, field, records })
}

/// Writes the heads as the archive keeps them: in hex, sorted, separated by blanks.
pub(crate) fn spelled(document: &DocState) -> String {
    let heads: Vec<String> = document.heads.iter().map(|head| hex(head)).collect();
    heads.join(" ")
}

/// Tells whether a document of the journal contains all of these heads.
pub(crate) fn contains(journal: &Journal, document: DocId, heads: &str) -> Result<bool> {
    // A change's hash has the form of a device's identifier: 32 bytes in hex.
    let hashes: Option<Vec<_>> =
        heads.split_whitespace().map(|head| head.parse::<DeviceId>().ok().map(|hash| hash.0)).collect();
    match hashes {
        Some(hashes) => Ok(journal.contains(document, &hashes)?),
        None => Ok(false),
    }
}

/// Lists the live files of an archive.
pub async fn archive_files(place: &str) -> Result<Vec<ArchiveFile>> {
    let files = Archive::open(place)?.files(None).await?;
    Ok(files
        .into_iter()
        .map(|file| ArchiveFile {
            table: file.table,
            season: file.season,
            rows: file.rows,
            bytes: file.bytes,
            path: file.path,
        })
        .collect())
}

/// Checks every live file of an archive.
pub async fn verify_archive(place: &str) -> Result<ArchiveCheck> {
    let report = Archive::open(place)?.verify().await?;
    let mut next: Vec<String> = report.damage.iter().map(|damage| damage.next.clone()).collect();
    next.dedup();
    Ok(ArchiveCheck {
        files: report.files,
        rows: report.rows,
        findings: report
            .damage
            .into_iter()
            .map(|damage| {
                let what = damage.file.map_or(damage.table, |file| file.path);
                (what, format!("{}; still readable: {}", damage.what, damage.readable))
            })
            .collect(),
        next: next.join("; "),
    })
}

impl From<ArchiveError> for EngineError {
    fn from(error: ArchiveError) -> Self {
        let fault = if error.is_users_fault() || error.is_missing() { Fault::User } else { Fault::Data };
        Self::new(fault, error.to_string(), "")
    }
}
