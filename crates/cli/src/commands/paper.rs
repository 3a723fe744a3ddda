use std::io;

use ligule_engine::{Engine, EngineError, Result};

use crate::args::{Completions, Manual};

fn command() -> Result<clap::Command> {
    Ok(crate::command(&Engine::builtin_kinds()?))
}

/// Prints a completion script.
pub(crate) fn completions(args: &Completions) -> Result<()> {
    clap_complete::generate(args.shell, &mut command()?, "ligule", &mut io::stdout().lock());
    Ok(())
}

/// Writes the manual pages, one a command.
pub(crate) fn manual(args: &Manual) -> Result<()> {
    let failed = |error: io::Error| EngineError::from(error).at(&args.folder);
    std::fs::create_dir_all(&args.folder).map_err(failed)?;
    clap_mangen::generate_to(command()?, &args.folder).map_err(failed)?;
    println!("manual pages written to {}", args.folder.display());
    Ok(())
}
