//! What the arguments' parser refuses, said in the language of whoever reads: its own words are English.

use clap::error::{ContextKind, ContextValue, ErrorKind};
use ligule_engine::{Phrase, Reading};

/// Prints a refusal, or the help that was asked for, and ends the program with the parser's own code.
pub(crate) fn exit(mut error: clap::Error, reading: &Reading) -> ! {
    match spanish(&error).filter(|_| reading.language == "es") {
        None => {
            say_what_helps(&mut error);
            error.exit()
        }
        Some(refusal) => {
            eprintln!("error: {}", refusal.what);
            if let Some(hint) = refusal.hint {
                eprintln!("{} {hint}", reading.word(Phrase::LabelHint));
            }
            if let Some(usage) = usage(&error) {
                eprintln!("\n{usage}");
            }
            std::process::exit(error.exit_code())
        }
    }
}

/// Puts in place of the parser's tip that an unknown flag could be meant as a value, which is no help here, where the flags
/// of what is recorded are listed.
fn say_what_helps(error: &mut clap::Error) {
    if error.kind() != ErrorKind::UnknownArgument || !words(error, ContextKind::SuggestedArg).is_empty() {
        return;
    }
    let kind = match error.get(ContextKind::Usage) {
        Some(ContextValue::StyledStr(usage)) => {
            let usage = usage.to_string();
            let mut words = usage.split_whitespace().skip_while(|word| *word != "record").skip(1);
            words.next().filter(|word| !word.starts_with(['[', '<', '-'])).map(str::to_owned)
        }
        _ => None,
    };
    let tip = kind.map_or(ContextValue::None, |kind| {
        ContextValue::StyledStrs(vec![format!("`ligule kind {kind}` lists what it takes").into()])
    });
    error.insert(ContextKind::Suggested, tip);
}

/// Returns what a refusal says, on one line, without the usage.
pub(crate) fn on_one_line(error: &clap::Error, reading: &Reading) -> String {
    match spanish(error).filter(|_| reading.language == "es") {
        Some(Refusal { what, hint: None }) => what,
        Some(Refusal { what, hint: Some(hint) }) => format!("{what}; {hint}"),
        None => {
            let message = error.to_string();
            let said = message.lines().take_while(|line| !line.starts_with("Usage:")).map(str::trim);
            // That a flag could be meant as a value is no help here.
            let said = said.filter(|line| !line.is_empty() && !line.starts_with("tip: to pass"));
            let said: Vec<String> = said.map(|line| line.replace("tip: ", "; ")).collect();
            said.join(" ").replace(" ; ", "; ").trim_start_matches("error: ").to_owned()
        }
    }
}

/// What is wrong, and what to do.
struct Refusal {
    what: String,
    hint: Option<String>,
}

/// Says it in Spanish; nothing of help and version, which are no refusals, and of what has no words here.
fn spanish(error: &clap::Error) -> Option<Refusal> {
    let given = |kind| words(error, kind).into_iter().next().unwrap_or_default();
    let flag = named(&given(ContextKind::InvalidArg));
    let near = |kind| match words(error, kind).as_slice() {
        [] => None,
        near => Some(format!("¿quiso decir {}?", listed(near))),
    };
    let (what, hint) = match error.kind() {
        ErrorKind::UnknownArgument if flag.starts_with('-') => {
            (format!("no hay opción `{flag}` aquí"), near(ContextKind::SuggestedArg))
        }
        ErrorKind::UnknownArgument => {
            let hint = near(ContextKind::SuggestedSubcommand).or_else(|| near(ContextKind::SuggestedArg));
            (format!("sobra `{flag}`"), hint.or_else(|| Some("ponga entre comillas lo que tenga espacios".to_owned())))
        }
        ErrorKind::InvalidSubcommand => {
            let word = given(ContextKind::InvalidSubcommand);
            (format!("no se conoce `{word}` aquí"), near(ContextKind::SuggestedSubcommand))
        }
        ErrorKind::MissingRequiredArgument => {
            let missing: Vec<String> =
                words(error, ContextKind::InvalidArg).iter().map(|word| in_spanish(word)).collect();
            (format!("falta {}", listed(&missing)), None)
        }
        ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            let there = words(error, ContextKind::ValidSubcommand);
            if there.is_empty() {
                return None;
            }
            ("falta decir qué hacer".to_owned(), Some(format!("hay {}", listed(&there))))
        }
        ErrorKind::InvalidValue | ErrorKind::ValueValidation => {
            let value = given(ContextKind::InvalidValue);
            let may = words(error, ContextKind::ValidValue);
            let may = match near(ContextKind::SuggestedValue) {
                Some(near) => Some(near),
                None if may.is_empty() => Some("`--help` dice qué se espera".to_owned()),
                None => Some(format!("puede ser {}", listed(&may))),
            };
            let what = if value.is_empty() {
                format!("`{flag}` no tiene valor")
            } else {
                format!("`{value}` no vale para `{flag}`")
            };
            (what, may)
        }
        ErrorKind::ArgumentConflict => match words(error, ContextKind::PriorArg).as_slice() {
            [] => (format!("`{flag}` no va con lo demás"), None),
            [other] if named(other) == flag => (format!("`{flag}` se dio dos veces"), None),
            others => {
                let others: Vec<String> = others.iter().map(|other| named(other)).collect();
                (format!("`{flag}` no va con {}", listed(&others)), None)
            }
        },
        ErrorKind::TooManyValues | ErrorKind::TooFewValues | ErrorKind::WrongNumberOfValues => {
            (format!("`{flag}` no lleva esa cantidad de valores"), Some("`--help` dice qué se espera".to_owned()))
        }
        ErrorKind::NoEquals => (format!("`{flag}` lleva su valor detrás de `=`"), None),
        ErrorKind::InvalidUtf8 => ("se esperaba texto en UTF-8".to_owned(), None),
        _ => return None,
    };
    Some(Refusal { what, hint })
}

/// Returns what the error has under a name.
fn words(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    match error.get(kind) {
        Some(ContextValue::String(word)) => vec![word.clone()],
        Some(ContextValue::Strings(words)) => words.clone(),
        _ => Vec::new(),
    }
}

/// Returns a flag without the name of its value, a positional argument as Spanish calls it.
fn named(argument: &str) -> String {
    let bare = argument.split_once([' ', '=']).filter(|(flag, _)| flag.starts_with('-')).map(|(flag, _)| flag);
    in_spanish(bare.unwrap_or(argument))
}

/// Lists words, each as it is typed.
fn listed(words: &[String]) -> String {
    words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ")
}

/// Returns how the command is used.
fn usage(error: &clap::Error) -> Option<String> {
    let Some(ContextValue::StyledStr(usage)) = error.get(ContextKind::Usage) else { return None };
    Some(
        in_spanish(&usage.to_string())
            .replacen("Usage:", "Uso:", 1)
            .replace("\n       ", "\n     ")
            .trim_end()
            .to_owned(),
    )
}

/// What values are called in a usage, with what Spanish calls them. Those that are not here are alike in both.
const VALUES: [(&str, &str); 28] = [
    ("CODE", "CÓDIGO"),
    ("COMMAND", "ORDEN"),
    ("CROP", "CULTIVO"),
    ("DAY", "DÍA"),
    ("FIELD", "LOTE"),
    ("FILE", "ARCHIVO"),
    ("FOLDER", "CARPETA"),
    ("INTO", "DESTINO"),
    ("INVITATION", "INVITACIÓN"),
    ("KIND", "TEMA"),
    ("KINDS", "TEMAS"),
    ("LANGUAGE", "IDIOMA"),
    ("MEASURE", "MEDIDA"),
    ("NAME", "NOMBRE"),
    ("NUMBER", "NÚMERO"),
    ("NUMBERS", "NÚMEROS"),
    ("OBSERVATION", "OBSERVACIÓN"),
    ("OPTIONS", "OPCIONES"),
    ("PLACE", "LUGAR"),
    ("QUANTITY", "CANTIDAD"),
    ("REASON", "MOTIVO"),
    ("STAGE", "ETAPA"),
    ("SYSTEM", "SISTEMA"),
    ("TEXT", "TEXTO"),
    ("TIME", "HORA"),
    ("VALUE", "VALOR"),
    ("VISIT", "VISITA"),
    ("YYYY-MM-DD", "AAAA-MM-DD"),
];

/// Returns what Spanish calls a value.
pub(crate) fn spanish_value(name: &str) -> &str {
    VALUES.iter().find(|(english, _)| *english == name).map_or(name, |(_, spanish)| spanish)
}

/// Puts Spanish names into a usage where values stand: between `<` and `>`, `[` and `]`.
fn in_spanish(usage: &str) -> String {
    let mut out = String::with_capacity(usage.len());
    let mut rest = usage;
    while let Some(at) = rest.find(['<', '[']) {
        let (before, from) = rest.split_at(at + 1);
        out.push_str(before);
        let end = from.find(['>', ']']).unwrap_or(from.len());
        let (name, behind) = from.split_at(end);
        out.push_str(spanish_value(name));
        rest = behind;
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use clap::{Arg, Command};

    use super::*;

    fn refused(line: &str) -> String {
        let command = Command::new("ligule").subcommand(
            Command::new("record")
                .arg(Arg::new("field").value_name("FIELD").required(true))
                .arg(Arg::new("plants").long("plants").value_name("NUMBER").required(true))
                .arg(Arg::new("by").long("by").conflicts_with("near"))
                .arg(Arg::new("near").long("near"))
                .arg(Arg::new("crop").long("crop").value_parser(["corn", "soybean"])),
        );
        let error = command.try_get_matches_from(line.split_whitespace()).expect_err(line);
        let spanish = Reading { language: "es".into(), ..Reading::default() };
        format!("{} | {}", on_one_line(&error, &spanish), usage(&error).unwrap_or_default().replace('\n', " "))
    }

    #[test]
    fn refusals_are_spanish_and_name_what_was_typed() {
        for (line, said) in [
            ("ligule record f --plants 1 --plant 2", "no hay opción `--plant` aquí; ¿quiso decir `--plants`?"),
            ("ligule record f --plants 1 g", "sobra `g`"),
            ("ligule recrod", "no se conoce `recrod` aquí; ¿quiso decir `record`?"),
            ("ligule record f", "falta `--plants <NÚMERO>`"),
            ("ligule record --plants 1", "falta `<LOTE>`"),
            ("ligule record f --plants", "`--plants` no tiene valor"),
            ("ligule record f --plants 1 --crop oats", "`oats` no vale para `--crop`; puede ser `corn`, `soybean`"),
            ("ligule record f --plants 1 --by a --near b", "`--by` no va con `--near`"),
            ("ligule record f --plants 1 --by a --by b", "`--by` se dio dos veces"),
        ] {
            let told = refused(line);
            assert!(told.starts_with(said), "{line}: {told}");
            let english = ["unexpected", "required", "error", "argument", "Usage", "FIELD", "NUMBER", "possible"];
            assert!(english.iter().all(|word| !told.contains(word)), "{line}: {told}");
        }
    }
}
