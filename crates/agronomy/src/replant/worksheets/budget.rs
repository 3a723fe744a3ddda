//! The partial budget of replanting.

use ligule_units::PlantDensity;

use super::{CONSENT, LATEST_DAY, NITROGEN, PLANT_BACK, SEED, add_asked, answers, day};
use crate::catalogue::{Answer, Given, Input, Takes, Worksheet, with_marks};
use crate::error::Error;
use crate::harvest::Grain;
use crate::replant::season::{day_name, month_day};
use crate::replant::{
    BreakEven, Budget, Costs, GapPattern, Planting, Situation, YieldMatrix, break_even_date, break_even_stand, budget,
    gap_loss, sensitivities, yield_potential,
};

const TABLE: Input = Input::required("table", Takes::Word(YieldMatrix::WORDS), "Table of the region");

const fn dollars(name: &'static str, help: &'static str) -> Input {
    Input::usual(name, Takes::Number("$/ac"), "0", help)
}

pub(super) const REPLANT: Worksheet = Worksheet {
    name: "replant",
    title: "Keeping a corn stand against replanting it, every line, and what must be asked",
    inputs: &[
        TABLE,
        Input::optional(
            "replant-table",
            Takes::Word(YieldMatrix::WORDS),
            "Table of the new stand, if another hybrid is planted",
        ),
        Input::required("yield", Takes::CornYield, "Yield of a perfect crop here"),
        Input::required("price", Takes::Number("$/bu"), "What a bushel brings"),
        Input::usual("harvest", Takes::Number("$/bu"), "0", "Cost to harvest and haul a bushel"),
        Input::required("planted", Takes::Day, "When the stand was planted"),
        Input::required("stand", Takes::Quantity("1/[acr_us]"), "Living plants; a doubtful plant counts half"),
        Input::optional("half-width", Takes::Quantity("1/[acr_us]"), "Half the width of the interval of that stand"),
        Input::usual(
            "gaps",
            Takes::Word(GapPattern::WORDS),
            "none",
            "Gaps: several of 1 to 3 ft, or numerous of 4 to 6 ft",
        ),
        Input::usual("late", Takes::Quantity("%"), "0%", "Yield that plants left behind cost"),
        Input::usual("leaves", Takes::Quantity("%"), "0%", "Yield that lost leaves cost, from about V7 on"),
        Input::required("replant-date", Takes::Day, "When it would be replanted"),
        Input::required("replant-stand", Takes::Quantity("1/[acr_us]"), "Stand expected then: seeds times emergence"),
        Input::usual("allowance", Takes::Quantity("%"), "0%", "Taken off the new stand for the troubles of replanting"),
        dollars("seed", "Seed"),
        dollars("seed-credit", "What the dealer gives back for the seed"),
        dollars("removal", "Tillage or burn-down of the old stand"),
        dollars("herbicide", "Herbicide that the new stand needs beside that"),
        dollars("insecticide", "Insecticide"),
        dollars("fertilizer", "Starter, and nitrogen that must be given again"),
        dollars("planting", "The planting itself"),
        dollars("interest", "Interest on what is spent"),
        dollars("insurance", "What the insurer pays for replanting"),
        Input::usual("drying-points", Takes::Number("points"), "0", "How many points wetter the new crop comes off"),
        Input::usual(
            "drying-cost",
            Takes::Number("$ a point and bushel"),
            "0",
            "What it costs to dry a bushel by a point",
        ),
        PLANT_BACK,
        NITROGEN,
        CONSENT,
        SEED,
        LATEST_DAY,
    ],
    source: "Yields: E. D. Nafziger (1994), as printed by R. L. Nielsen (2006, 2012); Iowa State University \
             Extension (2001, 2010); J. Lauer (2003), University of Wisconsin. Gaps: Iowa State University (1996, \
             2004). Partial budget: arithmetic; steps after R. L. Nielsen, Purdue Extension AY-264-W, and J. Lauer \
             (2002), A035",
    example: "--table illinois --yield 180 --price 4.50 --planted 2026-04-25 --stand 18000 --gaps large \
              --replant-date 2026-05-20 --replant-stand 30000 --seed 100 --removal 12 --planting 20 --drying-points \
              4 --drying-cost 0.05",
    work: |given| {
        let situation = situation(given)?;
        let half_width = given.maybe("half-width").map(PlantDensity::from_per_acre);
        let budget = budget(&situation, &answers(given)?)?;
        let answer = yield_steps(Answer::default(), &situation, &budget)?;
        let answer = budget.lines.iter().fold(answer, |answer, line| {
            answer.step(format!("{}: {} = {} $/ac", line.what, line.working, with_marks(line.dollars, 2)))
        });
        let answer = answer
            .step(format!("net of replanting against keeping: {} $/ac", with_marks(budget.net, 2)))
            .number("net of replanting", budget.net, 2, "$/ac")
            .words("by this sum", if budget.net > 0.0 { "replanting brings more, before risk" } else { "keep" })
            .number("yield of the stand kept", budget.kept_yield, 2, "bu/ac")
            .of(Grain::Corn)
            .number("yield of the replanted stand", budget.replanted_yield, 2, "bu/ac")
            .of(Grain::Corn);
        let answer = break_even(answer, &situation)?;
        let answer = sensitive(answer, &situation, half_width)?;
        let answer = add_asked(answer, &budget.asked).remark(situation.kept.matrix.holds());
        Ok(answer.remark(
            "Published tables differ by 11 points for 20,000 early plants, and by some 25 for a full stand of 9 June: see \
             what the choice of table does.",
        ))
    },
};

fn situation(given: &Given) -> Result<Situation, Error> {
    let matrix: YieldMatrix = given.text("table").parse()?;
    let new_matrix = given.maybe_text("replant-table").map_or(Ok(matrix), str::parse)?;
    let share = |name| given.number(name) / 100.0;
    // A published range of penalties is taken at its middle; the sensitivities go over all of it.
    let (least, most) = gap_loss(given.text("gaps").parse()?);
    let kept = Planting {
        gaps: f64::midpoint(least, most),
        unevenness: share("late"),
        leaves: share("leaves"),
        ..Planting::uniform(matrix, day(given, "planted", "When the stand was planted")?, given.per_acre("stand"))
    };
    let replant_date = day(given, "replant-date", "When it would be replanted")?;
    let replanted = Planting {
        allowance: share("allowance"),
        ..Planting::uniform(new_matrix, replant_date, given.per_acre("replant-stand"))
    };
    Ok(Situation {
        full_yield: given.number("yield"),
        price: given.number("price"),
        harvest_cost: given.number("harvest"),
        kept,
        replanted,
        costs: Costs {
            seed: given.number("seed"),
            seed_credit: given.number("seed-credit"),
            removal: given.number("removal"),
            herbicide: given.number("herbicide"),
            insecticide: given.number("insecticide"),
            fertilizer: given.number("fertilizer"),
            planting: given.number("planting"),
            interest: given.number("interest"),
            insurance: given.number("insurance"),
        },
        drying_points: given.number("drying-points"),
        drying_cost: given.number("drying-cost"),
    })
}

fn yield_steps(answer: Answer, s: &Situation, budget: &Budget) -> Result<Answer, Error> {
    let line = |what: &str, planting: &Planting, share: f64, bushels: f64| -> Result<String, Error> {
        let potential = yield_potential(planting.matrix, planting.planted, planting.stand)?;
        let losses = planting.losses().into_iter().filter(|loss| *loss > 0.0);
        let losses: String = losses.map(|loss| format!(" × (1 − {loss:.3})")).collect();
        Ok(format!(
            "{what}: {} plants/ac of {}: {:.1} %{losses} = {:.2} % of {} = {bushels:.2} bu/ac",
            with_marks(planting.stand.per_acre(), 0),
            day_name(month_day(planting.planted)),
            potential * 100.0,
            share * 100.0,
            (s.full_yield * 100.0).round() / 100.0
        ))
    };
    Ok(answer.step(line("kept", &s.kept, budget.kept_share, budget.kept_yield)?).step(line(
        "replanted",
        &s.replanted,
        budget.replanted_share,
        budget.replanted_yield,
    )?))
}

fn break_even(answer: Answer, s: &Situation) -> Result<Answer, Error> {
    let answer = match break_even_stand(s)? {
        BreakEven::At(stand) => answer.number("break-even stand", stand.per_acre(), 0, "plants/ac"),
        BreakEven::ReplantThroughout => {
            answer.words("break-even stand", "none inside the table: replanting brings more at every stand")
        }
        BreakEven::KeepThroughout => {
            answer.words("break-even stand", "none inside the table: keeping brings more at every stand")
        }
    };
    Ok(match break_even_date(s)? {
        BreakEven::At(date) => answer.words("last day on which replanting pays", day_name(month_day(date))),
        BreakEven::ReplantThroughout => answer.words(
            "last day on which replanting pays",
            "none inside the table: replanting brings more to its last day",
        ),
        BreakEven::KeepThroughout => {
            answer.words("last day on which replanting pays", "none inside the table: keeping brings more on every day")
        }
    })
}

fn sensitive(answer: Answer, s: &Situation, half_width: Option<PlantDensity>) -> Result<Answer, Error> {
    let ranked = sensitivities(s, half_width)?;
    let answer = match ranked.first() {
        Some(first) => answer.words("most sensitive to", first.input),
        None => answer,
    };
    Ok(ranked.iter().fold(answer, |answer, one| {
        let [low, high] = &one.ends;
        answer.step(format!(
            "{} ({}): {} gives {}, {} gives {} $/ac{}{}",
            one.input,
            one.range,
            low.at,
            with_marks(low.net, 2),
            high.at,
            with_marks(high.net, 2),
            if one.turns { "; turns the sum" } else { "" },
            if one.cut { "; cut at the edge of the table" } else { "" }
        ))
    }))
}
