//! Injury levels from costs and prices.

use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::cautions;
use crate::error::Error;
use crate::thresholds::measure::{LEAVES_WITH_MITES, MITE_DAMAGE};
use crate::thresholds::{
    Economics, Limit, MITE_AREA, MITE_LEAVES, MITE_SOURCE, Reading, Recorded, Threshold, USUAL_FRACTIONS,
    break_even_loss, economic_injury_level, evaluate, fractional_threshold, gain_threshold, lead_time_threshold,
    mite_levels,
};

pub(super) const COST: Input =
    Input::required("cost", Takes::Number("$/ac"), "Cost of the treatment, material and application");
pub(super) const PRICE: Input = Input::required("price", Takes::Number("$/bu"), "Price of the crop");
pub(super) const YIELD: Input = Input::required("yield", Takes::Quantity("[bu_us]/[acr_us]"), "Expected yield");

pub(super) const INJURY_LEVEL: Worksheet = Worksheet {
    name: "economic-injury-level",
    title: "Pests in each sampling unit at which a treatment pays for itself, and when to act",
    inputs: &[
        COST,
        PRICE,
        Input::required("loss", Takes::Quantity("[bu_us]/[acr_us]"), "Yield lost to one pest in each sampling unit"),
        Input::required("control", Takes::Quantity("%"), "Share of the loss that the treatment prevents"),
        Input::optional("rate", Takes::Number("per day"), "Growth rate of the pest"),
        Input::usual("lead", Takes::Quantity("d"), "7", "Days from scouting to effect, where a rate is given"),
    ],
    source: "V. M. Stern et al. (1959), The integrated control concept, Hilgardia 29:81-101; L. P. Pedigo, Economic \
             thresholds and economic injury levels, Radcliffe's IPM World Textbook (symbols from memory, to be verified)",
    example: "--cost 15 --price 3 --loss 7.965 --control 72%",
    work: |given| {
        let [cost, price, loss] = ["cost", "price", "loss"].map(|name| given.number(name));
        let control = given.number("control") / 100.0;
        let level = economic_injury_level(&Economics { cost, price, loss, control })?;
        let mut answer = Answer::default()
            .step(format!("{cost} / ({price} × {loss} × {control}) = {level:.4}"))
            .number("economic injury level", level, 3, "in each sampling unit");
        if let Some(rate) = given.maybe("rate") {
            let days = given.number("lead");
            let threshold = lead_time_threshold(level, rate, days)?;
            answer = answer.step(format!("{level:.4} × e^(−{rate} × {days}) = {threshold:.4}")).number(
                "action threshold by growth",
                threshold,
                3,
                "in each sampling unit",
            );
        }
        let [low, high] = USUAL_FRACTIONS;
        let ends = (fractional_threshold(level, low)?, fractional_threshold(level, high)?);
        answer = answer
            .step(format!("× {low} to {high}, by convention = {:.4} to {:.4}", ends.0, ends.1))
            .range("action threshold by convention", ends, 3, "in each sampling unit")
            .remark("Holds where damage is nearly in proportion to the pests, one pest is at work, and price and yield are honest.")
            .remark("The share of 0.75 to 0.8 is a convention from memory, to be verified.");
        Ok(cautions::add(answer))
    },
};

pub(super) const BREAK_EVEN: Worksheet = Worksheet {
    name: "break-even-loss",
    title: "Share of the yield that pays for a treatment",
    inputs: &[COST, PRICE, YIELD],
    source: "Cornell University, Northeast Region Certified Crop Adviser study resources, pest management, performance \
             objective 7",
    example: "--cost 18 --price 4.50 --yield 200",
    work: |given| {
        let [cost, price, yield_per_acre] = ["cost", "price", "yield"].map(|name| given.number(name));
        let share = break_even_loss(cost, price, yield_per_acre)?;
        let gain = gain_threshold(cost, price)?;
        let answer = Answer::default()
            .step(format!("{cost} / ({price} × {yield_per_acre}) = {share:.5}"))
            .step(format!("{cost} / {price} = {gain:.3} bu/ac"))
            .number("break-even loss", 100.0 * share, 2, "%")
            .number("gain threshold", gain, 2, "bu/ac")
            .remark("The treatment is reckoned to save all of the loss; where it saves less, more must be at stake.");
        Ok(cautions::add(answer))
    },
};

pub(super) const SPIDER_MITES: Worksheet = Worksheet {
    name: "spider-mites-corn",
    title: "Economic injury levels of spider mites in corn: leaves first, then leaf area",
    inputs: &[
        COST,
        PRICE,
        YIELD,
        Input::optional(
            "leaves",
            Takes::Text,
            "Green leaves with live mites of those looked at, `30/120`, or per cent",
        ),
        Input::optional("area", Takes::Quantity("%"), "Leaf area damaged"),
    ],
    source: MITE_SOURCE,
    example: "--cost 25 --price 4.50 --yield 200 --leaves 30/120 --area 5%",
    work: |given| {
        let [cost, price, yield_per_acre] = ["cost", "price", "yield"].map(|name| given.number(name));
        let levels = mite_levels(cost, price, yield_per_acre)?;
        let worth = price * yield_per_acre;
        let mut answer = Answer::default()
            .step(format!(
                "{cost} × {MITE_LEAVES} / ({price} × {yield_per_acre} = {worth:.2}) = {:.3} %",
                levels.leaves
            ))
            .step(format!("{cost} × {MITE_AREA} / {worth:.2} = {:.3} %", levels.area))
            .number("green leaves with mites", levels.leaves, 2, "%")
            .number("leaf area damaged", levels.area, 2, "%");
        let rule = Threshold::corn("spider-mites-corn", &["US-NE", "US-IA"], MITE_SOURCE);
        if let Some(text) = given.maybe_text("leaves") {
            let reading = Reading::read(text).ok_or_else(|| Error::NoNumber {
                input: "leaves",
                unit: "",
                came: text.to_owned(),
            })?;
            let recorded = Recorded::default().with(LEAVES_WITH_MITES, reading);
            let rule = rule.of(LEAVES_WITH_MITES, Limit::AtLeast(levels.leaves));
            answer = evaluate::show(answer, "leaves", &rule.evaluate(&recorded)?);
        }
        if let Some(area) = given.maybe("area") {
            let recorded = Recorded::default().with(MITE_DAMAGE, Reading::Amount(area));
            let rule = rule.of(MITE_DAMAGE, Limit::AtLeast(levels.area));
            answer = evaluate::show(answer, "area", &rule.evaluate(&recorded)?);
        }
        answer = answer
            .remark("Both must be reached. No gain is published after dent (Iowa) or hard dough (Nebraska).")
            .remark("A level over 100 % means that no infestation pays for this cost.");
        Ok(cautions::add(answer))
    },
};
