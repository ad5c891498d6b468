//! One selvedge of the straightened band, row by row and finer than a pixel.
//!
//! # Method
//! 1. In a strip along the selvedge every sample has log odds of being cloth, by colour and texture
//!    (`likeness`). A boundary at a place of a row costs the cloth that it leaves outside, the
//!    ground between it and the first solid cloth inside, and the sudden steps of colour that lie
//!    farther out; it is worth the step of mean colour across it (`worth`, `steps`): a shadow is soft
//!    and a printed line is no step.
//! 2. [`best_path`] takes the boundary that is worth most over all rows. Running across costs, but
//!    little where a step is seen along the way, as at the side of a weft turn: so turns are followed
//!    and noise is left.
//! 3. What stands out far over a short way along is a hair ([`NO_TURNS_MM`]).
//! 4. The place within the pixel (`within_pixel`).
//!
//! An end of the cloth and a place that a person names are sought by colour alone, at an even price of
//! running across.
//!
//! # Limits
//! Needs a step between the cloth's outermost yarn and the ground of a few L*: a white turn on white paper
//! beside a dark warp is seen by its rim alone, and often missed. In a blurred picture the selvedge
//! comes out on the darker side of the edge: at a blur of one pixel (standard deviation) by almost half a
//! pixel, inward for dark cloth on pale ground, outward for pale cloth on dark; the doubt grows with it.

use rayon::prelude::*;

use super::StraightBand;
use super::hollows::innermost;
use super::path::best_path;
use super::strip::Strip;
pub(super) use super::strip::{Flank, Sought};
use super::texture::Texture;
use super::within_pixel::{Edge, within_pixel};
use super::worth::Worths;

/// What is no turn, a hair or a JPEG's tint on the ground: narrower along the band than the first, and
/// standing out by more than the second, mm. A turn is an arch, no higher than it is broad.
const NO_TURNS_MM: [(f64, f64); 2] = [(0.3, 0.25), (0.6, 0.6)];

/// Gives the log odds of being cloth of a row's samples at some columns: against ground in any light, and
/// for a selvedge against ground in the light.
pub(super) type OddsAt<'a> = dyn Fn(usize, &[usize], &mut [f32], Option<&mut [f32]>) + Sync + 'a;

/// A selvedge: one place a row.
#[derive(Clone, Debug)]
pub(super) struct Selvedge {
    /// `t` at each row, mm.
    pub t_mm: Vec<f64>,
    /// Colour step across the selvedge at each row, Lab units.
    pub step: Vec<f32>,
    /// Breadth of what is neither cloth nor ground at each row, samples.
    pub mixed: Vec<f32>,
    /// What speaks against the place at each row, in clean edges.
    pub against: Vec<f32>,
}

/// Finds one selvedge where it is sought.
pub(super) fn selvedge(
    band: &StraightBand,
    odds: &OddsAt<'_>,
    texture: Option<(&Texture, f64)>,
    flank: Flank,
    sought: &Sought,
) -> Selvedge {
    let strip = Strip::new(band, flank, sought);
    let columns = strip.columns + 1;
    let (worths, path) = match texture {
        Some((texture, pitch_mm)) => {
            let mut worths = Worths::of_selvedge(&strip, odds, texture);
            let path = no_deeper_than_turns(&mut worths, columns, pitch_mm, band.step_mm);
            (worths, path)
        }
        None => {
            let worths = Worths::of_other_edge(&strip, odds);
            let path = best_path(&worths.worth, columns, worths.cost());
            (worths, path)
        }
    };
    let chosen = path.iter().enumerate();
    let against = chosen
        .map(|(i, b)| worths.against[i * columns + b])
        .collect();
    let path = without_hairs(path, band.step_mm);
    let edges = within_pixels(&strip, &path);
    Selvedge {
        t_mm: edges.iter().map(|e| strip.sign * e.outward_mm).collect(),
        step: edges.iter().map(|e| e.step).collect(),
        mixed: edges.iter().map(|e| e.mixed).collect(),
        against,
    }
}

fn within_pixels(strip: &Strip<'_>, path: &[usize]) -> Vec<Edge> {
    let rows = (0..path.len()).into_par_iter();
    rows.map(|i| within_pixel(strip, path, i)).collect()
}

/// The best path, and once more where it runs in farther than the hollow between two turns.
fn no_deeper_than_turns(
    worths: &mut Worths,
    columns: usize,
    pitch_mm: f64,
    step_mm: f64,
) -> Vec<usize> {
    let path = best_path(&worths.worth, columns, worths.cost());
    let innermost = innermost(&path, pitch_mm, step_mm);
    if path.iter().zip(&innermost).all(|(p, least)| p >= least) {
        return path;
    }
    for (worth, least) in worths.worth.chunks_exact_mut(columns).zip(innermost) {
        worth[..least].fill(f32::NEG_INFINITY);
    }
    best_path(&worths.worth, columns, worths.cost())
}

/// The path without what stands out thinly: openings along the band, used only where they take off much.
#[allow(clippy::cast_possible_truncation, reason = "a few samples")]
fn without_hairs(mut path: Vec<usize>, step_mm: f64) -> Vec<usize> {
    for (narrow_mm, out_mm) in NO_TURNS_MM {
        let half = (narrow_mm / step_mm / 2.0).round().max(1.0) as usize;
        let reach = (out_mm / step_mm).round() as usize;
        let around = |i: usize| i.saturating_sub(half)..(i + half + 1).min(path.len());
        let low: Vec<usize> = (0..path.len())
            .map(|i| path[around(i)].iter().copied().min().unwrap_or(0))
            .collect();
        let opened = (0..path.len()).map(|i| low[around(i)].iter().copied().max().unwrap_or(0));
        path = path
            .iter()
            .zip(opened)
            .map(|(&p, o)| if p > o + reach { o } else { p })
            .collect();
    }
    path
}
