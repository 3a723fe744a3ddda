//! Taking in changes from another device.
//!
//! A change with a valid checksum can still make the merge library panic, or leave a document that no longer
//! loads. So: caps first, then decoding, then rules of ours (nothing is deleted, the root's own entries and other
//! people's keys stay), then applying to a copy, then saving and reading back. Success means that the expected
//! changes are there, never that a call returned without an error. What remains, a hang or running out of memory, is
//! what [`crate::screen`] is for.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use automerge::{
    Change, ObjType, ReadDoc, ScalarValue,
    legacy::{Key, ObjectId, OpType},
};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{
    chunk,
    document::FieldDocument,
    guard::guarded,
    ids::{DeviceId, ObservationKey},
    version::{ActorBytes, ChangeHash},
};

/// How much is accepted from another device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limits {
    /// Bytes of a change as it comes.
    pub change_bytes: usize,
    /// Bytes of a change once inflated.
    pub inflated_bytes: usize,
    /// Operations in a change.
    pub operations: usize,
    /// Bytes of one value.
    pub value_bytes: usize,
    /// Bytes of the whole document, saved.
    pub document_bytes: usize,
    /// Heads of the document afterwards.
    pub heads: usize,
}

impl Default for Limits {
    /// 1 MiB a change, 8 MiB inflated, 200,000 operations, 64 KiB a value, 64 MiB a document, 256 heads.
    fn default() -> Self {
        Self {
            change_bytes: 1 << 20,
            inflated_bytes: 8 << 20,
            operations: 200_000,
            value_bytes: 64 << 10,
            document_bytes: 64 << 20,
            heads: 256,
        }
    }
}

/// Why changes from outside were refused; the document is as it was.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The bytes are not a change chunk.
    #[error("expected a change, got a chunk of type {chunk_type}")]
    NotAChange {
        /// The type that came.
        chunk_type: u8,
    },
    /// Something is larger than the limit.
    #[error("{what} is larger than the limit of {limit}")]
    TooLarge {
        /// What is too large.
        what: &'static str,
        /// The limit.
        limit: usize,
    },
    /// The bytes cannot be read.
    #[error("a change cannot be read: {why}")]
    Malformed {
        /// Why.
        why: String,
    },
    /// The change begins a document other than this one.
    #[error("a change made for another document is refused")]
    OtherDocument,
    /// The change stands on changes that are neither here nor among those that came.
    #[error("a change stands on {missing} changes that did not come with it")]
    MissingDependencies {
        /// How many are missing.
        missing: usize,
    },
    /// The change does what no honest device does.
    #[error("a change is refused: {why}")]
    Forbidden {
        /// What it does.
        why: String,
    },
    /// The merge library could not apply the changes.
    #[error("the changes cannot be applied: {why}")]
    NotApplied {
        /// What went wrong.
        why: String,
    },
    /// The document with the changes could not be saved and read back.
    #[error("the document with these changes cannot be read back: {why}")]
    NotReadable {
        /// What went wrong.
        why: String,
    },
}

/// What came of changes that were accepted.
#[derive(Debug, Clone)]
pub struct Applied {
    /// The document with the changes.
    pub document: FieldDocument,
    /// The whole document, saved and read back.
    pub saved: Vec<u8>,
    /// The changes that were new, as plain change chunks, in causal order.
    pub chunks: Vec<Vec<u8>>,
    /// Hash, actor and sequence number of each of them.
    pub added: Vec<(ChangeHash, ActorBytes, u64)>,
    /// What the new changes wrote to, so that a projection need not be made anew.
    pub touched: Touched,
    /// New changes of which the clock was wrong, or that of another.
    pub odd_times: Vec<OddTime>,
}

/// A change whose time cannot be, or cannot be if that of another is right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OddTime {
    /// The time that it tells, in seconds since 1970 (UTC).
    pub at: i64,
    /// The latest time that what it was made after tells, where that is more than a day later; `None` where the time itself
    /// lies before 2000 or more than a day after `now`.
    pub after: Option<i64>,
    /// The device whose clock told it, where the document says.
    pub device: Option<DeviceId>,
    /// The observations that it wrote to.
    pub observations: BTreeSet<ObservationKey>,
}

/// What a set of changes wrote to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Touched {
    /// Observations, by key.
    pub observations: BTreeSet<ObservationKey>,
    /// Whether fields of the crew were written.
    pub fields: bool,
}

/// Applies changes from outside to a copy of a document, checking everything that can be checked.
///
/// Changes that the document already has are passed over. *Errors:* one bad change refuses them all.
pub fn apply_checked(
    document: &FieldDocument,
    chunks: &[Vec<u8>],
    limits: &Limits,
    now: Timestamp,
) -> Result<Applied, Refused> {
    let mut changes = Vec::with_capacity(chunks.len());
    let mut coming = HashSet::new();
    for bytes in chunks {
        let change = decode(bytes, limits)?;
        if document.doc.get_change_by_hash(&change.hash()).is_none() && coming.insert(change.hash()) {
            changes.push(change);
        }
    }
    let missing: HashSet<_> = changes
        .iter()
        .flat_map(|c| c.deps())
        .filter(|d| !coming.contains(*d) && document.doc.get_change_by_hash(d).is_none())
        .collect();
    if changes.iter().any(|c| c.deps().is_empty()) {
        return Err(Refused::OtherDocument);
    }
    if !missing.is_empty() {
        return Err(Refused::MissingDependencies { missing: missing.len() });
    }
    let rules = Rules::of(document);
    for change in &changes {
        rules.check(change, limits)?;
    }
    let mut copy = document.clone();
    let expected: Vec<_> = changes.iter().map(Change::hash).collect();
    match guarded(|| copy.doc.apply_changes(changes.clone())) {
        Ok(Ok(())) => {}
        Ok(Err(e)) => return Err(Refused::NotApplied { why: e.to_string() }),
        Err(why) => return Err(Refused::NotApplied { why }),
    }
    let present = guarded(|| expected.iter().all(|h| copy.doc.get_change_by_hash(h).is_some()))
        .map_err(|why| Refused::NotApplied { why })?;
    if !present {
        return Err(Refused::NotApplied { why: "some of the changes did not take".to_owned() });
    }
    if guarded(|| copy.doc.get_heads().len()).map_err(|why| Refused::NotApplied { why })? > limits.heads {
        return Err(Refused::TooLarge { what: "the number of heads", limit: limits.heads });
    }
    let saved = copy.clone().save_verified().map_err(|e| Refused::NotReadable { why: e.to_string() })?;
    if saved.len() > limits.document_bytes {
        return Err(Refused::TooLarge { what: "the document", limit: limits.document_bytes });
    }
    // What every later reader will do must work too, before anything is kept.
    guarded(|| copy.project(None)).map_err(|why| Refused::NotReadable { why })?;
    let touched = guarded(|| touched(&copy, changes.iter())).map_err(|why| Refused::NotReadable { why })?;
    let ordered = in_causal_order(&changes);
    let odd_times = guarded(|| odd_times(&copy, &ordered, now)).map_err(|why| Refused::NotReadable { why })?;
    Ok(Applied {
        odd_times,
        added: changes.iter().map(|c| (c.hash().0, c.actor_id().to_bytes().to_vec(), c.seq())).collect(),
        chunks: ordered.iter().map(|c| c.raw_bytes().to_vec()).collect(),
        touched,
        document: copy,
        saved,
    })
}

/// Finds what changes wrote to; observations of a visit that was written count as written.
fn touched<'a>(document: &FieldDocument, changes: impl IntoIterator<Item = &'a Change>) -> Touched {
    let rules = Rules::of(document);
    let mut out = Touched::default();
    let mut homes: HashMap<ObjectId, Option<(&'static str, String)>> = HashMap::new();
    for change in changes {
        for op in &change.decode().operations {
            let place = match rules.name_of(&op.obj) {
                Some(map) => match &op.key {
                    Key::Map(key) => Some((map, key.to_string())),
                    Key::Seq(_) => None,
                },
                None => homes.entry(op.obj.clone()).or_insert_with(|| rules.home(document, &op.obj)).clone(),
            };
            match place {
                Some(("obs", key)) => {
                    out.observations.insert(key);
                }
                Some(("visits", visit)) => out.observations.extend(document.keys_of_visit(&visit)),
                Some(("fields", _)) => out.fields = true,
                _ => {}
            }
        }
    }
    out
}

/// How many seconds two clocks may be apart, so that neither is called wrong for the times it told: a day.
const DAY: i64 = 86_400;

/// Finds the changes whose time cannot be, among those that a document has now; they come in causal order.
fn odd_times(document: &FieldDocument, changes: &[&Change], now: Timestamp) -> Vec<OddTime> {
    let latest = now.as_second().saturating_add(DAY);
    let can_be = |at: &i64| (EARLIEST.as_second()..=latest).contains(at);
    // Of each change, the latest time that it or what it was made after tells.
    let mut until: HashMap<ChangeHash, i64> = HashMap::with_capacity(changes.len());
    let mut odd = Vec::new();
    for change in changes {
        let of_one_before = |hash: &automerge::ChangeHash| {
            until
                .get(&hash.0)
                .copied()
                .or_else(|| document.doc.get_change_by_hash(hash).map(|before| before.timestamp()).filter(can_be))
        };
        let before = change.deps().iter().filter_map(of_one_before).max();
        let at = change.timestamp();
        let after = before.filter(|before| at.saturating_add(DAY) < *before);
        if !can_be(&at) || after.is_some() {
            odd.push(OddTime {
                at,
                after: after.filter(|_| can_be(&at)),
                device: document.who(change.actor_id().to_bytes()).map(|(device, _)| device),
                observations: touched(document, [*change]).observations,
            });
        }
        if let Some(latest) = before.into_iter().chain(Some(at).filter(can_be)).max() {
            until.insert(change.hash().0, latest);
        }
    }
    odd
}

/// The earliest time that a device may plausibly tell, 2000-01-01T00:00:00Z.
pub const EARLIEST: Timestamp = Timestamp::constant(946_684_800, 0);

/// Reads one change within the limits; its checksum must hold.
fn decode(bytes: &[u8], limits: &Limits) -> Result<Change, Refused> {
    let plain = chunk::plain_change(bytes, limits)?;
    let change = match guarded(|| Change::try_from(&plain[..])) {
        Ok(Ok(change)) => change,
        Ok(Err(e)) => return Err(Refused::Malformed { why: e.to_string() }),
        Err(why) => return Err(Refused::Malformed { why }),
    };
    if change.hash().0[..4] != chunk::checksum(&plain) {
        return Err(Refused::Malformed { why: "its checksum does not hold".to_owned() });
    }
    Ok(change)
}

/// Orders changes so that each one comes after those it stands on.
fn in_causal_order(changes: &[Change]) -> Vec<&Change> {
    let mut left: Vec<&Change> = changes.iter().collect();
    let mut waiting: HashSet<_> = changes.iter().map(Change::hash).collect();
    let mut out = Vec::with_capacity(changes.len());
    while !left.is_empty() {
        let before = left.len();
        left.retain(|c| {
            let ready = c.deps().iter().all(|d| !waiting.contains(d));
            if ready {
                waiting.remove(&c.hash());
                out.push(*c);
            }
            !ready
        });
        assert!(left.len() < before, "hashes of changes form no circle");
    }
    out
}

/// What a change may do to a document.
struct Rules {
    maps: BTreeMap<&'static str, ObjectId>,
}

impl Rules {
    fn of(document: &FieldDocument) -> Self {
        let named = |id: &automerge::ObjId| match id {
            automerge::ObjId::Id(n, actor, _) => ObjectId::Id(automerge::legacy::OpId::new(*n, actor)),
            automerge::ObjId::Root => ObjectId::Root,
        };
        Self {
            maps: [
                ("obs", named(&document.obs)),
                ("visits", named(&document.visits)),
                ("writers", named(&document.writers)),
                ("fields", named(&document.fields)),
            ]
            .into(),
        }
    }

    /// Returns the name of one of the document's own maps.
    fn name_of(&self, id: &ObjectId) -> Option<&'static str> {
        self.maps.iter().find(|(_, known)| *known == id).map(|(name, _)| *name)
    }

    /// Returns which of the document's own maps an object lies in, and under which key.
    fn home(&self, document: &FieldDocument, id: &ObjectId) -> Option<(&'static str, String)> {
        let ObjectId::Id(id) = id else { return None };
        let mut parents = document.doc.parents(automerge::ObjId::Id(id.counter(), id.actor().clone(), 0)).ok()?;
        let parent = parents.next()?;
        let automerge::ObjId::Id(counter, actor, _) = &parent.obj else { return None };
        let map = self.name_of(&ObjectId::Id(automerge::legacy::OpId::new(*counter, actor)))?;
        Some((map, parent.prop.as_str()?.to_owned()))
    }

    fn check(&self, change: &Change, limits: &Limits) -> Result<(), Refused> {
        let forbidden = |why: String| Err(Refused::Forbidden { why });
        let change = guarded(|| change.decode()).map_err(|why| Refused::Malformed { why })?;
        for op in &change.operations {
            let Key::Map(key) = &op.key else { return forbidden("it writes into a list".to_owned()) };
            if op.insert || key.len() > 256 {
                return forbidden(format!("its key has {} bytes", key.len()));
            }
            match &op.action {
                OpType::Delete => return forbidden(format!("it deletes `{key}`; nothing is ever deleted")),
                OpType::Make(ObjType::Map) => {}
                OpType::Put(value) if size(value) > limits.value_bytes => {
                    return Err(Refused::TooLarge { what: "a value", limit: limits.value_bytes });
                }
                OpType::Put(_) => {}
                _ => return forbidden(format!("it does to `{key}` what no device does")),
            }
            match self.name_of(&op.obj) {
                None if op.obj == ObjectId::Root && GENESIS_KEYS.contains(&key.as_str()) => {
                    return forbidden(format!("it rewrites `{key}` of the document itself"));
                }
                Some("writers") if key.as_str() != crate::ids::hex(change.actor_id.to_bytes()) => {
                    return forbidden("it signs for another writer".to_owned());
                }
                Some(name) if !op.pred.is_empty() => {
                    return forbidden(format!("it replaces `{key}` in `{name}` as a whole"));
                }
                _ => {}
            }
        }
        Ok(())
    }
}

const GENESIS_KEYS: [&str; 8] = ["schema", "crew", "feature", "season", "obs", "visits", "writers", "fields"];

fn size(value: &ScalarValue) -> usize {
    match value {
        ScalarValue::Str(s) => s.len(),
        ScalarValue::Bytes(b) | ScalarValue::Unknown { bytes: b, .. } => b.len(),
        _ => 8,
    }
}
