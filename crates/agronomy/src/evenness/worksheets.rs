//! Evenness of emergence as worksheets and tables.

use ligule_units::DegreeDays;

use super::lag::{DEGREE_DAYS_A_LEAF, days_behind, emergence_evenness};
use super::leaves::{LeafLagStudy, is_printed, leaf_lag_loss};
use super::response::{DELAYS, LatePattern, LateTable, late_loss};
use crate::catalogue::{Answer, Cell, Input, Origin, Table, Takes, Worksheet};
use crate::error::Error;

const NAFZIGER: &str = "E. D. Nafziger, P. R. Carter, E. E. Graham (1991), Response of corn to uneven emergence, Crop Science \
                        31:811-815";

pub(crate) const WORKSHEETS: &[Worksheet] = &[EVENNESS, LATE_PLANTS];

/// Corn degree days of a usual day between emergence and V5, °F days. Common practice, no source.
const USUAL_DAY: f64 = 17.0;

/// The last stage for which the pace of a leaf holds, collars.
const LAST_OF_PACE: f64 = 10.0;

const EVENNESS: Worksheet = Worksheet {
    name: "evenness",
    title: "How far the plants of a field lag behind its stage, and what those a leaf behind or more cost",
    inputs: &[
        Input::required("collars", Takes::Number("collars"), "Collars of each plant, halves allowed").many(),
        Input::optional(
            "degree-days",
            Takes::Number("°F days"),
            "Corn degree days of a usual day since emergence; 17 if left out, common practice",
        ),
    ],
    source: "P. Thomison, Ohio State University AGF-127; losses: E. D. Nafziger, P. R. Carter, E. E. Graham (1991), Crop Science \
             31:811-815, and the studies of the table `leaf-lag-loss`; two leaves as the sign of risk: common practice, no source",
    example: "--collars '4 4 4.5 3.5 4 3 5 4 2 4'",
    work: |given| {
        let found = emergence_evenness(given.numbers("collars"))?;
        let mut answer = Answer::default()
            .step(format!("half of {} plants or more have {} collars", found.plants, found.stage))
            .number("stage of the field", found.stage, 1, "collars")
            .number("half a leaf behind or more", found.half_leaf * 100.0, 1, "%")
            .number("one leaf behind or more", found.one_leaf * 100.0, 1, "%")
            .number("two leaves behind or more, at risk of staying barren", found.two_leaves * 100.0, 1, "%");
        let (low, high) = found.two_leaves_interval;
        answer = answer.range("interval of that share", (low * 100.0, high * 100.0), 1, "%");
        if let Some(lag) = found.mean_lag_of_late {
            let a_day = given.maybe("degree-days").unwrap_or(USUAL_DAY);
            let checked = days_behind(1.0, DegreeDays::from_fahrenheit(a_day))?;
            answer = answer.step(format!("late plants are {lag:.2} leaves behind on average"));
            // The pace of a leaf is that up to V10; a field past it has no days by this rule.
            let days = (found.stage <= LAST_OF_PACE).then_some(lag * checked);
            answer = match days {
                Some(days) => answer.step(format!(
                    "{lag:.2} × {DEGREE_DAYS_A_LEAF} °F days a leaf / {a_day} °F days a day = {days:.1} days"
                )),
                None => answer.step(format!(
                    "days late: unknown; {DEGREE_DAYS_A_LEAF} °F days a leaf hold up to V10, and the field has {} collars",
                    found.stage
                )),
            };
            if days.is_some() && given.maybe("degree-days").is_none() {
                answer = answer.remark(
                    "17 °F days a day are a usual day (common practice, no source): give `degree-days` of the place.",
                );
            }
            answer = losses(answer, found.one_leaf, days, Some(lag))?;
        }
        if found.plants < 20 {
            answer = answer.remark("Fewer than 20 plants: stage more (common practice, no source).");
        }
        Ok(answer.remark("At risk is not barren: it says which plants to look at again at silking."))
    },
};

const LATE_PLANTS: Worksheet = Worksheet {
    name: "late-plants",
    title: "Yield that late plants cost, by published tables; between and below their points on a line of ours",
    inputs: &[
        Input::required("share", Takes::Quantity("%"), "Plants that are late"),
        Input::optional("days", Takes::Quantity("d"), "How many days late"),
        Input::optional("leaves", Takes::Number("leaves"), "How many leaves behind"),
    ],
    source: "E. D. Nafziger, P. R. Carter, E. E. Graham (1991), Crop Science 31:811-815; W. Liu et al. (2004), Crop Science \
             44:847-854; University of Minnesota; L. Abendroth, R. Elmore (2009), Iowa State University",
    example: "--share 50% --days 24 --leaves 2",
    work: |given| {
        let (days, leaves) = (given.maybe("days"), given.maybe("leaves"));
        if days.is_none() && leaves.is_none() {
            return Err(Error::Missing { input: "days", help: "days or leaves" });
        }
        losses(Answer::default(), given.number("share") / 100.0, days, leaves)
    },
};

/// Adds what each table says and the range over all that answer.
fn losses(mut answer: Answer, share: f64, days: Option<f64>, leaves: Option<f64>) -> Result<Answer, Error> {
    const PRINTED: &str = "as printed";
    const BY_LINE: &str = "our line between and below the printed points, derived";
    let mut looked_up: Vec<(String, Result<_, Error>)> = Vec::new();
    if let Some(days) = days {
        for table in LateTable::ALL {
            let planted = LatePattern::ALL.iter().any(|pattern| {
                let (of_plants, delay) = pattern.late();
                (of_plants - share).abs() < 1e-9 && (delay - days).abs() < 1e-9
            });
            let how = match table {
                LateTable::Smoothed => "our mean of the patterns, derived",
                _ if planted => "from the printed yields of the pattern",
                _ => "our line between the planted patterns, derived",
            };
            let name = format!("Illinois and Wisconsin, {} ({how})", table.word());
            looked_up.push((name, late_loss(*table, share, days).map(|loss| (loss, loss))));
        }
    }
    if let Some(leaves) = leaves {
        for study in LeafLagStudy::ALL {
            let how = if is_printed(*study, share, leaves) { PRINTED } else { BY_LINE };
            looked_up.push((format!("{} ({how})", study.word()), leaf_lag_loss(*study, share, leaves)));
        }
    }
    let mut ends: Option<(f64, f64)> = None;
    let mut outside = None;
    for (name, loss) in looked_up {
        match loss {
            Ok((low, high)) => {
                ends = Some(ends.map_or((low, high), |(least, most)| (least.min(low), most.max(high))));
                let (low, high) = (format!("{:.1}", low * 100.0), format!("{:.1}", high * 100.0));
                let loss = if low == high { low } else { format!("{low} to {high}") };
                answer = answer.step(format!("{name}: {loss} %"));
            }
            Err(error @ Error::OutsideTable { .. }) => {
                let study = name.split(" (").next().unwrap_or_default();
                answer = answer.step(format!("{study}: {error}"));
                outside = Some(error);
            }
            Err(error) => return Err(error),
        }
    }
    match (ends, outside) {
        (Some((low, high)), _) => answer = answer.range("loss of yield", (low * 100.0, high * 100.0), 1, "%"),
        (None, Some(error)) if answer.results.is_empty() => return Err(error),
        (None, _) => answer = answer.remark("Outside every published table: no loss can be given."),
    }
    Ok(answer
        .remark(
            "Printed are single points: half of the plants two leaves behind, 5 to 10 % (Iowa); half one or two leaves \
             behind, 6 and 17 % (Minnesota); a sixth two or four leaves behind, 4 and 8 % (Ontario). Other shares and \
             leaves are a line from no loss, which is ours (derived), and no finding of theirs.",
        )
        .remark("Replanting for evenness alone pays at most where half of the plants or more are three weeks late."))
}

pub(crate) fn tables() -> Vec<Table> {
    vec![patterns(), late(), lag(), rows()]
}

fn patterns() -> Table {
    let table = Table::new(
        "late-patterns",
        "Yield of corn with early (E), middle (M) and late (L) plants within the row",
        "E early May, M 10 to 12 days later, L 21 to 27 days later; seven environments in Illinois and Wisconsin.",
        ["pattern", "late, %", "yield, Mg/ha", "of uniform early, %"],
    );
    LatePattern::ALL.iter().fold(table, |table, pattern| {
        let (share, _) = pattern.late();
        let of_uniform = pattern.share_of_uniform() * 100.0;
        let cells =
            [pattern.word().into(), (share * 100.0).into(), pattern.tonnes_per_hectare().into(), of_uniform.into()];
        table.row(cells, Origin::Page, NAFZIGER)
    })
}

fn late() -> Table {
    let table = Table::new(
        "late-plants",
        "Loss of yield by share of late plants and delay, %",
        "Reckoned from the table `late-patterns`; interpolated inside only.",
        ["reading", "days late", "none late", "25 % late", "50 % late", "75 % late"],
    );
    LateTable::ALL.iter().fold(table, |table, reading| {
        (0..DELAYS.len()).fold(table, |table, delay| {
            let head = [Cell::from(reading.word()), DELAYS[delay].into()];
            let cells: Vec<Cell> = head.into_iter().chain(reading.losses(delay).map(Cell::from)).collect();
            table.row(cells, Origin::Derived, NAFZIGER)
        })
    })
}

fn lag() -> Table {
    let table = Table::new(
        "leaf-lag-loss",
        "Loss of yield where plants lag by leaves",
        "Contested: studies are listed, none averaged. Printed points only; worksheets scale them in a line to other shares and leaves, which is ours.",
        ["study", "late, %", "leaves behind", "least loss, %", "most loss, %"],
    );
    LeafLagStudy::ALL.iter().fold(table, |table, study| {
        let (share, knots, source) = study.found();
        knots.iter().filter(|knot| knot.0 > 0.0).fold(table, |table, (leaves, low, high)| {
            let cells = [study.word().into(), (share * 100.0).into(), (*leaves).into(), (*low).into(), (*high).into()];
            table.row(cells, Origin::Page, source)
        })
    })
}

/// Yield of single rows beside others, Mg/ha. *Source:* [`NAFZIGER`].
const ROWS: [(&str, f64); 5] = [
    ("early beside middle", 11.4),
    ("early beside late", 12.2),
    ("middle beside early", 10.5),
    ("late beside early", 7.9),
    ("middle beside late", 11.8),
];

fn rows() -> Table {
    let table = Table::new(
        "late-rows",
        "Yield of single rows of corn beside rows planted at another time",
        "Unevenness from row to row costs less than within the row.",
        ["row", "yield, Mg/ha"],
    );
    ROWS.iter().fold(table, |table, (row, tonnes)| table.row([(*row).into(), (*tonnes).into()], Origin::Page, NAFZIGER))
}
