//! Debian packages: installed in CI as root, asked for everywhere else.

use std::env;
use std::process::Command;

use anyhow::{Error, anyhow};

use crate::run::{self, Stop, works};

/// Something that the tests call, how to tell that it is there, and the packages that bring it.
struct Need {
    what: &'static str,
    probe: (&'static str, &'static [&'static str]),
    packages: &'static [&'static str],
}

/// Asks Python itself: a Debian `python3` without `python3-venv` starts, and then cannot make an environment.
const PYTHON_PROBE: &str = "import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))";

/// Without these, the tests cannot run.
const NEEDED: &[Need] = &[
    Need { what: "a C compiler", probe: ("cc", &["--version"]), packages: &["build-essential"] },
    Need { what: "git", probe: ("git", &["--version"]), packages: &["git"] },
    Need {
        what: "Python 3.11 or newer with venv",
        probe: ("python3", &["-c", PYTHON_PROBE]),
        packages: &["python3", "python3-venv"],
    },
];

/// The compiler for rule packs. Where it is missing, the test of the packs compares their behaviour and says that it
/// did not rebuild them.
const WANTED: Need = Need {
    what: "the compiler for rule packs (rustc-web)",
    probe: ("dpkg", &["--status", "rustc-web", "cargo-web", "rust-web-src", "lld"]),
    packages: &["rustc-web", "cargo-web", "rust-web-src", "lld"],
};

impl Need {
    fn is_there(&self) -> bool {
        works(self.probe.0, self.probe.1)
    }
}

/// Sees to it that everything needed is there.
///
/// Stops with exit code 2 and the line to type where it may not install.
pub(crate) fn provide() -> Result<(), Stop> {
    let missing: Vec<&Need> = NEEDED.iter().filter(|need| !need.is_there()).collect();
    let packages: Vec<&str> = missing.iter().flat_map(|need| need.packages).copied().collect();
    if may_install() {
        if !packages.is_empty() {
            install(&packages).map_err(ask)?;
        }
        if let Some(need) = missing.iter().find(|need| !need.is_there()) {
            return Err(ask(anyhow!("{} is still missing after {} was installed", need.what, need.packages.join(" "))));
        }
    } else if !packages.is_empty() {
        return Err(ask(request(&missing, &packages)));
    }
    let can_build_packs = WANTED.is_there() || (may_install() && install(WANTED.packages).is_ok());
    if !can_build_packs {
        println!("   without {}: the rule packs are tested as they are committed, not rebuilt", WANTED.what);
    }
    Ok(())
}

/// In CI a machine is there for this run alone; elsewhere a person decides what is installed.
fn may_install() -> bool {
    let in_ci = env::var_os("CI").is_some_and(|value| value == "true");
    let is_root = run::output(Command::new("id").arg("-u")).is_ok_and(|id| id.trim() == "0");
    in_ci && is_root && works("apt-get", &["--version"])
}

fn install(packages: &[&str]) -> Result<(), Error> {
    println!("   installing {}", packages.join(" "));
    let apt = || {
        let mut command = Command::new("apt-get");
        command.env("DEBIAN_FRONTEND", "noninteractive").arg("-qq");
        command
    };
    run::output(apt().arg("update"))?;
    run::output(apt().args(["install", "-y", "--no-install-recommends"]).args(packages))?;
    Ok(())
}

fn request(missing: &[&Need], packages: &[&str]) -> Error {
    let names: Vec<&str> = missing.iter().map(|need| need.what).collect();
    let line = format!("sudo apt-get install -y --no-install-recommends {}", packages.join(" "));
    anyhow!(
        "the tests need {}, which this machine lacks. On Debian this line brings it:\n\n    {line}\n",
        names.join(" and ")
    )
}

fn ask(reason: Error) -> Stop {
    Stop { reason, exit_code: 2 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_request_is_one_line_to_type() {
        let missing = [&NEEDED[1], &NEEDED[2]];
        let message = request(&missing, &["git", "python3", "python3-venv"]).to_string();
        assert!(message.contains("need git and Python 3.11 or newer with venv,"), "{message}");
        let line = "\n    sudo apt-get install -y --no-install-recommends git python3 python3-venv\n";
        assert!(message.contains(line), "{message}");
    }

    #[test]
    fn a_probe_of_something_absent_fails() {
        let need = Need { what: "nothing", probe: ("no-such-program-anywhere", &[]), packages: &[] };
        assert!(!need.is_there());
    }
}
