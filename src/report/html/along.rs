//! The band laid straight and, right under it on the same length axis, what was measured along it.
//!
//! The panels: local picks per inch with their interval and the plan's tolerance; both selvedges,
//! drawn larger; the width with the planned width. The stretches that findings speak of are marked
//! by number on all of them.

use std::fmt::Write;

use plotters::prelude::*;

use crate::measurement::Measurement;
use crate::plan::Plan;
use crate::report::overlay::Strip;
use crate::report::quantity::{Kind, Units};

use super::flags::{Flag, flags};
use super::panel::{
    ALLOWED, Area, Drawn, Frame, INK, INTERVAL, LINE, PLAN, QUIET, beside, chart, dashed, range,
    scale_bar,
};
use super::picture::{Cut, cut};

/// What is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Along<'a> {
    pub(super) measurement: &'a Measurement,
    pub(super) plan: Option<&'a Plan>,
    pub(super) units: Units,
    pub(super) strip: Option<&'a Strip>,
}

/// A finished drawing.
#[derive(Clone, Debug)]
pub(super) struct Drawing {
    /// The SVG.
    pub(super) svg: String,
    /// By how much the selvedges are drawn larger than the band above them.
    pub(super) selvedge_factor: Option<f64>,
}

/// Height of one panel for each letter height.
const PANEL_LETTERS: u32 = 11;
/// Room above and below the band in its picture, mm.
const BESIDE_MM: f64 = 4.0;
/// How much of what lies beyond the body's ends is kept in the band's picture, mm.
const BEYOND_MM: f64 = 9.0;

impl Along<'_> {
    /// The drawing, `width` px wide with letters of `letters` px; `None` where nothing was measured
    /// along the band. The straight band's picture is taken from the element `strip_id`.
    pub(super) fn draw(&self, width: u32, letters: u32, strip_id: &str) -> Option<Drawing> {
        let (shown_per_mm, unit) = Kind::Length.shown_as(self.units);
        let frame = Frame {
            width,
            left: letters * 4,
            right: letters,
            letters,
            length_mm: self.length_mm()?,
            shown_per_mm,
            unit,
        };
        let flags = flags(
            &self.measurement.findings,
            f64::from(letters) * 1.9 / frame.px_per_mm(),
        );
        let lanes = flags.iter().map(|flag| flag.lane + 1).max().unwrap_or(0);
        let lane_px = f64::from(letters) * 1.9;
        let top = u32_of(lane_px * f64::from(u32::try_from(lanes).unwrap_or(0)) + 6.0);
        let band_px = self.band_px(&frame);
        let panels = self.panels();
        let panel_px = letters * PANEL_LETTERS;
        let axis_px = letters * 3;
        let height = top + band_px + panel_px * u32::try_from(panels.len()).ok()? + axis_px;
        let mut svg = String::new();
        let selvedge_factor = {
            let root = SVGBackend::with_string(&mut svg, (width, height)).into_drawing_area();
            self.draw_panels(&root, &frame, top + band_px, &panels)
                .ok()?
        };
        let marks = marks(&flags, &frame, (top, height - axis_px), lane_px);
        let picture = self.strip_use(&frame, (top, band_px), strip_id);
        insert_before_end(&mut svg, &(picture + &marks));
        Some(Drawing {
            svg,
            selvedge_factor,
        })
    }

    /// The length of the axis: the body's, else as far as anything was measured.
    fn length_mm(&self) -> Option<f64> {
        let profile = self
            .measurement
            .width
            .as_ref()
            .and_then(|w| w.profile.at_mm.last());
        let last = profile.copied().into_iter();
        let picks = self
            .measurement
            .picks
            .as_ref()
            .and_then(|p| p.positions_mm.last());
        let longest = last.chain(picks.copied()).fold(0.0, f64::max);
        let length = self
            .measurement
            .length_mm
            .map_or(longest, |length| length.value);
        (length.is_finite() && length > 1.0).then_some(length)
    }

    /// Height of the band's picture in the drawing, px.
    fn band_px(&self, frame: &Frame) -> u32 {
        let width = self
            .measurement
            .width
            .as_ref()
            .map(|width| width.max_mm.value);
        match (self.strip, width) {
            (Some(_), Some(width)) => u32_of((width + 2.0 * BESIDE_MM) * frame.px_per_mm()),
            (Some(strip), None) => {
                u32_of(f64::from(strip.picture.height()) * strip.mm_per_px * frame.px_per_mm())
            }
            (None, _) => 0,
        }
    }

    /// The element that shows the strip's picture on the axis.
    fn strip_use(&self, frame: &Frame, (top, height): (u32, u32), strip_id: &str) -> String {
        let (Some(strip), Some(piece)) = (self.strip, self.strip_cut()) else {
            return String::new();
        };
        let scale = frame.px_per_mm();
        let x = frame.x_px(piece.along_mm.0);
        let y = f64::from(top)
            + f64::from(height) / 2.0
            + (strip.left_mm - 0.5 * strip.mm_per_px) * scale;
        let wide = (piece.along_mm.1 - piece.along_mm.0) * scale;
        let high = f64::from(strip.picture.height()) * strip.mm_per_px * scale;
        let factor = wide / f64::from(piece.picture.width());
        let factor_y = high / f64::from(piece.picture.height());
        format!(
            "<svg x=\"0\" y=\"{top}\" width=\"{}\" height=\"{height}\" viewBox=\"0 {top} {} {height}\">\
             <use href=\"#{strip_id}\" transform=\"translate({x:.2} {y:.2}) scale({factor:.5} {factor_y:.5})\"/></svg>\n",
            frame.width, frame.width
        )
    }

    /// The strip's picture itself, once a page: the body and a little beyond.
    pub(super) fn strip_cut(&self) -> Option<Cut> {
        let length_mm = self.length_mm()?;
        cut(
            self.strip?,
            (-BEYOND_MM, length_mm + BEYOND_MM),
            STRIP_LONGEST_PX,
        )
    }

    /// Which panels there is something for.
    fn panels(&self) -> Vec<Panel> {
        let beat = self.measurement.beat.as_ref();
        let profile = self.measurement.width.as_ref().map(|width| &width.profile);
        let mut panels = Vec::new();
        if beat.is_some_and(|beat| beat.local.at_mm.len() > 1) {
            panels.push(Panel::LocalPicks);
        }
        if profile.is_some_and(|profile| profile.at_mm.len() > 1) {
            panels.extend([Panel::Selvedges, Panel::Width]);
        }
        panels
    }

    /// Draws every panel under the band; gives the selvedges' factor.
    fn draw_panels(
        &self,
        root: &Area<'_>,
        frame: &Frame,
        top: u32,
        panels: &[Panel],
    ) -> Result<Option<f64>, Box<dyn std::error::Error>> {
        let mut factor = None;
        let mut y = top;
        for (index, panel) in panels.iter().enumerate() {
            let lowest = index + 1 == panels.len();
            let height = frame.letters * PANEL_LETTERS + if lowest { frame.letters * 3 } else { 0 };
            let area = root.clone().shrink((0, y), (frame.width, height));
            y += height;
            match panel {
                Panel::LocalPicks => self.local_picks(&area, frame, lowest)?,
                Panel::Selvedges => factor = self.selvedges(&area, frame, lowest)?,
                Panel::Width => self.width(&area, frame, lowest)?,
            }
        }
        Ok(factor)
    }

    /// Local picks with their interval, the tolerance and the plan.
    fn local_picks(&self, area: &Area<'_>, frame: &Frame, lowest: bool) -> Drawn {
        let Some(beat) = &self.measurement.beat else {
            return Ok(());
        };
        let (factor, unit) = Kind::Density.shown_as(self.units);
        let local = &beat.local;
        let samples: Vec<(f64, f64, f64)> = local
            .at_mm
            .iter()
            .zip(&local.per_inch)
            .zip(&local.u95)
            .map(|((at, value), u95)| (at * frame.shown_per_mm, value * factor, u95 * factor))
            .collect();
        let median = median(samples.iter().map(|sample| sample.1));
        let share = self.plan.map_or(0.08, |plan| plan.tolerance.beat);
        let allowed = (median * (1.0 - share), median * (1.0 + share));
        let planned = self.plan.map(|plan| plan.picks_per_inch * factor);
        let ends = samples
            .iter()
            .flat_map(|(_, value, u95)| [value - u95, value + u95]);
        let Some((low, high)) = range(ends.chain([allowed.0, allowed.1]).chain(planned)) else {
            return Ok(());
        };
        let heading = format!(
            "Picks {unit}, over 5 picks; pale ground: within {:.0} % of the band's own median{}",
            share * 100.0,
            if planned.is_some() {
                "; dashes: plan"
            } else {
                ""
            }
        );
        let mut plot = chart(
            area,
            frame,
            &short(&heading, frame),
            (low, high),
            lowest,
            true,
        )?;
        let whole = frame.length_mm * frame.shown_per_mm;
        let ground = Rectangle::new([(0.0, allowed.0), (whole, allowed.1)], ALLOWED.filled());
        plot.draw_series([ground])?;
        let upper = samples.iter().map(|(at, value, u95)| (*at, value + u95));
        let lower = samples
            .iter()
            .rev()
            .map(|(at, value, u95)| (*at, value - u95));
        plot.draw_series([Polygon::new(
            upper.chain(lower).collect::<Vec<_>>(),
            INTERVAL.filled(),
        )])?;
        if let Some(planned) = planned {
            dashed(&mut plot, (0.0, whole), planned, PLAN)?;
        }
        let line = samples.iter().map(|(at, value, _)| (*at, *value));
        plot.draw_series(LineSeries::new(line, LINE.stroke_width(2)))?;
        Ok(())
    }

    /// Both selvedges against their own mean, outward away from each other.
    fn selvedges(
        &self,
        area: &Area<'_>,
        frame: &Frame,
        lowest: bool,
    ) -> Result<Option<f64>, Box<dyn std::error::Error>> {
        let Some(width) = &self.measurement.width else {
            return Ok(None);
        };
        let profile = &width.profile;
        let left = centred(&profile.left_mm);
        let right = centred(&profile.right_mm);
        let Some((low, high)) = range(left.iter().chain(&right).copied()) else {
            return Ok(None);
        };
        let half = high.max(-low);
        let heading = "Selvedges against their own mean: left above, right below; outward is away from the middle";
        let bounds = (-2.3 * half, 2.3 * half);
        let mut plot = chart(area, frame, &short(heading, frame), bounds, lowest, false)?;
        let whole = frame.length_mm * frame.shown_per_mm;
        for (edge, middle, sign, name) in [
            (&left, 1.15 * half, 1.0, "left"),
            (&right, -1.15 * half, -1.0, "right"),
        ] {
            dashed(&mut plot, (0.0, whole), middle, QUIET)?;
            let at = profile.at_mm.iter().map(|at| at * frame.shown_per_mm);
            let line = at.zip(edge).map(|(at, out)| (at, middle + sign * out));
            plot.draw_series(LineSeries::new(thinned(line, frame), LINE.stroke_width(2)))?;
            beside(area, &plot, frame, middle, name)?;
        }
        scale_bar(area, &plot, frame, half)?;
        let plot_px = f64::from(frame.letters * PANEL_LETTERS - frame.letters - 16);
        Ok(Some(plot_px / (4.6 * half) / frame.px_per_mm()))
    }

    /// The width with the planned one.
    fn width(&self, area: &Area<'_>, frame: &Frame, lowest: bool) -> Drawn {
        let Some(width) = &self.measurement.width else {
            return Ok(());
        };
        let (factor, unit) = Kind::Length.shown_as(self.units);
        let profile = &width.profile;
        let planned = self.plan.and_then(planned_width_mm).map(|mm| mm * factor);
        let values = profile.width_mm.iter().map(|mm| mm * factor);
        let Some(bounds) = range(values.clone().chain(planned)) else {
            return Ok(());
        };
        let heading = format!(
            "Width, {unit}{}",
            if planned.is_some() {
                "; dashes: planned finished width"
            } else {
                ""
            }
        );
        let mut plot = chart(area, frame, &short(&heading, frame), bounds, lowest, true)?;
        let whole = frame.length_mm * frame.shown_per_mm;
        if let Some(planned) = planned {
            dashed(&mut plot, (0.0, whole), planned, PLAN)?;
        }
        let at = profile.at_mm.iter().map(|at| at * frame.shown_per_mm);
        plot.draw_series(LineSeries::new(
            thinned(at.zip(values), frame),
            LINE.stroke_width(2),
        ))?;
        Ok(())
    }
}

/// The plots under the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Panel {
    LocalPicks,
    Selvedges,
    Width,
}

/// The longer side of the straight band's picture, px.
pub(super) const STRIP_LONGEST_PX: u32 = 1900;

/// The finished width that the plan expects, mm, where it says what it will lose.
pub(super) fn planned_width_mm(plan: &Plan) -> Option<f64> {
    plan.draw_in
        .map(|draw_in| plan.width_in_loom_mm * (1.0 - draw_in))
}

/// Middle of the values; 0 where there is none.
fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// Values less their mean.
fn centred(values: &[f64]) -> Vec<f64> {
    #[allow(clippy::cast_precision_loss, reason = "a count of samples")]
    let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
    values.iter().map(|value| value - mean).collect()
}

/// At most two samples a pixel: the lowest and the highest of each.
fn thinned(line: impl Iterator<Item = (f64, f64)>, frame: &Frame) -> Vec<(f64, f64)> {
    let px_per_shown = frame.px_per_mm() / frame.shown_per_mm;
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut column: Vec<(f64, f64)> = Vec::new();
    let mut last = f64::NAN;
    let mut flush = |column: &mut Vec<(f64, f64)>| {
        let low = column.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1));
        let high = column.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
        let mut pair: Vec<(f64, f64)> = low.into_iter().chain(high).collect();
        pair.sort_by(|a, b| a.0.total_cmp(&b.0));
        pair.dedup();
        out.append(&mut pair);
        column.clear();
    };
    for (at, value) in line {
        let here = (at * px_per_shown).floor();
        if !(here - last).abs().lt(&0.5) {
            flush(&mut column);
            last = here;
        }
        column.push((at, value));
    }
    flush(&mut column);
    out
}

/// A heading cut to what fits over a narrow drawing.
fn short(heading: &str, frame: &Frame) -> String {
    let fits =
        usize::try_from((frame.width - frame.left) * 2 / frame.letters).unwrap_or(usize::MAX);
    if heading.chars().count() <= fits {
        return heading.to_owned();
    }
    let cut = heading
        .find(';')
        .or_else(|| heading.find(':'))
        .unwrap_or(heading.len());
    heading[..cut].to_owned()
}

/// Numbered brackets over the band and their guide lines through every panel.
fn marks(flags: &[Flag], frame: &Frame, (top, bottom): (u32, u32), lane_px: f64) -> String {
    let mut out = String::new();
    let letters = f64::from(frame.letters);
    let colour = format!("rgb({},{},{})", INK.0, INK.1, INK.2);
    for flag in flags {
        let y = f64::from(top) - lane_px * f64::from(u32::try_from(flag.lane).unwrap_or(0)) - 4.0;
        let (a, b) = (frame.x_px(flag.along_mm.0), frame.x_px(flag.along_mm.1));
        let middle = f64::midpoint(a, b);
        let radius = letters * 0.72;
        let centre = y - radius - 2.0;
        // A text in memory takes every word.
        let _ = writeln!(
            out,
            "<g stroke=\"{colour}\" fill=\"none\"><path d=\"M{a:.1} {:.1}V{y:.1}H{b:.1}V{:.1}\" stroke-width=\"1.6\"/>\
             <path d=\"M{a:.1} {:.1}V{bottom}M{b:.1} {:.1}V{bottom}\" stroke-dasharray=\"2 4\" stroke-opacity=\"0.65\"/>\
             <circle cx=\"{middle:.1}\" cy=\"{centre:.1}\" r=\"{radius:.1}\" fill=\"{colour}\"/></g>\
             <text x=\"{middle:.1}\" y=\"{:.1}\" fill=\"white\" font-size=\"{:.1}\" font-weight=\"bold\" \
             font-family=\"sans-serif\" text-anchor=\"middle\">{}</text>",
            y + 5.0,
            y + 5.0,
            y + 5.0,
            y + 5.0,
            centre + letters * 0.34,
            letters * 0.95,
            flag.number
        );
    }
    out
}

/// Puts elements at the end of a drawing.
fn insert_before_end(svg: &mut String, elements: &str) {
    let end = svg.rfind("</svg>").unwrap_or(svg.len());
    svg.insert_str(end, elements);
}

/// A size in px from its value.
fn u32_of(px: f64) -> u32 {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped"
    )]
    let size = px.round().clamp(0.0, 20_000.0) as u32;
    size
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thinned_line_keeps_its_extremes() {
        let frame = Frame {
            width: 120,
            left: 10,
            right: 10,
            letters: 10,
            length_mm: 100.0,
            shown_per_mm: 1.0,
            unit: "mm",
        };
        let line = (0..1000).map(|i| (f64::from(i) * 0.1, if i == 555 { 9.0 } else { 0.0 }));
        let thin = thinned(line, &frame);
        assert!(thin.len() <= 202, "{}", thin.len());
        assert!(thin.iter().any(|sample| sample.1 > 8.0));
    }
}
