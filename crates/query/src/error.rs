//! What can go wrong with a query.

use datafusion::common::SchemaError;
use datafusion::error::DataFusionError;
use ligule_archive::ArchiveError;

/// What can go wrong with a query; each message says what would have been right.
#[derive(Debug, thiserror::Error)]
pub enum QueryError {
    /// A table that is not there.
    #[error("there is no table `{name}`{}; the tables are {}", did_you_mean(.nearest.as_deref()), .known.join(", "))]
    UnknownTable {
        /// What was asked for.
        name: String,
        /// The name that is most like it.
        nearest: Option<String>,
        /// All of them.
        known: Vec<String>,
    },
    /// A column that is not there.
    #[error("there is no column `{name}`{}; the columns are {}", did_you_mean(.nearest.as_deref()), .known.join(", "))]
    UnknownColumn {
        /// What was asked for.
        name: String,
        /// The name that is most like it.
        nearest: Option<String>,
        /// All that the query's tables have.
        known: Vec<String>,
    },
    /// A statement that would change something.
    #[error(
        "a query only reads, and this one would not ({what}): write a SELECT; answers go to a file with the command's own output options"
    )]
    ReadOnly {
        /// What it would do.
        what: String,
    },
    /// A text that is not one SQL query.
    #[error("this is not one SQL query: {reason}")]
    Syntax {
        /// What the parser says.
        reason: String,
    },
    /// A query that is well formed and cannot be planned.
    #[error("this query cannot be planned: {reason}")]
    Plan {
        /// What the planner says.
        reason: String,
    },
    /// A query that failed while it ran.
    #[error("the query failed: {reason}")]
    Run {
        /// What the engine says.
        reason: String,
    },
    /// A column has one type in the archive and another in the kind.
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
    /// The rows that are not archived yet cannot be read.
    #[error("the rows that are not archived yet cannot be read: {source}")]
    Live {
        /// What the journal says.
        source: crate::live::LiveError,
    },
    /// The archive cannot be read.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
    /// An answer could not be written.
    #[error("the answer could not be written as {format}: {reason}")]
    Output {
        /// The format.
        format: &'static str,
        /// What failed.
        reason: String,
    },
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map(|name| format!(" (did you mean `{name}`?)")).unwrap_or_default()
}

/// Returns the name that is most like the one given, if any is like it at all.
pub(crate) fn nearest(name: &str, known: &[String]) -> Option<String> {
    let lower = name.to_lowercase();
    known
        .iter()
        .map(|candidate| (strsim::jaro_winkler(&lower, candidate), candidate))
        .filter(|(likeness, _)| *likeness > 0.75)
        .max_by(|(a, _), (b, _)| a.total_cmp(b))
        .map(|(_, candidate)| candidate.clone())
}

impl QueryError {
    /// Turns an error of planning into one that names what would have been right.
    pub(crate) fn planning(error: &DataFusionError, tables: &[String]) -> Self {
        match error.find_root() {
            DataFusionError::SchemaError(inner, _) => match inner.as_ref() {
                SchemaError::FieldNotFound { field, valid_fields } => {
                    let mut known: Vec<String> = valid_fields.iter().map(|column| column.name.clone()).collect();
                    known.sort();
                    known.dedup();
                    Self::UnknownColumn { nearest: nearest(&field.name, &known), name: field.name.clone(), known }
                }
                other => Self::Plan { reason: other.to_string() },
            },
            DataFusionError::SQL(inner, _) => Self::Syntax { reason: inner.to_string() },
            root => {
                let reason = root.strip_backtrace();
                match missing_table(&reason) {
                    Some(name) => Self::UnknownTable { nearest: nearest(&name, tables), name, known: tables.to_vec() },
                    None => Self::Plan { reason: without_prefix(&reason) },
                }
            }
        }
    }

    /// Turns an error of execution into one that people can read.
    pub(crate) fn running(error: &DataFusionError) -> Self {
        Self::Run { reason: without_prefix(&error.find_root().strip_backtrace()) }
    }
}

/// Returns the name in `table 'datafusion.public.x' not found`.
fn missing_table(message: &str) -> Option<String> {
    let rest = message.split_once("able '")?.1;
    let (name, rest) = rest.split_once('\'')?;
    rest.trim_start().starts_with("not found").then(|| name.rsplit('.').next().unwrap_or(name).to_owned())
}

fn without_prefix(message: &str) -> String {
    message
        .trim_start_matches("Error during planning: ")
        .trim_start_matches("Execution error: ")
        .trim_start_matches("External error: ")
        .to_owned()
}
