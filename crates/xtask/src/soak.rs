//! Tests that play at random, for longer than the suite has time for.

use std::hash::{BuildHasher, Hasher, RandomState};

use clap::ValueEnum;

use crate::run::Stop;
use crate::test;
use crate::workspace::Workspace;

/// What is soaked.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum What {
    /// A journal, whose writers are killed
    Journal,
    /// The property tests, whose draws are new each round
    Laws,
}

/// Plays so many rounds, each as its seed says: printed, and drawn unless given.
pub(crate) fn run(workspace: &Workspace, what: What, rounds: Option<u64>, seed: Option<u64>) -> Result<(), Stop> {
    match what {
        What::Journal => {
            let name = "soak::whatever_is_killed_nothing_acknowledged_is_lost_and_nothing_is_half_there";
            let mut told = vec![("LIGULE_SOAK_ROUNDS", rounds.unwrap_or(2000).to_string())];
            told.extend(seed.map(|seed| ("LIGULE_SOAK_SEED", seed.to_string())));
            test::one(workspace, name, &told)
        }
        What::Laws => test::laws(workspace, rounds.unwrap_or(20), seed.unwrap_or_else(drawn)),
    }
}

/// A seed that no earlier run had, near enough.
fn drawn() -> u64 {
    // A hasher is keyed at random by the standard library: no other source of chance is needed here.
    RandomState::new().build_hasher().finish() >> 16
}
