//! Steps with a heading and a time, and the commands inside them.

use std::io::Write;
use std::process::Command;
use std::time::{Duration, Instant};

use anyhow::{Context, Error, Result, bail};

/// Why a chore stopped, and the exit code that says so.
pub(crate) struct Stop {
    /// What a person reads.
    pub(crate) reason: Error,
    /// 1: a check or a test failed. 2: the machine lacks something that a person has to install.
    pub(crate) exit_code: u8,
}

impl From<Error> for Stop {
    fn from(reason: Error) -> Self {
        Self { reason, exit_code: 1 }
    }
}

/// Prints a heading, does the work, prints the time that it took.
pub(crate) fn step(heading: &str, work: impl FnOnce() -> Result<()>) -> Result<()> {
    let start = Instant::now();
    headline(heading);
    work().with_context(|| format!("step `{heading}` failed after {}", seconds(start.elapsed())))?;
    println!("   {}", seconds(start.elapsed()));
    Ok(())
}

/// Prints a heading alone.
pub(crate) fn headline(heading: &str) {
    say(&format!("== {heading}"));
}

/// Prints a line before a command writes more.
pub(crate) fn say(line: &str) {
    println!("{line}");
    // A pipe is block-buffered, and the commands below write to it directly.
    let _ = std::io::stdout().flush();
}

/// A time as people read it: `3.2 s`, `4 min 10 s`.
pub(crate) fn seconds(time: Duration) -> String {
    let whole = time.as_secs();
    if whole < 60 { format!("{:.1} s", time.as_secs_f64()) } else { format!("{} min {:02} s", whole / 60, whole % 60) }
}

/// Runs a command with the caller's output and fails when it fails, naming the line to type to repeat it.
pub(crate) fn command(command: &mut Command) -> Result<()> {
    let status = command.status().with_context(|| format!("cannot start `{}`", line(command)))?;
    if !status.success() {
        bail!("`{}` ended with {status}; what it said stands above", line(command));
    }
    Ok(())
}

/// Runs a command and returns what it wrote to stdout; stderr goes through.
pub(crate) fn output(command: &mut Command) -> Result<String> {
    let output = command
        .stderr(std::process::Stdio::inherit())
        .output()
        .with_context(|| format!("cannot start `{}`", line(command)))?;
    if !output.status.success() {
        bail!("`{}` ended with {}; what it said stands above", line(command), output.status);
    }
    String::from_utf8(output.stdout).with_context(|| format!("`{}` wrote something other than UTF-8", line(command)))
}

/// Tells whether a program can be started and succeeds; says nothing.
pub(crate) fn works(program: &str, arguments: &[&str]) -> bool {
    Command::new(program).args(arguments).output().is_ok_and(|output| output.status.success())
}

fn line(command: &Command) -> String {
    let program = std::path::Path::new(command.get_program());
    let name = program.file_name().unwrap_or(command.get_program()).to_string_lossy().into_owned();
    let arguments = command.get_args().map(|argument| argument.to_string_lossy().into_owned());
    std::iter::once(name).chain(arguments).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failing_command_is_named_as_one_would_type_it() {
        let error = command(Command::new("/bin/sh").args(["-c", "exit 3"])).unwrap_err();
        assert!(error.to_string().starts_with("`sh -c exit 3` ended with exit status: 3"), "{error}");
    }

    #[test]
    fn times_are_readable() {
        assert_eq!(seconds(Duration::from_millis(3_240)), "3.2 s");
        assert_eq!(seconds(Duration::from_secs(250)), "4 min 10 s");
    }
}
