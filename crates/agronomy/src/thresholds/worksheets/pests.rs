//! Any published threshold, and what goes with it.

use ligule_units::Length;

use crate::catalogue::{Answer, Input, Origin, Takes, Worksheet};
use crate::cautions;
use crate::error::Error;
use crate::thresholds::measure::Measure;
use crate::thresholds::published::PESTS;
use crate::thresholds::{
    CUTWORM_SCOUTING, CropStage, Reading, Recorded, Threshold, Visit, cutworm_stage, doubling_time, evaluate,
    growth_rate, insect_days, published, regions_of,
};

pub(super) const PEST_THRESHOLD: Worksheet = Worksheet {
    name: "pest-threshold",
    title: "What was counted against every threshold published for a pest in a region",
    inputs: &[
        Input::required("pest", Takes::Word(PESTS), "The pest"),
        Input::required("region", Takes::Text, "State or province, ISO 3166-2: `US-IA`"),
        Input::optional("stage", Takes::Text, "Growth stage of the crop"),
        Input::optional("larva", Takes::Quantity("[in_i]"), "Length of the larvae"),
        Input::required(
            "recorded",
            Takes::Text,
            "What was recorded, `plants-cut=7/250 larvae-feeding=yes`; per cent alone has no interval",
        )
        .many(),
    ],
    source: "the publication of each threshold: see the tables corn-thresholds and soybean-thresholds; interval of E. B. \
             Wilson (1927), Journal of the American Statistical Association 22:209-212",
    example: "--pest black-cutworm --region US-IA --stage V3 --larva 5/8in --recorded plants-cut=7/250",
    work: |given| {
        let (pest, region) = (given.text("pest"), given.text("region").to_ascii_uppercase());
        let rules: Vec<&Threshold> = published(pest, &region).collect();
        let Some(first) = rules.first() else {
            return Err(Error::OutsideTable {
                table: "the published thresholds",
                what: "regions for this pest",
                covers: regions_of(pest).join(", "),
                came: region,
            });
        };
        let mut recorded = Recorded::default();
        if let Some(text) = given.maybe_text("stage") {
            recorded = recorded.at(CropStage::read(first.crop, text)?);
        }
        if let Some(inches) = given.maybe("larva") {
            recorded = recorded.larvae_of(Length::from_inches(inches));
        }
        for text in given.texts("recorded") {
            let (measure, reading) = read(text, &rules)?;
            recorded = recorded.with(measure, reading);
        }
        let mut answer = Answer::default();
        for rule in rules {
            answer = answer.step(format!("{}, {}:", region, rule.name));
            answer = evaluate::show(answer, rule.name, &rule.evaluate(&recorded)?);
            let note = if rule.note.is_empty() { String::new() } else { format!(" ({})", rule.note) };
            answer = answer.remark(format!("{}: {}{note}.", rule.name, rule.source));
            if rule.origin != Origin::Page {
                answer = answer.remark(format!("{}: {}.", rule.name, rule.origin.words()));
            }
        }
        Ok(cautions::add(answer))
    },
};

/// Reads `plants-cut=7/250` as one of the measures that the thresholds ask for.
fn read(text: &str, rules: &[&Threshold]) -> Result<(Measure, Reading), Error> {
    let asked =
        || rules.iter().flat_map(|rule| std::iter::once(rule.measure).chain(rule.also.iter().map(|c| c.measure)));
    let (name, value) = text.split_once('=').unwrap_or((text, ""));
    let measure = asked().find(|measure| measure.name == name).ok_or_else(|| {
        let mut names: Vec<_> = asked().map(|measure| measure.name).collect();
        names.sort_unstable();
        names.dedup();
        Error::UnknownWord { input: "recorded", expected: names.join(", "), came: name.to_owned() }
    })?;
    let reading = Reading::read(value);
    reading.map(|reading| (measure, reading)).ok_or_else(|| Error::NoNumber {
        input: "recorded",
        unit: measure.unit,
        came: text.to_owned(),
    })
}

pub(super) const INSECT_DAYS: Worksheet = Worksheet {
    name: "insect-days",
    title: "Cumulative insect days of a season, and how fast the insects grow",
    inputs: &[
        Input::required("days", Takes::Number("days"), "Days of the visits, counted from any start").many(),
        Input::required("counts", Takes::Number("a plant"), "Mean counts of the visits, for each plant").many(),
    ],
    source: "R. F. Ruppel (1983), Cumulative insect-days as an index of crop protection, Journal of Economic Entomology \
             76:375-377 (from memory, to be verified)",
    example: "--days '0 7 14' --counts '50 250 600'",
    work: |given| {
        let (days, counts) = (given.numbers("days"), given.numbers("counts"));
        if days.len() != counts.len() {
            return Err(Error::TooFew {
                what: "days and counts alike",
                needed: days.len().max(counts.len()),
                came: days.len().min(counts.len()),
            });
        }
        let visits: Vec<Visit> = days.iter().zip(counts).map(|(&day, &count)| Visit { day, count }).collect();
        let sum = insect_days(&visits)?;
        let mut answer = visits.windows(2).fold(Answer::default(), |answer, pair| {
            answer.step(format!(
                "({} + {}) / 2 × {} days = {:.1}",
                pair[0].count,
                pair[1].count,
                pair[1].day - pair[0].day,
                f64::midpoint(pair[0].count, pair[1].count) * (pair[1].day - pair[0].day)
            ))
        });
        answer = answer.number("cumulative insect days", sum, 0, "a plant");
        if let [.., earlier, later] = visits.as_slice()
            && let Ok(rate) = growth_rate(earlier.count, later.count, later.day - earlier.day)
        {
            answer = answer.number("growth rate, last two visits", rate, 4, "per day");
            if let Ok(days) = doubling_time(rate) {
                answer = answer.number("doubling time", days, 2, "days");
            }
        }
        answer = answer.remark(
            "The formula is from memory, to be verified. Iowa sees no loss of soybean before several thousand aphid days.",
        );
        Ok(cautions::add(answer))
    },
};

pub(super) const CUTWORM_STAGE: Worksheet = Worksheet {
    name: "cutworm-stage",
    title: "Stage of black cutworm by degree days since an intense capture of moths",
    inputs: &[Input::required(
        "sum",
        Takes::Number("°F days"),
        "Degree days since the capture, base 50 °F, simple average",
    )],
    source: "University of Missouri IPM, black cutworm forecast; scouting from 300: University of Illinois Extension (2012), \
             The Bulletin, article 1631",
    example: "--sum 312",
    work: |given| {
        let sum = given.number("sum");
        let stage = cutworm_stage(ligule_units::DegreeDays::from_fahrenheit(sum))?;
        let scout = if sum >= CUTWORM_SCOUTING { "reached" } else { "not reached" };
        Ok(Answer::default()
            .step(format!("{sum} °F days: from {} on", stage.from))
            .words("stage", stage.what)
            .words("the 300 °F days from which people scout", scout)
            .remark("Counted from the capture; one page counts the 300 from egg hatch, the others do not."))
    },
};
