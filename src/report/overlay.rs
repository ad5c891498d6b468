//! What was found, as lines in the photo, and the band laid straight as a picture.
//!
//! # Method
//! 1. Every place on the band (`s` along, `t` across, mm) goes through the centre line to the
//!    plane and through the view to a pixel, by the same map that the band was sampled through:
//!    what is drawn lies where it was measured.
//! 2. The straight band's own L*a*b* samples become sRGB again, the length running right.

use std::sync::LazyLock;

use image::RgbImage;
use rayon::prelude::*;

use crate::band::BandTrace;
use crate::geometry::Point;
use crate::picks::PickTrack;
use crate::scale::View;

/// Lines over the photo, px, and the straight band.
#[derive(Clone, Debug)]
pub struct Overlay {
    /// The weaver's left selvedge along the cloth, from start to finish.
    pub left: Vec<Point>,
    /// Her right selvedge.
    pub right: Vec<Point>,
    /// Whether both were seen; else they are a guess and no figure rests on them.
    pub selvedges_seen: bool,
    /// Whether cloth fills the picture: then these are the sides of the rectangle that was looked at.
    pub cloth_all_over: bool,
    /// The body's start and finish, each from the left selvedge to the right.
    pub body_ends: Option<[[Point; 2]; 2]>,
    /// The picks of the body.
    pub picks: Vec<PickMark>,
    /// The band laid straight.
    pub strip: Strip,
}

/// One pick, from the left selvedge to the right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PickMark {
    /// Its number, from 1.
    pub number: u32,
    /// Where it meets the left and the right selvedge, px of the photo; along the weft where cloth fills the picture.
    pub ends: [Point; 2],
}

/// The band laid straight: start at the left, the weaver's left selvedge on top.
#[derive(Clone, Debug)]
pub struct Strip {
    /// The picture.
    pub picture: RgbImage,
    /// Millimetres a pixel, both ways.
    pub mm_per_px: f64,
    /// Place along the band of the first column's centre, mm from the start of the body.
    pub from_mm: f64,
    /// Place across the band of the first row's centre, mm from the centre line.
    pub left_mm: f64,
}

impl Overlay {
    /// The overlay of a band that was traced in a photo, with the picks found on it.
    #[must_use]
    pub fn new(view: &View, trace: &BandTrace, picks: Option<&PickTrack>) -> Self {
        Self {
            strip: strip(trace, start_mm(trace, picks)),
            ..Self::without_strip(view, trace, picks)
        }
    }

    /// The same with an empty picture of the straight band, where none will be shown.
    #[must_use]
    pub fn without_strip(view: &View, trace: &BandTrace, picks: Option<&PickTrack>) -> Self {
        let straight = &trace.straight;
        let line = straight.centre_line;
        let edges = Edges { trace };
        let px = |s: f64, t: f64| view.to_px(line.place(s, t));
        // Later by `slope` towards her right, or as picks lean there.
        let across = |s: f64, slope: Option<f64>| {
            let (left, right) = edges.at(s);
            let lean = trace.lean.at_mm(s);
            let later = slope.map_or([-lean, lean], |slope| [slope * left, slope * right]);
            [px(s + later[0], left), px(s + later[1], right)]
        };
        let end = |s: f64| across(s, None);
        let (from, to) = trace.cloth_mm;
        let rows = (0..trace.left_mm.len()).filter(|&row| {
            let s = straight.s_of(row);
            (from..=to).contains(&s)
        });
        let (left, right) = rows
            .map(|row| {
                let s = straight.s_of(row);
                (px(s, trace.left_mm[row]), px(s, trace.right_mm[row]))
            })
            .unzip();
        let centres = picks.map_or(&[][..], |picks| &picks.centres_mm);
        let slope = picks.and_then(|picks| picks.weft_slope);
        Self {
            left,
            right,
            selvedges_seen: trace.selvedges_unseen.is_none(),
            cloth_all_over: slope.is_some(),
            body_ends: picks.map(|picks| [end(picks.body_mm.0), end(picks.body_mm.1)]),
            picks: (1..)
                .zip(centres)
                .map(|(number, &s)| PickMark {
                    number,
                    ends: across(s, slope),
                })
                .collect(),
            strip: Strip {
                picture: RgbImage::new(0, 0),
                mm_per_px: straight.step_mm,
                from_mm: straight.s0_mm - start_mm(trace, picks),
                left_mm: straight.t0_mm,
            },
        }
    }
}

/// Where the body starts, else the cloth, mm.
fn start_mm(trace: &BandTrace, picks: Option<&PickTrack>) -> f64 {
    picks.map_or(trace.cloth_mm.0, |picks| picks.body_mm.0)
}

/// The selvedges between the rows of the straight band.
struct Edges<'a> {
    trace: &'a BandTrace,
}

impl Edges<'_> {
    /// Both selvedges at `s`, mm from the centre line.
    fn at(&self, s: f64) -> (f64, f64) {
        let straight = &self.trace.straight;
        let place = ((s - straight.s0_mm) / straight.step_mm).round().max(0.0);
        let last = self.trace.left_mm.len().saturating_sub(1);
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped"
        )]
        let row = (place as usize).min(last);
        let at = |edge: &[f64]| edge.get(row).copied().unwrap_or(0.0);
        (at(&self.trace.left_mm), at(&self.trace.right_mm))
    }
}

/// The straight band as a picture, `s` counted from `start_mm`.
fn strip(trace: &BandTrace, start_mm: f64) -> Strip {
    let straight = &trace.straight;
    let [lightness, a, b] = &straight.lab;
    let (rows, columns) = lightness.dim();
    let size = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let mut picture = RgbImage::new(size(rows), size(columns));
    let lines = picture.par_chunks_exact_mut(3 * rows.max(1)).enumerate();
    lines.for_each(|(column, line)| {
        let samples = (lightness.column(column).into_iter()).zip(a.column(column));
        let samples = samples.zip(b.column(column));
        for (pixel, ((lightness, a), b)) in line.chunks_exact_mut(3).zip(samples) {
            pixel.copy_from_slice(&srgb(*lightness, *a, *b));
        }
    });
    Strip {
        picture,
        mm_per_px: straight.step_mm,
        from_mm: straight.s0_mm - start_mm,
        left_mm: straight.t0_mm,
    }
}

/// CIE L*a*b* (D65) to 8-bit sRGB (IEC 61966-2-1).
fn srgb(lightness: f32, a: f32, b: f32) -> [u8; 3] {
    let fy = (lightness + 16.0) / 116.0;
    let back = |f: f32| {
        if f > 6.0 / 29.0 {
            f * f * f
        } else {
            3.0 * (6.0f32 / 29.0).powi(2) * (f - 4.0 / 29.0)
        }
    };
    let x = 0.950_47 * back(fy + a / 500.0);
    let y = back(fy);
    let z = 1.088_83 * back(fy - b / 200.0);
    let linear = [
        3.240_454_2 * x - 1.537_138_5 * y - 0.498_531_4 * z,
        -0.969_266 * x + 1.876_010_8 * y + 0.041_556 * z,
        0.055_643_4 * x - 0.204_025_9 * y + 1.057_225_2 * z,
    ];
    linear.map(|value| STEPS.code(value))
}

/// The 8-bit code of a linear value.
fn code(value: f32) -> u8 {
    let curve = if value <= 0.003_130_8 {
        12.92 * value
    } else {
        1.055 * value.powf(1.0 / 2.4) - 0.055
    };
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped"
    )]
    let byte = (curve * 255.0).round().clamp(0.0, 255.0) as u8;
    byte
}

/// Where the codes change, so that a picture takes no power for each of its pixels.
static STEPS: LazyLock<Steps> = LazyLock::new(Steps::new);

/// Cells of [`Steps`] between 0 and 1.
const CELLS: usize = 1024;

/// The least linear value of every code, found by the cell that a value lies in.
struct Steps {
    /// The code at the lower border of each cell.
    first: [u8; CELLS + 1],
    /// The least value that has the next code.
    next: [f32; 256],
}

impl Steps {
    fn new() -> Self {
        let mut next = [f32::INFINITY; 256];
        for (below, next) in (0..u8::MAX).zip(&mut next) {
            // Positive floats are in the order of their bits.
            let (mut low, mut high) = (0.0_f32.to_bits(), 1.0_f32.to_bits());
            while low < high {
                let middle = u32::midpoint(low, high);
                if code(f32::from_bits(middle)) > below {
                    high = middle;
                } else {
                    low = middle + 1;
                }
            }
            *next = f32::from_bits(low);
        }
        let mut first = [0; CELLS + 1];
        for (cell, first) in first.iter_mut().enumerate() {
            *first = code(cell as f32 / CELLS as f32);
        }
        Self { first, next }
    }

    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped"
    )]
    fn code(&self, value: f32) -> u8 {
        let value = value.clamp(0.0, 1.0);
        let mut code = self.first[(value * CELLS as f32) as usize];
        while value >= self.next[usize::from(code)] {
            code += 1;
        }
        code
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_codes_are_those_of_the_curve() {
        for k in -100..=10_100_u16.cast_signed() {
            let value = f32::from(k) / 1e4;
            assert_eq!(STEPS.code(value), code(value), "{value}");
        }
    }

    #[test]
    fn grey_and_red_come_back_from_lab() {
        assert_eq!(srgb(100.0, 0.0, 0.0), [255, 255, 255]);
        assert_eq!(srgb(53.585, 0.0, 0.0), [128, 128, 128]);
        assert_eq!(srgb(53.241, 80.092, 67.203), [255, 0, 0]);
    }
}
