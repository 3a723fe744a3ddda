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

/// Explains the words.
pub(super) fn explained(language: &str) -> &'static str {
    match language {
        "es" => {
            "Entrar toma lo que está entre corchetes o deja la pregunta sin respuesta; `-` la deja sin respuesta; `listo` anota lo \
             respondido; `saltar` pasa al siguiente tema; `atrás` vuelve; `otra` anota otra muestra; el nombre de un tema lleva a \
             él; `terminar` cierra la visita; `salir` la interrumpe y guarda todo; `=texto` es texto y no una de estas palabras."
        }
        _ => {
            "Enter takes what stands in brackets, or leaves the question out; `-` leaves it out; `done` records what was \
             answered; `skip` goes to the next kind; `back` goes back; `again` takes another sample; the name of a kind goes to \
             it; `finish` ends the visit; `quit` stops and keeps everything; `=text` is text and none of these words."
        }
    }
}
