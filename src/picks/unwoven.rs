//! Is what was followed woven, and do its picks show at all?
//!
//! A path along the band is found in anything, for it takes the best there is: in noise, in the grain of a strap, in the
//! lines of a rule. So it is asked afterwards whether that could be cloth.
//!
//! # Method
//! 1. How clearly cells recur from pick to pick (`weave`), in whichever of lightness and the two colours shows it best.
//! 2. With a plan: whether the repeat explains the picture, and whether its cells are the drawdown's. Without one:
//!    whether ends are seen across the width, and whether they go over and under (`own_repeat`).
//! 3. Beyond what any band that was counted right has shown the picks are refused; where no ends are seen, they
//!    are told with a doubt (`doubt`).
//!
//! 60 path-traced things of fifteen kinds that aren't woven (straps, rules, printed ribbons, slats, ribs, cords, braids,
//! chains, film, slide fasteners, knitting, strings, beads), looked at with the plan of a band and without one: 44 and 23
//! are refused, the others told with a doubt about the picks (before this was asked none was refused, and 11 were told
//! without any doubt where there was no plan). Of 1400 drawn bands none is refused that was counted right, with its plan
//! or without, and 19 more of the right ones are doubted where there is none.
//!
//! # Limits
//! What is laid by turns passes: rows of beads, chequered prints. Knitting does where its stitches are of many pixels.

use ndarray::{Axis, Slice};

use super::doubt::FAINT;
use super::find::Evidence;
use super::own_repeat::Unheld;
use super::weave::{PickLines, Weave};
use crate::band::BandTrace;
use crate::stats::{gaps, median};

/// Share of the width left out at each selvedge.
const INSET: f64 = 0.06;

/// A repeat that leaves more than this unexplained isn't there; with a plan it was known what to look for.
const NOTHING: f64 = 0.75;
const NOTHING_PLANNED: f64 = 0.9;

/// Below this correlation with the drawdown, what hardly shows isn't the plan's cloth.
const UNLIKE: f64 = 0.5;

/// Cells of cloth recur more clearly than this.
const RECURRING: f64 = 0.16;

/// The same where no ends are seen.
const RECURRING_ENDLESS: f64 = 0.22;

const HIDDEN: &str = "the picks don't show: what was followed along the band repeats hardly more than chance would have \
                      it. Light the cloth from one side, take it sharper or closer, and see whether the plan, if you \
                      gave one, is this band's";

const NOT_WOVEN: &str = "what repeats along this doesn't look woven: nothing goes over and under from one line to the \
                         next. Take a band so close that single threads show; other things have no picks";

/// How clearly cells recur along the band's picks, 0 to 1; `centres_mm` are the picks' middles.
pub(super) fn recurring(trace: &BandTrace, centres_mm: &[f64]) -> f64 {
    let straight = &trace.straight;
    let row = |s_mm: &f64| (s_mm - straight.s0_mm) / straight.step_mm;
    let rows: Vec<f64> = centres_mm.iter().map(row).collect();
    let edges = [&trace.left_mm, &trace.right_mm].map(|edge| median(edge));
    let ([Some(left), Some(right)], Some(spacing), Some(middle)) =
        (edges, median(&gaps(&rows)), median(centres_mm))
    else {
        return 0.0;
    };
    let inset = INSET * (right - left);
    let columns = straight.lab[0].dim().1;
    let column =
        |t_mm: f64| (((t_mm - straight.t0_mm) / straight.step_mm).max(0.0) as usize).min(columns);
    let across = column(left + inset)..column(right - inset);
    if across.is_empty() || spacing <= 0.0 {
        return 0.0;
    }
    let lines = PickLines {
        rows: &rows,
        slope: trace.lean.at_mm(middle) / (0.5 * (right - left)),
        spacing,
    };
    let channels = straight.lab.iter();
    channels
        .map(|channel| channel.slice_axis(Axis(1), Slice::from(across.clone())))
        .map(|channel| Weave::of(&channel, &lines).recurring)
        .fold(0.0, f64::max)
}

/// Whether ends that go over and under were seen, by what kept the cloth's own repeat from being held against its
/// picks; `None` where that says nothing of it.
pub(super) fn shows_ends(unheld: Option<Unheld>) -> Option<bool> {
    match unheld {
        None | Some(Unheld::OtherEnds) => Some(true),
        Some(Unheld::NoEnds | Unheld::NoCells) => Some(false),
        Some(Unheld::Faint | Unheld::FewPicks) => None,
    }
}

/// Why there are no picks here, if that is plain; `planned` says whether a drawdown and its picks per inch were known.
pub(super) fn refusal(evidence: &Evidence, planned: bool) -> Option<&'static str> {
    let unlike = evidence.unexplained > FAINT && evidence.correlation < UNLIKE;
    if planned {
        return (evidence.unexplained > NOTHING_PLANNED || unlike).then_some(HIDDEN);
    }
    if evidence.unexplained > NOTHING {
        return Some(HIDDEN);
    }
    let least = match evidence.interlaced {
        Some(false) => RECURRING_ENDLESS,
        _ => RECURRING,
    };
    let chance = evidence
        .recurring
        .is_some_and(|recurring| recurring < least);
    chance.then_some(NOT_WOVEN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picks::find;

    fn evidence(unexplained: f64, correlation: f64, recurring: f64) -> Evidence {
        Evidence {
            unexplained,
            correlation,
            recurring: Some(recurring),
            ..find::testing::evidence()
        }
    }

    #[test]
    fn faint_picks_that_follow_the_plan_are_kept_and_those_that_do_not_are_refused() {
        assert_eq!(refusal(&evidence(0.8, 0.7, 0.4), true), None);
        assert_eq!(refusal(&evidence(0.8, 0.3, 0.4), true), Some(HIDDEN));
        assert_eq!(refusal(&evidence(0.95, 0.7, 0.4), true), Some(HIDDEN));
        // Another drawdown than the plan's, seen clearly, is a doubt and no refusal.
        assert_eq!(refusal(&evidence(0.2, 0.1, 0.4), true), None);
    }

    #[test]
    fn without_a_plan_cells_must_recur_and_more_clearly_where_no_ends_are_seen() {
        assert_eq!(refusal(&evidence(0.2, 0.8, 0.19), false), None);
        assert_eq!(refusal(&evidence(0.2, 0.8, 0.1), false), Some(NOT_WOVEN));
        let endless = Evidence {
            interlaced: shows_ends(Some(Unheld::NoEnds)),
            ..evidence(0.2, 0.8, 0.19)
        };
        assert_eq!(refusal(&endless, false), Some(NOT_WOVEN));
        assert_eq!(refusal(&evidence(0.8, 0.8, 0.6), false), Some(HIDDEN));
    }
}
