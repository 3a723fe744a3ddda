//! The messages of an exchange.

use std::fmt;

use ligule_observation::ids::{CrewId, DeviceId, DocId, DocKey};
use serde::{Deserialize, Serialize};

use crate::membership::{EntryHash, SignedEntry};
use crate::photos::{MAX_PHOTO, PhotoHash};
use crate::store::{Refusal, VersionVector};

/// One message. The numbers of the kinds are fixed for all time; see `schemas/sync/README.md`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Frame {
    /// Kind 0: the first frame of each side.
    Hello(Hello),
    /// Kind 1: membership entries that the other side seems to lack.
    Entries(Vec<SignedEntry>),
    /// Kind 2: the digest over all documents.
    Digest([u8; 32]),
    /// Kind 3: a part of the inventory.
    Inventory(Inventory),
    /// Kind 4: documents that differ, each with the sender's version vector.
    Have(HaveList),
    /// Kind 5: changes of one document.
    Changes(Changes),
    /// Kind 6: what became of one document's changes.
    Ack(Ack),
    /// Kind 7: the sender will go no further. Its layout never changes.
    Refuse(RefuseCode),
    /// Kind 8: the last frame of each side.
    Bye(Bye),
    /// Kind 9: a device asks to be admitted.
    JoinAsk(JoinAsk),
    /// Kind 10: it is admitted.
    JoinAccept(JoinAccept),
    /// Kind 11: the start of a bundle.
    BundleHeader(BundleHeader),
    /// Kind 12: the end of a bundle's section, signed.
    BundleSeal(BundleSeal),
    /// Kind 13: the end of a bundle's records.
    BundleTrailer(BundleTrailer),
    /// Kind 14: photos that the sender lacks.
    PhotosWanted(PhotosWanted),
    /// Kind 15: the start of a photo; its bytes follow.
    Photo(Photo),
    /// Kind 16: the next bytes of the photo that was started last.
    PhotoBytes(Vec<u8>),
    /// Kind 17: what became of a photo.
    PhotoDone(PhotoDone),
    /// Kind 18: no more photos follow.
    PhotosEnd(PhotosEnd),
    /// Kind 19: what the device's clock says, in milliseconds since 1970 UTC. It follows a join request, and what answers
    /// it; programs before it was told send none and read none.
    Clock(i64),
}

impl Frame {
    /// Returns the frame's name, for messages.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Hello(_) => "hello",
            Self::Entries(_) => "membership entries",
            Self::Digest(_) => "digest",
            Self::Inventory(_) => "inventory",
            Self::Have(_) => "have",
            Self::Changes(_) => "changes",
            Self::Ack(_) => "acknowledgement",
            Self::Refuse(_) => "refusal",
            Self::Bye(_) => "bye",
            Self::JoinAsk(_) => "join request",
            Self::JoinAccept(_) => "join acceptance",
            Self::BundleHeader(_) => "bundle header",
            Self::BundleSeal(_) => "bundle seal",
            Self::BundleTrailer(_) => "bundle trailer",
            Self::PhotosWanted(_) => "list of wanted photos",
            Self::Photo(_) => "start of a photo",
            Self::PhotoBytes(_) => "part of a photo",
            Self::PhotoDone(_) => "receipt for a photo",
            Self::PhotosEnd(_) => "end of the photos",
            Self::Clock(_) => "clock",
        }
    }
}

/// Greets, and tells nothing to a stranger: the crew is named by a tag that only its members can compute.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hello {
    /// The version of `ligule` that speaks.
    pub program: String,
    /// [`crew_tag`] of this exchange.
    pub crew_tag: [u8; 16],
    /// The heads of the membership log.
    pub heads: Vec<EntryHash>,
    /// What the device's clock says, in milliseconds since 1970 UTC; programs before it was told say nothing.
    #[serde(skip)]
    pub at: Option<i64>,
    /// Whether it would exchange photos after the records; told only with `at`.
    #[serde(skip)]
    pub photos: bool,
}

/// Returns the tag by which two devices see that they mean the same crew.
pub fn crew_tag(crew: CrewId, initiator: &DeviceId, responder: &DeviceId) -> [u8; 16] {
    let mut hasher = blake3::Hasher::new_derive_key("ligule sync crew tag 1");
    hasher.update(&crew.0);
    hasher.update(&initiator.0);
    hasher.update(&responder.0);
    let mut tag = [0; 16];
    tag.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
    tag
}

/// Documents and their digests.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Inventory {
    /// The documents of this part.
    pub docs: Vec<(DocId, [u8; 8])>,
    /// Whether this is the last part.
    pub last: bool,
}

/// Documents that differ.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HaveList {
    /// The documents of this part.
    pub docs: Vec<Have>,
    /// Whether this is the last part.
    pub last: bool,
}

/// How far the sender's copy of a document has come.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Have {
    /// Which document.
    pub doc: DocId,
    /// What it is about and its digest; none if the sender does not hold it.
    pub held: Option<(DocKey, [u8; 8])>,
    /// The version vector; empty if the sender does not hold it.
    pub vector: VersionVector,
}

/// Changes of one document, compressed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changes {
    /// Which document.
    pub doc: DocId,
    /// Whether these are the last for this document in this exchange.
    pub last: bool,
    /// How many changes are inside.
    pub count: u32,
    /// Bytes once inflated.
    pub inflated: u32,
    /// A zstd frame of: for each change its length (u32, little endian) and its raw bytes.
    pub packed: Vec<u8>,
}

/// Says that a document's changes are durable, or why not.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ack {
    /// Which document.
    pub doc: DocId,
    /// How many changes were new, or why none was taken in.
    pub result: Result<u64, Refusal>,
}

/// Why a side goes no further.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum RefuseCode {
    /// Not known as a member; the membership log may be shown as proof, once.
    Unproven,
    /// Not a member of this crew.
    NotMember,
    /// The frame version is unknown.
    Version,
    /// The bytes or the order of the frames were wrong.
    Broken,
    /// The ticket is unknown, used or expired, or its proof is wrong.
    Ticket,
    /// The store failed.
    Store,
    /// Was a member of this crew, and was removed.
    Removed,
}

impl fmt::Display for RefuseCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Unproven => "it does not know this device as a member of the crew",
            Self::NotMember => "not a member of the same crew; ask a member for an invitation",
            Self::Version => "needs ligule of the same sync version; update the older device",
            Self::Broken => "the frames were damaged or out of order; start again",
            Self::Ticket => "the ticket is unknown, already used or expired; ask for a new one",
            Self::Store => "its journal failed; see the messages there",
            Self::Removed => "removed from the crew; a member can invite it again",
        })
    }
}

/// Ends one side's part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bye {
    /// Changes that the sender took in.
    pub changes_in: u64,
    /// Changes that the sender sent.
    pub changes_out: u64,
}

/// Asks to be admitted, and proves the ticket's secret without sending it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct JoinAsk {
    /// Which ticket.
    pub ticket: [u8; 8],
    /// The person who holds the device.
    pub person: String,
    /// The proof.
    pub proof: [u8; 32],
}

/// Admits: the inviter's proof. The crew's whole membership log follows as entries, ended by an empty frame.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct JoinAccept {
    /// The inviter's proof of the same secret.
    pub proof: [u8; 32],
}

/// Starts a bundle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BundleHeader {
    /// The crew.
    pub crew: CrewId,
    /// Who wrote it.
    pub sender: DeviceId,
    /// When, in milliseconds since 1970 UTC.
    pub at: i64,
    /// The version of `ligule` that wrote it.
    pub program: String,
    /// The documents inside, in order, each with the sender's digest.
    pub docs: Vec<(DocId, [u8; 8])>,
}

/// Ends a section of a bundle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BundleSeal {
    /// The section's number; 0 is the header's.
    pub section: u32,
    /// The sender's signature (64 bytes) over bundle, section number and the section's bytes.
    pub signature: Vec<u8>,
}

/// Ends a bundle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BundleTrailer {
    /// How many documents.
    pub documents: u32,
    /// How many changes.
    pub changes: u64,
    /// BLAKE3 of all bytes before this frame.
    pub hash: [u8; 32],
    /// The sender's signature (64 bytes) over that hash.
    pub signature: Vec<u8>,
}

/// Photos that the sender lacks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotosWanted {
    /// The photos of this part.
    pub photos: Vec<PhotoWanted>,
    /// Whether this is the last part.
    pub last: bool,
}

/// A photo that the sender lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoWanted {
    /// Which.
    pub hash: PhotoHash,
    /// How many of its first bytes the sender has.
    pub held: u64,
}

/// Starts a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Photo {
    /// Which.
    pub hash: PhotoHash,
    /// Its length, in bytes.
    pub size: u64,
    /// How many of its first bytes are left out.
    pub from: u64,
}

impl Photo {
    /// Tells whether its length is one that is kept, and it starts within it.
    pub fn is_kept(&self) -> bool {
        (1..=MAX_PHOTO).contains(&self.size) && self.from <= self.size
    }
}

/// Says what became of a photo, to the device that sent it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotoDone {
    /// Which.
    pub hash: PhotoHash,
    /// What.
    pub end: PhotoEnd,
}

/// What can become of a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum PhotoEnd {
    /// It is durable.
    Kept,
    /// Its bytes do not have its hash.
    Damaged,
    /// It is here meanwhile, or comes from elsewhere.
    NotNeeded,
    /// The disk refused it: no more photos are to be sent.
    StoreFailed,
}

/// Ends one side's photos.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhotosEnd {
    /// How many were started.
    pub started: u64,
    /// How many were wanted that the sender does not have.
    pub lacking: u64,
}
