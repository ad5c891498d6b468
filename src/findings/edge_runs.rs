//! Where is a selvedge pulled in, or does it stand out?
//!
//! # Method
//! 1. The selvedge between the two cut-offs of its waviness: no weft turns, no lie of the band.
//! 2. A run begins where it lies beyond 3 robust standard deviations, beyond 2 % of the width, and
//!    beyond what the rest of that selvedge's waviness makes likely anywhere along the band.
//!    Near the ends of the body, where the filter is less sure, the limits widen with its noise.
//! 3. It ends where it has fallen to half.
//! 4. One whose farthest place lies by the first or the last pick isn't told: there the weft turns into the
//!    corner, or the cloth ended a little sooner than it seemed.

use super::chance::{EDGE_FALSE_SHARE, stands_out};
use super::words;
use crate::beat::PickPlaces;
use crate::measurement::{Finding, FindingKind};
use crate::plan::LengthUnits;
use crate::stats::robust_sd;
use crate::width::Waviness;

/// Robust standard deviations that a run must exceed.
const LEAST_SDS: f64 = 3.0;

/// Share of the width that a run must exceed.
const LEAST_SHARE: f64 = 0.02;

/// So many picks from an end of the body nothing is told.
const CORNER_PICKS: f64 = 1.0;

/// A run of one selvedge: its first and last sample, and its farthest one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Run {
    from: usize,
    to: usize,
    top: usize,
}

/// What one selvedge does away from its runs: mean square (mm²), and how many independent values
/// that is worth.
#[derive(Clone, Copy, Debug)]
struct Rest {
    square: f64,
    worth: f64,
}

/// Places at which a selvedge is pulled in or stands out, selvedge by selvedge in their order along
/// the band.
#[must_use]
pub fn edge_runs(
    selvedges: &[Waviness],
    width_mm: f64,
    places: Option<&PickPlaces>,
    units: LengthUnits,
) -> Vec<Finding> {
    let all: Vec<(Vec<Run>, Rest)> = selvedges
        .iter()
        .map(|waviness| {
            let runs = candidates(waviness, width_mm);
            let rest = rest(waviness, &runs);
            (runs, rest)
        })
        .collect();
    let worth: f64 = all.iter().map(|(_, rest)| rest.worth).sum();
    let square: f64 = all.iter().map(|(_, rest)| rest.square * rest.worth).sum();
    let pooled = Rest {
        square: square / worth.max(1.0),
        worth,
    };
    let mut found = Vec::new();
    for (waviness, (mut runs, rest)) in selvedges.iter().zip(all) {
        let chance = chance(waviness, rest, pooled);
        runs.retain(|run| waviness.waves_mm[run.top].abs() > chance * waviness.end_noise[run.top]);
        runs.retain(|run| !in_a_corner(waviness.at_mm(run.top), places));
        runs.sort_unstable();
        found.extend(
            runs.iter()
                .map(|run| finding(waviness, *run, places, units)),
        );
    }
    found
}

/// Whether a place lies by the first or the last pick.
fn in_a_corner(at_mm: f64, places: Option<&PickPlaces>) -> bool {
    places.is_some_and(|places| {
        let corner = CORNER_PICKS * places.pitch_mm().unwrap_or(0.0);
        at_mm < corner || at_mm > places.length_mm.value - corner
    })
}

/// Runs beyond the fixed limits, the farthest first.
fn candidates(waviness: &Waviness, width_mm: f64) -> Vec<Run> {
    let waves = &waviness.waves_mm;
    let sd = robust_sd(waves).unwrap_or(f64::INFINITY);
    let least = (LEAST_SDS * sd).max(LEAST_SHARE * width_mm);
    let mut order: Vec<usize> = (0..waves.len())
        .filter(|k| waves[*k].abs() > least)
        .collect();
    order.sort_by(|a, b| waves[*b].abs().total_cmp(&waves[*a].abs()));
    let mut runs: Vec<Run> = Vec::new();
    for top in order {
        if runs.iter().all(|run| !(run.from..=run.to).contains(&top)) {
            let (from, to) = half_run(waves, top);
            runs.push(Run { from, to, top });
        }
    }
    runs
}

/// First and last sample around `top` that hold half of its height.
fn half_run(waves: &[f64], top: usize) -> (usize, usize) {
    let half = 0.5 * waves[top].abs();
    let holds = |k: &usize| waves[*k] * waves[top].signum() >= half;
    let from = (0..=top).rev().take_while(holds).last().unwrap_or(top);
    let to = (top..waves.len()).take_while(holds).last().unwrap_or(top);
    (from, to)
}

/// The selvedge away from its runs.
fn rest(waviness: &Waviness, runs: &[Run]) -> Rest {
    // The filter spreads a run's flanks over about this length.
    let reach = waviness.correlation_mm / waviness.step_mm;
    let near = |k: usize| {
        runs.iter()
            .any(|run| k as f64 >= run.from as f64 - reach && k as f64 <= run.to as f64 + reach)
    };
    let waves = &waviness.waves_mm;
    let kept: Vec<f64> = (0..waves.len())
        .filter(|k| !near(*k))
        .map(|k| waves[k])
        .collect();
    let square = kept.iter().map(|w| w * w).sum::<f64>() / kept.len().max(1) as f64;
    Rest {
        square,
        worth: kept.len() as f64 / squares_length(&kept),
    }
}

/// Over how many samples the squares of a row hang together: the sum of its squared
/// autocorrelation, both ways, up to where that first vanishes.
fn squares_length(values: &[f64]) -> f64 {
    let whole: f64 = values.iter().map(|v| v * v).sum();
    let share = |lag: usize| {
        let pairs = values.iter().zip(&values[lag..]);
        pairs.map(|(a, b)| a * b).sum::<f64>() / whole
    };
    if whole <= 0.0 {
        return 1.0;
    }
    let falls = (1..values.len()).map(share).take_while(|r| *r > 0.0);
    1.0 + 2.0 * falls.map(|r| r * r).sum::<f64>()
}

/// How far a selvedge's usual waviness reaches by chance anywhere along the band, mm.
///
/// Judged by its own rest, or by both selvedges' together (the same hands wove both, and twice
/// the values make a surer judge) where that is no calmer than its own.
fn chance(waviness: &Waviness, own: Rest, pooled: Rest) -> f64 {
    // Two selvedges share the false findings that are allowed.
    let places = 2.0 * waviness.independent();
    let reach =
        |rest: Rest, square: f64| stands_out(EDGE_FALSE_SHARE, places, rest.worth) * square.sqrt();
    reach(own, own.square).min(reach(pooled, pooled.square.max(own.square)))
}

fn finding(
    waviness: &Waviness,
    run: Run,
    places: Option<&PickPlaces>,
    units: LengthUnits,
) -> Finding {
    let (from_mm, to_mm) = (waviness.at_mm(run.from), waviness.at_mm(run.to));
    let height = waviness.waves_mm[run.top];
    let numbers = places.and_then(|p| words::picks_within(p, from_mm, to_mm));
    let pulled = height < 0.0;
    let finding = Finding {
        kind: if pulled {
            FindingKind::EdgePull
        } else {
            FindingKind::EdgeLoop
        },
        side: Some(waviness.side),
        from_mm,
        to_mm,
        size: height.abs(),
        unit: "mm".into(),
        pick: numbers.map(|(first, _)| first),
        ends: None,
        across_mm: None,
        text: String::new(),
    };
    let which = numbers.map_or_else(String::new, |(a, b)| format!(" ({})", words::picks(a, b)));
    let seen = format!(
        "the {} selvedge {} by {:.1} mm around {}{which}",
        words::side(waviness.side),
        if pulled { "is pulled in" } else { "stands out" },
        height.abs(),
        words::place(waviness.at_mm(run.top), units),
    );
    words::finish(finding, &seen)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beat::testing::even_places;
    use crate::measurement::Side;
    use crate::stats::gaussian_low_pass;
    use crate::stats::testing::Normal;
    use crate::width::BodyEdges;
    use crate::width::testing::edges_of;

    fn both(edges: &BodyEdges) -> Vec<Waviness> {
        let side = |side| Waviness::new(edges, side, 2.8).expect("a body");
        vec![side(Side::Left), side(Side::Right)]
    }

    /// Selvedges that waver by about 0.25 mm over some 12 mm.
    fn wavy(seed: u64, pull_mm: f64) -> BodyEdges {
        let mut normal = Normal::new(seed);
        let mut edges = edges_of(3000, 0.05, |at| {
            (
                18.0,
                18.0 - pull_mm * (-0.5 * ((at - 100.0) / 5.0).powi(2)).exp(),
            )
        });
        for side in [&mut edges.left_mm, &mut edges.right_mm] {
            let rough: Vec<f64> = (0..3000).map(|_| normal.draw()).collect();
            let slow = gaussian_low_pass(&rough, 240.0);
            let rms = (slow.iter().map(|v| v * v).sum::<f64>() / 3000.0).sqrt();
            side.iter_mut()
                .zip(&slow)
                .for_each(|(v, s)| *v += 0.3 * s / rms);
        }
        edges
    }

    #[test]
    fn a_pulled_selvedge_is_found_where_it_is() {
        let mut hits = 0;
        for seed in 0..40 {
            let edges = wavy(seed, 3.0);
            let places = even_places(53, 2.8);
            let found = edge_runs(&both(&edges), 36.0, Some(&places), LengthUnits::Centimetres);
            hits += u32::from(found.iter().any(|one| {
                one.kind == FindingKind::EdgePull
                    && one.side == Some(Side::Right)
                    && one.from_mm < 102.0
                    && one.to_mm > 98.0
            }));
        }
        assert!(hits >= 36, "{hits} of 40");
    }

    #[test]
    fn a_corner_of_the_body_is_no_pulled_in_selvedge() {
        let edges = edges_of(2968, 0.05, |at| {
            (18.0, if at > 147.4 { 15.0 } else { 18.0 })
        });
        let places = even_places(53, 2.8);
        let found = |places| edge_runs(&both(&edges), 36.0, places, LengthUnits::Inches).len();
        assert_eq!((found(None), found(Some(&places))), (1, 0));
    }

    #[test]
    fn the_usual_wavering_is_no_finding() {
        let wrong: usize = (0..300)
            .map(|seed| {
                let edges = wavy(500 + seed, 0.0);
                edge_runs(&both(&edges), 36.0, None, LengthUnits::Inches).len()
            })
            .sum();
        assert!(wrong <= 2, "{wrong} of 300");
    }
}
