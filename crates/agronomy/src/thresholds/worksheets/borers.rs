//! European corn borer and stalk borer.

use super::money::{COST, PRICE, YIELD};
use crate::catalogue::{Answer, Given, Input, Origin, Takes, Worksheet};
use crate::cautions;
use crate::error::Error;
use crate::harvest::Grain;
use crate::stage::CornStage;
use crate::thresholds::borer::{FORM_NAMES, form};
use crate::thresholds::measure::PLANTS_INFESTED;
use crate::thresholds::{
    BorerCount, Figure, Limit, Reading, Recorded, STALK_BORER_PRICE, STALK_BORER_SOURCE, Threshold, borer_reckoning,
    evaluate, stalk_borer_threshold,
};

pub(super) const CORN_BORER: Worksheet = Worksheet {
    name: "corn-borer",
    title: "European corn borer in corn without Bt: money lost, money saved, economic injury level",
    inputs: &[
        Input::required("form", Takes::Word(FORM_NAMES), "The published form to work"),
        Input::required(
            "counted",
            Takes::Number("a plant"),
            "Larvae, or egg masses, on a plant: the mean of all looked at",
        ),
        Input::optional("stage", Takes::Text, "The case of the loss, `V10`: see the table corn-borer-forms"),
        Input::optional("larvae", Takes::Text, "The case of survival, `newly-hatched`"),
        Input::optional("placement", Takes::Text, "The case of control, `granule`"),
        Input::optional("survival", Takes::Number("for each counted"), "Survival of the field instead of the form's"),
        Input::optional("loss", Takes::Quantity("%"), "Share of the yield lost to one borer instead of the form's"),
        Input::optional("control", Takes::Quantity("%"), "Share of control instead of the form's"),
        YIELD,
        PRICE,
        COST,
    ],
    source: "Pennsylvania State University, Field crop IPM, Table 14; Iowa State University Extension (1996, 1999, 2008); \
             University of Illinois Extension (1997, 1999); North Dakota State University Extension",
    example: "--form pennsylvania --counted 3 --stage V10 --yield 135 --price 3 --cost 15",
    work: |given| {
        let name = given.text("form");
        let form = form(name).expect("the words of the input are the names of the forms");
        let share = |name| given.maybe(name).map(|number| number / 100.0);
        let count = BorerCount {
            counted: given.number("counted"),
            survival: figure(given.maybe("survival"), given, "larvae", form.survival)?,
            loss: figure(share("loss"), given, "stage", form.loss)?,
            beyond: form.beyond,
            cap: form.cap,
            yield_per_acre: given.number("yield"),
            price: given.number("price"),
            control: figure(share("control"), given, "placement", form.control)?,
            cost: given.number("cost"),
        };
        let sum = borer_reckoning(&count)?;
        let mut answer = Answer::default()
            .step(format!("{} {} × {} = {:.4} borers a plant", count.counted, form.counts, count.survival, sum.borers))
            .step(loss_step(&count, sum.borers, sum.loss))
            .step(format!("× {} bu/ac = {:.3} bu/ac", count.yield_per_acre, sum.bushels))
            .step(format!("× {} $/bu = {:.3} $/ac", count.price, sum.dollars))
            .step(format!("× {} control = {:.3} $/ac", count.control, sum.preventable))
            .step(format!("− {} $/ac = {:.3} $/ac", count.cost, sum.net))
            .number("gain or loss", sum.net, 2, "$/ac")
            .number("preventable loss", sum.preventable, 2, "$/ac")
            .number("yield lost", sum.bushels, 2, "bu/ac")
            .of(Grain::Corn);
        answer = match (sum.injury_level, sum.injury_level_counted) {
            (Some(level), Some(counted)) => answer
                .number("economic injury level, surviving", level, 3, "borers a plant")
                .number("economic injury level, counted", counted, 3, "a plant"),
            _ => answer.words("economic injury level", "none: no number of borers pays for this cost"),
        };
        answer = answer
            .remark(format!("{}: {}.", form.source, form.note))
            .remark(
                "The forms differ in survival, loss and control; work more than one. Only for corn without Bt traits.",
            )
            .remark(if sum.net > 0.0 {
                "By this form the loss that can be prevented is worth more than the cost."
            } else {
                "By this form the cost is not covered by the loss that can be prevented."
            });
        if form.origin != Origin::Page {
            answer = answer.remark(format!("The form is {}.", form.origin.words()));
        }
        Ok(cautions::add(answer))
    },
};

/// Returns how the borers of a plant come to a share of the yield, with every end and cap that was met.
fn loss_step(count: &BorerCount, borers: f64, loss: f64) -> String {
    let counted = count.cap.map_or(borers, |cap| borers.min(cap));
    let cap = if counted < borers {
        format!("{counted} of {borers:.4} borers, the cap of the form; ")
    } else {
        String::new()
    };
    let (knee, later) = count.beyond.unwrap_or((f64::INFINITY, 0.0));
    let (first, beyond) = (count.loss * counted.min(knee), later * (counted - knee).max(0.0));
    let mut line = format!("{cap}{} for each borer × {:.4}", count.loss, counted.min(knee));
    if beyond > 0.0 {
        line.push_str(&format!(" + {later} × {:.4} beyond {knee}", counted - knee));
    }
    let straight = first + beyond;
    if straight > loss + 1e-12 {
        format!("{line} = {straight:.4}, capped at {loss:.4}: all of the yield")
    } else {
        format!("{line} = {loss:.4} of the yield")
    }
}

/// Returns the number given instead of the form's, or the form's figure for the case, or its only figure.
fn figure(number: Option<f64>, given: &Given, case: &'static str, figures: &[Figure]) -> Result<f64, Error> {
    if let Some(number) = number {
        return Ok(number);
    }
    let expected = || figures.iter().map(|figure| figure.case).collect::<Vec<_>>().join(", ");
    match (given.maybe_text(case), figures) {
        (Some(text), _) => figures
            .iter()
            .find(|figure| figure.case.eq_ignore_ascii_case(text))
            .map(|figure| figure.value)
            .ok_or_else(|| Error::UnknownWord { input: case, expected: expected(), came: text.to_owned() }),
        (None, [only]) => Ok(only.value),
        (None, _) => Err(Error::UnknownWord { input: case, expected: expected(), came: String::new() }),
    }
}

pub(super) const STALK_BORER: Worksheet = Worksheet {
    name: "stalk-borer",
    title: "Stalk borer in corn beside grass: infested plants against Iowa's threshold at a price of corn",
    inputs: &[
        Input::required("stage", Takes::Text, "Leaf-collar stage, V1 to V7"),
        PRICE,
        Input::optional(
            "infested",
            Takes::Text,
            "Plants with a live larva in the whorl of those looked at, `8/100`, or per cent",
        ),
    ],
    source: STALK_BORER_SOURCE,
    example: "--stage V3 --price 4 --infested 8/100",
    work: |given| {
        let (stage, price) = (given.text("stage").parse::<CornStage>()?, given.number("price"));
        let threshold = stalk_borer_threshold(stage, price)?;
        let mut answer = Answer::default()
            .step(format!(
                "{stage} at {STALK_BORER_PRICE:.2} $/bu, × {STALK_BORER_PRICE} / {price}, to 100 at most = {threshold:.3} %"
            ))
            .number("threshold", threshold, 1, "% of plants");
        if let Some(text) = given.maybe_text("infested") {
            let reading = Reading::read(text).ok_or_else(|| Error::NoNumber {
                input: "infested",
                unit: "",
                came: text.to_owned(),
            })?;
            let rule = Threshold::corn("stalk-borer", &["US-IA"], STALK_BORER_SOURCE)
                .of(PLANTS_INFESTED, Limit::AtLeast(threshold));
            let recorded = Recorded::default().with(PLANTS_INFESTED, reading);
            answer = evaluate::show(answer, "infested plants", &rule.evaluate(&recorded)?);
        }
        answer =
            answer.remark("Only the first four rows beside grass; larvae inside the stalk are out of reach.").remark(
                "The table is for 2 $/bu and the cost of 2001; the scaling by price is derived and no published table.",
            );
        Ok(cautions::add(answer))
    },
};
