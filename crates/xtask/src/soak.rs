//! Tests that play at random, for longer than the suite has time for.

use clap::ValueEnum;

use crate::run::Stop;
use crate::test;
use crate::workspace::Workspace;

/// What is soaked.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum What {
    /// A journal, whose writers are killed
    Journal,
}

/// Plays so many rounds; the test prints the seed.
pub(crate) fn run(workspace: &Workspace, what: What, rounds: u64, seed: Option<u64>) -> Result<(), Stop> {
    let name = match what {
        What::Journal => "soak::whatever_is_killed_nothing_acknowledged_is_lost_and_nothing_is_half_there",
    };
    let mut told = vec![("LIGULE_SOAK_ROUNDS", rounds.to_string())];
    told.extend(seed.map(|seed| ("LIGULE_SOAK_SEED", seed.to_string())));
    test::one(workspace, name, &told)
}
