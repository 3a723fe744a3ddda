//! Rows that are not in the archive yet.

use std::collections::BTreeMap;

use ligule_archive::ids::DocId;
use ligule_archive::{FarmUnit, UnitState};

/// A source of farm units that may be newer than the archive: the journal of this device.
pub trait LiveRows: Send + Sync {
    /// Returns whole every unit that holds more than the archive does: those it lacks, and those whose heads differ
    /// and contain the archived ones. A unit that is only behind the archive is left out.
    ///
    /// # Errors
    /// The reason for which the source cannot be read, as people should read it.
    fn newer_than(&self, archived: &BTreeMap<DocId, UnitState>) -> Result<Vec<FarmUnit>, LiveError>;
}

/// Why a source of live rows could not be read.
pub type LiveError = Box<dyn std::error::Error + Send + Sync>;

/// A source without rows.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoLive;

impl LiveRows for NoLive {
    fn newer_than(&self, _: &BTreeMap<DocId, UnitState>) -> Result<Vec<FarmUnit>, LiveError> {
        Ok(Vec::new())
    }
}
