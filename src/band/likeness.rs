//! How much like cloth is each sample of a strip, once mixed samples, thin things and shade are
//! allowed for?
//!
//! # Method
//! 1. Every sample's log odds of being cloth, by its colour: against ground in any light, and against
//!    ground in hardly any shadow.
//! 2. A sample between cloth and ground is a mixture: it takes the odds of the purer neighbour that
//!    it is more like, half of the light being the border. Else a turn would come out a sample too
//!    broad, and a faint hair as broad as its blur.
//! 3. The texture's odds are added: yarn of a shadow's colour is rough. Roughness reaches a sample
//!    beyond the cloth, so the smoothest of the neighbours farther out counts.
//! 4. What is thinner than [`THIN_MM`] is opened away: hairs.
//!
//! # Limits
//! Yarn thinner than three samples is opened away too.

use rayon::prelude::*;

use super::selvedge::OddsAt;
use super::strip::Strip;
use super::texture::{Texture, roughness_of};
use super::within_pixel::{dot, light};

/// Highest log odds that one sample may bring.
pub(super) const MOST_ODDS: f32 = 3.0;
/// Odds nearer to even than this say nothing: soft shadows lie there.
pub(super) const DEAD_ODDS: f32 = 0.7;
/// What is thinner is no cloth, mm; at least three samples.
const THIN_MM: f64 = 0.15;

/// A table of a strip's rows and columns.
pub(super) type Table = Vec<f32>;

/// Log odds of being cloth of a strip's samples.
pub(super) struct Likeness {
    /// Against ground in any light.
    pub any: Table,
    /// The same without what is thin.
    pub thick: Table,
    /// Against ground in hardly any shadow.
    pub lit: Table,
}

impl Likeness {
    /// By colour and texture, without mixtures and thin things.
    pub(super) fn new(strip: &Strip<'_>, odds: &OddsAt<'_>, texture: &Texture) -> Self {
        let n = strip.columns;
        let by_colour = ByColour::new(strip, odds);
        let variance = variances(strip);
        let mut any = vec![0.0; strip.rows * n];
        let mut lit = any.clone();
        let lines = any.par_chunks_mut(n).zip(lit.par_chunks_mut(n)).enumerate();
        let buffers = || [(); 4].map(|()| vec![0.0; n]);
        lines.for_each_init(
            buffers,
            |[low, high, smoothest, buffer], (i, (any, lit))| {
                best_around(&by_colour.any, i, (1, 1), lesser, buffer, low);
                best_around(&by_colour.any, i, (1, 1), greater, buffer, high);
                best_around(&variance, i, (1, 0), lesser, buffer, smoothest);
                for c in 0..n {
                    let mixed = low[c] <= -DEAD_ODDS && high[c] >= DEAD_ODDS;
                    let own = if mixed {
                        by_colour.purer(strip, i, c)
                    } else {
                        i * n + c
                    };
                    (any[c], lit[c]) = (by_colour.any[own], by_colour.lit[own]);
                    if smoothest[c] > texture.smooth() && any[c] < MOST_ODDS {
                        let by_texture = texture.for_cloth(roughness_of(smoothest[c]));
                        any[c] += by_texture;
                        lit[c] += by_texture;
                    }
                }
            },
        );
        let half = (strip.samples(THIN_MM) / 2).max(1);
        Self {
            thick: opened(&any, n, half),
            any,
            lit,
        }
    }
}

/// Log odds by colour alone against ground in any light, sample by sample.
pub(super) fn by_colour(strip: &Strip<'_>, odds: &OddsAt<'_>) -> Table {
    let mut any = vec![0.0; strip.rows * strip.columns];
    let lines = any.par_chunks_mut(strip.columns).enumerate();
    lines.for_each_init(Vec::new, |columns, (i, any)| {
        columns.clear();
        columns.extend(strip.own_columns(i));
        odds(i, columns, any, None);
        any.iter_mut().for_each(bound);
    });
    any
}

/// Keeps what one sample may bring.
fn bound(odds: &mut f32) {
    *odds = odds.clamp(-MOST_ODDS, MOST_ODDS);
}

/// Log odds by colour alone, against ground in any light and in hardly any shadow.
struct ByColour {
    any: Table,
    lit: Table,
}

impl ByColour {
    fn new(strip: &Strip<'_>, odds: &OddsAt<'_>) -> Self {
        let n = strip.columns;
        let mut any = vec![0.0; strip.rows * n];
        let mut lit = any.clone();
        let lines = any.par_chunks_mut(n).zip(lit.par_chunks_mut(n)).enumerate();
        lines.for_each_init(Vec::new, |columns, (i, (any, lit))| {
            columns.clear();
            columns.extend(strip.own_columns(i));
            odds(i, columns, any, Some(lit));
            any.iter_mut().chain(lit).for_each(bound);
        });
        Self { any, lit }
    }

    /// Index of the purer neighbour that a mixed sample is more like.
    fn purer(&self, strip: &Strip<'_>, i: usize, c: usize) -> usize {
        let n = strip.columns;
        let own = i * n + c;
        let (mut ground, mut cloth) = (own, own);
        for r in i.saturating_sub(1)..(i + 2).min(strip.rows) {
            for k in r * n + c.saturating_sub(1)..r * n + (c + 2).min(n) {
                if self.any[k] < self.any[ground] {
                    ground = k;
                }
                if self.any[k] > self.any[cloth] {
                    cloth = k;
                }
            }
        }
        let [own, bare, full] =
            [own, ground, cloth].map(|k| light(strip.lab(k / n, (k % n) as isize)));
        let gap = [0, 1, 2].map(|k| full[k] - bare[k]);
        let away = [0, 1, 2].map(|k| own[k] - bare[k]);
        if 2.0 * dot(away, gap) > dot(gap, gap) {
            cloth
        } else {
            ground
        }
    }
}

/// The lesser of two odds; simpler than `f32::min`, which thinks of what is no number.
fn lesser(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater of two odds.
fn greater(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// What is taken off L* before it is squared: keeps the sums exact.
const MIDDLE_L: f32 = 50.0;

/// Variance of L* around the neighbour farther out of each sample.
fn variances(strip: &Strip<'_>) -> Table {
    let n = strip.columns;
    let mut variance = vec![0.0; strip.rows * n];
    let lines = variance.par_chunks_mut(n).enumerate();
    // Of each column's three rows: the sum of L*, and of its square.
    let columns = || vec![(0.0_f32, 0.0_f32); n + 2];
    lines.for_each_init(columns, |columns, (i, variance)| {
        columns.fill((0.0, 0.0));
        for r in [i.saturating_sub(1), i, (i + 1).min(strip.rows - 1)] {
            for ((sum, squares), colour) in columns.iter_mut().zip(strip.colours_and_two(r)) {
                let l = colour[0] - MIDDLE_L;
                *sum += l;
                *squares += l * l;
            }
        }
        for (variance, near) in variance.iter_mut().zip(columns.windows(3)) {
            let sum = near[0].0 + near[1].0 + near[2].0;
            let squares = near[0].1 + near[1].1 + near[2].1;
            *variance = (squares - sum * sum / 9.0) / 8.0;
        }
    });
    variance
}

/// Grey opening by a square of `2 · half + 1` samples.
fn opened(table: &Table, n: usize, half: usize) -> Table {
    let low = best_of_squares(table, n, half, lesser);
    best_of_squares(&low, n, half, greater)
}

/// The least or greatest value around each, in a square of `2 · half + 1`.
fn best_of_squares(
    table: &Table,
    n: usize,
    half: usize,
    pick: impl Fn(f32, f32) -> f32 + Copy + Sync,
) -> Table {
    let mut best = vec![0.0; table.len()];
    let lines = best.par_chunks_mut(n).enumerate();
    let buffer = || vec![0.0; n];
    lines.for_each_init(buffer, |buffer, (i, best)| {
        best_around(table, i, (half, half), pick, buffer, best);
    });
    best
}

/// The least or greatest value around each of row `i`: so many rows up and down, and columns to either side.
fn best_around(
    table: &Table,
    i: usize,
    (down, across): (usize, usize),
    pick: impl Fn(f32, f32) -> f32 + Copy,
    columns: &mut [f32],
    best: &mut [f32],
) {
    let n = best.len();
    let row = |r: usize| &table[r * n..(r + 1) * n];
    columns.copy_from_slice(row(i));
    for r in i.saturating_sub(down)..(i + down + 1).min(table.len() / n) {
        take(columns, row(r), pick);
    }
    best.copy_from_slice(columns);
    for off in 1..=across.min(n - 1) {
        take(&mut best[..n - off], &columns[off..], pick);
        take(&mut best[off..], &columns[..n - off], pick);
    }
}

/// Replaces each value by that of two.
fn take(best: &mut [f32], others: &[f32], pick: impl Fn(f32, f32) -> f32) {
    for (best, other) in best.iter_mut().zip(others) {
        *best = pick(*best, *other);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hair_is_opened_away_and_a_yarn_stays() {
        let (rows, n) = (20, 30);
        let mut table = vec![-3.0; rows * n];
        for i in 0..rows {
            table[i * n + 22] = 3.0;
            for c in 0..8 {
                table[i * n + c] = 3.0;
            }
        }
        let thick = opened(&table, n, 1);
        for i in 0..rows {
            assert!(thick[i * n + 7] > 2.9 && thick[i * n + 8] < -2.9);
            assert!(thick[i * n + 22] < -2.9);
        }
    }
}
