use std::io::{self, Write};

use ligule_engine::assess::{DegreeDays, FieldAssessment, Pest, SeedDepth, Share, Stage, Stand};
use ligule_engine::number::counted;
use ligule_engine::{Reading, Result};

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
        Format::Text => print(&args.field, &assessment, engine.reading(), &mut out)?,
        Format::Csv => {
            return Err(ligule_engine::EngineError::user(
                "an assessment is no table and cannot be written as CSV",
                "use `--format json`, or `ligule query` for tables",
            ));
        }
    }
    Ok(())
}

fn print(field: &str, a: &FieldAssessment, reading: &Reading, out: &mut impl Write) -> io::Result<()> {
    let crop = if a.crop.is_empty() { "crop not recorded" } else { &a.crop };
    writeln!(out, "{field}, {crop} {}, as of {}", a.season, a.as_of)?;
    if let Some(reentry) = &a.reentry {
        super::reentry::write(reentry, &reading.language, out)?;
    }
    if let Some(p) = &a.planting {
        write!(out, "planted      {}, {} ago", p.day, counted(p.days_ago, "day", "days"))?;
        if let Some(seeds) = p.seeds_per_acre {
            write!(out, ", {}", reading.per_acre("seeds", seeds))?;
        }
        if let Some(row) = p.row_width_in {
            write!(out, ", {} rows", reading.inches(row, None))?;
        }
        if let Some(depth) = p.target_depth_in {
            write!(out, ", set {} deep", reading.inches(depth, None))?;
        }
        writeln!(out)?;
        cautions(&p.cautions, out)?;
    }
    if let Some(stand) = &a.stand {
        print_stand(stand, reading, out)?;
    }
    if let Some(stage) = &a.stage {
        print_stage(stage, out)?;
    }
    if let Some(depth) = &a.seed_depth {
        print_depth(depth, reading, out)?;
    }
    if let Some(days) = &a.degree_days {
        print_degree_days(days, reading, out)?;
    }
    for pest in &a.pests {
        print_pest(pest, out)?;
    }
    for weed in &a.weeds {
        let name = if weed.label.is_empty() { &weed.organism } else { &weed.label };
        write!(out, "weed         {name}")?;
        if let Some(density) = weed.per_square_foot {
            let (density, unit) = reading.converted(density, "1/[sft_i]");
            write!(out, ", {density:.1} plants{unit}")?;
        }
        if let Some(tallest) = weed.tallest_in {
            write!(out, ", to {} tall", reading.inches(tallest, None))?;
        }
        writeln!(out, ", {}", weed.day)?;
    }
    for (what, check) in [("soil", &a.soil), ("roots", &a.roots)] {
        if let Some(check) = check {
            let values: Vec<String> = check.values.iter().map(|(label, value)| format!("{label} {value}")).collect();
            writeln!(out, "{what:<12} {}, {}", values.join("; "), check.day)?;
        }
    }
    for note in &a.notes {
        writeln!(out, "note         {} ({}, {})", printable(&note.text), printable(&note.by), note.day)?;
    }
    for aside in &a.set_aside {
        writeln!(out, "set aside    {} of {}: {}", aside.measure, aside.observation, aside.why)?;
    }
    if a.voided > 0 {
        let observations = counted(a.voided, "observation is", "observations are");
        writeln!(out, "void         {observations} void and in no number here")?;
    }
    for lacking in &a.lacking {
        writeln!(out, "not assessed {lacking}")?;
    }
    Ok(())
}

fn print_stand(stand: &Stand, reading: &Reading, out: &mut impl Write) -> io::Result<()> {
    write!(out, "stand        {}", reading.per_acre("plants", stand.plants_per_acre))?;
    if let Some((low, high)) = stand.interval_95 {
        write!(out, ", 95 % interval {} to {}", reading.bare_per_acre(low), reading.bare_per_acre(high))?;
    }
    write!(out, ", {}", counted(stand.counts.len(), "count", "counts"))?;
    if let Some(cv) = stand.variation_percent {
        write!(out, ", variation {cv:.1} %")?;
    }
    writeln!(out)?;
    if let Some(share) = stand.share_of_seeds_percent {
        writeln!(out, "             {share:.1} % of the seeds dropped")?;
    }
    if let (Some(five), Some(ten)) = (stand.more_counts_for_5_percent, stand.more_counts_for_10_percent) {
        writeln!(out, "             more counts for ±10 %: {ten}; for ±5 %: {five}")?;
    }
    cautions(&stand.cautions, out)
}

fn print_stage(stage: &Stage, out: &mut impl Write) -> io::Result<()> {
    write!(out, "stage        {}", stage.field_stage)?;
    if let Some((low, high)) = stage.bbch {
        write!(out, " (BBCH {low}")?;
        if high != low {
            write!(out, " to {high}")?;
        }
        write!(out, ")")?;
    }
    write!(out, ", plants from {} to {}", stage.spread.0, stage.spread.1)?;
    if let Some(behind) = stage.behind_percent {
        write!(out, ", {behind:.0} % two or more collars behind")?;
    }
    writeln!(out, ", {}", stage.day)?;
    cautions(&stage.cautions, out)
}

fn print_depth(depth: &SeedDepth, reading: &Reading, out: &mut impl Write) -> io::Result<()> {
    write!(out, "seed depth   {}", reading.inches(depth.mean_in, Some(2)))?;
    if let Some(sd) = depth.standard_deviation_in {
        write!(out, ", standard deviation {}", reading.inches(sd, Some(2)))?;
    }
    write!(out, ", {}", counted(depth.seeds, "seed", "seeds"))?;
    if let (Some(target), Some(quarter), Some(half)) =
        (depth.target_in, depth.beyond_quarter_inch_percent, depth.beyond_half_inch_percent)
    {
        let target = reading.inches(target, None);
        // The publication's bounds are in inches.
        write!(out, "; {quarter:.0} % beyond ¼ in and {half:.0} % beyond ½ in of the set {target}")?;
    }
    writeln!(out)?;
    cautions(&depth.cautions, out)
}

fn print_degree_days(days: &DegreeDays, reading: &Reading, out: &mut impl Write) -> io::Result<()> {
    let (total, unit) = reading.converted(days.total_f, "5.K.d/9");
    write!(
        out,
        "degree days  {total:.0} {unit}, {}, {} to {}, {}",
        days.method,
        days.from,
        days.to,
        counted(days.days, "day", "days")
    )?;
    if days.missing_days > 0 {
        write!(out, ", {} missing and not filled", counted(days.missing_days, "day", "days"))?;
    }
    writeln!(out, "\n             weather of station {}", printable(&days.station))?;
    for expected in &days.expected {
        writeln!(
            out,
            "             lets one expect {} ({} to {}), {}",
            expected.stage, expected.band.0, expected.band.1, expected.rate
        )?;
    }
    cautions(&days.cautions, out)
}

fn print_pest(pest: &Pest, out: &mut impl Write) -> io::Result<()> {
    let name = if pest.label.is_empty() { &pest.organism } else { &pest.label };
    let counts = match (&pest.damaged, &pest.cut) {
        (Some(damaged), Some(cut)) if damaged.examined == cut.examined => {
            format!("{}, {} of {}", found(damaged), found(cut), examined(cut))
        }
        (damaged, cut) => {
            let each = damaged.iter().chain(cut).map(|share| format!("{} of {}", found(share), examined(share)));
            each.collect::<Vec<_>>().join(", ")
        }
    };
    writeln!(out, "pest         {name}: {counts}, {}", pest.day)?;
    for share in pest.damaged.iter().chain(&pest.cut) {
        write!(out, "             {} {:.1} %", share.word, share.percent)?;
        if let Some((low, high)) = share.interval_95 {
            write!(out, " (95 % interval {low:.1} to {high:.1})")?;
        }
        writeln!(out)?;
    }
    match (&pest.damaged, &pest.cut) {
        (None, Some(_)) => {
            writeln!(out, "             note: only cut plants were counted; how many were damaged in all is not known")
        }
        (Some(_), None) => writeln!(out, "             note: cut plants were not counted"),
        _ => Ok(()),
    }
}

fn found(share: &Share) -> String {
    format!("{} {}", share.plants, share.word)
}

fn examined(share: &Share) -> String {
    counted(share.examined, "plant", "plants")
}

fn cautions(cautions: &[String], out: &mut impl Write) -> io::Result<()> {
    cautions.iter().try_for_each(|caution| writeln!(out, "             note: {caution}"))
}
