//! What can go wrong with an archive.

use crate::table::SNAPSHOT;

/// What can go wrong with an archive; each message says what to do next.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveError {
    /// The place given is not one in which this program can keep an archive.
    #[error("`{location}` is not a place for an archive: {reason}; give a folder, such as `farm/archive`")]
    Location {
        /// What was given.
        location: String,
        /// Why it cannot be used.
        reason: String,
    },
    /// There is no archive yet.
    #[error("there is no archive at `{location}`: compact into it first")]
    Missing {
        /// Where it was looked for.
        location: String,
    },
    /// Two kinds, or a kind and a table of the archive's own, ask for one name.
    #[error("kind `{kind}`: {what} `{name}` is already taken by {by}; rename it in the kind's file")]
    NameTaken {
        /// The kind that cannot be archived.
        kind: String,
        /// What is named: a table or a column.
        what: &'static str,
        /// The name.
        name: String,
        /// Who has it.
        by: String,
    },
    /// A column has another type in the archive than this program's kind declares.
    #[error(
        "table `{table}`, column `{column}`: the archive holds {archived}, the kind declares {declared}; \
         a measure's type never changes: give the measure a new name"
    )]
    ColumnChanged {
        /// The table.
        table: String,
        /// The column.
        column: String,
        /// The type in the archive.
        archived: String,
        /// The type that the kind gives.
        declared: String,
    },
    /// Others kept committing; this compaction came too late each time.
    #[error("gave up after {attempts} attempts to commit: others are compacting into this archive too; try again")]
    Busy {
        /// How often it was tried.
        attempts: usize,
    },
    /// A live file, or the log of a table, cannot be read or does not hold what it should.
    #[error("`{path}` is damaged: {reason}; still readable: {}; run `ligule archive verify` to see what else is damaged, then {REPAIR}", readable_beside(.path))]
    Damaged {
        /// The file, or the folder of the log (`planting/_delta_log`), relative to the archive.
        path: String,
        /// What is wrong with it.
        reason: String,
    },
    /// A repair would lose rows that only the damaged place holds.
    #[error(
        "`{path}` cannot be written anew here: of what it may hold, {documents} {} not on this device, or only in an older \
         state; sync with the devices that have more, then run `ligule compact --repair` again; nothing was changed",
        if *documents == 1 { "document is" } else { "documents are" }
    )]
    Unrepairable {
        /// The file or log, relative to the archive.
        path: String,
        /// How many documents are missing.
        documents: usize,
    },
    /// The log of a table cannot be read or written.
    #[error("the log of table `{table}`: {source}")]
    Log {
        /// The table.
        table: String,
        /// What the Delta library says.
        source: Box<deltalake::DeltaTableError>,
    },
    /// The store refused.
    #[error("the archive's store, at `{path}`: {source}")]
    Store {
        /// What was read or written, relative to the archive.
        path: String,
        /// What the store says.
        source: object_store::Error,
    },
    /// Rows do not fit the columns they were made for.
    #[error("rows of table `{table}` could not be laid out: {source}")]
    Arrow {
        /// The table.
        table: String,
        /// What Arrow says.
        source: arrow::error::ArrowError,
    },
    /// A Parquet file could not be written.
    #[error("rows of table `{table}` could not be written: {source}")]
    Parquet {
        /// The table.
        table: String,
        /// What the Parquet library says.
        source: parquet::errors::ParquetError,
    },
}

/// What mends damage.
pub(crate) const REPAIR: &str = "`ligule compact --repair` on a device that holds all of its fields";

/// Returns what can be read although this place is damaged.
pub(crate) fn readable_beside(path: &str) -> String {
    match path.split_once('/') {
        Some((SNAPSHOT, _)) => "the Parquet files of every table, one by one".to_owned(),
        Some((table, file)) if file.starts_with("_delta_log") => {
            format!("every table but `{table}`, whose Parquet files can be read one by one")
        }
        Some((table, _)) => format!("every other file; queries of `{table}` are refused until it is repaired"),
        None => "every other file".to_owned(),
    }
}

impl ArchiveError {
    /// Tells whether there is no archive yet at a place in which there could be one.
    pub fn is_missing(&self) -> bool {
        matches!(self, Self::Missing { .. })
    }

    /// Tells whether what was asked for does not hold: a place that cannot be one, kinds that contradict each other or
    /// the archive. A place that only has no archive yet is not among them; see [`ArchiveError::is_missing`].
    pub fn is_users_fault(&self) -> bool {
        matches!(self, Self::Location { .. } | Self::NameTaken { .. } | Self::ColumnChanged { .. })
    }

    /// Tells whether stored data is damaged, or the store does not let it be read or written.
    pub fn is_damage(&self) -> bool {
        matches!(self, Self::Damaged { .. } | Self::Unrepairable { .. } | Self::Log { .. } | Self::Store { .. })
    }

    pub(crate) fn log(table: &str) -> impl Fn(deltalake::DeltaTableError) -> Self + use<> {
        let table = table.to_owned();
        move |source| Self::Log { table: table.clone(), source: Box::new(source) }
    }

    pub(crate) fn arrow(table: &str) -> impl Fn(arrow::error::ArrowError) -> Self + use<> {
        let table = table.to_owned();
        move |source| Self::Arrow { table: table.clone(), source }
    }

    pub(crate) fn parquet(table: &str) -> impl Fn(parquet::errors::ParquetError) -> Self + use<> {
        let table = table.to_owned();
        move |source| Self::Parquet { table: table.clone(), source }
    }
}
