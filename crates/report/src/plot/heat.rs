//! Degree days since planting, with the stages they let one expect and the stage that was seen.

use jiff::civil::Date;
use ligule_engine::Reading;
use ligule_engine::assess::{DegreeDays, Stage};
use plotters::{
    prelude::*,
    style::text_anchor::{HPos, VPos},
};

use super::{INK, QUIET, RULE, picture, words};
use crate::{
    ReportError,
    text::{short_day, whole},
};

const SIZE: (u32, u32) = (720, 320);

/// Draws the course of degree days; needs at least one day of weather.
pub(crate) fn heat(heat: &DegreeDays, seen: Option<&Stage>, reading: &Reading) -> Result<String, ReportError> {
    let (heat, unit) = (&read(heat, reading), reading.converted(0.0, FAHRENHEIT).1);
    let mut about = format!(
        "From {} to {}: {} degree days by the {}.",
        short_day(heat.from),
        short_day(heat.to),
        whole(heat.total_f),
        heat.method
    );
    for mark in &heat.marks {
        about += &format!(" {} to be expected from {} on.", mark.stage, short_day(mark.day));
    }
    if let Some(stage) = seen {
        about += &format!(" Seen on {}: {}.", short_day(stage.day), stage.field_stage);
    }
    picture("heat-plot", SIZE, "Degree days since planting", &about, |area| draw(area, heat, seen, unit))
}

/// UCUM's code of the Fahrenheit degree day.
const FAHRENHEIT: &str = "5.K.d/9";

/// Returns the sums in the degree days that are read.
fn read(heat: &DegreeDays, reading: &Reading) -> DegreeDays {
    let converted = |sum: f64| reading.converted(sum, FAHRENHEIT).0;
    let mut heat = heat.clone();
    heat.total_f = converted(heat.total_f);
    heat.course.iter_mut().for_each(|(_, sum)| *sum = converted(*sum));
    heat.marks.iter_mut().for_each(|mark| mark.degree_days_f = converted(mark.degree_days_f));
    heat
}

fn draw(
    area: &super::Area<'_>,
    heat: &DegreeDays,
    seen: Option<&Stage>,
    unit: &str,
) -> Result<(), Box<dyn std::error::Error>> {
    let since = |day: Date| f64::from((day - heat.from).get_days()) + 1.0;
    let last = since(heat.to).max(seen.map_or(0.0, |s| since(s.day))).max(7.0);
    let top = (heat.total_f * 1.15).max(50.0);
    let mut chart = ChartBuilder::on(area)
        .margin_top(12)
        .margin_right(30)
        .x_label_area_size(40)
        .y_label_area_size(66)
        .build_cartesian_2d(0.0..last * 1.02, 0.0..top)?;
    let day_of =
        |x: f64| heat.from.checked_add(jiff::Span::new().days(x.round() as i64 - 1)).map_or(String::new(), short_day);
    chart
        .configure_mesh()
        .disable_x_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(RULE)
        .axis_style(QUIET)
        .y_labels(6)
        .x_labels(8)
        .y_label_formatter(&|y| whole(*y))
        .x_label_formatter(&|x| day_of(*x))
        .y_desc(unit.replace('·', " · ").replace(" d", " day"))
        .axis_desc_style(words(12, QUIET, HPos::Center, VPos::Top))
        .label_style(words(12, INK, HPos::Center, VPos::Top))
        .draw()?;
    let course = std::iter::once((0.0, 0.0)).chain(heat.course.iter().map(|(day, sum)| (since(*day), *sum)));
    chart.draw_series(LineSeries::new(course, INK.stroke_width(2)))?;

    for mark in &heat.marks {
        let (x, y) = chart.backend_coord(&(since(mark.day), mark.degree_days_f));
        area.draw(&PathElement::new(vec![(x, y - 7), (x, y + 7)], INK.stroke_width(2)))?;
        area.draw(&Text::new(mark.stage.clone(), (x - 6, y - 5), words(12, INK, HPos::Right, VPos::Bottom)))?;
    }
    if let Some(stage) = seen
        && let Some((_, sum)) = heat.course.iter().rev().find(|(day, _)| *day <= stage.day)
    {
        let (x, y) = chart.backend_coord(&(since(stage.day), *sum));
        let diamond = vec![(x, y - 8), (x + 8, y), (x, y + 8), (x - 8, y), (x, y - 8)];
        area.draw(&Polygon::new(diamond.clone(), WHITE.filled()))?;
        area.draw(&PathElement::new(diamond, INK.stroke_width(2)))?;
        let label = format!("seen {}", stage.field_stage);
        area.draw(&Text::new(label, (x, y + 14), words(13, INK, HPos::Center, VPos::Top)))?;
    }
    Ok(())
}
