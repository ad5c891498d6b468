//! Where does the colour change, and how suddenly?

use rayon::prelude::*;

use super::likeness::{DEAD_ODDS, Table};
use super::strip::Strip;

/// Length of the means that a step is the difference of, mm.
const STEP_MM: f64 = 0.35;
/// Length of the shorter means that tell a sudden step, mm.
const SUDDEN_MM: f64 = 0.2;
/// How much of a step over twice that length isn't sudden.
const SOFT: f32 = 0.5;
/// A step of cloth has cloth so far inside of it, mm.
const BACKED_MM: f64 = 0.25;
/// A step this near to a boundary is the boundary's own, mm.
const OWN_MM: f64 = 0.45;
/// How much more than a seen step a sudden one farther out has to be: a JPEG's ripples on the ground beside
/// the cloth aren't.
const SURE: f32 = 3.0;
/// Length along the band of the means that tell an outline running across, mm.
const ALONG_MM: f64 = 0.25;
/// Most that steps farther out count, in clean edges.
const MOST_FARTHER: f32 = 3.0;
/// Least share of its price that outline running across costs.
const LEAST_PRICE: f32 = 0.1;

/// Colour steps at every boundary: before each column, and behind the last.
pub(super) struct Steps {
    /// Difference of mean colour over [`STEP_MM`] on either side, Lab units.
    pub step: Table,
    /// The step that is surely seen over the ground's own unrest.
    pub seen: f32,
    /// The usual step.
    pub full: f32,
    /// What of the step is sudden: an edge is, a shadow's border isn't.
    sudden: Table,
    /// The same as `seen`.
    sudden_seen: f32,
}

impl Steps {
    /// Takes them from a strip.
    pub(super) fn new(strip: &Strip<'_>) -> Self {
        let n = strip.columns;
        let [wide, near] = [STEP_MM, SUDDEN_MM].map(|mm| strip.samples(mm));
        let reach = wide.max(2 * near);
        let mut step = vec![0.0; strip.rows * (n + 1)];
        let mut sudden = step.clone();
        let lines = step.par_chunks_mut(n + 1).zip(sudden.par_chunks_mut(n + 1));
        let buffers = || (Vec::new(), [(); 3].map(|()| vec![0.0; 3 * (n + 1)]));
        lines
            .enumerate()
            .for_each_init(buffers, |(sums, [s, s2, far]), (i, (step, sudden))| {
                strip.sums(i, reach, sums);
                across(sums, reach, near, s);
                across(sums, reach, 2 * near, s2);
                across(sums, reach, wide, far);
                let colours = s.as_chunks::<3>().0.iter().zip(s2.as_chunks::<3>().0);
                for ((sudden, step), ((s, s2), far)) in sudden
                    .iter_mut()
                    .zip(step)
                    .zip(colours.zip(far.as_chunks::<3>().0))
                {
                    // Carried on to the boundary from both sides, a slope is no step.
                    let carried = [0, 1, 2].map(|k| 2.0 * s[k] - s2[k]);
                    *sudden = (size(carried) - SOFT * size(*s2)).max(0.0);
                    *step = size(*far);
                }
            });
        let (seen, full) = levels(&step, n + 1);
        let (sudden_seen, _) = levels(&sudden, n + 1);
        Self {
            step,
            seen,
            full,
            sudden,
            sudden_seen,
        }
    }

    /// For each boundary of row `i`, how many clean edges of cloth lie farther out: 0 where there is
    /// none. `lit` holds the row's odds against ground in hardly any shadow.
    pub(super) fn farther_out(&self, strip: &Strip<'_>, i: usize, lit: &[f32]) -> Vec<f32> {
        let n = strip.columns;
        let [backed, own] = [BACKED_MM, OWN_MM].map(|mm| strip.samples(mm));
        // A clean edge is sudden over about so many boundaries.
        let breadth = 2.0 * strip.samples(SUDDEN_MM) as f32;
        let mut out = vec![0.0; n + 1];
        let (mut best, mut sum) = (0.0_f32, 0.0_f32);
        for b in (0..=n.saturating_sub(own)).rev() {
            let j = b + own;
            let inside = &lit[j.saturating_sub(backed)..j];
            let unlit = inside.iter().filter(|o| **o > -DEAD_ODDS).count() as f32;
            let share = (2.0 * unlit / inside.len().max(1) as f32 - 1.0).max(0.0);
            let sudden = self.sudden[i * (n + 1) + j] / self.sudden_seen;
            let edge = share * (sudden / SURE - 0.5).clamp(0.0, 1.0);
            best = best.max(edge);
            sum = (sum + edge / breadth).min(MOST_FARTHER);
            out[b] = best.max(sum);
        }
        out
    }

    /// Share of its price that outline running across costs at each column between each two rows:
    /// less where a step is seen along it, as at the side of a weft turn.
    pub(super) fn prices_across(&self, strip: &Strip<'_>) -> Table {
        let n = strip.columns;
        let wide = strip.samples(ALONG_MM);
        let level = 0.5 * (self.seen + self.full);
        let mut prices = vec![0.0; strip.rows.saturating_sub(1) * n];
        let lines = prices.par_chunks_mut(n).zip(1..strip.rows);
        lines.for_each(|(prices, i)| {
            let count = wide.min(i).min(strip.rows - i);
            let mut gaps = vec![0.0_f32; 3 * n];
            for k in 0..count {
                let (a, b) = (strip.colours(i - 1 - k), strip.colours(i + k));
                let beside = a.as_flattened().iter().zip(b.as_flattened());
                for (gap, (a, b)) in gaps.iter_mut().zip(beside) {
                    *gap += b - a;
                }
            }
            let each = 1.0 / (count as f32 * level);
            for (price, gap) in prices.iter_mut().zip(gaps.as_chunks::<3>().0) {
                *price = (1.0 - size(*gap) * each).max(LEAST_PRICE);
            }
        });
        prices
    }
}

/// Difference of the mean colours over `wide` samples on either side of every boundary, from the colours' sums
/// from `reach` samples before the first on.
fn across(sums: &[[f32; 3]], reach: usize, wide: usize, differences: &mut [f32]) {
    let from = |at: usize| &sums[at..].as_flattened()[..differences.len()];
    let (lo, mid, hi) = (from(reach - wide), from(reach), from(reach + wide));
    let each = 1.0 / wide as f32;
    for (d, ((lo, mid), hi)) in differences.iter_mut().zip(lo.iter().zip(mid).zip(hi)) {
        *d = (hi - 2.0 * mid + lo) * each;
    }
}

fn size(d: [f32; 3]) -> f32 {
    (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()
}

/// The step that is surely seen over the ground's own unrest, and the usual step.
fn levels(steps: &Table, boundaries: usize) -> (f32, f32) {
    let mut tops: Vec<f32> = Vec::new();
    let mut outer: Vec<f32> = Vec::new();
    for row in steps.chunks_exact(boundaries) {
        tops.push(row.iter().copied().fold(0.0, f32::max));
        outer.extend(row.iter().rev().take(boundaries / 10 + 1));
    }
    let middle = |values: &mut [f32]| {
        let at = values.len() / 2;
        *values.select_nth_unstable_by(at, f32::total_cmp).1
    };
    let full = middle(&mut tops).max(3.0);
    let seen = (3.0 * middle(&mut outer)).clamp(1.5, full);
    (seen, full)
}
