//! Do neighbouring ends take turns as the drawdown says?
//!
//! A band's colour stripes, its furrows and its light change all columns alike; only the weave makes
//! one end show weft while its neighbour shows warp. So the drawdown doesn't say only which
//! frequencies a spacing has, but also how neighbouring ends stand to each other at each of them:
//! opposite in plain weave, a step apart in twill. A stripe of three picks has a line where a plain
//! weave of three times the spacing would have one, but its neighbours agree where they should differ.
//!
//! # Method
//! For every harmonic of the repeat: the cross spectrum of columns one end apart, turned back by the
//! phase that the drawdown gives the two ends, summed over the width. Differences of neighbours alone
//! are used, so that picks may lie aslant or bowed. Faces and the room at the selvedges are tried in
//! turn (Welch's method of averaged cross spectra, P. Welch, IEEE Trans. AU-15, 1967).
//!
//! # Limits
//! Says nothing of drawdowns whose rows are all alike, nor where an end is narrower than a column.

use std::f64::consts::TAU;

use rustfft::num_complex::Complex;

use super::pattern::Pattern;
use super::rows::Face;
use super::spectrum::Spectrum;

/// Room at each selvedge that is tried, in ends.
const MARGINS: [f64; 3] = [0.0, 0.5, 1.0];

/// How columns one end apart should stand to each other, for one way the band can lie.
pub(super) struct Relation {
    /// Columns between the two of a pair.
    step: usize,
    /// `turns[h − 1][j]`: conjugate of what the drawdown gives column `j` and its neighbour at
    /// harmonic `h`, times the harmonic's weight; 0 where it says nothing.
    turns: Vec<Vec<Complex<f64>>>,
    /// Rows of the repeat.
    rows: usize,
}

impl Relation {
    /// Every way the band can lie, for `columns` columns across.
    pub(super) fn all(pattern: &Pattern, columns: usize) -> Vec<Self> {
        let (rows, ends) = (pattern.rows(), pattern.ends());
        if rows < 2 || ends < 3 || columns < ends {
            return Vec::new();
        }
        let mut all = Vec::new();
        for face in Face::ALL {
            let lines: Vec<Vec<Complex<f64>>> = (0..ends)
                .map(|e| (1..rows).map(|h| line(pattern, face, e, h)).collect())
                .collect();
            for margin in MARGINS {
                all.extend(Self::new(&lines, rows, columns, margin));
            }
        }
        all
    }

    fn new(lines: &[Vec<Complex<f64>>], rows: usize, columns: usize, margin: f64) -> Option<Self> {
        let ends = lines.len();
        let pitch = columns as f64 / (ends as f64 + 2.0 * margin);
        let step = pitch.round().max(1.0) as usize;
        let end_of = |j: usize| {
            let e = ((j as f64 + 0.5) / pitch - margin).floor();
            (e >= 0.0 && e < ends as f64).then_some(e as usize)
        };
        let mut turns: Vec<Vec<Complex<f64>>> = Vec::new();
        let mut total = 0.0;
        for h in 1..rows {
            let x = std::f64::consts::PI * h as f64 / rows as f64;
            let roll_off = (x.sin() / x).powi(2);
            let row: Vec<Complex<f64>> = (0..columns - step)
                .map(|j| match (end_of(j), end_of(j + step)) {
                    (Some(a), Some(b)) if a != b => {
                        (lines[a][h - 1] * lines[b][h - 1].conj()).conj() * roll_off
                    }
                    _ => Complex::default(),
                })
                .collect();
            total += row.iter().map(|w| w.norm()).sum::<f64>();
            turns.push(row);
        }
        if total < 1e-9 {
            return None;
        }
        let scale = columns as f64 / total;
        for row in &mut turns {
            row.iter_mut().for_each(|w| *w *= scale);
        }
        Some(Self { step, turns, rows })
    }

    /// How far the columns take turns as they should at a spacing of `samples_a_pick`: −1 to 1, as a
    /// share of the strongest line of the spectrum, whose power is `strongest`.
    pub(super) fn holds(&self, spectrum: &Spectrum, samples_a_pick: f64, strongest: f64) -> f64 {
        let padded = spectrum.padded as f64;
        let columns = spectrum.columns.len() / 3 - 1;
        let mut sum = 0.0;
        for (h, turns) in (1..self.rows).zip(&self.turns) {
            let bin = h as f64 * padded / (self.rows as f64 * samples_a_pick);
            let bin = bin.round() as usize;
            for (j, turn) in turns.iter().enumerate().take(columns - self.step) {
                if turn.norm_sqr() < 1e-12 {
                    continue;
                }
                for c in 0..3 {
                    let a = spectrum.columns[3 * j + c].get(bin);
                    let b = spectrum.columns[3 * (j + self.step) + c].get(bin);
                    if let (Some(a), Some(b)) = (a, b) {
                        let product = a * b.conj();
                        sum += f64::from(product.re) * turn.re - f64::from(product.im) * turn.im;
                    }
                }
            }
        }
        (sum / strongest.max(1e-12)).clamp(-1.0, 1.0)
    }
}

/// One end's line at harmonic `h` of the repeat, as it is seen on a face.
fn line(pattern: &Pattern, face: Face, end: usize, h: usize) -> Complex<f64> {
    let rows = pattern.rows();
    (0..rows)
        .map(|r| {
            let angle = -TAU * (h * r) as f64 / rows as f64;
            Complex::from_polar(face.cell(pattern, r, end), angle)
        })
        .sum()
}
