//! Season archives: what the crew wrote down, as Parquet files that any engine reads.
//!
//! The ideas, in reading order:
//!
//! - A [`table::Table`] is derived from a kind of observation: common columns first, then one column per measure,
//!   each with unit and meaning. What no column can hold goes to the table `other`, so that nothing is lost.
//! - A [`FarmUnit`] is one document (a field or a station in one season) with its heads and records. Units are
//!   hashed into buckets; a file holds one bucket of one season of one table. The files are a pure function of the
//!   units in them: the same heads give the same bytes, and the file's name is the hash of its bytes.
//! - The manifest of each table is a Delta Lake log. All tables of one compaction are staged first; the commit to
//!   the table `snapshot`, which names a version of every other table, is what makes the compaction true. A writer
//!   that dies before it leaves no trace that this program's readers see, and the next compaction puts the tables right.
//! - [`Archive::compact`] adds units, [`Archive::files`] names what is live, [`Archive::inspect`] tells in little
//!   time what is damaged, [`Archive::verify`] checks every byte, [`Archive::repair`] writes anew what is damaged.
//!
//! Time comes in as an argument. Nothing is overwritten, ever.

mod archive;
mod batch;
mod bucket;
mod compact;
mod error;
mod file;
mod geo;
mod inspect;
mod log;
pub mod reference;
mod repair;
pub mod table;
mod unit;
mod verify;

pub use archive::{Archive, LiveFile, SnapshotInfo, TableVersion, UnitState};
pub use batch::{batch_for, batches_of};
pub use compact::{CompactReport, Progress};
pub use error::ArchiveError;
pub use geo::well_known_binary;
pub use inspect::{Damage, Inspection};
pub use unit::{FarmUnit, FieldFacts, Row};
pub use verify::VerifyReport;

// The types that this crate's interface is spoken in, for those who stand on it.
pub use ligule_observation::field::boundary;
pub use ligule_observation::{ids, kind, record};

/// Grows by one when the meaning of an existing file would change; files carry it.
pub const LAYOUT_VERSION: u32 = 1;
