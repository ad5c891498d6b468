//! The place of a finding, cut from the straight band, with a mark where to look.
//!
//! Stretches are bracketed on both sides of the band, a selvedge on its own side; mis-woven cells
//! are framed and shown larger. Marks are dark with a pale rim: they show on any cloth and in grey.

use std::fmt::Write;

use image::imageops;

use crate::measurement::{Finding, FindingKind, Measurement, Side};
use crate::plan::Plan;
use crate::report::overlay::Strip;

use super::picture::{Cut, cut, jpeg_address};
use super::svg::opened;

/// How much of the band stands left and right of a finding, mm.
const BESIDE_MM: f64 = 16.0;
/// How much stands around mis-woven cells, mm.
const AROUND_CELLS_MM: f64 = 11.0;
/// A longer finding gets no close-up: the strip shows it whole.
const LONGEST_MM: f64 = 80.0;
/// The longer side, px.
const LONGEST_PX: u32 = 700;
/// Distance of a bracket from its selvedge, mm.
const BRACKET_MM: f64 = 1.4;

/// A close-up as an element of the page, `number` being the finding's; `None` where the strip
/// doesn't reach there or the finding is as long as the band.
pub(super) fn close_up(
    number: usize,
    finding: &Finding,
    strip: &Strip,
    measurement: &Measurement,
    plan: Option<&Plan>,
) -> Option<String> {
    if finding.to_mm - finding.from_mm > LONGEST_MM {
        return None;
    }
    let cells = cells_mm(finding, measurement, plan);
    let beside = cells.map_or(BESIDE_MM, |_| AROUND_CELLS_MM);
    let along = (finding.from_mm - beside, finding.to_mm + beside);
    let mut view = View::new(cut(strip, along, LONGEST_PX)?, strip)?;
    if let Some((from, to)) = cells {
        view.crop_across(from - AROUND_CELLS_MM, to + AROUND_CELLS_MM);
    }
    let (width, height) = view.cut.picture.dimensions();
    let size = (f64::from(width), f64::from(height));
    let mut svg = opened(
        size,
        &format!("finding-{number}"),
        &format!("Close-up of what was found, number {number}"),
        &finding.text,
    );
    let marks = match cells {
        Some(across) => view.frame((finding.from_mm, finding.to_mm), across),
        None => view.brackets(finding, measurement),
    };
    // A text in memory takes every word.
    let _ = write!(
        svg,
        "<image href=\"{}\" width=\"{width}\" height=\"{height}\"/>{}</svg>",
        jpeg_address(&view.cut.picture)?,
        rimmed(&marks, size.0.max(size.1))
    );
    Some(svg)
}

/// Where mis-woven ends lie across the band, mm from the centre line; `None` for other findings.
fn cells_mm(
    finding: &Finding,
    measurement: &Measurement,
    plan: Option<&Plan>,
) -> Option<(f64, f64)> {
    if finding.kind != FindingKind::MisWoven {
        return None;
    }
    let (left, right) = selvedges_mm(measurement, (finding.from_mm, finding.to_mm))?;
    if let Some([from, to]) = finding.across_mm {
        return Some((left + from, left + to));
    }
    let ends = finding.ends.as_ref()?;
    let (first, last) = (*ends.iter().min()?, *ends.iter().max()?);
    let all = f64::from(plan?.ends.max(last));
    let at = |end: u32| left + (right - left) * f64::from(end) / all;
    Some((at(first.saturating_sub(1)), at(last)))
}

/// Both selvedges around the middle of a stretch, mm from the centre line: left below zero.
fn selvedges_mm(measurement: &Measurement, along_mm: (f64, f64)) -> Option<(f64, f64)> {
    let profile = &measurement.width.as_ref()?.profile;
    let middle = f64::midpoint(along_mm.0, along_mm.1);
    let (nearest, _) = profile
        .at_mm
        .iter()
        .enumerate()
        .min_by(|a, b| (a.1 - middle).abs().total_cmp(&(b.1 - middle).abs()))?;
    Some((
        -*profile.left_mm.get(nearest)?,
        *profile.right_mm.get(nearest)?,
    ))
}

/// How far out the selvedges come within a stretch, mm from the centre line: left below zero.
fn outermost_mm(measurement: &Measurement, along_mm: (f64, f64)) -> Option<(f64, f64)> {
    let profile = &measurement.width.as_ref()?.profile;
    let within = profile
        .at_mm
        .iter()
        .zip(profile.left_mm.iter().zip(&profile.right_mm))
        .filter(|(at, _)| (along_mm.0..=along_mm.1).contains(*at));
    let outermost = within.fold((f64::NEG_INFINITY, f64::NEG_INFINITY), |far, (_, edges)| {
        (far.0.max(*edges.0), far.1.max(*edges.1))
    });
    (outermost.0.is_finite() && outermost.1.is_finite()).then_some((-outermost.0, outermost.1))
}

/// A cut with its places.
struct View {
    cut: Cut,
    /// Place of the first row's upper border across the band, mm from the centre line.
    top_mm: f64,
    px_per_mm: f64,
}

impl View {
    fn new(cut: Cut, strip: &Strip) -> Option<Self> {
        let run = cut.along_mm.1 - cut.along_mm.0;
        (run > 0.0).then(|| Self {
            px_per_mm: f64::from(cut.picture.width()) / run,
            top_mm: strip.left_mm - 0.5 * strip.mm_per_px,
            cut,
        })
    }

    /// Keeps what lies between two places across the band.
    fn crop_across(&mut self, from_mm: f64, to_mm: f64) {
        let rows = f64::from(self.cut.picture.height());
        let row = |mm: f64| {
            ((mm - self.top_mm) * self.px_per_mm)
                .round()
                .clamp(0.0, rows)
        };
        let (from, to) = (row(from_mm), row(to_mm));
        if to - from < 2.0 {
            return;
        }
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "inside the picture"
        )]
        let (y, height) = (from as u32, (to - from) as u32);
        let piece = imageops::crop_imm(&self.cut.picture, 0, y, self.cut.picture.width(), height);
        self.cut.picture = piece.to_image();
        self.top_mm += from / self.px_per_mm;
    }

    fn x(&self, along_mm: f64) -> f64 {
        (along_mm - self.cut.along_mm.0) * self.px_per_mm
    }

    fn y(&self, across_mm: f64) -> f64 {
        (across_mm - self.top_mm) * self.px_per_mm
    }

    /// A frame around cells, a little larger than they are.
    fn frame(&self, along: (f64, f64), across: (f64, f64)) -> String {
        let air = 0.25;
        format!(
            "M{:.1} {:.1}H{:.1}V{:.1}H{:.1}Z",
            self.x(along.0 - air),
            self.y(across.0 - air),
            self.x(along.1 + air),
            self.y(across.1 + air),
            self.x(along.0 - air)
        )
    }

    /// Brackets along the selvedges that a finding concerns.
    fn brackets(&self, finding: &Finding, measurement: &Measurement) -> String {
        let along = (finding.from_mm, finding.to_mm);
        let Some((left, right)) = outermost_mm(measurement, self.cut.along_mm) else {
            return String::new();
        };
        let (from, to) = (self.x(along.0), self.x(along.1));
        let foot = BRACKET_MM * self.px_per_mm;
        let bracket = |y: f64, foot: f64| {
            format!("M{from:.1} {:.1}V{y:.1}H{to:.1}V{:.1}", y + foot, y + foot)
        };
        let above = bracket(self.y(left - 2.0 * BRACKET_MM).max(4.0), foot);
        let lowest = f64::from(self.cut.picture.height()) - 4.0;
        let below = bracket(self.y(right + 2.0 * BRACKET_MM).min(lowest), -foot);
        match finding.side {
            Some(Side::Left) => above,
            Some(Side::Right) => below,
            None => above + &below,
        }
    }
}

/// A path drawn dark over a pale rim, as wide as the picture's size asks.
fn rimmed(path: &str, longest_px: f64) -> String {
    if path.is_empty() {
        return String::new();
    }
    let dark = (longest_px / 100.0).max(2.6);
    format!(
        "<path d=\"{path}\" fill=\"none\" stroke=\"#fff\" stroke-width=\"{:.1}\" stroke-linejoin=\"round\"/>\
         <path d=\"{path}\" fill=\"none\" stroke=\"#8a2f10\" stroke-width=\"{dark:.1}\"/>",
        dark * 2.4
    )
}
