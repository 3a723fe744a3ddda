//! Signatures over a whole pack.
//!
//! `pack.sig` is a detached ed25519 signature over a list of every other file (path, length, BLAKE3), sorted by path
//! and headed by a fixed context, the pack's id and version. Tables and texts decide what a grower is told as much as
//! code does, so they are all under it.

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};

use crate::{Pack, RuleError};

/// The signature's file.
pub const SIGNATURE_FILE: &str = "pack.sig";
const CONTEXT: &str = "ligule rule pack signature 1";

/// A key whose packs are trusted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrustedKey {
    /// Who holds it, as shown to people.
    pub name: String,
    /// The ed25519 public key.
    pub key: [u8; 32],
}

/// What a pack's signature says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trust {
    /// A sound signature by a trusted key.
    Trusted(TrustedKey),
    /// A sound signature by a key that is not among the trusted ones.
    Stranger([u8; 32]),
    /// There is no signature.
    Unsigned,
    /// There is one, and it does not hold: something was changed after signing.
    Bad(String),
}

/// Returns the list that is signed.
fn signed_list(pack: &Pack) -> String {
    list(pack, CONTEXT)
}

/// Returns a pack's id, version and files (path, length, BLAKE3) but the signature, headed by what the list is for.
pub(crate) fn list(pack: &Pack, context: &str) -> String {
    let mut list = format!("{context}\n{}\n{}\n", pack.manifest().id, pack.manifest().version);
    for (path, content) in pack.files().iter().filter(|(path, _)| *path != SIGNATURE_FILE) {
        // The length of the path keeps two lists apart whatever a path holds.
        list += &format!("{} {path} {} {}\n", path.len(), content.len(), blake3::hash(content).to_hex());
    }
    list
}

/// Signs a pack with an ed25519 secret key; returns it with its `pack.sig`.
pub fn sign(pack: &Pack, secret: &[u8; 32]) -> Result<Pack, RuleError> {
    let key = SigningKey::from_bytes(secret);
    let signature = key.sign(signed_list(pack).as_bytes());
    let text =
        format!("{CONTEXT}\nkey {}\nsignature {}\n", hex(key.verifying_key().as_bytes()), hex(&signature.to_bytes()));
    pack.with_file(SIGNATURE_FILE, text.into_bytes())
}

/// Tells whether a pack's signature holds, and whose it is.
pub fn verify(pack: &Pack, trusted: &[TrustedKey]) -> Trust {
    let Some(file) = pack.files().get(SIGNATURE_FILE) else { return Trust::Unsigned };
    let Some((key, signature)) = read_signature(file) else {
        return Trust::Bad(format!("{SIGNATURE_FILE} should hold `{CONTEXT}`, a key and a signature, and does not"));
    };
    let holds = VerifyingKey::from_bytes(&key)
        .is_ok_and(|k| k.verify_strict(signed_list(pack).as_bytes(), &Signature::from_bytes(&signature)).is_ok());
    if !holds {
        return Trust::Bad(format!(
            "a file of {} was changed, added or removed after it was signed; fetch it again",
            pack.name()
        ));
    }
    match trusted.iter().find(|t| t.key == key) {
        Some(found) => Trust::Trusted(found.clone()),
        None => Trust::Stranger(key),
    }
}

fn read_signature(file: &[u8]) -> Option<([u8; 32], [u8; 64])> {
    let mut lines = std::str::from_utf8(file).ok()?.lines();
    if lines.next()? != CONTEXT {
        return None;
    }
    let key = unhex(lines.next()?.strip_prefix("key ")?)?;
    let signature = unhex(lines.next()?.strip_prefix("signature ")?)?;
    lines.next().is_none().then_some((key, signature))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    if text.len() != 2 * N || !text.is_ascii() {
        return None;
    }
    let mut out = [0; N];
    for (i, byte) in out.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&text[2 * i..2 * i + 2], 16).ok()?;
    }
    Some(out)
}
