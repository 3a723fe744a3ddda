//! One section for each thing that was assessed; what is absent has no section.

use jiff::civil::Date;
use ligule_engine::Reading;
use ligule_engine::assess::{
    DegreeDays, FieldAssessment, LastCheck, Pest, Planting, SeedDepth, Share, Stage, Stand, Weed,
};

use crate::{
    sources::Sources,
    text::{counted, day, short_day, trim, whole},
};

/// A section of the page, ready to be set.
#[derive(Default)]
pub(crate) struct Section {
    pub(crate) heading: &'static str,
    pub(crate) lines: Vec<String>,
    pub(crate) cautions: Vec<String>,
    pub(crate) cites: Vec<usize>,
    pub(crate) plotted: Option<Plotted>,
    pub(crate) plot: String,
    pub(crate) plot_caption: &'static str,
    pub(crate) table_caption: &'static str,
    pub(crate) head: Vec<Cell>,
    pub(crate) rows: Vec<Vec<Cell>>,
    pub(crate) rests_on: String,
}

/// Which plot a section has.
#[derive(Clone, Copy)]
pub(crate) enum Plotted {
    Stand,
    Heat,
}

/// A cell of a table.
pub(crate) struct Cell {
    pub(crate) text: String,
    pub(crate) class: &'static str,
}

fn words(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), class: "" }
}

fn number(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), class: "n" }
}

fn on(date: Date) -> Cell {
    Cell { text: short_day(date), class: "day" }
}

fn key(keys: impl Into<String>) -> Cell {
    Cell { text: keys.into(), class: "key" }
}

pub(crate) fn all(assessment: &FieldAssessment, reading: &Reading, sources: &mut Sources) -> Vec<Section> {
    let mut sections = Vec::new();
    sections.extend(assessment.planting.as_ref().map(|p| planting(p, reading)));
    sections.extend(assessment.stand.as_ref().map(|s| stand(s, reading, sources)));
    sections.extend(assessment.stage.as_ref().map(|s| stage(s, sources)));
    sections.extend(assessment.degree_days.as_ref().map(|d| heat(d, reading, sources)));
    sections.extend(assessment.seed_depth.as_ref().map(|d| depth(d, reading, sources)));
    sections.extend(pests(&assessment.pests, sources));
    sections.extend(weeds(&assessment.weeds, reading, sources));
    sections.extend(assessment.soil.as_ref().map(|c| last("Soil", c)));
    sections.extend(assessment.roots.as_ref().map(|c| last("Roots", c)));
    sections.extend(notes(assessment));
    sections.extend(left_out(assessment));
    sections
}

fn planting(planting: &Planting, reading: &Reading) -> Section {
    let mut facts = vec![format!("Planted {}", day(planting.day))];
    facts.extend(
        planting.seeds_per_acre.map(|s| format!("{} seeds per {}", reading.bare_per_acre(s), reading.area_word())),
    );
    facts.extend(planting.row_width_in.map(|w| format!("rows {} apart", reading.inches(w, None))));
    facts.extend(planting.target_depth_in.map(|d| format!("{} deep intended", reading.inches(d, None))));
    facts.extend(planting.relative_maturity.map(|m| format!("relative maturity {}", trim(m))));
    Section {
        heading: "Planting",
        lines: vec![format!("{}.", facts.join(", "))],
        cautions: planting.cautions.clone(),
        rests_on: planting.rests_on.join(", "),
        ..Section::default()
    }
}

fn stand(stand: &Stand, reading: &Reading, sources: &mut Sources) -> Section {
    let n = stand.counts.len();
    let (whole, area) = (|plants: f64| reading.bare_per_acre(plants), reading.area_word());
    let mut lines = vec![match stand.interval_95 {
        Some((low, high)) => format!(
            "{} plants per {area}, the mean of {}; with 95 % confidence the field has between {} and {}.",
            whole(stand.plants_per_acre),
            counted(n, "count", "counts"),
            whole(low),
            whole(high)
        ),
        None => format!("{} plants per {area} from {}.", whole(stand.plants_per_acre), counted(n, "count", "counts")),
    }];
    if let Some(share) = stand.share_of_seeds_percent {
        lines.push(format!("That is {share:.1} % of the seeds dropped."));
    }
    if let Some(variation) = stand.variation_percent {
        let more = |n: Option<u32>, width: &str| match n {
            Some(0) => format!("enough for {width}"),
            Some(n) => format!("{} more for {width}", counted(n as usize, "count", "counts")),
            None => format!("more counts than can be made for {width}"),
        };
        lines.push(format!(
            "The counts vary by {variation:.1} % (coefficient of variation): {}, {}.",
            more(stand.more_counts_for_10_percent, "± 10 %"),
            more(stand.more_counts_for_5_percent, "± 5 %")
        ));
    }
    Section {
        heading: "Stand",
        lines,
        cautions: stand.cautions.clone(),
        cites: sources.cite(&stand.sources),
        plotted: Some(Plotted::Stand),
        plot_caption: "Dots: the counts. Solid line: their mean. Grey band: 95 % interval of the mean. Dashed line: seeds dropped.",
        table_caption: "Each count",
        head: vec![
            number("No."),
            words("Day"),
            words("Counted in"),
            number("Plants"),
            number(format!("Plants per {area}")),
            words("Observation"),
        ],
        rows: stand
            .counts
            .iter()
            .enumerate()
            .map(|(i, c)| {
                vec![
                    number((i + 1).to_string()),
                    on(c.day),
                    words(c.sample.clone()),
                    number(trim(c.plants)),
                    number(whole(c.plants_per_acre)),
                    key(c.observation.clone()),
                ]
            })
            .collect(),
        ..Section::default()
    }
}

fn stage(stage: &Stage, sources: &mut Sources) -> Section {
    let mut lines = vec![format!(
        "The field is at {} (at least half of the plants have reached it), seen {}; plants range from {} to {}.",
        stage.field_stage,
        day(stage.day),
        stage.spread.0,
        stage.spread.1
    )];
    if let Some((low, high)) = stage.bbch {
        lines.push(match low == high {
            true => format!("BBCH {low:02}."),
            false => format!("BBCH {low:02} to {high:02}, depending on how a leaf is judged."),
        });
    }
    if let Some(behind) = stage.behind_percent {
        lines.push(format!("{behind:.0} % of the plants are two or more leaf collars behind the middle plant."));
    }
    Section {
        heading: "Growth stage",
        lines,
        cautions: stage.cautions.clone(),
        cites: sources.cite(&stage.sources),
        table_caption: "Plants by stage",
        head: vec![words("Stage"), number("Plants")],
        rows: stage.plants.iter().map(|(s, n)| vec![words(s.clone()), number(n.to_string())]).collect(),
        rests_on: stage.rests_on.join(", "),
        ..Section::default()
    }
}

fn heat(heat: &DegreeDays, reading: &Reading, sources: &mut Sources) -> Section {
    let (total, unit) = reading.converted(heat.total_f, "5.K.d/9");
    let mut lines = vec![format!(
        "{} degree days ({}) from {} to {}, by the {}, from the weather of station {}.",
        whole(total),
        unit.trim_end_matches("·d"),
        day(heat.from),
        day(heat.to),
        heat.method,
        heat.station
    )];
    if heat.missing_days > 0 {
        let (days, add) = match heat.missing_days {
            1 => ("1 day has".to_owned(), "adds"),
            n => (format!("{n} days have"), "add"),
        };
        lines.push(format!("{days} no temperatures and {add} nothing to the sum, which is therefore too low."));
    }
    for expected in &heat.expected {
        lines.push(match expected.band.0 == expected.band.1 {
            true => format!("Expected by then: {} ({}).", expected.stage, expected.rate),
            false => format!(
                "Expected by then: {}, between {} and {} ({}).",
                expected.stage, expected.band.0, expected.band.1, expected.rate
            ),
        });
    }
    Section {
        heading: "Heat since planting",
        lines,
        cautions: heat.cautions.clone(),
        cites: sources.cite(&heat.sources),
        plotted: (!heat.course.is_empty()).then_some(Plotted::Heat),
        plot_caption: "Line: degree days added up. Strokes: the stage that the sum lets one expect. Diamond: the stage that was seen.",
        rests_on: heat.rests_on.join(", "),
        ..Section::default()
    }
}

fn depth(depth: &SeedDepth, reading: &Reading, sources: &mut Sources) -> Section {
    let mut lines = vec![format!(
        "Seed lies {} deep on average of {}, from {} to {}{}.",
        reading.inches(depth.mean_in, Some(2)),
        counted(depth.seeds, "seed", "seeds"),
        reading.inches(depth.range_in.0, None),
        reading.inches(depth.range_in.1, None),
        depth
            .standard_deviation_in
            .map_or(String::new(), |sd| format!(", standard deviation {}", reading.inches(sd, Some(2))))
    )];
    if let (Some(target), Some(quarter), Some(half)) =
        (depth.target_in, depth.beyond_quarter_inch_percent, depth.beyond_half_inch_percent)
    {
        lines.push(format!(
            "Intended: {}. More than ¼ in off: {quarter:.0} %; more than ½ in off: {half:.0} %.",
            reading.inches(target, None)
        ));
    }
    Section {
        heading: "Seed depth",
        lines,
        cautions: depth.cautions.clone(),
        cites: sources.cite(&depth.sources),
        rests_on: depth.rests_on.join(", "),
        ..Section::default()
    }
}

fn interval(interval: Option<(f64, f64)>) -> String {
    interval.map_or(String::new(), |(low, high)| format!("{low:.0} to {high:.0} %"))
}

fn pests(pests: &[Pest], sources: &mut Sources) -> Option<Section> {
    if pests.is_empty() {
        return None;
    }
    let cited: Vec<_> = pests.iter().flat_map(|p| p.sources.clone()).collect();
    let mut lines =
        vec!["As found on the last day each was looked for; cut plants are among the damaged ones.".to_owned()];
    for pest in pests {
        match (&pest.damaged, &pest.cut) {
            (None, Some(_)) => lines.push(format!(
                "{}: only cut plants were counted; how many were damaged in all is not known.",
                pest.label
            )),
            (Some(_), None) => lines.push(format!("{}: cut plants were not counted.", pest.label)),
            _ => {}
        }
    }
    Some(Section {
        heading: "Insects and diseases",
        lines,
        cites: sources.cite(&cited),
        head: vec![
            words("Organism"),
            words("Day"),
            words("Counted"),
            number("Of those examined"),
            number("Share"),
            number("95 % interval"),
            words("Observations"),
        ],
        rows: pests.iter().flat_map(|p| p.damaged.iter().chain(&p.cut).map(|share| plants(p, share))).collect(),
        ..Section::default()
    })
}

fn plants(pest: &Pest, share: &Share) -> Vec<Cell> {
    vec![
        words(pest.label.clone()),
        on(pest.day),
        words(share.label.clone()),
        number(format!("{} of {}", share.plants, share.examined)),
        number(format!("{:.1} %", share.percent)),
        number(share.interval_95.map_or(String::new(), |(low, high)| format!("{low:.1} to {high:.1} %"))),
        key(pest.rests_on.join(", ")),
    ]
}

fn weeds(weeds: &[Weed], reading: &Reading, sources: &mut Sources) -> Option<Section> {
    if weeds.is_empty() {
        return None;
    }
    let cited: Vec<_> = weeds.iter().flat_map(|w| w.sources.clone()).collect();
    Some(Section {
        heading: "Weeds",
        lines: vec!["As found on the last day each was looked for.".to_owned()],
        cites: sources.cite(&cited),
        head: vec![
            words("Species"),
            words("Day"),
            number("Spots with it"),
            number("95 % interval"),
            number(format!("Per {}", reading.converted(1.0, "1/[sft_i]").1.trim_start_matches('/'))),
            number(format!("Tallest, {}", reading.converted(1.0, "[in_i]").1)),
            words("Observations"),
        ],
        rows: weeds
            .iter()
            .map(|w| {
                vec![
                    words(w.label.clone()),
                    on(w.day),
                    number(format!("{} of {}", w.spots_with_it, w.spots)),
                    number(interval(w.interval_95)),
                    number(
                        w.per_square_foot
                            .map_or(String::new(), |d| format!("{:.2}", reading.converted(d, "1/[sft_i]").0)),
                    ),
                    number(w.tallest_in.map_or(String::new(), |t| trim(reading.converted(t, "[in_i]").0))),
                    key(w.rests_on.join(", ")),
                ]
            })
            .collect(),
        ..Section::default()
    })
}

fn last(heading: &'static str, check: &LastCheck) -> Section {
    Section {
        heading,
        lines: vec![format!("Last looked at {}.", day(check.day))],
        head: vec![words("What"), words("Found")],
        rows: check.values.iter().map(|(label, value)| vec![words(label.clone()), words(value.clone())]).collect(),
        rests_on: check.rests_on.join(", "),
        ..Section::default()
    }
}

fn notes(assessment: &FieldAssessment) -> Option<Section> {
    (!assessment.notes.is_empty()).then(|| Section {
        heading: "Notes",
        head: vec![words("Day"), words("By"), words("Note"), words("Observation")],
        rows: assessment
            .notes
            .iter()
            .map(|n| vec![on(n.day), words(n.by.clone()), words(n.text.clone()), key(n.observation.clone())])
            .collect(),
        ..Section::default()
    })
}

fn left_out(assessment: &FieldAssessment) -> Option<Section> {
    let mut lines: Vec<String> =
        assessment.set_aside.iter().map(|s| format!("{} ({}, {})", s.why, s.observation, s.measure)).collect();
    if assessment.voided > 0 {
        let observations = counted(assessment.voided, "voided observation is", "voided observations are");
        lines.push(format!("{observations} in no number on this page."));
    }
    lines.extend(assessment.lacking.iter().cloned());
    (!lines.is_empty()).then(|| Section {
        heading: "What was left out, and what is lacking",
        lines,
        ..Section::default()
    })
}
