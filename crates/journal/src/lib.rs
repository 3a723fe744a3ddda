//! The durable store of a device.
//!
//! One SQLite file, `journal.sqlite`, in a folder. The ideas, in reading order:
//!
//! - A [`Journal`] belongs to an [`Identity`]: device, person, crew.
//! - What is recorded is durable before the call returns: the change, the document's heads and version vector, and
//!   the rows that lists are read from (the projection) go into one transaction.
//! - Reading lists loads no document; neither does telling another device what is here.
//! - Any number of processes may have one journal open. Each write takes the lock first, then reads where the
//!   document stands, then writes.
//! - What is too large for one transaction is staged first ([`Journal::record_large`]): whenever a process ends, all of it
//!   is recorded or nothing.
//! - A damaged journal says what can still be read, and [`Journal::salvage`] takes it out.
//! - A journal that was copied or restored notices, and writes on under new actors, so that the copies merge.
//!
//! - [`Journal::copy_into`] makes a backup while others write; it goes on under new actors too.
//!
//! - [`Photos`] lie beside it under their hash, and in no document.
//!
//! The tables are told in `schemas/journal/README.md`.

mod actors;
mod backup;
mod batch;
mod codec;
mod crew;
mod documents;
mod draft;
mod error;
mod exchange;
mod identity;
mod large;
mod moved;
mod overview;
mod photos;
mod read;
mod salvage;
mod seen;
mod settings;
mod store;
mod upgrade;
mod upkeep;
mod write;

pub use batch::Batch;
pub use crew::Adopted;
pub use draft::Drafted;
pub use error::JournalError;
pub use exchange::{ApplyReport, DocState};
pub use identity::Identity;
pub use large::{Held, Large, STAGED};
pub use moved::{Move, Moved};
pub use overview::{LastSeen, LastVisit};
pub use photos::{
    Condition, CopiedPhotos, Incoming as IncomingPhoto, Kept as KeptPhoto, MOST_BYTES as MOST_PHOTO_BYTES, Photos,
    Receiving as ReceivingPhoto, Taken as TakenPhoto,
};
pub use read::Filter;
pub use salvage::SalvageReport;
pub use store::Journal;
pub use upkeep::{Finding, RebuildReport, SnapshotReport, VerifyReport};
