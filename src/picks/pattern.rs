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
            .map(|row| {
                (0..ends)
                    .map(|end| if drawdown.over(row, end) { 1.0 } else { -1.0 })
                    .collect()
            })
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

    /// The line spectrum along the band: each row held over its pick, which rolls the harmonics off
    /// by sinc².
    pub(crate) fn lines(&self) -> Lines {
        let rows = self.rows();
        let power = (1..=2 * rows)
            .map(|h| {
                let power: f64 = (0..self.ends()).map(|end| self.end_power(end, h)).sum();
                power * roll_off(h, rows)
            })
            .collect();
        Lines { rows, power }
    }

    /// Power of one end's column at harmonic `h` of the repeat.
    fn end_power(&self, end: usize, h: usize) -> f64 {
        let (mut re, mut im) = (0.0, 0.0);
        for (row, cells) in self.cells.iter().enumerate() {
            let angle = 2.0 * PI * (h * row) as f64 / self.rows() as f64;
            re += cells[end] * angle.cos();
            im += cells[end] * angle.sin();
        }
        re * re + im * im
    }
}

/// Power at each harmonic of the repeat, from 1 to twice its rows, summed over the ends.
#[derive(Clone, Debug)]
pub(crate) struct Lines {
    /// Rows of the repeat.
    pub(crate) rows: usize,
    /// Power at harmonic 1, 2, …
    pub(crate) power: Vec<f64>,
}

impl Lines {
    /// A repeat of which only the number of rows is known: every harmonic alike, but those of the
    /// pick itself, which the furrow stands for.
    pub(crate) fn flat(rows: usize) -> Self {
        let power = (1..=2 * rows)
            .map(|h| {
                if h % rows == 0 {
                    0.0
                } else {
                    roll_off(h, rows)
                }
            })
            .collect();
        Self { rows, power }
    }
}

/// sinc² of a row held over its pick.
fn roll_off(h: usize, rows: usize) -> f64 {
    let x = PI * h as f64 / rows as f64;
    (x.sin() / x).powi(2)
}
