//! What must be asked before a stand is destroyed, beside the money.

use jiff::civil::Date;

use super::season::{day_name, month_day};

/// A question that no sum answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Question {
    /// Do the labels of the herbicides already applied let the crop be planted on that day?
    PlantBack,
    /// How much nitrogen is in the ground already, and in what form?
    Nitrogen,
    /// Does the insurer consent before the stand is destroyed?
    Insurer,
    /// Is seed of a fitting hybrid to be had?
    Seed,
    /// Will the crop ripen before frost?
    Frost,
}

words!(Question, "question", {
    PlantBack => "plant-back",
    Nitrogen => "nitrogen",
    Insurer => "insurer",
    Seed => "seed",
    Frost => "frost",
});

/// What is known of a question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Nobody has answered it.
    Open,
    /// The answer is known, and nothing in it speaks against replanting.
    NoConflict,
    /// The answer speaks against replanting on that day.
    Conflict,
}

words!(Standing, "standing", { Open => "open", NoConflict => "no conflict found", Conflict => "conflict" });

/// What the person knows already; everything may be left open.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Answers {
    /// The first day after the plant-back intervals of all herbicides applied, from their labels.
    pub plant_back_over: Option<Date>,
    /// Nitrogen applied already, lb/ac.
    pub nitrogen: Option<f64>,
    /// Whether the insurer has consented.
    pub insurer_consents: Option<bool>,
    /// Whether seed is in hand.
    pub seed_in_hand: Option<bool>,
    /// The latest day on which the hybrid can be planted and ripen before frost.
    pub latest_planting: Option<Date>,
}

/// A question, and what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The question.
    pub question: Question,
    /// What is known.
    pub standing: Standing,
    /// The same in a sentence.
    pub says: String,
}

/// Returns the five questions, always all of them, each with what is known.
///
/// *Units:* dates of one year; nitrogen in lb/ac. *Holds:* always; what a label, a policy or a local code says goes
/// before anything said here. *Errors:* none. *Source:* the steps of R. L. Nielsen, Estimating yield and dollar
/// returns from corn replanting, Purdue Extension AY-264-W, and J. Lauer (2002), Corn replant / late-plant decisions
/// in Wisconsin (seed, herbicides); the insurer's consent: Iowa Farm Bureau (2024), Crop insurance planting dates,
/// Iowa.
///
/// ```
/// use jiff::civil::date;
/// use ligule_agronomy::replant::{Answers, Standing, ask};
/// let known = Answers { plant_back_over: Some(date(2026, 6, 1)), seed_in_hand: Some(true), ..Answers::default() };
/// let asked = ask(&known, date(2026, 5, 20));
/// assert_eq!(asked.len(), 5);
/// assert_eq!(asked[0].standing, Standing::Conflict);
/// assert_eq!(asked[2].standing, Standing::Open);
/// assert_eq!(asked[3].standing, Standing::NoConflict);
/// ```
pub fn ask(answers: &Answers, replanting: Date) -> [Asked; 5] {
    let on = day_name(month_day(replanting));
    let asked = |question, (standing, says): (Standing, String)| Asked { question, standing, says };
    [
        asked(Question::PlantBack, plant_back(answers.plant_back_over, replanting, &on)),
        asked(Question::Nitrogen, nitrogen(answers.nitrogen)),
        asked(Question::Insurer, insurer(answers.insurer_consents)),
        asked(Question::Seed, seed(answers.seed_in_hand)),
        asked(Question::Frost, frost(answers.latest_planting, replanting, &on)),
    ]
}

fn plant_back(over: Option<Date>, replanting: Date, on: &str) -> (Standing, String) {
    match over {
        None => (
            Standing::Open,
            format!(
                "Herbicides already applied: read the plant-back interval of each on its label; is it over by {on}, \
                 and may the herbicide be used again on the new stand? The label is the law."
            ),
        ),
        Some(day) if replanting < day => (
            Standing::Conflict,
            format!("Plant-back intervals run until {}, and replanting is on {on}.", day_name(month_day(day))),
        ),
        Some(day) => (
            Standing::NoConflict,
            format!(
                "Plant-back intervals are given as over from {} on; check each label, which is the law.",
                day_name(month_day(day))
            ),
        ),
    }
}

fn nitrogen(pounds: Option<f64>) -> (Standing, String) {
    match pounds.filter(|pounds| pounds.is_finite() && *pounds >= 0.0) {
        None => (
            Standing::Open,
            "Nitrogen already applied: how much, in what form, and how much may have been lost to water? Tillage \
             must not bring seed into a fresh band."
                .to_owned(),
        ),
        Some(pounds) => (
            Standing::NoConflict,
            format!(
                "{pounds:.0} lb/ac of nitrogen given as applied: count what is left of it toward the new stand, \
                 which yields less and needs less."
            ),
        ),
    }
}

fn insurer(consents: Option<bool>) -> (Standing, String) {
    match consents {
        None => (
            Standing::Open,
            "Insurer: ask for consent before the stand is destroyed, and whether a payment, a late-planting cut or \
             a last date for replanting applies."
                .to_owned(),
        ),
        Some(false) => (
            Standing::Conflict,
            "The insurer has not consented: a stand destroyed without consent may lose its cover.".to_owned(),
        ),
        Some(true) => (Standing::NoConflict, "The insurer's consent is given as had; keep it in writing.".to_owned()),
    }
}

fn seed(in_hand: Option<bool>) -> (Standing, String) {
    match in_hand {
        None => (
            Standing::Open,
            "Seed: is a hybrid or variety that ripens in the time left to be had, with the traits that the \
             herbicides need?"
                .to_owned(),
        ),
        Some(false) => (Standing::Conflict, "No seed in hand: replanting later costs yield each day.".to_owned()),
        Some(true) => (Standing::NoConflict, "Seed is given as in hand.".to_owned()),
    }
}

fn frost(latest: Option<Date>, replanting: Date, on: &str) -> (Standing, String) {
    match latest {
        None => {
            (Standing::Open, format!("Frost: does what is planted on {on} ripen before the first killing frost here?"))
        }
        Some(day) if replanting > day => (
            Standing::Conflict,
            format!("The latest safe planting is given as {}, and replanting is on {on}.", day_name(month_day(day))),
        ),
        Some(day) => {
            (Standing::NoConflict, format!("The latest safe planting is given as {}.", day_name(month_day(day))))
        }
    }
}
