//! One section for each thing that was assessed; what is absent has no section.

use jiff::civil::Date;
use ligule_engine::Reading;
use ligule_engine::assess::{
    Damage, DegreeDays, Disease, FieldAssessment, Harvest, Height, LastCheck, Pest, Planting, SeedDepth, Share,
    Spacing, Stage, Stand, Weed, YieldEstimate, grain,
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
    sections.extend(assessment.spacing.as_ref().map(|s| spacing(s, reading, sources)));
    sections.extend(assessment.stage.as_ref().map(|s| stage(s, sources)));
    sections.extend(assessment.height.as_ref().map(|h| height(h, reading, sources)));
    sections.extend(assessment.degree_days.as_ref().map(|d| heat(d, reading, sources)));
    sections.extend(assessment.seed_depth.as_ref().map(|d| depth(d, reading, sources)));
    sections.extend(assessment.damages.iter().map(|d| damage(d, sources)));
    sections.extend(pests(&assessment.pests, sources));
    sections.extend(diseases(&assessment.diseases, sources));
    sections.extend(weeds(&assessment.weeds, reading, sources));
    sections.extend(assessment.soil.as_ref().map(|c| last("Soil", c)));
    sections.extend(assessment.roots.as_ref().map(|c| last("Roots", c)));
    sections.extend(assessment.yield_estimate.as_ref().map(|y| estimate(y, &assessment.crop, reading, sources)));
    sections.extend(assessment.harvest.as_ref().map(|h| harvest(h, &assessment.crop, reading, sources)));
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
            "Intended: {}. More than {} off: {quarter:.0} %; more than {} off: {half:.0} %.",
            reading.inches(target, None),
            reading.inches(0.25, Some(2)),
            reading.inches(0.5, Some(2))
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

fn spacing(spacing: &Spacing, reading: &Reading, sources: &mut Sources) -> Section {
    let inches = |inches: f64| reading.inches(inches, Some(2));
    let mut lines = vec![format!(
        "{} at {}, seen {}: {} on average{}{}.",
        counted(spacing.gaps, "gap between plants", "gaps between plants"),
        counted(spacing.places, "place", "places"),
        day(spacing.day),
        inches(spacing.mean_in),
        spacing.intended_in.map_or(String::new(), |intended| format!(", {} intended", inches(intended))),
        spacing.standard_deviation_in.map_or(String::new(), |sd| format!(", standard deviation {}", inches(sd)))
    )];
    if let (Some(doubles), Some(skips)) = (spacing.doubles_percent, spacing.skips_percent) {
        lines.push(format!("{doubles:.0} % of the gaps are doubles, {skips:.0} % skips."));
    }
    Section {
        heading: "Spacing of plants",
        lines,
        cautions: spacing.cautions.clone(),
        cites: sources.cite(&spacing.sources),
        table_caption: "What such a spread costs, by each study that speaks of it",
        head: if spacing.losses.is_empty() { Vec::new() } else { vec![words("Study"), number("Loss")] },
        rows: spacing
            .losses
            .iter()
            .map(|loss| {
                let told = reading.yield_per_acre(grain("corn"), loss.bushels_per_acre);
                vec![words(loss.study.clone()), number(told)]
            })
            .collect(),
        rests_on: spacing.rests_on.join(", "),
        ..Section::default()
    }
}

fn height(height: &Height, reading: &Reading, sources: &mut Sources) -> Section {
    let inches = |inches: f64| reading.inches(inches, Some(1));
    Section {
        heading: "Height",
        lines: vec![format!(
            "The crop stood {} high on {}, by {}, from {} to {}.",
            inches(height.mean_in),
            day(height.day),
            counted(height.plants, "plant", "plants"),
            inches(height.range_in.0),
            inches(height.range_in.1)
        )],
        cites: sources.cite(&height.sources),
        rests_on: height.rests_on.join(", "),
        ..Section::default()
    }
}

fn damage(damage: &Damage, sources: &mut Sources) -> Section {
    let hail = damage.event == "hail";
    let mut lines = vec![format!(
        "{}{}; looked at {} at {}.",
        if hail { "Hail" } else { "Frost" },
        damage.happened.map_or(String::new(), |happened| format!(" of {}", day(happened))),
        day(damage.day),
        counted(damage.places, "place", "places")
    )];
    lines.extend(damage.stage.as_ref().map(|stage| format!("The crop was at {stage} when it happened.")));
    lines.extend(damage.lost.as_ref().map(|lost| {
        let interval =
            lost.interval_95.map_or(String::new(), |(low, high)| format!(" (95 % interval {low:.1} to {high:.1} %)"));
        format!("Plants lost: {} of {}, {:.1} %{interval}.", lost.plants, lost.examined, lost.percent)
    }));
    lines.extend(damage.leaf_lost_percent.map(|leaf| match damage.leaf_lost_range_percent {
        Some((low, high)) if low < high => {
            format!("Leaf area lost: {leaf:.0} %, from {low:.0} to {high:.0} % over the places.")
        }
        _ => format!("Leaf area lost: {leaf:.0} %."),
    }));
    if !damage.growing_points.is_empty() {
        lines.push(format!("Growing points: {}.", damage.growing_points.join("; ")));
    }
    let span = |(low, high): (f64, f64)| match (format!("{low:.0}"), format!("{high:.0}")) {
        (low, high) if low == high => format!("{low} %"),
        (low, high) => format!("{low} to {high} %"),
    };
    let parts = [
        ("It costs", damage.yield_loss_percent, "of the yield"),
        ("Lost plants alone cost", damage.loss_from_plants_percent, "of it"),
        ("Lost leaf alone costs", damage.loss_from_leaf_percent, "of it"),
    ];
    lines.extend(
        parts.into_iter().filter_map(|(what, loss, of)| Some(format!("{what} {} {of}, by the charts.", span(loss?)))),
    );
    Section {
        heading: if hail { "Hail" } else { "Frost" },
        lines,
        cautions: damage.cautions.clone(),
        cites: sources.cite(&damage.sources),
        rests_on: damage.rests_on.join(", "),
        ..Section::default()
    }
}

fn diseases(diseases: &[Disease], sources: &mut Sources) -> Option<Section> {
    if diseases.is_empty() {
        return None;
    }
    let cited: Vec<_> = diseases.iter().flat_map(|d| d.sources.clone()).collect();
    Some(Section {
        heading: "Diseases",
        lines: vec!["As found on the last day each was looked for.".to_owned()],
        cites: sources.cite(&cited),
        head: vec![
            words("Disease"),
            words("Day"),
            number("Plants affected"),
            number("95 % interval"),
            number("Severity"),
            words("Highest leaf"),
            words("Observations"),
        ],
        rows: diseases
            .iter()
            .map(|d| {
                vec![
                    words(d.label.clone()),
                    on(d.day),
                    number(
                        d.affected
                            .as_ref()
                            .map_or(String::new(), |a| format!("{} of {}, {:.1} %", a.plants, a.examined, a.percent)),
                    ),
                    number(
                        d.affected
                            .as_ref()
                            .and_then(|a| a.interval_95)
                            .map_or(String::new(), |(low, high)| format!("{low:.1} to {high:.1} %")),
                    ),
                    number(d.severity_percent.map_or(String::new(), |severity| format!("{severity:.1} %"))),
                    words(d.highest_leaf.clone().unwrap_or_default()),
                    key(d.rests_on.join(", ")),
                ]
            })
            .collect(),
        ..Section::default()
    })
}

fn estimate(estimate: &YieldEstimate, crop: &str, reading: &Reading, sources: &mut Sources) -> Section {
    let told = |bushels: f64| reading.yield_per_acre(grain(crop), bushels);
    let mut lines = vec![match estimate.interval_95 {
        Some((low, high)) => format!(
            "{} on {}, the mean of {}; between them alone the 95 % interval is {} to {}.",
            told(estimate.bushels_per_acre),
            day(estimate.day),
            counted(estimate.places, "place", "places"),
            told(low),
            told(high)
        ),
        None => format!("{} on {}, from one place.", told(estimate.bushels_per_acre), day(estimate.day)),
    }];
    lines.extend(
        estimate
            .by_kernel_factors
            .map(|(low, high)| format!("By the kernel factors that are published: {} to {}.", told(low), told(high))),
    );
    Section {
        heading: "Yield estimate",
        lines,
        cautions: estimate.cautions.clone(),
        cites: sources.cite(&estimate.sources),
        rests_on: estimate.rests_on.join(", "),
        ..Section::default()
    }
}

fn harvest(harvest: &Harvest, crop: &str, reading: &Reading, sources: &mut Sources) -> Section {
    let (first, last) = harvest.days;
    let mut lines = vec![if first == last {
        format!("Harvested {}.", day(first))
    } else {
        format!("Harvested from {} to {}, {}.", day(first), day(last), counted(harvest.parts, "part", "parts"))
    }];
    lines.extend(harvest.bushels_per_acre.map(|bushels| {
        let basis = if harvest.as_told { "as told" } else { "at standard moisture" };
        format!("Yield {}, {basis}.", reading.yield_per_acre(grain(crop), bushels))
    }));
    let percent = |value: f64| format!("{value:.1} %");
    let mut rows = Vec::new();
    rows.extend(harvest.moisture_percent.map(|value| ("Moisture as it came", percent(value))));
    rows.extend(harvest.test_weight_lb_per_bu.map(|weight| {
        let (weight, unit) = reading.converted(weight, "[lb_av]/[bu_us]");
        ("Test weight", format!("{weight:.1} {unit}"))
    }));
    rows.extend(
        harvest
            .plants_per_acre
            .map(|n| ("Plants", format!("{} per {}", reading.bare_per_acre(n), reading.area_word()))),
    );
    rows.extend(harvest.stand_kept_percent.map(|value| ("Of the stand counted before", percent(value))));
    rows.extend(harvest.barren_percent.map(|value| ("Barren", percent(value))));
    rows.extend(harvest.lodged_percent.map(|value| ("Lodged", percent(value))));
    Section {
        heading: "Harvest",
        lines,
        cautions: harvest.cautions.clone(),
        cites: sources.cite(&harvest.sources),
        head: if rows.is_empty() { Vec::new() } else { vec![words("What"), number("Mean")] },
        rows: rows.into_iter().map(|(what, value)| vec![words(what), number(value)]).collect(),
        rests_on: harvest.rests_on.join(", "),
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
        heading: "Insects",
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
