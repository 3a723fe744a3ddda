use std::io;

use ligule_engine::number::counted;
use ligule_engine::{EngineError, Fault, Result};
use serde_json::json;

use crate::args::{Global, Pack};
use crate::listing::Listing;

/// Looks at rule packs.
pub(crate) fn run(global: &Global, args: &Pack) -> Result<()> {
    let mut out = io::stdout().lock();
    match args {
        Pack::List(folder) => {
            let mut listing = Listing::new(["pack", "version", "title", "regions", "crops", "review_by", "trust"]);
            let (packs, failures) = ligule_engine::packs(folder.packs.as_deref())?;
            for pack in packs {
                listing.row(vec![
                    json!(pack.id),
                    json!(pack.version),
                    json!(pack.title),
                    json!(pack.regions.join(" ")),
                    json!(pack.crops.join(" ")),
                    json!(pack.review_by),
                    json!(pack.trust),
                ]);
            }
            listing.write(global.format, "no packs", &mut out)?;
            if failures.is_empty() {
                return Ok(());
            }
            Err(EngineError::new(
                Fault::Pack,
                format!("cannot be used: {}", failures.join("\n")),
                "the packs listed above are sound; take these away or get them again",
            ))
        }
        Pack::Check(which) => {
            let report = ligule_engine::check_pack(&which.pack)?;
            let mut listing = Listing::new(["case", "state"]);
            for (case, state) in &report.cases {
                listing.row(vec![json!(case), json!(state)]);
            }
            listing.write(global.format, "the pack has no cases", &mut out)?;
            if report.failed > 0 {
                return Err(EngineError::new(
                    Fault::Pack,
                    format!(
                        "{}: {} of {} not hold",
                        report.pack,
                        report.failed,
                        counted(report.cases.len(), "case does", "cases do")
                    ),
                    "do not use this pack until its author has mended it",
                ));
            }
            Ok(())
        }
    }
}
