//! Hail: leaf loss, the whole loss, nodes of soybean.

use ligule_units::PlantDensity;

use super::NO_SETTLEMENT;
use crate::catalogue::{Answer, Given, Input, Takes, Worksheet};
use crate::damage::{
    AdjusterOffset, HailChart, HailStage, NodeStudy, combined_loss, early_stand_losses, hail_rows, late_stand_loss,
    leaf_loss, leaf_loss_range, soybean_node_loss,
};
use crate::error::{Error, within};
use crate::stage::CornStage;

const STAGE: Input = Input::required(
    "stage",
    Takes::Text,
    "Stage by the adjuster's count (`13-leaf`, `tassel`, `blister`), or by collars (`V11`, `R2`) with an offset",
);
const OFFSET_HELP: &str = "How many more leaves than collars an adjuster counts; needed with a V stage";
const OFFSET: Input = Input::optional("offset", Takes::Word(AdjusterOffset::WORDS), OFFSET_HELP);
const DEFOLIATION: Input =
    Input::required("defoliation", Takes::Quantity("%"), "Leaf area lost; green shredded leaf is not lost");

const CHARTS: &str = "National Crop Insurance Association (1984), printed by C. Lee (2007), Corn hail damage, \
                      University of Kentucky, and J. V. Vorst (1990), National Corn Handbook NCH-1; D. Martens (2014), \
                      University of Minnesota Extension; rows between blister and maturity partly from memory, to be \
                      verified";

/// The rows of the chart that the person meant, and what the reading rests on.
fn rows(given: &Given) -> Result<((HailStage, HailStage), Option<String>), Error> {
    let text = given.text("stage");
    if let Ok(stage) = text.parse::<CornStage>() {
        let missing = || Error::Missing { input: "offset", help: OFFSET_HELP };
        let offset: AdjusterOffset = match (given.maybe_text("offset"), stage.collars()) {
            (Some(word), _) => word.parse()?,
            (None, Some(_)) => return Err(missing()),
            // Reproductive stages are the same on both scales.
            (None, None) => AdjusterOffset::Practice,
        };
        let rows = hail_rows(stage, offset)?;
        let read = if rows.0 == rows.1 { rows.0.to_string() } else { format!("{} to {}", rows.0, rows.1) };
        let note = if stage.collars().is_some() {
            let other = if offset == AdjusterOffset::One { AdjusterOffset::Two } else { AdjusterOffset::One };
            let others = hail_rows(stage, other).map_or_else(|_| "none".to_owned(), |rows| rows.0.to_string());
            format!(
                "{stage} is read as {read} with the offset `{}`; with `{}` the row would be {others}. Sources differ: \
                 count leaves as an adjuster does where it matters.",
                offset.word(),
                other.word()
            )
        } else {
            format!("{stage} is read as {read}; the chart divides it finer.")
        };
        return Ok((rows, Some(note)));
    }
    let stage = text.parse::<HailStage>()?;
    Ok(((stage, stage), None))
}

/// Adds the loss of every row that was meant, and says which are from memory.
fn leaf_steps(mut answer: Answer, rows: (HailStage, HailStage), defoliation: f64) -> Result<Answer, Error> {
    let within_rows = |stages: (HailStage, HailStage)| stages.0 <= rows.1 && rows.0 <= stages.1;
    for chart in HailChart::ALL {
        for row in chart.rows().iter().filter(|row| within_rows(row.stages)) {
            let loss = leaf_loss(*chart, row.stages.0, defoliation)?;
            let percent = defoliation * 100.0;
            answer = answer.step(format!(
                "{} chart, {}: {percent:.0} % of the leaf area lost costs {:.1} %",
                chart.word(),
                row.stages.0,
                loss * 100.0
            ));
            if row.source.contains("from memory") {
                answer = answer.remark(format!("{}: {}.", row.stages.0, row.source));
            }
        }
    }
    Ok(answer)
}

pub(super) const LEAF_LOSS: Worksheet = Worksheet {
    name: "hail-leaf-loss",
    title: "Yield loss of corn from leaf area lost to hail",
    inputs: &[STAGE, OFFSET, DEFOLIATION],
    source: CHARTS,
    example: "--stage 13-leaf --defoliation 50%",
    work: |given| {
        let defoliation = given.number("defoliation") / 100.0;
        let (rows, note) = rows(given)?;
        let (low, high) = leaf_loss_range(rows, defoliation)?;
        let mut answer = leaf_steps(Answer::default(), rows, defoliation)?;
        answer = percent(answer, "loss of yield", (low, high));
        if let Some(note) = note {
            answer = answer.remark(note);
        }
        Ok(answer.remark(NO_SETTLEMENT))
    },
};

pub(super) const LOSS: Worksheet = Worksheet {
    name: "hail-loss",
    title: "Whole yield loss of corn from hail: plants, ears, leaves",
    inputs: &[
        STAGE,
        OFFSET,
        DEFOLIATION,
        Input::optional("before", Takes::Quantity("1/[acr_us]"), "Stand before the hail"),
        Input::optional("after", Takes::Quantity("1/[acr_us]"), "Living stand after it; a doubtful plant counts half"),
        Input::optional(
            "planted",
            Takes::Day,
            "Day of planting: up to 10-leaf, for the yield potential of both stands",
        ),
        Input::optional("ears", Takes::Quantity("%"), "Ears or kernels lost directly on the plants that live"),
    ],
    source: "J. Lauer (1994), Assessing hail damage in corn, Wisconsin Crop Manager 1(15):111; University of Nebraska, \
             EC126, Evaluating hail damage to corn; tables of yield by planting date and stand as in \
             `yield-potential`; leaf loss: National Crop Insurance Association chart and its Minnesota version, rows \
             between blister and maturity partly from memory, to be verified",
    example: "--stage 12-leaf --defoliation 80% --before 30000 --after 24000",
    work: |given| {
        let defoliation = given.number("defoliation") / 100.0;
        let (rows, note) = rows(given)?;
        let mut answer = Answer::default();
        let stand = stand_loss(given, rows.0, &mut answer)?;
        let ears = within("ears lost", given.maybe("ears").unwrap_or(0.0), 0.0, 100.0, " %")? / 100.0;
        let direct = (combined_loss(stand.0, ears)?, combined_loss(stand.1, ears)?);
        if ears > 0.0 {
            let line = |stand: f64, direct: f64| {
                let (percent, left) = (stand * 100.0, 1.0 - stand);
                format!("ears: {percent:.1} + {left:.3} × {:.1} = {:.1} % lost directly", ears * 100.0, direct * 100.0)
            };
            answer = answer.step(line(stand.0, direct.0));
            if is_range(direct) {
                answer = answer.step(line(stand.1, direct.1));
            }
        }
        answer = leaf_steps(answer, rows, defoliation)?;
        let leaf = leaf_loss_range(rows, defoliation)?;
        let whole = (combined_loss(direct.0, leaf.0)?, combined_loss(direct.1, leaf.1)?);
        let line = |direct: f64, leaf: f64, whole: f64| {
            let (percent, left) = (direct * 100.0, 1.0 - direct);
            format!("whole: {percent:.1} + {left:.3} × {:.1} = {:.1} %", leaf * 100.0, whole * 100.0)
        };
        answer = answer.step(line(direct.0, leaf.0, whole.0));
        if is_range(whole) {
            answer = answer.step(line(direct.1, leaf.1, whole.1));
        }
        answer = percent(percent(answer, "loss of yield", whole), "lost directly", direct);
        if let Some(note) = note {
            answer = answer.remark(note);
        }
        Ok(answer.remark("Stalk bruises, stalk rot and later stress are not in it.").remark(NO_SETTLEMENT))
    },
};

/// The least and the greatest loss from lost plants; none where no stand was given.
fn stand_loss(given: &Given, stage: HailStage, answer: &mut Answer) -> Result<(f64, f64), Error> {
    let (before, after) = match (given.maybe("before"), given.maybe("after")) {
        (None, None) => return Ok((0.0, 0.0)),
        (Some(before), Some(after)) => (before, after),
        (Some(_), None) => return Err(Error::Missing { input: "after", help: "Living stand after the hail" }),
        (None, Some(_)) => return Err(Error::Missing { input: "before", help: "Stand before the hail" }),
    };
    let densities = [before, after].map(PlantDensity::from_per_acre);
    if stage > HailStage::Leaf(10) {
        let loss = late_stand_loss(stage, densities[0], densities[1])?;
        answer.steps.push(format!("stand: 1 − {after:.0} / {before:.0} = {:.1} % lost", loss * 100.0));
        return Ok((loss, loss));
    }
    let help = "Up to 10-leaf the stand loss depends on the day of planting";
    let planted = given.day("planted").ok_or(Error::Missing { input: "planted", help })?;
    let losses = early_stand_losses(stage, planted, densities[0], densities[1])?;
    let mut ends = (1.0_f64, 0.0_f64);
    for (table, loss) in &losses {
        answer.steps.push(match loss {
            Ok(loss) => {
                ends = (ends.0.min(*loss), ends.1.max(*loss));
                let percent = loss * 100.0;
                format!("stand, by the table {}: {after:.0} of {before:.0} plants cost {percent:.1} %", table.word())
            }
            Err(reason) => format!("stand, by the table {}: no value, {reason}", table.word()),
        });
    }
    answer.remarks.push(
        "Up to 10-leaf survivors make up for part: the loss compares the yield potentials of both stands (common \
         practice, no source); the adjusters' own stand chart could not be read."
            .to_owned(),
    );
    Ok(ends)
}

fn is_range(ends: (f64, f64)) -> bool {
    ends.1 - ends.0 > 1e-12
}

/// Adds a share as percent, as one number where both ends are the same.
fn percent(answer: Answer, name: &'static str, ends: (f64, f64)) -> Answer {
    if is_range(ends) {
        answer.range(name, (ends.0 * 100.0, ends.1 * 100.0), 1, "%")
    } else {
        answer.number(name, ends.0 * 100.0, 1, "%")
    }
}

pub(super) const SOYBEAN_NODES: Worksheet = Worksheet {
    name: "soybean-node-loss",
    title: "Yield loss of soybean from nodes cut off the main stem",
    inputs: &[
        Input::required("stage", Takes::Text, "Stage: V2, V3, V6 or R3"),
        Input::required("nodes", Takes::Number("nodes"), "Main-stem nodes that a plant had"),
        Input::required("lost", Takes::Number("nodes"), "Nodes that were cut off, on average"),
    ],
    source: "S. P. Conley, P. Pedersen, E. P. Christmas (2009), Agronomy Journal 101, quoted by S. Conley, University \
             of Wisconsin; Manitoba Pulse and Soybean Growers (2019), Preliminary summary of soybean yield loss from \
             hail at V2 to V3",
    example: "--stage V6 --nodes 6 --lost 3",
    work: |given| {
        let stage = given.text("stage").parse()?;
        let nodes = within("nodes of a plant", given.number("nodes"), 1.0, 40.0, "")?;
        let lost = within("nodes lost", given.number("lost"), 0.0, nodes, "")?;
        let share = lost / nodes;
        let mut answer =
            Answer::default().step(format!("{lost} of {nodes} nodes lost = {:.0} % of the main stem", share * 100.0));
        let losses: Vec<_> =
            NodeStudy::ALL.iter().map(|study| (*study, soybean_node_loss(*study, stage, share))).collect();
        let mut ends: Option<(f64, f64)> = None;
        for (study, loss) in &losses {
            match loss {
                Ok(loss) => {
                    answer = answer.step(format!("{}: {:.1} % of yield", study.word(), loss * 100.0));
                    ends = Some(ends.map_or((*loss, *loss), |(low, high)| (low.min(*loss), high.max(*loss))));
                }
                Err(reason) => answer = answer.remark(format!("{}: {reason}.", study.word())),
            }
        }
        let Some((low, high)) = ends else {
            return Err(losses.into_iter().find_map(|(_, loss)| loss.err()).expect("no study answered"));
        };
        answer = percent(answer, "loss of yield", (low, high));
        Ok(answer
            .remark("For a full stand. A plant cut below the cotyledons, or without green tissue, does not grow again.")
            .remark(NO_SETTLEMENT))
    },
};
