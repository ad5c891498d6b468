//! Is the weaver getting better?
//!
//! # Method
//! A straight line through each criterion against the samples' order (plain least squares); the
//! change is the line's rise from the first sample to the last. Its doubt is the larger of two: what
//! the bands' own scatter about the line leaves (Student's factor, n − 2), and what the doubt of
//! measuring leaves. Two bands have no scatter about their line: only measuring counts.
//!
//! # Limits
//! A jump between two lessons and a slow gain read the same.

use super::comparison::{Progress, Trend};
use super::criterion::Criterion;
use super::sample::SampleFigures;
use crate::measurement::Quantity;
use crate::stats::coverage_factor;

/// The progress in every criterion that at least two samples show.
pub(super) fn progress(samples: &[SampleFigures]) -> Vec<Progress> {
    Criterion::ALL
        .into_iter()
        .filter_map(|by| {
            let points: Vec<(f64, Quantity)> = samples
                .iter()
                .enumerate()
                .filter_map(|(at, sample)| Some((at as f64, by.of(sample)?)))
                .collect();
            line(by, &points)
        })
        .collect()
}

fn line(by: Criterion, points: &[(f64, Quantity)]) -> Option<Progress> {
    let (first, last) = (points.first()?.0, points.last()?.0);
    if points.len() < 2 {
        return None;
    }
    let n = points.len() as f64;
    let middle = points.iter().map(|(at, _)| at).sum::<f64>() / n;
    let mean = points.iter().map(|(_, q)| q.value).sum::<f64>() / n;
    let spread: f64 = points.iter().map(|(at, _)| (at - middle).powi(2)).sum();
    let slope = points
        .iter()
        .map(|(at, q)| (at - middle) * (q.value - mean))
        .sum::<f64>()
        / spread;
    let on_line = |at: f64| mean + slope * (at - middle);
    let length = last - first;
    let measuring = points
        .iter()
        .map(|(at, q)| ((at - middle) / spread * q.u95).powi(2))
        .sum::<f64>()
        .sqrt();
    let scatter = if points.len() < 3 {
        0.0
    } else {
        let squares: f64 = points
            .iter()
            .map(|(at, q)| (q.value - on_line(*at)).powi(2))
            .sum();
        coverage_factor(points.len() - 2) * (squares / (n - 2.0) / spread).sqrt()
    };
    let change = Quantity {
        value: slope * length,
        u95: (length * measuring.max(scatter)).max(1e-9),
    };
    Some(Progress {
        by,
        first: on_line(first),
        last: on_line(last),
        trend: if change.value.abs() <= change.u95 {
            Trend::CannotTell
        } else if change.value < 0.0 {
            Trend::Better
        } else {
            Trend::Worse
        },
        change,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(values: &[f64]) -> Vec<(f64, Quantity)> {
        values
            .iter()
            .enumerate()
            .map(|(at, &value)| (at as f64, Quantity { value, u95: 0.1 }))
            .collect()
    }

    #[test]
    fn a_steady_gain_is_better_and_a_jumble_cannot_be_told() {
        let gain = line(Criterion::Beat, &points(&[9.0, 8.1, 7.0, 6.1, 5.0])).unwrap();
        assert_eq!(gain.trend, Trend::Better);
        assert!((gain.change.value + 4.0).abs() < 0.1);
        let jumble = line(Criterion::Beat, &points(&[9.0, 5.0, 8.0, 6.0, 7.0])).unwrap();
        assert_eq!(jumble.trend, Trend::CannotTell);
    }

    #[test]
    fn two_bands_have_only_the_doubt_of_measuring() {
        let two = line(Criterion::Beat, &points(&[5.0, 6.0])).unwrap();
        assert!((two.change.u95 - 0.1 * 2.0_f64.sqrt()).abs() < 1e-9);
        assert_eq!(two.trend, Trend::Worse);
        assert_eq!(line(Criterion::Beat, &points(&[5.0])), None);
    }

    #[test]
    fn a_weaver_who_does_not_change_is_seldom_told_that_she_did() {
        let mut state: u64 = 3;
        let mut told = 0;
        for _ in 0..1000 {
            let values: Vec<f64> = (0..6)
                .map(|_| {
                    (0..12)
                        .map(|_| {
                            state = state
                                .wrapping_mul(6_364_136_223_846_793_005)
                                .wrapping_add(1_442_695_040_888_963_407);
                            (state >> 11) as f64 / (1u64 << 53) as f64
                        })
                        .sum::<f64>()
                })
                .collect();
            let progress = line(Criterion::Beat, &points(&values)).unwrap();
            told += usize::from(progress.trend != Trend::CannotTell);
        }
        assert!((25..=80).contains(&told), "{told} of 1000");
    }
}
