//! The formulas of stand counts as worksheets.

use ligule_units::{Length, PlantDensity};

use super::tables::{EXPECTED_EMERGENCE, STAND_CLASSES};
use super::{
    chance_cv, clustered_stand, counts_needed, density_on_share, hoop_density, plants_per_area, row_length,
    seeding_rate_for, share_of_seeding_rate, stand_estimate,
};
use crate::catalogue::{Answer, Input, Takes, Worksheet, plain, with_marks};
use crate::error::{Error, within};

/// Per cent of viable corn seed that is taken to survive, and of it to germinate. *Source:* Ohio State University Extension,
/// Corn seeding rates versus final stands.
const CORN_SURVIVES: f64 = 95.0;
/// Per cent of soybean seed that is taken to emerge: the middle of 70 to 90 %. From memory, to be verified.
const SOYBEAN_EMERGES: f64 = 80.0;

const ACRE: &str = "43,560 square feet in an acre";
const DENSITY: Takes = Takes::Quantity("1/[acr_us]");

pub(crate) const WORKSHEETS: &[Worksheet] =
    &[ROW_LENGTH, ROW_COUNT, SHARE_COUNT, HOOP_COUNT, STAND, STAND_SPOTS, COUNTS_NEEDED, STAND_SHARE, SEEDING_RATE];

const ROW_LENGTH: Worksheet = Worksheet {
    name: "row-length",
    title: "Length of row that covers a share of an acre",
    inputs: &[
        Input::required("row", Takes::Quantity("[in_i]"), "Distance between rows"),
        Input::usual("share", Takes::Quantity("1"), "1/1000", "Share of an acre that one count covers"),
    ],
    source: "43,560 square feet in an acre; printed by University of Wisconsin, Discovery Farms (2010), Taking a stand count",
    example: "--row 30in",
    work: |given| {
        let (row, share) = (given.inches("row"), given.number("share"));
        let length = row_length(row, share)?;
        Ok(Answer::default()
            .step(format!("{share} ac × 43,560 sq ft/ac = {:.3} sq ft", share * 43_560.0))
            .step(format!("÷ ({} in / 12) = {:.3} ft", plain(row.inches()), length.feet()))
            .number("length of row", length.feet(), 2, "ft")
            .number("length of row, metric", length.metres(), 2, "m"))
    },
};

const ROW_COUNT: Worksheet = Worksheet {
    name: "row-count",
    title: "Plants per area from plants counted along a row, by tape or measuring wheel",
    inputs: &[
        Input::required("plants", Takes::Number("plants"), "Plants counted; a doubtful one is a half"),
        Input::required("row", Takes::Quantity("[in_i]"), "Distance between rows"),
        Input::required("length", Takes::Quantity("[ft_i]"), "Length of row counted or walked"),
    ],
    source: "43,560 square feet in an acre; with a measuring wheel, University of Illinois Extension, Corn Stand Count",
    example: "--plants 29 --row 22in --length 23.76ft",
    work: |given| {
        let (plants, row, feet) = (given.number("plants"), given.inches("row"), given.number("length"));
        let stand = plants_per_area(plants, row, Length::from_feet(feet))?;
        let line = format!("{plants} × 522,720 / ({} in × {} ft)", plain(row.inches()), plain(feet));
        Ok(densities(Answer::default().step(line), stand))
    },
};

const SHARE_COUNT: Worksheet = Worksheet {
    name: "share-count",
    title: "Plants per area from plants counted on a share of an acre",
    inputs: &[
        Input::required("plants", Takes::Number("plants"), "Plants counted; a doubtful one is a half"),
        Input::usual("share", Takes::Quantity("1"), "1/1000", "Share of an acre that the count covers"),
    ],
    source: ACRE,
    example: "--plants 98",
    work: |given| {
        let (plants, share) = (given.number("plants"), given.number("share"));
        let stand = density_on_share(plants, share)?;
        Ok(densities(Answer::default().step(format!("{plants} / {share}")), stand))
    },
};

const HOOP_COUNT: Worksheet = Worksheet {
    name: "hoop-count",
    title: "Plants per area from plants inside a thrown hoop",
    inputs: &[
        Input::required("plants", Takes::Number("plants"), "Plants inside"),
        Input::required("diameter", Takes::Quantity("[in_i]"), "Inside diameter"),
    ],
    source: "area of a circle; 43,560 square feet in an acre",
    example: "--plants 18 --diameter 30in",
    work: |given| {
        let (plants, diameter) = (given.number("plants"), given.inches("diameter"));
        let (stand, one) = (hoop_density(plants, diameter)?, hoop_density(1.0, diameter)?);
        let line = format!("factor 7,986,573 / {}² = {:.2}", plain(diameter.inches()), one.per_acre());
        let answer = Answer::default().step(line).step(format!("{plants} × {:.2}", one.per_acre()));
        Ok(densities(answer, stand).remark("Throw at 5 places or better 10 (common practice, no source)."))
    },
};

fn densities(answer: Answer, stand: PlantDensity) -> Answer {
    answer
        .number("stand", stand.per_acre(), 0, "plants/ac")
        .number("stand, metric", stand.per_hectare(), 0, "plants/ha")
        .remark("One place. Count several and look at their interval.")
}

/// The least stand that is taken for plants per acre. Common practice, no source: fewer would be a field without corn.
const LEAST_STAND: f64 = 1000.0;

/// Refuses counts that are surely plants on a share of an acre; single bare places are counts like others.
fn per_acre(counts: &[f64]) -> Result<Vec<PlantDensity>, Error> {
    let most = counts.iter().copied().fold(0.0, f64::max);
    if most > 0.0 {
        let what = "plants per acre (30 on a thousandth of an acre are 30,000: `ligule calc share-count`)";
        within(what, most, LEAST_STAND, 1e9, "")?;
    }
    Ok(counts.iter().copied().map(PlantDensity::from_per_acre).collect())
}

const STAND: Worksheet = Worksheet {
    name: "stand",
    title: "Mean of stand counts at random places, its interval, and how many more counts make it surer",
    inputs: &[
        Input::required("counts", DENSITY, "Stand at each place").many(),
        Input::usual("level", Takes::Quantity("%"), "95%", "Level of the interval"),
    ],
    source: "NIST/SEMATECH (2012), e-Handbook of Statistical Methods, sections 7.2.2.1 and 7.2.2.2",
    example: "--counts '30000 28000 31000 27000 29000 26000 32000 29000'",
    work: |given| {
        let level = given.number("level") / 100.0;
        let counts = per_acre(given.numbers("counts"))?;
        let found = stand_estimate(&counts, level)?;
        let mean = found.mean.per_acre();
        let mut answer = Answer::default()
            .step(format!("mean of {} counts = {}", found.counts, with_marks(mean, 1)))
            .number("mean stand", mean, 0, "plants/ac");
        if let (Some(sd), Some(half_width), Some((low, high))) = (found.sd, found.half_width, found.interval) {
            let (sd, half_width) = (sd.per_acre(), half_width.per_acre());
            answer = answer
                .step(format!("standard deviation (n − 1) = {}", with_marks(sd, 1)))
                .step(format!("± t × {} / √{} = ± {}", with_marks(sd, 1), found.counts, with_marks(half_width, 1)))
                .range("interval", (low.per_acre(), high.per_acre()), 0, "plants/ac");
        }
        if let Some(cv) = found.cv {
            answer = answer.number("coefficient of variation", cv * 100.0, 1, "%");
            for (name, aim) in [("more counts for ± 5 %", 0.05), ("more counts for ± 10 %", 0.10)] {
                answer = match counts_needed(cv.min(10.0), aim, level) {
                    Ok(needed) => answer.number(name, needed.saturating_sub(found.counts) as f64, 0, ""),
                    Err(error) => answer.remark(format!("{name}: {error}.")),
                };
            }
        }
        if found.counts > 1 && found.cv.is_some_and(|cv| cv < 1e-9) {
            // 32 seeds on a thousandth of an acre, of which nine in ten make a plant.
            let chance = chance_cv(32.0, 0.9)? * 100.0;
            answer = answer.remark(format!(
                "All counts are alike, so the interval has no width; chance alone makes counts on a thousandth of an acre \
                 vary by about {chance:.0} % (32 seeds, 90 % of them up): were they counted, or rounded?"
            ));
        }
        if !found.is_reliable() {
            answer = answer.remark("Fewer than 4 counts: the interval is unreliable (common practice, no source).");
        }
        Ok(answer
            .remark(
                "Compare the whole interval with a threshold. Do not pool a patchy field: take each zone by itself.",
            )
            .remark("Several counts at one spot are no independent places: `ligule calc stand-spots`."))
    },
};

const STAND_SPOTS: Worksheet = Worksheet {
    name: "stand-spots",
    title: "Mean of stand counts taken several at a spot, and how many more spots make it surer",
    inputs: &[
        Input::required("counts", DENSITY, "Stand counts, spot after spot").many(),
        Input::required("spots", Takes::Number(""), "The spot of each count, as a number: 1 1 2 2").many(),
        Input::usual("level", Takes::Quantity("%"), "95%", "Level of the interval"),
    ],
    source: "S. R. Searle, G. Casella, C. E. McCulloch (1992), Variance components, chapter 4; L. Kish (1965), Survey sampling, \
             from memory, to be verified",
    example: "--counts '28000 30000 30000 32000 26000 29000' --spots '1 1 2 2 3 3'",
    work: |given| {
        let (counts, labels) = (given.numbers("counts"), given.numbers("spots"));
        if counts.len() != labels.len() {
            return Err(Error::TooFew { what: "spots, one for each count", needed: counts.len(), came: labels.len() });
        }
        within("a number of counts", counts.len() as f64, 1.0, 10_000.0, "")?;
        let mut spots: Vec<(f64, Vec<PlantDensity>)> = Vec::new();
        for (count, label) in per_acre(counts)?.into_iter().zip(labels) {
            let label = within("the number of a spot", *label, 0.0, 1e6, "")?;
            match spots.iter_mut().find(|(known, _)| known.total_cmp(&label).is_eq()) {
                Some((_, spot)) => spot.push(count),
                None => spots.push((label, vec![count])),
            }
        }
        let spots: Vec<_> = spots.into_iter().map(|(_, spot)| spot).collect();
        let found = clustered_stand(&spots, given.number("level") / 100.0)?;
        let (low, high) = found.interval;
        let error = with_marks(found.standard_error.per_acre(), 1);
        let mut answer = Answer::default()
            .step(format!("{} counts at {} spots; mean of the spots' means", found.counts, found.locations))
            .step(format!("standard error = SD of the spots' means / √{} = {error}", found.locations))
            .number("mean stand", found.mean.per_acre(), 0, "plants/ac")
            .range("interval", (low.per_acre(), high.per_acre()), 0, "plants/ac");
        if let (Some(at_spot), Some(between)) = (found.sd_within, found.sd_between) {
            answer = answer.number("SD of counts at a spot", at_spot.per_acre(), 0, "plants/ac").number(
                "SD between spots",
                between.per_acre(),
                0,
                "plants/ac",
            );
        }
        if let Some(effect) = found.design_effect {
            let each = (found.counts as f64 / found.locations as f64).round().max(1.0) as usize;
            answer = answer
                .number("design effect", effect, 2, "")
                .step(format!("{each} counts at a spot are taken for what comes next"));
            for (name, aim) in [("more spots for ± 5 %", 0.05), ("more spots for ± 10 %", 0.10)] {
                answer = match found.locations_needed(each, aim) {
                    Ok(needed) => answer.number(name, needed.saturating_sub(found.locations) as f64, 0, ""),
                    Err(error) => answer.remark(format!("{name}: {error}.")),
                };
            }
        }
        Ok(answer
            .remark("More counts at the same spots help less than as many new spots, the more so the greater the design effect.")
            .remark("Few spots tell little of what lies between spots: take 5 or more."))
    },
};

const COUNTS_NEEDED: Worksheet = Worksheet {
    name: "counts-needed",
    title: "Stand counts needed for an interval of ± a share of the mean",
    inputs: &[
        Input::required("cv", Takes::Quantity("%"), "Standard deviation of counts over their mean"),
        Input::usual("within", Takes::Quantity("%"), "5%", "Half-width aimed at, as a share of the mean"),
        Input::usual("level", Takes::Quantity("%"), "95%", "Level of the interval"),
    ],
    source: "NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.2.2.2",
    example: "--cv 10%",
    work: |given| {
        let [cv, aim, level] = ["cv", "within", "level"].map(|name| given.number(name) / 100.0);
        let needed = counts_needed(cv, aim, level)?;
        let answer = if needed <= 2 {
            Answer::default().remark("Never fewer than 2: from one count alone no spread, and no interval, follows.")
        } else {
            Answer::default()
        };
        Ok(answer
            .step(format!("the least n with t × {:.1} % / √n ≤ {:.1} %", cv * 100.0, aim * 100.0))
            .number("counts", needed as f64, 0, "")
            .remark("At random places; counts beside each other tell less."))
    },
};

/// What is said of more plants than seeds. Common practice, no source.
const MORE_THAN_SEED: &str = "none: more plants than seeds; check the seeding rate, the row width and the count";

const STAND_SHARE: Worksheet = Worksheet {
    name: "stand-share",
    title: "Stand as a share of the seed dropped, and what chance alone lets counts vary",
    inputs: &[
        Input::required("stand", DENSITY, "Plants counted"),
        Input::required("seeding", DENSITY, "Seeds dropped"),
        Input::usual("share", Takes::Quantity("1"), "1/1000", "Share of an acre that one count covers"),
        CROP,
    ],
    source: "definition; the binomial distribution; names of classes are common practice, no source; shares expected: table \
             expected-emergence",
    example: "--stand 28800 --seeding 32000",
    work: |given| {
        let (stand, seeding) = (given.per_acre("stand"), given.per_acre("seeding"));
        let share = share_of_seeding_rate(stand, seeding)?;
        let count_share = within("a share of an acre", given.number("share"), 1e-5, 1.0, "")?;
        let class = if share > 1.0 {
            MORE_THAN_SEED
        } else {
            STAND_CLASSES.iter().find(|(from, _)| share * 100.0 >= *from).map_or("", |(_, said)| said)
        };
        let (made, dropped) = (with_marks(stand.per_acre(), 0), with_marks(seeding.per_acre(), 0));
        let mut answer = Answer::default()
            .step(format!("{made} / {dropped}"))
            .number("share of seed dropped", share * 100.0, 1, "%")
            .words("class", class);
        if (0.01..=1.0).contains(&share)
            && let Ok(cv) = chance_cv(seeding.per_acre() * count_share, share)
        {
            answer = answer.number("variation of counts from chance alone", cv * 100.0, 1, "%");
        }
        let crop = given.text("crop");
        if crop == "soybean" {
            answer = answer.remark(
                "The names of classes were made for corn; a soybean stand fills gaps and bears much lower shares: `ligule \
                 table soybean-stand`.",
            );
        }
        Ok(expectations(answer, crop)
            .remark("A planter may drop more or less than its setting: check it before blaming the seed."))
    },
};

const CROP: Input = Input::usual("crop", Takes::Word(&["corn", "soybean"]), "corn", "The crop");

/// Adds what publications expect of the seed of a crop.
fn expectations(answer: Answer, crop: &str) -> Answer {
    EXPECTED_EMERGENCE.iter().filter(|expected| expected.crop == crop).fold(answer, |answer, expected| {
        let (from, to) = expected.per_cent;
        answer.remark(format!("{} to {} % is expected of {crop} {} ({}).", from, to, expected.under, expected.source))
    })
}

const SEEDING_RATE: Worksheet = Worksheet {
    name: "seeding-rate",
    title: "Seeds to drop for a stand aimed at",
    inputs: &[
        Input::required("stand", DENSITY, "Stand aimed at"),
        Input::optional("germination", Takes::Quantity("%"), "Germination on the tag; left out, 95 % for corn"),
        Input::optional(
            "survival",
            Takes::Quantity("%"),
            "Expected survival of viable seed; left out, 95 % for corn, for which 85 to 95 % is expected",
        ),
        CROP,
    ],
    source: "Ohio State University Extension, Corn seeding rates versus final stands; soybean: from memory, to be verified",
    example: "--stand 32000",
    work: |given| {
        let crop = given.text("crop");
        let soybean = crop == "soybean";
        // A tag's germination and a survival are two numbers; what is expected of soybean seed is the two in one.
        let (germination, survival) = match (given.maybe("germination"), given.maybe("survival")) {
            (None, None) if soybean => (100.0, SOYBEAN_EMERGES),
            (germination, survival) => {
                let usual = |name, number: Option<f64>| match number {
                    Some(number) => Ok(number),
                    None if soybean => {
                        Err(Error::Missing { input: name, help: "its usual value is known for corn only" })
                    }
                    None => Ok(CORN_SURVIVES),
                };
                (usual("germination", germination)?, usual("survival", survival)?)
            }
        };
        let rate = seeding_rate_for(given.per_acre("stand"), germination / 100.0, survival / 100.0)?;
        let stand = with_marks(given.number("stand"), 0);
        let answer = if soybean && given.maybe("germination").is_none() {
            Answer::default()
                .step(format!("{stand} / {survival} %"))
                .remark("The share that emerges is the middle of 70 to 90 %: of seed, from memory, to be verified.")
        } else {
            Answer::default().step(format!("{stand} / ({germination} % × {survival} %)"))
        };
        Ok(expectations(answer, crop).number("seeds to drop", rate.per_acre(), 0, "seeds/ac").number(
            "seeds to drop, metric",
            rate.per_hectare(),
            0,
            "seeds/ha",
        ))
    },
};
