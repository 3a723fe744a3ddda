//! Progress of long jobs: a moving line on a terminal, nothing in a pipe.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};
use ligule_engine::number::counted;
use ligule_engine::{Large, Tell};

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

/// Tells how far large recordings are: of one that another process left unfinished in any case, of the rest on a terminal.
pub(crate) fn of_large_recordings() -> Tell {
    let line: Mutex<Option<Progress>> = Mutex::new(None);
    let observations = |n| counted(n, "observation", "observations");
    Arc::new(move |told| {
        let mut line = line.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        let going_on = match told {
            Large::Waiting => "another process is recording very much; this one waits for it".to_owned(),
            Large::Finishing(n) => {
                *line = None;
                eprintln!("note: a recording of {} was cut short and is being finished", observations(n));
                format!("recording {}", observations(n))
            }
            Large::Lost(n) => {
                *line = None;
                eprintln!(
                    "note: {} of it cannot be read any more, because the journal is damaged: look with `ligule list` which are there, \
                     and record the others again (a sheet that is imported again adds only those)",
                    observations(n)
                );
                return;
            }
            Large::Recorded(recorded, of) if recorded == of => {
                *line = None;
                return;
            }
            Large::Recorded(recorded, of) => format!("recording {}: {recorded} are there", observations(of)),
        };
        match &*line {
            Some(line) => line.say(going_on),
            None => *line = Some(Progress::start(going_on)),
        }
    })
}
