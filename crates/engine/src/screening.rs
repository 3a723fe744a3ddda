//! Changes from other devices are tried out in a process of their own, which may hang, run out of memory or die
//! without harm to the journal.

use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};

use ligule_observation::screen::{ScreenRequest, read_verdict};

use crate::error::{EngineError, Fault, Result};

/// Address space of the process that tries changes out, in bytes. A document of 20,000 observations peaks at a
/// hundredth of it; a deflate bomb does not get far.
const MEMORY: u64 = 2 << 30;
/// Seconds of processor time of that process.
const SECONDS: u64 = 60;
/// Longest verdict that is read, in bytes.
const VERDICT: u64 = 64 << 10;

/// The word that makes the program a child process that tries changes out.
pub const SCREEN: &str = "screen";

/// Reads a request, tries its changes out under limits of memory and time, and writes the verdict: what the child
/// process does.
pub fn screen(input: impl Read, output: impl Write) -> Result<()> {
    limit()?;
    Ok(ligule_observation::screen::screen(input, output)?)
}

/// Limits this process for good.
#[cfg(unix)]
fn limit() -> Result<()> {
    use rlimit::Resource;
    let set = |resource: Resource, most: u64| {
        resource.set(most, most).map_err(|error| {
            EngineError::new(Fault::System, format!("cannot limit the process that tries changes out: {error}"), "")
        })
    };
    set(Resource::AS, MEMORY)?;
    set(Resource::CPU, SECONDS)
}

/// Elsewhere the child process alone is the limit.
#[cfg(not(unix))]
fn limit() -> Result<()> {
    Ok(())
}

/// Lets `program screen` try changes out and returns its verdict.
pub(crate) fn ask(program: &Path, request: &ScreenRequest) -> std::result::Result<(), String> {
    let failed = |error: std::io::Error| format!("the process that tries changes out could not be used: {error}");
    let mut child = Command::new(program)
        .arg(SCREEN)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(failed)?;
    let (Some(mut to), Some(from)) = (child.stdin.take(), child.stdout.take()) else {
        return Err("the process that tries changes out has no pipes".to_owned());
    };
    // The child reads everything before it answers, so that writing first cannot block for ever. If it dies, writing
    // ends with a broken pipe, and the missing verdict says the rest.
    let written = request.write(&mut to).and_then(|()| to.flush());
    drop(to);
    let mut verdict = Vec::new();
    let read = from.take(VERDICT).read_to_end(&mut verdict);
    let status = child.wait().map_err(failed)?;
    read.map_err(failed)?;
    if verdict.is_empty() {
        let why = written.err().map(|error| format!(" ({error})")).unwrap_or_default();
        return Err(format!("the process that tried the changes out ended with {status} and no verdict{why}"));
    }
    read_verdict(&verdict)
}
