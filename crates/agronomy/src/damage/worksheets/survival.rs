//! Survival: growing point, days to wait, frost, flood.

use jiff::ToSpan;

use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::damage::{
    Crop, Event, GrowingPoint, Outlook, days_to_wait, flood_limits, flood_sources, frost_limits, frost_reached,
    growing_point, wait_range,
};
use crate::error::{Error, within};
use crate::stage::CornStage;

const CROP: Input = Input::usual("crop", Takes::Word(Crop::WORDS), "corn", "Crop");
const SPLIT: &str = "Judge the plants, not the number: split stems white to cream and firm are alive; brown, watery, \
                     soft are dead (J. Lauer, University of Wisconsin; J. Coulter and S. Naeve, University of \
                     Minnesota).";

pub(super) const GROWING_POINT: Worksheet = Worksheet {
    name: "growing-point",
    title: "Where the growing point of corn is at a stage",
    inputs: &[Input::required("stage", Takes::Text, "Collar stage: V5")],
    source: "R. L. Nielsen (2013), Purdue University, quoted on frosted corn; Ohio State University, Ohio Agronomy \
             Guide; Iowa State University, quoted in University of Delaware, Weekly Crop Update; J. Coulter, S. Naeve, \
             University of Minnesota",
    example: "--stage V4",
    work: |given| {
        let stage: CornStage = given.text("stage").parse()?;
        let position = growing_point(stage);
        let answer =
            Answer::default().step(format!("{stage}: {}", position.word())).words("growing point", position.word());
        Ok(match position {
            GrowingPoint::AtSurface => answer.remark("Sources differ: it passes the surface at V5 or at V6."),
            GrowingPoint::Above => answer.remark("At V7 it is 1 to 2 in above the surface."),
            GrowingPoint::Below => answer.remark("Out of reach of hail, mostly of frost, not of standing water."),
        })
    },
};

pub(super) const DAYS_TO_WAIT: Worksheet = Worksheet {
    name: "days-to-wait",
    title: "Days to wait after hail, frost or flood before judging survival",
    inputs: &[
        CROP,
        Input::required("event", Takes::Word(Event::WORDS), "What hit the field"),
        Input::optional("since", Takes::Day, "Day of the event; after a flood, the day on which the soil had drained"),
    ],
    source: "J. Lauer, University of Wisconsin; Iowa State University; J. McMechan (2024), University of Nebraska; G. \
             Roth and R. L. Nielsen (2013); Michigan State University Extension; G. Luce (2019), University of \
             Missouri; one row common practice",
    example: "--event hail --since 2026-06-10",
    work: |given| {
        let (crop, event): (Crop, Event) = (given.text("crop").parse()?, given.text("event").parse()?);
        let mut answer = Answer::default();
        for wait in days_to_wait(crop, event) {
            let (least, most) = wait.days;
            answer = answer.step(format!("{least} to {most} days, {}: {}", wait.note, wait.source));
        }
        let (least, most) = wait_range(crop, event);
        answer = answer.range("days to wait", (least.into(), most.into()), 0, "d");
        if let Some(since) = given.day("since") {
            let day = |days: u8| since.checked_add(i64::from(days).days()).map(|day| day.to_string());
            if let (Ok(first), Ok(last)) = (day(least), day(most)) {
                answer = answer.words("judge from", first).words("by the longest wait", last);
            }
        }
        Ok(answer.remark("Longer when it is cool: count days on which the crop can grow.").remark(SPLIT))
    },
};

pub(super) const FROST: Worksheet = Worksheet {
    name: "frost-survival",
    title: "Which published limits of cold a night reached",
    inputs: &[
        CROP,
        Input::required("minimum", Takes::Quantity("[degF]"), "Lowest air temperature at the crop"),
        Input::usual("hours", Takes::Quantity("h"), "2", "Hours at about that temperature"),
        Input::optional("stage", Takes::Text, "Corn: collar stage, for the growing point"),
    ],
    source: "C. Keene, North Dakota State University Extension; University of Minnesota Extension (2015), Frost injury \
             to soybean; M. Staton, Michigan State University Extension; Purdue University trials quoted in the farm \
             press; D. W. Meyer and M. Badaruddin (2001), Crop Science 41:1838-1842; one row from an agronomy page of \
             the seed trade",
    example: "--minimum 29F --hours 4 --stage V3",
    work: |given| {
        let crop: Crop = given.text("crop").parse()?;
        let (minimum, hours) = (given.fahrenheit("minimum"), given.number("hours"));
        let reached = frost_reached(crop, minimum, hours)?;
        let mut answer = Answer::default();
        for limit in frost_limits(crop) {
            let said = if reached.contains(&limit) { "reached" } else { "not reached" };
            answer = answer.step(format!(
                "{} °F for {} h ({}): {said}; {}",
                limit.fahrenheit, limit.hours, limit.harm, limit.source
            ));
        }
        let all = frost_limits(crop).count();
        answer = answer.words("limits reached", format!("{} of {all}", reached.len())).words(
            "what they expect",
            match reached.last() {
                Some(limit) => limit.harm.to_owned(),
                None => "no published limit reached; this says nothing of harm".to_owned(),
            },
        );
        if let (Crop::Corn, Some(stage)) = (crop, given.maybe_text("stage")) {
            let position = growing_point(stage.parse()?);
            answer = answer.words("growing point", position.word());
            if position == GrowingPoint::Below {
                answer = answer.remark("Below ground the growing point usually outlives the leaves: wait and look.");
            }
        }
        let (least, most) = wait_range(crop, Event::Frost);
        Ok(answer
            .remark("Versions differ and none is averaged; hollows and residue are colder than the station.")
            .remark(format!("Judge after {least} to {most} growing days."))
            .remark(SPLIT))
    },
};

pub(super) const FLOOD: Worksheet = Worksheet {
    name: "flood-survival",
    title: "Whether plants under water live, by each published version",
    inputs: &[
        CROP,
        Input::optional("stage", Takes::Text, "Corn: collar stage when the water came"),
        Input::required("temperature", Takes::Quantity("[degF]"), "Temperature of the air or the water"),
        Input::required("days", Takes::Quantity("d"), "Time under water"),
    ],
    source: "University of Nebraska (2018), Flooding and ponding in corn; R. L. Nielsen, Purdue University; Ontario \
             Ministry of Agriculture, Food and Rural Affairs; G. Luce (2019), University of Missouri Extension",
    example: "--stage V3 --temperature 68F --days 3",
    work: |given| {
        let crop: Crop = given.text("crop").parse()?;
        let days = within("days under water", given.number("days"), 0.0, 60.0, " d")?;
        let stage = given.maybe_text("stage").map(str::parse::<CornStage>);
        let collars = match (crop, stage) {
            (Crop::Soybean, _) => 0,
            // From tassel on collars are no longer counted; only the last version has such plants.
            (Crop::Corn, Some(stage)) => stage?.collars().unwrap_or(30),
            (Crop::Corn, None) => {
                return Err(Error::Missing { input: "stage", help: "Corn: collar stage when the water came" });
            }
        };
        let limits = flood_limits(crop, collars, given.fahrenheit("temperature"))?;
        let mut answer = Answer::default();
        let mut outlooks: Vec<Outlook> = Vec::new();
        let mut speaking: Vec<_> = limits.iter().map(|limit| limit.source).collect();
        speaking.dedup();
        for limit in limits {
            let outlook = limit.outlook(days);
            answer = answer.step(format!("{} ({}): {}", limit.note, limit.source, outlook.word()));
            if !outlooks.contains(&outlook) {
                outlooks.push(outlook);
            }
        }
        let words = outlooks.iter().map(|outlook| outlook.word()).collect::<Vec<_>>().join("; ");
        answer = answer.words("after that time", words);
        if outlooks.len() > 1 {
            answer = answer.remark("The versions do not agree: look at plants after the soil has drained.");
        }
        let mut others: Vec<_> = flood_sources(crop).filter(|source| !speaking.contains(source)).collect();
        others.dedup();
        if !others.is_empty() {
            let (all, others) = (speaking.len(), others.join("; "));
            answer = answer.remark(format!(
                "{all} of the publications {} of this stage and temperature; those that say nothing of them: {others}.",
                if all == 1 { "speaks" } else { "speak" }
            ));
        }
        let (least, most) = wait_range(crop, Event::Flood);
        Ok(answer
            .remark(format!("Judge after {least} to {most} growing days of drained soil."))
            .remark("The soil's oxygen is gone after about 48 hours; survivors may still fall to seedling disease.")
            .remark(SPLIT))
    },
};
