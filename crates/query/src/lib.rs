//! SQL over season archives and over what is not archived yet.
//!
//! The ideas, in reading order:
//!
//! - A [`Session`] shows every kind of observation as a table, whether its rows are in the archive or still only in
//!   the journal ([`LiveRows`]). A document that the journal holds at other heads than the archive is taken from the
//!   journal whole, so no observation is there twice.
//! - `<table>` hides voided observations, `<table>_all` shows them; `field` lists fields by season; `long` has one row
//!   per number, whatever the kind.
//! - Agronomic functions ([`functions`]) are the formulas of `ligule-agronomy`, so that a query and a page agree.
//! - A table of which a file or the log is damaged refuses to answer; it never answers short.
//! - A session only reads. Wrong queries are answered with the names that would have been right ([`QueryError`]).
//! - [`output`] writes answers as text, CSV, JSON, Arrow or Parquet.

mod archived;
mod error;
pub mod functions;
mod half_width;
mod live;
pub mod output;
mod session;
mod tables;

pub use error::QueryError;
pub use live::{LiveError, LiveRows, NoLive};
pub use session::{Answer, Session, SessionOptions};
pub use tables::TableInfo;

/// Arrow as the query engine uses it: answers are made of its types.
pub use datafusion::arrow;
