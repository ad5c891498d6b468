//! What the plan's drawdown leads to expect along the band.

use std::f64::consts::PI;

use crate::plan::Drawdown;

/// The drawdown as numbers: +1 where the weft lies over the end, −1 where it lies under.
#[derive(Clone, Debug)]
pub(crate) struct Pattern {
    /// `cells[row][end]`.
    pub(crate) cells: Vec<Vec<f64>>,
}

impl Pattern {
    /// The pattern over `ends` ends, its rows cut down to the shortest that repeats.
    pub(crate) fn new(drawdown: &Drawdown, ends: usize) -> Self {
        let cells: Vec<Vec<f64>> = (0..drawdown.rows())
            .map(|row| (0..ends).map(|end| if drawdown.over(row, end) { 1.0 } else { -1.0 }).collect())
            .collect();
        Self { cells }
    }

    /// Rows of the repeat.
    pub(crate) fn rows(&self) -> usize {
        self.cells.len()
    }

    /// Ends across.
    pub(crate) fn ends(&self) -> usize {
        self.cells[0].len()
    }

    /// Power at harmonic `h` of the repeat, summed over the ends, for `h` from 1 to `2 · rows`; each
    /// row held over its pick, which rolls the harmonics off by sinc².
    pub(crate) fn line_power(&self) -> Vec<f64> {
        let rows = self.rows();
        (1..=2 * rows)
            .map(|h| {
                let mut power = 0.0;
                for end in 0..self.ends() {
                    let (mut re, mut im) = (0.0, 0.0);
                    for row in 0..rows {
                        let angle = 2.0 * PI * (h * row) as f64 / rows as f64;
                        re += self.cells[row][end] * angle.cos();
                        im += self.cells[row][end] * angle.sin();
                    }
                    power += re * re + im * im;
                }
                let x = PI * h as f64 / rows as f64;
                power * (x.sin() / x).powi(2)
            })
            .collect()
    }
}
