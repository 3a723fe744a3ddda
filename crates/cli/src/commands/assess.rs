use std::fmt::Display;
use std::io::{self, Write};

use ligule_engine::assess::{
    Damage, DegreeDays, Disease, FieldAssessment, Harvest, Height, Pest, Planting, SeedDepth, Share, Spacing, Stage,
    Stand, Weed, YieldEstimate, grain,
};
use ligule_engine::{Noun, Phrase, Reading, Result};

use crate::args::{FieldDay, Format, Global};
use crate::listing::printable;

/// Works out what the records of a field say.
pub(crate) fn run(global: &Global, args: &FieldDay) -> Result<()> {
    let engine = crate::open(global)?;
    let assessment = engine.assess(&args.field, args.day.as_of)?;
    let mut out = io::stdout().lock();
    match global.format {
        Format::Json => {
            serde_json::to_writer_pretty(&mut out, &assessment)?;
            writeln!(out)?;
        }
        Format::Ndjson => writeln!(out, "{}", serde_json::to_string(&assessment)?)?,
        Format::Text => {
            let crop = engine.crop_read(&assessment.crop);
            print(&args.field, &crop, &assessment, engine.reading(), &mut out)?;
        }
        Format::Csv => {
            return Err(ligule_engine::EngineError::user(
                "an assessment is no table and cannot be written as CSV",
                "use `--format json`, or `ligule query` for tables",
            ));
        }
    }
    Ok(())
}

/// Where lines of a person's reading go: what each begins with stands in a column of its own.
struct Page<'a, W> {
    reading: &'a Reading,
    out: &'a mut W,
}

impl<W: Write> Page<'_, W> {
    /// Writes a line that begins with a word, the parts of it with commas between.
    fn line(&mut self, head: Phrase, parts: &[String]) -> io::Result<()> {
        writeln!(self.out, "{:<12} {}", self.reading.word(head), printable(&parts.join(", ")))
    }

    /// Writes a line that goes on with what stands above.
    fn more(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "             {}", printable(text))
    }

    fn cautions(&mut self, cautions: &[String]) -> io::Result<()> {
        let note = self.reading.word(Phrase::HeadRemark);
        cautions.iter().try_for_each(|caution| self.more(&format!("{note} {caution}")))
    }
}

fn print(field: &str, crop: &str, a: &FieldAssessment, reading: &Reading, out: &mut impl Write) -> io::Result<()> {
    let crop = if crop.is_empty() { reading.word(Phrase::CropNotRecorded) } else { crop };
    let parts: [(&str, &dyn Display); 4] =
        [("field", &field), ("crop", &crop), ("season", &a.season), ("day", &a.as_of)];
    writeln!(out, "{}", reading.say(Phrase::AssessmentOf, &parts))?;
    if let Some(reentry) = &a.reentry {
        super::reentry::write(reentry, true, reading, out)?;
    }
    let page = &mut Page { reading, out };
    if let Some(planting) = &a.planting {
        print_planting(planting, page)?;
    }
    if let Some(stand) = &a.stand {
        print_stand(stand, page)?;
    }
    if let Some(spacing) = &a.spacing {
        print_spacing(spacing, page)?;
    }
    if let Some(stage) = &a.stage {
        print_stage(stage, page)?;
    }
    if let Some(height) = &a.height {
        print_height(height, page)?;
    }
    if let Some(depth) = &a.seed_depth {
        print_depth(depth, page)?;
    }
    if let Some(days) = &a.degree_days {
        print_degree_days(days, page)?;
    }
    a.damages.iter().try_for_each(|damage| print_damage(damage, page))?;
    a.pests.iter().try_for_each(|pest| print_pest(pest, page))?;
    a.diseases.iter().try_for_each(|disease| print_disease(disease, page))?;
    a.weeds.iter().try_for_each(|weed| print_weed(weed, page))?;
    for (head, check) in [(Phrase::HeadSoil, &a.soil), (Phrase::HeadRoots, &a.roots)] {
        if let Some(check) = check {
            let values: Vec<String> = check.values.iter().map(|(label, value)| format!("{label} {value}")).collect();
            page.line(head, &[values.join("; "), check.day.to_string()])?;
        }
    }
    if let Some(estimate) = &a.yield_estimate {
        print_estimate(estimate, &a.crop, page)?;
    }
    if let Some(harvest) = &a.harvest {
        print_harvest(harvest, &a.crop, page)?;
    }
    for note in &a.notes {
        page.line(Phrase::HeadNote, &[format!("{} ({}, {})", note.text, note.by, note.day)])?;
    }
    for aside in &a.set_aside {
        let parts: [(&str, &dyn Display); 3] =
            [("measure", &aside.measure), ("observation", &aside.observation), ("why", &aside.why)];
        page.line(Phrase::HeadSetAside, &[reading.say(Phrase::SetAsideOf, &parts)])?;
    }
    if a.voided > 0 {
        let observations = reading.counted(a.voided, Noun::VoidObservation);
        page.line(Phrase::HeadVoid, &[reading.say(Phrase::VoidInNone, &[("observations", &observations)])])?;
    }
    a.lacking.iter().try_for_each(|lacking| page.line(Phrase::HeadNotAssessed, std::slice::from_ref(lacking)))
}

fn print_planting(planting: &Planting, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let ago = reading.counted(planting.days_ago, Noun::Day);
    let mut parts = vec![planting.day.to_string(), reading.say(Phrase::Ago, &[("days", &ago)])];
    parts.extend(planting.seeds_per_acre.map(|seeds| reading.per_acre(Noun::Seed, seeds)));
    parts
        .extend(planting.row_width_in.map(|row| reading.say(Phrase::RowsOf, &[("width", &reading.inches(row, None))])));
    parts.extend(
        planting.target_depth_in.map(|depth| reading.say(Phrase::SetDeep, &[("depth", &reading.inches(depth, None))])),
    );
    page.line(Phrase::HeadPlanted, &parts)?;
    page.cautions(&planting.cautions)
}

/// `95 % interval 24,042 to 33,983`
fn interval(reading: &Reading, low: impl Display, high: impl Display) -> String {
    reading.say(Phrase::Interval, &[("low", &low), ("high", &high)])
}

fn print_stand(stand: &Stand, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let mut parts = vec![reading.per_acre(Noun::Plant, stand.plants_per_acre)];
    parts.extend(
        stand.interval_95.map(|(low, high)| interval(reading, reading.bare_per_acre(low), reading.bare_per_acre(high))),
    );
    parts.push(reading.counted(stand.counts.len(), Noun::Count));
    parts.extend(stand.variation_percent.map(|cv| reading.say(Phrase::Variation, &[("percent", &format!("{cv:.1}"))])));
    page.line(Phrase::HeadStand, &parts)?;
    if let Some(share) = stand.share_of_seeds_percent {
        page.more(&reading.say(Phrase::ShareOfSeeds, &[("percent", &format!("{share:.1}"))]))?;
    }
    if let (Some(five), Some(ten)) = (stand.more_counts_for_5_percent, stand.more_counts_for_10_percent) {
        page.more(&reading.say(Phrase::MoreCounts, &[("ten", &ten), ("five", &five)]))?;
    }
    page.cautions(&stand.cautions)
}

fn print_spacing(spacing: &Spacing, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let inches = |inches: f64| reading.inches(inches, Some(2));
    let gaps = reading.counted(spacing.gaps, Noun::Gap);
    let mut parts = vec![reading.say(Phrase::MeanOf, &[("what", &gaps), ("mean", &inches(spacing.mean_in))])];
    parts
        .extend(spacing.standard_deviation_in.map(|sd| reading.say(Phrase::StandardDeviation, &[("sd", &inches(sd))])));
    parts.extend(spacing.intended_in.map(|i| reading.say(Phrase::OfIntended, &[("intended", &inches(i))])));
    if let (Some(doubles), Some(skips)) = (spacing.doubles_percent, spacing.skips_percent) {
        let (doubles, skips) = (format!("{doubles:.0}"), format!("{skips:.0}"));
        parts.push(reading.say(Phrase::DoublesAndSkips, &[("doubles", &doubles), ("skips", &skips)]));
    }
    parts.push(spacing.day.to_string());
    page.line(Phrase::HeadSpacing, &parts)?;
    let losses = spacing.losses.iter().map(|loss| loss.bushels_per_acre);
    if let Some((low, high)) = losses.map(|loss| (loss, loss)).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))) {
        let bushels = |bushels: f64| reading.yield_per_acre(grain("corn"), bushels);
        page.more(&reading.say(Phrase::LossAt, &[("low", &bushels(low)), ("high", &bushels(high))]))?;
    }
    page.cautions(&spacing.cautions)
}

fn print_stage(stage: &Stage, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let bbch = match stage.bbch {
        Some((low, high)) if low == high => format!(" (BBCH {low})"),
        Some((low, high)) => {
            format!(" (BBCH {})", reading.say(Phrase::RangeOf, &[("low", &low), ("high", &high)]))
        }
        None => String::new(),
    };
    let mut parts = vec![
        format!("{}{bbch}", stage.field_stage),
        reading.say(Phrase::PlantsFromTo, &[("least", &stage.spread.0), ("most", &stage.spread.1)]),
    ];
    parts.extend(
        stage.behind_percent.map(|behind| reading.say(Phrase::BehindTwo, &[("percent", &format!("{behind:.0}"))])),
    );
    parts.push(stage.day.to_string());
    page.line(Phrase::HeadStage, &parts)?;
    page.cautions(&stage.cautions)
}

fn print_height(height: &Height, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let inches = |inches: f64| reading.inches(inches, Some(1));
    let mut parts = vec![inches(height.mean_in)];
    if height.plants > 1 {
        let plants = reading.counted(height.plants, Noun::Plant);
        parts = vec![reading.say(Phrase::MeanOf, &[("what", &plants), ("mean", &parts[0])])];
        let (low, high) = (inches(height.range_in.0), inches(height.range_in.1));
        parts.push(reading.say(Phrase::RangeOf, &[("low", &low), ("high", &high)]));
    }
    parts.push(height.day.to_string());
    page.line(Phrase::HeadHeight, &parts)
}

fn print_depth(depth: &SeedDepth, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let inches = |inches: f64| reading.inches(inches, Some(2));
    let mut parts = vec![inches(depth.mean_in)];
    parts.extend(depth.standard_deviation_in.map(|sd| reading.say(Phrase::StandardDeviation, &[("sd", &inches(sd))])));
    parts.push(reading.counted(depth.seeds, Noun::Seed));
    let mut text = parts.join(", ");
    if let (Some(target), Some(quarter), Some(half)) =
        (depth.target_in, depth.beyond_quarter_inch_percent, depth.beyond_half_inch_percent)
    {
        let bounds: [(&str, &dyn Display); 5] = [
            ("quarter", &format!("{quarter:.0}")),
            ("small", &inches(0.25)),
            ("half", &format!("{half:.0}")),
            ("large", &inches(0.5)),
            ("target", &reading.inches(target, None)),
        ];
        text = format!("{text}; {}", reading.say(Phrase::BeyondBounds, &bounds));
    }
    page.line(Phrase::HeadDepth, &[text])?;
    page.cautions(&depth.cautions)
}

fn print_degree_days(days: &DegreeDays, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let (total, unit) = reading.converted(days.total_f, "5.K.d/9");
    let mut parts = vec![
        format!("{total:.0} {unit}"),
        days.method.clone(),
        reading.say(Phrase::FromTo, &[("from", &days.from), ("to", &days.to)]),
        reading.counted(days.days, Noun::Day),
    ];
    if days.missing_days > 0 {
        let missing = reading.counted(days.missing_days, Noun::Day);
        parts.push(reading.say(Phrase::MissingDays, &[("days", &missing)]));
    }
    page.line(Phrase::HeadDegreeDays, &parts)?;
    page.more(&reading.say(Phrase::WeatherOf, &[("station", &days.station)]))?;
    for expected in &days.expected {
        let (low, high) = &expected.band;
        page.more(&reading.say(
            Phrase::LetsExpect,
            &[("stage", &expected.stage), ("low", low), ("high", high), ("rate", &expected.rate)],
        ))?;
    }
    page.cautions(&days.cautions)
}

fn print_damage(damage: &Damage, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let mut parts = Vec::new();
    parts.extend(damage.happened.map(|day| reading.say(Phrase::EventOf, &[("event", &day)])));
    parts.extend(damage.stage.as_ref().map(|stage| reading.say(Phrase::AtStage, &[("stage", stage)])));
    if let Some(lost) = &damage.lost {
        let percent = format!("{:.1}", lost.percent);
        let found: [(&str, &dyn Display); 3] =
            [("found", &lost.plants), ("examined", &lost.examined), ("percent", &percent)];
        parts.push(reading.say(Phrase::PlantsLost, &found));
    }
    if let Some(leaf) = damage.leaf_lost_percent {
        let mut text = reading.say(Phrase::LeafLost, &[("percent", &format!("{leaf:.0}"))]);
        if let Some((low, high)) = damage.leaf_lost_range_percent.filter(|(low, high)| low < high) {
            let (low, high, places) =
                (format!("{low:.0}"), format!("{high:.0}"), reading.counted(damage.places, Noun::Place));
            let range = reading.say(Phrase::LeafLostPlaces, &[("low", &low), ("high", &high), ("places", &places)]);
            text = format!("{text} ({range})");
        }
        parts.push(text);
    }
    if !damage.growing_points.is_empty() {
        parts.push(reading.say(Phrase::GrowingPoint, &[("what", &damage.growing_points.join(" / "))]));
    }
    parts.push(damage.day.to_string());
    page.line(if damage.event == "hail" { Phrase::HeadHail } else { Phrase::HeadFrost }, &parts)?;
    let percent = |ends: Option<(f64, f64)>| {
        ends.map(|(low, high)| match (format!("{low:.0}"), format!("{high:.0}")) {
            (low, high) if low == high => format!("{low} %"),
            (low, high) => format!("{} %", reading.say(Phrase::RangeOf, &[("low", &low), ("high", &high)])),
        })
    };
    let whole = percent(damage.yield_loss_percent).map(|loss| reading.say(Phrase::YieldLoss, &[("loss", &loss)]));
    let plants = percent(damage.loss_from_plants_percent);
    let plants = plants.map(|loss| reading.say(Phrase::OfPlantLoss, &[("loss", &loss)]));
    let leaf = percent(damage.loss_from_leaf_percent);
    let leaf = leaf.map(|loss| reading.say(Phrase::OfLeafLoss, &[("loss", &loss)]));
    let losses: Vec<String> = whole.into_iter().chain(plants).chain(leaf).collect();
    if !losses.is_empty() {
        page.more(&losses.join("; "))?;
    }
    page.cautions(&damage.cautions)
}

fn print_pest(pest: &Pest, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let name = if pest.label.is_empty() { &pest.organism } else { &pest.label };
    let of = |what: String, share: &Share| {
        let examined = reading.counted(share.examined, Noun::Plant);
        reading.say(Phrase::FoundOf, &[("found", &what), ("examined", &examined)])
    };
    let counts = match (&pest.damaged, &pest.cut) {
        (Some(damaged), Some(cut)) if damaged.examined == cut.examined => {
            format!("{}, {}", found(damaged), of(found(cut), cut))
        }
        (damaged, cut) => {
            let each = damaged.iter().chain(cut).map(|share| of(found(share), share));
            each.collect::<Vec<_>>().join(", ")
        }
    };
    page.line(Phrase::HeadPest, &[format!("{name}: {counts}"), pest.day.to_string()])?;
    for share in pest.damaged.iter().chain(&pest.cut) {
        page.more(&percent_of(share, reading))?;
    }
    let note = match (&pest.damaged, &pest.cut) {
        (None, Some(_)) => Some(Phrase::OnlyCutCounted),
        (Some(_), None) => Some(Phrase::CutNotCounted),
        _ => None,
    };
    page.cautions(&note.map(|note| reading.word(note).to_owned()).into_iter().collect::<Vec<_>>())
}

fn found(share: &Share) -> String {
    format!("{} {}", share.plants, share.word)
}

/// `cut 7.0 % (95 % interval 3.4 to 13.7)`
fn percent_of(share: &Share, reading: &Reading) -> String {
    let interval = share.interval_95.map_or(String::new(), |(low, high)| {
        format!(" ({})", interval(reading, format!("{low:.1}"), format!("{high:.1}")))
    });
    format!("{} {:.1} %{interval}", share.word, share.percent)
}

fn print_disease(disease: &Disease, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let mut parts = Vec::new();
    if let Some(affected) = &disease.affected {
        let examined = reading.counted(affected.examined, Noun::Plant);
        parts.push(reading.say(Phrase::FoundOf, &[("found", &found(affected)), ("examined", &examined)]));
    }
    parts.extend(
        disease
            .severity_percent
            .map(|severity| reading.say(Phrase::Severity, &[("percent", &format!("{severity:.1}"))])),
    );
    parts.extend(disease.highest_leaf.as_ref().map(|leaf| reading.say(Phrase::HighestLeaf, &[("leaf", leaf)])));
    let text = format!("{}: {}", disease.label, parts.join(", "));
    page.line(Phrase::HeadDisease, &[text, disease.day.to_string()])?;
    disease.affected.iter().try_for_each(|affected| page.more(&percent_of(affected, reading)))
}

fn print_weed(weed: &Weed, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let mut parts = vec![if weed.label.is_empty() { weed.organism.clone() } else { weed.label.clone() }];
    parts.extend(weed.per_square_foot.map(|density| {
        let (density, unit) = reading.converted(density, "1/[sft_i]");
        reading.say(Phrase::PlantsPer, &[("n", &format!("{density:.1}")), ("unit", &unit)])
    }));
    parts.extend(
        weed.tallest_in.map(|tallest| reading.say(Phrase::Tall, &[("height", &reading.inches(tallest, None))])),
    );
    parts.push(weed.day.to_string());
    page.line(Phrase::HeadWeed, &parts)
}

fn print_estimate(estimate: &YieldEstimate, crop: &str, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let bushels = |bushels: f64| reading.yield_per_acre(grain(crop), bushels);
    let mut parts = vec![bushels(estimate.bushels_per_acre)];
    parts.extend(estimate.interval_95.map(|(low, high)| interval(reading, bushels(low), bushels(high))));
    parts.push(reading.counted(estimate.places, Noun::Place));
    parts.push(estimate.day.to_string());
    page.line(Phrase::HeadEstimate, &parts)?;
    if let Some((low, high)) = estimate.by_kernel_factors {
        page.more(&reading.say(Phrase::EstimateFactors, &[("low", &bushels(low)), ("high", &bushels(high))]))?;
    }
    page.cautions(&estimate.cautions)
}

fn print_harvest(harvest: &Harvest, crop: &str, page: &mut Page<'_, impl Write>) -> io::Result<()> {
    let reading = page.reading;
    let (first, last) = harvest.days;
    let mut parts = vec![if first == last {
        first.to_string()
    } else {
        reading.say(Phrase::FromTo, &[("from", &first), ("to", &last)])
    }];
    parts.extend(harvest.bushels_per_acre.map(|bushels| {
        let told = reading.yield_per_acre(grain(crop), bushels);
        reading.say(if harvest.as_told { Phrase::AsTold } else { Phrase::AtStandard }, &[("yield", &told)])
    }));
    if harvest.parts > 1 {
        parts.push(reading.counted(harvest.parts, Noun::Part));
    }
    parts.extend(
        harvest.moisture_percent.map(|water| reading.say(Phrase::Moisture, &[("percent", &format!("{water:.1}"))])),
    );
    parts.extend(harvest.test_weight_lb_per_bu.map(|weight| {
        let (weight, unit) = reading.converted(weight, "[lb_av]/[bu_us]");
        reading.say(Phrase::TestWeight, &[("weight", &format!("{weight:.1} {unit}"))])
    }));
    page.line(Phrase::HeadHarvest, &parts)?;
    let mut plants: Vec<String> =
        harvest.plants_per_acre.map(|n| reading.per_acre(Noun::Plant, n)).into_iter().collect();
    for (phrase, percent) in [
        (Phrase::StandKept, harvest.stand_kept_percent),
        (Phrase::Barren, harvest.barren_percent),
        (Phrase::Lodged, harvest.lodged_percent),
    ] {
        plants.extend(percent.map(|percent| reading.say(phrase, &[("percent", &format!("{percent:.1}"))])));
    }
    if !plants.is_empty() {
        page.more(&plants.join(", "))?;
    }
    page.cautions(&harvest.cautions)
}
