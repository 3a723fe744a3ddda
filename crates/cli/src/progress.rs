//! Progress of long jobs: a moving line on a terminal, nothing in a pipe.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Shows that `what` is going on until it is dropped.
pub(crate) struct Progress(ProgressBar);

impl Progress {
    pub(crate) fn start(what: impl Into<String>) -> Self {
        // indicatif draws on the error stream, and not at all where that is no terminal.
        let bar = ProgressBar::new_spinner().with_message(what.into());
        bar.set_style(
            ProgressStyle::with_template("{spinner} {msg} {elapsed}")
                .unwrap_or_else(|_| ProgressStyle::default_spinner()),
        );
        bar.enable_steady_tick(Duration::from_millis(120));
        Self(bar)
    }

    /// Tells how far it is.
    pub(crate) fn say(&self, what: impl Into<String>) {
        self.0.set_message(what.into());
    }

    /// Takes the line away, though somebody may still have something to say.
    pub(crate) fn end(&self) {
        self.0.finish_and_clear();
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.end();
    }
}
