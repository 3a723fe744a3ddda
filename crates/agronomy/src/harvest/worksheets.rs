//! Harvest as worksheets.

use ligule_units::Area;

use super::components::{KERNEL_FACTORS, USUAL_KERNEL_FACTOR, component_yield, component_yield_range, kernel_factor};
use super::grain::Grain;
use super::late::{LatePlants, late_count, stand_kept};
use super::moisture::{dried_weight, water_shrink};
use super::plot::{kilograms_per_hectare, plot_yield};
use super::test_weight::{test_weight_grade, test_weight_metric};
use crate::catalogue::{Answer, Input, Origin, Takes, Worksheet, plain, with_marks};
use crate::error::{Error, within};
use crate::statistics::USUAL_LEVEL;

pub(crate) const WORKSHEETS: &[Worksheet] = &[COMPONENTS, LATE, PLOT, SHRINK, TEST_WEIGHT];

const GRAIN: Input =
    Input::usual("grain", Takes::Word(Grain::WORDS), "corn", "Corn (15.5 %, 56 lb) or soybean (13 %, 60 lb)");
const KARKI: &str = "D. Karki (2020), Corn grain moisture discount, South Dakota State University; D. R. Hicks, H. \
                     A. Cloud, National Corn Handbook NCH-61; soybean: T. Dorn (2009), University of Nebraska";

const COMPONENTS: Worksheet = Worksheet {
    name: "yield-components",
    title: "Yield of corn before harvest, from ears, kernel rows and kernels",
    inputs: &[
        Input::required(
            "ears",
            Takes::Number("ears"),
            "Harvestable ears on a thousandth of an acre, mean of the places",
        ),
        Input::required("rows", Takes::Number("rows"), "Kernel rows around the ear, mean of every fifth ear"),
        Input::required("kernels", Takes::Number("kernels"), "Kernels in a row, without those under half size"),
        Input::optional(
            "kernel-factor",
            Takes::Number("thousand kernels a bushel"),
            "Kernel factor, 50 to 150; 85 if left out",
        ),
        Input::optional("kernel-weight", Takes::Quantity("g"), "Or the weight of 100 kernels at 15.5 % moisture"),
    ],
    source: "R. L. Nielsen (2021), Estimating corn grain yield prior to harvest, Purdue University; G. Roth (2014), \
             Corn yields and kernel size, Penn State University; Extension Foundation, How can you estimate corn \
             yield prior to harvest?",
    example: "--ears 30 --rows 16 --kernels 31",
    work: |given| {
        let (ears, rows, kernels) = (given.number("ears"), given.number("rows"), given.number("kernels"));
        let factor = match (given.maybe("kernel-factor"), given.maybe("kernel-weight")) {
            (Some(factor), _) => factor,
            (None, Some(grams)) => kernel_factor(grams)?,
            (None, None) => USUAL_KERNEL_FACTOR,
        };
        let bushels = component_yield(ears, rows, kernels, factor)?;
        let range = component_yield_range(ears, rows, kernels)?;
        let total = with_marks(ears * rows * kernels, 0);
        let mut answer = Answer::default();
        if let (None, Some(grams)) = (given.maybe("kernel-factor"), given.maybe("kernel-weight")) {
            answer = answer.step(format!("2,540 / {grams} g = {factor:.1} thousand kernels a bushel"));
        }
        answer = answer.step(format!("{ears} × {rows} × {kernels} = {total} kernels on a thousandth of an acre"));
        answer = answer.step(format!("{total} / {factor:.1} = {bushels:.1} bu/ac"));
        for one in &KERNEL_FACTORS {
            let bushels = component_yield(ears, rows, kernels, one.thousand)?;
            answer = answer.step(format!("at {} ({}): {bushels:.1} bu/ac", one.thousand, one.says));
        }
        Ok(answer
            .number("yield", bushels, 1, "bu/ac")
            .of(Grain::Corn)
            .range("over every published kernel factor", range, 0, "bu/ac")
            .of(Grain::Corn)
            .remark("The kernel factor is contested, and 85 is common practice without a source: show the range.")
            .remark("Count at 5 to 10 places or more; an error of 20 bu/ac is common (from memory, to be verified)."))
    },
};

const SHRINK: Worksheet = Worksheet {
    name: "shrink",
    title: "Weight and standard bushels of wet grain after drying",
    inputs: &[
        GRAIN,
        Input::required("weight", Takes::Quantity("[lb_av]"), "Weight of the wet grain"),
        Input::required("moisture", Takes::Quantity("%"), "Its moisture, of the wet weight"),
        Input::optional("to", Takes::Quantity("%"), "Moisture after drying; the standard of the grain if left out"),
        Input::usual(
            "handling",
            Takes::Quantity("%"),
            "0%",
            "Dry matter lost in drying and handling, of the wet weight: commonly 0.5 %",
        ),
    ],
    source: KARKI,
    example: "--weight '1000 lb' --moisture 25.5% --handling 0.5%",
    work: |given| {
        let grain: Grain = given.text("grain").parse()?;
        let (wet, from) = (given.number("weight"), given.number("moisture") / 100.0);
        let to = given.maybe("to").map_or(grain.standard_moisture(), |percent| percent / 100.0);
        let loss = given.number("handling") / 100.0;
        if from <= to {
            return already_dry(grain, wet, from, to);
        }
        let shrink = water_shrink(from, to)?;
        let dried = dried_weight(wet, from, to, loss)?;
        // Grain wetter than the standard counts at the standard; drier grain is paid by its weight.
        let standard = to.max(grain.standard_moisture());
        let bushels = dried_weight(dried, standard, grain.standard_moisture(), 0.0)? / grain.bushel();
        let answer = if to < grain.standard_moisture() {
            let (to, standard) = (to * 100.0, grain.standard_moisture() * 100.0);
            Answer::default().remark(format!(
                "Dried to {to:.1} %, below the standard of {standard:.1} %: the water that is missing is not paid."
            ))
        } else {
            Answer::default()
        };
        Ok(answer
            .step(format!(
                "water: 1 − (100 − {:.1}) / (100 − {:.1}) = {:.2} %",
                from * 100.0,
                to * 100.0,
                shrink * 100.0
            ))
            .step(format!("{} lb × (1 − {shrink:.4} − {loss:.4}) = {} lb", with_marks(wet, 0), with_marks(dried, 2)))
            .step(format!(
                "/ {} lb = {} bu at {:.1} %",
                grain.bushel(),
                with_marks(bushels, 2),
                grain.standard_moisture() * 100.0
            ))
            .number("standard bushels", bushels, 2, "bu")
            .number("weight after drying", dried, 2, "lb")
            .number("water shrink", shrink * 100.0, 2, "%")
            .remark(
                "Handling losses measured 0.22 to 1.71 %; they are taken off the wet weight here, as buyers' \
                     tables do.",
            )
            .remark("A buyer's own shrink factor (1.2 to 1.5 % a point) takes more than water."))
    },
};

/// Grain that is no wetter than what it would be dried to: nothing is dried, no weight is gained.
fn already_dry(grain: Grain, weight: f64, moisture: f64, to: f64) -> Result<Answer, Error> {
    let standard = grain.standard_moisture();
    let counts = dried_weight(weight, moisture.max(standard), standard, 0.0)?;
    let bushels = counts / grain.bushel();
    let (moisture_percent, to) = (moisture * 100.0, to * 100.0);
    let mut answer = Answer::default()
        .step(format!("{moisture_percent:.1} % is no wetter than {to:.1} %: nothing to dry, no water to take off"));
    if moisture > standard {
        answer = answer.step(format!("at {:.1} %: {} lb", standard * 100.0, with_marks(counts, 2)));
    }
    answer = answer
        .step(format!("{} lb / {} lb = {} bu", with_marks(counts, 2), grain.bushel(), with_marks(bushels, 2)))
        .number("standard bushels", bushels, 2, "bu")
        .words("weight after drying", format!("{} lb, as it is", with_marks(weight, 2)))
        .number("water shrink", 0.0, 2, "%");
    if moisture < standard {
        let same = dried_weight(weight, moisture, standard, 0.0)?;
        answer = answer.remark(format!(
            "Its dry matter would be {} lb at {:.1} %, but grain gains no weight by drying, and buyers do not pay for \
             water that is not there.",
            with_marks(same, 2),
            standard * 100.0
        ));
    }
    Ok(answer)
}

const PLOT: Worksheet = Worksheet {
    name: "plot-yield",
    title: "Yield of a hand-harvested plot",
    inputs: &[
        GRAIN,
        Input::required("weight", Takes::Quantity("[lb_av]"), "Net weight of the shelled or threshed grain"),
        Input::required("moisture", Takes::Quantity("%"), "Its moisture, of the wet weight"),
        Input::required("area", Takes::Quantity("[sft_i]"), "Area of the plot: row width × length of row × rows"),
    ],
    source: "43,560 square feet in an acre; J. Lauer (2002), Methods for calculating corn yield, University of \
             Wisconsin A033",
    example: "--weight '10.5 lb' --moisture 22% --area '43.56 sq ft'",
    work: |given| {
        let grain: Grain = given.text("grain").parse()?;
        let (pounds, moisture) = (given.number("weight"), given.number("moisture") / 100.0);
        let feet = given.number("area");
        let bushels = plot_yield(grain, pounds, moisture, Area::from_square_feet(feet))?;
        let standard = 100.0 - grain.standard_moisture() * 100.0;
        Ok(Answer::default()
            .step(format!(
                "{pounds} lb × (100 − {:.1}) / {standard:.1} / {} lb × 43,560 / {feet} sq ft = {bushels:.1} bu/ac",
                moisture * 100.0,
                grain.bushel()
            ))
            .number("yield", bushels, 1, "bu/ac")
            .number("yield, metric", kilograms_per_hectare(grain, bushels)?, 0, "kg/ha")
            .remark(
                "Nothing is lost in a hand-harvested plot: a combine brings less. One plot is one sample; take \
                     several.",
            ))
    },
};

const TEST_WEIGHT: Worksheet = Worksheet {
    name: "test-weight",
    title: "Test weight of corn, metric and by US grade",
    inputs: &[Input::required("test-weight", Takes::Quantity("[lb_av]/[bu_us]"), "Test weight")],
    source: "A bushel of volume is 2,150.42 cubic inches; United States standards for corn, No. 1 and No. 2 as \
             quoted on a page, No. 3 to No. 5 from memory, to be verified",
    example: "--test-weight 55",
    work: |given| {
        let pounds = given.number("test-weight");
        let metric = test_weight_metric(pounds)?;
        let answer = Answer::default()
            .step(format!("{} lb/bu × 0.45359 kg/lb / 0.35239 hL/bu = {metric:.2} kg/hL", plain(pounds)))
            .number("test weight", metric, 2, "kg/hL");
        let answer = match test_weight_grade(pounds)? {
            Some((grade, Origin::Memory)) => answer
                .words("best grade by test weight", grade)
                .remark("The limit of this grade is from memory, to be verified."),
            Some((grade, _)) => answer.words("best grade by test weight", grade),
            None => answer.words("best grade by test weight", "below all (46 lb/bu: from memory, to be verified)"),
        };
        Ok(answer.remark(
            "Density, not yield: bushels sold are 56 lb whatever the test weight. Other factors make the grade too.",
        ))
    },
};

const LATE: Worksheet = Worksheet {
    name: "late-count",
    title: "Barren and lodged corn before harvest, and the harvest stand against the early one",
    inputs: &[
        Input::required("plants", Takes::Number("plants"), "Plants looked at"),
        Input::optional("barren", Takes::Number("plants"), "Those without a harvestable ear; left out, not counted"),
        Input::optional(
            "root-lodged",
            Takes::Number("plants"),
            "Those that lean more than 30 degrees from the root; left out, not counted",
        ),
        Input::optional("stalk-lodged", Takes::Number("plants"), "Those broken below the ear; left out, not counted"),
        Input::optional("early", Takes::Quantity("1/[acr_us]"), "Early stand"),
        Input::optional("harvest", Takes::Quantity("1/[acr_us]"), "Harvest stand"),
    ],
    source: "Definitions; interval: E. B. Wilson (1927), Journal of the American Statistical Association \
             22:209-212; root lodging over 30 degrees, stalk lodging below the ear: common practice, no source",
    example: "--plants 150 --barren 6 --root-lodged 3 --stalk-lodged 9 --early 30000 --harvest 29100",
    work: |given| {
        let whole = |number: f64| -> Result<u64, Error> {
            let number = within("a number of plants", number, 0.0, 1e9, "")?.max(0.0);
            if number.fract() > 0.0 {
                return Err(Error::Thresholds { expected: "a whole number of plants", came: number.to_string() });
            }
            Ok(number as u64)
        };
        let maybe = |name| given.maybe(name).map(whole).transpose();
        let counted = LatePlants {
            plants: whole(given.number("plants"))?,
            barren: maybe("barren")?,
            root_lodged: maybe("root-lodged")?,
            stalk_lodged: maybe("stalk-lodged")?,
        };
        let nothing = counted == LatePlants { plants: counted.plants, ..LatePlants::default() };
        if nothing && given.maybe("early").is_none() && given.maybe("harvest").is_none() {
            return Err(Error::Missing { input: "barren", help: "or `root-lodged`, `stalk-lodged`: what was counted" });
        }
        let count = late_count(counted, USUAL_LEVEL)?;
        let shares = [
            ("barren", counted.barren, count.barren),
            ("root-lodged", counted.root_lodged, count.root_lodged),
            ("stalk-lodged", counted.stalk_lodged, count.stalk_lodged),
        ];
        let mut answer = Answer::default();
        for (name, found, one) in shares {
            let (Some(found), Some(one)) = (found, one) else {
                answer = answer.step(format!("{name}: not counted"));
                continue;
            };
            let (low, high) = (one.interval.0 * 100.0, one.interval.1 * 100.0);
            let percent = one.share * 100.0;
            answer = answer
                .step(format!("{name}: {found} / {} = {percent:.1} % (95 %: {low:.1} to {high:.1} %)", counted.plants))
                .number(name, percent, 1, "%");
        }
        answer = match (given.maybe("early"), given.maybe("harvest")) {
            (Some(_), Some(_)) => {
                let (early, late) = (given.per_acre("early"), given.per_acre("harvest"));
                let kept = stand_kept(early, late)?;
                let marks = |plants: f64| with_marks(plants, 0);
                answer
                    .step(format!("{} / {} = {:.1} %", marks(late.per_acre()), marks(early.per_acre()), kept * 100.0))
                    .number("stand kept", kept * 100.0, 1, "%")
                    .remark(
                        "A harvest stand a few percent under the early one is normal (from memory, to be verified).",
                    )
            }
            (Some(_), None) => return Err(Error::Missing { input: "harvest", help: "Harvest stand" }),
            (None, Some(_)) => return Err(Error::Missing { input: "early", help: "Early stand" }),
            (None, None) => answer,
        };
        Ok(answer
            .remark(
                "Illinois: 97.3 % of plants bore ears in 2008 to 2011, 81.5 % in the drought of 2012 (a press page).",
            )
            .remark("Plants beside each other are alike: where faults are clustered the true interval is wider."))
    },
};
