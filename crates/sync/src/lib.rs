//! How two devices of a crew come to hold the same records: without a server, over any pair of byte streams.
//!
//! The ideas, in reading order:
//!
//! - A [`store::Store`] is whatever keeps the documents; this crate asks it for digests, version vectors and raw
//!   changes, and hands it changes to verify and keep. It never looks inside a change.
//! - A [`frame::Frame`] is one message; [`codec`] turns frames into bytes and back, with limits.
//! - A [`session::Session`] is one device's half of an exchange: frames in, frames out, no sockets, no clock.
//! - A [`photos::PhotoSession`] follows, if both sides want it: photos that the records name and one side lacks.
//! - A [`membership::MembershipLog`] says who belongs to the crew: signed entries that only ever grow in number,
//!   and an evaluation that gives the same members whatever the order of arrival.
//! - A [`ticket::Ticket`] invites a device; [`join`] is the exchange that admits it.
//! - A [`bundle`] is the same exchange in a file, for a stick or a mail.
//!
//! An interrupted exchange is started over: what was acknowledged compares equal the next time.

pub mod bundle;
pub mod codec;
pub mod error;
pub mod frame;
pub mod join;
pub mod membership;
pub mod photos;
pub mod session;
pub mod store;
pub mod text;
pub mod ticket;

pub use ed25519_dalek::SigningKey;
pub use error::SyncError;
pub use frame::Frame;
pub use ligule_observation::ids;
pub use photos::{PhotoHash, PhotoReport, PhotoSession, PhotoStore};
pub use session::{CLOCKS_APART, Local, Role, Session, SyncReport, clocks_apart};
pub use store::{Applied, DocEntry, Refusal, RefusalCode, Store, StoreError, VersionVector};
