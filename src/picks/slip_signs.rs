//! What speaks for a slip of the shed, and what against?
//!
//! # Method
//! A logistic regression on how a run of odd cells stands among the others: how far above the next likely ones, of which
//! a band has few; whether cells differ as much in the direction that no slip takes; whether others of the same pick
//! are odd, or of the same ends in other picks; how far the cell has gone; where on the band it is.
//!
//! # Limits
//! Fitted to 2192 drawn bands whose count was right, 716 of them without slips and the others with one to eight of one to
//! six ends: a hand that slips far oftener is taken for cloth that isn't understood.

/// Log odds from which a slip is told.
pub(super) const TOLD: f64 = 2.9;

/// So far down the ranks the gap beneath a run is sought.
const DEEPEST: usize = 8;

/// Outermost picks, in which less is believed.
const OUTERMOST: usize = 3;

/// A cell has gone at least a tenth of the way, and at most ten times too far.
const GONE: (f64, f64) = (0.1, 10.0);

/// What is known of a run of odd cells; levels are logarithms of a cell's log odds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Signs {
    /// Level above that of what went the way that no slip goes.
    pub(super) noise: f64,
    /// Level above that of the next likely runs, and how many are as likely.
    pub(super) gap: f64,
    pub(super) alike: usize,
    /// Share of the way to the other yarn's look.
    pub(super) gone: f64,
    /// Levels against the run's own: the neighbour's, of other cells of the pick, of the picks beside it, of the same
    /// ends in other picks.
    pub(super) second: f64,
    pub(super) same_pick: f64,
    pub(super) near: f64,
    pub(super) same_ends: f64,
    /// Ends between it and the selvedge, picks between it and the body's end.
    pub(super) from_selvedge: usize,
    pub(super) from_end: usize,
    /// Whether the weft should show.
    pub(super) weft: bool,
}

impl Signs {
    /// Log odds of a slip.
    pub(super) fn log_odds(&self) -> f64 {
        let gone = self.gone.clamp(GONE.0, GONE.1).ln();
        let when = |weight: f64, is: bool| if is { weight } else { 0.0 };
        let w = &WEIGHTS;
        w.usual
            + w.noise * self.noise
            + w.gap * self.gap
            + w.each * self.alike as f64
            + w.gone * gone
            + w.over * gone.max(0.0).powi(2)
            + w.second * self.second
            + w.same_pick * self.same_pick
            + w.near * self.near
            + w.same_ends * self.same_ends
            + when(w.at_selvedge, self.from_selvedge == 0)
            + when(w.beside_selvedge, self.from_selvedge == 1)
            + when(w.outermost, self.from_end < OUTERMOST)
            + when(w.weft, self.weft)
    }
}

/// What each sign adds to the log odds.
struct Weights {
    usual: f64,
    noise: f64,
    gap: f64,
    /// For each run that is as likely.
    each: f64,
    /// Logarithm of the share of the way gone, and its square where that is more than all.
    gone: f64,
    over: f64,
    second: f64,
    same_pick: f64,
    near: f64,
    same_ends: f64,
    /// At the outermost end, at the one beside it, in an outermost pick.
    at_selvedge: f64,
    beside_selvedge: f64,
    outermost: f64,
    /// Warp shows where weft should.
    weft: f64,
}

const WEIGHTS: Weights = Weights {
    usual: -0.177,
    noise: 0.060,
    gap: 0.555,
    each: -0.173,
    gone: 3.436,
    over: -3.363,
    second: 0.342,
    same_pick: -0.284,
    near: -0.108,
    same_ends: -0.143,
    at_selvedge: -3.898,
    beside_selvedge: -0.727,
    outermost: -1.124,
    weft: 0.346,
};

/// How far a rank lies above what is beneath the widest gap below it, and how many lie above that gap; of descending
/// levels.
pub(super) fn gap(levels: &[f64], rank: usize) -> (f64, usize) {
    let level = |k: usize| levels.get(k).copied().unwrap_or(0.0);
    let step = |k: &usize| level(*k) - level(k + 1);
    let widest = (rank..rank + DEEPEST)
        .rev()
        .max_by(|a, b| step(a).total_cmp(&step(b)))
        .unwrap_or(rank);
    (level(rank) - level(widest + 1), widest + 1)
}

/// The logarithm of log odds, 0 of what are less than one.
pub(super) fn logarithm(log_odds: f64) -> f64 {
    log_odds.max(1.0).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A clear slip of one end amid the band.
    fn clear() -> Signs {
        Signs {
            noise: 5.0,
            gap: 5.0,
            alike: 1,
            gone: 1.0,
            second: -5.0,
            same_pick: -5.0,
            near: -5.0,
            same_ends: -5.0,
            from_selvedge: 4,
            from_end: 20,
            weft: false,
        }
    }

    #[test]
    fn a_clear_slip_is_told_and_one_at_the_selvedge_or_half_way_is_not() {
        assert!(clear().log_odds() > TOLD);
        let at_selvedge = Signs {
            from_selvedge: 0,
            ..clear()
        };
        let half_way = Signs {
            gone: 0.45,
            ..clear()
        };
        let too_far = Signs {
            gone: 5.0,
            ..clear()
        };
        for signs in [at_selvedge, half_way, too_far] {
            assert!(signs.log_odds() < TOLD, "{signs:?}");
        }
    }

    #[test]
    fn the_gap_is_the_widest_step_below() {
        let levels = [6.0, 5.8, 5.5, 1.0, 0.7];
        assert_eq!(gap(&levels, 0), (5.0, 3));
        assert_eq!(gap(&levels, 2), (4.5, 3));
        assert_eq!(gap(&levels, 4), (0.7, 5));
        assert_eq!(gap(&[], 0), (0.0, 1));
    }
}
