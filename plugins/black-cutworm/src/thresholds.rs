//! The tables of thresholds and instars.

use ligule_rule_sdk::{RuleError, Tables};

/// One source's threshold. Shares in per cent, lengths in inches.
pub(crate) struct Threshold {
    pub(crate) region: String,
    pub(crate) variant: Option<String>,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) small_to: Option<f64>,
    pub(crate) large: Option<f64>,
    pub(crate) large_from: Option<f64>,
    pub(crate) last_stage: Option<i16>,
    pub(crate) fed: Option<f64>,
    pub(crate) fed_last: Option<i16>,
    pub(crate) live: Option<f64>,
    pub(crate) citation: String,
    pub(crate) second_hand: bool,
}

/// What larvae do in a span of degree days (F, base 50) since intense capture.
pub(crate) struct Instar {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) what: String,
}

pub(crate) fn read(tables: &Tables) -> Result<Vec<Threshold>, RuleError> {
    let table = tables.table("thresholds")?;
    let rows = table.rows().map(|cells| {
        let needed = |column| cells.number(column)?.ok_or_else(|| cells.bad(column, "a percentage is needed"));
        let stage = |column| Ok(cells.number(column)?.map(|n| n as i16));
        let threshold = Threshold {
            region: cells.text("region")?.to_owned(),
            variant: cells.optional("variant")?.map(str::to_owned),
            low: needed("low")?,
            high: needed("high")?,
            small_to: cells.number("small_to")?,
            large: cells.number("large")?,
            large_from: cells.number("large_from")?,
            last_stage: stage("last_stage")?,
            fed: cells.number("fed")?,
            fed_last: stage("fed_last")?,
            live: cells.number("live")?,
            citation: cells.text("citation")?.to_owned(),
            second_hand: cells.one_of("mark", &[("page", false), ("second-hand", true)])?,
        };
        if threshold.low > threshold.high {
            return Err(cells.bad("high", format!("it is below `low` ({})", threshold.low)));
        }
        Ok(threshold)
    });
    rows.collect()
}

pub(crate) fn read_instars(tables: &Tables) -> Result<Vec<Instar>, RuleError> {
    let table = tables.table("instars")?;
    let rows = table.rows().map(|cells| {
        let needed = |column| cells.number(column)?.ok_or_else(|| cells.bad(column, "a degree-day sum is needed"));
        Ok(Instar { from: needed("from")?, to: needed("to")?, what: cells.text("what")?.to_owned() })
    });
    rows.collect()
}
