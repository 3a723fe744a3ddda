//! Who belongs to the crew: a log of signed entries that only ever grows.
//!
//! The founder's entry comes first; members admit and remove devices by further entries, each signed by the
//! member's device and linked by hash to the entries that it knew. Two logs merge by set union; the members are
//! then computed from the set alone, so every device with the same entries names the same members.
//!
//! The rules of that computation:
//!
//! - An entry counts if its signature is right, it names this crew, all entries that it links to are there, and its
//!   signer was a member by what the entry itself had seen.
//! - A removal takes away what the removed device signed without the removal's author having seen it: a removed
//!   device cannot admit a friend by an entry that pretends to be older.
//! - Where two members remove each other at once, the senior one's removal counts (seniority: fewest admissions
//!   away from the founder, then the device id).
//! - An admission and a removal of one device that did not see each other: the removal wins; a later admission that
//!   has seen the removal brings the device back.
//! - What was known of the removed device's work when it was removed is accepted as honest: entries that follow a
//!   removal name it, by as many marks as there are heads of documents (see [`Accepted`]).

use std::collections::{BTreeMap, BTreeSet};

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use ligule_observation::ids::{CrewId, DeviceId, DocId};
use serde::{Deserialize, Serialize};

use crate::error::SyncError;

/// The hash of an entry.
pub type EntryHash = [u8; 32];

/// The most bytes of one entry.
pub const MAX_ENTRY: usize = 256 << 10;
/// How many marks one entry names: what else it says fits beside them into [`MAX_ENTRY`].
pub const MARKS_OF_ENTRY: usize = 16_000;
/// The most entries of a log.
pub const MAX_ENTRIES: usize = 1024;
const FORMAT: u8 = 1;
const CONTEXT: &str = "ligule membership entry 1";

/// What an entry says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Act {
    /// The crew begins; the signer is its first member.
    Found {
        /// Who holds the founder's device.
        person: String,
        /// Makes the crew's id, together with the founder's device.
        nonce: [u8; 16],
    },
    /// A device joins.
    Admit {
        /// Which.
        device: DeviceId,
        /// Who holds it.
        person: String,
        /// When the invitation ran out, in milliseconds since 1970 UTC: an admission dated later does not count.
        expires: i64,
    },
    /// A device leaves or is put out.
    Remove {
        /// Which.
        device: DeviceId,
        /// The heads of each document that are accepted as the removed device's honest work; empty where
        /// [`Self::Accept`] names them. Earlier programs wrote them here, and could remove nobody where the entry
        /// became too long.
        accepted: Vec<(DocId, Vec<[u8; 32]>)>,
    },
    /// A removed device's work is accepted up to here. A removal is followed by as many of these as it needs.
    Accept {
        /// The removal.
        removal: EntryHash,
        /// Marks of heads of documents, at most [`MARKS_OF_ENTRY`].
        marks: Vec<Mark>,
    },
}

/// Names a head of a document, for 16 bytes: whoever has the document can tell which of its changes is meant, and nobody
/// else needs to.
pub type Mark = [u8; 16];

/// Returns the mark of a head of a document.
fn mark(doc: &DocId, head: &[u8; 32]) -> Mark {
    let mut hasher = blake3::Hasher::new_derive_key("ligule accepted head 1");
    hasher.update(&doc.0);
    hasher.update(head);
    let mut mark = Mark::default();
    mark.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
    mark
}

/// What is accepted as a removed device's honest work: the changes at the heads that were named, and all that they stand
/// on.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Accepted {
    marks: BTreeSet<Mark>,
}

impl Accepted {
    /// Returns whether this change was a head of the document when the device was removed.
    pub fn is_head(&self, doc: &DocId, change: &[u8; 32]) -> bool {
        self.marks.contains(&mark(doc, change))
    }

    /// Returns how many heads were named.
    pub fn heads(&self) -> usize {
        self.marks.len()
    }
}

/// An entry's content.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// The crew.
    pub crew: CrewId,
    /// The heads of the log that its author knew.
    pub parents: Vec<EntryHash>,
    /// Its author.
    pub by: DeviceId,
    /// When, in milliseconds since 1970 UTC, by the author's clock.
    pub at: i64,
    /// What it says.
    pub act: Act,
}

/// An entry as it is kept and sent.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct SignedEntry {
    /// The content, in postcard.
    pub body: Vec<u8>,
    /// The author's ed25519 signature, 64 bytes.
    pub signature: Vec<u8>,
}

impl SignedEntry {
    /// Signs an entry. The caller sees to it that `signer` is the key of `entry.by`.
    fn sign(entry: &Entry, signer: &SigningKey) -> Result<Self, SyncError> {
        let body = postcard::to_stdvec(entry).map_err(|error| SyncError::Membership { reason: error.to_string() })?;
        if body.len() > MAX_ENTRY {
            let reason = format!("an entry of {} bytes; the limit is {MAX_ENTRY}", body.len());
            return Err(SyncError::Membership { reason });
        }
        let signature = signer.sign(&to_sign(&body)).to_bytes().to_vec();
        Ok(Self { body, signature })
    }

    /// Returns the entry's hash.
    pub fn hash(&self) -> EntryHash {
        let mut hasher = blake3::Hasher::new_derive_key("ligule membership entry hash 1");
        hasher.update(&(self.body.len() as u64).to_le_bytes());
        hasher.update(&self.body);
        hasher.update(&self.signature);
        *hasher.finalize().as_bytes()
    }

    /// Returns the content if the signature is its author's.
    ///
    /// # Errors
    /// [`SyncError::Membership`] says what is wrong.
    pub fn open(&self) -> Result<Entry, SyncError> {
        let bad = |reason: &str| SyncError::Membership { reason: reason.to_owned() };
        if self.body.len() > MAX_ENTRY {
            return Err(bad("an entry is too long"));
        }
        let (entry, rest) =
            postcard::take_from_bytes::<Entry>(&self.body).map_err(|_| bad("an entry does not decode"))?;
        if !rest.is_empty() {
            return Err(bad("bytes follow the end of an entry"));
        }
        let key = VerifyingKey::from_bytes(&entry.by.0).map_err(|_| bad("an entry's author is no device key"))?;
        let signature = Signature::from_slice(&self.signature).map_err(|_| bad("a signature has not 64 bytes"))?;
        key.verify_strict(&to_sign(&self.body), &signature).map_err(|_| bad("a signature is not its author's"))?;
        Ok(entry)
    }
}

fn to_sign(body: &[u8]) -> Vec<u8> {
    let mut bytes = CONTEXT.as_bytes().to_vec();
    bytes.extend_from_slice(body);
    bytes
}

/// A member as the log has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// Who holds the device.
    pub person: String,
    /// Who admitted it; the founder admitted itself.
    pub admitted_by: DeviceId,
    /// When, in milliseconds since 1970 UTC.
    pub since: i64,
}

/// A device that was a member.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Removal {
    /// Who held the device.
    pub person: String,
    /// Who removed it.
    pub by: DeviceId,
    /// When, in milliseconds since 1970 UTC.
    pub at: i64,
    /// What stays accepted as its work.
    pub accepted: Accepted,
}

/// The log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MembershipLog {
    crew: CrewId,
    entries: BTreeMap<EntryHash, (SignedEntry, Entry)>,
}

/// Returns the id of the crew that `founder` begins with `nonce`.
pub fn crew_id(founder: &DeviceId, nonce: &[u8; 16]) -> CrewId {
    let mut hasher = blake3::Hasher::new_derive_key("ligule crew id 1");
    hasher.update(&founder.0);
    hasher.update(nonce);
    let mut id = [0; 16];
    id.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
    CrewId(id)
}

/// Returns the device id of a key: the same bytes are its address on the network.
pub fn device_id(key: &SigningKey) -> DeviceId {
    DeviceId(key.verifying_key().to_bytes())
}

impl MembershipLog {
    /// Begins a crew with the holder of `founder` as its first member.
    ///
    /// # Errors
    /// [`SyncError::Membership`] if the entry is too long.
    pub fn found(founder: &SigningKey, person: &str, nonce: [u8; 16], at: i64) -> Result<Self, SyncError> {
        let by = device_id(founder);
        let mut log = Self::empty(crew_id(&by, &nonce));
        log.author(founder, at, Act::Found { person: person.to_owned(), nonce })?;
        Ok(log)
    }

    /// Returns the log of `crew` without any entry, to merge into.
    pub fn empty(crew: CrewId) -> Self {
        Self { crew, entries: BTreeMap::new() }
    }

    /// Returns the crew.
    pub fn crew(&self) -> CrewId {
        self.crew
    }

    /// Adds an admission by the holder of `signer`, and returns it.
    ///
    /// # Errors
    /// [`SyncError::Membership`] if the signer is no member or the invitation has run out.
    pub fn admit(
        &mut self,
        signer: &SigningKey,
        device: DeviceId,
        person: &str,
        at: i64,
        expires: i64,
    ) -> Result<SignedEntry, SyncError> {
        if at > expires {
            return Err(SyncError::Membership { reason: "the invitation has run out; make a new one".to_owned() });
        }
        self.author_as_member(signer, at, Act::Admit { device, person: person.to_owned(), expires })
    }

    /// Adds a removal by the holder of `signer`; `accepted` are the documents that it knows, each with its heads, as the
    /// removed device's honest work. A device that hears of the removal and not of these yet gets them with the next exchange.
    ///
    /// # Errors
    /// [`SyncError::Membership`] if the signer is no member, or the log is full: some of it may have been added then.
    pub fn remove(
        &mut self,
        signer: &SigningKey,
        device: DeviceId,
        accepted: impl IntoIterator<Item = (DocId, Vec<[u8; 32]>)>,
        at: i64,
    ) -> Result<(), SyncError> {
        let removal = self.author_as_member(signer, at, Act::Remove { device, accepted: Vec::new() })?.hash();
        let marks: BTreeSet<Mark> = accepted
            .into_iter()
            .flat_map(|(doc, heads)| heads.into_iter().map(move |head| mark(&doc, &head)))
            .collect();
        for marks in marks.into_iter().collect::<Vec<_>>().chunks(MARKS_OF_ENTRY) {
            self.author(signer, at, Act::Accept { removal, marks: marks.to_vec() })?;
        }
        Ok(())
    }

    fn author_as_member(&mut self, signer: &SigningKey, at: i64, act: Act) -> Result<SignedEntry, SyncError> {
        let by = device_id(signer);
        if !self.is_member(&by) {
            let reason = format!("only a member can admit or remove; {by} is none");
            return Err(SyncError::Membership { reason });
        }
        self.author(signer, at, act)
    }

    fn author(&mut self, signer: &SigningKey, at: i64, act: Act) -> Result<SignedEntry, SyncError> {
        if self.entries.len() >= MAX_ENTRIES {
            return Err(SyncError::Membership { reason: full() });
        }
        let entry = Entry { crew: self.crew, parents: self.heads(), by: device_id(signer), at, act };
        let signed = SignedEntry::sign(&entry, signer)?;
        self.entries.insert(signed.hash(), (signed.clone(), entry));
        Ok(signed)
    }

    /// Adds entries, in any order, repeated or not; returns those that are new and those that were refused, with
    /// the reason. Entries of another crew and wrong signatures are refused; an entry whose signer turns out to be
    /// no member is kept and has no effect.
    pub fn merge(&mut self, entries: impl IntoIterator<Item = SignedEntry>) -> Merged {
        let mut merged = Merged::default();
        for signed in entries {
            let hash = signed.hash();
            if self.entries.contains_key(&hash) {
                continue;
            }
            if self.entries.len() >= MAX_ENTRIES {
                merged.refused.push(full());
                continue;
            }
            match signed.open() {
                Ok(entry) if entry.crew == self.crew => {
                    self.entries.insert(hash, (signed, entry));
                    merged.new += 1;
                }
                Ok(entry) => merged.refused.push(format!("an entry of the crew {}, not {}", entry.crew, self.crew)),
                Err(error) => merged.refused.push(error.to_string()),
            }
        }
        merged
    }

    /// Returns all entries, in the order of their hashes.
    pub fn entries(&self) -> impl Iterator<Item = &SignedEntry> {
        self.entries.values().map(|(signed, _)| signed)
    }

    /// Returns the last entries: those that no other links to, among the entries whose whole past is here.
    ///
    /// An entry that arrived before one that it stands on is no head: the gap could then never be filled.
    pub fn heads(&self) -> Vec<EntryHash> {
        let grounded = self.grounded();
        let linked: BTreeSet<EntryHash> =
            grounded.iter().flat_map(|(_, entry)| entry.parents.iter().copied()).collect();
        let mut heads: Vec<EntryHash> =
            grounded.into_iter().map(|(hash, _)| hash).filter(|hash| !linked.contains(hash)).collect();
        heads.sort_unstable();
        heads
    }

    /// Returns the entries whose whole past is here, parents before children; ties by hash.
    fn grounded(&self) -> Vec<(EntryHash, &Entry)> {
        let mut order: Vec<(EntryHash, &Entry)> = Vec::new();
        let mut placed: BTreeSet<EntryHash> = BTreeSet::new();
        let mut waiting: Vec<(EntryHash, &Entry)> =
            self.entries.iter().map(|(hash, (_, entry))| (*hash, entry)).collect();
        loop {
            let (ready, rest): (Vec<_>, Vec<_>) =
                waiting.into_iter().partition(|(_, entry)| entry.parents.iter().all(|parent| placed.contains(parent)));
            if ready.is_empty() {
                return order;
            }
            placed.extend(ready.iter().map(|(hash, _)| *hash));
            order.extend(ready);
            waiting = rest;
        }
    }

    /// Returns the entries that a log with these heads may lack.
    pub fn missing_from(&self, heads: &[EntryHash]) -> Vec<SignedEntry> {
        let known = self.past(heads);
        self.entries.iter().filter(|(hash, _)| !known.contains(*hash)).map(|(_, (signed, _))| signed.clone()).collect()
    }

    /// Returns the entries of `heads` that are here, with all that they stand on.
    fn past(&self, heads: &[EntryHash]) -> BTreeSet<EntryHash> {
        let mut seen = BTreeSet::new();
        let mut stack = heads.to_vec();
        while let Some(hash) = stack.pop() {
            if let Some((_, entry)) = self.entries.get(&hash)
                && seen.insert(hash)
            {
                stack.extend_from_slice(&entry.parents);
            }
        }
        seen
    }

    /// Returns the members.
    pub fn members(&self) -> BTreeMap<DeviceId, Member> {
        Evaluation::new(self).members()
    }

    /// Returns the devices that were members and are so no longer.
    pub fn removed(&self) -> BTreeMap<DeviceId, Removal> {
        Evaluation::new(self).removed()
    }

    /// Returns whether the device is a member.
    pub fn is_member(&self, device: &DeviceId) -> bool {
        self.members().contains_key(device)
    }

    /// Writes the log as bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        let entries: Vec<&SignedEntry> = self.entries().collect();
        let mut bytes = vec![FORMAT];
        bytes.extend(postcard::to_stdvec(&(self.crew, entries)).expect("a vector takes any bytes"));
        bytes
    }

    /// Reads what [`Self::to_bytes`] wrote; every signature is checked again.
    ///
    /// # Errors
    /// [`SyncError::Membership`] if the bytes are damaged or of a later format.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, SyncError> {
        let bad = |reason: String| SyncError::Membership { reason };
        let (&format, rest) = bytes.split_first().ok_or_else(|| bad("the log is empty".to_owned()))?;
        if format != FORMAT {
            return Err(bad(format!(
                "the log has format {format}, this program reads {FORMAT}: needs ligule of a later version"
            )));
        }
        let (crew, entries) = postcard::from_bytes::<(CrewId, Vec<SignedEntry>)>(rest)
            .map_err(|error| bad(format!("the log does not decode: {error}")))?;
        let mut log = Self::empty(crew);
        match log.merge(entries).refused.into_iter().next() {
            Some(reason) => Err(bad(reason)),
            None => Ok(log),
        }
    }
}

fn full() -> String {
    format!("the log has {MAX_ENTRIES} entries, which is the most; found a new crew")
}

/// Cuts a list of entries into parts of about `size` bytes, none of them empty.
pub fn in_parts(entries: impl IntoIterator<Item = SignedEntry>, size: usize) -> Vec<Vec<SignedEntry>> {
    let mut parts: Vec<Vec<SignedEntry>> = Vec::new();
    let mut room = 0;
    for entry in entries {
        let needed = entry.body.len() + entry.signature.len() + 8;
        if needed > room || parts.is_empty() {
            parts.push(Vec::new());
            room = size;
        }
        room = room.saturating_sub(needed);
        if let Some(part) = parts.last_mut() {
            part.push(entry);
        }
    }
    parts
}

/// What a merge of membership entries did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Merged {
    /// How many entries are new.
    pub new: usize,
    /// Why entries were refused.
    pub refused: Vec<String>,
}

/// The members, computed from the entries alone.
struct Evaluation<'a> {
    /// Entries whose links are all there, parents before children; ties by hash.
    order: Vec<(EntryHash, &'a Entry)>,
    /// For each, the places in `order` of all that it stands on.
    past: Vec<BTreeSet<usize>>,
    /// For each, whether it counts.
    counts: Vec<bool>,
}

impl<'a> Evaluation<'a> {
    fn new(log: &'a MembershipLog) -> Self {
        let order = log.grounded();
        let place: BTreeMap<EntryHash, usize> = order.iter().enumerate().map(|(at, (hash, _))| (*hash, at)).collect();
        let mut past: Vec<BTreeSet<usize>> = Vec::new();
        for (_, entry) in &order {
            let mut before = BTreeSet::new();
            for at in entry.parents.iter().map(|parent| place[parent]) {
                before.insert(at);
                before.extend(past[at].iter().copied());
            }
            past.push(before);
        }
        let mut evaluation = Self { counts: vec![false; order.len()], order, past };
        let mut void = BTreeSet::new();
        evaluation.count(&void);
        for removal in evaluation.removals_by_seniority() {
            if evaluation.counts[removal] {
                let Act::Remove { device, .. } = &evaluation.order[removal].1.act else { continue };
                void.extend((0..evaluation.order.len()).filter(|&at| {
                    evaluation.order[at].1.by == *device
                        && at != removal
                        && !evaluation.past[removal].contains(&at)
                        && !evaluation.brought_back(at, removal, device)
                }));
                evaluation.count(&void);
            }
        }
        evaluation
    }

    /// Returns whether the entry at `at` was signed after `device` had been admitted again, past `removal`.
    fn brought_back(&self, at: usize, removal: usize, device: &DeviceId) -> bool {
        self.past[at].iter().any(|&admission| {
            matches!(&self.order[admission].1.act, Act::Admit { device: admitted, .. } if admitted == device)
                && self.order[admission].1.by != *device
                && self.past[admission].contains(&removal)
        })
    }

    /// Decides anew which entries count, given those made void by removals.
    fn count(&mut self, void: &BTreeSet<usize>) {
        for at in 0..self.order.len() {
            let entry = self.order[at].1;
            self.counts[at] = !void.contains(&at)
                && match &entry.act {
                    Act::Found { nonce, .. } => entry.parents.is_empty() && crew_id(&entry.by, nonce) == entry.crew,
                    Act::Admit { expires, .. } => entry.at <= *expires && self.admission(&entry.by, Some(at)).is_some(),
                    Act::Remove { .. } | Act::Accept { .. } => self.admission(&entry.by, Some(at)).is_some(),
                };
        }
    }

    /// Returns the places that are judged: what the entry at `seen_by` stands on, or everything.
    fn scope(&self, seen_by: Option<usize>) -> Vec<usize> {
        let all = match seen_by {
            Some(at) => self.past[at].iter().copied().collect::<Vec<_>>(),
            None => (0..self.order.len()).collect(),
        };
        all.into_iter().filter(|&at| self.counts[at]).collect()
    }

    /// Returns the first entry by which the device is a member, as seen by the entry at `seen_by`.
    fn admission(&self, device: &DeviceId, seen_by: Option<usize>) -> Option<usize> {
        let scope = self.scope(seen_by);
        let removals: Vec<usize> = scope.iter().copied().filter(|&at| self.removes(at, device)).collect();
        scope
            .into_iter()
            .find(|&at| self.admits(at, device) && removals.iter().all(|removal| self.past[at].contains(removal)))
    }

    fn admits(&self, at: usize, device: &DeviceId) -> bool {
        match &self.order[at].1.act {
            Act::Found { .. } => self.order[at].1.by == *device,
            Act::Admit { device: admitted, .. } => admitted == device,
            Act::Remove { .. } | Act::Accept { .. } => false,
        }
    }

    fn removes(&self, at: usize, device: &DeviceId) -> bool {
        matches!(&self.order[at].1.act, Act::Remove { device: removed, .. } if removed == device)
    }

    /// Returns the removals, those by senior members first.
    fn removals_by_seniority(&self) -> Vec<usize> {
        let mut rank: BTreeMap<DeviceId, usize> = BTreeMap::new();
        for (at, (_, entry)) in self.order.iter().enumerate().filter(|(at, _)| self.counts[*at]) {
            match &entry.act {
                Act::Found { .. } => rank.insert(entry.by, 0),
                Act::Admit { device, .. } => {
                    let next = rank.get(&entry.by).map_or(at, |rank| rank + 1);
                    let known = rank.get(device).copied().unwrap_or(usize::MAX);
                    rank.insert(*device, next.min(known))
                }
                Act::Remove { .. } | Act::Accept { .. } => continue,
            };
        }
        let mut removals: Vec<usize> =
            (0..self.order.len()).filter(|&at| matches!(self.order[at].1.act, Act::Remove { .. })).collect();
        removals.sort_by_key(|&at| {
            let (hash, entry) = &self.order[at];
            (rank.get(&entry.by).copied().unwrap_or(usize::MAX), entry.by, *hash)
        });
        removals
    }

    fn members(&self) -> BTreeMap<DeviceId, Member> {
        let mut members = BTreeMap::new();
        for device in self.devices() {
            if let Some(at) = self.admission(&device, None) {
                let entry = self.order[at].1;
                let (Act::Found { person, .. } | Act::Admit { person, .. }) = &entry.act else { continue };
                members.insert(device, Member { person: person.clone(), admitted_by: entry.by, since: entry.at });
            }
        }
        members
    }

    fn removed(&self) -> BTreeMap<DeviceId, Removal> {
        let mut removed = BTreeMap::new();
        for device in self.devices().into_iter().filter(|device| self.admission(device, None).is_none()) {
            if let Some(at) = self.scope(None).into_iter().find(|&at| self.removes(at, &device)) {
                let entry = self.order[at].1;
                let (person, accepted) = (self.person(&device), self.accepted(&device));
                removed.insert(device, Removal { person, by: entry.by, at: entry.at, accepted });
            }
        }
        removed
    }

    /// Returns what members have accepted as the work of a device that one or several of them removed.
    fn accepted(&self, device: &DeviceId) -> Accepted {
        let mut marks = BTreeSet::new();
        let scope = self.scope(None);
        let removals: BTreeSet<EntryHash> =
            scope.iter().filter(|&&at| self.removes(at, device)).map(|&at| self.order[at].0).collect();
        for at in scope {
            match &self.order[at].1.act {
                Act::Remove { device: removed, accepted } if removed == device => {
                    marks.extend(accepted.iter().flat_map(|(doc, heads)| heads.iter().map(|head| mark(doc, head))));
                }
                Act::Accept { removal, marks: named } if removals.contains(removal) => marks.extend(named),
                _ => {}
            }
        }
        Accepted { marks }
    }

    /// Returns who held a device, by the last admission that counts; nobody where it never was a member.
    fn person(&self, device: &DeviceId) -> String {
        let admission = self.scope(None).into_iter().rfind(|&at| self.admits(at, device));
        match admission.map(|at| &self.order[at].1.act) {
            Some(Act::Found { person, .. } | Act::Admit { person, .. }) => person.clone(),
            _ => String::new(),
        }
    }

    /// Returns all devices that an entry that counts admits or removes.
    fn devices(&self) -> BTreeSet<DeviceId> {
        self.scope(None)
            .into_iter()
            .filter_map(|at| match &self.order[at].1.act {
                Act::Found { .. } => Some(self.order[at].1.by),
                Act::Admit { device, .. } | Act::Remove { device, .. } => Some(*device),
                Act::Accept { .. } => None,
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_log_says_so_instead_of_growing_beyond_what_is_read() {
        let key = SigningKey::from_bytes(&[1; 32]);
        let other = device_id(&SigningKey::from_bytes(&[2; 32]));
        let mut log = MembershipLog::found(&key, "person 1", [5; 16], 0).unwrap();
        log.admit(&key, other, "person 2", 0, 0).unwrap();
        // Signatures cost a test seconds, and nobody looks at these.
        let entry = Entry { parents: Vec::new(), ..log.entries.values().next().unwrap().1.clone() };
        for n in log.entries.len()..MAX_ENTRIES {
            let signed = SignedEntry { body: n.to_le_bytes().to_vec(), signature: Vec::new() };
            log.entries.insert(signed.hash(), (signed, entry.clone()));
        }
        let full = [log.remove(&key, other, [], 0).unwrap_err(), log.admit(&key, other, "person 3", 0, 0).unwrap_err()];
        assert!(full.iter().all(|error| error.to_string().contains("1024 entries")), "{full:?}");
        assert_eq!(log.entries.len(), MAX_ENTRIES);
    }
}
