//! A folder of its own in which the real program runs.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;

use tempfile::TempDir;

use crate::{filtered, told};

/// A temporary folder in which `ligule` runs as if it were alone on a new machine.
///
/// The program sees no other environment than `PATH`, a home inside the folder, UTC and what [`Place::set`] adds, so
/// that a journal of the person who runs the tests is never touched. The folder goes away with the value.
#[derive(Debug)]
pub struct Place {
    folder: TempDir,
    environment: BTreeMap<String, OsString>,
    said: Mutex<String>,
}

/// What the program answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The exit code; `None` if a signal ended the program.
    pub code: Option<i32>,
    /// What it wrote to stdout.
    pub stdout: String,
    /// What it wrote to stderr.
    pub stderr: String,
}

impl Place {
    /// Makes an empty place.
    ///
    /// # Panics
    ///
    /// Panics where no temporary folder can be made.
    #[must_use]
    #[expect(clippy::new_without_default, reason = "a default value that makes a folder would surprise")]
    pub fn new() -> Self {
        let folder = tempfile::Builder::new().prefix("ligule-test-").tempdir().expect("a temporary folder can be made");
        Self { folder, environment: BTreeMap::new(), said: Mutex::default() }
    }

    /// The folder, as the program prints it.
    #[must_use]
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Adds a variable to the environment of every later call.
    pub fn set(&mut self, variable: &str, value: impl Into<OsString>) -> &mut Self {
        self.environment.insert(variable.to_owned(), value.into());
        self
    }

    /// Returns the program with these arguments, to be started by the caller; it is not part of the transcript.
    ///
    /// # Panics
    ///
    /// Panics with the command to use where `LIGULE_PROGRAM` is not set.
    #[must_use]
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(program());
        command.args(arguments).current_dir(self.folder()).stdin(Stdio::null()).env_clear();
        command.env("PATH", std::env::var_os("PATH").unwrap_or_default());
        command.env("HOME", self.folder().join("home")).env("TMPDIR", self.folder());
        command.env("TZ", "UTC").env("LC_ALL", "C.UTF-8").env("NO_COLOR", "1").env("COLUMNS", "100");
        command.envs(&self.environment);
        command
    }

    /// Runs the program with these arguments to its end, and writes both down in the transcript.
    ///
    /// # Panics
    ///
    /// Panics if the program cannot be started or writes something other than UTF-8.
    pub fn ligule(&self, arguments: &[&str]) -> Answer {
        let output = self.command(arguments).output().unwrap_or_else(|error| panic!("cannot start `ligule`: {error}"));
        let text = |bytes| String::from_utf8(bytes).expect("`ligule` writes UTF-8");
        let answer = Answer { code: output.status.code(), stdout: text(output.stdout), stderr: text(output.stderr) };
        let mut said = self.said.lock().expect("no other thread panicked while it wrote the transcript");
        said.push_str(&entry(arguments, &answer));
        answer
    }

    /// Everything that was typed here and answered, with what differs from run to run taken out.
    ///
    /// A line `$ ligule …` for each call; then stdout; then, where there was any, stderr with each line behind `! `; then
    /// `? 2` where the exit code was not 0.
    ///
    /// # Panics
    ///
    /// Panics if another thread panicked while it wrote the transcript.
    #[must_use]
    pub fn transcript(&self) -> String {
        let said = self.said.lock().expect("no other thread panicked while it wrote the transcript");
        filtered(&said, self.folder())
    }
}

impl Answer {
    /// Returns the answer if the exit code is this one.
    ///
    /// # Panics
    ///
    /// Panics with everything that the program said if it is another.
    #[track_caller]
    pub fn exits(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "exit code; it said\n{}\n{}", self.stdout, self.stderr);
        self
    }
}

/// The program `ligule` that was built with the tests.
fn program() -> PathBuf {
    told("LIGULE_PROGRAM")
}

fn entry(arguments: &[&str], answer: &Answer) -> String {
    let mut text = String::from("$ ligule");
    for argument in arguments {
        text.push(' ');
        text.push_str(&quoted(argument));
    }
    text.push('\n');
    text.push_str(&answer.stdout);
    if !answer.stdout.is_empty() && !answer.stdout.ends_with('\n') {
        text.push('\n');
    }
    for line in answer.stderr.lines() {
        text.push_str("! ");
        text.push_str(line);
        text.push('\n');
    }
    match answer.code {
        Some(0) => {}
        Some(code) => text.push_str(&format!("? {code}\n")),
        None => text.push_str("? ended by a signal\n"),
    }
    text.push('\n');
    text
}

/// The argument as one would type it to a shell.
fn quoted(argument: &str) -> String {
    let plain = |character: char| character.is_ascii_alphanumeric() || "-_./:=@%+,".contains(character);
    if !argument.is_empty() && argument.chars().all(plain) {
        argument.to_owned()
    } else if argument.contains(['"', '$', '`', '\\']) {
        format!("'{}'", argument.replace('\'', r"'\''"))
    } else {
        format!("\"{argument}\"")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_shows_what_was_typed_and_answered() {
        let answer = Answer { code: Some(2), stdout: "a\nb".into(), stderr: "unknown field\nuse one of".into() };
        assert_eq!(
            entry(&["record", "stand-count", "--row", "30 in"], &answer),
            "$ ligule record stand-count --row \"30 in\"\na\nb\n! unknown field\n! use one of\n? 2\n\n"
        );
    }

    #[test]
    fn arguments_are_quoted_where_a_shell_needs_it() {
        assert_eq!(quoted("17ft 5in"), "\"17ft 5in\"");
        assert_eq!(quoted("select \"a\" from 'b'"), r#"'select "a" from '\''b'\'''"#);
        assert_eq!(quoted(""), "\"\"");
        assert_eq!(quoted("--row=76"), "--row=76");
    }
}
