//! Who a journal belongs to.

use ligule_observation::ids::{CrewId, DeviceId};

/// The device, person and crew of a journal.
#[derive(Clone, PartialEq, Eq)]
pub struct Identity {
    /// The device's ed25519 secret key. Protected by nothing but the file's permissions.
    pub secret: [u8; 32],
    /// The device: the public key that belongs to the secret.
    pub device: DeviceId,
    /// The person who uses the device, unless they say otherwise.
    pub person: String,
    /// The crew.
    pub crew: CrewId,
}

impl std::fmt::Debug for Identity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Identity")
            .field("device", &self.device)
            .field("person", &self.person)
            .field("crew", &self.crew)
            .finish_non_exhaustive()
    }
}
