//! Both selvedges of a straightened band: colours learned, then each side's path.

use ndarray::Array2;
use rayon::prelude::*;

use super::StraightBand;
use super::colour_model::{Colour, ColourModel, colour};
use super::odds::Odds;
use super::selvedge::{Flank, Selvedge, Sought, selvedge};
use super::texture::{Texture, roughness};
use crate::stats::gaussian_smooth;

/// What is faster than this along the band (standard deviation, mm) isn't followed by the strip that a
/// selvedge is sought in: turns.
const FOLLOWED_MM: f64 = 5.0;
/// Share of the rows whose first selvedge may lie farther in than the strip allows for, and as many farther
/// out: the strip only just holds these.
const FAR_OFF: f64 = 0.05;
/// How far the strip reaches beyond the farthest of them, mm.
const JUST_MM: f64 = 0.5;

/// Where cloth and ground may be sampled, before the selvedges are known finely.
#[derive(Clone, Debug)]
pub(super) struct Rough {
    /// `t` of both selvedges at each row, mm.
    pub edges: Vec<(f64, f64)>,
    /// How far a selvedge may lie inside and outside of that, mm.
    pub doubt_mm: (f64, f64),
    /// Distance outside from which all is ground or shadow, mm.
    pub ground_from_mm: f64,
    /// Usual distance from pick to pick, mm.
    pub pitch_mm: f64,
    /// How coarsely the JPEG rounds light (see [`Photo`](crate::photo::Photo)).
    pub rounding: f64,
    /// Rows that are surely cloth.
    pub cloth_rows: std::ops::Range<usize>,
}

/// Both selvedges with the colours they were found by.
#[derive(Debug)]
pub(super) struct Outline {
    /// The weaver's left.
    pub left: Selvedge,
    /// The weaver's right.
    pub right: Selvedge,
    /// Colours of cloth and ground.
    pub model: ColourModel,
    /// How coarsely the JPEG rounds light.
    pub rounding: f64,
}

/// Finds both selvedges; `None` where there is nothing to learn colours from.
pub(super) fn outline(
    band: &StraightBand,
    covered: &Array2<bool>,
    rough: &Rough,
) -> Option<Outline> {
    let [ground, cloth] = samples(band, covered, rough);
    let colours = |seen: &[(Colour, f32)]| seen.iter().map(|s| s.0).collect::<Vec<_>>();
    let rough_of = |seen: &[(Colour, f32)]| seen.iter().map(|s| s.1).collect::<Vec<_>>();
    let model = ColourModel::learn(&colours(&ground), &colours(&cloth), rough.rounding)?;
    let texture = Texture::learn(&rough_of(&ground), &rough_of(&cloth), model.overlap.hidden);
    let odds = Odds {
        band,
        covered,
        model: &model,
    };
    let odds = |i: usize, columns: &[usize], any: &mut [f32], lit: Option<&mut [f32]>| {
        odds.of_row(i, columns, any, lit);
    };
    let side = |flank: Flank, edge: fn(&(f64, f64)) -> f64| {
        let sign = flank.sign();
        let outward: Vec<f64> = rough.edges.iter().map(|e| sign * edge(e)).collect();
        let sought = sought(&outward, rough.doubt_mm, band.step_mm);
        let texture = Some((&texture, rough.pitch_mm));
        selvedge(band, &odds, texture, flank, &sought)
    };
    let (left, right) = rayon::join(
        || side(Flank::Left, |e| e.0),
        || side(Flank::Right, |e| e.1),
    );
    Some(Outline {
        left,
        right,
        model,
        rounding: rough.rounding,
    })
}

/// Where a selvedge is sought that lies roughly at `outward` in each row, give or take `doubt_mm`.
fn sought(outward: &[f64], doubt_mm: (f64, f64), step_mm: f64) -> Sought {
    let along_mm = gaussian_smooth(outward, FOLLOWED_MM / step_mm);
    let off = outward.iter().zip(&along_mm);
    let mut off: Vec<f64> = off.map(|(out, along)| out - along).collect();
    off.sort_by(f64::total_cmp);
    let last = off.len() - 1;
    let far = (FAR_OFF * last as f64) as usize;
    let from = (off[far] - doubt_mm.0).min(off[0] - JUST_MM);
    let to = (off[last - far] + doubt_mm.1).max(off[last] + JUST_MM);
    Sought {
        along_mm,
        range_mm: (from, to),
    }
}

/// Colours and roughness of ground (strips beside the band, all rows) and of cloth (inside, cloth rows).
fn samples(band: &StraightBand, covered: &Array2<bool>, rough: &Rough) -> [Vec<(Colour, f32)>; 2] {
    const WANTED: usize = 3000;
    let (rows, columns) = band.lab[0].dim();
    let stride = (rows * columns / (8 * WANTED)).max(1);
    let sample = |k: usize| {
        // A stride that shares a factor with the row length would see few columns only.
        let i = k / columns;
        let j = (k + i * 7) % columns;
        let t = band.t0_mm + j as f64 * band.step_mm;
        let (left, right) = rough.edges[i];
        let inside = (t - left).min(right - t);
        let is_ground = inside < -rough.ground_from_mm;
        let is_cloth =
            inside > rough.doubt_mm.0.min(0.25 * (right - left)) && rough.cloth_rows.contains(&i);
        (covered[(i, j)] && (is_ground || is_cloth)).then(|| {
            let lab = [0, 1, 2].map(|p| band.lab[p][(i, j)]);
            (is_ground, (colour(lab), roughness(band, i, j)))
        })
    };
    let places = (0..(rows * columns).div_ceil(stride)).into_par_iter();
    let seen: Vec<_> = places.filter_map(|k| sample(k * stride)).collect();
    [true, false].map(|ground| {
        let own = seen.iter().filter(|(is_ground, _)| *is_ground == ground);
        own.map(|(_, sample)| *sample).collect()
    })
}
