//! Replanting as worksheets.

mod budget;
mod potential;
mod soybean;

use super::answer::{Answers, Asked, ask};
use crate::catalogue::{Answer, Given, Input, Takes, Worksheet};
use crate::error::{Error, within};

pub(crate) const WORKSHEETS: &[Worksheet] =
    &[budget::REPLANT, potential::LATEST, potential::POTENTIAL, potential::UNEVEN, soybean::REPLANT];

const PLANT_BACK: Input = Input::optional(
    "plant-back",
    Takes::Day,
    "First day after the plant-back intervals on the labels of herbicides applied",
);
const NITROGEN: Input = Input::optional("nitrogen", Takes::Number("lb/ac"), "Nitrogen already applied");
const CONSENT: Input = Input::optional("insurer", Takes::Word(&["yes", "no"]), "Whether the insurer has consented");
const SEED: Input =
    Input::optional("seed-in-hand", Takes::Word(&["yes", "no"]), "Whether seed of a fitting hybrid is in hand");
const LATEST_DAY: Input =
    Input::optional("latest", Takes::Day, "Latest day on which the hybrid can be planted and ripen before frost");

/// What the person knows of the five questions.
fn answers(given: &Given) -> Result<Answers, Error> {
    let yes = |name| given.maybe_text(name).map(|word| word == "yes");
    let nitrogen = match given.maybe("nitrogen") {
        Some(pounds) => Some(within("nitrogen", pounds, 0.0, 1000.0, " lb/ac")?),
        None => None,
    };
    Ok(Answers {
        plant_back_over: given.day("plant-back"),
        nitrogen,
        insurer_consents: yes("insurer"),
        seed_in_hand: yes("seed-in-hand"),
        latest_planting: given.day("latest"),
    })
}

/// Adds the five questions, always all of them.
fn add_questions(answer: Answer, answers: &Answers, replanting: jiff::civil::Date) -> Answer {
    add_asked(answer, &ask(answers, replanting))
}

fn add_asked(answer: Answer, asked: &[Asked; 5]) -> Answer {
    let answer = asked.iter().fold(answer, |answer, one| {
        answer.remark(format!("{} ({}): {}", one.question.word(), one.standing.word(), one.says))
    });
    answer.remark("The label is the law; the policy, local codes and licensed practice decide.")
}

/// A day that is asked for, read.
fn day(given: &Given, input: &'static str, help: &'static str) -> Result<jiff::civil::Date, Error> {
    given.day(input).ok_or(Error::Missing { input, help })
}
