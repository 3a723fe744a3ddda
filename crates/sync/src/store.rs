//! What the exchange needs from whatever keeps the documents.

use std::collections::BTreeMap;

use ligule_observation::ids::{DeviceId, DocId, DocKey};
use serde::{Deserialize, Serialize};

use crate::membership::{MembershipLog, SignedEntry};

/// How far a copy of a document has come: for each actor the highest sequence number it holds.
pub type VersionVector = BTreeMap<Vec<u8>, u64>;

/// A document's line in the inventory.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DocEntry {
    /// Which document.
    pub id: DocId,
    /// What it is about.
    pub key: DocKey,
    /// A digest of its heads (`ligule_observation::version::digest`): equal digests mean equal histories.
    pub digest: [u8; 8],
}

/// What became of changes that a store took in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Applied {
    /// How many of the changes were new to it.
    pub new_changes: u64,
    /// The document's digest now.
    pub digest: [u8; 8],
}

/// Why changes to a document were not taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum RefusalCode {
    /// The bytes are not well-formed changes, or the document would no longer load with them.
    Malformed,
    /// Changes that these stand on are missing.
    MissingDependencies,
    /// The changes were made for another document.
    OtherDocument,
    /// A limit on size or number was exceeded.
    TooLarge,
    /// Two histories carry different changes under the same actor and number: a journal was copied.
    Forked,
    /// The store failed (disk full, locked); trying again later may help.
    StoreFailed,
}

/// Changes that were not taken in: the code for programs, the reason for people.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[error("{reason}")]
pub struct Refusal {
    /// The kind of trouble.
    pub code: RefusalCode,
    /// What was expected, what came, what to do next.
    pub reason: String,
}

/// The store could not do its part of the exchange.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the journal could not {action}: {reason}")]
pub struct StoreError {
    /// What was being done, as a verb phrase.
    pub action: &'static str,
    /// What went wrong.
    pub reason: String,
}

/// Keeps a crew's documents and its membership log.
///
/// Every call sees the latest durable state; between two calls of one exchange, people go on recording.
pub trait Store {
    /// Lists all documents. Loads none.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn inventory(&mut self) -> Result<Vec<DocEntry>, StoreError>;

    /// Returns the digest over all documents: equal roots mean that there is nothing to exchange.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn root_digest(&mut self) -> Result<[u8; 32], StoreError> {
        Ok(root_digest(self.inventory()?.iter().map(|entry| (entry.id, entry.digest))))
    }

    /// Returns how far the store's copy has come; empty for a document it does not hold.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn vector(&mut self, doc: &DocId) -> Result<VersionVector, StoreError>;

    /// Returns the raw bytes of exactly the changes that `vector` does not cover, in causal order.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn changes_since(&mut self, doc: &DocId, vector: &VersionVector) -> Result<Vec<Vec<u8>>, StoreError>;

    /// Verifies changes that came from `from` and makes them durable; all or none.
    ///
    /// Taking in a change a second time is no error. When this returns `Ok`, the changes survive a power cut.
    ///
    /// # Errors
    /// A [`Refusal`]; the store is then as it was.
    fn apply(&mut self, from: &DeviceId, key: &DocKey, changes: Vec<Vec<u8>>) -> Result<Applied, Refusal>;

    /// Returns the crew's membership log.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn membership(&mut self) -> Result<MembershipLog, StoreError>;

    /// Adds entries to the membership log (see [`MembershipLog::merge`]) and makes them durable.
    ///
    /// # Errors
    /// When the store cannot be written.
    fn merge_membership(&mut self, entries: Vec<SignedEntry>) -> Result<(), StoreError>;
}

/// Folds documents and their digests to the 32 bytes that two devices compare first.
pub fn root_digest(entries: impl IntoIterator<Item = (DocId, [u8; 8])>) -> [u8; 32] {
    let sorted: BTreeMap<DocId, [u8; 8]> = entries.into_iter().collect();
    let mut hasher = blake3::Hasher::new_derive_key("ligule sync root digest 1");
    for (id, digest) in &sorted {
        hasher.update(&id.0);
        hasher.update(digest);
    }
    *hasher.finalize().as_bytes()
}
