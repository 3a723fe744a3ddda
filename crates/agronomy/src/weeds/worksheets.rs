//! The sums of weeds as worksheets. Every one that bears on a treatment shows the cautions.

use crate::catalogue::{Answer, Input, Takes, Worksheet, plain};
use crate::cautions;
use crate::error::Error;
use crate::stage::CornStage;
use crate::thresholds::{break_even_loss, valid_control};
use crate::weeds::observed::WEEDS;
use crate::weeds::{
    ATRAZINE_ERODIBLE, ATRAZINE_POST, ATRAZINE_YEAR, AtrazineApplication, Hyperbola, Species, atrazine_year,
    days_until_height, loss_with_emergence, nebraska_period, observations_of,
};

const CURVES: &str =
    "The parameters come from one place and year; there is no set that holds for a region. Show a range.";

/// What was seen where a curve through one loss at a low density gave too little at a high one.
fn falls_short() -> Result<String, Error> {
    let seen: Vec<_> = observations_of("palmer-amaranth").collect();
    let (Some(thin), Some(dense)) = (seen.first(), seen.last()) else {
        return Err(Error::TooFew { what: "observations", needed: 2, came: seen.len() });
    };
    let curve = Hyperbola::through(thin.density, thin.loss, 100.0)?;
    Ok(format!(
        "At high densities losses may exceed the curve: palmer-amaranth lost {:.0} % at {} per m, where the curve through \
         its {:.0} % at {} per m (I = {:.1}) gives {:.1} % ({}). Name the `weed` to see its observed losses.",
        dense.loss,
        dense.density,
        thin.loss,
        thin.density,
        curve.per_plant(),
        curve.loss(dense.density)?,
        dense.source
    ))
}

pub(crate) const WORKSHEETS: &[Worksheet] = &[
    Worksheet {
        name: "weed-loss",
        title: "Yield loss to one weed or several, by density",
        inputs: &[
            Input::required("per-plant", Takes::Number("%"), "Loss to the first plants, I, per cent for each plant per metre of row; several weeds with blanks between").many(),
            Input::required("density", Takes::Number("plants per m"), "Weeds per metre of row, as many numbers as above").many(),
            Input::usual("most", Takes::Quantity("%"), "100", "The loss that no density passes, A"),
            Input::optional("weed", Takes::Word(WEEDS), "A weed whose observed losses are shown beside the curve"),
            Input::optional("cost", Takes::Number("$/ac"), "Cost of a treatment, for the density that pays for it"),
            Input::usual("price", Takes::Number("$/bu"), "4", "Price of the crop, where a cost is given"),
            Input::usual("yield", Takes::Quantity("[bu_us]/[acr_us]"), "180", "Expected yield without weeds, where a cost is given"),
            Input::usual("control", Takes::Quantity("%"), "100%", "Share of the loss that the treatment prevents"),
        ],
        source: "R. Cousens (1985), Annals of Applied Biology 107:239-252 (from memory, to be verified); several weeds: S. M. \
                 Swinton et al. (1994), Weed Science 42:103-109",
        example: "--per-plant '3.35 1.69' --density '2 10'",
        work: |given| {
            let (per_plant, density, most) = (given.numbers("per-plant"), given.numbers("density"), given.number("most"));
            if per_plant.len() != density.len() {
                let (needed, came) = (per_plant.len().max(density.len()), per_plant.len().min(density.len()));
                return Err(Error::TooFew { what: "losses and densities alike", needed, came });
            }
            let weeds: Vec<Species> =
                per_plant.iter().zip(density).map(|(&per_plant, &density)| Species { per_plant, density }).collect();
            let loss = Hyperbola::loss_to_several(&weeds, most)?;
            let sum: f64 = weeds.iter().map(|weed| weed.per_plant * weed.density).sum();
            let terms: Vec<_> = weeds.iter().map(|weed| format!("{} × {}", weed.per_plant, weed.density)).collect();
            let mut answer = Answer::default()
                .step(format!("S = {} = {sum:.4}", terms.join(" + ")))
                .step(format!("{sum:.4} / (1 + {sum:.4} / {most}) = {loss:.4} %"))
                .number("yield loss", loss, 2, "%");
            if let (Some(cost), [weed]) = (given.maybe("cost"), weeds.as_slice()) {
                let control = valid_control(given.number("control") / 100.0)?;
                let needed = 100.0 * break_even_loss(cost, given.number("price"), given.number("yield"))? / control;
                let pays = if needed <= 100.0 { Hyperbola::new(weed.per_plant, most)?.density(needed)? } else { None };
                answer = answer.step(format!("a loss of {needed:.3} % pays for {cost} $/ac at {control} control"));
                answer = match pays {
                    Some(density) => answer.number("density that pays, one year", density, 2, "plants per m"),
                    None => answer.words("density that pays, one year", "none: no density costs that much"),
                };
            }
            if let (Some(name), [weed]) = (given.maybe_text("weed"), weeds.as_slice()) {
                let curve = Hyperbola::new(weed.per_plant, most)?;
                for seen in observations_of(name) {
                    let ours = curve.loss(seen.density)?;
                    answer = answer.remark(format!(
                        "{name}: {:.0} % was observed at {:.2} per m, the curve gives {ours:.1} % ({}).",
                        seen.loss, seen.density, seen.source
                    ));
                }
            }
            if given.maybe_text("weed").is_none() {
                answer = answer.remark(falls_short()?);
            }
            answer = answer.remark(CURVES).remark("The form of the curve is from memory, to be verified; seed that is shed is left out.");
            Ok(cautions::add(answer))
        },
    },
    Worksheet {
        name: "weed-loss-by-emergence",
        title: "Yield loss to a weed by density and time of emergence",
        inputs: &[
            Input::required("per-plant", Takes::Number("%"), "Loss to the first plants, b, per cent for each plant"),
            Input::usual("most", Takes::Quantity("%"), "100", "The loss that no density passes, a"),
            Input::required("decline", Takes::Number("per day"), "Decline with each day of later emergence, c"),
            Input::required("density", Takes::Number("plants"), "Weeds per unit, the unit of b"),
            Input::required("days", Takes::Number("days"), "Days from the emergence of the crop to that of the weed"),
        ],
        source: "R. Cousens et al. (1987), The use of biologically realistic equations to describe the effects of weed \
                 density and relative time of emergence on crop yield, Weed Science 35:720-725 (equation from memory, to be \
                 verified)",
        example: "--per-plant 4 --most 80 --decline 0.1 --density 5 --days -7",
        work: |given| {
            let [b, most, c, density, days] =
                ["per-plant", "most", "decline", "density", "days"].map(|name| given.number(name));
            let loss = loss_with_emergence(b, most, c, density, days)?;
            let answer = Answer::default()
                .step(format!("{b} × {density} = {:.4}; e^({c} × {days}) = {:.4}", b * density, (c * days).exp()))
                .step(format!("{:.4} / ({:.4} + {:.4} / {most}) = {loss:.4} %", b * density, (c * days).exp(), b * density))
                .number("yield loss", loss, 2, "%")
                .remark(CURVES)
                .remark("The equation is from memory, to be verified. Negative days: the weed came first.");
            Ok(cautions::add(answer))
        },
    },
    Worksheet {
        name: "critical-period",
        title: "Critical weed-free period of corn by nitrogen rate, Nebraska",
        inputs: &[
            Input::required("nitrogen", Takes::Number("lb/ac"), "Nitrogen applied, 0 to 210"),
            Input::optional("stage", Takes::Text, "Leaf-collar stage of the corn"),
        ],
        source: "University of Nebraska-Lincoln, CropWatch, Critical period for weed control in corn",
        example: "--nitrogen 110 --stage V5",
        work: |given| {
            let nitrogen = given.number("nitrogen");
            let period = nebraska_period(nitrogen)?;
            let stages = |(a, b): (CornStage, CornStage)| if a == b { a.to_string() } else { format!("{a} to {b}") };
            let mut answer = Answer::default().step(format!(
                "{nitrogen} lb/ac: begins {}, ends {}, for 5 % loss",
                stages(period.begins),
                stages(period.ends)
            ));
            if let Some(stage) = given.maybe_text("stage") {
                answer = answer.words("this stage", period.judge(stage.parse()?).words());
            }
            answer = answer
                .words("begins", stages(period.begins))
                .words("ends", stages(period.ends))
                .range("first day after emergence", period.first_day, 0, "days")
                .range("last day after emergence", period.last_day, 0, "days")
                .remark("Dryland, 80 to 120 weeds a square yard. Other places found other times: see the table weed-removal.");
            Ok(cautions::add(answer))
        },
    },
    Worksheet {
        name: "weed-height",
        title: "Days until a weed passes a height limit",
        inputs: &[
            Input::required("height", Takes::Quantity("[in_i]"), "Height of the weed now"),
            Input::required("limit", Takes::Quantity("[in_i]"), "Height limit"),
            Input::required("growth", Takes::Quantity("[in_i]"), "Growth in a day: see the table weed-growth"),
        ],
        source: "definition; growth of waterhemp and Palmer amaranth from a page of the trade, source not traceable",
        example: "--height 2in --limit 4in --growth 1.25in",
        work: |given| {
            let days = days_until_height(given.inches("height"), given.inches("limit"), given.inches("growth"))?;
            let [height, limit, growth] = ["height", "limit", "growth"].map(|name| given.number(name));
            let answer = Answer::default()
                .step(if height < limit {
                    format!("({} − {}) / {} = {days:.2} days", plain(limit), plain(height), plain(growth))
                } else {
                    format!("{} in is at or over the limit of {} in: no days left", plain(height), plain(limit))
                })
                .number("days left", days, 1, "days")
                .remark("Growth changes with warmth and water; measure twice to know the field's own.");
            Ok(cautions::add(answer))
        },
    },
    Worksheet {
        name: "atrazine-year",
        title: "Atrazine of a calendar year against its limits",
        inputs: &[
            Input::optional("pre", Takes::Number("lb ai/ac"), "Applications before emergence").many(),
            Input::optional("post", Takes::Number("lb ai/ac"), "Applications after emergence").many(),
            Input::usual(
                "erodible",
                Takes::Word(&["no", "yes"]),
                "no",
                "Highly erodible land with less than 30 % of the surface under residue",
            ),
        ],
        source: "Cornell University, Field Crops, Atrazine application rates",
        example: "--pre 1.6 --post 1.0",
        work: |given| {
            let of = |name, post| given.numbers(name).iter().map(move |&rate| AtrazineApplication { rate, post });
            let applications: Vec<_> = of("pre", false).chain(of("post", true)).collect();
            let year = atrazine_year(&applications, given.text("erodible") == "yes")?;
            let terms: Vec<_> = applications.iter().map(|application| application.rate.to_string()).collect();
            let mut passed = Vec::new();
            if year.over_year {
                passed.push(format!("over {ATRAZINE_YEAR} in the calendar year"));
            }
            if year.over_post {
                passed.push(format!("over {ATRAZINE_POST} in one application after emergence"));
            }
            if year.over_erodible {
                passed.push(format!("over {ATRAZINE_ERODIBLE} before emergence on erodible land with little residue"));
            }
            let found = if passed.is_empty() { "no conflict found; read the label".to_owned() } else { passed.join("; ") };
            let answer = Answer::default()
                .step(format!("{} = {:.3} lb ai/ac", terms.join(" + "), year.total))
                .number("atrazine of the year", year.total, 2, "lb ai/ac")
                .words("against the limits", found)
                .remark("Every premix counts. States, provinces and counties may set lower limits, or none may be used at all.");
            Ok(cautions::add(answer))
        },
    },
];
