//! Counts of plants with the 95 % interval of their mean, against the seeds dropped.

use ligule_engine::Reading;
use ligule_engine::assess::{Planting, Stand};
use plotters::{
    prelude::*,
    style::text_anchor::{HPos, VPos},
};

use super::{BAND, INK, QUIET, RULE, apart, picture, words};
use crate::{ReportError, text::whole};

const SIZE: (u32, u32) = (720, 306);
const LABELS: u32 = 190;

/// Draws the counts of a stand.
pub(crate) fn stand(stand: &Stand, planting: Option<&Planting>, reading: &Reading) -> Result<String, ReportError> {
    let (stand, area) = (&read(stand, reading), reading.area_word());
    let dropped = planting.and_then(|p| p.seeds_per_acre).map(|seeds| per_area(seeds, reading));
    let mut about = format!(
        "{} counts from {} to {} plants per {area}; mean {}",
        stand.counts.len(),
        whole(least(stand)),
        whole(most(stand)),
        whole(stand.plants_per_acre)
    );
    if let Some((low, high)) = stand.interval_95 {
        about += &format!("; 95 % interval of the mean {} to {}", whole(low), whole(high));
    }
    if let Some(seeds) = dropped {
        about += &format!("; seeds dropped {}", whole(seeds));
    }
    picture("stand-plot", SIZE, &format!("Plants per {area}, count by count"), &about, |area| {
        draw(area, stand, dropped)
    })
}

fn per_area(per_acre: f64, reading: &Reading) -> f64 {
    reading.converted(per_acre, "1/[acr_us]").0
}

/// Returns the stand with its numbers to the area that is read.
fn read(stand: &Stand, reading: &Reading) -> Stand {
    let mut stand = stand.clone();
    stand.plants_per_acre = per_area(stand.plants_per_acre, reading);
    stand.interval_95 = stand.interval_95.map(|(low, high)| (per_area(low, reading), per_area(high, reading)));
    for count in &mut stand.counts {
        count.plants_per_acre = per_area(count.plants_per_acre, reading);
    }
    stand
}

fn least(stand: &Stand) -> f64 {
    stand.counts.iter().map(|c| c.plants_per_acre).fold(f64::INFINITY, f64::min)
}

fn most(stand: &Stand) -> f64 {
    stand.counts.iter().map(|c| c.plants_per_acre).fold(f64::NEG_INFINITY, f64::max)
}

fn draw(area: &super::Area<'_>, stand: &Stand, dropped: Option<f64>) -> Result<(), Box<dyn std::error::Error>> {
    let (low, high) = stand.interval_95.unwrap_or((stand.plants_per_acre, stand.plants_per_acre));
    let bottom = least(stand).min(low).min(dropped.unwrap_or(low));
    let top = most(stand).max(high).max(dropped.unwrap_or(high));
    let room = ((top - bottom) * 0.1).max(top * 0.01).max(1.0);
    let (bottom, top) = ((bottom - room).max(0.0), top + room);
    let last = stand.counts.len() as f64 + 0.5;

    let (left, _) = area.split_horizontally(SIZE.0 - LABELS);
    let mut chart = ChartBuilder::on(&left)
        .margin_top(12)
        .margin_right(4)
        .x_label_area_size(46)
        .y_label_area_size(66)
        .build_cartesian_2d(0.5..last, bottom..top)?;
    let ticks = stand.counts.len().min(16);
    chart
        .configure_mesh()
        .disable_x_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(RULE)
        .axis_style(QUIET)
        .y_labels(6)
        .x_labels(ticks)
        .y_label_formatter(&|y| whole(*y))
        .x_label_formatter(&|x| if (x - x.round()).abs() < 1e-9 { format!("{x:.0}") } else { String::new() })
        .x_desc("count, in the order they were made")
        .axis_desc_style(words(12, QUIET, HPos::Center, VPos::Top))
        .label_style(words(12, INK, HPos::Center, VPos::Top))
        .draw()?;

    if stand.interval_95.is_some() {
        chart.draw_series([Rectangle::new([(0.5, low), (last, high)], BAND.filled())])?;
    }
    chart.draw_series([PathElement::new(
        vec![(0.5, stand.plants_per_acre), (last, stand.plants_per_acre)],
        INK.stroke_width(2),
    )])?;
    if let Some(seeds) = dropped {
        chart.draw_series(DashedLineSeries::new([(0.5, seeds), (last, seeds)], 7, 5, INK.stroke_width(2)))?;
    }
    chart.draw_series(
        stand
            .counts
            .iter()
            .enumerate()
            .map(|(i, count)| Circle::new((i as f64 + 1.0, count.plants_per_acre), 5, INK.filled())),
    )?;

    let mut labels = vec![(stand.plants_per_acre, format!("mean {}", whole(stand.plants_per_acre)))];
    if stand.interval_95.is_some() {
        labels.push((low, format!("95 % from {}", whole(low))));
        labels.push((high, format!("95 % up to {}", whole(high))));
    }
    if let Some(seeds) = dropped {
        labels.push((seeds, format!("seeds dropped {}", whole(seeds))));
    }
    let wished: Vec<i32> = labels.iter().map(|(y, _)| chart.backend_coord(&(last, *y)).1).collect();
    let x = (SIZE.0 - LABELS) as i32 + 6;
    for ((_, label), y) in labels.into_iter().zip(apart(&wished, 16)) {
        area.draw(&Text::new(label, (x, y), words(13, INK, HPos::Left, VPos::Center)))?;
    }
    Ok(())
}
