//! What can go wrong with a query.

use datafusion::arrow::error::ArrowError;
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
        "a query only reads, and this one would not ({what}): write a SELECT; to keep an answer, redirect the output: `--format csv … > answer.csv`"
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
    /// A function that is not there.
    #[error("there is no function `{name}`{}", did_you_mean(.nearest.as_deref()))]
    UnknownFunction {
        /// What was asked for.
        name: String,
        /// The name that is most like it.
        nearest: Option<String>,
    },
    /// A function that is given what it does not take.
    #[error("`{function}` does not take ({got}); it takes {takes}")]
    Arguments {
        /// The function.
        function: String,
        /// The types that it is given.
        got: String,
        /// What it takes.
        takes: String,
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
    /// Whoever read the answer has stopped reading.
    #[error("the output was closed")]
    ClosedPipe,
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
    /// Tells whether the archive is damaged or cannot be read; then the query itself may be right.
    pub fn is_damage(&self) -> bool {
        matches!(self, Self::Archive(error) if error.is_damage())
    }

    /// Tells whether the answer went nowhere because whoever read it has stopped reading.
    pub fn closed_pipe(&self) -> bool {
        matches!(self, Self::ClosedPipe)
    }

    /// Turns an error of planning into one that names what would have been right.
    pub(crate) fn planning(error: &DataFusionError, tables: &[String]) -> Self {
        if let Some(damage) = damage(error) {
            return damage.into();
        }
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
            DataFusionError::SQL(inner, _) => {
                Self::Syntax { reason: inner.to_string().trim_start_matches("sql parser error: ").to_owned() }
            }
            root => {
                let reason = root.strip_backtrace();
                if reason.contains("only supports a single SQL statement") {
                    return Self::Syntax { reason: "it holds several statements; ask them one at a time".to_owned() };
                }
                if reason.contains("No SQL statements were provided") {
                    return Self::Syntax { reason: "it is empty; write a SELECT".to_owned() };
                }
                if let Some(name) = missing_table(&reason) {
                    return Self::UnknownTable { nearest: nearest(&name, tables), name, known: tables.to_vec() };
                }
                unknown_function(&reason)
                    .or_else(|| arguments(&reason))
                    .or_else(|| comparison(&reason))
                    .unwrap_or_else(|| Self::Plan { reason: without_prefix(&reason) })
            }
        }
    }

    /// Turns an error of execution into one that people can read.
    pub(crate) fn running(error: &DataFusionError) -> Self {
        match damage(error) {
            Some(damage) => damage.into(),
            None => Self::Run { reason: without_prefix(&error.find_root().strip_backtrace()) },
        }
    }
}

/// Tells whether the query is at fault, although the engine noticed only while it ran.
pub(crate) fn is_of_planning(error: &DataFusionError) -> bool {
    matches!(error.find_root(), DataFusionError::Plan(_) | DataFusionError::SchemaError(..))
}

/// Tells whether a file that cannot be read may be behind an error. Sums that cannot be done are the query's own.
pub(crate) fn may_be_damage(error: &DataFusionError) -> bool {
    match error.find_root() {
        DataFusionError::ArrowError(inner, _) => !matches!(
            inner.as_ref(),
            ArrowError::CastError(_)
                | ArrowError::ComputeError(_)
                | ArrowError::DivideByZero
                | ArrowError::ArithmeticOverflow(_)
        ),
        DataFusionError::Execution(_)
        | DataFusionError::ResourcesExhausted(_)
        | DataFusionError::NotImplemented(_)
        | DataFusionError::Configuration(_) => false,
        _ => true,
    }
}

/// Returns the damage that a table told while it was read.
fn damage(error: &DataFusionError) -> Option<ArchiveError> {
    let mut cause: Option<&dyn std::error::Error> = Some(error);
    while let Some(error) = cause {
        if let Some(ArchiveError::Damaged { path, reason }) = error.downcast_ref() {
            return Some(ArchiveError::Damaged { path: path.clone(), reason: reason.clone() });
        }
        cause = error.source();
    }
    None
}

/// Returns the names in `Invalid function 'x'. Did you mean 'y'?`.
fn unknown_function(message: &str) -> Option<QueryError> {
    let (name, rest) = message.split_once("Invalid function '")?.1.split_once('\'')?;
    let nearest = rest.split_once("Did you mean '").and_then(|(_, rest)| rest.split_once('\''));
    Some(QueryError::UnknownFunction { name: name.to_owned(), nearest: nearest.map(|(name, _)| name.to_owned()) })
}

/// Reads `Cannot infer common argument type for comparison operation Float64 > Date32`.
fn comparison(message: &str) -> Option<QueryError> {
    let operation = message.split_once("Cannot infer common argument type for comparison operation ")?.1;
    let mut parts = operation.lines().next()?.splitn(3, ' ');
    let (left, sign, right) = (parts.next()?, parts.next()?, parts.next()?);
    let reason = format!("`{sign}` cannot compare a {} with a {}", in_words(left), in_words(right));
    Some(QueryError::Plan { reason })
}

/// Reads the engine's list of candidates, which names types as it knows them, into one line.
fn arguments(message: &str) -> Option<QueryError> {
    let call = message.split_once("given name and argument types '")?.1;
    let (call, rest) = call.split_once("'.")?;
    let (function, types) = call.strip_suffix(')')?.split_once('(')?;
    let candidates = rest.split_once("Candidate functions:").map_or("", |(_, candidates)| candidates);
    let mut takes: Vec<String> = Vec::new();
    for line in candidates.lines() {
        let types = line.trim().strip_prefix(function).and_then(|rest| rest.strip_prefix('(')?.strip_suffix(')'));
        let words = types.map(|types| format!("({})", in_words(types)));
        takes.extend(words.filter(|words| !takes.contains(words)));
    }
    let takes = match crate::functions::usage(function) {
        Some(usage) => usage.to_owned(),
        None => takes.join(" or "),
    };
    Some(QueryError::Arguments { function: function.to_owned(), got: in_words(types), takes })
}

/// Writes a list of types as people say them.
fn in_words(types: &str) -> String {
    let word = |name: &str| {
        match name.trim() {
            number if ["Int", "UInt", "Float", "Decimal"].iter().any(|start| number.starts_with(start)) => "number",
            "Utf8" | "Utf8View" | "LargeUtf8" | "String" => "text",
            "Boolean" => "true or false",
            "Date32" | "Date64" => "day",
            time if time.starts_with("Timestamp") => "time",
            span if span.starts_with("Duration") || span.starts_with("Interval") => "length of time",
            other => other,
        }
        .to_owned()
    };
    let mut words = Vec::new();
    let (mut depth, mut start) = (0, 0);
    for (at, letter) in types.char_indices() {
        match letter {
            '(' | '[' | '{' | '<' => depth += 1,
            ')' | ']' | '}' | '>' => depth -= 1,
            ',' if depth == 0 => {
                words.push(word(&types[start..at]));
                start = at + 1;
            }
            _ => {}
        }
    }
    if !types.is_empty() {
        words.push(word(&types[start..]));
    }
    words.join(", ")
}

/// Returns the name in `table 'datafusion.public.x' not found`.
fn missing_table(message: &str) -> Option<String> {
    let rest = message.split_once("able '")?.1;
    let (name, rest) = rest.split_once('\'')?;
    rest.trim_start().starts_with("not found").then(|| name.rsplit('.').next().unwrap_or(name).to_owned())
}

fn without_prefix(message: &str) -> String {
    let line = message.lines().map(str::trim).collect::<Vec<_>>().join(" ");
    ["Error during planning: ", "Execution error: ", "External error: ", "This feature is not implemented: "]
        .iter()
        .fold(line.as_str(), |line, prefix| line.trim_start_matches(prefix))
        .to_owned()
}
