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
//! - Bytes from another device come in through [`outside::apply_checked`], and before that through
//!   [`screen::screen`] in a process of its own.
//!
//! This crate is pure: time, identity and randomness come in as arguments. Nothing here opens a file, save
//! [`kinds::KindSet::with_folder`], which reads a folder of declarations that it is given.

mod chunk;
pub mod codelist;
pub mod codename;
pub mod conflict;
pub mod document;
pub mod error;
pub mod field;
pub mod going_on;
mod guard;
pub mod history;
pub mod ids;
pub mod kind;
pub mod kinds;
pub mod outside;
pub mod projection;
pub mod record;
pub mod screen;
pub mod settings;
pub mod version;
