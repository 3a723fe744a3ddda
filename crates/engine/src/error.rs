//! What can go wrong in a use case, sorted by who can mend it.

use ligule_journal::JournalError;
use ligule_observation::error::DocumentError;

/// The result of a use case.
pub type Result<T, E = EngineError> = std::result::Result<T, E>;

/// Who can mend a failure; it chooses the program's exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// What the person gave does not hold; nothing was written.
    User,
    /// Stored data is damaged or does not fit.
    Data,
    /// A rule pack failed.
    Pack,
    /// Another device could not be reached, or refused.
    Exchange,
    /// The system or this program failed.
    System,
}

/// A failure of a use case: what happened, and what to do next.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct EngineError {
    /// Who can mend it.
    pub fault: Fault,
    /// What was expected, what came, where.
    pub message: String,
    /// What to do next.
    pub hint: Option<String>,
}

impl EngineError {
    /// Something the person gave does not hold.
    pub fn user(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(Fault::User, message, hint)
    }

    /// A time lies in the future of this device's clock.
    pub fn future(message: impl Into<String>) -> Self {
        Self::user(message, "correct the time; if this device's clock is slow, repeat with `--accept-time`")
    }

    /// Any failure with a hint.
    pub fn new(fault: Fault, message: impl Into<String>, hint: impl Into<String>) -> Self {
        let hint = hint.into();
        Self { fault, message: message.into(), hint: (!hint.is_empty()).then_some(hint) }
    }
}

impl EngineError {
    /// Says which file it is about.
    #[must_use]
    pub fn at(mut self, path: &std::path::Path) -> Self {
        self.message = format!("{}: {}", path.display(), self.message);
        self
    }

    /// Tells whether it only means that whoever read our output has stopped reading.
    pub fn is_closed_pipe(&self) -> bool {
        self.message == CLOSED_PIPE
    }
}

const CLOSED_PIPE: &str = "the output was closed";

impl From<std::io::Error> for EngineError {
    fn from(error: std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            return Self::new(Fault::System, CLOSED_PIPE, "");
        }
        Self::new(Fault::System, error.to_string(), "")
    }
}

impl From<serde_json::Error> for EngineError {
    fn from(error: serde_json::Error) -> Self {
        match error.io_error_kind() {
            Some(kind) => std::io::Error::from(kind).into(),
            None => Self::new(Fault::System, error.to_string(), ""),
        }
    }
}

impl From<JournalError> for EngineError {
    fn from(error: JournalError) -> Self {
        let (fault, hint) = of_journal(&error);
        Self::new(fault, error.to_string(), hint)
    }
}

/// Returns who can mend an error of the journal, and what to do where that is not said.
fn of_journal(error: &JournalError) -> (Fault, &'static str) {
    match error {
        JournalError::NotAJournal { .. } => (Fault::User, "or name another folder with `--journal FOLDER`"),
        JournalError::NoFolder { .. } => (Fault::User, "such as `--journal ~/fields`"),
        JournalError::AlreadyThere { .. } | JournalError::FieldNameTaken { .. } => (Fault::User, ""),
        JournalError::BadPerson { .. } | JournalError::Document(DocumentError::BadTime { .. }) => (Fault::User, ""),
        JournalError::UnknownObservation { .. } => (Fault::User, "`ligule list` shows the observations"),
        JournalError::Unreadable { .. } => (
            Fault::System,
            "let the account that it belongs to read it, or give you a copy made with `ligule backup`; and name that with \
             `--journal FOLDER`",
        ),
        JournalError::Unwritable { .. } => (
            Fault::System,
            "copy the folder to a place that you can write, `cp -r FOLDER NEW`, and name that with `--journal NEW`",
        ),
        JournalError::Io { .. } | JournalError::Busy { .. } | JournalError::NoRoom { .. } => (Fault::System, ""),
        JournalError::Unfinished { why, .. } => of_journal(why),
        _ => (Fault::Data, ""),
    }
}

/// Names the known words beside one that is not, the nearest first where one is near; of very many only near ones.
pub fn known(what: &str, got: &str, words: impl IntoIterator<Item = impl Into<String>>) -> String {
    let words: Vec<String> = words.into_iter().map(Into::into).collect();
    let listed = match listed(got, &words) {
        (few, 0) => few.join(", "),
        (few, more) => format!("{} and {more} more", few.join(", ")),
    };
    match nearest(got, &words) {
        Some(word) => format!("did you mean `{word}`? The {what} are {listed}"),
        None if words.is_empty() => format!("there are no {what} yet"),
        None => format!("the {what} are {listed}"),
    }
}

/// Returns the word that is nearest by its spelling, where one is near, and none other as near.
pub(crate) fn nearest<'w>(got: &str, words: &'w [String]) -> Option<&'w String> {
    let near = || words.iter().map(|word| (likeness(word, got), word)).filter(|(likeness, _)| *likeness > 0.8);
    let best = near().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let as_near = near().any(|(likeness, word)| likeness >= best.0 && word != best.1);
    (!as_near).then_some(best.1)
}

/// How many words are all listed, and of more how many.
const MANY: usize = 60;
const FEW: usize = 8;

/// Returns the words to list beside one that is not among them, and how many others there are: of very many words those
/// that are nearest by their spelling, in their order.
pub(crate) fn listed<'w>(got: &str, words: &'w [String]) -> (Vec<&'w str>, usize) {
    if words.len() <= MANY {
        return (words.iter().map(String::as_str).collect(), 0);
    }
    let mut near: Vec<usize> = (0..words.len()).collect();
    near.sort_by(|a, b| likeness(&words[*b], got).total_cmp(&likeness(&words[*a], got)));
    near.truncate(FEW);
    near.sort_unstable();
    (near.into_iter().map(|at| words[at].as_str()).collect(), words.len() - FEW)
}

fn likeness(word: &str, got: &str) -> f64 {
    strsim::jaro_winkler(&word.to_lowercase(), &got.to_lowercase())
}

#[cfg(test)]
mod tests {
    use super::known;

    #[test]
    fn the_nearest_word_comes_first() {
        assert_eq!(
            known("kinds", "stand-cout", ["note", "stand-count"]),
            "did you mean `stand-count`? The kinds are note, stand-count"
        );
        assert_eq!(known("fields", "x", Vec::<String>::new()), "there are no fields yet");
    }

    #[test]
    fn capitals_make_no_other_word() {
        assert_eq!(
            known("fields", "NORTH-40", ["north-40", "south-12"]),
            "did you mean `north-40`? The fields are north-40, south-12"
        );
    }

    #[test]
    fn of_very_many_words_only_near_ones_are_listed() {
        let words = (0..5000).map(|n| format!("field-{n:04}")).chain(["north-40".to_owned()]);
        let told = known("fields", "nort-40", words);
        assert!(told.starts_with("did you mean `north-40`? The fields are "), "{told}");
        assert!(told.ends_with("north-40 and 4993 more") && told.len() < 200, "{told}");
    }
}
