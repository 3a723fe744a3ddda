//! What a person may answer instead of a value.

/// A word that steers a visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Word {
    /// Leave out the rest of this kind, without recording it.
    Skip,
    /// Go back to the question before.
    Back,
    /// Another sample of the kind that was just recorded.
    Again,
    /// Record what was answered; the other questions of this kind are left out.
    Done,
    /// The visit is over.
    Finish,
    /// Stop here; the next start goes on.
    Quit,
    /// Tell how the sample is taken and what may be answered.
    Help,
    /// Leave out this question, though a value is offered.
    Leave,
}

/// English and Spanish words, in any case.
const WORDS: [(Word, &[&str]); 8] = [
    (Word::Skip, &["skip", "saltar"]),
    (Word::Back, &["back", "atrás", "atras"]),
    (Word::Again, &["again", "otra", "otro"]),
    (Word::Done, &["done", "listo"]),
    (Word::Finish, &["finish", "terminar"]),
    (Word::Quit, &["quit", "salir"]),
    (Word::Help, &["help", "?", "ayuda"]),
    (Word::Leave, &["-"]),
];

/// Tells which word a line is, if it is one.
pub(super) fn word(line: &str) -> Option<Word> {
    let line = line.to_lowercase();
    WORDS.iter().find(|(_, words)| words.contains(&line.as_str())).map(|(word, _)| *word)
}
