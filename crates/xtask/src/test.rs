//! The tests: built once, run from the smallest to the whole system.

use std::collections::BTreeSet;
use std::io::{BufReader, IsTerminal};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Instant;

use anyhow::{Context, Result, anyhow, bail};
use cargo_metadata::{Message, TargetKind};

use crate::lint;
use crate::run::{self, Stop, step};
use crate::setup::{self, Machine};
use crate::workspace::{self, Workspace};

/// The test program that drives the whole system; it runs last.
const WHOLE_SYSTEM: &str = "system";

/// Packages whose results must not depend on where the machine thinks it is.
const CLOCKED: &[&str] = &["ligule-observation", "ligule-journal", "ligule-engine"];

/// What the random draws of property tests begin with in the suite, so that a change is judged by what it changed;
/// `cargo xtask soak laws` draws anew each time.
const DRAWS: u64 = 1;

/// The variable by which the property tests' library is told what to begin with.
const DRAWS_VARIABLE: &str = "PROPTEST_RNG_SEED";

/// Zones west and east of the one that a build server has; the second has its summer when the first has winter.
const ZONES: &[&str] = &["America/Chicago", "Pacific/Auckland"];

/// Runs everything, or with arguments for `cargo test` those tests alone.
pub(crate) fn run(workspace: &Workspace, cargo_test: &[String]) -> Result<(), Stop> {
    let start = Instant::now();
    let machine = setup::prepare(workspace)?;
    if !cargo_test.is_empty() {
        return Ok(chosen(workspace, &machine, cargo_test)?);
    }
    lint::run(workspace, &[])?;
    let mut built = Built::default();
    step("build of programs and tests", || {
        built = build(workspace)?;
        Ok(())
    })?;
    step("examples in the documentation", || {
        run::command(test(workspace, &machine, &built).args(["--workspace", "--doc"]))
    })?;
    let (system, others): (Vec<_>, Vec<_>) = built.tests.iter().partition(|test| test.target == WHOLE_SYSTEM);
    step("tests of the crates", || others.iter().try_for_each(|test| test.run(&machine, &built)))?;
    step("tests in other time zones", || zones(&machine, &built))?;
    // Nothing is printed after this: the last line is libtest's.
    run::headline(&format!("whole system (everything before it took {})", run::seconds(start.elapsed())));
    if system.is_empty() {
        return Err(anyhow!("the build made no test program `{WHOLE_SYSTEM}`").into());
    }
    Ok(system.iter().try_for_each(|test| test.run(&machine, &built))?)
}

/// What one build made.
#[derive(Default)]
struct Built {
    /// The program `ligule`.
    ligule: PathBuf,
    /// Every test program of the workspace.
    tests: Vec<TestProgram>,
}

/// A test program as cargo built it.
struct TestProgram {
    package: String,
    target: String,
    folder: PathBuf,
    program: PathBuf,
}

impl TestProgram {
    /// Runs it where and as `cargo test` would.
    ///
    /// Not through cargo: asked for a single test target, cargo compiles shared dependencies anew.
    fn run(&self, machine: &Machine, built: &Built) -> Result<()> {
        self.run_with(machine, built, &[])
    }

    /// As [`TestProgram::run`], told these variables besides.
    fn run_with(&self, machine: &Machine, built: &Built, told: &[(&str, &str)]) -> Result<()> {
        run::say(&format!("   {} {}", self.package, self.target));
        let mut command = Command::new(&self.program);
        command.current_dir(&self.folder);
        if !std::io::stdout().is_terminal() {
            command.arg("--quiet");
        }
        workspace::forget_own_build(&mut command);
        command.env("CARGO_MANIFEST_DIR", &self.folder).env("CARGO_PKG_NAME", &self.package);
        tell(&mut command, machine, built);
        command.envs(told.iter().copied());
        run::command(&mut command)
            .with_context(|| format!("`cargo xtask test -- -p {}` repeats these tests", self.package))
    }
}

/// Builds all programs, examples and tests in one go.
///
/// One call, because cargo compiles shared dependencies again when a later call asks for a different set of targets.
fn build(workspace: &Workspace) -> Result<Built> {
    let mut cargo = workspace.cargo("build");
    cargo.args(["--workspace", "--lib", "--bins", "--examples", "--tests"]);
    cargo.arg("--message-format=json-render-diagnostics");
    let mut child = cargo.stdout(Stdio::piped()).spawn().context("cannot start cargo")?;
    let messages = child.stdout.take().context("cargo's stdout was piped")?;
    let mut built = Built::default();
    for message in Message::parse_stream(BufReader::new(messages)) {
        let Message::CompilerArtifact(artifact) = message? else { continue };
        let Some(program) = artifact.executable else { continue };
        let kind = &artifact.target.kind;
        if !artifact.profile.test && artifact.target.name == "ligule" && kind.contains(&TargetKind::Bin) {
            built.ligule = program.clone().into_std_path_buf();
        }
        let package = &workspace.metadata[&artifact.package_id];
        if artifact.profile.test {
            let folder = package.manifest_path.parent().context("a manifest lies in a folder")?;
            built.tests.push(TestProgram {
                package: package.name.to_string(),
                target: artifact.target.name.clone(),
                folder: folder.to_owned().into_std_path_buf(),
                program: program.into_std_path_buf(),
            });
        }
    }
    built.tests.sort_by(|a, b| (&a.package, &a.target).cmp(&(&b.package, &b.target)));
    if !child.wait()?.success() {
        bail!("the build failed; what the compiler said stands above");
    }
    if built.ligule.as_os_str().is_empty() {
        bail!("the build made no program `ligule`");
    }
    Ok(built)
}

/// `cargo test` with what the tests are told about the machine and the build.
fn test(workspace: &Workspace, machine: &Machine, built: &Built) -> Command {
    let mut command = workspace.cargo("test");
    tell(&mut command, machine, built);
    command
}

fn tell(command: &mut Command, machine: &Machine, built: &Built) {
    command.env("LIGULE_PYTHON", &machine.python).env("LIGULE_PROGRAM", &built.ligule).env_remove("TZ");
    if std::env::var_os(DRAWS_VARIABLE).is_none() {
        command.env(DRAWS_VARIABLE, DRAWS.to_string());
    }
}

/// Runs the tests of every crate that has property tests, so many times, each with other draws.
pub(crate) fn laws(workspace: &Workspace, rounds: u64, first: u64) -> Result<(), Stop> {
    let machine = setup::prepare(workspace)?;
    let built = build(workspace)?;
    let drawing: BTreeSet<&str> = workspace
        .metadata
        .workspace_packages()
        .into_iter()
        .filter(|package| package.dependencies.iter().any(|dependency| dependency.name == "proptest"))
        .map(|package| package.name.as_str())
        .collect();
    for seed in first..first.saturating_add(rounds) {
        run::headline(&format!("{DRAWS_VARIABLE}={seed}"));
        for test in built.tests.iter().filter(|test| drawing.contains(test.package.as_str())) {
            test.run_with(&machine, &built, &[(DRAWS_VARIABLE, &seed.to_string())])
                .with_context(|| format!("`cargo xtask soak laws --rounds 1 --seed {seed}` repeats these draws"))?;
        }
    }
    Ok(())
}

/// Runs one test of the whole system with what it is told in environment variables, and shows what it says.
pub(crate) fn one(workspace: &Workspace, name: &str, told: &[(&str, String)]) -> Result<(), Stop> {
    let machine = setup::prepare(workspace)?;
    let built = build(workspace)?;
    let system = built.tests.iter().find(|test| test.target == WHOLE_SYSTEM);
    let system = system.with_context(|| format!("the build made no test program `{WHOLE_SYSTEM}`"))?;
    let mut command = Command::new(&system.program);
    command.current_dir(&system.folder).args(["--exact", "--nocapture", name]);
    workspace::forget_own_build(&mut command);
    command.env("CARGO_MANIFEST_DIR", &system.folder).env("CARGO_PKG_NAME", &system.package);
    tell(&mut command, &machine, &built);
    command.envs(told.iter().map(|(variable, value)| (variable, value)));
    Ok(run::command(&mut command)?)
}

fn chosen(workspace: &Workspace, machine: &Machine, cargo_test: &[String]) -> Result<()> {
    let one_package = cargo_test.iter().any(|argument| argument.starts_with("-p") || argument.starts_with("--package"));
    let drives_program = !one_package || cargo_test.iter().any(|argument| argument.contains("ligule-tests"));
    let built = if drives_program { build(workspace)? } else { Built::default() };
    let mut command = test(workspace, machine, &built);
    if !one_package {
        command.arg("--workspace");
    }
    run::command(command.args(cargo_test))
}

/// The same programs that ran a moment ago, so that nothing is built again.
fn zones(machine: &Machine, built: &Built) -> Result<()> {
    for zone in ZONES {
        run::say(&format!("   TZ={zone}"));
        for test in built.tests.iter().filter(|test| CLOCKED.contains(&test.package.as_str())) {
            test.run_with(machine, built, &[("TZ", zone)]).with_context(|| format!("under TZ={zone}"))?;
        }
    }
    Ok(())
}
