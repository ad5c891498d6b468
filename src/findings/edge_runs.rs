//! Where is a selvedge pulled in, or does it stand out?
//!
//! # Method
//! 1. The selvedge pick by pick, its weft turns averaged out.
//! 2. Bumps of several breadths around every pick, each freed of a straight line: a pull may be two picks or
//!    thirty long, and each breadth has its own usual waviness to stand out from.
//! 3. The bump that stands out most is told where it exceeds 2 % of the width, and what the rest of the selvedges
//!    makes likely anywhere along them. A short band shows little of its own waviness: it counts together with what
//!    is usual of hands (1 % of the width).
//! 4. It ends where it has fallen to half. Then the next one, with those before it taken off.
//! 5. The first and the last pick are left out: there the weft turns into the corner, or the cloth ended a little
//!    sooner than it seemed.
//!
//! # Limits
//! A selvedge that wavers throughout has no pulls, however far it wavers: that is its Wq.

use super::chance::stands_out;
use super::edge_bumps::{Bumps, bump};
use super::words;
use crate::beat::PickPlaces;
use crate::measurement::{Finding, FindingKind, Side};
use crate::plan::LengthUnits;
use crate::width::TurnlessEdges;

/// Half widths of the bumps, picks: half as broad again from one to the next.
const HALF_WIDTHS: [f64; 6] = [2.0, 3.0, 4.5, 7.0, 10.5, 16.0];

/// Bumps up to this half width are looked for on every band, broader ones up to [`MOST_SHARE`] of it.
const ALWAYS: f64 = 3.0;

/// Greatest half width, as a share of the band's picks: what is broader is its shape.
const MOST_SHARE: f64 = 0.13;

/// Least half width, mm: what is narrower is a single turn.
const LEAST_HALF_WIDTH_MM: f64 = 1.5;

/// Share of the width that a bump must exceed.
const LEAST_SHARE: f64 = 0.02;

/// Usual waviness of a hand that isn't known yet, rms, as a share of the width: 19 in 20 selvedges
/// of drawn bands without pulls have a Wq below 1.1 % of the width.
const USUAL_SHARE: f64 = 0.01;

/// So many independent values of a selvedge say as much of its waviness as is known beforehand.
const USUAL_WORTH: f64 = 8.0;

/// Looks that an independent value of both selvedges together is worth.
const LOOKS: f64 = 4.0;

/// Within so many half widths of a bump that was taken off nothing is left that could speak of the rest.
const NEAR: f64 = 1.0;

/// So many picks at each end of the body are left out.
const CORNER_PICKS: usize = 1;

/// So many are told at most: a band with more has no straight selvedge to stand out from.
const MOST_FOUND: usize = 8;

/// A bump of one selvedge.
#[derive(Clone, Copy, Debug)]
struct Run {
    /// 0 for the left selvedge, 1 for the right one.
    side: usize,
    /// The pick at its middle, those of the corner not counted.
    top: usize,
    /// Half of its breadth at half its height, picks.
    half_width: f64,
    /// Outward positive, mm.
    height_mm: f64,
    /// Height over the least that would be told.
    stands_out: f64,
}

/// Places at which a selvedge is pulled in or stands out, selvedge by selvedge in their order along
/// the band.
#[must_use]
pub fn edge_runs(
    edges: &TurnlessEdges,
    width_mm: f64,
    places: Option<&PickPlaces>,
    units: LengthUnits,
) -> Vec<Finding> {
    let corners_off = CORNER_PICKS..edges.at_mm.len().saturating_sub(CORNER_PICKS);
    let inner = |row: &[f64]| row.get(corners_off.clone()).unwrap_or(&[]).to_vec();
    let mut sides = [inner(&edges.left_mm), inner(&edges.right_mm)];
    let mut runs: Vec<Run> = Vec::new();
    while runs.len() < MOST_FOUND {
        let next = farthest(&sides, edges.pitch_mm, width_mm, &runs);
        let Some(run) = next.filter(|run| run.stands_out > 1.0) else {
            break;
        };
        sides[run.side] = without(&sides[run.side], run.top, run.half_width, run.height_mm);
        runs.push(run);
    }
    runs.sort_by_key(|run| (run.side, run.top));
    runs.iter()
        .map(|run| finding(*run, edges, places, units))
        .collect()
}

/// A selvedge without a bump.
fn without(row: &[f64], top: usize, half_width: f64, height_mm: f64) -> Vec<f64> {
    let value =
        |(k, value): (usize, &f64)| value - height_mm * bump(k as f64 - top as f64, half_width);
    row.iter().enumerate().map(value).collect()
}

/// The bump that stands out most, of either selvedge and any breadth, away from those already found.
fn farthest(sides: &[Vec<f64>; 2], pitch_mm: f64, width_mm: f64, found: &[Run]) -> Option<Run> {
    let most = ALWAYS.max(MOST_SHARE * sides[0].len() as f64);
    let breadths: Vec<f64> = HALF_WIDTHS
        .into_iter()
        .filter(|half| *half <= most && half * pitch_mm >= LEAST_HALF_WIDTH_MM)
        .collect();
    let scales = (breadths.len() as f64).sqrt();
    let mut best: Option<Run> = None;
    for half_width in breadths {
        let bumps = [0, 1].map(|side: usize| Bumps::new(&sides[side], half_width));
        for side in [0, 1] {
            let free = |at: &usize| {
                found.iter().all(|run| {
                    let off = run.top.abs_diff(*at) as f64;
                    run.side != side || off > run.half_width + half_width
                })
            };
            let sure = |at: usize| bumps[side].sure_height(at).map(|height| (at, height));
            let tops = (0..sides[side].len()).filter(free).filter_map(sure);
            let Some((top, height)) = tops.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else {
                continue;
            };
            let height_mm = height * bumps[side].noise[top];
            let freed = without(&sides[side], top, half_width, height_mm);
            let rest = Rest::new(&Bumps::new(&freed, half_width), Some(top));
            let other = Rest::new(&bumps[1 - side], None);
            let looks = LOOKS * rest.worth * scales;
            let usual = rest.usual(&other, width_mm);
            let chance = stands_out(looks, usual.worth) * usual.square.sqrt();
            let stands_out = height.abs() / chance.max(LEAST_SHARE * width_mm);
            if best.is_none_or(|best| stands_out > best.stands_out) {
                best = Some(Run {
                    side,
                    top,
                    half_width,
                    height_mm,
                    stands_out,
                });
            }
        }
    }
    best
}

/// What one selvedge does besides a bump, at that bump's breadth: mean square (mm²), and how many
/// independent values that is worth.
#[derive(Clone, Copy, Debug)]
struct Rest {
    square: f64,
    worth: f64,
}

impl Rest {
    fn new(bumps: &Bumps, without: Option<usize>) -> Self {
        let far = |at: &usize| {
            without.is_none_or(|top| top.abs_diff(*at) as f64 > NEAR * bumps.half_width)
        };
        let kept: Vec<f64> = (0..bumps.heights.len())
            .filter(far)
            .filter_map(|at| bumps.sure_height(at))
            .collect();
        Self {
            square: kept.iter().map(|v| v * v).sum::<f64>() / kept.len().max(1) as f64,
            worth: kept.len() as f64 / squares_length(&kept),
        }
    }

    /// Judged by its own, or by both selvedges' together (the same hands wove both, and twice
    /// the values make a surer judge) where that is no calmer; and by what is usual of hands.
    fn usual(self, other: &Self, width_mm: f64) -> Self {
        let seen = self.worth + other.worth;
        let both = (self.square * self.worth + other.square * other.worth) / seen.max(1.0);
        let hands = (USUAL_SHARE * width_mm).powi(2);
        let worth = seen + USUAL_WORTH;
        Self {
            square: (both.max(self.square) * seen + hands * USUAL_WORTH) / worth,
            worth,
        }
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

fn finding(
    run: Run,
    edges: &TurnlessEdges,
    places: Option<&PickPlaces>,
    units: LengthUnits,
) -> Finding {
    let at_mm = edges.at_mm[CORNER_PICKS + run.top];
    let reach = run.half_width * edges.pitch_mm;
    let (from_mm, to_mm) = ((at_mm - reach).max(0.0), at_mm + reach);
    let to_mm = places.map_or(to_mm, |places| to_mm.min(places.length_mm.value));
    let numbers = places.and_then(|p| words::picks_within(p, from_mm, to_mm));
    let pulled = run.height_mm < 0.0;
    let side = [Side::Left, Side::Right][run.side];
    let finding = Finding {
        kind: if pulled {
            FindingKind::EdgePull
        } else {
            FindingKind::EdgeLoop
        },
        side: Some(side),
        from_mm,
        to_mm,
        size: run.height_mm.abs(),
        unit: "mm".into(),
        pick: numbers.map(|(first, _)| first),
        ends: None,
        across_mm: None,
        text: String::new(),
    };
    let which = numbers.map_or_else(String::new, |(a, b)| format!(" ({})", words::picks(a, b)));
    let seen = format!(
        "the {} selvedge {} by {:.1} mm around {}{which}",
        words::side(side),
        if pulled { "is pulled in" } else { "stands out" },
        run.height_mm.abs(),
        words::place(at_mm, units),
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

    fn turnless(edges: &BodyEdges, places: Option<&PickPlaces>) -> TurnlessEdges {
        let centres = places.map(|places| places.centres_mm.as_slice());
        TurnlessEdges::new(edges, centres, 2.8).expect("a body")
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
            let found = edge_runs(
                &turnless(&edges, Some(&places)),
                36.0,
                Some(&places),
                LengthUnits::Centimetres,
            );
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
            (18.0, if at > 147.0 { 11.0 } else { 18.0 })
        });
        let places = even_places(53, 2.8);
        let found =
            |places| edge_runs(&turnless(&edges, places), 36.0, places, LengthUnits::Inches).len();
        assert_eq!((found(None), found(Some(&places))), (0, 0));
    }

    #[test]
    fn the_usual_wavering_is_no_finding() {
        let wrong: usize = (0..300)
            .map(|seed| {
                let edges = wavy(500 + seed, 0.0);
                edge_runs(&turnless(&edges, None), 36.0, None, LengthUnits::Inches).len()
            })
            .sum();
        assert!(wrong <= 2, "{wrong} of 300");
    }
}
