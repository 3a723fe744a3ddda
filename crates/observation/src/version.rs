//! What a copy of a document holds, told in few bytes: heads, digest, version vector.

use std::collections::BTreeMap;

/// The hash of a change.
pub type ChangeHash = [u8; 32];

/// The bytes of an actor: one person's pen on one device in one document.
pub type ActorBytes = Vec<u8>;

/// The highest sequence number held of every actor.
pub type VersionVector = BTreeMap<ActorBytes, u64>;

/// Returns the digest of a set of heads: the first 8 bytes of BLAKE3 over the sorted hashes.
///
/// Two copies with equal digests hold the same changes.
pub fn digest(heads: &[ChangeHash]) -> [u8; 8] {
    let mut sorted = heads.to_vec();
    sorted.sort_unstable();
    let mut hasher = blake3::Hasher::new_derive_key("ligule heads digest 1");
    for head in &sorted {
        hasher.update(head);
    }
    let mut out = [0; 8];
    out.copy_from_slice(&hasher.finalize().as_bytes()[..8]);
    out
}
