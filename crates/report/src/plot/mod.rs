//! Plots as SVG: black and grey, told apart by shape, line and a word beside each.

mod heat;
mod stand;

pub(crate) use heat::heat;
pub(crate) use stand::stand;

use plotters::{
    coord::Shift,
    prelude::*,
    style::text_anchor::{HPos, Pos, VPos},
};

use crate::ReportError;

const INK: RGBColor = RGBColor(28, 32, 30);
const QUIET: RGBColor = RGBColor(96, 100, 98);
const BAND: RGBColor = RGBColor(214, 220, 214);
const RULE: RGBColor = RGBColor(226, 229, 226);

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// Draws on a fresh canvas and returns an SVG that can be read out: with a role, a title and a description.
fn picture(
    plot: &'static str,
    size: (u32, u32),
    title: &str,
    description: &str,
    draw: impl FnOnce(&Area<'_>) -> Result<(), Box<dyn std::error::Error>>,
) -> Result<String, ReportError> {
    let mut svg = String::new();
    {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        let told = draw(&area).and_then(|()| area.present().map_err(Into::into));
        told.map_err(|error| ReportError::Plot { plot, problem: error.to_string() })?;
    }
    let head = format!(
        "<svg role=\"img\" aria-labelledby=\"{plot}-title {plot}-about\" viewBox=\"0 0 {} {}\" xmlns=\"http://www.w3.org/2000/svg\">\
         <title id=\"{plot}-title\">{}</title><desc id=\"{plot}-about\">{}</desc>",
        size.0,
        size.1,
        escape(title),
        escape(description)
    );
    let Some(end) = svg.find('>') else {
        return Err(ReportError::Plot { plot, problem: "the drawing library gave no SVG".to_owned() });
    };
    svg.replace_range(..=end, &head);
    Ok(svg)
}

/// Escapes text for an element's content.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Returns a text style; sizes are what the page shows, in px.
fn words(size: u32, colour: RGBColor, horizontal: HPos, vertical: VPos) -> TextStyle<'static> {
    // The SVG backend divides by 1.24.
    let font = FontDesc::new(FontFamily::SansSerif, f64::from(size) * 1.24, FontStyle::Normal);
    TextStyle { font, color: colour.to_backend_color(), pos: Pos::new(horizontal, vertical) }
}

/// Moves labels apart so that none stands on another; `ys` are their wished places.
fn apart(ys: &[i32], gap: i32) -> Vec<i32> {
    let mut order: Vec<usize> = (0..ys.len()).collect();
    order.sort_by_key(|i| ys[*i]);
    let mut placed = ys.to_vec();
    for pair in 1..order.len() {
        let (above, below) = (order[pair - 1], order[pair]);
        placed[below] = placed[below].max(placed[above] + gap);
    }
    placed
}
