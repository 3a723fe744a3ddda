//! What can go wrong while a page is made.

/// Why there is no page.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// The page has no words in that language.
    #[error("expected a language the report is written in ({known}), got `{got}`")]
    UnknownLanguage {
        /// What came.
        got: String,
        /// The languages there are.
        known: String,
    },
    /// A plot could not be drawn.
    #[error("the plot `{plot}` could not be drawn: {problem}")]
    Plot {
        /// Which one.
        plot: &'static str,
        /// What the drawing library said.
        problem: String,
    },
    /// The page could not be written from its template.
    #[error("the page could not be written: {0}")]
    Template(#[from] askama::Error),
}
