//! Drafts: what was answered of an observation that is not whole yet. They stay on this device.

use jiff::Timestamp;
use ligule_observation::{
    document::{FieldDocument, NewObservation},
    ids::{DocKey, ObservationKey},
};
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};

use crate::{error::JournalError, store::Journal, write::new_ulid};

/// What the names of drafts begin with.
const PREFIX: &str = "draft ";

/// An observation that a draft has become.
#[derive(Debug, Clone, Copy)]
pub struct Drafted<'a> {
    /// The draft's name.
    pub name: &'a str,
    /// The document.
    pub document: &'a DocKey,
    /// The crop of its feature in that season, where it is known.
    pub crop: Option<&'a str>,
    /// The observation.
    pub new: &'a NewObservation,
}

impl Journal {
    /// Returns the draft of that name.
    pub fn draft(&self, name: &str) -> Result<Option<Vec<u8>>, JournalError> {
        self.kv_get(&format!("{PREFIX}{name}"))
    }

    /// Puts `next` in the place of a draft, or takes the draft away where there is none, if `ours` says so of what is kept
    /// now; durable on return. *Returns* whether it was done: no other process comes between the look and the write.
    pub fn replace_draft(
        &self,
        name: &str,
        next: Option<&[u8]>,
        ours: impl FnOnce(Option<&[u8]>) -> bool,
    ) -> Result<bool, JournalError> {
        let (inner, sql) = (self.lock(), self.sql());
        let tx = Transaction::new_unchecked(&inner.conn, TransactionBehavior::Immediate).map_err(&sql)?;
        if !ours(kept(&tx, name).map_err(&sql)?.as_deref()) {
            return Ok(false);
        }
        let name = format!("{PREFIX}{name}");
        match next {
            Some(next) => tx.execute("insert or replace into kv (name, value) values (?1, ?2)", params![name, next]),
            None => tx.execute("delete from kv where name = ?1", [name]),
        }
        .map_err(&sql)?;
        tx.commit().map_err(&sql)?;
        Ok(true)
    }

    /// Records the observation that a draft has become, and keeps what comes after it as the draft, in one transaction:
    /// whenever the program ends, the observation is recorded once or the draft still has it.
    ///
    /// `next` makes the new draft of the observation's key. Otherwise as [`Self::record`]. *Errors:* `ours` says of what is
    /// kept now that it is another's, and nothing was written.
    pub fn record_drafted(
        &self,
        draft: &Drafted<'_>,
        ours: impl FnOnce(Option<&[u8]>) -> bool,
        next: impl FnOnce(&str) -> Vec<u8>,
        now: Timestamp,
    ) -> Result<ObservationKey, JournalError> {
        let Drafted { name, document, crop, new } = draft;
        let act = |document: &mut FieldDocument| {
            if let Some(crop) = crop {
                document.set_crop(crop, now)?;
            }
            let keys = document.append(std::slice::from_ref(*new), now, &mut || new_ulid(now))?;
            Ok((keys.concat(), keys))
        };
        self.write_also(document, &new.visit.by, act, |tx, key| {
            if !ours(kept(tx, name).map_err(self.sql())?.as_deref()) {
                return Err(JournalError::DraftTaken { name: (*name).to_owned() });
            }
            let row = params![format!("{PREFIX}{name}"), next(key)];
            tx.execute("insert or replace into kv (name, value) values (?1, ?2)", row).map(drop).map_err(self.sql())
        })
    }
}

/// Returns the draft of that name, as a transaction sees it.
fn kept(tx: &Transaction<'_>, name: &str) -> rusqlite::Result<Option<Vec<u8>>> {
    tx.query_row("select value from kv where name = ?1", [format!("{PREFIX}{name}")], |r| r.get(0)).optional()
}
