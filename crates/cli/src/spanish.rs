//! What the help of recording says in Spanish around the words of the kinds: the labels, and the flags of every command.

use clap::{Arg, ArgAction, Command};

use crate::refused::spanish_value;

/// What the flags that every command takes are, by their identifiers.
const EVERYWHERE: [(&str, &str); 6] = [
    ("journal", "Carpeta del diario de este dispositivo [si no se dice: `ligule` en la carpeta de datos del usuario]"),
    ("archive", "Carpeta o dirección del archivo de campañas [si no se dice: `archive` en la carpeta del diario]"),
    ("unit_system", "Unidades en que se dicen las cantidades, `us` o `metric` [si no se dice: las del equipo, o `us`]"),
    ("language", "Idioma de temas, medidas y códigos, `en` o `es` [si no se dice: el del equipo, o `en`]"),
    ("format", "Cómo se escriben los listados: `text`, `csv`, `json` o `ndjson` [si no se dice: `text`]"),
    ("verbose", "Decir más de lo que se hace, por la salida de errores; repetida, más aún"),
];

/// Says the flags that every command takes in Spanish.
pub(crate) fn everywhere(mut command: Command) -> Command {
    for (flag, help) in EVERYWHERE {
        command = command.mut_arg(flag, |arg| {
            let name = arg.get_value_names().and_then(|names| names.first()).map(|name| spanish_value(name).to_owned());
            let arg = arg.help(help).long_help(help).help_heading("En todas");
            match name.filter(|_| arg.get_action().takes_values()) {
                Some(name) => arg.value_name(name).hide_env(true).hide_default_value(true).hide_possible_values(true),
                None => arg,
            }
        });
    }
    command
}

/// Says the labels of the help of a kind in Spanish.
pub(crate) fn labelled(command: Command) -> Command {
    command
        .help_template("{about-with-newline}\nUso: {usage}\n\n{all-args}{after-help}")
        .disable_help_flag(true)
        .disable_version_flag(true)
        .arg(
            Arg::new("help")
                .short('h')
                .long("help")
                .action(ArgAction::Help)
                .help_heading("En todas")
                .help("Mostrar esta ayuda (con `-h`, un resumen)"),
        )
}

#[cfg(test)]
mod tests {
    use ligule_engine::Reading;
    use ligule_engine::kinds::KindSet;

    /// Help of a kind has the same flags in both languages, and no label of the other.
    #[test]
    fn the_help_of_a_kind_is_spanish() {
        let spanish = Reading { language: "es".into(), ..Reading::default() };
        let mut whole = crate::command(&KindSet::builtin(), &spanish);
        whole.build();
        let record = whole.find_subcommand_mut("record").expect("a command");
        for kind in KindSet::builtin().iter().filter(|kind| kind.feature != "weather" && kind.kind != "photo") {
            let help = record.find_subcommand_mut(&kind.kind).expect("a kind").render_long_help().to_string();
            for english in ["Usage", "Options:", "Arguments:", "How:", "Print", "default", "FIELD", "QUANTITY", " the "]
            {
                assert!(!help.contains(english), "{english}: {help}");
            }
            assert!(help.contains("Uso: ligule record") && help.contains("--journal <CARPETA>"), "{help}");
        }
    }
}
