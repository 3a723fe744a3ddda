//! Going on with a visit, or opening the next one, without its document.
//!
//! A change that adds observations to a visit stands on the change before it and nothing else: what it is made of can be
//! said without looking into the document, or bringing it up to date in memory. Both cost several times what the change
//! itself does. The bytes are those that [`FieldDocument::append_written`] would have written.

use std::num::NonZeroU64;

use automerge::{
    ActorId, Change, ExpandedChange, ObjId, ObjType, ScalarValue,
    legacy::{Key, ObjectId, Op, OpId, OpType, SortedVec},
};
use jiff::Timestamp;

use crate::{
    document::{FieldDocument, NewObservation, OpenVisit, Written, flat, of_visit},
    error::DocumentError,
    ids::{DeviceId, DocKey},
    version::ChangeHash,
};

/// The visit that was written to last, and where its document stood then.
#[derive(Debug, Clone)]
pub struct GoingOn {
    key: DocKey,
    actor: ActorId,
    /// The device on which the actor writes.
    device: DeviceId,
    /// The maps of the document's observations and visits.
    observations: OpId,
    visits: OpId,
    /// The last change, which is the document's only head: its hash, its number among the actor's, and the number of the
    /// operation that comes after it.
    head: automerge::ChangeHash,
    seq: u64,
    next: NonZeroU64,
    visit: OpenVisit,
    crop: String,
}

impl FieldDocument {
    /// Returns what it takes to go on with the visit that was written to last; `None` where the last act was another one,
    /// or others have written at the same time.
    pub fn going_on(&mut self) -> Option<GoingOn> {
        let heads = self.doc.get_heads();
        let open = self.open.as_ref().filter(|open| open.heads == heads)?;
        let device = open.visit.facts.as_ref()?.device;
        let [head] = &heads[..] else { return None };
        let map = |of: &ObjId| match of {
            ObjId::Id(counter, maker, _) => Some(OpId::new(*counter, maker)),
            ObjId::Root => None,
        };
        let (observations, visits) = (map(&self.obs)?, map(&self.visits)?);
        let change = self.doc.get_change_by_hash(head)?;
        Some(GoingOn {
            key: self.key.clone(),
            actor: ActorId::from(&open.actor[..]),
            device,
            observations,
            visits,
            head: *head,
            seq: change.seq(),
            next: NonZeroU64::new(change.max_op() + 1)?,
            visit: open.visit.clone(),
            crop: open.crop.clone(),
        })
        .filter(|_| change.actor_id().to_bytes() == open.actor)
    }
}

impl GoingOn {
    /// The head of the document that the next change stands on.
    pub fn head(&self) -> ChangeHash {
        self.head.0
    }

    /// The crop that the document tells of.
    pub fn crop(&self) -> &str {
        &self.crop
    }

    /// Tells whether observations are such as go on from here, in a document that tells of that crop, if any is given: they
    /// are of one visit. That must be the last one ([`Self::is_on`]), or one that the document does not have.
    pub fn is_of(&self, new: &[NewObservation], crop: Option<&str>) -> bool {
        crop.is_none_or(|crop| crop == self.crop)
            && new
                .first()
                .is_some_and(|first| new.iter().all(|one| one.visit.id == first.visit.id && one.number.is_none()))
    }

    /// Tells whether a visit is the one that was written to last.
    pub fn is_on(&self, visit: &str) -> bool {
        self.visit.id == visit
    }

    /// Tells whether the visit was written under that actor.
    pub fn is_by(&self, actor: &[u8; 16]) -> bool {
        self.actor.to_bytes() == actor
    }

    /// Adds observations of which [`Self::is_of`] holds: *returns* the change, as a raw change chunk, and what was written.
    ///
    /// The document itself is left as it is; the change is to be kept, and brought to it before anything else is done with
    /// it. *Errors:* as [`FieldDocument::append_written`]; nothing has changed then.
    pub fn append(&mut self, new: &[NewObservation], at: Timestamp) -> Result<(Vec<u8>, Vec<Written>), DocumentError> {
        new.iter().try_for_each(NewObservation::check)?;
        let start = self.next;
        let mut operations = Vec::new();
        let mut operation = |obj: &OpId, key: &str, action| {
            let number = start.get() + operations.len() as u64;
            let (obj, key) = (ObjectId::Id(obj.clone()), Key::Map(key.into()));
            operations.push(Op { action, obj, key, pred: SortedVec::new(), insert: false });
            number
        };
        let mut map = |of: &OpId, key: &str, mut flat: Vec<(String, ScalarValue)>| {
            let made = OpId::new(operation(of, key, OpType::Make(ObjType::Map)), &self.actor);
            flat.sort_unstable_by(|(a, _), (b, _)| a.cmp(b));
            for (name, value) in flat {
                operation(&made, &name, OpType::Put(value));
            }
        };
        if let Some(one) = new.first().filter(|one| one.visit.id != self.visit.id) {
            map(&self.visits, &one.visit.id, of_visit(&one.visit));
            self.visit = OpenVisit::new(&one.visit, self.device);
        }
        let mut written = Vec::with_capacity(new.len());
        for one in new {
            self.visit.last += 1;
            let key = format!("{}-{:02}", self.visit.id, self.visit.last);
            map(&self.observations, &key, flat(one, &self.visit));
            let record = self.visit.told(&self.key, &key, one, &self.crop).map(Box::new);
            written.push(Written { key, record });
        }
        let change = Change::from(ExpandedChange {
            operations,
            actor_id: self.actor.clone(),
            hash: None,
            seq: self.seq + 1,
            start_op: start,
            time: at.as_second(),
            message: None,
            deps: vec![self.head],
            extra_bytes: Vec::new(),
            author: None,
        });
        self.head = change.hash();
        self.seq += 1;
        self.next = start.saturating_add(change.len() as u64);
        Ok((change.raw_bytes().to_vec(), written))
    }
}
