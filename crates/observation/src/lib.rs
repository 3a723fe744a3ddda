//! What a crew writes down, and how it merges.
//!
//! The ideas, in reading order:
//!
//! - A [`kind::Kind`] declares once, as data, what can be observed: its measures with UCUM unit, scale and
//!   range, the words a scout reads, the growth stages at which it is asked for.
//! - A [`record::Record`] is one observation as everybody above this crate sees it: flat, with the values that
//!   hold now.
//! - A document (one per feature and season, see [`ids::DocKey`]) keeps the records and their whole history, and
//!   merges with any other copy of itself in any order.
//!
//! This crate is pure: time, identity and randomness come in as arguments; nothing here opens a file.

pub mod ids;
pub mod kind;
pub mod record;
