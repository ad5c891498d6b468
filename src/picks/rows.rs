//! Which row of the drawdown is each phase of the repeat, and where are the picks' middles?
//!
//! # Method
//! 1. Compare the learnt repeat with the drawdown at every phase, in the four ways that a band can
//!    lie (front or back, start at either end) and with a little room at the selvedges for the turns.
//! 2. For each, split the repeat's samples into cells that should show weft and cells that should
//!    show warp; the phase is where the variance between the two is greatest, the match its share of
//!    all variance there.
//! 3. The best match gives the phase of the rows, which `begins` reads more exactly, and the face.

use ndarray::{Array2, Array3};
use rayon::prelude::*;

use super::pattern::Pattern;
use super::phase::STATES_A_PICK;

/// Room at each selvedge that is tried, in ends.
const MARGINS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// How the drawdown lies in the photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Face {
    /// As planned.
    Front,
    /// Front up, the start at the other end.
    FrontTurned,
    /// Back up.
    Back,
    /// Back up, the start at the other end.
    BackTurned,
}

impl Face {
    pub(super) const ALL: [Self; 4] =
        [Self::Front, Self::FrontTurned, Self::Back, Self::BackTurned];

    /// What to tell the reader.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Front => "the face that was woven towards you, its start where you said",
            Self::FrontTurned => "the face that was woven towards you, its start at the other end",
            Self::Back => "the back of the band",
            Self::BackTurned => "the back of the band, its start at the other end",
        }
    }

    /// The drawdown's cell seen at row `r` and end `e` of the picture: +1 weft, −1 warp.
    pub(super) fn cell(self, pattern: &Pattern, r: usize, e: usize) -> f64 {
        let (rows, ends) = (pattern.rows(), pattern.ends());
        match self {
            Self::Front => pattern.cells[r][e],
            Self::FrontTurned => pattern.cells[rows - 1 - r][ends - 1 - e],
            Self::Back => -pattern.cells[r][ends - 1 - e],
            Self::BackTurned => -pattern.cells[rows - 1 - r][e],
        }
    }

    /// The drawdown row that is seen at row `r` of the picture's repeat.
    pub(crate) fn row(self, rows: usize, r: usize) -> usize {
        match self {
            Self::Front | Self::Back => r,
            Self::FrontTurned | Self::BackTurned => rows - 1 - r,
        }
    }
}

/// How the repeat and the drawdown fit.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    /// Which way it lies.
    pub(crate) face: Face,
    /// Phase (picks, within the repeat) at which the picture's first row begins.
    pub(crate) offset: f64,
    /// Correlation of cells and drawdown, 0 to 1.
    pub(crate) correlation: f64,
    /// Correlation of the best fit of another face.
    pub(crate) runner_up: f64,
    /// Room at each selvedge for the turns, in ends.
    pub(crate) margin: f64,
    /// What the picture shows in each cell of the repeat: `expected[r][e]`, +1 weft, −1 warp.
    pub(crate) expected: Vec<Vec<f64>>,
}

impl Fit {
    /// A fit that expects nothing: only the border between picks, at phase `border` (picks).
    #[cfg(test)]
    pub(crate) fn unknown(rows: usize, ends: usize, border: f64) -> Self {
        Self {
            face: Face::Front,
            offset: border,
            correlation: 0.0,
            runner_up: 0.0,
            margin: 0.0,
            expected: vec![vec![0.0; ends]; rows],
        }
    }

    /// The same, warp taken for weft and weft for warp.
    pub(super) fn with_yarns_exchanged(&self) -> Self {
        let exchanged = |row: &Vec<f64>| row.iter().map(|cell| -cell).collect();
        Self {
            expected: self.expected.iter().map(exchanged).collect(),
            ..self.clone()
        }
    }

    /// The end on which column `j` of `columns` lies, and how far across it, 0 to 1; `None` in the room
    /// at the selvedges.
    pub(crate) fn end_at(&self, j: usize, columns: usize) -> Option<(usize, f64)> {
        let ends = self.expected[0].len() as f64;
        let pitch = columns as f64 / (ends + 2.0 * self.margin);
        let x = (j as f64 + 0.5) / pitch - self.margin;
        (x >= 0.0 && x < ends).then(|| (x as usize, x - x.floor()))
    }

    /// The row of the repeat to which a state belongs, and the state's phase within its pick.
    pub(crate) fn row_at(&self, state: usize) -> (usize, usize) {
        let begins = (self.offset * STATES_A_PICK as f64).round() as i64;
        let states = (self.expected.len() * STATES_A_PICK) as i64;
        let from = (state as i64 - begins).rem_euclid(states) as usize;
        (from / STATES_A_PICK, from % STATES_A_PICK)
    }
}

/// The cells of the template: mean over the middle half of every pick's phase and every end, for
/// every offset; shape (states, ends, 3) with the middle half starting at each state. Only the first `columns` of
/// the template are looked at.
pub(super) fn windows(
    template: &Array2<f32>,
    columns: usize,
    (ends, margin): (usize, f64),
) -> Array3<f64> {
    let states = template.dim().0;
    let mut by_end = Array3::<f64>::zeros((states, ends, 3));
    let pitch = columns as f64 / (ends as f64 + 2.0 * margin);
    for e in 0..ends {
        let a = (margin + e as f64 + 0.15) * pitch;
        let b = (margin + e as f64 + 0.85) * pitch;
        for j in 0..columns {
            let share = ((j as f64 + 1.0).min(b) - (j as f64).max(a)).max(0.0) / (b - a);
            if share > 0.0 {
                for k in 0..states {
                    for c in 0..3 {
                        by_end[[k, e, c]] += share * f64::from(template[[k, 3 * j + c]]);
                    }
                }
            }
        }
    }
    let half = STATES_A_PICK / 2;
    let mut out = Array3::<f64>::zeros((states, ends, 3));
    for k in 0..states {
        for d in 0..half {
            let from = (k + STATES_A_PICK / 4 + d) % states;
            for e in 0..ends {
                for c in 0..3 {
                    out[[k, e, c]] += by_end[[from, e, c]] / half as f64;
                }
            }
        }
    }
    out
}

/// The cells' sum of squares between weft cells and warp cells, and in all.
pub(super) fn variances(cells: &Array3<f64>, k: usize, expected: &[Vec<f64>]) -> (f64, f64) {
    let states = cells.dim().0;
    let mut sums = [[0.0f64; 3]; 2];
    let mut squares = 0.0;
    let mut counts = [0.0f64; 2];
    for (r, row) in expected.iter().enumerate() {
        for (e, value) in row.iter().enumerate() {
            let side = usize::from(*value > 0.0);
            counts[side] += 1.0;
            for c in 0..3 {
                let v = cells[[(k + r * STATES_A_PICK) % states, e, c]];
                sums[side][c] += v;
                squares += v * v;
            }
        }
    }
    let n = counts[0] + counts[1];
    if counts[0] == 0.0 || counts[1] == 0.0 {
        return (0.0, 0.0);
    }
    let (mut between, mut mean_square) = (0.0, 0.0);
    for c in 0..3 {
        let mean = (sums[0][c] + sums[1][c]) / n;
        mean_square += mean * mean * n;
        between += (0..2)
            .map(|s| counts[s] * (sums[s][c] / counts[s] - mean).powi(2))
            .sum::<f64>();
    }
    (between, squares - mean_square)
}

/// Fits the drawdown to the learnt repeat; `template` holds one column more than the cloth, that of
/// the furrows, which isn't looked at.
pub(crate) fn fit(template: &Array2<f32>, pattern: &Pattern) -> Fit {
    let (states, width) = template.dim();
    let columns = width / 3 - 1;
    let (rows, ends) = (pattern.rows(), pattern.ends());
    let mut tops: Vec<Fit> = Vec::new();
    let by_margin: Vec<(f64, Array3<f64>)> = MARGINS
        .par_iter()
        .map(|&margin| (margin, windows(template, columns, (ends, margin))))
        .collect();
    for face in Face::ALL {
        let expected: Vec<Vec<f64>> = (0..rows)
            .map(|r| (0..ends).map(|e| face.cell(pattern, r, e)).collect())
            .collect();
        let mut top: Option<Fit> = None;
        for (margin, cells) in &by_margin {
            let margin = *margin;
            let seen: Vec<(f64, f64)> = (0..states)
                .into_par_iter()
                .map(|k| variances(cells, k, &expected))
                .collect();
            // Against the greatest variance of all phases, not against each phase's own: cells that
            // take turns do so at every phase, but most in the middle of the picks.
            let most = seen.iter().map(|v| v.1).fold(1e-12, f64::max);
            let scores: Vec<f64> = seen.iter().map(|v| (v.0 / most).sqrt()).collect();
            let k = (0..states)
                .max_by(|&a, &b| scores[a].total_cmp(&scores[b]))
                .unwrap_or(0);
            let correlation = (seen[k].0 / seen[k].1.max(1e-12)).clamp(0.0, 1.0).sqrt();
            if top.as_ref().is_none_or(|t| correlation > t.correlation) {
                top = Some(Fit {
                    face,
                    offset: plateau_middle(&scores, k) / STATES_A_PICK as f64,
                    correlation,
                    runner_up: 0.0,
                    margin,
                    expected: expected.clone(),
                });
            }
        }
        tops.extend(top);
    }
    // The planned lie unless another is clearly better: a symmetrical drawdown fits several ways.
    let mut best = 0;
    for i in 1..tops.len() {
        if tops[i].correlation > tops[best].correlation + 0.02 {
            best = i;
        }
    }
    let runner_up = (0..tops.len())
        .filter(|&i| i != best)
        .map(|i| tops[i].correlation)
        .fold(0.0, f64::max);
    let mut fit = tops.swap_remove(best);
    fit.runner_up = runner_up;
    fit
}

/// Middle of the peak around state `k`: the scores weighted above 80 % of the top.
pub(super) fn plateau_middle(scores: &[f64], k: usize) -> f64 {
    let states = scores.len() as i64;
    let reach = (STATES_A_PICK / 2) as i64;
    let floor = 0.8 * scores[k];
    let (mut sum, mut weight) = (0.0, 0.0);
    for d in -reach..=reach {
        let w = (scores[(k as i64 + d).rem_euclid(states) as usize] - floor).max(0.0);
        sum += w * d as f64;
        weight += w;
    }
    k as f64 + if weight > 0.0 { sum / weight } else { 0.0 }
}
