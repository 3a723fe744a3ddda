//! Carries the exchange between two devices of a crew over a local network: QUIC, without any server.
//!
//! - A [`Node`] is this device on the network: its key is its address. It dials, serves, and joins.
//! - [`run_session`] drives a [`ligule_sync::Session`] over any pair of byte streams; QUIC and tests share it.
//! - [`run_photos`] does the same for photos, which follow on a second pair of streams of the connection.
//! - [`discovery`] finds the crew's devices nearby by multicast DNS, without telling strangers which crew it is.
//! - A [`PeerAddress`] is what a person types when nothing was found: `192.168.1.20:4711`, or with the device's id.
//!
//! The store is called on threads that may block, so a slow disk does not stop the network.

mod address;
pub mod discovery;
mod driver;
mod error;
mod node;
mod serve;

pub use address::{PeerAddress, Target};
pub use driver::{OpenPhotos, SharedStore, Stores, run_photos, run_session};
pub use error::TransportError;
pub use node::{Exchanged, JoinAnswer, Node, NodeOptions};
pub use serve::{ServeEvent, Service, SharedDesk};

/// Names the exchange in the QUIC handshake.
pub const SYNC_ALPN: &[u8] = b"ligule/sync/1";
/// Names the admission of a new device in the QUIC handshake.
pub const JOIN_ALPN: &[u8] = b"ligule/join/1";
