//! Where the woven cloth begins and ends along the band.
//!
//! # Method
//! 1. For each row the share of the width that looks like ground; peaks narrower than a pick are
//!    cut off, since open cloth shows ground between its picks. Low on cloth, high on fringe. A change point between the two levels, by cumulative sum, outward from the
//!    surely woven middle.
//! 2. Around it the edge is followed across the band, as a selvedge is along it, in those columns
//!    that see ground beyond: between the warp ends of the fringe. A line through the places there
//!    gives the outer edge of the last pick, averaged over the width.
//!
//! # Limits
//! A fringe so dense that hardly any ground is seen between its ends leaves only step 1, and a
//! doubt of half a millimetre.

use ndarray::Array2;
use rayon::prelude::*;

use super::StraightBand;
use super::lay::robust_fit;
use super::odds::Odds;
use super::selvedge::{Flank, Sought, selvedge};
use crate::stats::{running_max, running_min};

/// How far around the change point the edge is followed, mm.
const AROUND_MM: f64 = 3.0;
/// Samples of a row this far apart say what share of it is ground, mm: far finer than a warp end.
const GROUND_STEP_MM: f64 = 0.3;
/// Rows this far apart are looked at for it, mm; what is made of the shares is smoothed over twice as much.
const GROUND_ROWS_MM: f64 = 0.2;
/// Share of ground beyond the end that makes a column worth following.
const SEES_GROUND: f64 = 0.6;

/// One end of the cloth.
#[derive(Clone, Copy, Debug)]
pub(super) struct ClothEnd {
    /// `s`, mm.
    pub at_mm: f64,
    /// One standard uncertainty, mm.
    pub u_mm: f64,
    /// Whether the cloth goes on to where the photo ends.
    pub runs_out: bool,
}

/// Which end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Which {
    /// Towards smaller `s`.
    Start,
    /// Towards larger `s`.
    Finish,
}

/// What both ends are found in.
pub(super) struct Seen<'a> {
    /// The straight picture with its samples' odds of being cloth.
    pub odds: Odds<'a>,
    /// Steady selvedges at each row, mm.
    pub edges: &'a [(f64, f64)],
    /// A row in the middle of the cloth.
    pub middle: usize,
    /// Expected distance between picks, mm.
    pub pitch_mm: f64,
}

impl Seen<'_> {
    /// Share of ground in each row between the selvedges, and whether the row lies on the photo.
    pub(super) fn ground_shares(&self) -> (Vec<f64>, Vec<bool>) {
        let rows = self.odds.band.lab[0].nrows().min(self.edges.len());
        let every = self.samples_in(GROUND_ROWS_MM);
        let seen: Vec<(f64, bool)> = (0..rows.div_ceil(every))
            .into_par_iter()
            .map(|k| self.ground_share(k * every, self.edges[k * every]))
            .collect();
        (0..rows)
            .map(|i| {
                let (near, on_photo) = seen[i / every];
                let (far, _) = *seen.get(i / every + 1).unwrap_or(&(near, on_photo));
                let way = (i % every) as f64 / every as f64;
                (near + way * (far - near), on_photo)
            })
            .unzip()
    }

    /// How many samples lie within a length; one at least.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a few samples"
    )]
    fn samples_in(&self, mm: f64) -> usize {
        ((mm / self.odds.band.step_mm) as usize).max(1)
    }

    fn ground_share(&self, i: usize, (left, right): (f64, f64)) -> (f64, bool) {
        let band = self.odds.band;
        let place = |j: usize| band.t0_mm + j as f64 * band.step_mm;
        let columns: Vec<usize> = (0..band.lab[0].ncols())
            .step_by(self.samples_in(GROUND_STEP_MM))
            .filter(|&j| place(j) > left + 0.5 && place(j) < right - 0.5)
            .collect();
        let mut odds = vec![0.0; columns.len()];
        self.odds.of_row(i, &columns, &mut odds, None);
        let (mut sum, mut n) = (0.0, 0.0);
        for (odds, column) in odds.iter().zip(&columns) {
            if self.odds.covered[(i, *column)] {
                n += 1.0;
                sum += 1.0 / (1.0 + f64::from(*odds).clamp(-30.0, 30.0).exp());
            }
        }
        let share = if n > 0.0 { sum / n } else { 1.0 };
        (share, n > 0.9 * f64::max(columns.len() as f64, 1.0))
    }
}

/// Finds one end.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rows of the picture"
)]
pub(super) fn cloth_end(
    seen: &Seen<'_>,
    (shares, on_photo): &(Vec<f64>, Vec<bool>),
    which: Which,
) -> ClothEnd {
    let band = seen.odds.band;
    let outward: Vec<usize> = match which {
        Which::Start => (0..=seen.middle).rev().collect(),
        Which::Finish => (seen.middle..shares.len()).collect(),
    };
    let rows: Vec<usize> = outward.into_iter().take_while(|&i| on_photo[i]).collect();
    let q: Vec<f64> = rows.iter().map(|&i| shares[i]).collect();
    let q = smoothed(&q, (0.2 / band.step_mm) as usize);
    // Between picks the ground may be seen; where a pick lies it is not.
    let q = opened(&q, (0.6 * seen.pitch_mm / band.step_mm).round() as usize);
    let s_of = |k: usize| band.s_of(rows[k]);
    let Some(cut) = change_point(&q, band.step_mm) else {
        let last = rows.len().saturating_sub(1);
        return ClothEnd {
            at_mm: if rows.is_empty() {
                band.s0_mm
            } else {
                s_of(last)
            },
            u_mm: 0.5,
            runs_out: true,
        };
    };
    let coarse = s_of(cut);
    let fine = followed(seen, rows[cut], coarse, which);
    let (at_mm, u_mm) = fine.unwrap_or((coarse, 0.5));
    ClothEnd {
        at_mm,
        u_mm,
        runs_out: false,
    }
}

/// Running mean over `2 · half + 1` values.
fn smoothed(q: &[f64], half: usize) -> Vec<f64> {
    (0..q.len())
        .map(|i| {
            let around = &q[i.saturating_sub(half)..(i + half + 1).min(q.len())];
            around.iter().sum::<f64>() / around.len() as f64
        })
        .collect()
}

/// Grey opening: peaks narrower than `2 · half + 1` values are cut off.
fn opened(q: &[f64], half: usize) -> Vec<f64> {
    running_max(&running_min(q, half), half)
}

/// Index of the first value of the outer level; `None` where the inner level goes on to the end.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts of rows"
)]
fn change_point(q: &[f64], step_mm: f64) -> Option<usize> {
    let mm = |v: f64| (v / step_mm).round() as usize;
    if q.len() < mm(4.0) {
        return None;
    }
    let mut inner: Vec<f64> = q[..q.len() / 3].to_vec();
    inner.sort_by(f64::total_cmp);
    let low = inner[inner.len() / 2];
    let mut outer: Vec<f64> = q[q.len() / 3..].to_vec();
    outer.sort_by(f64::total_cmp);
    let mut high = outer[outer.len() * 9 / 10];
    let mut cut = q.len();
    for _ in 0..4 {
        let limit = low + 0.5 * (high - low).max(0.08);
        let (mut sum, mut best) = (0.0, f64::NEG_INFINITY);
        for (k, value) in q.iter().enumerate() {
            sum += limit - value;
            if sum > best {
                (best, cut) = (sum, k + 1);
            }
        }
        let beyond = (cut + mm(0.5)).min(q.len())..(cut + mm(6.0)).min(q.len());
        if beyond.is_empty() {
            break;
        }
        let n = beyond.len() as f64;
        high = q[beyond].iter().sum::<f64>() / n;
    }
    (cut + mm(0.7) < q.len()).then_some(cut)
}

/// Follows the end across the band around row `row`: its place and standard uncertainty.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rows and columns of the picture"
)]
fn followed(seen: &Seen<'_>, row: usize, coarse_mm: f64, which: Which) -> Option<(f64, f64)> {
    let band = seen.odds.band;
    let (rows, columns) = band.lab[0].dim();
    let reach = ((AROUND_MM + 1.5) / band.step_mm) as usize;
    let (r0, r1) = (row.saturating_sub(reach), (row + reach).min(rows));
    let (left, right) = seen.edges[row];
    let column = |t: f64| ((t - band.t0_mm) / band.step_mm).round().max(0.0) as usize;
    let (j0, j1) = (column(left + 0.3), column(right - 0.3).min(columns));
    if r1 < r0 + 10 || j1 < j0 + 10 {
        return None;
    }
    let turned = StraightBand {
        lab: [0, 1, 2].map(|k| {
            Array2::from_shape_fn((j1 - j0, r1 - r0), |(a, b)| band.lab[k][(r0 + b, j0 + a)])
        }),
        step_mm: band.step_mm,
        s0_mm: band.t0_mm + j0 as f64 * band.step_mm,
        t0_mm: band.s_of(r0),
        centre_line: band.centre_line,
    };
    let odds = seen.odds.of_part(r0..r1, j0..j1);
    let (flank, sign) = match which {
        Which::Start => (Flank::Left, -1.0),
        Which::Finish => (Flank::Right, 1.0),
    };
    let sees: Vec<bool> = (j0..j1)
        .map(|j| {
            let (mut ground, mut n) = (0.0, 0.0);
            for r in r0..r1 {
                let beyond = sign * (band.s_of(r) - coarse_mm);
                if beyond > 0.5 && beyond < 3.0 {
                    n += 1.0;
                    ground += f64::from(u8::from(odds[(r - r0, j - j0)] < 0.0));
                }
            }
            ground > SEES_GROUND * f64::max(n, 1.0)
        })
        .collect();
    let turned_odds = |a: usize, rows: &[usize], out: &mut [f32], _: Option<&mut [f32]>| {
        for (out, b) in out.iter_mut().zip(rows).filter(|_| sees[a]) {
            *out = odds[(*b, a)];
        }
    };
    let out = sign * coarse_mm;
    let sought = Sought::between(out - AROUND_MM, out + AROUND_MM);
    let edge = selvedge(&turned, &turned_odds, None, flank, &sought);
    let places: Vec<(f64, f64)> = (0..j1 - j0)
        .filter(|&a| sees[a])
        .map(|a| (turned.s0_mm + a as f64 * band.step_mm, edge.t_mm[a]))
        .collect();
    if (places.len() as f64) < 0.08 * (j1 - j0) as f64 {
        return None;
    }
    let (c, spread) = robust_fit(&places, 2)?;
    let middle = 0.5 * (left + right);
    let runs = sees.windows(2).filter(|w| w[0] != w[1]).count() / 2 + 1;
    let u = spread / (runs as f64).sqrt();
    Some((c[0] + c[1] * middle, u.hypot(0.05)))
}
