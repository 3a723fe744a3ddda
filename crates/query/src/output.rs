//! Answers written out.

use std::io::Write;
use std::str::FromStr;
use std::sync::Arc;

use datafusion::arrow::array::RecordBatch;
use datafusion::arrow::csv::WriterBuilder;
use datafusion::arrow::ipc::writer::StreamWriter;
use datafusion::arrow::json::{ArrayWriter, LineDelimitedWriter};
use datafusion::arrow::util::pretty::pretty_format_batches_with_schema;
use datafusion::parquet::arrow::ArrowWriter;

use crate::{Answer, QueryError};

/// How an answer is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// A table for people.
    Table,
    /// Comma-separated values with a line of names; null is empty.
    Csv,
    /// One JSON array of objects; nulls are written.
    Json,
    /// One JSON object per line; nulls are written.
    NdJson,
    /// Arrow IPC as a stream.
    Arrow,
    /// One Parquet file.
    Parquet,
}

impl Format {
    /// All formats.
    pub const ALL: [Self; 6] = [Self::Table, Self::Csv, Self::Json, Self::NdJson, Self::Arrow, Self::Parquet];

    /// Returns the name that people write.
    pub fn name(self) -> &'static str {
        match self {
            Self::Table => "table",
            Self::Csv => "csv",
            Self::Json => "json",
            Self::NdJson => "ndjson",
            Self::Arrow => "arrow",
            Self::Parquet => "parquet",
        }
    }
}

impl FromStr for Format {
    type Err = UnknownFormat;

    fn from_str(text: &str) -> Result<Self, UnknownFormat> {
        Self::ALL.into_iter().find(|format| format.name() == text).ok_or_else(|| UnknownFormat { got: text.to_owned() })
    }
}

/// A format that is none.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no format `{got}`: write `table`, `csv`, `json`, `ndjson`, `arrow` or `parquet`")]
pub struct UnknownFormat {
    /// What was given.
    pub got: String,
}

/// A writer that remembers whether its reader went away: the formats' own errors keep no more than a text of it.
struct Watched<W> {
    to: W,
    closed: bool,
}

impl<W: Write> Watched<W> {
    fn watch<T>(&mut self, result: std::io::Result<T>) -> std::io::Result<T> {
        self.closed |= result.as_ref().is_err_and(|e| e.kind() == std::io::ErrorKind::BrokenPipe);
        result
    }
}

impl<W: Write> Write for Watched<W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let written = self.to.write(bytes);
        self.watch(written)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        let flushed = self.to.flush();
        self.watch(flushed)
    }
}

/// Writes an answer, and flushes it.
///
/// # Errors
/// [`QueryError::Output`] where the writer refuses, or where the format cannot hold a column's type;
/// [`QueryError::ClosedPipe`] where whoever reads has stopped.
pub fn write(answer: &Answer, format: Format, to: impl Write + Send) -> Result<(), QueryError> {
    let mut to = Watched { to, closed: false };
    let written = write_as(answer, format, &mut to)
        .and_then(|()| to.flush().map_err(|e| QueryError::Output { format: format.name(), reason: e.to_string() }));
    if to.closed { Err(QueryError::ClosedPipe) } else { written }
}

fn write_as(answer: &Answer, format: Format, mut to: impl Write + Send) -> Result<(), QueryError> {
    let fail = |reason: String| QueryError::Output { format: format.name(), reason };
    let arrow = |e: datafusion::arrow::error::ArrowError| fail(e.to_string());
    let batches: Vec<&RecordBatch> = answer.batches.iter().collect();
    match format {
        Format::Table => {
            let schema = Arc::clone(&answer.schema);
            let table = pretty_format_batches_with_schema(schema, &answer.batches).map_err(arrow)?;
            writeln!(to, "{table}").map_err(|e| fail(e.to_string()))
        }
        Format::Csv => {
            let mut writer = WriterBuilder::new().with_header(true).build(&mut to);
            if answer.rows() == 0 {
                return writer.write(&RecordBatch::new_empty(Arc::clone(&answer.schema))).map_err(arrow);
            }
            batches.iter().try_for_each(|batch| writer.write(batch)).map_err(arrow)
        }
        Format::Json => {
            let builder = datafusion::arrow::json::WriterBuilder::new().with_explicit_nulls(true);
            let mut writer: ArrayWriter<_> = builder.build(&mut to);
            writer.write_batches(&batches).map_err(arrow)?;
            writer.finish().map_err(arrow)?;
            writeln!(writer.into_inner()).map_err(|e| fail(e.to_string()))
        }
        Format::NdJson => {
            let builder = datafusion::arrow::json::WriterBuilder::new().with_explicit_nulls(true);
            let mut writer: LineDelimitedWriter<_> = builder.build(&mut to);
            writer.write_batches(&batches).map_err(arrow)?;
            writer.finish().map_err(arrow)
        }
        Format::Arrow => {
            let mut writer = StreamWriter::try_new(&mut to, &answer.schema).map_err(arrow)?;
            batches.iter().try_for_each(|batch| writer.write(batch)).map_err(arrow)?;
            writer.finish().map_err(arrow)
        }
        Format::Parquet => {
            let parquet = |e: datafusion::parquet::errors::ParquetError| fail(e.to_string());
            let mut writer = ArrowWriter::try_new(&mut to, Arc::clone(&answer.schema), None).map_err(parquet)?;
            batches.iter().try_for_each(|batch| writer.write(batch)).map_err(parquet)?;
            writer.close().map(|_| ()).map_err(parquet)
        }
    }
}
