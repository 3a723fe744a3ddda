//! Spacing within the row.

use ligule_agronomy::spacing;
use ligule_units::Length;

use crate::row::Answer::{self, Number};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let gap = || spacing::plant_spacing(row.inches("row_in"), row.per_acre("per_acre")).expect("a valid row");
    let summary = || {
        let gaps: Vec<_> = row.numbers("gaps").into_iter().map(Length::from_inches).collect();
        spacing::spacing_summary(&gaps, row.inches("nominal")).expect("valid gaps")
    };
    let several = "several gaps have a spread";
    let loss = |sd, yield_bushels| {
        let study = row.text("study").parse().expect("a study");
        Number(spacing::spacing_loss(study, sd, yield_bushels).expect("inside"))
    };
    Some(match row.check.as_str() {
        "spacing, in" => Number(gap().inches()),
        "gap limit, in" => {
            let limits = spacing::gap_limits(gap()).expect("a valid spacing");
            Number(match row.text("limit") {
                "double" => limits.double.inches(),
                "one skip" => limits.one_skip.inches(),
                "two skips" => limits.two_skips.inches(),
                other => panic!("unknown limit `{other}`"),
            })
        }
        "spacing mean, in" => Number(summary().mean.inches()),
        "spacing sd, in" => Number(summary().sd.expect(several).inches()),
        "spacing cv, %" => Number(summary().cv.expect(several) * 100.0),
        "spacing multiples, %" => Number(summary().multiples * 100.0),
        "spacing misses, %" => Number(summary().misses * 100.0),
        "spacing quality of feed, %" => Number(summary().quality_of_feed * 100.0),
        "spacing loss of gaps, bu/ac" => loss(summary().sd.expect(several), 200.0),
        "spacing loss, bu/ac" => loss(Length::from_metres(row.number("sd_cm") / 100.0), row.number("yield")),
        "plant of a double, % less" => {
            let pair = spacing::pair_yield(row.per_acre("per_acre")).expect("inside");
            Number((1.0 - pair / 2.0) * 100.0)
        }
        "skip made up, %" => Number(spacing::skip_compensation(row.per_acre("per_acre")).expect("inside") * 100.0),
        _ => return None,
    })
}
