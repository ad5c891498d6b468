//! The band laid straight and, right under it on the same length axis, what was measured along it.
//!
//! The panels: local picks per inch with their interval and the plan's tolerance; both selvedges,
//! drawn larger; the width with the planned width. The stretches that findings speak of are marked
//! by number on all of them.

use plotters::prelude::*;

use crate::measurement::Measurement;
use crate::plan::Plan;
use crate::report::overlay::Strip;
use crate::report::quantity::{Kind, Units};

use super::flags::{flags, marks};
use super::panel::{Area, Frame};
use super::picture::{Cut, cut};
use super::plots::Panel;
use super::svg::named;

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

/// Room above and below the band in its picture, mm.
const BESIDE_MM: f64 = 4.0;
/// How much of what lies beyond the body's ends is kept in the band's picture, mm.
const BEYOND_MM: f64 = 9.0;

impl Along<'_> {
    /// The drawing, `width` px wide with letters of `letters` px; `None` where nothing was measured
    /// along the band. The straight band's picture is taken from the element `strip_id`; the
    /// drawing's own name on the page is `id`.
    pub(super) fn draw(
        &self,
        id: &str,
        (width, letters): (u32, u32),
        strip_id: &str,
    ) -> Option<Drawing> {
        let (shown_per_mm, unit) = Kind::Length.shown_as(self.units);
        let frame = Frame {
            width,
            // As wide as "0.5 mm" and its bar beside the selvedges.
            left: letters * 5 + 4,
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
        let axis_px = letters * 3;
        let panels_px: u32 = panels.iter().map(|panel| panel.height_px(letters)).sum();
        let height = top + band_px + panels_px + axis_px;
        let mut svg = String::new();
        let selvedge_factor = {
            let root = SVGBackend::with_string(&mut svg, (width, height)).into_drawing_area();
            self.draw_panels(&root, &frame, top + band_px, &panels)
                .ok()?
        };
        let marks = marks(&flags, &frame, (top, height - axis_px), lane_px);
        let picture = self.strip_use(&frame, (top, band_px), strip_id);
        insert_before_end(&mut svg, &(picture + &marks));
        let title = "The band laid straight, and what was measured along it";
        Some(Drawing {
            svg: named(&svg, id, title, &self.described()),
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
            let height =
                panel.height_px(frame.letters) + if lowest { frame.letters * 3 } else { 0 };
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
}

/// The longer side of the straight band's picture, px.
pub(super) const STRIP_LONGEST_PX: u32 = 1900;

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
