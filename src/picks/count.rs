//! How many picks lie between the two ends of the body?
//!
//! The first pick's middle should lie half a spacing inside the start, the last one's half a spacing
//! inside the finish. Three things may be off by a little: each end of the body as it was found, and
//! the middles, all by the same share of a spacing, where the cells say little about where in its
//! pick a phase lies.
//!
//! # Method
//! For every way of adding or dropping a pick at either end: the least sum of squares over the
//! common share, each of the three doubts counted in its own standard uncertainty. The way with the
//! least sum is taken; how much worse the best way with *another count* is says how sure the count is.

/// How far the first and the last middle lie inside the body, and the doubts, all in picks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ends {
    /// First middle minus start of the body.
    pub(crate) start: f64,
    /// Finish of the body minus last middle.
    pub(crate) finish: f64,
    /// Standard uncertainty of the start.
    pub(crate) start_u: f64,
    /// Standard uncertainty of the finish.
    pub(crate) finish_u: f64,
    /// Standard uncertainty of the middles' common share.
    pub(crate) share_u: f64,
}

/// What to add (or, negative, drop) at each end, and how sure that is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Settled {
    /// Picks to add at the start.
    pub(crate) start: i32,
    /// Picks to add at the finish.
    pub(crate) finish: i32,
    /// 0 (a guess between two counts) to 1 (no other count is in question).
    pub(crate) confidence: f64,
}

/// Settles the count.
pub(crate) fn settle(ends: Ends) -> Settled {
    let mut ways: Vec<(f64, i32, i32)> = Vec::new();
    for start in -2..=2 {
        for finish in -2..=2 {
            ways.push((misfit(&ends, start, finish), start, finish));
        }
    }
    ways.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (least, start, finish) = ways[0];
    let other = ways
        .iter()
        .find(|w| w.1 + w.2 != start + finish)
        .map_or(f64::INFINITY, |w| w.0);
    Settled {
        start,
        finish,
        confidence: 1.0 - (-0.5 * (other - least)).exp(),
    }
}

/// Least sum of squares over the common share for one way.
fn misfit(ends: &Ends, start: i32, finish: i32) -> f64 {
    let a = ends.start - f64::from(start) - 0.5;
    let b = ends.finish - f64::from(finish) - 0.5;
    let (wa, wb, ws) = (
        ends.start_u.powi(-2),
        ends.finish_u.powi(-2),
        ends.share_u.powi(-2),
    );
    // a − share and b + share are the ends' own errors.
    let share = (wa * a - wb * b) / (wa + wb + ws);
    wa * (a - share).powi(2) + wb * (b + share).powi(2) + ws * share * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn middles_off_by_a_common_share_dont_change_the_count() {
        let ends = Ends {
            start: 0.1,
            finish: 0.9,
            start_u: 0.1,
            finish_u: 0.1,
            share_u: 0.3,
        };
        let settled = settle(ends);
        assert_eq!((settled.start, settled.finish), (0, 0));
        assert!(settled.confidence > 0.9, "{settled:?}");
    }

    #[test]
    fn a_pick_short_at_one_end_is_added() {
        let ends = Ends {
            start: 0.5,
            finish: 1.45,
            start_u: 0.1,
            finish_u: 0.1,
            share_u: 0.05,
        };
        assert_eq!((settle(ends).start, settle(ends).finish), (0, 1));
    }

    #[test]
    fn half_a_pick_over_is_a_guess_and_says_so() {
        let ends = Ends {
            start: 0.5,
            finish: 1.0,
            start_u: 0.1,
            finish_u: 0.1,
            share_u: 0.05,
        };
        assert!(settle(ends).confidence < 0.1);
    }
}
