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

use std::collections::BTreeMap;
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
    pub(super) fn holds(&self, pairs: &mut Pairs<'_>, samples_a_pick: f64, strongest: f64) -> f64 {
        let mut sum = 0.0;
        for (h, turns) in (1..self.rows).zip(&self.turns) {
            let bin = h as f64 * pairs.padded() / (self.rows as f64 * samples_a_pick);
            let products = pairs.at(self.step, bin.round() as usize);
            sum += products
                .iter()
                .zip(turns)
                .map(|(p, t)| f64::from(p.re) * t.re - f64::from(p.im) * t.im)
                .sum::<f64>();
        }
        (sum / strongest.max(1e-12)).clamp(-1.0, 1.0)
    }
}

/// The cross spectra of columns one end apart, each bin worked out once.
pub(super) struct Pairs<'a> {
    spectrum: &'a Spectrum,
    known: BTreeMap<(usize, usize), Vec<Complex<f32>>>,
}

impl<'a> Pairs<'a> {
    pub(super) fn new(spectrum: &'a Spectrum) -> Self {
        Self {
            spectrum,
            known: BTreeMap::new(),
        }
    }

    fn padded(&self) -> f64 {
        self.spectrum.padded as f64
    }

    /// The three channels' products of every column with the one `step` columns on, at one bin.
    fn at(&mut self, step: usize, bin: usize) -> &[Complex<f32>] {
        let columns = &self.spectrum.columns;
        self.known.entry((step, bin)).or_insert_with(|| {
            let value = |j: usize| columns[j].get(bin).copied().unwrap_or_default();
            (0..(columns.len() / 3 - 1).saturating_sub(step))
                .map(|j| {
                    (0..3)
                        .map(|c| value(3 * j + c) * value(3 * (j + step) + c).conj())
                        .sum()
                })
                .collect()
        })
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
