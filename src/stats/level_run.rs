//! Over which run do the values of a row lie higher, or lower, than all the others?
//!
//! # Method
//! 1. The row is a straight line, plus a step up or down over one run, plus scatter in which each value takes
//!    after the one before it (a first-order autoregression; Cochrane & Orcutt, *J. Am. Stat. Assoc.* 44, 1949).
//! 2. Of all runs of a length that is allowed the one whose step leaves the least sum of squares, line and step
//!    fitted together; by sums of the whitened row, so that a run costs a few multiplications.
//! 3. How alike neighbours are is read from what that run leaves over, drawn to a usual value where few values
//!    speak, and the search is run again with it.
//!
//! # Limits
//! Two runs of the same kind hide one another where neither is told without the other.

use std::ops::{Range, RangeInclusive};

/// How alike neighbours usually are: the first look takes it for granted.
const USUAL_LIKENESS: f64 = 0.3;

/// So many values of a row say as much of the likeness as is known beforehand.
const USUAL_WORTH: f64 = 25.0;

/// Greatest likeness of neighbours.
const MOST_ALIKE: f64 = 0.9;

/// Values farther than so many robust standard deviations from nought count as that far.
const CLIP_SDS: f64 = 2.5;

/// Looks at the likeness of neighbours before the run is taken.
const LOOKS: usize = 3;

/// A run of a row that lies higher or lower than the line through the others.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LevelRun {
    /// Its values.
    pub(crate) run: Range<usize>,
    /// How much higher they lie, in the row's own unit.
    pub(crate) step: f64,
    /// The step in its own standard deviations.
    pub(crate) t: f64,
    /// Degrees of freedom of `t`.
    pub(crate) freedom: f64,
}

/// The run that stands out most, apart from those that are `known` already; `None` where the row is too
/// short for one.
pub(crate) fn level_run(
    row: &[f64],
    known: &[Range<usize>],
    lengths: RangeInclusive<usize>,
) -> Option<LevelRun> {
    let mut alike = USUAL_LIKENESS;
    for _ in 1..LOOKS {
        let (_, left) = search(row, known, lengths.clone(), alike)?;
        alike = likeness(&left);
    }
    search(row, known, lengths, alike).map(|(found, _)| found)
}

/// How alike neighbours are, from what is left over of a row.
fn likeness(left: &[f64]) -> f64 {
    let count = left.len() as f64;
    let most = CLIP_SDS * super::robust_sd(left).unwrap_or(0.0);
    let clipped: Vec<f64> = left.iter().map(|v| v.clamp(-most, most)).collect();
    let own: f64 = clipped.iter().map(|v| v * v).sum();
    let next: f64 = clipped.windows(2).map(|pair| pair[0] * pair[1]).sum();
    if own <= 0.0 {
        return USUAL_LIKENESS;
    }
    // A mean that was taken out makes neighbours look less alike (Kendall, *Biometrika* 41, 1954, from memory).
    let seen = (next / own).clamp(-USUAL_LIKENESS, MOST_ALIKE);
    let seen = seen + (1.0 + 3.0 * seen) / count;
    ((count * seen + USUAL_WORTH * USUAL_LIKENESS) / (count + USUAL_WORTH)).clamp(0.0, MOST_ALIKE)
}

/// A row freed of what each value takes over from the one before it.
struct Whitening {
    alike: f64,
    /// What the first value, which has none before it, is multiplied by.
    first: f64,
}

impl Whitening {
    fn new(alike: f64) -> Self {
        Self {
            alike,
            first: (1.0 - alike * alike).sqrt(),
        }
    }

    fn whitened(&self, row: &[f64]) -> Vec<f64> {
        let first = row.first().map(|v| v * self.first);
        let others = row.windows(2).map(|pair| pair[1] - self.alike * pair[0]);
        first.into_iter().chain(others).collect()
    }

    fn coloured(&self, row: &[f64]) -> Vec<f64> {
        let mut before = 0.0;
        let values = row.iter().enumerate().map(|(k, v)| {
            before = match k {
                0 => v / self.first,
                _ => v + self.alike * before,
            };
            before
        });
        values.collect()
    }

    /// Products of a whitened row with every whitened step.
    fn of<'a>(&'a self, row: &'a [f64]) -> WithSteps<'a> {
        let mut sums = vec![0.0];
        let mut sum = 0.0;
        sums.extend(row.iter().map(|v| {
            sum += v;
            sum
        }));
        WithSteps {
            row,
            sums,
            whitening: self,
        }
    }

    /// Square of a whitened step of the run.
    fn square(&self, run: &Range<usize>, count: usize) -> f64 {
        let rise = if run.start == 0 { self.first } else { 1.0 };
        let fall = if run.end < count { self.alike } else { 0.0 };
        let inside = (1.0 - self.alike).powi(2) * (run.len() - 1) as f64;
        rise * rise + inside + fall * fall
    }
}

/// A whitened row, its sums ready.
struct WithSteps<'a> {
    row: &'a [f64],
    sums: Vec<f64>,
    whitening: &'a Whitening,
}

impl WithSteps<'_> {
    fn times(&self, run: &Range<usize>) -> f64 {
        let Whitening { alike, first } = *self.whitening;
        let rise = if run.start == 0 { first } else { 1.0 };
        let fall = self.row.get(run.end).map_or(0.0, |v| alike * v);
        let inside = self.sums[run.end] - self.sums[run.start + 1];
        rise * self.row[run.start] + (1.0 - alike) * inside - fall
    }
}

/// The run with the greatest `t` for a given likeness of neighbours, and what line and run leave over.
fn search(
    row: &[f64],
    known: &[Range<usize>],
    lengths: RangeInclusive<usize>,
    alike: f64,
) -> Option<(LevelRun, Vec<f64>)> {
    let count = row.len();
    let whitening = Whitening::new(alike);
    let middle = (count as f64 - 1.0) / 2.0;
    let mut basis = Basis::default();
    basis.add(whitening.whitened(&vec![1.0; count]));
    basis.add(whitening.whitened(&(0..count).map(|k| k as f64 - middle).collect::<Vec<_>>()));
    for run in known {
        basis.add(whitening.whitened(&step(run, count)));
    }
    let freedom = count.checked_sub(basis.rows.len() + 1).filter(|f| *f > 0)? as f64;
    let left = basis.without(whitening.whitened(row));
    let whole: f64 = left.iter().map(|v| v * v).sum();
    let products = whitening.of(&left);
    let bases: Vec<WithSteps<'_>> = basis.rows.iter().map(|b| whitening.of(b)).collect();
    let mut best: Option<(f64, f64, Range<usize>)> = None;
    for start in 0..count {
        for length in lengths.clone().take_while(|length| start + length <= count) {
            let run = start..start + length;
            if known.iter().any(|k| run.start < k.end && k.start < run.end) {
                break;
            }
            let shared: f64 = bases.iter().map(|b| b.times(&run).powi(2)).sum();
            let own = whitening.square(&run, count) - shared;
            let product = products.times(&run);
            // A step that line and known runs all but explain says nothing.
            if own > 1e-6 && best.as_ref().is_none_or(|b| product * product / own > b.0) {
                best = Some((product * product / own, product / own, run));
            }
        }
    }
    let (gain, step_size, run) = best?;
    let scatter = ((whole - gain).max(0.0) / freedom).sqrt();
    basis.add(whitening.whitened(&step(&run, count)));
    let left = basis.without(left);
    let found = LevelRun {
        run,
        step: step_size,
        t: gain.sqrt().copysign(step_size) / scatter,
        freedom,
    };
    Some((found, whitening.coloured(&left)))
}

/// 1 over a run, 0 elsewhere.
fn step(run: &Range<usize>, count: usize) -> Vec<f64> {
    (0..count)
        .map(|k| f64::from(u8::from(run.contains(&k))))
        .collect()
}

/// Rows at right angles to one another, each of length 1.
#[derive(Default)]
struct Basis {
    rows: Vec<Vec<f64>>,
}

impl Basis {
    /// What is left of a row without its shares in the basis.
    fn without(&self, mut row: Vec<f64>) -> Vec<f64> {
        for base in &self.rows {
            let share: f64 = base.iter().zip(&row).map(|(b, v)| b * v).sum();
            row.iter_mut().zip(base).for_each(|(v, b)| *v -= share * b);
        }
        row
    }

    fn add(&mut self, row: Vec<f64>) {
        let mut row = self.without(row);
        let length = row.iter().map(|v| v * v).sum::<f64>().sqrt();
        if length > 1e-9 {
            row.iter_mut().for_each(|v| *v /= length);
            self.rows.push(row);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::Normal;

    /// A row whose neighbours are alike by `alike`, of unit scatter.
    fn row(count: usize, alike: f64, seed: u64) -> Vec<f64> {
        let mut normal = Normal::new(seed);
        let mut before = normal.draw();
        let values = (0..count).map(|_| {
            let now = before;
            before = alike * before + (1.0 - alike * alike).sqrt() * normal.draw();
            now
        });
        values.collect()
    }

    #[test]
    fn a_step_of_three_deviations_is_found_where_it_is() {
        for seed in 0..30 {
            let mut row = row(60, 0.2, seed);
            row[20..29].iter_mut().for_each(|v| *v += 4.0);
            row.iter_mut()
                .enumerate()
                .for_each(|(k, v)| *v += 0.05 * k as f64);
            let found = level_run(&row, &[], 4..=30).expect("60 values");
            assert!(found.run.start.abs_diff(20) <= 2 && found.run.end.abs_diff(29) <= 2);
            assert!((found.step - 4.0).abs() < 1.6 && found.t > 5.0, "{found:?}");
        }
    }

    #[test]
    fn t_is_that_of_a_plain_least_squares_fit() {
        // Without likeness: y = a + b x + c step by the normal equations, worked with numpy.linalg.lstsq.
        let row = [
            0.3, -0.2, 0.1, 0.0, 2.1, 1.8, 2.3, 1.9, 0.2, -0.1, 0.4, -0.3,
        ];
        let (found, left) = search(&row, &[], 4..=4, 0.0).expect("a run");
        assert_eq!(found.run, 4..8);
        assert!((found.step - 1.975).abs() < 1e-9, "{found:?}");
        assert!((found.t - 12.901_247).abs() < 1e-6, "{found:?}");
        assert!(left.iter().sum::<f64>().abs() < 1e-9);
    }

    #[test]
    fn a_known_run_makes_way_for_the_next() {
        let mut row = row(80, 0.0, 5);
        row[10..20].iter_mut().for_each(|v| *v += 6.0);
        row[50..60].iter_mut().for_each(|v| *v -= 5.0);
        let first = level_run(&row, &[], 4..=40).expect("80 values").run;
        let second = level_run(&row, std::slice::from_ref(&first), 4..=40).expect("80 values");
        assert!(first.start.abs_diff(10) <= 1 && second.run.start.abs_diff(50) <= 1);
        assert!(second.step < -3.0 && second.t < -5.0, "{second:?}");
    }

    #[test]
    fn rows_too_short_for_a_run_have_none() {
        assert_eq!(level_run(&[1.0, 2.0, 1.0], &[], 4..=8), None);
        assert_eq!(level_run(&[], &[], 4..=8), None);
    }
}
