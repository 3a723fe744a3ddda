//! Recording into several documents at once: all of it or nothing.

use std::{borrow::Cow, collections::HashMap};

use jiff::Timestamp;
use ligule_observation::{
    document::{NewObservation, Writer},
    ids::{DocId, DocKey, ObservationKey},
};
use rusqlite::Transaction;

use crate::{
    actors,
    documents::{Cache, Cached},
    error::JournalError,
    store::{Inner, Journal, check_person},
    write::new_ulid,
};

/// Of how many documents at most each is read in before the transaction that writes them.
const AHEAD: usize = 16;

/// Observations for the document of one feature and season.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// The document; it is started if need be.
    pub document: DocKey,
    /// The feature's crop in that season, where it is known.
    pub crop: Option<String>,
    /// The observations.
    pub new: Vec<NewObservation>,
}

impl Journal {
    /// Records observations into several documents in one transaction.
    ///
    /// *Returns* the keys, a list a batch, in order; everything is on disk then. *Errors:* nothing is written where one
    /// of them cannot be.
    pub fn record_all(&self, batches: &[Batch], now: Timestamp) -> Result<Vec<Vec<ObservationKey>>, JournalError> {
        self.record_all_and(batches, now, |_| Ok(()))
    }

    /// Refuses what is not of this crew, or by nobody.
    pub(crate) fn check_batches(&self, batches: &[Batch]) -> Result<(), JournalError> {
        let identity = self.identity();
        for batch in batches {
            if batch.document.crew != identity.crew {
                let got = batch.document.crew.to_string();
                return Err(JournalError::OtherCrew { expected: identity.crew.to_string(), got });
            }
            batch.new.iter().try_for_each(|new| check_person(&new.visit.by))?;
        }
        Ok(())
    }

    /// The same as [`Self::record_all`], with something else written in the same transaction.
    pub(crate) fn record_all_and(
        &self,
        batches: &[Batch],
        now: Timestamp,
        also: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<()>,
    ) -> Result<Vec<Vec<ObservationKey>>, JournalError> {
        self.check_batches(batches)?;
        let mut guard = self.lock();
        let Inner { conn, cache } = &mut *guard;
        // Many are small, and few stay in memory.
        if batches.len() <= AHEAD {
            batches.iter().try_for_each(|batch| self.read_ahead(conn, cache, batch.document.id()))?;
        }
        let tx = self.begin(conn)?;
        let mut keys = Vec::with_capacity(batches.len());
        // What was taken out of the cache goes back once the tables hold the same; on an error it is loaded anew.
        let mut written: Vec<(DocId, Cached)> = Vec::new();
        for batch in batches {
            let id = batch.document.id();
            if let Some(at) = written.iter().position(|(known, _)| *known == id) {
                let (id, cached) = written.swap_remove(at);
                Self::put_back(cache, id, cached);
            }
            let (id, cached, given) = self.append_batch(&tx, cache, batch, now)?;
            keys.push(given);
            written.push((id, cached));
        }
        also(&tx).map_err(self.sql())?;
        self.commit(tx)?;
        for (id, cached) in written {
            Self::put_back(cache, id, cached);
        }
        Ok(keys)
    }

    /// Appends the observations of one document within a transaction; the document goes back into the cache once that is
    /// committed.
    pub(crate) fn append_batch(
        &self,
        tx: &Transaction<'_>,
        cache: &mut Cache,
        batch: &Batch,
        now: Timestamp,
    ) -> Result<(DocId, Cached, Vec<ObservationKey>), JournalError> {
        let (sql, device) = (self.sql(), self.identity().device);
        let (mut row, mut cached) = self.take_or_start(tx, cache, &batch.document)?;
        let mut written = Vec::with_capacity(batch.new.len());
        let mut given = vec![ObservationKey::new(); batch.new.len()];
        // One change has one writer.
        for own in by_person(&batch.new) {
            let run: Cow<'_, [NewObservation]> = match own[..] {
                [first, .., last] if last - first + 1 == own.len() => Cow::from(&batch.new[first..=last]),
                [only] => Cow::from(std::slice::from_ref(&batch.new[only])),
                _ => own.iter().map(|&index| batch.new[index].clone()).collect(),
            };
            let person = &run[0].visit.by;
            let (actor, seq) = actors::actor_of(tx, &self.sidecar, row.id, person, &row.vector).map_err(&sql)?;
            cached.document.set_writer(Writer { actor, device, person: person.clone() });
            if let Some(crop) = &batch.crop {
                cached.document.set_crop(crop, now)?;
            }
            let wrote = cached.document.append_written(&run, now, &mut || new_ulid(now))?;
            own.iter().zip(&wrote).for_each(|(&index, one)| given[index].clone_from(&one.key));
            written.extend(wrote);
            let changes = cached.document.changes_after(&row.heads);
            if !changes.is_empty() {
                let seq = seq + changes.len() as u64;
                row.vector.insert(actor.to_vec(), seq);
                self.append_chunk(tx, &mut row, &mut cached, &changes)?;
                actors::keep(tx, &self.sidecar, row.id, person, actor, seq).map_err(&sql)?;
            }
        }
        self.project_written(tx, &row, &cached, written)?;
        Ok((row.id, cached, given))
    }
}

/// Returns which observations are each person's, in order; the person comes first whose observation does.
pub(crate) fn by_person(new: &[NewObservation]) -> Vec<Vec<usize>> {
    let mut places: HashMap<&str, usize> = HashMap::new();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (index, one) in new.iter().enumerate() {
        let place = *places.entry(&one.visit.by).or_insert(groups.len());
        if place == groups.len() {
            groups.push(Vec::new());
        }
        groups[place].push(index);
    }
    groups
}
