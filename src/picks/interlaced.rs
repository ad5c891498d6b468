//! The repeat followed once more, now that its drawdown is known to be there.
//!
//! The first following learns every phase of every row by itself, and a drawdown of many rows
//! comes round only a few times in a short band: a template of so little cloth follows its own
//! noise. But the drawdown says which cells must look alike. So cells of one kind are pooled over all
//! rows and ends, and the path is sought again with what they show together.
//!
//! # Method
//! 1. A cell's kind is what it shows, weft or warp, and what the picks before and after it show:
//!    eight kinds.
//! 2. Each column has its own contrast between weft and warp, for warps are striped; a kind's
//!    profile over the phases of a pick is the mean of its cells, each by its column's contrast (one
//!    step of a rank-one fit). What lies beyond the outermost ends, and the furrows, keep their own.
//! 3. Follow (Viterbi), fold the samples along the path, fit the drawdown, pool again; some rounds. Where
//!    a second weft is seen (`stripes`), each weft has its own template: in a stripe, light and dark may
//!    stand the other way round, and a path of one template would lose a pick at each. Stripes hold whole
//!    picks: where one ends, so does a pick. In a weft of the warp's colour nothing else is seen.

use ndarray::Array2;

use super::cloth::Cloth;
use super::guessed::guessed;
use super::level::Level;
use super::path::Pins;
use super::pattern::{Lines, Pattern};
use super::phase::{Phases, STATES_A_PICK, follow, follow_templates};
use super::pitch::SAMPLES_A_PICK;
use super::rows::{Fit, fit};

/// Below this correlation with the drawdown nothing is pooled: it may not be this band's.
const LEAST_CORRELATION: f64 = 0.4;

/// The pooled cells may follow the drawdown so much less well: they are the same cells, read with
/// less noise of their own.
const SLACK: f64 = 0.01;

/// Correlation that a cheaper path may lack.
const MUCH_LESS: f64 = 0.05;

/// A stripe's end lies between two picks, give or take this part of a pick.
const BORDER_U: f64 = 0.12;

/// Lying elsewhere costs at most this.
const MOST_BORDER_COST: f64 = 8.0;

/// What is shorter than this, in picks, is no stripe.
const LEAST_STRIPE: f64 = 0.75;

/// Rounds of pooling and following.
const ROUNDS: usize = 3;

/// Places across an end that are told apart: its two flanks and its middle.
const ACROSS: usize = 3;

/// Kinds of cells: weft or warp in the pick before, in its own and in the next.
const KINDS: usize = 8;

/// The repeat as it lies along the cloth, `level` saying how far each row is to be trusted. Where a second weft is
/// seen, the first following is tried with and without its rows: they may stand the other way round.
pub(super) fn followed_through(
    cloth: &Cloth,
    lines: &Lines,
    pattern: Option<&Pattern>,
    level: &Level,
) -> Option<Followed> {
    let rarer = cloth.rarer.as_deref();
    let first = |level: &Level| follow(level, lines.rows, cloth.body, cloth.clearest);
    let again = |trusted: &Level| {
        let phases = first(trusted)?;
        let own = pattern.is_none().then(|| guessed(&phases.template));
        let pattern = own.as_ref().or(pattern)?;
        let fit = fit(&phases.template, pattern);
        let known = (phases, fit);
        Some(follow_again(level, cloth.body, pattern, rarer, known))
    };
    let Some(rarer) = rarer else {
        return again(level);
    };
    let (plain, without) = rayon::join(|| again(level), || again(&level.trusting(|i| !rarer[i])));
    let plain = plain?;
    let Some(without) = without else {
        return Some(plain);
    };
    let better =
        without.cost < plain.cost && without.fit.correlation >= plain.fit.correlation - MUCH_LESS;
    Some(if better { without } else { plain })
}

/// Follows the repeat again with pooled cells; what it was given where the drawdown hardly shows, or
/// where the pooled cells follow the drawdown less well. `rarer` says which samples show the rarer of
/// two wefts.
pub(super) fn follow_again(
    level: &Level,
    learn: (usize, usize),
    pattern: &Pattern,
    rarer: Option<&[bool]>,
    (first, first_fit): (Phases, Fit),
) -> Followed {
    let mut best = Followed {
        phases: first,
        fit: first_fit,
        cost: f64::INFINITY,
    };
    if best.fit.correlation < LEAST_CORRELATION || pattern.rows() < 2 {
        return best;
    }
    let kind = |i: usize| rarer.map_or(0, |rarer| usize::from(rarer[i]));
    let kinds = if rarer.is_some() { 2 } else { 1 };
    let mut last = best.fit.clone();
    let mut phases = best.phases.clone();
    let mut pins = Pins {
        at: rarer.map_or_else(Vec::new, stripe_borders),
        costs: Vec::new(),
    };
    for _ in 0..ROUNDS {
        let templates: Vec<Array2<f32>> = (0..kinds)
            .map(|k| {
                pooled(
                    &phases.template_where(level, learn, |i| kind(i) == k),
                    &last,
                )
            })
            .collect();
        pins.costs = border_costs(&last);
        let (next, cost) = follow_templates(level, &templates, kind, &pins, learn);
        last = fit(
            &next.template_where(level, learn, |i| kind(i) == 0),
            pattern,
        );
        phases = next;
        if last.correlation >= best.fit.correlation - SLACK {
            best = Followed {
                phases: phases.clone(),
                fit: last.clone(),
                cost,
            };
        }
    }
    best
}

/// The first sample of each stripe: true there, where the stripes before and after it are whole.
fn stripe_borders(rarer: &[bool]) -> Vec<bool> {
    let changes: Vec<usize> = (1..rarer.len())
        .filter(|&i| rarer[i] != rarer[i - 1])
        .collect();
    let mut borders = vec![false; rarer.len()];
    for around in changes.windows(3) {
        let (before, at, after) = (around[0], around[1], around[2]);
        borders[at] = (at - before).min(after - at) as f64 >= LEAST_STRIPE * SAMPLES_A_PICK as f64;
    }
    borders
}

/// What it costs each state that its sample lies where a stripe begins, which is between two picks.
fn border_costs(fit: &Fit) -> Vec<f32> {
    (0..fit.expected.len() * STATES_A_PICK)
        .map(|state| {
            let within = fit.row_at(state).1 as f64 / STATES_A_PICK as f64;
            let off = within.min(1.0 - within) / BORDER_U;
            (0.5 * off * off).min(MOST_BORDER_COST) as f32
        })
        .collect()
}

/// A repeat that was followed, and how its drawdown lies in it.
pub(crate) struct Followed {
    pub(crate) phases: Phases,
    pub(crate) fit: Fit,
    /// Cost of the path, a sample; infinite where it wasn't followed again.
    pub(crate) cost: f64,
}

/// The template with cells of one kind made alike.
fn pooled(own: &Array2<f32>, fit: &Fit) -> Array2<f32> {
    let (states, width) = own.dim();
    let columns = width / 3 - 1;
    let rows = fit.expected.len();
    let end_of = |j: usize| {
        fit.end_at(j, columns)
            .map(|(end, across)| (end, ((across * ACROSS as f64) as usize).min(ACROSS - 1)))
    };
    let kind = |row: usize, end: usize| {
        let over = |r: usize| usize::from(fit.expected[r % rows][end] > 0.0);
        over(row + rows - 1) + 2 * over(row) + 4 * over(row + 1)
    };
    let contrast: Vec<f64> = (0..columns * 3)
        .map(|at| end_of(at / 3).map_or(0.0, |(end, _)| contrast_of(own, fit, at, end)))
        .collect();
    let slot = |kind: usize, phase: usize, across: usize, c: usize| {
        ((kind * STATES_A_PICK + phase) * ACROSS + across) * 3 + c
    };
    let mut sums = vec![(0.0, 0.0); KINDS * STATES_A_PICK * ACROSS * 3];
    for k in 0..states {
        let (row, phase) = fit.row_at(k);
        for j in 0..columns {
            let Some((end, across)) = end_of(j) else {
                continue;
            };
            for c in 0..3 {
                let g = contrast[3 * j + c];
                let sum = &mut sums[slot(kind(row, end), phase, across, c)];
                sum.0 += g * f64::from(own[[k, 3 * j + c]]);
                sum.1 += g * g;
            }
        }
    }
    let mut out = own.clone();
    let mut furrow = [0.0f32; STATES_A_PICK];
    for k in 0..states {
        furrow[fit.row_at(k).1] += own[[k, 3 * columns]] / rows as f32;
    }
    for k in 0..states {
        let (row, phase) = fit.row_at(k);
        out[[k, 3 * columns]] = furrow[phase];
        for j in 0..columns {
            let Some((end, across)) = end_of(j) else {
                continue;
            };
            for c in 0..3 {
                let sum = sums[slot(kind(row, end), phase, across, c)];
                if sum.1 > 1e-9 {
                    out[[k, 3 * j + c]] = (contrast[3 * j + c] * sum.0 / sum.1) as f32;
                }
            }
        }
    }
    out
}

/// How far weft and warp differ in one column and channel: the covariance with the drawdown's cells.
fn contrast_of(own: &Array2<f32>, fit: &Fit, at: usize, end: usize) -> f64 {
    let cells: Vec<f64> = fit.expected.iter().map(|row| row[end]).collect();
    let mean = cells.iter().sum::<f64>() / cells.len() as f64;
    let (mut both, mut own_square) = (0.0, 0.0);
    for k in 0..own.dim().0 {
        let (row, _) = fit.row_at(k);
        both += (cells[row] - mean) * f64::from(own[[k, at]]);
        own_square += (cells[row] - mean).powi(2);
    }
    if own_square > 0.0 {
        both / own_square
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Plain weave of four ends, three columns each, weft light; noise of its own in every cell.
    fn plain(rows: usize) -> (Array2<f32>, Fit) {
        let mut fit = Fit::unknown(rows, 4, 0.0);
        for (r, row) in fit.expected.iter_mut().enumerate() {
            for (e, cell) in row.iter_mut().enumerate() {
                *cell = if (r + e) % 2 == 0 { 1.0 } else { -1.0 };
            }
        }
        let expected = fit.expected.clone();
        let template = Array2::from_shape_fn((rows * STATES_A_PICK, 39), |(k, at)| {
            let row = k / STATES_A_PICK;
            match at / 3 {
                12 => 0.0,
                j => {
                    let noise = ((row * 7 + j * 5) % 11) as f32 * 0.02 - 0.1;
                    expected[row][j / 3] as f32 + noise
                }
            }
        });
        (template, fit)
    }

    #[test]
    fn cells_of_one_kind_are_made_alike_and_lose_their_noise() {
        let (own, fit) = plain(6);
        let pooled = pooled(&own, &fit);
        let middle = STATES_A_PICK / 2;
        let worst = |template: &Array2<f32>| {
            let mut worst = 0.0f32;
            for r in 0..6 {
                for e in 0..4 {
                    let seen = template[[r * STATES_A_PICK + middle, 9 * e + 3]];
                    worst = worst.max((seen - fit.expected[r][e] as f32).abs());
                }
            }
            worst
        };
        assert!(
            worst(&pooled) < 0.6 * worst(&own),
            "{} {}",
            worst(&pooled),
            worst(&own)
        );
    }
}
