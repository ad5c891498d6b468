//! Which of the places where a pick could lie hold a pick of the body?
//!
//! The followed repeat goes on into header, fringe and ground, for a path has no end of its own.
//! Two things say where the body ends: where the cloth was seen to end (or a header to begin), and
//! whether each place looks like the picks of the middle.
//!
//! # Method
//! 1. Each place has a log-likelihood ratio of holding a pick (`likeness`).
//! 2. For every first and last place: the sum of the ratios between them, and how well the outer edges
//!    of the outermost picks agree with the ends as they were seen (`seen_ends`). All middles may be off
//!    by a common share of a spacing; how far a pick reaches beyond its middle isn't known either (weft
//!    between close warp ends is thin against its spacing, weft that hides the warp bulges over its
//!    neighbours), but it is the same at both ends.
//! 3. The best pair is taken; how much worse the best pair with *another count* is says how sure
//!    the count is.

use super::seen_ends::SeenEnd;

/// The reaches that are tried: first, step, in spacings, and their number.
const REACHES: (f64, f64, usize) = (0.15, 0.05, 15);

/// The shares of a spacing by which all middles may be off that are tried, in standard uncertainties.
const SHARES: [f64; 5] = [0.0, -1.0, 1.0, -2.0, 2.0];

/// The first and the last pick are sought among so many outermost places, or this part of all.
const OUTERMOST: (usize, usize) = (30, 3);

/// The places and what speaks for each.
pub(crate) struct Places<'a> {
    /// Middles, samples, ascending.
    pub(crate) middles: &'a [f64],
    /// Log-likelihood ratio of each holding a pick of the body.
    pub(crate) favour: &'a [f64],
    /// Where the body was seen to begin and to end.
    pub(crate) ends: &'a [SeenEnd; 2],
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
    let near = OUTERMOST.0.max(n / OUTERMOST.1).min(n);
    let firsts: Vec<Vec<f64>> = (0..near).map(|k| places.start(k)).collect();
    let lasts: Vec<Vec<f64>> = (n - near..n).map(|k| places.finish(k)).collect();
    // The best pair of each length, the first place's index beside its worth.
    let mut bests = vec![(f64::NEG_INFINITY, 0); n];
    for (first, start) in firsts.iter().enumerate() {
        for (last, finish) in (n - near..n).zip(&lasts) {
            if last < first + 5 {
                continue;
            }
            let agreement = start
                .iter()
                .zip(finish)
                .map(|(a, b)| a + b)
                .fold(f64::NEG_INFINITY, f64::max);
            let worth = sums[last + 1] - sums[first] + agreement;
            let best = &mut bests[last - first];
            if worth > best.0 {
                *best = (worth, first);
            }
        }
    }
    let (length, best) = bests
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
    let other = bests
        .iter()
        .enumerate()
        .filter(|(k, _)| *k != length)
        .map(|(_, b)| b.0)
        .fold(f64::NEG_INFINITY, f64::max);
    best.0.is_finite().then_some(Settled {
        first: best.1,
        last: best.1 + length,
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

    /// Log-density of the seen start, for a first place and each reach and share, with what these cost.
    fn start(&self, first: usize) -> Vec<f64> {
        let spacing = self.spacing(first);
        let beyond = (self.middles[first] - self.ends[0].at) / spacing;
        assumed()
            .map(|(reach, z)| {
                let usual = (reach - self.reach.0) / self.reach.1;
                let off = reach + z * self.share_u - beyond;
                self.ends[0].log_density(off, spacing) - 0.5 * (usual * usual + z * z)
            })
            .collect()
    }

    /// The same of the seen finish, for a last place; what reach and share cost is in the start's.
    fn finish(&self, last: usize) -> Vec<f64> {
        let spacing = self.spacing(last.saturating_sub(3));
        let beyond = (self.ends[1].at - self.middles[last]) / spacing;
        assumed()
            .map(|(reach, z)| {
                let off = reach - z * self.share_u - beyond;
                self.ends[1].log_density(off, spacing)
            })
            .collect()
    }
}

/// Every reach with every share, the latter in its standard uncertainties.
fn assumed() -> impl Iterator<Item = (f64, f64)> {
    let (first, step, count) = REACHES;
    (0..count).flat_map(move |k| SHARES.iter().map(move |z| (first + k as f64 * step, *z)))
}

#[cfg(test)]
mod tests {
    use super::super::cover::Cover;
    use super::super::seen_ends::EndKind;
    use super::*;

    fn places(middles: &[f64], favour: &[f64], ends: (f64, f64)) -> Settled {
        settle(&Places {
            middles,
            favour,
            ends: &[end(ends.0), end(ends.1)],
            share_u: 0.1,
            reach: (0.5, 0.12),
        })
        .expect("enough places")
    }

    fn end(at: f64) -> SeenEnd {
        let kind = EndKind {
            cover: Cover::Both,
            header: Some(false),
            foreign: false,
        };
        SeenEnd::new(at, 0.1, kind)
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
        // Which of the two is likelier depends on how ends are usually misread; neither is sure.
        assert!(settled.worth < settled.other + 2.5, "{settled:?}");
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
