//! Chores of the workspace: `cargo xtask <task>`.
//!
//! `cargo xtask test` is all that a contributor or a build server has to know: it sets up what the tests need,
//! runs every check, then every test, and stops at the first failure. One file holds one check.

mod arrows;
mod dependencies;
mod generate;
mod layout;
mod lint;
mod packs;
mod run;
mod setup;
mod soak;
mod test;
mod tools;
mod workspace;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

use run::Stop;
use workspace::Workspace;

/// Chores of the Ligule workspace
#[derive(Parser)]
#[command(name = "cargo xtask", bin_name = "cargo xtask", after_help = EXAMPLES)]
struct Arguments {
    #[command(subcommand)]
    task: Task,
}

const EXAMPLES: &str = "\
Examples:
  cargo xtask test                          set up, check and test everything
  cargo xtask test -- -p ligule-units       the tests of one crate, without the checks
  cargo xtask test -- merge_in_any_order    the tests whose names hold these words
  cargo xtask lint                          the checks alone
  cargo xtask lint arrows clippy            two of them
  cargo xtask generate                      write the generated files anew
  cargo xtask generate --check              tell whether they are up to date
  cargo xtask soak journal --rounds 2000    kill processes that write a journal at 2000 random moments
  cargo xtask soak laws --rounds 20         the property tests, with twenty other sets of draws
  cargo xtask packs                         build the rule packs anew";

#[derive(Subcommand)]
enum Task {
    /// Set up what the tests need, then run every check and every test
    Test {
        /// Arguments for `cargo test`: run these tests alone and no checks
        #[arg(last = true)]
        cargo_test: Vec<String>,
    },
    /// Run the checks alone
    Lint {
        /// Run these alone: format, arrows, layout, unused, licences, advisories, clippy, documentation
        checks: Vec<String>,
    },
    /// Write the generated files of the repository anew
    Generate {
        /// Write nothing; fail if a generated file differs from what is committed
        #[arg(long)]
        check: bool,
    },
    /// Play at random for as long as one likes what the suite plays for a short while
    Soak {
        /// What is soaked.
        what: soak::What,
        /// How many processes to kill (2000 unless given), or how many sets of draws to play (20).
        #[arg(long)]
        rounds: Option<u64>,
        /// Begin the random choices here, as an earlier run printed it.
        #[arg(long)]
        seed: Option<u64>,
    },
    /// Build the rule packs of `plugins/` into `plugins/built/`
    Packs {
        /// `--to FOLDER`: write the packs there instead
        #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
        arguments: Vec<String>,
    },
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let outcome = Workspace::find().map_err(Stop::from).and_then(|workspace| match arguments.task {
        Task::Test { cargo_test } => test::run(&workspace, &cargo_test),
        Task::Lint { checks } => lint::run(&workspace, &checks),
        Task::Generate { check } => generate::run(&workspace, check).map_err(Stop::from),
        Task::Soak { what, rounds, seed } => soak::run(&workspace, what, rounds, seed),
        Task::Packs { arguments } => packs::run(&arguments).map_err(Stop::from),
    });
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(stop) => {
            eprintln!("\nerror: {:#}", stop.reason);
            ExitCode::from(stop.exit_code)
        }
    }
}
