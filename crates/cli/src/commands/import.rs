use ligule_engine::Result;

use crate::args::{Global, Import, ImportWeather};
use crate::commands::sheet;
use crate::progress::Progress;

/// Brings in data that others recorded.
pub(crate) fn run(global: &Global, args: &Import) -> Result<()> {
    match args {
        Import::Weather(args) => weather(global, args),
        Import::Observations(args) => sheet::import(global, args),
        Import::Mapping(args) => sheet::mapping(global, args),
    }
}

fn weather(global: &Global, args: &ImportWeather) -> Result<()> {
    let mut engine = crate::open(global)?;
    let progress = Progress::start(format!("reading {}", args.file.display()));
    let imported = engine.import_weather(&args.file, args.station.as_deref(), args.layout, args.accept_time)?;
    drop(progress);
    for warning in &imported.warnings {
        eprintln!("note: {warning}");
    }
    println!("{imported}");
    Ok(())
}
