//! What can go wrong with a document that this device holds.

use crate::ids::{DocKey, ObservationKey};

/// An error of a document that this device holds.
#[derive(Debug, thiserror::Error)]
pub enum DocumentError {
    /// The bytes are not a readable document.
    #[error("the document of {feature} in {season} cannot be read: {why}", feature = key.feature, season = key.season)]
    Damaged {
        /// The document's key.
        key: DocKey,
        /// What the reader said.
        why: String,
    },
    /// The bytes are a readable document, but not the one that was asked for.
    #[error("expected the document of {feature} in {season}; these bytes are another one", feature = key.feature, season = key.season)]
    OtherDocument {
        /// The document's key.
        key: DocKey,
    },
    /// There is no such observation in the document.
    #[error("no observation `{observation}` in the document of {feature} in {season}", feature = key.feature, season = key.season)]
    UnknownObservation {
        /// The document's key.
        key: DocKey,
        /// The observation that was asked for.
        observation: ObservationKey,
    },
    /// A visit's identifier is not a ULID.
    #[error("expected a ULID as the visit's identifier, got `{got}`")]
    BadVisit {
        /// What came.
        got: String,
    },
    /// A time before 1970, which no visit's identifier can bear.
    #[error("expected a time from 1970-01-01T00:00:00Z on, got {got}; is the clock or the year right?")]
    BadTime {
        /// What came.
        got: jiff::Timestamp,
    },
    /// A name that cannot be a measure's.
    #[error("expected a measure's name (letters, digits, `_`), got `{got}`")]
    BadMeasure {
        /// What came.
        got: String,
    },
    /// The document was opened to be read only.
    #[error("the document of {feature} in {season} has no writer: call `set_writer` first", feature = key.feature, season = key.season)]
    NoWriter {
        /// The document's key.
        key: DocKey,
    },
    /// The merge library refused an operation.
    #[error("the document of {feature} in {season} refused a change: {why}", feature = key.feature, season = key.season)]
    Library {
        /// The document's key.
        key: DocKey,
        /// What the library said.
        why: String,
    },
}
