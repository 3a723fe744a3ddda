//! Drafts: what was answered of an observation that is not whole yet. They stay on this device.

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, NewObservation},
    ids::{DocKey, ObservationKey},
};
use rusqlite::params;

use crate::{error::JournalError, store::Journal, write::new_ulid};

/// What the names of drafts begin with.
const PREFIX: &str = "draft ";

impl Journal {
    /// Returns the draft of that name.
    pub fn draft(&self, name: &str) -> Result<Option<Vec<u8>>, JournalError> {
        self.kv_get(&format!("{PREFIX}{name}"))
    }

    /// Keeps a draft; durable on return.
    pub fn keep_draft(&self, name: &str, draft: &[u8]) -> Result<(), JournalError> {
        self.kv_put(&format!("{PREFIX}{name}"), draft)
    }

    /// Forgets a draft, where there is one; durable on return.
    pub fn forget_draft(&self, name: &str) -> Result<(), JournalError> {
        let inner = self.lock();
        inner.conn.execute("delete from kv where name = ?1", [format!("{PREFIX}{name}")]).map_err(self.sql())?;
        Ok(())
    }

    /// Records the observation that a draft has become, and keeps what comes after it as the draft, in one transaction:
    /// whenever the program ends, the observation is recorded once or the draft still has it.
    ///
    /// `next` makes the new draft of the observation's key. Otherwise as [`Self::record`].
    pub fn record_drafted(
        &self,
        doc: &DocKey,
        crop: Option<&str>,
        new: &NewObservation,
        name: &str,
        next: impl FnOnce(&str) -> Vec<u8>,
        now: Timestamp,
    ) -> Result<ObservationKey, JournalError> {
        let act = |document: &mut FieldDocument| {
            if let Some(crop) = crop {
                document.set_crop(crop, now)?;
            }
            let keys = document.append(std::slice::from_ref(new), now, &mut || new_ulid(now))?;
            Ok((keys.concat(), keys))
        };
        self.write_also(doc, &new.visit.by, act, |tx, key| {
            tx.execute(
                "insert or replace into kv (name, value) values (?1, ?2)",
                params![format!("{PREFIX}{name}"), next(key)],
            )
            .map(drop)
        })
    }
}
