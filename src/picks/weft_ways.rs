//! Which phase of the repeat does a sample of one column show, between the wefts that lie on top there?
//!
//! In one column a weft is seen where it passes over; under the warp it isn't, and the warp that hides it reaches
//! from the weft before to the weft after, wherever the hidden one lies. So in each column only the wefts on top
//! hold the repeat, and it runs from one of them to the next, over as many picks as lie between. Next to a weft
//! the repeat isn't stretched, for a yarn is as thick where the beat is loose; what the gap is longer or shorter than
//! usual lies in the middle of it.

use super::place::Fitted;

/// Picks on either side whose gaps say what is usual.
const AROUND: usize = 3;

/// A gap is taken to be no shorter and no longer than so many times the usual one: beyond, the repeat would run
/// backwards in it.
const GAPS: (f64, f64) = (0.25, 1.9);

/// Fewest wefts on top for a column to say anything.
const LEAST_ON_TOP: usize = 3;

/// Where a sample lies in the repeat, in picks, and by how much that changes with each of the two wefts' places.
#[derive(Clone, Copy, Debug)]
pub(super) struct At {
    pub(super) phase: f64,
    /// Index of the weft and derivative of the phase; both the same weft at the ends.
    pub(super) by: [(usize, f64); 2],
}

/// The lines along which the wefts lie.
pub(super) struct Wefts<'a> {
    /// Middle of each pick, fractional samples.
    pub(super) middles: &'a [f64],
    /// Phase of each pick's middle within the repeat, picks.
    phases: &'a [f64],
    /// Each pick's tilt.
    fitted: &'a [Fitted],
    /// Usual length of the gap after each pick but the last, samples.
    usual: Vec<f64>,
    /// First and last sample of the body.
    bounds: (usize, usize),
}

impl<'a> Wefts<'a> {
    /// At least two picks.
    pub(super) fn new(
        middles: &'a [f64],
        (phases, fitted): (&'a [f64], &'a [Fitted]),
        bounds: (usize, usize),
    ) -> Self {
        let last = middles.len() - 1;
        let usual = (0..last).map(|n| {
            let (a, b) = (n.saturating_sub(AROUND), (n + AROUND + 1).min(last));
            (middles[b] - middles[a]) / (b - a) as f64
        });
        Self {
            usual: usual.collect(),
            middles,
            phases,
            fitted,
            bounds,
        }
    }

    /// The usual gap about a pick, samples.
    pub(super) fn usual(&self, n: usize) -> f64 {
        self.usual[n.min(self.usual.len() - 1)]
    }

    /// Goes through the samples of a column at the place `across`, −1 to 1, whose wefts on top are `on_top`.
    pub(super) fn walk(&self, on_top: &[usize], across: f64, mut each: impl FnMut(usize, At)) {
        if on_top.len() < LEAST_ON_TOP {
            return;
        }
        let place = |n: usize| self.middles[n] + self.fitted[n].tilt * across;
        for (n, ahead) in [(on_top[0], -1.0), (on_top[on_top.len() - 1], 1.0)] {
            let (middle, half) = (place(n), 0.5 * self.usual(n));
            let way = Way::between(self.usual(n), 1.0, self.usual(n));
            let range = if ahead < 0.0 {
                self.samples(middle - half, middle)
            } else {
                self.samples(middle, middle + half)
            };
            for i in range {
                let gone = way.gone((i as f64 - middle).abs());
                let phase = self.phases[n] + ahead * gone.phase;
                let by = [(n, -gone.by_distance), (n, 0.0)];
                each(i, At { phase, by });
            }
        }
        for pair in on_top.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let (from, to) = (place(a), place(b));
            let picks = (b - a) as f64;
            let usual = self.usual[a..b].iter().sum::<f64>() / picks;
            let way = Way::between(to - from, picks, usual);
            let border = 0.5 * (from + to);
            for i in self.samples(from, border) {
                let gone = way.gone(i as f64 - from);
                let phase = self.phases[a] + gone.phase;
                let by = [(a, -gone.by_distance - gone.by_gap), (b, gone.by_gap)];
                each(i, At { phase, by });
            }
            for i in self.samples(border, to) {
                let gone = way.gone(to - i as f64);
                let phase = self.phases[b] - gone.phase;
                let by = [(b, -gone.by_distance - gone.by_gap), (a, gone.by_gap)];
                each(i, At { phase, by });
            }
        }
    }

    /// Samples of the body from one place up to another, that one left out.
    fn samples(&self, from: f64, to: f64) -> std::ops::Range<usize> {
        let whole = |at: f64| at.ceil().max(0.0) as usize;
        whole(from).max(self.bounds.0)..whole(to).min(self.bounds.1 + 1)
    }
}

/// How the phase goes on from a weft to the middle of the gap: a parabola that leaves the weft at the usual pace.
#[derive(Clone, Copy, Debug)]
struct Way {
    gap: f64,
    picks: f64,
    pace: f64,
    bend: f64,
}

/// The phase gone, and its derivatives by the distance from the weft and by the gap.
struct Gone {
    phase: f64,
    by_distance: f64,
    by_gap: f64,
}

impl Way {
    /// Across a gap, in samples, of so many picks that are usually `usual` long.
    fn between(gap: f64, picks: f64, usual: f64) -> Self {
        let gap = gap.clamp(GAPS.0 * usual * picks, GAPS.1 * usual * picks);
        let pace = 1.0 / usual;
        Self {
            gap,
            picks,
            pace,
            // Half the picks are gone at half the gap.
            bend: 2.0 * (picks - pace * gap) / (gap * gap),
        }
    }

    fn gone(self, distance: f64) -> Gone {
        let bend_by_gap = 2.0 * (self.pace * self.gap - 2.0 * self.picks) / self.gap.powi(3);
        Gone {
            phase: (self.pace + self.bend * distance) * distance,
            by_distance: self.pace + 2.0 * self.bend * distance,
            by_gap: bend_by_gap * distance * distance,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_the_picks_are_gone_at_half_the_gap_and_derivatives_are_slopes() {
        for (gap, picks) in [(14.0, 1.0), (10.0, 1.0), (35.0, 2.0)] {
            let way = Way::between(gap, picks, 14.0);
            assert!((way.gone(0.5 * gap).phase - 0.5 * picks).abs() < 1e-12);
            assert!((way.gone(0.0).by_distance - 1.0 / 14.0).abs() < 1e-12);
            let (d, h) = (0.3 * gap, 1e-5);
            let slope = (way.gone(d + h).phase - way.gone(d - h).phase) / (2.0 * h);
            assert!((way.gone(d).by_distance - slope).abs() < 1e-8);
            let wider = Way::between(gap + h, picks, 14.0).gone(d).phase;
            let narrower = Way::between(gap - h, picks, 14.0).gone(d).phase;
            let slope = (wider - narrower) / (2.0 * h);
            assert!((way.gone(d).by_gap - slope).abs() < 1e-8);
        }
    }

    #[test]
    fn where_a_weft_is_hidden_only_those_beside_it_move_the_repeat() {
        let middles = [10.0, 24.0, 40.0, 52.0, 66.0, 80.0];
        let phases = [0.5, 1.5, 0.5, 1.5, 0.5, 1.5];
        let fitted = [Fitted::default(); 6];
        let wefts = Wefts::new(&middles, (&phases, &fitted), (0, 90));
        let mut seen = [false; 91];
        wefts.walk(&[0, 2, 4], 0.0, |i, at| {
            seen[i] = true;
            assert!(at.by.iter().all(|(n, _)| n % 2 == 0));
            if i == 25 {
                // Half way from the first to the third.
                assert!((at.phase.rem_euclid(2.0) - 1.5).abs() < 1e-9, "{at:?}");
            }
        });
        assert!(seen[10..66].iter().all(|s| *s) && !seen[80]);
    }
}
