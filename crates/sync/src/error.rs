//! The one error type of this crate.

use ligule_observation::ids::{CrewId, DeviceId, DocId};

use crate::codec::CodecError;
use crate::frame::RefuseCode;
use crate::store::StoreError;
use crate::ticket::TicketError;

/// Why an exchange, a join or a bundle came to nothing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SyncError {
    /// Bytes that are no frame.
    #[error(transparent)]
    Codec(#[from] CodecError),
    /// The local store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A ticket could not be read or used.
    #[error(transparent)]
    Ticket(#[from] TicketError),
    /// The other device refused this one.
    #[error("the other device refused: {code}")]
    Refused {
        /// Its reason.
        code: RefuseCode,
    },
    /// This device refused the other one.
    #[error("refused the device {device}: {code}")]
    RefusedPeer {
        /// The other device, in hex.
        device: String,
        /// The reason that it was told.
        code: RefuseCode,
    },
    /// A frame came that has no place at this point.
    #[error(
        "expected {expected}, got a {got} frame; start the exchange again, and update the older of both devices if it happens twice"
    )]
    Unexpected {
        /// What could have come.
        expected: &'static str,
        /// The frame's name.
        got: &'static str,
    },
    /// The other device contradicts itself or exceeds a limit.
    #[error("the other device broke the exchange: {reason}")]
    Protocol {
        /// How.
        reason: String,
    },
    /// A document's own changes cannot be sent.
    #[error("document {doc}: a change of {size} bytes cannot be sent (limit {limit}); no device can take it in")]
    ChangeTooLarge {
        /// The document.
        doc: DocId,
        /// The change's size in bytes.
        size: usize,
        /// The limit in bytes.
        limit: usize,
    },
    /// A membership log does not say what it must.
    #[error("membership: {reason}")]
    Membership {
        /// What was expected and what came.
        reason: String,
    },
    /// A bundle of which nothing can be trusted.
    #[error("the bundle's {part} is bad: {reason}; nothing was taken in; ask for the bundle to be written again")]
    Bundle {
        /// Which part.
        part: String,
        /// What is wrong with it.
        reason: String,
    },
    /// A bundle that is sound, of a device that was removed from the crew.
    #[error("the bundle's writer, device {device}, was removed from the crew; nothing was taken in")]
    RemovedWriter {
        /// The device.
        device: DeviceId,
    },
    /// A bundle that is sound, of a device that no member has admitted.
    #[error("the bundle's writer, device {device}, is not a member of the crew; nothing was taken in")]
    UnknownWriter {
        /// The device.
        device: DeviceId,
    },
    /// A bundle that is sound, and not for this device's crew.
    #[error(
        "the bundle belongs to another crew ({theirs}; this device is of {ours}); nothing was taken in; only devices of one \
         crew exchange records: read it into a journal of that crew, or have a member of it invite this device"
    )]
    OtherCrew {
        /// The bundle's crew.
        theirs: CrewId,
        /// This device's crew.
        ours: CrewId,
    },
    /// Reading or writing a bundle failed.
    #[error("the bundle could not be {action}: {reason}")]
    BundleIo {
        /// `read` or `written`.
        action: &'static str,
        /// What the operating system said.
        reason: String,
    },
}
