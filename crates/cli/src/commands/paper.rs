use std::io::{self, Write};

use ligule_engine::kinds::KindSet;
use ligule_engine::{Reading, Result};

use crate::args::{Completions, Manual};

fn command() -> clap::Command {
    crate::command(&KindSet::builtin(), &Reading::default())
}

/// Prints a completion script.
pub(crate) fn completions(args: &Completions) -> Result<()> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command(), "ligule", &mut script);
    Ok(io::stdout().write_all(&script)?)
}

/// Writes the manual pages, one a command.
pub(crate) fn manual(args: &Manual) -> Result<()> {
    let failed = |error: io::Error| ligule_engine::cannot_write(&args.folder, &error);
    std::fs::create_dir_all(&args.folder).map_err(failed)?;
    clap_mangen::generate_to(command(), &args.folder).map_err(failed)?;
    say!("manual pages written to {}", args.folder.display());
    Ok(())
}
