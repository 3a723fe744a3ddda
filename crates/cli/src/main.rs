//! The program `ligule`: arguments, messages, exit codes. What it does is in `ligule-engine`.

/// Prints a line; where the output was closed the command ends quietly, as with any other failure of a write.
macro_rules! say {
    () => { say!("") };
    ($($words:tt)*) => { std::io::Write::write_fmt(&mut std::io::stdout(), format_args!("{}\n", format_args!($($words)*)))? };
}
/// Prints text as it is, like [`say`].
macro_rules! put {
    ($($words:tt)*) => { std::io::Write::write_fmt(&mut std::io::stdout(), format_args!($($words)*))? };
}

mod args;
mod commands;
mod examples;
mod exit;
mod field_args;
mod listing;
mod photo_args;
mod progress;
mod record_args;
mod refused;
mod spanish;
mod sync_args;
mod visit_args;

use std::ffi::OsString;
use std::io::{self, IsTerminal};
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches};
use ligule_engine::{Engine, EngineError, Fault, Reading};

use crate::args::{Cli, Command, Global};

fn main() -> ExitCode {
    // What `sync` and `bundle read` start to try out changes from other devices; nothing that people type.
    if std::env::args_os().nth(1).is_some_and(|word| word == ligule_engine::SCREEN) {
        return match ligule_engine::screen(io::stdin().lock(), io::stdout().lock()) {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => exit::fail(&error, &Reading::default()),
        };
    }
    let kinds = match kinds_at_hand() {
        Ok(kinds) => kinds,
        Err(error) => return exit::fail(&error, &reading_at_hand()),
    };
    // Only help shows units and words of whoever reads; to look them up costs every other call more than it is worth.
    let words = help_behind_and(std::env::args_os().collect());
    let asked = words.iter().skip(1).any(|word| is_help(word) || word == "help");
    let reading = if asked { reading_at_hand() } else { Reading::default() };
    let mut command = command(&kinds, &reading);
    if asked {
        command = examples::copyable(command);
    }
    let matches = match command.try_get_matches_from(words) {
        Ok(matches) => matches,
        Err(error) => refused::exit(error, &reading_at_hand()),
    };
    let cli = match Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(error) => refused::exit(error, &reading_at_hand()),
    };
    talk(cli.global.verbose);
    let done = match (&cli.command, matches.subcommand()) {
        (Command::Record(lines), Some((_, record))) => commands::record::run(&cli.global, lines, record.subcommand()),
        (Command::Calc, Some((_, calc))) => commands::calc::run(&cli.global, calc.subcommand()),
        (other, _) => commands::run(&cli.global, other),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        // Whoever reads our output has read enough (`ligule list | head`).
        Err(error) if error.is_closed_pipe() => ExitCode::SUCCESS,
        Err(error) => exit::fail(&error, &reading_at_hand()),
    }
}

fn is_help(word: &OsString) -> bool {
    word == "-h" || word == "--help"
}

/// Returns the words of a call; where help is asked for behind `--and`, those that ask for the help of the kind there:
/// what stands behind `--and` is taken apart later.
fn help_behind_and(words: Vec<OsString>) -> Vec<OsString> {
    let and = format!("--{}", record_args::AND);
    let find = |from: usize, what: &dyn Fn(&OsString) -> bool| (from..words.len()).find(|at| what(&words[*at]));
    let asked = find(1, &|word| word == "record").and_then(|record| {
        let help = find(find(record, &|word| *word == *and)?, &is_help)?;
        // The kind of the last of them that names one.
        let begins = |at: &usize| *at == record || words[*at] == *and;
        let named = |at: usize| (at + 1 < help && !words[at + 1].to_string_lossy().starts_with('-')).then_some(at + 1);
        let kind = (record..help).filter(begins).filter_map(named).next_back()?;
        Some((record, kind))
    });
    match asked {
        Some((record, kind)) => [&words[..=record], &[words[kind].clone(), "--help".into()]].concat(),
        None => words,
    }
}

/// Returns the kinds of the journal that the command will open: they decide what `record` accepts, and so must be known
/// before the arguments are read.
fn kinds_at_hand() -> ligule_engine::Result<ligule_engine::kinds::KindSet> {
    match folder_at_hand() {
        Some(folder) => Engine::kinds_of(&folder),
        None => Ok(ligule_engine::kinds::KindSet::builtin()),
    }
}

/// Returns the folder of the journal that the command will open.
fn folder_at_hand() -> Option<std::path::PathBuf> {
    value_at_hand("--journal", "LIGULE_JOURNAL").map(std::path::PathBuf::from).or_else(usual_folder)
}

/// Returns the value of a flag that every command takes, else of its variable in the environment.
fn value_at_hand(flag: &str, variable: &str) -> Option<std::ffi::OsString> {
    let mut words = std::env::args_os().skip(1);
    let mut value = std::env::var_os(variable).filter(|value| !value.is_empty());
    while let Some(word) = words.next() {
        if word == flag {
            value = words.next();
        } else if let Some(given) =
            word.to_str().and_then(|word| word.strip_prefix(flag)).and_then(|rest| rest.strip_prefix('='))
        {
            value = Some(given.into());
        }
    }
    value
}

/// Returns units and language of whoever gave this command, whether or not its arguments can be read.
fn reading_at_hand() -> Reading {
    let told = |flag, variable| value_at_hand(flag, variable).map(|value| value.to_string_lossy().to_lowercase());
    let usual = folder_at_hand().and_then(|folder| Engine::reading_of(&folder).ok()).unwrap_or_default();
    let (units, language) = (told("--unit-system", "LIGULE_UNITS"), told("--language", "LIGULE_LANGUAGE"));
    // What is wrong with either is told when the arguments are read.
    usual.clone().but(units.as_deref(), language.as_deref()).unwrap_or(usual)
}

/// The whole command, with one subcommand of `record` a kind.
fn command(kinds: &ligule_engine::kinds::KindSet, reading: &Reading) -> clap::Command {
    let command = if reading.language == "es" { spanish::everywhere(Cli::command()) } else { Cli::command() };
    command
        .mut_subcommand("record", |record| record_args::with_kinds(record, kinds, reading))
        .mut_subcommand("calc", commands::calc::with_worksheets)
}

/// Sends the libraries' own messages to the error stream, quiet unless asked.
fn talk(verbose: u8) {
    let level = match verbose {
        // Warnings of our own; what libraries have to say is for whoever asks.
        0 => {
            "off,ligule_engine=warn,ligule_journal=warn,ligule_sync=warn,ligule_transport=warn,ligule_archive=warn,\
             ligule_rules=warn"
        }
        1 => "info",
        2 => "debug",
        _ => "trace",
    };
    let filter = tracing_subscriber::EnvFilter::try_from_env("LIGULE_LOG").unwrap_or_else(|_| level.into());
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr)
        .with_ansi(io::stderr().is_terminal())
        .without_time()
        .init();
}

/// Opens this device's journal; a large recording that was cut short is finished first.
fn open(global: &Global) -> ligule_engine::Result<Engine> {
    let (engine, finished) = Engine::open_telling(&journal_folder(global)?, progress::of_large_recordings())?;
    if let Err(error) = finished {
        let hint = error.hint.as_ref().map_or(String::new(), |hint| format!("; {hint}"));
        eprintln!("note: a recording that was cut short is not finished: {error}{hint}");
    }
    let engine = engine.read_in(global.unit_system.as_deref(), global.language.as_deref())?;
    // Changes from other devices are tried out by this very program in a process of its own.
    Ok(match std::env::current_exe() {
        Ok(program) => engine.screened_by(program),
        Err(_) => engine,
    })
}

/// Returns the folder of this device's journal.
fn journal_folder(global: &Global) -> ligule_engine::Result<std::path::PathBuf> {
    if let Some(folder) = &global.journal {
        return Ok(folder.clone());
    }
    usual_folder().ok_or_else(|| {
        EngineError::new(
            Fault::User,
            "there is no home folder to keep the journal in",
            "name one with `--journal FOLDER`",
        )
    })
}

/// Returns where the journal lies unless another place is named: in the user's data folder.
fn usual_folder() -> Option<std::path::PathBuf> {
    let data = std::env::var_os("XDG_DATA_HOME")
        .map(std::path::PathBuf::from)
        .filter(|path| path.is_absolute())
        .or_else(|| std::env::home_dir().map(|home| home.join(".local/share")))?;
    Some(data.join("ligule"))
}
