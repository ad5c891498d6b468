//! How light it is along the band: a phone's shadow darkens band and ground alike.
//!
//! # Method
//! 1. Beside each selvedge, a strip of bare ground: its median lightness at every row. The cube
//!    root of light (L* + 16) is compared, in which a shadow takes the same share of everything.
//! 2. Smoothed along the band, and held against the side's own median.
//!
//! # Limits
//! Only a plain ground tells: on wood or a printed mat nothing is taken for light. Where the ground
//! changes, as at the end of a sheet's window, the light is taken to run on.

use ndarray::Array2;
use rayon::prelude::*;

use super::hint::BandHint;
use super::outline::Outline;
use super::straight::StraightBand;
use crate::stats::gaussian_smooth;

/// The strip, mm outside the selvedge: beyond the band's own contact shadow.
const STRIP_MM: (f64, f64) = (2.0, 5.5);
/// Ground this near to another one isn't read, mm: blur mixes them.
const BORDER_MM: f64 = 1.0;
/// Fewest samples of a strip that make a row's light.
const FEWEST: usize = 5;
/// Spread of the ground along the strip (robust, L* units) above which it isn't plain.
const PLAIN: f32 = 4.0;
/// How near to a change of ground the light is the same on both, mm.
const NEAR_MM: f64 = 2.0;
/// Rows this far apart are looked at, mm: far less than what is smoothed over.
const ROWS_MM: f64 = 0.3;
/// Share of a side's cloth rows that must show their ground.
const SHOWN: f64 = 0.5;
/// Sigma of the smoothing along the band, mm: no shadow's edge is sharper than a lamp's breadth.
const SMOOTH_MM: f64 = 1.5;
/// Light that changes by less than this share (of its cube root) is even.
const EVEN: f32 = 0.06;

/// Light at every row beside the left and the right selvedge, as a share of the side's median in
/// L* + 16; `None` where it is even or can't be told.
pub(super) fn light_along(
    band: &StraightBand,
    covered: &Array2<bool>,
    outline: &Outline,
    cloth_mm: (f64, f64),
    hint: &BandHint,
) -> Option<[Vec<f32>; 2]> {
    let strips = Strips {
        band,
        covered,
        hint,
    };
    let side = |edge: &[f64], outward: f64| strips.side(edge, outward, cloth_mm);
    let (left, right) = rayon::join(
        || side(&outline.left.t_mm, -1.0),
        || side(&outline.right.t_mm, 1.0),
    );
    let both = match (left, right) {
        (Some(left), Some(right)) => [left, right],
        (Some(one), None) | (None, Some(one)) => [one.clone(), one],
        (None, None) => return None,
    };
    let uneven = both.iter().any(|light| {
        let (low, high) = light
            .iter()
            .fold((f32::INFINITY, 0.0_f32), |(a, b), v| (a.min(*v), b.max(*v)));
        high - low > EVEN
    });
    uneven.then_some(both)
}

struct Strips<'a> {
    band: &'a StraightBand,
    covered: &'a Array2<bool>,
    hint: &'a BandHint,
}

/// A row of a strip.
#[derive(Clone, Copy)]
struct Row {
    /// Median of L* + 16.
    light: f32,
    /// Its robust spread.
    spread: f32,
    /// Number of the ground.
    ground: usize,
}

impl Strips<'_> {
    fn side(&self, edge: &[f64], outward: f64, cloth_mm: (f64, f64)) -> Option<Vec<f32>> {
        let every = ((ROWS_MM / self.band.step_mm) as usize).max(1);
        let seen: Vec<Option<Row>> = (0..edge.len().div_ceil(every))
            .into_par_iter()
            .map(|k| self.row(k * every, edge[k * every], outward))
            .collect();
        let rows: Vec<Option<Row>> = (0..edge.len()).map(|i| seen[i / every]).collect();
        let lights = self.across_grounds(&rows);
        let s = |i: usize| self.band.s_of(i);
        let cloth: Vec<usize> = (0..rows.len())
            .filter(|&i| s(i) >= cloth_mm.0 && s(i) <= cloth_mm.1)
            .collect();
        let mut seen: Vec<f32> = cloth.iter().filter_map(|&i| lights[i]).collect();
        let mut spread: Vec<f32> = cloth
            .iter()
            .filter_map(|&i| rows[i].map(|row| row.spread))
            .collect();
        let enough = seen.len() as f64 >= SHOWN * cloth.len() as f64;
        if seen.is_empty() || !enough || middle(&mut spread) > PLAIN {
            return None;
        }
        let usual = middle(&mut seen);
        let held: Vec<f64> = held(&lights)
            .iter()
            .map(|v| f64::from(*v / usual))
            .collect();
        let smooth = gaussian_smooth(&held, SMOOTH_MM / self.band.step_mm);
        Some(smooth.into_iter().map(|v| v as f32).collect())
    }

    /// The rows' light as if all ground were that of the middle row: where the ground changes, what
    /// lies just before and just behind is in the same light.
    fn across_grounds(&self, rows: &[Option<Row>]) -> Vec<Option<f32>> {
        let mut lights: Vec<Option<f32>> = rows.iter().map(|row| row.map(|r| r.light)).collect();
        let near = (NEAR_MM / self.band.step_mm).ceil() as usize;
        let mean = |values: &mut dyn Iterator<Item = f32>| {
            let (sum, n) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
            (n > 0.0).then_some(sum / n)
        };
        let mut run = |order: &mut dyn Iterator<Item = usize>| {
            let known: Vec<(usize, Row)> = order.filter_map(|i| Some((i, rows[i]?))).collect();
            let mut gain = 1.0;
            for k in 0..known.len() {
                if k > 0 && known[k].1.ground != known[k - 1].1.ground {
                    let before = k.saturating_sub(near)..k;
                    let behind = k..(k + near).min(known.len());
                    let old = mean(&mut before.map(|j| known[j].1.light));
                    let new = mean(&mut behind.map(|j| known[j].1.light));
                    if let (Some(old), Some(new)) = (old, new) {
                        gain *= old / new.max(1.0);
                    }
                }
                lights[known[k].0] = Some(known[k].1.light * gain);
            }
        };
        let start = rows.len() / 2;
        run(&mut (start..rows.len()));
        run(&mut (0..=start.min(rows.len() - 1)).rev());
        lights
    }

    /// The strip at a row; `None` where it shows no bare ground, or two.
    fn row(&self, i: usize, edge: f64, outward: f64) -> Option<Row> {
        let step = self.band.step_mm;
        let count = ((STRIP_MM.1 - STRIP_MM.0) / step) as usize;
        let every = (count / 16).max(1);
        let mut values = Vec::new();
        let mut ground = None;
        for k in (0..count).step_by(every) {
            let t = edge + outward * (STRIP_MM.0 + k as f64 * step);
            let j = ((t - self.band.t0_mm) / step).round();
            if j < 0.0 || j as usize >= self.covered.ncols() || !self.covered[(i, j as usize)] {
                continue;
            }
            let Some(here) = self.ground(i, t) else {
                continue;
            };
            if *ground.get_or_insert(here) != here {
                return None;
            }
            values.push(self.band.lab[0][(i, j as usize)] + 16.0);
        }
        if values.len() < FEWEST {
            return None;
        }
        let light = middle(&mut values);
        let mut away: Vec<f32> = values.iter().map(|v| (v - light).abs()).collect();
        Some(Row {
            light,
            spread: 1.4826 * middle(&mut away),
            ground: ground?,
        })
    }

    /// Number of the ground at a place; `None` on a printed mark, near a border, or out of the room.
    fn ground(&self, i: usize, t: f64) -> Option<usize> {
        let Some((a, b)) = self.hint.region_mm else {
            return Some(0);
        };
        let s = self.band.s_of(i);
        let p = self.band.centre_line.place(s, t);
        let (low, high) = (a.y.min(b.y) + BORDER_MM, a.y.max(b.y) - BORDER_MM);
        let changes = &self.hint.ground_changes_mm;
        let at_border = changes.iter().any(|at| (p.x - at).abs() < BORDER_MM);
        let on_mark = self.hint.printed.iter().any(|m| m.is_near(p, BORDER_MM));
        if at_border || on_mark || !(low..high).contains(&p.y) {
            return None;
        }
        Some(changes.iter().filter(|at| **at <= p.x).count())
    }
}

/// Rows without a value take the nearest one's.
fn held(rows: &[Option<f32>]) -> Vec<f32> {
    let mut filled = Vec::with_capacity(rows.len());
    let first = rows.iter().flatten().next().copied().unwrap_or(1.0);
    let mut last = first;
    for row in rows {
        last = row.unwrap_or(last);
        filled.push(last);
    }
    filled
}

fn middle(values: &mut [f32]) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let at = values.len() / 2;
    *values.select_nth_unstable_by(at, f32::total_cmp).1
}
