//! Both selvedges of a straightened band: colours learned, then each side's path.

use ndarray::Array2;
use rayon::prelude::*;

use super::StraightBand;
use super::colour_model::{Colour, ColourModel, Seen, colour};
use super::odds::Odds;
use super::selvedge::{Flank, Selvedge, Sought, selvedge};
use super::texture::{Texture, roughness};
use crate::stats::{gaussian_smooth, median};

/// What is faster than this along the band (standard deviation, mm) isn't followed by the strip that a
/// selvedge is sought in: turns.
const FOLLOWED_MM: f64 = 5.0;
/// Share of the rows whose first selvedge may lie farther in than the strip allows for, and as many farther
/// out: the strip only just holds these.
const FAR_OFF: f64 = 0.05;
/// How far the strip reaches beyond the farthest of them, mm.
const JUST_MM: f64 = 0.5;

/// What lies no farther off the ground's colours is ground in any case, Lab units.
const HARDLY_OFF: f64 = 2.0;
/// A turn's sample is nearer to a turn's colour than so many times its distance from the ground's.
const TURN_NEARER: f64 = 0.8;
/// The least and the most light that ground lies in, as a factor on L* + 16.
const LIGHTS: (f64, f64) = (0.45, 1.03);

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
    /// Colours of the weft's turns where the cloth between doesn't show them.
    pub turns: Vec<Colour>,
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
    let ground = without_turns(ground, &rough.turns);
    let colours = |seen: &[(Colour, f32)]| seen.iter().map(|s| s.0).collect::<Vec<_>>();
    let rough_of = |seen: &[(Colour, f32)]| seen.iter().map(|s| s.1).collect::<Vec<_>>();
    let (ground_colours, cloth_colours) = (colours(&ground), colours(&cloth));
    let seen = Seen {
        ground: &ground_colours,
        cloth: &cloth_colours,
        turns: &rough.turns,
    };
    let model = ColourModel::learn(seen, rough.rounding)?;
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

/// The ground's samples without those that a turn beside the band shows: nearer to one's colour than to the ground in
/// any shadow.
fn without_turns(mut ground: Vec<(Colour, f32)>, turns: &[Colour]) -> Vec<(Colour, f32)> {
    if turns.is_empty() {
        return ground;
    }
    let plane = |k: usize| ground.iter().map(|(seen, _)| seen[k]).collect::<Vec<_>>();
    let usual = [0, 1, 2].map(|k| median(&plane(k)));
    let [Some(l), Some(a), Some(b)] = usual else {
        return ground;
    };
    let usual = Colour::new(l, a, b);
    ground.retain(|(seen, _)| {
        let off = off_ground(seen, &usual);
        off < HARDLY_OFF
            || turns
                .iter()
                .all(|turn| (seen - turn).norm() > TURN_NEARER * off)
    });
    ground
}

/// How far a colour lies from the nearest that the ground has in some shadow.
fn off_ground(seen: &Colour, ground: &Colour) -> f64 {
    let light = seen.dot(ground) / ground.dot(ground).max(1e-9);
    (seen - ground * light.clamp(LIGHTS.0, LIGHTS.1)).norm()
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
