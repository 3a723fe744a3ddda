//! Plans that say when to stop counting.

use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::cautions;
use crate::error::{Error, within};
use crate::thresholds::plans::{APHID_SOURCE, STINK_BUG_SOURCE};
use crate::thresholds::{STINK_BUG_PLANTS, Stop, WaldPlan, aphid_plan, stink_bug_plan};

/// Returns the whole number of an input.
fn whole(what: &'static str, input: &'static str, number: f64) -> Result<u64, Error> {
    let number = within(what, number, 0.0, 1e6, "")?;
    if (number - number.round()).abs() > 1e-9 {
        return Err(Error::NoNumber { input, unit: "whole plants or bugs", came: number.to_string() });
    }
    Ok(number.round() as u64)
}

pub(super) const WALD: Worksheet = Worksheet {
    name: "sequential-sampling",
    title: "Stop lines for a share of plants after Wald",
    inputs: &[
        Input::required("safe", Takes::Quantity("%"), "Share of plants that is safe"),
        Input::required("damaging", Takes::Quantity("%"), "Share of plants that is damaging"),
        Input::usual("false-alarm", Takes::Quantity("%"), "10%", "How often a safe field may be called damaging"),
        Input::usual("missed", Takes::Quantity("%"), "10%", "How often a damaged field may be called safe"),
        Input::required("plants", Takes::Number("plants"), "Plants looked at so far"),
        Input::optional("found", Takes::Number("plants"), "Plants found with it"),
    ],
    source: "A. Wald (1947), Sequential Analysis, binomial case (formulas from memory, to be verified)",
    example: "--safe 2% --damaging 5% --plants 100 --found 3",
    work: |given| {
        let [safe, damaging, alarm, missed] =
            ["safe", "damaging", "false-alarm", "missed"].map(|name| given.number(name) / 100.0);
        let plants = whole("a number of plants", "plants", given.number("plants"))?;
        let plan = WaldPlan::new(safe, damaging, alarm, missed)?;
        let limits = plan.limits(plants)?;
        let limit = |limit: Option<u64>| limit.map_or_else(|| "none yet".to_owned(), |limit| limit.to_string());
        let mut answer = Answer::default()
            .step(format!(
                "h = ln({damaging} × {:.4} / ({safe} × {:.4})) = {:.4}",
                1.0 - safe,
                1.0 - damaging,
                plan.discrimination()
            ))
            .step(format!("s = ln({:.4} / {:.4}) / h = {:.5}", 1.0 - safe, 1.0 - damaging, plan.slope()))
            .step(format!(
                "{:.5} × {plants} − {:.3} = {:.3}, rounded down",
                plan.slope(),
                plan.lower(),
                plan.slope() * plants as f64 - plan.lower()
            ))
            .step(format!(
                "{:.5} × {plants} + {:.3} = {:.3}, rounded up",
                plan.slope(),
                plan.upper(),
                plan.slope() * plants as f64 + plan.upper()
            ));
        if let Some(found) = given.maybe("found") {
            let found = whole("a number of plants found", "found", found)?;
            answer = answer.words("the plan", plan.judge(found, plants)?.words());
        }
        answer = answer
            .words("safe at or below", limit(limits.safe_at_most))
            .words("at the line from", limit(limits.damaging_at_least))
            .remark(
                "Plants must be chosen at random over the field; plants beside each other tell less than they seem to.",
            )
            .remark("The formulas are from memory, to be verified.");
        Ok(cautions::add(answer))
    },
};

pub(super) const APHIDS: Worksheet = Worksheet {
    name: "aphid-plan",
    title: "Sequential plan for soybean aphid: plants with 40 aphids or more",
    inputs: &[
        Input::required("plants", Takes::Number("plants"), "Plants looked at so far: 11, 16, 21, 26 or 31"),
        Input::required("positive", Takes::Number("plants"), "Plants with 40 aphids or more"),
    ],
    source: APHID_SOURCE,
    example: "--plants 11 --positive 8",
    work: |given| {
        let plants = whole("a number of plants", "plants", given.number("plants"))?;
        let positive = whole("a number of positive plants", "positive", given.number("positive"))?;
        let stop = aphid_plan(positive, plants)?;
        let mut answer = Answer::default()
            .step(format!("{positive} of {plants} plants have 40 aphids or more"))
            .words("the plan", stop.words());
        if stop == Stop::Above {
            answer = answer.remark("To be confirmed by a second visit 3 to 4 days later before anything is decided.");
        }
        answer = answer.remark(
            "Reliability of 75 %; R1 to R5, sources end it at pod set or at pod fill. The rows of 16 to 26 plants and the \
             limits of 31 are from memory, to be verified.",
        );
        Ok(cautions::add(answer))
    },
};

pub(super) const STINK_BUGS: Worksheet = Worksheet {
    name: "stink-bug-plan",
    title: "Sequential plan for stink bugs in corn: bugs on up to 100 plants",
    inputs: &[
        Input::required("stage", Takes::Text, "Stage of the corn: V1 to V6, V14 to VT, R1 to R4"),
        Input::required("bugs", Takes::Number("bugs"), "Bugs found so far"),
        Input::required("plants", Takes::Number("plants"), "Plants looked at so far, 100 at most"),
    ],
    source: STINK_BUG_SOURCE,
    example: "--stage V4 --bugs 8 --plants 100",
    work: |given| {
        let stage = given.text("stage").parse()?;
        let bugs = whole("a number of bugs", "bugs", given.number("bugs"))?;
        let plants = whole("a number of plants", "plants", given.number("plants"))?;
        let stop = stink_bug_plan(stage, bugs, plants)?;
        let mut answer = Answer::default()
            .step(format!("{bugs} bugs on {plants} of {STINK_BUG_PLANTS} plants at {stage}"))
            .words("the plan", stop.words());
        if stage.reproductive_number().is_some_and(|number| number > 2) {
            answer = answer.remark("The author of the plan later shortened the time of protection to R2.");
        }
        Ok(cautions::add(answer.remark("North Carolina; below 100 plants only the upper line decides.")))
    },
};
