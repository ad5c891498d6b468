//! One plot along the band.
//!
//! Every panel has the same left and right margin, so that a place along the band lies at the same
//! distance from the page's left in all of them and in the picture above.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// What goes wrong while drawing: nothing, for a drawing that is a text in memory.
pub(super) type Drawn = Result<(), Box<dyn std::error::Error>>;
/// A place to draw on.
pub(super) type Area<'a> = DrawingArea<SVGBackend<'a>, plotters::coord::Shift>;
/// A panel's chart.
pub(super) type Chart<'a, 'b> =
    ChartContext<'b, SVGBackend<'a>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// Ink, of text and main lines.
pub(super) const INK: RGBColor = RGBColor(28, 40, 46);
/// Quiet ink, of axes.
pub(super) const QUIET: RGBColor = RGBColor(84, 97, 102);
/// Measured lines.
pub(super) const LINE: RGBColor = RGBColor(16, 92, 104);
/// Lines of the plan.
pub(super) const PLAN: RGBColor = RGBColor(138, 74, 16);
/// Ground of what is allowed.
pub(super) const ALLOWED: RGBColor = RGBColor(238, 228, 208);
/// Edge of what is allowed.
pub(super) const LIMIT: RGBColor = RGBColor(176, 150, 106);
/// Ground of an interval.
pub(super) const INTERVAL: RGBColor = RGBColor(168, 206, 212);

/// How large a drawing is, and where its panels' axis lies in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    /// Width of the drawing, px.
    pub(super) width: u32,
    /// Room left of the panels for their scales, px.
    pub(super) left: u32,
    /// Room right of the panels, px.
    pub(super) right: u32,
    /// Size of the letters, px.
    pub(super) letters: u32,
    /// Length of the body, mm.
    pub(super) length_mm: f64,
    /// Shown units in a millimetre along the band.
    pub(super) shown_per_mm: f64,
    /// The shown unit.
    pub(super) unit: &'static str,
}

impl Frame {
    /// Pixels of the drawing in a millimetre of the band.
    pub(super) fn px_per_mm(&self) -> f64 {
        f64::from(self.width - self.left - self.right) / self.length_mm
    }

    /// Where a place along the band lies in the drawing, px from its left.
    pub(super) fn x_px(&self, at_mm: f64) -> f64 {
        f64::from(self.left) + at_mm * self.px_per_mm()
    }

    /// Letters in a colour.
    pub(super) fn style(&self, colour: RGBColor) -> TextStyle<'static> {
        ("sans-serif", self.letters).into_font().color(&colour)
    }
}

/// A panel's chart with its heading: `heading` stands above the plot, `low` and `high` bound its
/// scale. The axis along the band is written only where `lowest` says so, the scale's own numbers
/// only where `numbered` does.
pub(super) fn chart<'a, 'b>(
    area: &'b Area<'a>,
    frame: &Frame,
    heading: &str,
    (low, high): (f64, f64),
    lowest: bool,
    numbered: bool,
) -> Result<Chart<'a, 'b>, Box<dyn std::error::Error>> {
    let axis = if lowest { frame.letters * 3 } else { 4 };
    let mut chart = ChartBuilder::on(area)
        .margin_top(frame.letters + 12)
        .margin_right(frame.right)
        .set_label_area_size(LabelAreaPosition::Left, frame.left)
        .set_label_area_size(LabelAreaPosition::Bottom, axis)
        .build_cartesian_2d(0.0..frame.length_mm * frame.shown_per_mm, low..high)?;
    let decimals = decimals(high - low);
    let number = |value: &f64| format!("{value:.decimals$}");
    let mut mesh = chart.configure_mesh();
    mesh.disable_x_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(RGBColor(222, 226, 227))
        .axis_style(QUIET)
        .y_labels(if numbered { 4 } else { 0 })
        .y_label_formatter(&number)
        .label_style(frame.style(QUIET));
    let along = |value: &f64| crate::units::rounded(*value, 1);
    if lowest {
        mesh.x_labels(if frame.width > NARROW_PX { 11 } else { 6 })
            .x_label_formatter(&along)
            .x_desc(format!("{} from the start of the body", frame.unit));
    } else {
        mesh.x_labels(0);
    }
    mesh.draw()?;
    area.draw(&Text::new(
        heading.to_owned(),
        (i32_of(frame.left), 4),
        frame.style(INK),
    ))?;
    Ok(chart)
}

/// Drawings up to this width get fewer numbers on their axis.
const NARROW_PX: u32 = 600;

/// Decimals that tell the marks of a scale apart that is `span` long.
fn decimals(span: f64) -> usize {
    match span {
        s if s > 8.0 => 0,
        s if s > 0.8 => 1,
        _ => 2,
    }
}

/// Sizes of a drawing are small.
pub(super) fn i32_of(size: u32) -> i32 {
    i32::try_from(size).unwrap_or(i32::MAX)
}

/// The range of values with some air, never empty; values that are no numbers don't count.
pub(super) fn range(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let finite = values.filter(|value| value.is_finite());
    let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    if low > high {
        return None;
    }
    let air = ((high - low) * 0.08).max(high.abs() * 1e-3).max(1e-6);
    Some((low - air, high + air))
}

/// Writes a word left of the plot at a height of its scale.
pub(super) fn beside(
    area: &Area<'_>,
    chart: &Chart<'_, '_>,
    frame: &Frame,
    at: f64,
    word: &str,
) -> Drawn {
    let (_, y) = chart.backend_coord(&(0.0, at));
    let (_, top) = area.get_base_pixel();
    let style = frame.style(QUIET).pos(Pos::new(HPos::Right, VPos::Center));
    area.draw(&Text::new(
        word.to_owned(),
        (i32_of(frame.left) - 8, y - top),
        style,
    ))?;
    Ok(())
}

/// Draws a bar of a round length, mm, left of the plot around a height of its scale, with its
/// length; `most` is as long as it may be.
pub(super) fn scale_bar(
    area: &Area<'_>,
    chart: &Chart<'_, '_>,
    frame: &Frame,
    at: f64,
    most: f64,
) -> Drawn {
    let lengths = [5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];
    let length = lengths
        .into_iter()
        .find(|length| *length <= most)
        .unwrap_or(0.01);
    let (_, y0) = chart.backend_coord(&(0.0, at - length / 2.0));
    let (_, y1) = chart.backend_coord(&(0.0, at + length / 2.0));
    let (_, top) = area.get_base_pixel();
    let (x, y0, y1) = (i32_of(frame.left) - 6, y0 - top, y1 - top);
    area.draw(&PathElement::new(
        [(x - 4, y0), (x, y0), (x, y1), (x - 4, y1)],
        INK.stroke_width(1),
    ))?;
    let style = frame.style(INK).pos(Pos::new(HPos::Right, VPos::Center));
    let word = format!("{} mm", crate::units::rounded(length, 2));
    area.draw(&Text::new(word, (x - 7, i32::midpoint(y0, y1)), style))?;
    Ok(())
}

/// Draws a line of dashes from `from` to `to` at one height of the scale.
pub(super) fn dashed(
    chart: &mut Chart<'_, '_>,
    (from, to): (f64, f64),
    at: f64,
    colour: RGBColor,
) -> Drawn {
    let dash = (to - from) / 90.0;
    for step in 0..45_u32 {
        let start = from + dash * 2.0 * f64::from(step);
        chart.draw_series(LineSeries::new(
            [(start, at), (start + dash, at)],
            colour.stroke_width(2),
        ))?;
    }
    Ok(())
}
