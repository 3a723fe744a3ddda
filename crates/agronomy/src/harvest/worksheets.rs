//! Harvest as worksheets.

use ligule_units::Area;

use super::components::{KERNEL_FACTORS, USUAL_KERNEL_FACTOR, component_yield, component_yield_range, kernel_factor};
use super::grain::Grain;
use super::late::{LatePlants, late_count, stand_kept};
use super::moisture::{dried_weight, water_shrink};
use super::plot::{kilograms_per_hectare, plot_yield};
use super::test_weight::{test_weight_grade, test_weight_metric};
use crate::catalogue::{Answer, Input, Origin, Takes, Worksheet, with_marks};
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
            .range("over every published kernel factor", range, 0, "bu/ac")
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
        let shrink = water_shrink(from, to)?;
        let dried = dried_weight(wet, from, to, loss)?;
        // Sold bushels count at standard moisture, to whatever moisture the grain was dried.
        let bushels = dried_weight(dried, to, grain.standard_moisture(), 0.0)? / grain.bushel();
        Ok(Answer::default()
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
    inputs: &[Input::required("test-weight", Takes::Number("lb/bu"), "Test weight")],
    source: "A bushel of volume is 2,150.42 cubic inches; United States standards for corn, No. 1 and No. 2 as \
             quoted on a page, No. 3 to No. 5 from memory, to be verified",
    example: "--test-weight 55",
    work: |given| {
        let pounds = given.number("test-weight");
        let metric = test_weight_metric(pounds)?;
        let answer = Answer::default()
            .step(format!("{pounds} lb/bu × 0.45359 kg/lb / 0.35239 hL/bu = {metric:.2} kg/hL"))
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
        Input::usual("barren", Takes::Number("plants"), "0", "Those without a harvestable ear"),
        Input::usual("root-lodged", Takes::Number("plants"), "0", "Those that lean more than 30 degrees from the root"),
        Input::usual("stalk-lodged", Takes::Number("plants"), "0", "Those broken below the ear"),
        Input::optional("early", Takes::Quantity("1/[acr_us]"), "Early stand"),
        Input::optional("harvest", Takes::Quantity("1/[acr_us]"), "Harvest stand"),
    ],
    source: "Definitions; interval: E. B. Wilson (1927), Journal of the American Statistical Association \
             22:209-212; root lodging over 30 degrees, stalk lodging below the ear: common practice, no source",
    example: "--plants 150 --barren 6 --root-lodged 3 --stalk-lodged 9 --early 30000 --harvest 29100",
    work: |given| {
        let whole = |name: &'static str| -> Result<u64, Error> {
            Ok(within("a number of plants", given.number(name), 0.0, 1e9, "")?.max(0.0).round() as u64)
        };
        let counted = LatePlants {
            plants: whole("plants")?,
            barren: whole("barren")?,
            root_lodged: whole("root-lodged")?,
            stalk_lodged: whole("stalk-lodged")?,
        };
        let count = late_count(counted, USUAL_LEVEL)?;
        let shares = [
            ("barren", counted.barren, count.barren),
            ("root-lodged", counted.root_lodged, count.root_lodged),
            ("stalk-lodged", counted.stalk_lodged, count.stalk_lodged),
        ];
        let mut answer = Answer::default();
        for (name, found, one) in shares {
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
