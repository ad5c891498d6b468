//! Which of the places where a pick could lie hold a pick of the body?
//!
//! The followed repeat goes on into header, fringe and ground, for a path has no end of its own.
//! Two things say where the body ends: where the cloth was seen to end (or a header to begin), and
//! whether each place looks like the picks of the middle.
//!
//! # Method
//! 1. Each place has a log-likelihood ratio of holding a pick (`likeness`).
//! 2. For every first and last place: the sum of the ratios between them, and how well the outer edges
//!    of the outermost picks agree with the ends as they were seen. What was seen may be off by its
//!    doubt, all middles by a common share of a spacing; how far a pick reaches beyond its middle
//!    isn't known either (weft between close warp ends is thin against its spacing, weft that hides
//!    the warp bulges over its neighbours), but it is the same at both ends. And now and then the seen
//!    end is plainly wrong (fringe like cloth), which is why disagreeing costs a bounded amount.
//! 3. The best pair is taken; how much worse the best pair with *another count* is says how sure
//!    the count is.

use std::f64::consts::TAU;

use rayon::prelude::*;

/// How often a seen end is plainly wrong.
const WRONG_END: f64 = 0.1;

/// How often a seen end is a near miss, and by how many picks (one standard deviation): warp that lies
/// as close beyond the last pick as before it, a header hardly told from the body.
const NEAR_MISS: (f64, f64) = (0.2, 1.0);

/// Ends are off by so many times the uncertainty that their own trace gives.
const TRACED_U: f64 = 1.5;

/// Over how many picks a wrong end may lie anywhere.
const WRONG_PICKS: f64 = 20.0;

/// Part of an end's standard uncertainty, in picks, that is the outermost pick's own.
const EDGE_U: f64 = 0.08;

/// The reaches that are tried: first, last and step, in spacings.
const REACHES: (f64, f64, f64) = (0.15, 0.85, 0.05);

/// The places and what speaks for each.
pub(crate) struct Places<'a> {
    /// Middles, samples, ascending.
    pub(crate) middles: &'a [f64],
    /// Log-likelihood ratio of each holding a pick of the body.
    pub(crate) favour: &'a [f64],
    /// Where the body was seen to begin and end, samples.
    pub(crate) ends: (f64, f64),
    /// One standard uncertainty of each, samples.
    pub(crate) ends_u: (f64, f64),
    /// One standard uncertainty of what all middles share, picks.
    pub(crate) share_u: f64,
    /// How far a pick's outer edge lies from its middle, in spacings: usual value and spread.
    pub(crate) reach: (f64, f64),
}

/// The first and last place that hold a pick, and how likely they are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Settled {
    /// Index of the first pick's place.
    pub(crate) first: usize,
    /// Index of the last pick's place.
    pub(crate) last: usize,
    /// Log-likelihood of this pair.
    pub(crate) worth: f64,
    /// Log-likelihood of the best pair with another count.
    pub(crate) other: f64,
}

/// Settles the count; `None` where there are fewer than six places.
pub(crate) fn settle(places: &Places<'_>) -> Option<Settled> {
    let n = places.middles.len();
    if n < 6 {
        return None;
    }
    let mut sums = vec![0.0];
    for favour in places.favour {
        sums.push(sums[sums.len() - 1] + favour);
    }
    // The best pair of each length, the first place's index beside its worth.
    let best_of = |length: usize| {
        (0..n - length)
            .map(|first| {
                let last = first + length;
                let worth = sums[last + 1] - sums[first] + places.agreement(first, last);
                (worth, first)
            })
            .max_by(|a, b| a.0.total_cmp(&b.0))
    };
    let bests: Vec<(f64, usize, usize)> = (5..n)
        .into_par_iter()
        .filter_map(|length| best_of(length).map(|(worth, first)| (worth, first, length)))
        .collect();
    let best = bests.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let other = bests
        .iter()
        .filter(|b| b.2 != best.2)
        .map(|b| b.0)
        .fold(f64::NEG_INFINITY, f64::max);
    Some(Settled {
        first: best.1,
        last: best.1 + best.2,
        worth: best.0,
        other,
    })
}

impl Places<'_> {
    /// Spacing around the places `a` to `a + 3`.
    fn spacing(&self, a: usize) -> f64 {
        let a = a.min(self.middles.len() - 4);
        (self.middles[a + 3] - self.middles[a]) / 3.0
    }

    /// Log-likelihood of the seen ends, for one first and last place.
    fn agreement(&self, first: usize, last: usize) -> f64 {
        let (start, finish) = (self.spacing(first), self.spacing(last.saturating_sub(3)));
        let a = (self.middles[first] - self.ends.0) / start;
        let b = (self.ends.1 - self.middles[last]) / finish;
        let u = |own: f64, spacing: f64| EDGE_U.hypot(TRACED_U * own / spacing);
        let (ua, ub) = (u(self.ends_u.0, start), u(self.ends_u.1, finish));
        let (wa, wb, ws) = (ua.powi(-2), ub.powi(-2), self.share_u.powi(-2));
        let steps = ((REACHES.1 - REACHES.0) / REACHES.2).round() as usize;
        (0..=steps)
            .map(|k| {
                let reach = REACHES.0 + k as f64 * REACHES.2;
                // a − share and b + share are the ends' own errors.
                let (a, b) = (a - reach, b - reach);
                let apart = |share: f64| {
                    let z = share / self.share_u;
                    seen_at(a - share, ua) + seen_at(b + share, ub) - 0.5 * z * z
                };
                let usual = (reach - self.reach.0) / self.reach.1;
                apart(0.0).max(apart((wa * a - wb * b) / (wa + wb + ws))) - 0.5 * usual * usual
            })
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// Log-density of an end that lies `off` picks from where it was seen, `u` its standard uncertainty.
fn seen_at(off: f64, u: f64) -> f64 {
    let bell = |u: f64| (-0.5 * (off / u).powi(2)).exp() / (u * TAU.sqrt());
    let (near, miss) = NEAR_MISS;
    ((1.0 - WRONG_END - near) * bell(u) + near * bell(miss) + WRONG_END / WRONG_PICKS).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(middles: &[f64], favour: &[f64], ends: (f64, f64)) -> Settled {
        settle(&Places {
            middles,
            favour,
            ends,
            ends_u: (0.1, 0.1),
            share_u: 0.1,
            reach: (0.5, 0.12),
        })
        .expect("enough places")
    }

    fn even(n: u32) -> Vec<f64> {
        (0..n).map(f64::from).collect()
    }

    #[test]
    fn middles_off_by_a_common_share_dont_change_the_count() {
        let settled = places(&even(20), &[0.0; 20], (2.6, 15.6));
        assert_eq!((settled.first, settled.last), (3, 15));
        assert!(settled.worth > settled.other + 3.0, "{settled:?}");
    }

    #[test]
    fn half_a_pick_over_is_a_guess_and_says_so() {
        let settled = places(&even(20), &[0.0; 20], (2.5, 16.0));
        assert!(settled.worth < settled.other + 0.7, "{settled:?}");
    }

    #[test]
    fn fringe_taken_for_cloth_is_left_out_where_it_looks_like_no_pick() {
        let mut favour = [1.5; 20];
        favour[13..].fill(-3.0);
        let settled = places(&even(20), &favour, (2.5, 18.5));
        assert_eq!((settled.first, settled.last), (3, 12));
    }

    #[test]
    fn one_pick_that_looks_odd_at_the_seen_end_stays() {
        let mut favour = [1.5; 20];
        favour[15] = -2.5;
        favour[16..].fill(-4.0);
        let settled = places(&even(20), &favour, (2.5, 15.5));
        assert_eq!((settled.first, settled.last), (3, 15));
    }
}
