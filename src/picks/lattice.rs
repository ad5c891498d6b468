//! How many ends lie across, and where, once it is known which picks are of one row of the repeat?
//!
//! # Method
//! 1. The mean colour of each row of the repeat in fine columns, less the mean over the rows: what is left changes
//!    from one end to the next, and is weak between two ends.
//! 2. Two signals across: how far neighbouring columns differ in it, and how strong it is. Where an end meets the next
//!    without a gap, the first beats once an end; where there are gaps, twice, and the second once.
//! 3. The number of crests that holds the most of both signals; the place of the borders by the second.
//! 4. Pieces at the selvedges that hardly change are turns of the weft, and no ends.
//!
//! # Limits
//! Whether the outermost piece is an end or the weft's turns isn't always told: then ends have places, but no
//! numbers ([`Lattice::numbered`]). Of 50 slips on drawn bands 20 had none, and of the other 30 one was told of other
//! ends than those that had slipped.

use std::f64::consts::{PI, TAU};

use rustfft::num_complex::Complex;

use super::columns::INSET;
use crate::stats::{crest, gaussian_smooth};

/// Numbers of ends that are looked for, and how far apart they lie.
const FEWEST: f64 = 4.0;
const MOST: f64 = 64.0;
const APART: f64 = 0.25;

/// Both signals are compared with their mean around, columns.
const AROUND: f64 = 30.0;

/// A piece at a selvedge is an end where so much of one is there.
const LEAST_OF_AN_END: f64 = 0.6;

/// Beyond less than this there is no other end.
const NO_END: f64 = 0.45;

/// The mean colours of each row of the repeat, `[row][column]`.
pub(super) type Template = [Vec<[f64; 3]>];

/// Where the ends lie across fine columns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lattice {
    /// Left border of the first end, and breadth of each, columns.
    pub(super) first: f64,
    pub(super) pitch: f64,
    /// Ends in view.
    pub(super) ends: usize,
    /// Ends left of the first and right of the last, which are hardly in view.
    pub(super) hidden: [usize; 2],
    /// Whether the leftmost end is surely the first.
    pub(super) numbered: bool,
    /// How clearly both signals beat, 0 to 2.
    pub(super) clear: f64,
}

impl Lattice {
    /// Of the template; `None` where nothing beats across.
    pub(super) fn of(template: &Template) -> Option<Self> {
        let columns = template.first()?.len();
        let (steps, strength) = signals(template);
        let steps = Signal::new(&steps, 1.0);
        let strength = Signal::new(&strength, 0.5);
        let n = ((MOST - FEWEST) / APART) as usize + 1;
        let crests = |k: usize| FEWEST + k as f64 * APART;
        let step_beats: Vec<f64> = (0..n).map(|k| steps.beat(crests(k), columns)).collect();
        let worth: Vec<f64> = (0..n)
            .map(|k| {
                let twice = ((2.0 * crests(k) - FEWEST) / APART).round() as usize;
                let twice = step_beats.get(twice).copied().unwrap_or(0.0);
                strength.beat(crests(k), columns) + step_beats[k].max(twice)
            })
            .collect();
        let best = (0..n).max_by(|&a, &b| worth[a].total_cmp(&worth[b]))?;
        let crests = crests(best) + APART * vertex(&worth, best);
        // Weakest between two ends.
        let angle = strength.wave(crests, columns, 0.5 * columns as f64).arg();
        let off = ((PI - angle) / TAU).rem_euclid(1.0);
        let pitch = columns as f64 / crests;
        let border = 0.5 * columns as f64 + off * pitch;
        // The outermost share of the cloth isn't in view.
        let unseen = INSET / (1.0 - 2.0 * INSET) * crests;
        let left = border / pitch + unseen;
        let right = (columns as f64 - border) / pitch + unseen;
        let whole = |ends: f64| (ends + 1.0 - LEAST_OF_AN_END).floor();
        let ends = (whole(left) + whole(right)) as usize;
        worth[best].is_finite().then_some(Self {
            first: border - whole(left) * pitch,
            pitch,
            ends,
            hidden: [0, 0],
            numbered: left.fract() < NO_END,
            clear: worth[best],
        })
    }

    /// Columns, from and up to, of the middle of an end: `half` of its breadth at either side.
    pub(super) fn middle(&self, end: usize, half: f64, columns: usize) -> (usize, usize) {
        let (from, to) = self.around(end, half);
        let from = (from.round().max(0.0) as usize).min(columns - 1);
        (
            from,
            (to.round().max(0.0) as usize).clamp(from + 1, columns),
        )
    }

    fn around(&self, end: usize, half: f64) -> (f64, f64) {
        let middle = self.first + (end as f64 + 0.5) * self.pitch;
        (middle - half * self.pitch, middle + half * self.pitch)
    }

    /// Takes away the outermost pieces: those that are `turns`, and those whose middle isn't in view.
    pub(super) fn trim(&mut self, turns: [bool; 2], half: f64, columns: usize) {
        let last = self.ends.saturating_sub(1);
        let hidden = [
            self.around(0, half).0 < -0.5,
            self.around(last, half).1 > columns as f64 + 0.5,
        ];
        let gone = [0, 1].map(|side| usize::from(turns[side] || hidden[side]));
        self.numbered &= !turns[0];
        self.hidden = [0, 1].map(|side| usize::from(hidden[side] && !turns[side]));
        self.first += gone[0] as f64 * self.pitch;
        self.ends = self.ends.saturating_sub(gone[0] + gone[1]);
    }
}

/// How far each column differs from the next, and how strong what differs between rows is.
fn signals(template: &Template) -> (Vec<f64>, Vec<f64>) {
    let columns = template[0].len();
    let rows = template.len() as f64;
    let mean: Vec<[f64; 3]> = (0..columns)
        .map(|j| [0, 1, 2].map(|c| template.iter().map(|row| row[j][c]).sum::<f64>() / rows))
        .collect();
    let left = |row: &[[f64; 3]], j: usize| [0, 1, 2].map(|c| row[j][c] - mean[j][c]);
    let square = |v: [f64; 3]| v.iter().map(|v| v * v).sum::<f64>();
    let mut steps = vec![0.0; columns - 1];
    let mut strength = vec![0.0; columns];
    for row in template {
        for j in 0..columns {
            let here = left(row, j);
            strength[j] += square(here);
            if j + 1 < columns {
                let next = left(row, j + 1);
                steps[j] += square([0, 1, 2].map(|c| next[c] - here[c]));
            }
        }
    }
    let roots = |values: Vec<f64>| values.into_iter().map(f64::sqrt).collect();
    (roots(steps), roots(strength))
}

/// A signal across, over its mean around.
struct Signal {
    values: Vec<f64>,
    /// Column of the first value.
    begins: f64,
    /// What a whole wave would give.
    whole: f64,
}

impl Signal {
    fn new(values: &[f64], begins: f64) -> Self {
        let around = gaussian_smooth(values, AROUND);
        let values: Vec<f64> = values
            .iter()
            .zip(around)
            .map(|(v, a)| v / (a + 1e-9) - 1.0)
            .collect();
        let power: f64 = values.iter().map(|v| v * v).sum();
        let whole = (0.5 * power * values.len() as f64).sqrt().max(1e-9);
        Self {
            values,
            begins,
            whole,
        }
    }

    /// The signal's part in a wave of so many crests over all columns, its phase that at a column.
    fn wave(&self, crests: f64, columns: usize, at: f64) -> Complex<f64> {
        let turn = -TAU * crests / columns as f64;
        let step = Complex::from_polar(1.0, turn);
        let mut way = Complex::from_polar(1.0, turn * (self.begins - at));
        let mut sum = Complex::default();
        for value in &self.values {
            sum += way * value;
            way *= step;
        }
        sum
    }

    /// How much of the signal it holds, 0 to 1.
    fn beat(&self, crests: f64, columns: usize) -> f64 {
        self.wave(crests, columns, 0.0).norm() / self.whole
    }
}

/// Where about a greatest value a parabola through its neighbours has its crest, in steps.
fn vertex(values: &[f64], at: usize) -> f64 {
    let [before, here, after] = [at.wrapping_sub(1), at, at + 1].map(|k| values.get(k));
    let (Some(before), Some(here), Some(after)) = (before, here, after) else {
        return 0.0;
    };
    crest(*before, *here, *after)
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLUMNS: usize = 192;

    /// Plain weave of so many ends over the columns in view, `gap` of each end's breadth without change.
    fn plain(ends: f64, gap: f64) -> Vec<Vec<[f64; 3]>> {
        let sharp = |r: usize, j: usize| {
            let across = (j as f64 + 0.5) / COLUMNS as f64 * ends;
            let noise = ((r * 5 + j * 7) % 11) as f64 * 0.01;
            let between = (across.fract() - 0.5).abs() > 0.5 - 0.5 * gap;
            let weft = between || (across as usize + r).is_multiple_of(2);
            4.0 * f64::from(u8::from(weft)) + noise
        };
        // As a picture shows it: borders are never sharp.
        let column = |r: usize, j: usize| {
            let around = j.saturating_sub(2)..(j + 3).min(COLUMNS);
            let n = around.len() as f64;
            [around.map(|k| sharp(r, k)).sum::<f64>() / n, 0.0, 1.0]
        };
        (0..2)
            .map(|r| (0..COLUMNS).map(|j| column(r, j)).collect())
            .collect()
    }

    #[test]
    fn ends_are_counted_with_and_without_gaps_between_them() {
        for (ends, gap) in [(7.0, 0.0), (11.0, 0.0), (14.0, 0.35), (31.0, 0.0)] {
            let found = Lattice::of(&plain(ends, gap)).unwrap();
            assert!(
                (found.pitch - COLUMNS as f64 / ends).abs() < 0.03 * found.pitch,
                "{ends} {gap}: {found:?}"
            );
            let border = found.first / found.pitch;
            assert!((border - border.round()).abs() < 0.1, "{ends}: {found:?}");
        }
    }

    #[test]
    fn a_turn_at_the_left_is_no_end_and_leaves_the_others_without_numbers() {
        let mut lattice = Lattice::of(&plain(11.0, 0.0)).unwrap();
        let (ends, first) = (lattice.ends, lattice.first);
        lattice.trim([true, false], 0.3, COLUMNS);
        assert_eq!((lattice.ends, lattice.hidden), (ends - 1, [0, 0]));
        assert!(!lattice.numbered && lattice.first > first + 10.0);
    }
}
