//! One device's half of an exchange.
//!
//! ```text
//! initiator                          responder
//! hello (tag, membership heads) ──▶
//!                               ◀──  refusal: unproven        only if it does not know the initiator;
//! all membership entries        ──▶                           then these, once, as proof
//!                               ◀──  hello
//! missing entries               ◀─▶  missing entries          only if the heads differ; then each checks again
//! digest                        ──▶
//!                               ◀──  digest                   equal: bye, bye
//!                               ◀──  inventory
//! have (all that differ)        ──▶
//!                               ◀──  have (the same documents)
//! changes, by document          ◀─▶  changes, by document
//! acknowledgements              ◀─▶  acknowledgements
//! bye                           ◀─▶  bye
//! ```
//!
//! Nothing but a refusal is sent to a device that is no member.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use ligule_observation::ids::{CrewId, DeviceId, DocId, DocKey};

use crate::codec::{self, CodecError, MAX_CHANGE, MAX_DOCUMENT};
use crate::error::SyncError;
use crate::frame::{Ack, Bye, Changes, Frame, Have, HaveList, Hello, Inventory, RefuseCode, crew_tag};
use crate::membership::{EntryHash, MAX_ENTRIES, MembershipLog, SignedEntry, in_parts};
use crate::store::{Refusal, RefusalCode, Store, VersionVector};

/// The most documents of one crew in an exchange: 2,000 fields in 50 seasons.
pub const MAX_DOCUMENTS: usize = 100_000;
/// Bytes of membership entries or of a document list after which a new frame is begun.
const PART: usize = 512 << 10;
/// The most bytes of membership entries that a stranger may show as proof: removals of ten devices in a crew of 50,000
/// documents fit (see [`crate::membership::Mark`]).
const MAX_PROOF: usize = 8 << 20;

/// Which side spoke first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The side that connected.
    Initiator,
    /// The side that was connected to.
    Responder,
}

/// What a session must know of its own side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Local {
    /// The crew.
    pub crew: CrewId,
    /// This device.
    pub device: DeviceId,
    /// The version of `ligule`, for the other side's messages.
    pub program: String,
    /// What this device's clock says, in milliseconds since 1970 UTC.
    pub now: i64,
    /// Whether it exchanges photos after the records.
    pub photos: bool,
}

/// Changes that one side did not take in, or a document that cannot converge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefusedDocument {
    /// Which document.
    pub doc: DocId,
    /// What it is about, if this side knows.
    pub key: Option<DocKey>,
    /// Whether this device refused (otherwise the other one did).
    pub by_this_device: bool,
    /// Why.
    pub refusal: Refusal,
}

/// What an exchange did, as this side saw it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SyncReport {
    /// Documents that differed.
    pub documents: u64,
    /// Changes new to this device, durable.
    pub changes_in: u64,
    /// Changes sent.
    pub changes_out: u64,
    /// Changes that the other device acknowledged as durable and new to it.
    pub acknowledged: u64,
    /// Membership entries new to this device.
    pub entries_in: u64,
    /// Bytes received.
    pub bytes_in: u64,
    /// Bytes sent.
    pub bytes_out: u64,
    /// What was not taken in, by either side.
    pub refused: Vec<RefusedDocument>,
    /// How often this side waited for an answer.
    pub rounds: u32,
    /// Whether both sides exchange photos next (see [`crate::photos`]).
    pub photos_follow: bool,
    /// By how many milliseconds the other device's clock is ahead of this one's (negative: behind); nothing where it
    /// did not say.
    pub clock_ahead: Option<i64>,
}

/// Two clocks that differ by more than this are told to both people, in milliseconds: 10 minutes.
///
/// Common practice, no source: a device that has seen a network this season is right within seconds, an exchange takes
/// less than two minutes to begin, and a clock set by hand without care is off by hours, days or years.
pub const CLOCKS_APART: i64 = 10 * 60 * 1000;

/// Returns by how much another clock is ahead where the two differ too much for both to be right.
pub fn clocks_apart(ahead: Option<i64>) -> Option<i64> {
    ahead.filter(|ahead| ahead.unsigned_abs() > CLOCKS_APART.unsigned_abs())
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Hello,
    Proof,
    Entries,
    Digest,
    Inventory,
    Have,
    Documents,
    Bye,
    Done,
    Failed,
}

#[derive(Debug, Default)]
struct Incoming {
    changes: Vec<Vec<u8>>,
    bytes: usize,
}

/// One exchange with one device.
///
/// The driver loops: send every frame that [`Self::next_frame`] gives, hand every frame that arrives to
/// [`Self::receive`], until [`Self::is_done`]. After an error it sends what [`Self::farewell`] gives and closes.
#[derive(Debug)]
pub struct Session {
    role: Role,
    local: Local,
    peer: DeviceId,
    stage: Stage,
    started: bool,
    proof_sent: bool,
    out: VecDeque<Frame>,
    root: [u8; 32],
    /// The heads that each side named in its hello: both compare the same two sets.
    my_heads: BTreeSet<EntryHash>,
    peer_heads: BTreeSet<EntryHash>,
    inventory: BTreeMap<DocId, [u8; 8]>,
    /// Documents of this exchange: what is known of their keys.
    keys: BTreeMap<DocId, Option<DocKey>>,
    mine: BTreeMap<DocId, Have>,
    theirs: BTreeMap<DocId, Have>,
    /// What a stranger has shown so far.
    proof: Vec<SignedEntry>,
    to_send: VecDeque<(DocId, VersionVector)>,
    incoming: BTreeMap<DocId, Incoming>,
    awaited: BTreeSet<DocId>,
    unacknowledged: BTreeSet<DocId>,
    have_complete: bool,
    bye_sent: bool,
    bye_received: bool,
    sent_since_received: bool,
    report: SyncReport,
}

impl Session {
    /// Begins an exchange with `peer`, whose device id the connection has proven.
    pub fn new(role: Role, local: Local, peer: DeviceId) -> Self {
        Self {
            role,
            local,
            peer,
            stage: Stage::Hello,
            started: false,
            proof_sent: false,
            out: VecDeque::new(),
            root: [0; 32],
            my_heads: BTreeSet::new(),
            peer_heads: BTreeSet::new(),
            inventory: BTreeMap::new(),
            keys: BTreeMap::new(),
            mine: BTreeMap::new(),
            theirs: BTreeMap::new(),
            proof: Vec::new(),
            to_send: VecDeque::new(),
            incoming: BTreeMap::new(),
            awaited: BTreeSet::new(),
            unacknowledged: BTreeSet::new(),
            have_complete: false,
            bye_sent: false,
            bye_received: false,
            sent_since_received: false,
            report: SyncReport::default(),
        }
    }

    /// Returns whether both sides have said goodbye and everything is sent.
    pub fn is_done(&self) -> bool {
        self.stage == Stage::Done && self.out.is_empty()
    }

    /// Returns what was done so far.
    pub fn report(&self) -> &SyncReport {
        &self.report
    }

    /// Returns the other device.
    pub fn peer(&self) -> DeviceId {
        self.peer
    }

    /// Counts bytes that the driver moved.
    pub fn count_bytes(&mut self, received: u64, sent: u64) {
        self.report.bytes_in += received;
        self.report.bytes_out += sent;
    }

    /// Returns the next frame to send, or none until something arrives.
    ///
    /// Changes are read from the store one document at a time, when their turn comes.
    ///
    /// # Errors
    /// When the store fails.
    pub fn next_frame(&mut self, store: &mut dyn Store) -> Result<Option<Frame>, SyncError> {
        if self.role == Role::Initiator && !self.started {
            self.started = true;
            let log = store.membership().map_err(|error| self.fail(RefuseCode::Store, error.into()))?;
            self.say_hello(&log);
        }
        if self.out.is_empty()
            && let Some((doc, vector)) = self.to_send.pop_front()
        {
            self.send_document(doc, &vector, store)?;
        }
        if self.out.is_empty() {
            self.say_bye_if_finished();
        }
        let frame = self.out.pop_front();
        self.sent_since_received |= frame.is_some();
        Ok(frame)
    }

    /// Returns the frame that tells the other side why this one gave up; after an error, once.
    pub fn farewell(&mut self) -> Option<Frame> {
        if self.stage == Stage::Failed { self.out.pop_front() } else { None }
    }

    /// Gives up because the bytes that arrived were no frame.
    pub fn receive_broken(&mut self, error: CodecError) -> SyncError {
        let code = match error {
            CodecError::Version { .. } => RefuseCode::Version,
            _ => RefuseCode::Broken,
        };
        self.fail(code, error.into())
    }

    /// Takes a frame that arrived.
    ///
    /// # Errors
    /// Any [`SyncError`]; the session is then over, except for [`Self::farewell`].
    pub fn receive(&mut self, frame: Frame, store: &mut dyn Store) -> Result<(), SyncError> {
        if std::mem::take(&mut self.sent_since_received) {
            self.report.rounds += 1;
        }
        let result = self.dispatch(frame, store);
        match result {
            Err(error) if self.stage != Stage::Failed => {
                let code = match &error {
                    SyncError::Store(_) => RefuseCode::Store,
                    _ => RefuseCode::Broken,
                };
                Err(self.fail(code, error))
            }
            other => other,
        }
    }

    fn fail(&mut self, code: RefuseCode, error: SyncError) -> SyncError {
        self.stage = Stage::Failed;
        self.to_send.clear();
        self.out.clear();
        self.out.push_back(Frame::Refuse(code));
        error
    }

    fn refuse_peer(&mut self, code: RefuseCode) -> SyncError {
        let device = self.peer.to_string();
        self.fail(code, SyncError::RefusedPeer { device, code })
    }

    /// Refuses a device that is no member, and tells one that was a member that it was removed: it knows the crew already.
    fn refuse_no_member(&mut self, log: &MembershipLog) -> SyncError {
        let was_removed = log.removed().contains_key(&self.peer);
        self.refuse_peer(if was_removed { RefuseCode::Removed } else { RefuseCode::NotMember })
    }

    fn dispatch(&mut self, frame: Frame, store: &mut dyn Store) -> Result<(), SyncError> {
        match (self.stage, frame) {
            (_, Frame::Refuse(RefuseCode::Unproven))
                if self.role == Role::Initiator && self.stage == Stage::Hello && !self.proof_sent =>
            {
                self.proof_sent = true;
                let entries = store.membership()?.entries().cloned().collect();
                self.send_entries(entries);
                Ok(())
            }
            (_, Frame::Refuse(code)) => {
                self.stage = Stage::Failed;
                self.to_send.clear();
                self.out.clear();
                Err(SyncError::Refused { code })
            }
            (Stage::Hello, Frame::Hello(hello)) => self.on_hello(hello, store),
            (Stage::Proof, Frame::Entries(entries)) => self.on_proof(entries, store),
            (Stage::Entries, Frame::Entries(entries)) => self.on_entries(entries, store),
            (Stage::Digest, Frame::Digest(root)) => self.on_digest(root, store),
            (Stage::Inventory, Frame::Inventory(part)) => self.on_inventory(part, store),
            (Stage::Have, Frame::Have(part)) => self.on_have(part, store),
            (Stage::Documents, Frame::Changes(changes)) => self.on_changes(changes, store),
            (Stage::Documents, Frame::Ack(ack)) => self.on_ack(ack),
            (Stage::Documents | Stage::Bye, Frame::Bye(_)) => self.on_bye(),
            (stage, frame) => Err(SyncError::Unexpected { expected: expected(stage), got: frame.name() }),
        }
    }

    fn tag(&self) -> [u8; 16] {
        match self.role {
            Role::Initiator => crew_tag(self.local.crew, &self.local.device, &self.peer),
            Role::Responder => crew_tag(self.local.crew, &self.peer, &self.local.device),
        }
    }

    fn say_hello(&mut self, log: &MembershipLog) {
        let heads = log.heads();
        self.my_heads = heads.iter().copied().collect();
        let hello = Hello {
            program: self.local.program.clone(),
            crew_tag: self.tag(),
            heads,
            at: Some(self.local.now),
            photos: self.local.photos,
        };
        self.out.push_back(Frame::Hello(hello));
    }

    /// Sends entries; an empty frame ends the list.
    fn send_entries(&mut self, entries: Vec<SignedEntry>) {
        self.out.extend(in_parts(entries, PART).into_iter().map(Frame::Entries));
        self.out.push_back(Frame::Entries(Vec::new()));
    }

    fn on_hello(&mut self, hello: Hello, store: &mut dyn Store) -> Result<(), SyncError> {
        if hello.heads.len() > MAX_ENTRIES {
            return Err(SyncError::Protocol { reason: format!("{} membership heads", hello.heads.len()) });
        }
        if hello.crew_tag != self.tag() {
            return Err(self.refuse_peer(RefuseCode::NotMember));
        }
        let log = store.membership()?;
        self.report.photos_follow = hello.photos && self.local.photos;
        self.report.clock_ahead = hello.at.map(|at| at.saturating_sub(self.local.now));
        self.peer_heads = hello.heads.into_iter().collect();
        match (self.role, log.is_member(&self.peer)) {
            // Somebody else may have admitted it, or admitted it again.
            (Role::Responder, false) => {
                self.stage = Stage::Proof;
                self.out.push_back(Frame::Refuse(RefuseCode::Unproven));
                Ok(())
            }
            // The responder's entries may prove it; without any that are new, nothing will.
            (Role::Initiator, false) if self.my_heads == self.peer_heads => Err(self.refuse_no_member(&log)),
            _ => self.exchange_entries(&log, store),
        }
    }

    /// A stranger shows its membership log. Nothing is kept of it unless it proves the stranger a member.
    fn on_proof(&mut self, entries: Vec<SignedEntry>, store: &mut dyn Store) -> Result<(), SyncError> {
        let last = entries.is_empty();
        self.proof.extend(entries);
        let size: usize = self.proof.iter().map(|entry| entry.body.len()).sum();
        if self.proof.len() > MAX_ENTRIES || size > MAX_PROOF {
            return Err(self.refuse_peer(RefuseCode::NotMember));
        }
        if !last {
            return Ok(());
        }
        let shown = std::mem::take(&mut self.proof);
        let mut log = store.membership()?;
        log.merge(shown.iter().cloned());
        if !log.is_member(&self.peer) {
            return Err(self.refuse_no_member(&log));
        }
        self.keep_entries(shown, store)?;
        self.exchange_entries(&log, store)
    }

    fn keep_entries(&mut self, entries: Vec<SignedEntry>, store: &mut dyn Store) -> Result<(), SyncError> {
        let mut log = store.membership()?;
        let new = log.merge(entries.iter().cloned()).new;
        if new > 0 {
            store.merge_membership(entries)?;
            self.report.entries_in += new as u64;
        }
        Ok(())
    }

    /// Sends hello (as responder) and the entries that the other side lacks.
    fn exchange_entries(&mut self, log: &MembershipLog, store: &mut dyn Store) -> Result<(), SyncError> {
        if self.role == Role::Responder {
            self.say_hello(log);
        }
        if self.my_heads == self.peer_heads {
            self.stage = Stage::Digest;
            return self.send_digest_as_initiator(store);
        }
        self.stage = Stage::Entries;
        if self.role == Role::Responder {
            self.send_entries(log.missing_from(&self.peer_heads.iter().copied().collect::<Vec<_>>()));
        }
        Ok(())
    }

    fn on_entries(&mut self, entries: Vec<SignedEntry>, store: &mut dyn Store) -> Result<(), SyncError> {
        if !entries.is_empty() {
            return self.keep_entries(entries, store);
        }
        let log = store.membership()?;
        if !log.is_member(&self.peer) {
            return Err(self.refuse_no_member(&log));
        }
        self.stage = Stage::Digest;
        if self.role == Role::Initiator {
            self.send_entries(log.missing_from(&self.peer_heads.iter().copied().collect::<Vec<_>>()));
        }
        self.send_digest_as_initiator(store)
    }

    fn send_digest_as_initiator(&mut self, store: &mut dyn Store) -> Result<(), SyncError> {
        if self.role == Role::Initiator {
            self.root = store.root_digest()?;
            self.out.push_back(Frame::Digest(self.root));
        }
        Ok(())
    }

    fn on_digest(&mut self, root: [u8; 32], store: &mut dyn Store) -> Result<(), SyncError> {
        if self.role == Role::Responder {
            self.root = store.root_digest()?;
            self.out.push_back(Frame::Digest(self.root));
        }
        if root == self.root {
            self.have_complete = true;
            self.stage = Stage::Bye;
            return Ok(());
        }
        if self.role == Role::Initiator {
            self.stage = Stage::Inventory;
            return Ok(());
        }
        let docs: Vec<(DocId, [u8; 8])> =
            store.inventory()?.into_iter().map(|entry| (entry.id, entry.digest)).collect();
        let mut parts = docs.chunks(PART / 32).peekable();
        if parts.peek().is_none() {
            self.out.push_back(Frame::Inventory(Inventory { docs: Vec::new(), last: true }));
        }
        while let Some(part) = parts.next() {
            self.out.push_back(Frame::Inventory(Inventory { docs: part.to_vec(), last: parts.peek().is_none() }));
        }
        self.stage = Stage::Have;
        Ok(())
    }

    fn on_inventory(&mut self, part: Inventory, store: &mut dyn Store) -> Result<(), SyncError> {
        self.inventory.extend(part.docs);
        if self.inventory.len() > MAX_DOCUMENTS {
            return Err(SyncError::Protocol { reason: format!("more than {MAX_DOCUMENTS} documents") });
        }
        if !part.last {
            return Ok(());
        }
        let theirs = std::mem::take(&mut self.inventory);
        let mut differing: BTreeMap<DocId, Option<(DocKey, [u8; 8])>> = theirs.keys().map(|doc| (*doc, None)).collect();
        for entry in store.inventory()? {
            if theirs.get(&entry.id) == Some(&entry.digest) {
                differing.remove(&entry.id);
            } else {
                differing.insert(entry.id, Some((entry.key, entry.digest)));
            }
        }
        self.list_mine(differing, store)?;
        self.stage = Stage::Have;
        Ok(())
    }

    /// Tells how far this side's copies of the differing documents have come.
    fn list_mine(
        &mut self,
        differing: BTreeMap<DocId, Option<(DocKey, [u8; 8])>>,
        store: &mut dyn Store,
    ) -> Result<(), SyncError> {
        let mut docs = Vec::new();
        let mut size = 0;
        for (doc, held) in differing {
            let vector = if held.is_some() { store.vector(&doc)? } else { VersionVector::new() };
            let have = Have { doc, held, vector };
            self.keys.insert(doc, have.held.as_ref().map(|(key, _)| key.clone()));
            self.mine.insert(doc, have.clone());
            size += 128 + have.vector.keys().map(|actor| actor.len() + 12).sum::<usize>();
            docs.push(have);
            if size > PART {
                self.out.push_back(Frame::Have(HaveList { docs: std::mem::take(&mut docs), last: false }));
                size = 0;
            }
        }
        self.out.push_back(Frame::Have(HaveList { docs, last: true }));
        Ok(())
    }

    fn on_have(&mut self, part: HaveList, store: &mut dyn Store) -> Result<(), SyncError> {
        let last = part.last;
        for have in part.docs {
            self.check_have(&have)?;
            self.theirs.insert(have.doc, have);
        }
        if self.theirs.len() > MAX_DOCUMENTS {
            return Err(SyncError::Protocol { reason: format!("more than {MAX_DOCUMENTS} documents") });
        }
        if !last {
            return Ok(());
        }
        if self.role == Role::Responder {
            let mut differing: BTreeMap<DocId, Option<(DocKey, [u8; 8])>> =
                self.theirs.keys().map(|doc| (*doc, None)).collect();
            for entry in store.inventory()? {
                if let Some(held) = differing.get_mut(&entry.id) {
                    *held = Some((entry.key, entry.digest));
                }
            }
            self.list_mine(differing, store)?;
        } else if self.theirs.keys().ne(self.mine.keys()) {
            return Err(SyncError::Protocol {
                reason: "it answered about other documents than those asked for".to_owned(),
            });
        }
        self.start_documents();
        Ok(())
    }

    fn check_have(&self, have: &Have) -> Result<(), SyncError> {
        if let Some((key, _)) = &have.held
            && (key.id() != have.doc || key.crew != self.local.crew)
        {
            let reason = format!("document {} does not have the id of its key, or is of another crew", have.doc);
            return Err(SyncError::Protocol { reason });
        }
        if have.held.is_none() && !have.vector.is_empty() {
            return Err(SyncError::Protocol {
                reason: format!("it lacks document {} and has a version of it", have.doc),
            });
        }
        Ok(())
    }

    fn start_documents(&mut self) {
        self.stage = Stage::Documents;
        self.have_complete = true;
        for (doc, have) in std::mem::take(&mut self.theirs) {
            self.report.documents += 1;
            if let Some((key, digest)) = have.held {
                if let Some(Have { held: Some((_, mine)), vector, .. }) = self.mine.get(&doc)
                    && *vector == have.vector
                    && *mine != digest
                {
                    self.refused(doc, true, RefusalCode::Forked, FORKED);
                }
                self.keys.insert(doc, Some(key));
                // Whoever holds the document sends its changes, or says that there are none.
                self.awaited.insert(doc);
            }
            if self.mine.get(&doc).is_some_and(|mine| mine.held.is_some()) {
                self.to_send.push_back((doc, have.vector));
            }
        }
        self.mine.clear();
    }

    fn refused(&mut self, doc: DocId, by_this_device: bool, code: RefusalCode, reason: &str) {
        let refusal = Refusal { code, reason: reason.to_owned() };
        let key = self.keys.get(&doc).cloned().flatten();
        self.report.refused.push(RefusedDocument { doc, key, by_this_device, refusal });
    }

    fn send_document(&mut self, doc: DocId, vector: &VersionVector, store: &mut dyn Store) -> Result<(), SyncError> {
        let changes = store.changes_since(&doc, vector).map_err(|error| self.fail(RefuseCode::Store, error.into()))?;
        let total: usize = changes.iter().map(Vec::len).sum();
        let frames = match codec::pack(doc, &changes) {
            Ok(frames) if total <= MAX_DOCUMENT => frames,
            other => {
                let reason = match other {
                    Err(size) => format!("a change of {size} bytes cannot be sent; the limit is {MAX_CHANGE}"),
                    Ok(_) => format!("changes of {total} bytes at once cannot be sent; the limit is {MAX_DOCUMENT}"),
                };
                self.refused(doc, true, RefusalCode::TooLarge, &reason);
                vec![Changes { doc, last: true, count: 0, inflated: 0, packed: Vec::new() }]
            }
        };
        let sent: u64 = frames.iter().map(|frame| u64::from(frame.count)).sum();
        if sent > 0 {
            self.report.changes_out += sent;
            self.unacknowledged.insert(doc);
        }
        self.out.extend(frames.into_iter().map(Frame::Changes));
        Ok(())
    }

    fn on_changes(&mut self, frame: Changes, store: &mut dyn Store) -> Result<(), SyncError> {
        let doc = frame.doc;
        let Some(Some(key)) = self.keys.get(&doc).cloned() else {
            return Err(SyncError::Protocol { reason: format!("changes of document {doc}, which was not agreed on") });
        };
        if !self.awaited.contains(&doc) {
            return Err(SyncError::Protocol { reason: format!("changes of document {doc} after its last") });
        }
        let unpacked = codec::unpack(&frame)?;
        let incoming = self.incoming.entry(doc).or_default();
        incoming.bytes += unpacked.iter().map(Vec::len).sum::<usize>();
        if incoming.bytes > MAX_DOCUMENT {
            return Err(SyncError::Protocol { reason: format!("more than {MAX_DOCUMENT} bytes for document {doc}") });
        }
        incoming.changes.extend(unpacked);
        if !frame.last {
            return Ok(());
        }
        self.awaited.remove(&doc);
        let changes = self.incoming.remove(&doc).unwrap_or_default().changes;
        if changes.is_empty() {
            return Ok(());
        }
        let result = store.apply(&self.peer, &key, changes);
        if let Ok(applied) = &result {
            self.report.changes_in += applied.new_changes;
        }
        if let Err(refusal) = &result {
            self.refused(doc, true, refusal.code, &refusal.reason);
        }
        self.out.push_back(Frame::Ack(Ack { doc, result: result.map(|applied| applied.new_changes) }));
        Ok(())
    }

    fn on_ack(&mut self, ack: Ack) -> Result<(), SyncError> {
        if !self.unacknowledged.remove(&ack.doc) {
            return Err(SyncError::Protocol {
                reason: format!("it acknowledged document {}, of which nothing was sent", ack.doc),
            });
        }
        match ack.result {
            Ok(new) => self.report.acknowledged += new,
            Err(refusal) => self.refused(ack.doc, false, refusal.code, &refusal.reason),
        }
        Ok(())
    }

    fn say_bye_if_finished(&mut self) {
        let finished = matches!(self.stage, Stage::Documents | Stage::Bye)
            && self.have_complete
            && self.to_send.is_empty()
            && self.awaited.is_empty()
            && self.unacknowledged.is_empty();
        if finished && !self.bye_sent {
            self.bye_sent = true;
            self.stage = if self.bye_received { Stage::Done } else { Stage::Bye };
            let bye = Bye { changes_in: self.report.changes_in, changes_out: self.report.changes_out };
            self.out.push_back(Frame::Bye(bye));
        }
    }

    fn on_bye(&mut self) -> Result<(), SyncError> {
        if !self.awaited.is_empty() || !self.unacknowledged.is_empty() {
            return Err(SyncError::Protocol { reason: "it said goodbye before the end".to_owned() });
        }
        self.bye_received = true;
        if self.bye_sent {
            self.stage = Stage::Done;
        }
        Ok(())
    }
}

const FORKED: &str = "both devices hold different changes under the same actor and number, so the document cannot \
    converge; one journal is a copy of the other: start one of them anew and sync";

fn expected(stage: Stage) -> &'static str {
    match stage {
        Stage::Hello => "a hello",
        Stage::Proof | Stage::Entries => "membership entries",
        Stage::Digest => "a digest",
        Stage::Inventory => "the inventory",
        Stage::Have => "a list of documents",
        Stage::Documents => "changes or acknowledgements",
        Stage::Bye => "a bye",
        Stage::Done | Stage::Failed => "nothing more",
    }
}
