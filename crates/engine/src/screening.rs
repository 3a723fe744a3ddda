//! Changes from other devices are tried out in a process of their own, which may hang, run out of memory or die
//! without harm to the journal.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

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

/// Reads requests, tries their changes out under limits of memory and time, and writes the verdicts: what the child
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

/// Lets `program screen` try changes out. One process goes on with the changes of the next document as long as it answers:
/// to start one costs more than most documents do.
#[derive(Default)]
pub(crate) struct Screener {
    program: Option<PathBuf>,
    running: Option<Running>,
}

impl Screener {
    /// Where no program is named, the caller chose to do without a process of its own; the checks are the same.
    pub(crate) fn new(program: Option<PathBuf>) -> Self {
        Self { program, running: None }
    }

    /// Tries changes out and returns the verdict.
    pub(crate) fn ask(&mut self, request: &ScreenRequest) -> std::result::Result<(), String> {
        let Some(program) = &self.program else { return request.run().map(|_| ()) };
        // One that used up its time or memory on other documents says nothing about this one: then a new one decides.
        if let Some(mut running) = self.running.take()
            && let Ok(verdict) = running.ask(request)
        {
            self.running = Some(running);
            return verdict;
        }
        let mut running = Running::start(program)?;
        let verdict = running.ask(request)?;
        self.running = Some(running);
        verdict
    }

    /// Ends the process; the next changes start another.
    pub(crate) fn rest(&mut self) {
        self.running = None;
    }
}

/// A process that tries changes out.
struct Running {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
}

impl Running {
    fn start(program: &Path) -> std::result::Result<Self, String> {
        let mut child = Command::new(program)
            .arg(SCREEN)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(unusable)?;
        let (Some(to), Some(from)) = (child.stdin.take(), child.stdout.take()) else {
            return Err("the process that tries changes out has no pipes".to_owned());
        };
        Ok(Self { child, to, from: BufReader::new(from) })
    }

    /// Returns the verdict, or else why there is none.
    fn ask(&mut self, request: &ScreenRequest) -> std::result::Result<std::result::Result<(), String>, String> {
        // The child reads a whole request before it answers, so that writing first cannot block for ever. If it dies,
        // writing ends with a broken pipe, and the missing verdict says the rest.
        let written = request.write(&mut self.to);
        let mut verdict = Vec::new();
        (&mut self.from).take(VERDICT).read_until(b'\n', &mut verdict).map_err(unusable)?;
        if verdict.ends_with(b"\n") {
            return Ok(read_verdict(&verdict));
        }
        let why = written.err().map(|error| format!(" ({error})")).unwrap_or_default();
        // It has ended, or says what is no verdict.
        let _ = self.child.kill();
        let status = self.child.wait().map_err(unusable)?;
        Err(format!("the process that tried the changes out ended with {status} and no verdict{why}"))
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // It waits for more, or has ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn unusable(error: std::io::Error) -> String {
    format!("the process that tries changes out could not be used: {error}")
}

#[cfg(all(test, unix))]
mod tests {
    use std::os::unix::fs::PermissionsExt;

    use ligule_observation::document::FieldDocument;
    use ligule_observation::ids::{CrewId, DocKey, Feature};
    use ligule_observation::outside::Limits;

    use super::*;

    /// A request that adds nothing to a document.
    fn nothing_new(chunks: Vec<Vec<u8>>) -> ScreenRequest {
        let key = DocKey { crew: CrewId([7; 16]), feature: Feature::Crew, season: 2026 };
        let snapshot = FieldDocument::new(key.clone()).save().expect("it can be saved");
        ScreenRequest { key, snapshot, chunks, limits: Limits::default(), now: crate::now() }
    }

    #[test]
    fn one_process_goes_on_and_one_that_died_is_replaced() {
        let program = std::env::var("LIGULE_PROGRAM").expect("`cargo xtask test` names the program");
        let folder = tempfile::tempdir().expect("a folder");
        let (counting, starts) = (folder.path().join("counting"), folder.path().join("starts"));
        let script = format!("#!/bin/sh\necho >> '{}'\nexec '{program}' \"$@\"\n", starts.display());
        std::fs::write(&counting, script).expect("it can be written");
        std::fs::set_permissions(&counting, PermissionsExt::from_mode(0o700)).expect("it is ours");
        let started = || std::fs::read_to_string(&starts).map_or(0, |lines| lines.lines().count());
        let mut screener = Screener::new(Some(counting.clone()));
        assert_eq!((screener.ask(&nothing_new(Vec::new())), started()), (Ok(()), 1));
        let why = screener.ask(&nothing_new(vec![b"no change".to_vec()])).expect_err("it is none");
        assert!(why.contains("cannot be read"), "{why}");
        assert_eq!((screener.ask(&nothing_new(Vec::new())), started()), (Ok(()), 1));
        screener.running.as_mut().expect("it waits").child.kill().expect("it is ours");
        assert_eq!((screener.ask(&nothing_new(Vec::new())), started()), (Ok(()), 2));
        screener.rest();
        assert_eq!((screener.ask(&nothing_new(Vec::new())), started()), (Ok(()), 3));
        // What no process answers is refused.
        let silent = folder.path().join("silent");
        std::fs::write(&silent, "#!/bin/sh\nexit 3\n").expect("it can be written");
        std::fs::set_permissions(&silent, PermissionsExt::from_mode(0o700)).expect("it is ours");
        let why = Screener::new(Some(silent)).ask(&nothing_new(Vec::new())).expect_err("it says nothing");
        assert!(why.contains("exit status: 3") && why.contains("no verdict"), "{why}");
    }
}
