//! Runs rule packs: WebAssembly components that turn columns of observations into findings.
//!
//! The ideas, in reading order:
//!
//! - A [`Pack`] is a folder or a `.pack` file: a manifest (`pack.toml`), a component (`rule.wasm`), tables, golden
//!   cases, perhaps a signature ([`sign`], [`verify`]).
//! - A [`Host`] loads packs under limits of time, memory and stack. A pack has no clock, files, network or
//!   randomness; what decides its answer is in [`SeasonContext`] and in the observations.
//! - A [`LoadedPack`] evaluates one visit or thirty seasons through the same columns. After any error its instance is
//!   thrown away and the batch counts as *not evaluated*.
//! - [`check`] runs the golden cases that a pack brings along, each of them on a new and on a used instance and with
//!   the fields in another order.
//!
//! ```no_run
//! use ligule_rules::{Host, HostOptions, Pack, builtin_packs};
//!
//! let host = Host::new(HostOptions::default())?;
//! for (name, bytes) in builtin_packs() {
//!     let loaded = host.load(&Pack::from_bytes(name, bytes)?)?;
//!     println!("{}", loaded.pack().manifest().title);
//! }
//! # Ok::<(), ligule_rules::RuleError>(())
//! ```

mod answer;
mod builtin;
mod cache;
mod cases;
mod contract;
mod error;
mod host;
mod manifest;
mod pack;
mod sign;
mod tables;

use std::collections::BTreeMap;

use jiff::civil::Date;

pub use builtin::builtin_packs;
pub use cases::{CaseReport, CaseResult, check};
pub use error::{Misbehaviour, RuleError};
pub use host::{Host, HostOptions, LoadedPack};
pub use manifest::{
    CautionInfo, CitationInfo, Coverage, DerivedNeed, Manifest, Need, NeedResult, PackLimits, SettingInfo,
};
pub use pack::Pack;
pub use sign::{SIGNATURE_FILE, Trust, TrustedKey, sign, verify};

/// What one evaluation is about. "Today" comes in here and nowhere else.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeasonContext {
    /// Year of harvest.
    pub year: i32,
    /// Where the fields lie: ISO 3166-2, `US-IA`.
    pub region: String,
    /// The crop: `corn`, `soybean`.
    pub crop: String,
    /// "Today" for the rule; observations of later days are not shown to it.
    pub as_of: Date,
    /// Particulars of the question, by the keys that the pack's manifest lists.
    pub settings: BTreeMap<String, String>,
}
