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
    /// By colour alone, sample by sample.
    pub(super) fn plain(strip: &Strip<'_>, odds: &OddsAt<'_>) -> Self {
        let n = strip.columns;
        let mut any = vec![0.0; strip.rows * n];
        let mut lit = vec![0.0; strip.rows * n];
        let lines = any.par_chunks_mut(n).zip(lit.par_chunks_mut(n)).enumerate();
        lines.for_each(|(i, (any, lit))| {
            odds(i, strip.own_columns(), any, lit);
            for o in any.iter_mut().chain(lit) {
                *o = o.clamp(-MOST_ODDS, MOST_ODDS);
            }
        });
        Self {
            thick: any.clone(),
            any,
            lit,
        }
    }

    /// By colour and texture, without mixtures and thin things.
    pub(super) fn with_texture(strip: &Strip<'_>, odds: &OddsAt<'_>, texture: &Texture) -> Self {
        let n = strip.columns;
        let plain = Self::plain(strip, odds);
        let (mut any, mut lit) = plain.unmixed(strip);
        let variance = variances(strip);
        let lines = any.par_chunks_mut(n).zip(lit.par_chunks_mut(n)).enumerate();
        lines.for_each(|(i, (any, lit))| {
            for (c, (any, lit)) in any.iter_mut().zip(lit).enumerate() {
                let variance = variance[i * n + c];
                if variance > texture.smooth() && *any < MOST_ODDS {
                    let by_texture = texture.for_cloth(roughness_of(variance));
                    *any += by_texture;
                    *lit += by_texture;
                }
            }
        });
        let half = (strip.samples(THIN_MM) / 2).max(1);
        Self {
            thick: opened(&any, n, half),
            any,
            lit,
        }
    }

    /// The odds with those of mixed samples replaced.
    fn unmixed(&self, strip: &Strip<'_>) -> (Table, Table) {
        let n = strip.columns;
        let low = along(&across(&self.any, n, 1, lesser), n, 1, lesser);
        let high = along(&across(&self.any, n, 1, greater), n, 1, greater);
        let (mut any, mut lit) = (self.any.clone(), self.lit.clone());
        let lines = any.par_chunks_mut(n).zip(lit.par_chunks_mut(n)).enumerate();
        lines.for_each(|(i, (any, lit))| {
            for (c, (any, lit)) in any.iter_mut().zip(lit).enumerate() {
                let at = i * n + c;
                if low[at] <= -DEAD_ODDS && high[at] >= DEAD_ODDS {
                    let purer = self.purer(strip, i, c);
                    (*any, *lit) = (self.any[purer], self.lit[purer]);
                }
            }
        });
        (any, lit)
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

/// Variance of L* around the smoothest of the three neighbours farther out of each sample.
fn variances(strip: &Strip<'_>) -> Table {
    let n = strip.columns;
    // Over three columns around the one farther out: the sum of L*, and of its square.
    let mut sums = vec![(0.0, 0.0); strip.rows * n];
    let lines = sums.par_chunks_mut(n).enumerate();
    lines.for_each(|(i, sums)| {
        for (sums, near) in sums.iter_mut().zip(strip.colours_and_two(i).windows(3)) {
            let l = [0, 1, 2].map(|k| near[k][0] - MIDDLE_L);
            let squares = l[0] * l[0] + l[1] * l[1] + l[2] * l[2];
            *sums = (l[0] + l[1] + l[2], squares);
        }
    });
    let mut variance = vec![0.0; strip.rows * n];
    let lines = variance.par_chunks_mut(n).enumerate();
    lines.for_each(|(i, variance)| {
        let rows = [i.saturating_sub(1), i, (i + 1).min(strip.rows - 1)];
        let [above, own, below] = rows.map(|r| &sums[r * n..][..n]);
        for (c, variance) in variance.iter_mut().enumerate() {
            let sum = above[c].0 + own[c].0 + below[c].0;
            let squares = above[c].1 + own[c].1 + below[c].1;
            *variance = (squares - sum * sum / 9.0) / 8.0;
        }
    });
    along(&variance, n, 1, lesser)
}

/// Grey opening by a square of `2 · half + 1` samples.
fn opened(table: &Table, n: usize, half: usize) -> Table {
    let low = along(&across(table, n, half, lesser), n, half, lesser);
    along(&across(&low, n, half, greater), n, half, greater)
}

/// The least or greatest of the neighbours in the same row.
fn across(
    table: &Table,
    n: usize,
    half: usize,
    pick: impl Fn(f32, f32) -> f32 + Copy + Sync,
) -> Table {
    let mut best = table.clone();
    let rows = best.par_chunks_mut(n).zip(table.par_chunks(n));
    rows.for_each(|(best, row)| {
        for off in 1..=half.min(n - 1) {
            take(&mut best[..n - off], &row[off..], pick);
            take(&mut best[off..], &row[..n - off], pick);
        }
    });
    best
}

/// The least or greatest of the neighbours in the same column.
fn along(
    table: &Table,
    n: usize,
    half: usize,
    pick: impl Fn(f32, f32) -> f32 + Copy + Sync,
) -> Table {
    let rows = table.len() / n;
    let mut best = table.clone();
    best.par_chunks_mut(n).enumerate().for_each(|(i, best)| {
        for r in i.saturating_sub(half)..(i + half + 1).min(rows) {
            take(best, &table[r * n..(r + 1) * n], pick);
        }
    });
    best
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
