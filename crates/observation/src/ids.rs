//! Names of things that outlive a device: crews, devices, features, documents, visits, observations.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Identifies a crew: the people whose devices exchange records.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CrewId(pub [u8; 16]);

/// Identifies a device: its ed25519 public key.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct DeviceId(pub [u8; 32]);

/// Identifies a document: a hash of crew, feature and season, so that two devices that start the same one
/// offline start the same one.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct DocId(pub [u8; 16]);

macro_rules! hex_id {
    ($name:ident, $len:literal) => {
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&hex(&self.0))
            }
        }
        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!(stringify!($name), "({})"), self)
            }
        }
        // Hex where people read it, bytes where programs do.
        impl Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                if serializer.is_human_readable() { serializer.collect_str(self) } else { self.0.serialize(serializer) }
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                if deserializer.is_human_readable() {
                    String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
                } else {
                    <[u8; $len]>::deserialize(deserializer).map(Self)
                }
            }
        }
        impl std::str::FromStr for $name {
            type Err = BadId;
            fn from_str(text: &str) -> Result<Self, BadId> {
                let bad = || BadId {
                    expected: concat!(stringify!($name), " as ", $len, " bytes in hex"),
                    got: text.to_owned(),
                };
                if text.len() != $len * 2 || !text.bytes().all(|b| b.is_ascii_hexdigit()) {
                    return Err(bad());
                }
                let mut out = [0u8; $len];
                for (i, byte) in out.iter_mut().enumerate() {
                    *byte = u8::from_str_radix(&text[i * 2..i * 2 + 2], 16).map_err(|_| bad())?;
                }
                Ok(Self(out))
            }
        }
    };
}
hex_id!(CrewId, 16);
hex_id!(DeviceId, 32);
hex_id!(DocId, 16);

/// A text that is not the identifier it should be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected {expected}, got `{got}`")]
pub struct BadId {
    /// What was expected.
    pub expected: &'static str,
    /// What came.
    pub got: String,
}

/// What a document is about: the feature of interest of ISO 19156 at the level at which people merge.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Feature {
    /// A field, by its ULID.
    Field(String),
    /// A weather station, by the code its network gives it.
    Station(String),
    /// The crew's own small document: fields, planters, assumptions. Its season is 0.
    Crew,
}

impl fmt::Display for Feature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Field(id) => write!(f, "field:{id}"),
            Self::Station(id) => write!(f, "station:{id}"),
            Self::Crew => f.write_str("crew"),
        }
    }
}

impl std::str::FromStr for Feature {
    type Err = BadId;
    fn from_str(text: &str) -> Result<Self, BadId> {
        match text.split_once(':') {
            Some(("field", id)) if !id.is_empty() => Ok(Self::Field(id.to_owned())),
            Some(("station", id)) if !id.is_empty() => Ok(Self::Station(id.to_owned())),
            None if text == "crew" => Ok(Self::Crew),
            _ => Err(BadId { expected: "a feature as `field:<id>`, `station:<id>` or `crew`", got: text.to_owned() }),
        }
    }
}

/// What names a document: crew, feature, season (year of harvest; 0 for the crew document).
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct DocKey {
    /// The crew it belongs to.
    pub crew: CrewId,
    /// The feature it is about.
    pub feature: Feature,
    /// The year of harvest.
    pub season: i32,
}

impl DocKey {
    /// Returns the document's identifier: the first 16 bytes of BLAKE3 over the key's parts.
    pub fn id(&self) -> DocId {
        let mut hasher = blake3::Hasher::new_derive_key("ligule document id 1");
        hasher.update(&self.crew.0);
        hasher.update(self.feature.to_string().as_bytes());
        hasher.update(&[0]);
        hasher.update(&self.season.to_be_bytes());
        let mut id = [0u8; 16];
        id.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
        DocId(id)
    }
}

/// Returns bytes as lower-case hex digits, two each.
///
/// ```
/// assert_eq!(ligule_observation::ids::hex(&[0x00, 0x0f, 0xa5]), "000fa5");
/// ```
pub fn hex(bytes: &[u8]) -> String {
    const DIGITS: [u8; 16] = *b"0123456789abcdef";
    bytes.iter().flat_map(|b| [b >> 4, b & 15]).map(|digit| char::from(DIGITS[usize::from(digit)])).collect()
}

/// Identifies an observation: the visit's ULID, a dash, a number within the visit: `01J…-03`.
pub type ObservationKey = String;
