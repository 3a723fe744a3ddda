//! The one error type of this crate.

use std::net::SocketAddr;
use std::time::Duration;

use ligule_sync::SyncError;

/// Why devices did not come to exchange.
#[derive(Debug, thiserror::Error)]
pub enum TransportError {
    /// The port could not be opened.
    #[error("could not listen on {address}: {reason}; choose another port, or end the program that holds it")]
    Bind {
        /// Where.
        address: String,
        /// What the system said.
        reason: String,
    },
    /// Nobody answered.
    #[error(
        "no answer from {address} within {} s: check that `ligule` is serving there, that both devices are in the same \
         network, and that its firewall lets UDP through", waited.as_secs_f32().ceil()
    )]
    NoAnswer {
        /// The addresses that were tried.
        address: String,
        /// How long.
        waited: Duration,
    },
    /// Somebody else answered, or the handshake failed.
    #[error("the device at {address} answered, but not as {device}: {reason}")]
    Handshake {
        /// The addresses.
        address: String,
        /// Who was expected.
        device: String,
        /// What failed.
        reason: String,
    },
    /// None of the crew's devices answers at a typed address.
    #[error(
        "the device at {address} is none of the other members that this device knows ({tried}); if it has just joined, \
         sync with the member who admitted it, or type its id too: `{address}#DEVICE`"
    )]
    NoMemberThere {
        /// The address.
        address: SocketAddr,
        /// How many members were tried.
        tried: usize,
    },
    /// No address is known.
    #[error("no address of the device {device} is known; type one: `IP:PORT#{device}`")]
    NoAddress {
        /// The device.
        device: String,
    },
    /// Nothing was found nearby.
    #[error(
        "found no other device of the crew nearby in {} s; check that one of them is serving and in the same network; \
         many access points keep devices apart or block multicast: then type its address (`IP:PORT`), connect both to \
         a phone's hotspot, or carry a bundle file", waited.as_secs_f32().ceil()
    )]
    NothingFound {
        /// How long was listened.
        waited: Duration,
    },
    /// Multicast DNS failed.
    #[error("cannot look for devices nearby: {reason}; type an address (`IP:PORT`) instead")]
    Discovery {
        /// What failed.
        reason: String,
    },
    /// A text is no address.
    #[error("expected `IP:PORT` or `IP:PORT#DEVICE` (64 hex digits), got `{got}`: {reason}")]
    Address {
        /// What came.
        got: String,
        /// Which part is wrong.
        reason: String,
    },
    /// The connection broke; what was acknowledged until then is kept.
    #[error("the connection broke off ({reason}); what was acknowledged is kept, start again for the rest")]
    Broken {
        /// What the system said.
        reason: String,
    },
    /// The other device fell silent.
    #[error("the other device fell silent for {} s; what was acknowledged is kept, start again for the rest", waited.as_secs())]
    Silent {
        /// How long.
        waited: Duration,
    },
    /// The store's thread panicked.
    #[error("the journal failed in an unforeseen way; nothing unacknowledged was kept; start the program again")]
    StorePanicked,
    /// The exchange itself failed.
    #[error(transparent)]
    Sync(#[from] SyncError),
}
