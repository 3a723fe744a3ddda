use std::io;

use ligule_engine::number::counted;
use ligule_engine::{EngineError, Fault, Result};
use serde_json::json;

use crate::args::{Archive, Global};
use crate::listing::Listing;

/// Returns where the archive is.
pub(crate) fn place(global: &Global) -> Result<String> {
    match &global.archive {
        Some(place) => Ok(place.clone()),
        None => Ok(crate::journal_folder(global)?.join("archive").display().to_string()),
    }
}

/// Looks at the archive.
pub(crate) fn run(global: &Global, args: &Archive) -> Result<()> {
    let place = place(global)?;
    let runtime = super::sync::runtime()?;
    let mut out = io::stdout().lock();
    match args {
        Archive::Files => {
            let mut listing = Listing::new(["table", "season", "rows", "bytes", "file"]);
            for file in runtime.block_on(ligule_engine::archive_files(&place))? {
                listing.row(vec![
                    json!(file.table),
                    json!(file.season),
                    json!(file.rows),
                    json!(file.bytes),
                    json!(file.path),
                ]);
            }
            listing.write(global.format, "the archive is empty", &mut out)?;
            Ok(())
        }
        Archive::Verify => {
            let report = runtime.block_on(ligule_engine::verify_archive(&place))?;
            let mut listing = Listing::new(["what", "state"]);
            for (what, state) in &report.findings {
                listing.row(vec![json!(what), json!(state)]);
            }
            listing.write(
                global.format,
                &format!(
                    "{place}: {} whole, {}",
                    counted(report.files, "file", "files"),
                    counted(report.rows, "row", "rows")
                ),
                &mut out,
            )?;
            if report.findings.is_empty() {
                return Ok(());
            }
            Err(EngineError::new(
                Fault::Data,
                format!(
                    "{place}: {} of {} damaged or missing",
                    report.findings.len(),
                    counted(report.files, "file is", "files are")
                ),
                report.next,
            ))
        }
    }
}
