//! The formulas of spacing as worksheets.

use ligule_units::{Length, PlantDensity};

use super::{
    density_at_spacing, gap_limits, gaps_from_positions, pair_yield, plant_spacing, skip_compensation, spacing_losses,
    spacing_summary,
};
use crate::catalogue::{Answer, Input, Takes, Worksheet, with_marks};
use crate::error::Error;
use crate::harvest::Grain;

const INCH: Takes = Takes::Quantity("[in_i]");
const KACHMAN: &str = "Iowa State University, Plant uniformity measurements, after S. D. Kachman and J. A. Smith (1995), \
                       Transactions of the ASAE 38:379-387; losses by the studies of the table `spacing-loss`";

pub(crate) const WORKSHEETS: &[Worksheet] = &[PLANT_SPACING, SPACING_DENSITY, SPACING, SKIPS];

const PLANT_SPACING: Worksheet = Worksheet {
    name: "plant-spacing",
    title: "Spacing of plants in the row at a density, and where doubles and skips begin",
    inputs: &[
        Input::required("row", INCH, "Distance between rows"),
        Input::required("density", Takes::Quantity("1/[acr_us]"), "Plants or seeds per area"),
    ],
    source: "6,272,640 square inches in an acre; limits: S. D. Kachman and J. A. Smith (1995), Transactions of the ASAE \
             38:379-387",
    example: "--row 30in --density 32000",
    work: |given| {
        let (row, density) = (given.inches("row"), given.per_acre("density"));
        let spacing = plant_spacing(row, density)?;
        let limits = gap_limits(spacing)?;
        let per_acre = with_marks(density.per_acre(), 0);
        Ok(Answer::default()
            .step(format!("6,272,640 / ({} in × {per_acre}) = {:.3} in", row.inches(), spacing.inches()))
            .number("spacing", spacing.inches(), 2, "in")
            .number("double up to", limits.double.inches(), 2, "in")
            .number("skip over", limits.one_skip.inches(), 2, "in")
            .number("two skips over", limits.two_skips.inches(), 2, "in"))
    },
};

const SPACING_DENSITY: Worksheet = Worksheet {
    name: "spacing-density",
    title: "Plants per area at a spacing in the row",
    inputs: &[
        Input::required("row", INCH, "Distance between rows"),
        Input::required("spacing", INCH, "Mean distance between plants"),
    ],
    source: "6,272,640 square inches in an acre",
    example: "--row 30in --spacing 7in",
    work: |given| {
        let (row, spacing) = (given.inches("row"), given.inches("spacing"));
        let density = density_at_spacing(row, spacing)?;
        Ok(Answer::default()
            .step(format!("6,272,640 / ({} in × {} in)", row.inches(), spacing.inches()))
            .number("density", density.per_acre(), 0, "plants/ac")
            .number("density, metric", density.per_hectare(), 0, "plants/ha"))
    },
};

const SPACING: Worksheet = Worksheet {
    name: "spacing",
    title: "How even the plants of a row stand, and what unevenness costs by every study",
    inputs: &[
        Input::optional("gaps", INCH, "Gaps between plants").many(),
        Input::optional("positions", INCH, "Instead of gaps: places along a tape, in order").many(),
        Input::required("nominal", INCH, "Spacing aimed at"),
        Input::usual("yield", Takes::CornYield, "200", "Yield of an even stand"),
    ],
    source: KACHMAN,
    example: "--gaps '6 7 5 9 6 2 10 7 6 8' --nominal 6.53in",
    work: |given| {
        let lengths = |name| given.numbers(name).iter().copied().map(Length::from_inches).collect::<Vec<_>>();
        let gaps = match (lengths("gaps"), lengths("positions")) {
            (gaps, places) if places.is_empty() && !gaps.is_empty() => gaps,
            (gaps, places) if gaps.is_empty() && !places.is_empty() => gaps_from_positions(&places)?,
            _ => return Err(Error::Missing { input: "gaps", help: "gaps or positions, one of the two" }),
        };
        let found = spacing_summary(&gaps, given.inches("nominal"))?;
        let mut answer = Answer::default()
            .step(format!("{} gaps, mean {:.2} in", found.gaps, found.mean.inches()))
            .number("mean gap", found.mean.inches(), 2, "in")
            .number("multiples", found.multiples * 100.0, 1, "%")
            .number("misses", found.misses * 100.0, 1, "%")
            .number("quality of feed", found.quality_of_feed * 100.0, 1, "%");
        if let Some(precision) = found.precision {
            answer = answer.number("precision (variation of single gaps)", precision * 100.0, 1, "%");
        }
        if let Some(sd) = found.sd {
            answer = answer.number("standard deviation", sd.inches(), 2, "in");
            if let Some(cv) = found.cv {
                answer = answer.number("coefficient of variation", cv * 100.0, 1, "%");
            }
            let mut ends: Option<(f64, f64)> = None;
            for (study, loss) in spacing_losses(sd, given.number("yield")) {
                answer = match loss {
                    Ok(loss) => {
                        ends = Some(ends.map_or((loss, loss), |(low, high)| (low.min(loss), high.max(loss))));
                        answer.step(format!("{}: {loss:.2} bu/ac", study.word()))
                    }
                    Err(error @ Error::OutsideTable { .. }) => answer.step(format!("{error}")),
                    Err(error) => return Err(error),
                };
            }
            if let Some(ends) = ends {
                answer = answer.range("loss of yield", ends, 2, "bu/ac").of(Grain::Corn);
            }
        }
        if found.gaps < 50 {
            answer = answer.remark("Fewer than 50 gaps: measure more (common practice, no source).");
        }
        Ok(answer
            .remark("Contested: two studies in many environments found no loss at usual spreads. Show the range, never one number.")
            .remark("A few large gaps dominate the standard deviation: look at multiples and misses too."))
    },
};

const SKIPS: Worksheet = Worksheet {
    name: "doubles-and-skips",
    title: "What a double yields and the neighbours of a skip make up",
    inputs: &[Input::required("stand", Takes::Quantity("1/[acr_us]"), "Plants per area, 18,000 to 30,000 per acre")],
    source: "E. D. Nafziger (1996), Effects of missing and two-plant hills on corn grain yield, Journal of Production \
             Agriculture 9:238-240; interpolated between its ends",
    example: "--stand 24000",
    work: |given| {
        let stand: PlantDensity = given.per_acre("stand");
        let (pair, made_up) = (pair_yield(stand)?, skip_compensation(stand)?);
        Ok(Answer::default()
            .step("between 1.81 at 18,000 and 1.67 at 30,000; between 47 % and 19 %")
            .number("yield of a double's two plants", pair, 2, "plants alone")
            .number("made up by the neighbours of a skip", made_up * 100.0, 0, "%")
            .number("lost with a missing plant", (1.0 - made_up) * 100.0, 0, "% of a plant")
            .remark("Plants beside a double yielded 2 to 12 % less. Stands of that study were thinner than today's."))
    },
};
